// History: who, when, why; two revisions side by side; going back to one.
import { job } from "/static/js/job.js";
import { ask, el, keepingPlace } from "/static/js/ask.js";
import { runsOf, runWords } from "/static/js/history-runs.js";

const $ = (id) => document.getElementById(id);
const STEP = 60;
/** Revisions fetched so far, by number; older ones come when they are asked for. */
const past = new Map();
let newest = 0;
let oldest = 1; // of those fetched without a gap from the newest
let both = null;
let looked = 0;

/** Fetch the newest; where many came since, those between are older ones again. */
async function load() {
  looked = performance.now();
  let found;
  try { found = await job.get(`/api/history?limit=${STEP}`); } catch (error) { job.say(error.message, "bad"); return; }
  const before = newest;
  if (!before || found.older > before) oldest = found.older + 1;
  take(found);
  const { a, b } = pair();
  choose(a || Math.max(1, newest - 1), !b || b === before ? newest : b); // stay with the newest where it was shown
}

function take(found) {
  for (const [n, r] of found.revisions.entries()) past.set(r.number, { ...r, touched: found.touched[n] });
  newest = Math.max(newest, found.newest);
}

async function older() {
  let found;
  try { found = await job.get(`/api/history?limit=${STEP}&before=${oldest}`); } catch (error) { job.say(error.message, "bad"); return; }
  take(found);
  oldest = found.older + 1;
  const first = oldest + found.revisions.length - 1;
  list();
  $("revisions").querySelector(`[data-number="${first}"]`)?.focus(); // the first of those that came
}

function pair() { return { a: Number($("a").value), b: Number($("b").value) }; }

function choose(a, b) {
  $("pick").hidden = !newest;
  if (!newest) { $("both").removeAttribute("aria-busy"); $("both").replaceChildren(el("p", {}, ["Nothing was entered yet."])); return; }
  const within = (n) => String(Math.min(Math.max(Math.round(n) || 1, 1), newest));
  for (const [id, n] of [["a", a], ["b", b]]) {
    $(id).max = newest;
    $(id).value = within(n);
  }
  list();
  compare();
}

function list() {
  const seen = [];
  for (let n = newest; n >= oldest; n--) if (past.has(n)) seen.push(past.get(n));
  keepingPlace($("revisions"), () => $("revisions").replaceChildren(...runsOf(seen).map((run) => (run.length > 1 ? together(run) : one(run[0])))));
  $("older").hidden = oldest <= 1;
  $("older").textContent = `Older ones: ${oldest - 1}`;
}

function one(r) {
  const { a, b } = pair();
  return el("li", { value: r.number }, [
    el("button", { type: "button", class: "on-paper", "data-number": r.number, "data-hold": r.number, "aria-pressed": r.number === a || r.number === b, onclick: () => choose(r.number === 1 ? 1 : r.number - 1, r.number) }, [
      el("b", {}, [String(r.number)]), el("span", {}, [r.why || r.kind, el("small", {}, [`${r.who}, ${when(r)}${r.kind === "new" ? "" : `, ${r.kind}`}`])]),
    ])]);
}

/** Cells typed one after another in one line; it opens to the revisions, which stay as they are. */
const opened = new Set(); // by the first of a run: it may grow at its end
function together(run) {
  const { a, b } = pair();
  const [last, first] = [run[0], run[run.length - 1]];
  const wide = opened.has(first.number);
  const inside = el("ol", { reversed: true, id: `run-${first.number}`, hidden: !wide }, wide ? run.map(one) : []);
  return el("li", { value: last.number, class: "run" }, [
    el("div", {}, [
      el("button", { type: "button", class: "on-paper", "data-number": last.number, "data-hold": `run-${first.number}`, "aria-pressed": a === Math.max(1, first.number - 1) && b === last.number, onclick: () => choose(Math.max(1, first.number - 1), last.number) }, [
        el("b", {}, [`${first.number}–${last.number}`]), el("span", {}, [runWords(run), el("small", {}, [`${last.who}, ${when(first)}${at(first) === at(last) ? "" : ` to ${at(last)}`}`])]),
      ]),
      el("button", { type: "button", class: "plain opens", "data-hold": `open-${first.number}`, "aria-expanded": wide, "aria-controls": `run-${first.number}`, "aria-label": `Each of the ${run.length} revisions ${first.number} to ${last.number}`, onclick: () => { if (!opened.delete(first.number)) opened.add(first.number); list(); } }, [wide ? "▴" : "▾"]),
    ]), inside]);
}

