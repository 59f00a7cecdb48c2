// The page in the row: what it shows follows the address after #, and works without a signal.
import { make, renew } from "./dom.js";
import { tagIn } from "./finder.js";
import { allKept, fact } from "./keep.js";
import { keptPage } from "./kept_page.js";
import { say, sayStanding } from "./say.js";
import { keepSending } from "./send.js";
import { openCarried, refresh, state } from "./state.js";
import { home, planPage, scanPage, shrub } from "./views.js";
import { writing } from "./write.js";

const place = document.getElementById("row");

/** What the address asks for. Tags begin with a letter or digit; our own words begin with "!". */
async function wanted() {
  const [what, more] = decodeURIComponent(location.hash.slice(1)).split("/");
  if (what === "!kept") return keptPage();
  if (what === "!plan") return planPage();
  if (what === "!scan") return scanPage();
  if (what === "!all" && state.forms.has(more)) return writing(null, more);
  if (what === "!mend") return mending(more);
  if (!what || what.startsWith("!")) return home(await fact("last-shrub"));
  return state.forms.has(more) ? writing(what, more) : shrub(what);
}

async function mending(id) {
  const kept = (await allKept()).find((one) => one.id === id);
  return kept && state.forms.has(kept.note.kind) ? writing(kept.note.shrub ?? null, kept.note.kind, kept) : keptPage();
}

let shown = "";

/** Show what is asked for: another page from its head, the same one as it was left. */
async function show() {
  if (!state.round) return;
  const asked = location.hash;
  const page = await wanted();
  if (asked !== location.hash) return; // another was asked for meanwhile
  if (shown === asked) return renew(place, page);
  shown = asked;
  place.replaceChildren(page);
  scrollTo(0, 0);
  place.querySelector("h1")?.focus({ preventScroll: true });
}

/** Whether a form is open that must not be drawn anew under the hand. */
function isWriting() {
  return Boolean(place.querySelector("form.writing"));
}

function cannotDo() {
  const words = [];
  if (!window.isSecureContext) words.push("This page came over plain HTTP. It keeps notes while it is open, but cannot be opened anew without a signal, nor use GPS or the camera. Leave it open in the row.");
  document.getElementById("cannot").replaceChildren(...words.map((told) => make("p", { class: "caution" }, told)));
}

async function begin() {
  addEventListener("hashchange", () => void show());
  cannotDo();
  if (location.pathname.startsWith("/tag/")) history.replaceState(null, "", `/row#${tagIn(location.pathname)}`);
  const carried = await openCarried();
  await setUp(carried);
  const fresh = await refresh();
  if (fresh && !(carried && isWriting())) await show();
  if (!state.round) place.replaceChildren(make("p", { role: "status" }, "This phone carries no round yet. Open this page once with a signal."));
  if (!carried && state.planting) await setUp(true);
  await sayStanding();
}

let isSetUp = false;

async function setUp(ready) {
  if (!ready || isSetUp) return;
  isSetUp = true;
  if (location.hash === "#!no-signal") say("There is no signal: that page cannot be shown, but notes can be written.");
  await show();
  for (const event of ["kept", "standing"]) document.addEventListener(event, () => void sayStanding());
  document.addEventListener("kept", () => { if (!isWriting()) void show(); });
  navigator.storage?.persist?.().catch(() => false);
  await sayStanding();
  keepSending();
}

if ("serviceWorker" in navigator) navigator.serviceWorker.register("/service-worker.js").catch((problem) => console.warn("no worker:", problem.message));
begin().catch((problem) => {
  place.replaceChildren(make("p", { class: "caution" }, `This browser keeps no notes (${problem.message}). A private window often does not.`));
});
