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
  let shown = null;
  const open = async (tab) => {
    if (shown === tab) return;
    shown = tab;
    for (const one of tabs) {
      one.setAttribute("aria-selected", String(one === tab));
      one.tabIndex = one === tab ? 0 : -1;
    }
    room.setAttribute("aria-labelledby", tab.id);
    room.replaceChildren(); // at once: nothing may be typed into the form that was left
    const made = await gridOf(tab);
    if (shown === tab) room.replaceChildren(made); // unless another was chosen meanwhile
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
  const wrong = (problems) => tabs.find((tab) => problems.some((p) => p.found && p.file.split(".")[0] === tab.dataset.form));
  new IntersectionObserver((seen, watch) => {
    if (!seen.some((one) => one.isIntersecting)) return;
    watch.disconnect();
    if (!shown) open(wrong(job.view?.problems || []) || tabs[0]);
  }, { rootMargin: "200px" }).observe(row);
  job.on("mend", (problems) => {
    const tab = wrong(problems);
    if (!tab) return;
    open(tab);
    row.scrollIntoView({ block: "start" });
    tab.focus({ preventScroll: true });
  });
}

/**
 * Grids in a fold, fetched when it is first opened: each form of its `data-forms` under its heading.
 * @param {HTMLDetailsElement} fold @param {HTMLElement} room
 */
export function formFold(fold, room) {
  /** @type {[string, string][]} */
  const forms = JSON.parse(fold.dataset.forms);
  fold.addEventListener("toggle", async () => {
    if (!fold.open || room.childElementCount) return;
    await import("/static/js/form-grid.js").catch(() => null);
    room.append(...forms.flatMap(([form, title]) => [el("h3", {}, [title]), el("form-grid", { form, label: title })]));
  });
}

/** The grid of a tab's form; the form in print where the grid cannot be had. */
async function gridOf(tab) {
  const { form } = tab.dataset;
  const there = await import("/static/js/form-grid.js").then(() => true, () => false);
  if (there) return el("form-grid", { form, label: tab.textContent });
  return plainForm(form).catch((error) => el("p", { class: "say bad" }, [error.message]));
}

/** A form as it stands, where the grid cannot be had. */
async function plainForm(name) {
  const form = await job.form(name);
  return listing({ title: name, columns: [...form.header], rows: form.rows.map((r) => [...r]) });
}
