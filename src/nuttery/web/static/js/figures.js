// Charts: what a mark means is told below the picture when it is tapped, pointed at or reached by keys.

for (const paper of document.querySelectorAll(".paper")) {
  const said = paper.parentElement.querySelector(".said");
  const tell = (event) => {
    const mark = event.target.closest("g, a");
    const title = mark && mark.querySelector(":scope > title");
    if (said && title) said.textContent = title.textContent;
  };
  paper.addEventListener("pointerover", tell);
  paper.addEventListener("click", tell);
}
