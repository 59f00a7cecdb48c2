// Charts: what a mark means is told below the picture when it is tapped, pointed at or reached by keys;
// a picture wider than the page begins at the shrub that was chosen.

for (const paper of document.querySelectorAll(".paper")) {
  const said = paper.parentElement.querySelector(".said");
  const tell = (event) => {
    const mark = event.target.closest("[aria-label]:not(svg):not(div), g, a");
    if (!said || !mark) return;
    const title = mark.querySelector(":scope > title");
    if (title) said.textContent = title.textContent;
    else if (mark.hasAttribute("aria-label")) said.textContent = mark.getAttribute("aria-label");
  };
  paper.addEventListener("pointerover", tell);
  paper.addEventListener("click", tell);
  const here = paper.querySelector("[data-here]")?.getBoundingClientRect();
  if (here) {
    const frame = paper.getBoundingClientRect();
    paper.scrollBy(
      here.left + here.width / 2 - frame.left - frame.width / 2,
      here.top + here.height / 2 - frame.top - frame.height / 2,
    );
  }
}
