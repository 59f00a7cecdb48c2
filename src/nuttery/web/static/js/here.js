// On a narrow screen the pages stand in a strip: bring the one that is shown into sight.
const here = document.querySelector(".top nav [aria-current]");
if (here) here.parentElement.scrollLeft = here.offsetLeft - (here.parentElement.clientWidth - here.offsetWidth) / 2;
