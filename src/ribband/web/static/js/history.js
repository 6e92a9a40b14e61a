// History: who, when, why; two revisions side by side; going back to one.
import { job } from "/static/js/job.js";
import { ask, el } from "/static/js/ask.js";

const $ = (id) => document.getElementById(id);
const STEP = 60;
let past = [];
let most = STEP;

async function load() {
  try { past = (await job.get("/api/history")).revisions; } catch (error) { job.say(error.message, "bad"); return; }
  const newest = past.length;
  const chosen = pair();
  const options = () => [...past].reverse().map((r) => el("option", { value: r.number }, [`${r.number}  ${r.why || r.kind}`.slice(0, 60)]));
  $("a").replaceChildren(...options());
  $("b").replaceChildren(...options());
  choose(chosen.a || Math.max(1, newest - 1), followed(chosen.b, newest));
}

/** Stay with the newest where the newest was shown. */
function followed(b, newest) { return !b || b === newest - 1 ? newest : b; }

function pair() { return { a: Number($("a").value), b: Number($("b").value) }; }

function choose(a, b) {
  if (!past.length) { $("both").replaceChildren(el("p", {}, ["Nothing was entered yet."])); return; }
  $("a").value = String(a);
  $("b").value = String(b);
  list();
  compare();
}

function list() {
  const { a, b } = pair();
  const seen = [...past].reverse().slice(0, most);
  $("revisions").replaceChildren(...seen.map((r) => {
    const at = new Date(r.at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    return el("li", {}, [el("button", { type: "button", "aria-pressed": r.number === a || r.number === b, onclick: () => choose(r.number === 1 ? 1 : r.number - 1, r.number) }, [
      el("b", {}, [String(r.number)]), el("span", {}, [r.why || r.kind, el("small", {}, [`${r.who}, ${at}${r.kind === "new" ? "" : `, ${r.kind}`}`])]),
    ])]);
  }));
  $("older").hidden = past.length <= most;
}

let asked = 0;
async function compare() {
  const { a, b } = pair();
  const mine = ++asked;
  let both;
  try { both = await job.get(`/api/history/compare?a=${a}&b=${b}`); } catch (error) { job.say(error.message, "bad"); return; }
  if (mine !== asked) return;
  $("both-title").textContent = a === b ? `Revision ${a}` : `Revision ${a} and revision ${b}`;
  const older = Math.min(a, b);
  $("back").hidden = older >= past.length || !job.may.lead;
  $("back").textContent = `Go back to revision ${older}`;
  $("both").replaceChildren(figures(both), ...both.forms.map(form), ...(both.forms.length ? [] : [el("p", {}, ["The forms of the two say the same."])]));
}

function figures(both) {
  if (!both.figures.length) return el("p", { class: "note" }, ["No figures are kept of either; they are made again when it is brought up to date."]);
  return table("Figures kept", ["", `revision ${both.a.number}`, `revision ${both.b.number}`], both.figures.map((f) => [el("th", { scope: "row" }, [f.what]), cell("", f.was || "not kept"), cell("", f.now || "not kept")]));
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

$("a").addEventListener("change", () => choose(pair().a, pair().b));
$("b").addEventListener("change", () => choose(pair().a, pair().b));
$("older").addEventListener("click", () => { most += STEP; list(); });
$("back").addEventListener("click", async () => {
  const older = Math.min(pair().a, pair().b);
  const r = past[older - 1];
  if (!await ask.yes(`Go back to revision ${older}?`, `${r.why || r.kind}, ${r.who}. A new revision that says the same is made; what came after stays in the history.`, "Go back")) return;
  try { await job.back(older); job.say(`Back to what revision ${older} said.`); } catch { /* said */ }
});
job.on("patch", load);
job.on("view", () => { if (past.length) compare(); });
load();
