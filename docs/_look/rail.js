/* The rail stands at the page that is open, and keeps the words that were looked for. */
"use strict";
{
  const rail = document.querySelector(".rail");
  const here = rail?.querySelector("li.current > a");
  if (here) rail.scrollTop += here.getBoundingClientRect().top - rail.getBoundingClientRect().top - rail.clientHeight / 2;
}
