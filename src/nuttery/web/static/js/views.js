// The pages in the row: the day's round, one shrub, the plan, the camera.
import { button, cap, make } from "./dom.js";
import { canScan, keypad, nearest, plan, scan, tagIn } from "./finder.js";
import { setFact } from "./keep.js";
import { dayTold } from "./moments.js";
import { nextStop, state, stopOf, visitedToday } from "./state.js";
import { lastElsewhere, sayAgain } from "./write.js";

const go = (tag) => { location.hash = tag; };
const OF_THE_PLANTING = ["drying_weighed", "water_given", "remark"];

/** The first page: where to go next, ways to a shrub, the plan of the day. */
export async function home(last) {
  const { round } = state;
  const visited = await visitedToday();
  const open = round.stops.filter((stop) => stop.wanted.length && !visited.has(stop.tag));
  const next = nextStop(last, visited);
  const place = make("div", { "aria-live": "polite" });
  const cautions = new Set();
  return make("div", {},
    make("h1", { tabindex: -1 }, "Which shrub?"),
    make("p", { class: "doing ways" },
      next ? make("a", { class: "button main", href: `#${next.tag}` }, `Next: ${next.tag}`) : null,
      make("a", { class: "button", href: "#!plan" }, "Plan"),
      button("Nearest", () => showNearest(place)),
      canScan() ? make("a", { class: "button", href: "#!scan" }, "Scan its tag") : null),
    place,
    keypad(round.stops, go),
    make("h2", {}, "Today’s round"),
    make("p", { class: "lead" }, `Plan of ${dayTold(round.on)}. ${open.length ? `${open.length} shrubs want a note.` : "No shrub wants a note."}`),
    make("ul", { class: "lines" }, round.lines.map((line) => lineTold(line, visited, cautions))),
    make("details", {}, make("summary", {}, "A note about no single shrub"), make("div", { class: "options" }, OF_THE_PLANTING.filter((kind) => state.forms.has(kind)).map((kind) => make("a", { class: "button", href: `#!all/${kind}` }, cap(state.forms.get(kind).title))))));
}

/** A line of the plan; a caution that an earlier line told is not told again. */
function lineTold(line, visited, cautions) {
  const caution = cautions.has(line.caution) ? "" : line.caution;
  cautions.add(line.caution);
  const left = line.shrubs.filter((tag) => !visited.has(tag) && stopOf(tag));
  const tags = left.slice(0, 8).map((tag) => make("a", { class: "tag", href: `#${tag}` }, tag));
  const more = left.length > 8 ? make("span", { class: "more" }, `and ${left.length - 8} more`) : null;
  return make("li", { class: "line" }, make("p", { class: "act" }, line.act),
    line.shrubs.length ? make("p", { class: "tags" }, tags, more, left.length ? null : "all visited today") : null,
    caution ? make("p", { class: "caution" }, caution) : null);
}

async function showNearest(place) {
  place.replaceChildren(make("p", {}, "Looking where this phone is …"));
  try {
    const { accuracy, found } = await nearest(state.round);
    const told = found.map(({ stop, metres }) => make("a", { class: "tag", href: `#${stop.tag}` }, `${stop.tag}, ${metres.toFixed(0)} m`));
    place.replaceChildren(make("p", { class: "tags" }, told), make("p", { class: "hint" }, `The phone knows its place to within ${accuracy.toFixed(0)} m.`));
  } catch (problem) {
    place.replaceChildren(make("p", { class: "caution" }, problem.message));
  }
}

/** One shrub: what the plan wants of it, what was seen last, every kind of note. */
export async function shrub(tag) {
  const stop = stopOf(tag);
  if (!stop) return missing(tag);
  await setFact("last-shrub", tag);
  const stops = state.round.stops;
  const at = stops.indexOf(stop);
  const visited = await visitedToday();
  const again = await lastElsewhere(tag);
  const next = nextStop(tag, visited);
  const wanted = stop.wanted.map((one) => one.kind).filter((kind) => state.forms.has(kind));
  const others = [...state.forms.values()].filter((form) => !wanted.includes(form.kind) && form.kind !== "drying_weighed");
  return make("div", {},
    make("h1", { tabindex: -1 }, `Shrub ${tag}`),
    make("p", { class: "lead" }, stop.row === null ? "No row told." : `Row ${stop.row}, number ${stop.number}.`, visited.has(tag) ? " Visited today." : ""),
    make("div", { class: "big" }, wanted.slice(0, 3).map((kind, k) => make("a", { class: "button main", href: `#${tag}/${kind}` }, make("b", {}, cap(state.forms.get(kind).title)), make("small", {}, stop.wanted[k].why)))),
    again ? make("div", { class: "big" }, button(make("span", {}, make("b", {}, "The same again"), make("small", {}, `as on ${again.note.shrub}: ${again.words}`)), () => sayAgain(again, tag))) : null,
    make("details", { open: !wanted.length }, make("summary", {}, wanted.length ? "Another kind of note" : "Which kind of note?"), make("div", { class: "options" }, others.map((form) => make("a", { class: "button", href: `#${tag}/${form.kind}` }, cap(form.title))))),
    make("h2", {}, "Seen here last"),
    stop.last.length ? make("ol", { class: "story" }, [...stop.last].reverse().map((note) => make("li", {}, make("time", { datetime: note.seen }, dayTold(note.seen)), make("span", {}, note.words)))) : make("p", {}, "Nothing in the last year and a half."),
    make("nav", { class: "bar", "aria-label": "Neighbours" },
      at > 0 ? make("a", { class: "button", href: `#${stops[at - 1].tag}` }, `← ${stops[at - 1].tag}`) : null,
      at + 1 < stops.length ? make("a", { class: "button", href: `#${stops[at + 1].tag}` }, `${stops[at + 1].tag} →`) : null,
      next ? make("a", { class: "button main", href: `#${next.tag}` }, `Next: ${next.tag}`) : null));
}

function missing(tag) {
  return make("div", {}, make("h1", { tabindex: -1 }, "No such shrub here"), make("p", {}, `This phone carries no shrub ${JSON.stringify(tag)}.`), keypad(state.round.stops, go));
}

/** The plan of the planting, to tap on. */
export async function planPage() {
  const visited = await visitedToday();
  return make("div", {}, make("h1", { tabindex: -1 }, "Plan"), make("p", { class: "lead" }, "Thick rings want a note, filled ones were visited today."), plan(state.round.stops, visited, go), make("div", { class: "bar" }, make("a", { class: "button", href: "#" }, "Back")));
}

/** The camera, reading the QR tag of a shrub. */
export function scanPage() {
  const video = make("video", { playsinline: true, muted: true, class: "camera", "aria-label": "What the camera sees" });
  const word = make("p", { role: "status" }, "Hold the camera over the tag’s square code.");
  const gone = () => !video.isConnected && location.hash !== "#!scan";
  scan(video, gone).then((told) => told && go(tagIn(told)), (problem) => { word.textContent = `The camera cannot be used: ${problem.message}`; });
  return make("div", {}, make("h1", { tabindex: -1 }, "Scan the tag"), word, video, make("div", { class: "bar" }, make("a", { class: "button", href: "#" }, "Back")));
}
