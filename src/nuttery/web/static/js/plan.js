// The plan of the planting: find a shrub, walk from shrub to shrub by the arrow keys, larger and smaller.

const box = document.querySelector(".plan-of");
const paper = box.querySelector(".paper");
const drawing = paper.querySelector("svg");
const said = box.querySelector(".said");
const hit = document.querySelector("#hit");
const find = document.querySelector("#find");
const shrubs = [...drawing.querySelectorAll("[data-tag]")];
const byTag = new Map(shrubs.map((shrub) => [shrub.dataset.tag.toLowerCase(), shrub]));
const ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
ring.setAttribute("class", "found");
let at = null;

function place(shrub) {
  const use = shrub.querySelector("use");
  return { x: Number(use.getAttribute("x")), y: Number(use.getAttribute("y")) };
}

function reach(shrub) {
  at = shrub;
  const { x, y } = place(shrub);
  ring.setAttribute("cx", x);
  ring.setAttribute("cy", y);
  const scale = drawing.viewBox.baseVal.width / drawing.getBoundingClientRect().width;
  const mark = shrub.querySelector("use").getBBox();
  ring.setAttribute("r", Math.max(0.75 * mark.width, 14 * scale));
  drawing.append(ring);
  const words = shrub.querySelector("title").textContent;
  said.textContent = words;
  const seen = paper.getBoundingClientRect();
  const spot = ring.getBoundingClientRect();
  paper.scrollLeft += spot.left + spot.width / 2 - seen.left - seen.width / 2;
  paper.scrollTop += spot.top + spot.height / 2 - seen.top - seen.height / 2;
  return words;
}

/** The nearest shrub whose direction lies within 45 degrees of where the key points. */
function next(dx, dy) {
  const here = place(at);
  let best = null;
  let least = Infinity;
  for (const shrub of shrubs) {
    const there = place(shrub);
    const along = (there.x - here.x) * dx + (there.y - here.y) * dy;
    const aside = Math.abs((there.x - here.x) * dy) + Math.abs((there.y - here.y) * dx);
    if (along > 0.5 && aside <= along && along + 2 * aside < least) {
      least = along + 2 * aside;
      best = shrub;
    }
  }
  return best;
}

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
paper.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && at) location.assign(at.getAttribute("href"));
  if (!(event.key in ARROWS) || event.ctrlKey || event.altKey || event.metaKey || !shrubs.length) return;
  event.preventDefault();
  const shrub = at ? next(...ARROWS[event.key]) : shrubs[0];
  if (shrub) reach(shrub);
});

function look(tag) {
  const shrub = byTag.get(tag.trim().toLowerCase());
  if (!shrub) return;
  const words = reach(shrub);
  const link = document.createElement("a");
  link.className = "tag";
  link.href = shrub.getAttribute("href");
  link.textContent = shrub.dataset.tag;
  const told = document.createElement("p");
  told.append(link, ` ${words.slice(shrub.dataset.tag.length + 2)}`);
  hit.replaceChildren(told);
}

find.addEventListener("input", () => look(find.value));
document.querySelector("#show").addEventListener("change", (event) => event.target.form.requestSubmit());
if (box.dataset.find) look(box.dataset.find);

const SIZES = ["fit", "twice", "thrice", "wide"];
const zoom = document.querySelector(".zoom");
let size = 0;
function resize(step) {
  paper.classList.remove(SIZES[size]);
  size = Math.min(SIZES.length - 1, Math.max(0, size + step));
  paper.classList.add(SIZES[size]);
  for (const button of zoom.querySelectorAll("button")) {
    const end = Number(button.dataset.zoom) > 0 ? SIZES.length - 1 : 0;
    button.disabled = size === end;
  }
  if (at) reach(at);
}
zoom.addEventListener("click", (event) => {
  if (event.target.dataset.zoom) resize(Number(event.target.dataset.zoom));
});
zoom.hidden = false;
resize(0);
