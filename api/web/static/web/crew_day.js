// A crew's page without signal: it opens from the phone, taps are kept and sent later.

import { forget, keep, kept } from "./crew_taps.js";
import { sendKept } from "./crew_sending.js";

const AGAIN_MS = 20_000;
const notice = document.getElementById("kept");
const page = new URL(notice.dataset.page, location.href).pathname;
const worker = navigator.serviceWorker;
let sending = Promise.resolve();

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-action]")) return;
  event.preventDefault();
  if (!form.classList.contains("waiting")) keepTap(form);
});
window.addEventListener("online", send);
window.addEventListener("offline", () => show(false));
document.addEventListener("visibilitychange", () => document.hidden || send());
setInterval(async () => (await kept(page)).some((tap) => !tap.refused) && send(), AGAIN_MS);
if (worker) openWithoutSignal();
send();

async function keepTap(form) {
  form.elements.tapped_at.value = new Date().toISOString();
  hold(form, true);
  const tap = {
    id: form.elements.sent_as.value,
    page,
    address: location.pathname,
    order: Date.now(),
    fields: [...new FormData(form)],
    form: form.id,
    visit: form.elements.visit.value,
    name: [form.dataset.house, form.dataset.action].filter(Boolean).join(": "),
  };
  try {
    await keep(tap);
  } catch {
    form.submit(); // nothing can be kept here: send it as any page would
    return;
  }
  await send();
  if (form.isConnected && "again" in form.dataset && isOf(form, tap)) anew(form);
}

/** Return whether a form is still the one that a tap was made with. */
const isOf = (form, tap) => form.elements.sent_as.value === tap.id;

/** Let something else be noted with a form whose tap waits for a signal. */
function anew(form) {
  form.reset();
  form.elements.sent_as.value = newId();
  hold(form, false);
}

/** Return a UUID of version 4; the browser's own asks for a page that came by https. */
function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const digits = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return digits.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

/** Send what is kept, one at a time, and show what has come of it. */
function send() {
  sending = sending.then(async () => {
    const { answered, answers } = await sendKept(page);
    for (const answer of answers) await renew(answer);
    await show(answered && navigator.onLine);
    if (answers.length) fetch(page).catch(() => {}); // what opens without signal is the newest
  });
  return sending;
}

/** Take what the server now says of a visit, and a new form with an id of its own. */
async function renew({ tap, page: answer }) {
  for (const id of [tap.form, `said-${tap.visit}`]) {
    const [old, now] = [document.getElementById(id), answer.getElementById(id)];
    if (old && "again" in old.dataset && !isOf(old, tap)) continue; // something else is typed there
    if (old && now) old.replaceWith(document.adoptNode(now));
    // What was wrong stands in the form, with what was typed: nothing is left to remind of. A form
    // of another page stands nowhere here: its line stays, with the reason.
    if (old && now?.querySelector(".faults")) await forget(tap.id);
    else if (old?.matches("form")) hold(old, false);
  }
}

function hold(form, waiting) {
  form.classList.toggle("waiting", waiting);
  form.querySelector("button[type=submit]").disabled = waiting;
}

async function show(signal) {
  const taps = await kept(page);
  const list = notice.querySelector("ul");
  list.replaceChildren(...taps.map(line));
  for (const tap of taps) {
    const form = document.getElementById(tap.form);
    if (form?.elements.sent_as.value === tap.id) hold(form, !tap.refused);
  }
  notice.querySelector(".no-signal").hidden = signal;
  notice.hidden = signal && taps.length === 0;
}

function line(tap) {
  const said = notice.querySelector(tap.refused ? ".refused-tap" : ".waiting-tap");
  const shown = said.content.firstElementChild.cloneNode(true);
  shown.querySelector("b").textContent = tap.name;
  if (!tap.refused) return shown;
  shown.querySelector(".why").textContent = tap.refused.join(" ");
  shown.querySelector("button").addEventListener("click", async () => {
    await forget(tap.id);
    await show(navigator.onLine);
  });
  return shown;
}

/** Have the worker keep this page and what it is made of. */
async function openWithoutSignal() {
  const scope = page;
  await worker.register(`${scope}worker.js`, { scope });
  if (!worker.controller) {
    await new Promise((ready) => worker.addEventListener("controllerchange", ready, { once: true }));
  }
  const parts = document.querySelectorAll("link[href], script[src]");
  const addresses = [...parts].map((part) => part.href || part.src);
  const links = [...document.querySelectorAll("a[data-keep]")].map((link) => link.href);
  const modules = ["crew_taps.js", "crew_sending.js"].map((name) => new URL(name, import.meta.url));
  await Promise.all([location.pathname, page, ...links, ...addresses, ...modules].map((from) => fetch(from)));
  notice.dataset.ready = "";
}
