// Sends kept taps in the order in which they were made.

import { forget, keep, kept } from "./crew_taps.js";

/** Send all of a page's taps that wait. Return how the last try went: whether there was an answer,
 *  and the pages that answered, each with the tap it was for. */
export async function sendKept(page) {
  const answers = [];
  for (const tap of await kept(page)) {
    if (tap.refused) continue;
    const answer = await sent(tap);
    if (answer === null) return { answered: false, answers };
    if (answer.ok) await forget(tap.id);
    else await keep({ ...tap, refused: reasons(answer.page, answer.status) });
    answers.push({ tap, page: answer.page });
  }
  return { answered: true, answers };
}

/** Return the answer to a tap; null where there is none yet, by lack of signal or a server that
 *  is not well: it is tried again later. */
async function sent(tap) {
  const body = new FormData();
  for (const [name, value] of tap.fields) body.append(name, value);
  try {
    const response = await fetch(tap.address, { method: "POST", body, credentials: "omit" });
    if (response.status >= 500 || response.status === 429) return null;
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    return { ok: response.ok, status: response.status, page };
  } catch {
    return null;
  }
}

function reasons(page, status) {
  const said = [...page.querySelectorAll(".faults li, [data-refusal]")];
  return said.length ? said.map((each) => each.textContent.trim()) : [String(status)];
}
