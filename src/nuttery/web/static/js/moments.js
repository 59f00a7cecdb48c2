// Days, times and ids. The server's clock corrects this phone's where the two have met.
import { fact, setFact } from "./keep.js";

let offset = 0;
let latest = 0;

/** Take up what was known of the clocks when this page was last open. */
export async function setClock() {
  offset = (await fact("clock-offset")) ?? 0;
  latest = (await fact("clock-latest")) ?? 0;
}

/** Learn the server's moment, as told in an answer that just came. */
export async function meetServer(told) {
  offset = Date.parse(told) - Date.now();
  latest = Date.now() + offset;
  await setFact("clock-offset", offset);
  await setFact("clock-latest", latest);
}

/** The present moment as well as it is known, in milliseconds. */
export function now() {
  return Date.now() + offset;
}

/** What is wrong with this phone's clock, in words; empty if nothing is. */
export function clockTrouble() {
  if (now() < latest - 10 * 60_000) {
    return "This phone’s clock was set back. Look at the day of each note before you keep it.";
  }
  if (Math.abs(offset) > 10 * 60_000) {
    return "This phone’s clock is off; the day is taken from the server’s.";
  }
  return "";
}

/** Day and time at the planting, as ISO text. */
export function dayAndTime(zone) {
  const at = new Date(now());
  const told = { timeZone: zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" };
  const parts = Object.fromEntries(new Intl.DateTimeFormat("en", told).formatToParts(at).map((p) => [p.type, p.value]));
  return { day: `${parts.year}-${parts.month}-${parts.day}`, time: `${parts.hour}:${parts.minute}:${parts.second}` };
}

/** A day as "14 Apr"; the year only if it is another one than now. */
export function dayTold(day) {
  const [year, month, date] = day.split("-").map(Number);
  const told = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", timeZone: "UTC" }).format(Date.UTC(year, month - 1, date));
  return year === new Date(now()).getFullYear() ? told : `${told} ${year}`;
}

let lastTick = 0;

/** A new UUID of version 7 (RFC 9562): in order of time on this phone, unique without asking. */
export function newId() {
  lastTick = Math.max(lastTick + 1, Math.floor(now()));
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let k = 0, tick = lastTick; k < 6; k += 1, tick = Math.floor(tick / 256)) bytes[5 - k] = tick % 256;
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
