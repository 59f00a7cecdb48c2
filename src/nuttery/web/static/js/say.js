// What this phone says of its notes: a line that is always in sight, and a word after each act.
import { buzz, button, make } from "./dom.js";
import { allKept } from "./keep.js";
import { clockTrouble } from "./moments.js";
import { standing } from "./send.js";

const pill = () => document.getElementById("standing");
let before = 0;

/** Say how many notes are where; a hum when the last one reached the register. */
export async function sayStanding() {
  const all = await allKept();
  const kept = all.filter((one) => one.state === "kept").length;
  const open = all.filter((one) => ["refused", "conflict"].includes(one.state)).length;
  const here = kept ? `${kept} kept on this phone` : open ? "" : all.length ? "all in the register" : "no notes yet";
  const words = [here, open ? `${open} need${open > 1 ? "" : "s"} you` : "", kept && standing.reach !== "reached" ? standing.reach : ""];
  pill().textContent = words.filter(Boolean).join(" · ");
  pill().dataset.state = open ? "open" : kept ? "kept" : "registered";
  if (before && !kept) buzz([20, 60, 20]);
  before = kept;
  const warnings = [clockTrouble(), ["not let in", "not allowed"].includes(standing.reach) ? standing.words : ""].filter(Boolean);
  document.getElementById("warning").replaceChildren(...warnings.map((told) => make("p", { class: "caution" }, told)));
}

let fading = 0;

/** Say something for a while, with something to do about it. */
export function say(words, ...acts) {
  const place = document.getElementById("word");
  clearTimeout(fading);
  place.replaceChildren(make("p", {}, words), ...acts.map(([told, act]) => button(told, () => { place.replaceChildren(); act(); })));
  fade(place);
}

/** Take the word away after a while, but never from under someone who has reached it. */
function fade(place) {
  const stays = () => place.contains(document.activeElement) || place.matches(":hover");
  fading = setTimeout(() => (stays() ? fade(place) : place.replaceChildren()), 12_000);
}
