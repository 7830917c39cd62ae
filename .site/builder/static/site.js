// What scrolls can be reached by keyboard, and the headings at the side have a level.
for (const region of document.querySelectorAll(".table-wrapper, pre")) {
  if (region.scrollWidth > region.clientWidth) region.tabIndex = 0;
}
for (const caption of document.querySelectorAll("p.caption[role=heading]")) caption.ariaLevel = "2";
