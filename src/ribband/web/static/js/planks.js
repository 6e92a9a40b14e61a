// The planks' page: the list, the hull and a plank's sheet are one: choose in one, see in all.
import { ofBefore, ofRepair } from "/static/js/before.js";
import { job } from "/static/js/job.js";
import { newest } from "/static/js/newest.js";
import { el, many } from "/static/js/ask.js";
import "/static/js/hull-view.js";
import "/static/js/flat-plank.js";

const $ = (id) => document.getElementById(id);
const hull = document.querySelector("hull-view");
let planks = [], key = "", begun = false, chosen = named(location.pathname);

/** The plank an address names: a ticket's code opens /planks/P7-2. */
function named(path) { return decodeURIComponent(path.split("/")[2] || ""); }

const asked = newest(() => job.get("/api/planks"));
async function read() {
  let found;
  try { found = await asked(); } catch (error) { job.say(error.message, "bad"); return; }
  if (!found || found.key === key) return;
  key = found.key;
  planks = found.planks;
  ofRepair(found.alone);
  ofBefore(found.as_of, document.querySelector(".planks-room"));
  list();
  if (chosen && planks.some((p) => p.name === chosen)) choose(chosen, { tell: false, look: !begun });
  begun = true;
}

function wanted() {
  const words = $("find").value.trim().toLowerCase().split(/\s+/).filter(Boolean), side = $("side").value, by = $("sort").value;
  const kept = planks.filter((p) => (!side || p.side === side) && words.every((w) => [p.name, p.strake, p.grade, p.board, p.state, p.fore, p.aft].some((t) => String(t).toLowerCase().includes(w))));
  if (by === "order") kept.sort((a, b) => (a.order ?? 1e9) - (b.order ?? 1e9));
  else if (by === "grade") kept.sort((a, b) => a.grade.localeCompare(b.grade));
  else if (by) kept.sort((a, b) => b[by] - a[by]);
  return kept;
}

function list() {
  const kept = wanted();
  $("none").hidden = planks.length > 0;
  $("list").parentElement.hidden = !planks.length;
  document.querySelector(".list .row").hidden = !planks.length;
  $("list-count").textContent = kept.length === planks.length ? many(planks.length, "plank") : `${kept.length} of ${planks.length}`;
  $("list").tBodies[0].replaceChildren(...kept.map((p) => el("tr", { class: p.name === chosen ? "chosen" : "", "data-plank": p.name, onclick: () => choose(p.name, { look: true }) }, [
    el("td", {}, [el("button", { type: "button", class: "plain on-paper", "aria-pressed": String(p.name === chosen) }, [p.name])]),
    ...[p.fore, p.aft, p.length, p.widest, p.grade, p.board, p.order ?? "", p.state].map((text) => el("td", {}, [String(text)])),
  ])));
}

/** Bring a row into view in the list, and leave the page where it is. */
function within(row) {
  const pane = $("list").parentElement, box = pane.getBoundingClientRect(), own = row.getBoundingClientRect();
  const head = $("list").tHead.offsetHeight;
  if (own.top < box.top + head) pane.scrollTop -= box.top + head - own.top;
  else if (own.bottom > box.bottom) pane.scrollTop += own.bottom - box.bottom;
}

const NARROW = matchMedia("(max-width: 1250px)"); // the sheet lies over the list, out of sight of it

/** Choose a plank everywhere; `look` brings its sheet into view where it lies elsewhere. */
async function choose(name, { tell = true, look = false } = {}) {
  chosen = name;
  for (const row of $("list").tBodies[0].rows) {
    const on = row.dataset.plank === name;
    row.classList.toggle("chosen", on);
    row.querySelector("button").setAttribute("aria-pressed", String(on));
    if (on) within(row);
  }
  hull.choose(name);
  if (tell) history.replaceState(null, "", `/planks/${encodeURIComponent(name)}`);
  try { show(await job.get(`/api/planks/${encodeURIComponent(name)}`)); } catch (error) { $("sheet").hidden = true; job.say(error.message, "look"); return; }
  if (look && NARROW.matches) $("sheet").scrollIntoView({ block: "start" });
}

function show(sheet) {
  if (sheet.name !== chosen) return;
  $("sheet").hidden = false;
  $("sheet-title").textContent = `Plank ${sheet.name}`;
  $("ticket").href = `/api/planks/${encodeURIComponent(sheet.name)}/ticket.pdf`;
  pattern(sheet.name);
  document.querySelector("flat-plank").show(sheet);
  $("cautions").replaceChildren(...sheet.cautions.map((words) => el("p", { class: "safety" }, [words])));
  $("facts").replaceChildren(...sheet.facts.map(([what, said]) => el("div", {}, [el("dt", {}, [what]), el("dd", {}, [said])])));
  $("doubts").replaceChildren(...sheet.doubts.map((words) => el("li", {}, [el("span", { class: "tag caution" }, ["doubtful"]), ` ${words}`])));
  $("beside").replaceChildren(...Object.entries({ fore: "forward", aft: "aft", above: "above", below: "below" }).flatMap(([where, words]) =>
    sheet.beside[where].length ? [el("span", {}, [`${words}: `]), ...sheet.beside[where].map(link)] : []));
  $("spiling").tHead.replaceChildren(el("tr", {}, sheet.head.map((h) => el("th", { scope: "col" }, [h]))));
  $("spiling").tBodies[0].replaceChildren(...sheet.rows.map((row) => el("tr", {}, row.map((cell) => el("td", {}, [cell])))));
}

/** Lead to the pattern of a plank, as it is wanted on paper. */
function pattern(name) {
  $("pattern").href = `/api/planks/${encodeURIComponent(name)}/pattern?kind=${$("pattern-kind").value}`;
}
$("pattern-kind").addEventListener("change", () => pattern(chosen));

function link(name) {
  return el("a", { href: `/planks/${encodeURIComponent(name)}`, onclick: (event) => { event.preventDefault(); choose(name); } }, [name]);
}

function step(way) {
  const kept = wanted(), at = kept.findIndex((p) => p.name === chosen);
  if (kept.length) choose(kept[(at + way + kept.length) % kept.length].name);
}

hull.addEventListener("chosen", (event) => choose(event.detail.plank));
$("before").addEventListener("click", () => step(-1));
$("after").addEventListener("click", () => step(1));
for (const id of ["find", "side", "sort"]) $(id).addEventListener("input", list);
$("list").addEventListener("keydown", (event) => {
  const way = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (!way) return;
  event.preventDefault();
  step(way);
  $("list").querySelector("tr.chosen button")?.focus();
});
job.on("view", read);
read();
