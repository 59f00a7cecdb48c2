// Everything this phone keeps: what needs a person, what waits, what the register has.
import { button, make } from "./dom.js";
import { allKept, keepNote, mark } from "./keep.js";
import { dayTold, newId, now } from "./moments.js";
import { meet, send, standing } from "./send.js";
import { state } from "./state.js";
import { takeBack } from "./write.js";

const SHOWN = 40;

/** The page of kept notes. */
export async function keptPage() {
  const all = (await allKept()).reverse();
  const of = (...states) => all.filter((kept) => states.includes(kept.state));
  const open = of("refused", "conflict"), waiting = of("kept"), there = of("registered"), dropped = of("dropped");
  const unsent = [...waiting, ...open, ...dropped];
  return make("div", {},
    make("h1", { tabindex: -1 }, "Notes on this phone"),
    part("These need you", open, openNote),
    part("Kept on this phone, not yet in the register", waiting, plainNote),
    part("In the register", there.slice(0, SHOWN), plainNote),
    part("Left out by you; never sent", dropped, plainNote),
    make("p", { class: "doing" },
      button("Send now", async () => { await meet(); await send(); }, { class: "main" }),
      unsent.length ? button(`Save ${unsent.length} unsent to a file`, () => saveToFile([...unsent].reverse())) : null),
    all.length ? null : make("p", {}, "No note was written on this phone yet."),
    make("p", { class: "hint" }, "A file of unsent notes is the last resort, should this phone never reach the server again: nuttery import reads it. The same note twice is kept once."));
}

function part(title, some, told) {
  if (!some.length) return null;
  return make("section", {}, make("h2", {}, `${title} (${some.length})`), make("ul", { class: "plain" }, some.map(told)));
}

function head(kept) {
  const where = kept.note.shrub ? make("a", { class: "tag", href: `#${kept.note.shrub}` }, kept.note.shrub) : null;
  return make("p", {}, where, ` ${kept.words} `, make("small", {}, dayTold(kept.note.seen)));
}

function plainNote(kept) {
  const undo = kept.note.kind === "withdrawn" || kept.state === "dropped" ? null : button("Undo", () => takeBack(kept.note));
  return make("li", { class: "kept" }, head(kept), undo);
}

function openNote(kept) {
  const faults = kept.faults.map((fault) => make("p", { class: "fault" }, `${fault.entry}: found ${fault.found}, expected ${fault.expected}.`));
  const standingNote = kept.standing ? make("p", {}, `The register holds under the same id: ${kept.standing}.`) : null;
  return make("li", { class: "kept open" }, head(kept), faults, standingNote, make("p", { class: "doing" }, ...acts(kept)));
}

function acts(kept) {
  const leave = button("Leave mine out", () => mark({ [kept.id]: { state: "dropped" } }));
  if (kept.state === "conflict") return [button("Send mine as a note of its own", () => asNew(kept)), leave];
  if (kept.faults.some((fault) => fault.entry === "seen by")) {
    return [button(`Send it as ${standing.me?.person ?? state.person}`, () => mark({ [kept.id]: { state: "kept", person: "", faults: [] } })), leave];
  }
  const meant = kept.faults.length && kept.faults.every((fault) => fault.overrulable);
  const mean = meant ? [button("I mean it", () => mark({ [kept.id]: { note: { ...kept.note, means_it: true }, state: "kept", faults: [] } }))] : [];
  const mend = state.forms.has(kept.note.kind) ? [make("a", { class: "button", href: `#!mend/${kept.id}` }, "Mend")] : [];
  return [...mend, ...mean, leave];
}

async function asNew(kept) {
  const note = { ...kept.note, id: newId() };
  await keepNote(note, kept.words, state.person);
  await mark({ [kept.id]: { state: "dropped" } });
}

/** Save notes to a file, one a line, as the register itself would write them. */
function saveToFile(some) {
  const head = { planting: state.planting, by: state.person || "unknown", device: standing.me?.device ?? "phone", recorded: new Date(now()).toISOString() };
  const lines = some.map((kept) => JSON.stringify({ ...kept.note, ...head }));
  const address = URL.createObjectURL(new Blob([`${lines.join("\n")}\n`], { type: "application/x-ndjson" }));
  const link = make("a", { href: address, download: `notes-${new Date(now()).toISOString().slice(0, 10)}.jsonl` });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
