// Ways to the shrub in front of you: its tag on a keypad, nearest by GPS, the plan, its QR tag.
import { button, buzz, draw, make } from "./dom.js";

/** A keypad of the signs that the planting's tags are made of; the tags that fit stand above it. */
export function keypad(stops, go) {
  const signs = [...new Set(stops.flatMap((stop) => [...stop.tag]))].sort(digitsFirst);
  const typed = make("output", { class: "typed", "aria-label": "Tag typed so far" }, "");
  const fits = make("div", { class: "tags fits", "aria-live": "polite" });
  const show = () => {
    const found = stops.filter((stop) => loose(stop.tag).startsWith(loose(typed.textContent)));
    const none = make("p", { class: "hint" }, "No shrub’s tag begins so.");
    fits.replaceChildren(...(typed.textContent ? (found.length ? found.slice(0, 12).map((stop) => button(stop.tag, () => go(stop.tag), { class: "tag" })) : [none]) : [make("p", { class: "hint" }, "Type the tag; dots and dashes may be left out.")]));
  };
  const press = (sign) => () => { typed.textContent += sign; buzz(8); show(); };
  const pad = make("div", { class: signs.length > 14 ? "pad many" : "pad" }, signs.map((sign) => button(sign, press(sign))), button("⌫", () => { typed.textContent = typed.textContent.slice(0, -1); show(); }, { "aria-label": "Take back the last sign" }));
  show();
  return make("div", { class: "keypad" }, typed, fits, pad);
}

function digitsFirst(a, b) {
  const place = (sign) => (/\d/.test(sign) ? 0 : /\w/.test(sign) ? 1 : 2);
  return place(a) - place(b) || a.localeCompare(b);
}

function loose(tag) {
  return tag.toLowerCase().replaceAll(/[-._]/g, "");
}

/** Shrubs nearest to where the phone is, by its GPS; a promise of [{ stop, metres }], ±accuracy. */
export function nearest(round, most = 6) {
  return new Promise((done, failed) => {
    if (!navigator.geolocation || !window.isSecureContext) return failed(new Error("This page may not ask where the phone is: it needs HTTPS."));
    navigator.geolocation.getCurrentPosition(({ coords }) => {
      const [east, north] = metresFrom(round.latitude, round.longitude, coords.latitude, coords.longitude);
      const found = round.stops.filter((stop) => stop.x !== null).map((stop) => ({ stop, metres: Math.hypot(stop.x - east, stop.y - north) }));
      done({ accuracy: coords.accuracy, found: found.sort((a, b) => a.metres - b.metres).slice(0, most) });
    }, (problem) => failed(new Error(`The phone does not say where it is: ${problem.message}`)), { enableHighAccuracy: true, timeout: 15_000, maximumAge: 5_000 });
  });
}

/** Metres east and north of an origin (WGS 84 ellipsoid, flat over so short a way). */
export function metresFrom(latitude0, longitude0, latitude, longitude) {
  const radius = 6_378_137, e2 = 0.00669438, rad = Math.PI / 180;
  const s2 = Math.sin(latitude0 * rad) ** 2;
  const along = radius / Math.sqrt(1 - e2 * s2);
  const across = (radius * (1 - e2)) / (1 - e2 * s2) ** 1.5;
  return [(longitude - longitude0) * rad * along * Math.cos(latitude0 * rad), (latitude - latitude0) * rad * across];
}

/** The plan of the planting to tap on; the shrub nearest to the tap is meant. */
export function plan(stops, visited, go) {
  const placed = stops.filter((stop) => stop.x !== null);
  if (!placed.length) return make("p", {}, "No shrub has a place yet.");
  const xs = placed.map((stop) => stop.x), ys = placed.map((stop) => -stop.y);
  const edge = 2, left = Math.min(...xs) - edge, top = Math.min(...ys) - edge;
  const wide = Math.max(...xs) - left + edge, high = Math.max(...ys) - top + edge;
  const r = 0.42 * closest(placed);
  const svg = draw("svg", { viewBox: `${left} ${top} ${wide} ${high}`, class: "plan", role: "img", "aria-label": "Plan of the planting, north above. Tap a shrub, or use the keypad." });
  for (const stop of placed) {
    const state = visited.has(stop.tag) ? "done" : stop.wanted.length ? "wanted" : "";
    svg.append(draw("circle", { cx: stop.x, cy: -stop.y, r, class: `spot ${state}` }), draw("text", { x: stop.x, y: -stop.y + 0.16 * r * 2, "font-size": 0.62 * r, "text-anchor": "middle" }, stop.tag));
  }
  svg.addEventListener("click", (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const near = placed.map((stop) => [Math.hypot(stop.x - at.x, -stop.y - at.y), stop.tag]).sort((a, b) => a[0] - b[0])[0];
    if (near[0] < 4 * r) go(near[1]);
  });
  return make("div", { class: "planbox", tabindex: 0, role: "region", "aria-label": "Plan, to be moved aside where it is wider than the screen" }, svg);
}

function closest(placed) {
  const steps = placed.slice(1).map((stop, k) => Math.hypot(stop.x - placed[k].x, stop.y - placed[k].y)).filter((d) => d > 0);
  return Math.min(2, ...steps);
}

/** Whether this phone's browser reads QR codes itself. */
export function canScan() {
  return "BarcodeDetector" in window && Boolean(navigator.mediaDevices?.getUserMedia);
}

/** Read a QR tag with the camera into `video`; a promise of its text. */
export async function scan(video, stopped) {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  try {
    video.srcObject = stream;
    await video.play();
    const reader = new BarcodeDetector({ formats: ["qr_code"] });
    while (!stopped()) {
      const [code] = await reader.detect(video);
      if (code) return code.rawValue;
      await new Promise((done) => setTimeout(done, 150));
    }
    return "";
  } finally {
    stream.getTracks().forEach((track) => track.stop());
  }
}

/** The tag that a QR code or an address tells: the last part of it. */
export function tagIn(told) {
  return decodeURIComponent(told.split(/[/#]/).filter(Boolean).at(-1) ?? "");
}
