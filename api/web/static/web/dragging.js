/* Visits of the drawn week are dragged to another hour, day or crew. A drop asks the page on which
   that visit is moved whether it holds there, and shows its answer: only the button in it stores
   anything. On a touch screen a visit is held first, so that the page still scrolls. */

const WIDTH = 1100; // of the drawing, in its own units: crew_drawing.py
const QUARTER_S = 900;
const HOLD_MS = 400;
const SLACK_PX = 6;

const dialog = document.getElementById("move-dialog");
const said = document.getElementById("drag-said");
const rows = [...document.querySelectorAll(".crew-row")];

let drag = null;

const knotsOf = (row) => row.dataset.knots.split(" ").map((knot) => knot.split(":").map(Number));

/* The instant (in seconds) that lies at a place of the window, or the place of an instant: time
   goes evenly between the knots. */
function between(knots, value, from, to) {
  const last = knots.length - 1;
  let after = knots.findIndex((knot) => knot[from] >= value);
  after = after < 0 ? last : Math.max(after, 1);
  const [a, b] = [knots[after - 1], knots[after]];
  const share = Math.min(Math.max((value - a[from]) / (b[from] - a[from]), 0), 1);
  return a[to] + share * (b[to] - a[to]);
}

function instantAt(row, clientX) {
  const box = row.getBoundingClientRect();
  return between(knotsOf(row), ((clientX - box.left) / box.width) * WIDTH, 0, 1);
}

function placeOf(row, instant) {
  const box = row.getBoundingClientRect();
  return box.left + (between(knotsOf(row), instant, 1, 0) / WIDTH) * box.width;
}

function rowAt(clientY) {
  return rows.find((row) => {
    const box = row.getBoundingClientRect();
    return box.top <= clientY && clientY < box.bottom;
  });
}

/* A crew and an instant on its clock, as the rest of the page writes them. */
function worded(row, instant) {
  const how = { timeZone: row.dataset.zone, weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  const parts = new Intl.DateTimeFormat(document.documentElement.lang, how).formatToParts(instant * 1000);
  const { weekday, day, month, hour, minute } = Object.fromEntries(parts.map((part) => [part.type, part.value]));
  return `${row.dataset.name}, ${weekday} ${day} ${month} ${hour}:${minute}`;
}

function begin() {
  drag.on = true;
  drag.visit.setPointerCapture(drag.pointer);
  drag.visit.classList.add("dragged");
  drag.ghost = document.createElement("div");
  drag.ghost.className = "drag-ghost";
  document.body.append(drag.ghost);
  document.body.classList.add("dragging");
}

function follow(event) {
  const { ghost, visit } = drag;
  ghost.style.left = `${Math.min(event.clientX + 12, innerWidth - 220)}px`;
  ghost.style.top = `${event.clientY + 16}px`;
  drag.row = rowAt(event.clientY);
  for (const row of rows) row.classList.toggle("aimed-at", row === drag.row && !visit.dataset.stays);
  if (visit.dataset.stays) ghost.textContent = visit.dataset.stays;
  else if (drag.row) {
    drag.instant = Math.round(instantAt(drag.row, event.clientX - drag.grabbed) / QUARTER_S) * QUARTER_S;
    ghost.textContent = worded(drag.row, drag.instant);
  } else ghost.textContent = "–";
}

function end() {
  clearTimeout(drag.held);
  drag.ghost?.remove();
  drag.visit.classList.remove("dragged");
  document.body.classList.remove("dragging");
  for (const row of rows) row.classList.remove("aimed-at");
  drag = null;
}

/* Show what the visit's page says of a spot, or where that page is if it does not answer. */
async function ask(address) {
  const into = dialog.firstElementChild;
  try {
    const answer = await fetch(address, { headers: { "X-Requested-With": "fetch" } });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const part = page.getElementById("move");
    if (!part) throw new Error(`no answer: ${answer.status}`);
    into.replaceChildren(document.adoptNode(part));
    window.htmx?.process(into);
  } catch {
    const link = Object.assign(document.createElement("a"), { href: address, textContent: dialog.dataset.page });
    into.replaceChildren(`${dialog.dataset.failed} `, link);
  }
  dialog.showModal();
  (into.querySelector("#answer button") ?? into.querySelector("a, button"))?.focus();
}

function press(event) {
  const visit = event.target.closest?.("a[data-move], a[data-stays]");
  if (!visit || event.button !== 0 || !event.isPrimary) return;
  const row = visit.closest(".crew-row");
  const grabbed = event.clientX - (visit.dataset.begins ? placeOf(row, Number(visit.dataset.begins)) : event.clientX);
  drag = { visit, row, grabbed, pointer: event.pointerId, x: event.clientX, y: event.clientY, touch: event.pointerType === "touch", on: false };
  if (drag.touch) {
    drag.held = setTimeout(() => {
      begin();
      follow(event);
    }, HOLD_MS);
  }
}

function move(event) {
  if (drag?.pointer !== event.pointerId) return;
  if (!drag.on && Math.hypot(event.clientX - drag.x, event.clientY - drag.y) > SLACK_PX) {
    if (drag.touch) return end(); // it scrolls
    begin();
  }
  if (drag.on) follow(event);
}

function drop(event) {
  if (drag?.pointer !== event.pointerId) return;
  const { on, row, instant, visit } = drag;
  end();
  if (!on) return;
  followNoLink();
  if (visit.dataset.stays) said.textContent = visit.dataset.stays;
  else if (row) ask(`${visit.dataset.move}?to=${row.dataset.crew}@${instant}`);
}

/* The click that ends a drag leads nowhere. */
function followNoLink() {
  addEventListener("click", swallow, { capture: true, once: true });
  setTimeout(() => removeEventListener("click", swallow, { capture: true }));
}

function cancel() {
  if (drag.on) addEventListener("pointerup", followNoLink, { once: true });
  end();
}

function swallow(event) {
  event.preventDefault();
  event.stopPropagation();
}

for (const row of rows) {
  row.addEventListener("pointerdown", press);
  row.addEventListener("dragstart", (event) => event.preventDefault());
  row.addEventListener("contextmenu", (event) => drag?.touch && event.preventDefault());
}
addEventListener("pointermove", move);
addEventListener("pointerup", drop);
addEventListener("pointercancel", () => drag && end());
addEventListener("touchmove", (event) => drag?.on && event.preventDefault(), { passive: false });
addEventListener("keydown", (event) => event.key === "Escape" && drag && cancel());
