// What the pages in the row share: the round that this phone carries, and who it belongs to.
import { allKept, fact, lastPlanting, open, setFact } from "./keep.js";
import { dayAndTime, meetServer, setClock } from "./moments.js";
import { fetchRound, meet, standing } from "./send.js";

export const state = { round: null, forms: new Map(), person: "", planting: null, fixedDay: null };

/** Open what this phone carries; true if it carries anything. */
export async function openCarried() {
  const planting = lastPlanting();
  if (!planting) return false;
  await open(planting);
  state.planting = planting;
  await setClock();
  return takeUp();
}

async function takeUp() {
  state.round = (await fact("round")) ?? null;
  state.forms = new Map(((await fact("kinds")) ?? []).map((form) => [form.kind, form]));
  const me = (await fact("me")) ?? {};
  state.person = me.person ?? "";
  state.fixedDay = me.fixed_day ?? null;
  return Boolean(state.round);
}

/** Meet the server, and carry what is new; true if the pages may have changed. */
export async function refresh() {
  const me = await meet();
  if (!me) return false;
  if (me.planting !== state.planting) {
    await open(me.planting);
    state.planting = me.planting;
  }
  await meetServer(me.now);
  await setFact("me", { person: me.person, device: me.device, fixed_day: me.fixed_day });
  for (let tries = 0; tries < 40 && !(await fetchRound()); tries += 1) {
    if (standing.reach === "no signal") break;
    await new Promise((done) => setTimeout(done, 1500));
  }
  return takeUp();
}

/** Today at the planting, or the day as of which it is served. */
export function today() {
  return state.fixedDay ?? dayAndTime(state.round?.time_zone ?? "UTC").day;
}

/** The stop of a tag, or undefined. */
export function stopOf(tag) {
  return state.round.stops.find((stop) => stop.tag === tag);
}

/** Tags of shrubs noted today, on this phone or another. */
export async function visitedToday() {
  const day = today();
  const here = (await allKept()).filter((kept) => kept.note.seen === day && kept.state !== "dropped");
  const there = state.round.stops.filter((stop) => stop.last.some((note) => note.seen === day));
  return new Set([...here.map((kept) => kept.note.shrub), ...there.map((stop) => stop.tag)]);
}

/** The next stop of the round after a tag: one where a note is wanted, round the rows if need be. */
export function nextStop(tag, visited) {
  const stops = state.round.stops;
  const at = stops.findIndex((stop) => stop.tag === tag);
  const order = [...stops.slice(at + 1), ...stops.slice(0, at + 1)];
  return order.find((stop) => stop.wanted.length && !visited.has(stop.tag) && stop.tag !== tag) ?? order[0];
}
