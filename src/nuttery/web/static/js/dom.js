// Elements made from names and plain text; nothing a person wrote is ever read as markup.

/** Make an element. `told` holds attributes; a function is a listener, true an empty attribute. */
export function make(name, told = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(told)) {
    if (value === undefined || value === null || value === false) continue;
    if (typeof value === "function") made.addEventListener(key, value);
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...inside.flat(Infinity).filter((part) => part !== null && part !== undefined));
  return made;
}

/** Make an SVG element. */
export function draw(name, told = {}, ...inside) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(told)) made.setAttribute(key, value);
  made.append(...inside);
  return made;
}

/** Make a button that does one thing. */
export function button(words, act, told = {}) {
  return make("button", { type: "button", click: act, ...told }, words);
}

/** Let the hand feel it, where the phone can. */
export function buzz(pattern) {
  if (navigator.vibrate) navigator.vibrate(pattern);
}

/** Words with a capital first. */
export function cap(words) {
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** Draw a place anew under someone who is at work in it: what is open stays open, the focus stays. */
export function renew(place, ...inside) {
  const open = new Set([...place.querySelectorAll("details[open] > summary")].map(toldBy));
  const at = place.contains(document.activeElement) ? document.activeElement : null;
  const before = at ? alike(place, at).indexOf(at) : -1;
  place.replaceChildren(...inside);
  for (const summary of place.querySelectorAll("details > summary")) if (open.has(toldBy(summary))) summary.parentElement.open = true;
  if (at) (alike(place, at)[before] ?? place.querySelector("h1"))?.focus({ preventScroll: true });
}

function alike(place, one) {
  return [...place.querySelectorAll(one.localName)].filter((other) => toldBy(other) === toldBy(one));
}

function toldBy(one) {
  return [one.getAttribute("href"), one.getAttribute("aria-label"), one.id, one.localName === "h1" ? "" : one.textContent].join("|");
}
