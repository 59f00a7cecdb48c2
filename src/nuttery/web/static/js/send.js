// Kept notes on their way to the register: in order, each with its own id, as often as it takes.
import { allKept, fact, forgetPhoto, mark, photoOf, setFact, tidy } from "./keep.js";
import { meetServer } from "./moments.js";

const AT_ONCE = 50;
const PATIENCE = 20_000;
const AGAIN = 15_000;
export const standing = { reach: "unknown", words: "", me: null };

function tell(reach, words = "") {
  Object.assign(standing, { reach, words });
  document.dispatchEvent(new Event("standing"));
}

/** Ask the server; an answer that does not come in time counts as none. */
async function ask(path, told = {}) {
  const answer = await fetch(path, { signal: AbortSignal.timeout(PATIENCE), cache: "no-store", ...told });
  const isJson = answer.headers.get("content-type")?.startsWith("application/json");
  return { status: answer.status, told: isJson ? await answer.json() : {} };
}

/** Who this phone is to the server; what was last known where there is no signal. */
export async function meet() {
  try {
    const { status, told } = await ask("/api/me");
    if (status === 401) return void tell("not let in", "This phone is not let in any more. Its notes stay here; ask for an invitation, then they are sent.");
    if (status !== 200) return void tell("no answer", "The server does not answer as it should.");
    standing.me = told;
    tell("reached");
    return told;
  } catch {
    tell("no signal");
    return undefined;
  }
}

/** Fetch fresh data for the phone to carry; true if there is any. */
export async function fetchRound() {
  try {
    const answers = await Promise.all(["/api/round", "/api/kinds"].map((path) => ask(path)));
    if (answers.some((answer) => answer.status !== 200)) return false;
    await setFact("round", answers[0].told);
    await setFact("kinds", answers[1].told);
    return true;
  } catch {
    return false;
  }
}

/** Send everything that waits. Only one tab sends at a time where the browser can see to it;
 * where it cannot, a note sent twice is still kept once. */
export function send() {
  if (!navigator.locks) return sendAll();
  return navigator.locks.request("nuttery-send", { ifAvailable: true }, (lock) => (lock ? sendAll() : undefined));
}

let sending = false;

async function sendAll() {
  if (sending) return;
  sending = true;
  try {
    let waiting = await heldBack(await waitingNotes());
    while (waiting.length && (await sendSome(waiting.slice(0, AT_ONCE)))) waiting = await waitingNotes();
    await tidy();
  } finally {
    sending = false;
  }
}

async function waitingNotes() {
  return (await allKept()).filter((kept) => kept.state === "kept");
}

/** Notes kept while this phone was another person's wait for a word. */
async function heldBack(waiting) {
  const me = standing.me ?? (waiting.length ? await meet() : undefined);
  const strange = waiting.filter((kept) => me && kept.person && kept.person !== me.person);
  if (strange.length) {
    await mark(Object.fromEntries(strange.map((kept) => [kept.id, {
      state: "refused",
      faults: [{ entry: "seen by", found: kept.person, expected: `${me.person}, whose phone this is now`, overrulable: false }],
    }])));
  }
  return me ? waiting.filter((kept) => !strange.includes(kept)) : [];
}

/** Send a few; true if they were answered, so that the next may go. */
async function sendSome(some, retry = true) {
  try {
    if (!(await sendPhotos(some))) return false;
    const body = JSON.stringify({ notes: some.map((kept) => kept.note) });
    const { status, told } = await ask("/api/notes", { method: "POST", body, headers: { "content-type": "application/json", "x-nuttery-token": standing.me.token } });
    if (status === 200) {
      await meetServer(told.now);
      await mark(Object.fromEntries(told.outcomes.map((o) => [o.id, changeFor(o)])));
      tell("reached");
      return true;
    }
    return await notTaken(status, told, some, retry);
  } catch {
    tell("no signal");
    return false;
  }
}

function changeFor(outcome) {
  const state = { kept: "registered", already: "registered" }[outcome.outcome] ?? outcome.outcome;
  return { state, faults: outcome.faults, standing: outcome.standing };
}

async function notTaken(status, told, some, retry) {
  if (told.stale && retry) return Boolean(await meet()) && sendSome(some, false);
  if (status === 401) return Boolean(await meet());
  if (status === 403) { tell("not allowed", told.wrong ?? ""); return false; }
  if ([413, 422].includes(status)) {
    if (some.length > 1) return (await sendSome(some.slice(0, some.length / 2))) && sendSome(some.slice(some.length / 2));
    await mark({ [some[0].id]: { state: "refused", faults: [{ entry: "note", found: "this", expected: told.wrong ?? "another form", overrulable: false }] } });
    return true;
  }
  tell("no answer", "The server is busy; it is asked again soon.");
  return false;
}

async function sendPhotos(some) {
  for (const kept of some.filter((k) => k.note.photo)) {
    const photo = await photoOf(kept.id);
    if (!photo) continue;
    const { status, told } = await ask(`/api/photos/${kept.id}`, { method: "PUT", body: photo, headers: { "content-type": "image/jpeg", "x-nuttery-token": standing.me.token } });
    if (told.stale) { if (!(await meet())) return false; return sendPhotos(some); }
    if (status === 415) await mark({ [kept.id]: { state: "refused", faults: [{ entry: "photo", found: "a file", expected: told.wrong, overrulable: false }] } });
    else if (status !== 200) return false;
    else await forgetPhoto(kept.id);
  }
  return true;
}

/** Keep trying: now, when the signal or the page comes back, and now and then. */
export function keepSending() {
  const go = () => send().catch(() => tell("no answer"));
  document.addEventListener("kept", go);
  addEventListener("online", go);
  addEventListener("pageshow", go);
  document.addEventListener("visibilitychange", () => document.hidden || go());
  setInterval(go, AGAIN);
  go();
}
