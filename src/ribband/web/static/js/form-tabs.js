// A row of tabs over one grid: the forms a page is made from, as typed. The grid is fetched only
// when it is come to.
//
//   formTabs(row, room)     `row` holds buttons with data-form; the form is shown in `room`
import { job } from "/static/js/job.js";
import { el } from "/static/js/ask.js";
import { listing } from "/static/js/listings.js";

/** @param {HTMLElement} row @param {HTMLElement} room */
export function formTabs(row, room) {
  const tabs = [...row.children];
  const open = async (tab) => {
    for (const one of tabs) {
      one.setAttribute("aria-selected", String(one === tab));
      one.tabIndex = one === tab ? 0 : -1;
    }
    room.setAttribute("aria-labelledby", tab.id);
    const there = await import("/static/js/form-grid.js").then(() => true, () => false);
    room.replaceChildren(there ? el("form-grid", { form: tab.dataset.form, label: tab.textContent }) : await plainForm(tab.dataset.form));
  };
  row.addEventListener("click", (event) => { const tab = event.target.closest("[data-form]"); if (tab) open(tab); });
  row.addEventListener("keydown", (event) => {
    const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    const next = tabs[(tabs.indexOf(event.target.closest("[data-form]")) + way + tabs.length) % tabs.length];
    open(next);
    next.focus();
  });
  new IntersectionObserver((seen, watch) => {
    if (!seen.some((one) => one.isIntersecting)) return;
    watch.disconnect();
    if (!room.childElementCount) open(tabs[0]);
  }, { rootMargin: "200px" }).observe(row);
}

/** A form as it stands, where the grid cannot be had. */
async function plainForm(name) {
  const form = await job.form(name);
  return listing({ title: name, columns: [...form.header], rows: form.rows.map((r) => [...r]) });
}