const at = (r) => new Date(r.at).toLocaleTimeString([], { timeStyle: "short" });
const when = (r) => new Date(r.at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });

let asked = 0;
async function compare() {
  const { a, b } = pair();
  const mine = ++asked;
  let found;
  try { found = await job.get(`/api/history/compare?a=${a}&b=${b}`); } catch (error) { job.say(error.message, "bad"); return; }
  if (mine !== asked) return;
  both = found;
  $("both").removeAttribute("aria-busy");
  $("both-title").textContent = a === b ? `Revision ${a}` : `Revision ${a} and revision ${b}`;
  const earlier = Math.min(a, b);
  $("back").hidden = earlier >= newest || !job.may.lead;
  $("back").textContent = `Go back to revision ${earlier}`;
  $("both").replaceChildren(whose(both), figures(both), ...both.forms.map(form), ...(both.forms.length || a === b ? [] : [el("p", {}, ["The forms of the two say the same."])]));
}

/** Who made each, when and why. */
function whose({ a, b }) {
  const said = (r) => el("li", {}, [el("b", {}, [String(r.number)]), ` ${r.why || r.kind}`, el("small", {}, [`${r.who}, ${when(r)}`])]);
  return el("ul", { class: "whose" }, a.number === b.number ? [said(a)] : [said(a), said(b)]);
}

function figures(both) {
  if (!both.figures.length) return el("p", { class: "note" }, ["No figures are kept of either; they are made again when it is brought up to date."]);
  const sides = both.a.number === both.b.number ? [["now", both.b]] : [["was", both.a], ["now", both.b]];
  return table("Figures kept", ["", ...sides.map(([, one]) => `revision ${one.number}`)], both.figures.map((f) => [el("th", { scope: "row" }, [f.what]), ...sides.map(([side]) => cell("", f[side] || "not kept"))]));
}

function form(one) {
  const header = one.now_header.length ? one.now_header : one.was_header;
  const rows = one.rows.flatMap((row) => {
    const lines = [];
    const words = row.was && row.now ? "changed" : row.now ? "put in" : "taken out";
    if (row.was) lines.push([el("th", { scope: "row" }, [`${words}, was`]), ...cells(row.was, row.now, one.was_header, one.now_header, "was")]);
    if (row.now) lines.push([el("th", { scope: "row" }, [row.was ? "now" : words]), ...cells(row.now, row.was, one.now_header, one.was_header, "now")]);
    return lines;
  });
  return table(one.title, ["", ...header], rows);
}

function cells(own, other, ownHeader, otherHeader, side) {
  return own.map((text, n) => {
    const at = otherHeader.indexOf(ownHeader[n]);
    const differs = !other || (other[at] ?? "") !== text;
    return cell(differs && (text || other) ? side : "", differs ? el(side === "was" ? "del" : "ins", {}, [text]) : text);
  });
}

function cell(kind, inside) { return el("td", { class: kind }, [inside]); }

function table(caption, header, rows) {
  return el("div", { class: "scroll differs", tabindex: "0", role: "region", "aria-label": caption }, [el("table", {}, [
    el("caption", {}, [caption]), el("thead", {}, [el("tr", {}, header.map((h) => (h ? el("th", { scope: "col" }, [h]) : el("td"))))]),
    el("tbody", {}, rows.map((cells) => el("tr", {}, cells))),
  ])]);
}

for (const id of ["a", "b"]) $(id).addEventListener("change", () => choose(pair().a, pair().b));
$("pick").addEventListener("submit", (event) => { event.preventDefault(); choose(pair().a, pair().b); });
$("older").addEventListener("click", older);
$("back").addEventListener("click", async () => {
  const r = both.a.number < both.b.number ? both.a : both.b;
  if (!await ask.yes(`Go back to revision ${r.number}?`, `${r.why || r.kind}, ${r.who}. A new revision that says the same is made; what came after stays in the history.`, "Go back")) return;
  try { await job.back(r.number); job.say(`Back to what revision ${r.number} said.`); } catch { /* said */ }
});
let soon = 0;
const LATEST_MS = 1500; // while others change the job all the time
job.on("patch", () => { clearTimeout(soon); soon = setTimeout(load, Math.min(60, Math.max(0, looked + LATEST_MS - performance.now()))); });
job.on("online", load);
const kept = (view) => view.steps.map((step) => `${step.state} ${step.at}`).join();
let shown = "";
job.on("view", (view) => { // figures come as they are made
  const now = kept(view);
  if (shown && now !== shown && newest) compare();
  shown = now;
});
load();
