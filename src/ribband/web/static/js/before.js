// Figures of before: said over the page and shown grey while the plan is made anew.
//
//   ofBefore(words, room)     `words` say of which revision they are, "" where of the newest
//   ofRepair(words)           `words` say that a page is of a repair's new planks alone, or ""

/** @param {string} words @param {Element} room what is shown grey */
export function ofBefore(words, room) {
  const said = document.getElementById("as-of");
  said.hidden = !words;
  said.textContent = words;
  room.classList.toggle("of-before", Boolean(words));
}

/** @param {string} words */
export function ofRepair(words) {
  const said = document.getElementById("alone");
  said.hidden = !words;
  said.textContent = words;
}
