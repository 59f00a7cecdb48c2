// Writing one note: the form, what was begun before, and keeping it on this phone.
import { button, buzz, cap, make } from "./dom.js";
import { entriesOf } from "./form.js";
import { allKept, fact, keepNote, mark, setFact } from "./keep.js";
import { dayAndTime, newId } from "./moments.js";
import { shrunk } from "./photo.js";
import { say } from "./say.js";
import { state, stopOf, today } from "./state.js";
import { noteTold } from "./units.js";

/** The page on which a note is written; `mended` is a kept note that is to be changed. */
export async function writing(tag, kind, mended = null) {
  const form = formFor(tag, kind);
  const key = `${tag ?? ""}/${kind}/${mended?.id ?? ""}`;
  const draft = await fact("draft");
  const begun = draft?.key === key ? draft : null;
  const id = begun?.id ?? mended?.id ?? newId();
  const wanted = tag ? stopOf(tag)?.wanted.find((one) => one.kind === kind) : null;
  const filled = begun?.values ?? mended?.note ?? wanted?.filled ?? {};
  const its = entriesOf(form.fields, filled);
  const day = make("input", { type: "date", id: "seen", value: begun?.seen ?? mended?.note.seen ?? today(), max: today(), required: true });
  const photo = make("input", { type: "file", id: "photo", accept: "image/*", capture: "environment" });
  const faults = make("div", { class: "faults", role: "alert" });
  const keep = button("Keep", () => tryToKeep(false), { class: "main keep" });

  async function tryToKeep(meansIt) {
    if (keep.disabled) return;
    const { values, faults: found } = its.read();
    if (!day.value) found.push({ label: "day seen", words: "is still open", overrulable: false });
    const left = found.filter((fault) => !(meansIt && fault.overrulable));
    if (left.length) return showFaults(left);
    keep.disabled = true;
    const note = noteFrom(id, kind, tag, day.value, values, meansIt || mended?.note.means_it);
    const image = photo.files[0] ? await shrunk(photo.files[0]) : null;
    if (image) note.photo = `${id}.jpg`;
    await keepIt(form, note, mended, image);
    await setFact("draft", null);
    location.hash = tag ? tag : "";
  }

  function showFaults(left) {
    const told = left.map((fault) => make("p", {}, `${fault.label} ${fault.words}.`));
    const sure = left.every((fault) => fault.overrulable) ? [button("I mean it: keep it so", () => tryToKeep(true))] : [];
    faults.replaceChildren(...told, ...sure);
    buzz([60, 40, 60]);
    faults.scrollIntoView({ block: "center" });
  }

  const remember = () => setFact("draft", { key, id, values: its.read().values, seen: day.value });
  return make("form", { class: "writing", input: remember, submit: (event) => { event.preventDefault(); tryToKeep(false); } },
    make("h1", { tabindex: -1 }, tag ? `${tag}: ${form.title}` : cap(form.title)),
    make("p", { class: "lead" }, wanted ? wanted.why : form.told),
    its.element,
    make("details", { class: "more" }, make("summary", {}, "Day and photo"),
      make("p", {}, make("label", { for: "seen" }, "Day seen "), day),
      make("p", {}, make("label", { for: "photo" }, "Photo "), photo, make("small", {}, " Its place and camera are taken out."))),
    faults,
    make("div", { class: "bar" }, make("a", { class: "button", href: tag ? `#${tag}` : "#" }, "Back"), keep));
}

function formFor(tag, kind) {
  const form = state.forms.get(kind);
  const crosses = state.round.crosses.filter(([, shrub]) => shrub === tag).map(([id, , words]) => [id, words]);
  return { ...form, fields: form.fields.map((field) => (field.shape === "note" ? { ...field, choices: crosses } : field)) };
}

function noteFrom(id, kind, tag, seen, values, meansIt) {
  const note = { id, kind, seen, ...values };
  if (tag) note.shrub = tag;
  if (seen === today() && !state.fixedDay) note.seen_at = dayAndTime(state.round.time_zone).time;
  if (meansIt) note.means_it = true;
  return note;
}

async function keepIt(form, note, mended, photo) {
  const words = noteTold(form, note);
  if (mended) await mark({ [note.id]: { note, words, state: "kept", faults: [] } });
  else await keepNote(note, words, state.person, photo);
  kept(note, words);
}

function kept(note, words) {
  buzz(40);
  say(`Kept on this phone. ${note.shrub ? `${note.shrub}: ` : ""}${words}`, ["Undo", () => takeBack(note)]);
}

/** Take a note back: a note of its own that says so; neither is ever deleted. */
export async function takeBack(note) {
  const back = noteFrom(newId(), "withdrawn", note.shrub, today(), { stands_in_for: note.id });
  await keepNote(back, "taken back", state.person);
  buzz(40);
  say("Taken back; that is kept too.");
}

/** The last note written on this phone about another shrub, to be said again of this one. */
export async function lastElsewhere(tag) {
  const all = await allKept();
  const gone = new Set(all.map((kept) => kept.note.stands_in_for));
  const fit = (kept) => kept.note.shrub && kept.note.kind !== "withdrawn" && !kept.note.photo && !gone.has(kept.id) && kept.state !== "dropped";
  const last = all.filter(fit).at(-1);
  return last && last.note.shrub !== tag && last.note.seen === today() ? last : null;
}

/** Say the same of another shrub, in one tap. */
export async function sayAgain(last, tag) {
  const { id: _id, kind, shrub: _shrub, seen: _seen, seen_at: _at, means_it: meansIt, ...values } = last.note;
  const note = noteFrom(newId(), kind, tag, today(), values, meansIt);
  await keepNote(note, last.words, state.person);
  kept(note, last.words);
}
