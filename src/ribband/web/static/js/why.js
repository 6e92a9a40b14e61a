// Why: every figure can be asked after. A figure of a sheet has its own small button; the cells of
// tables get theirs while the "Why" button at the head (or the key ?) is on. What is asked opens in
// a dialog: the figure, what was typed, the rules and how far their sources were read, the method,
// the findings, the steps and the revision it came from.
import { job } from "/static/js/job.js";
import { el } from "/static/js/ask.js";

const SIGNS = { "from memory": "‡", "common practice": "§" };
const PLANK = /\b[PS]\d+s*-\d+\b/;
const CROSSING = /strake (\d+s*)\b.*?(?:frame |the (?=stem|stern))([\w+.-]*\w)/i;
const PLAIN = new Set(["sources", "history", "api"]);
const MARKS_MS = 2500; // after the page's own data was asked for, which comes first
const READY_MS = 45000; // the server lets what it holds ready go after a minute
const STRAKE = /^\d+s*$/;
let marks = {}, on = false, pending = false;

const plainly = (text) => text.replaceAll("’", "'").replace(/\s+/g, " ").trim();
const label = (node) => plainly([...node.childNodes].filter((one) => !(one.classList && (one.classList.contains("why") || one.classList.contains("unseen")))).map((one) => one.textContent).join(" "));

/** What a page is of, where it shows one thing: the plank whose sheet is open. */
function of(node) {
  const title = node.closest("section")?.querySelector("h2")?.textContent || "";
  return title.match(PLANK)?.[0] || "";
}

/** What a row of a table is of. */
function ofRow(cell) {
  const row = cell.parentElement, table = row.closest("table");
  const plank = [...row.cells].map((one) => label(one).match(PLANK)?.[0]).find(Boolean) || of(cell);
  const heads = headsOf(table);
  const named = (kind) => { const at = heads.indexOf(kind); return at >= 0 && at !== cell.cellIndex ? label(row.cells[at] || cell) : ""; };
  const strake = named("strake"), frame = named("frame"), board = named("board");
  return [plank, !plank && STRAKE.test(strake) ? `strake ${strake}` : "", !plank && board ? `board ${board}` : "", frame ? `at ${frame}` : ""].filter(Boolean).join(" ");
}

function headsOf(table) {
  return [...(table.tHead?.rows[0]?.cells || [])].map((one) => label(one).toLowerCase());
}

function sign(words) {
  return (marks[words.toLowerCase()] || []).map((mark) => SIGNS[mark]).join("");
}

function button(words, subject, value) {
  const own = marks[words.toLowerCase()] || [];
  const leans = own.length ? `; leans on ${own.join(" and ")}` : "";
  return el("button", {
    type: "button", class: "why no-print", "aria-label": `Why ${words} ${subject} ${value}${leans}`.replace(/\s+/g, " "), title: `Why${leans}`,
    onclick: (event) => { event.stopPropagation(); show(words, subject, value); }, onpointerenter: ready, onfocus: ready,
  }, [`?${sign(words)}`]);
}

// ---- putting the buttons where figures stand

function figures() {
  for (const dt of document.querySelectorAll("main dl.figures > div > dt")) {
    if (dt.querySelector("button.why")) continue;
    const dd = dt.nextElementSibling, words = label(dt);
    if (!words || !dd) continue;
    const figure = [...dd.childNodes].filter((one) => one.nodeName !== "SMALL").map((one) => one.textContent).join(" "); // its remark is no part of it
    dt.append(" ", button(words, of(dt), plainly(figure).slice(0, 60)));
  }
}

function cells() {
  for (const table of document.querySelectorAll("main table")) {
    if (table.closest("form-grid, .grid, dialog")) continue;
    const heads = headsOf(table);
    for (const cell of table.querySelectorAll("tbody td")) {
      const words = heads[cell.cellIndex] || "", value = label(cell);
      if (!words || !value || cell.querySelector("button.why, input, select")) continue;
      cell.append(" ", button(words, ofRow(cell), value.slice(0, 40)));
    }
  }
}

function bare() { for (const one of document.querySelectorAll("main td > button.why")) { one.previousSibling?.nodeType === 3 && !one.previousSibling.data.trim() && one.previousSibling.remove(); one.remove(); } }

/** Beside what a chart says of the crossing or butt that is chosen. */
function charts() {
  for (const at of document.querySelectorAll("main .explain")) {
    const said = at.textContent.match(CROSSING), next = at.nextElementSibling?.matches("p.why-chart") ? at.nextElementSibling : null;
    const subject = said ? `strake ${said[1]} at ${said[2]}` : "";
    if (next?.dataset.of === subject) continue;
    next?.remove();
    if (!said) continue;
    const words = document.body.dataset.page === "butts" ? ["butt"] : ["seam", "width"];
    at.after(el("p", { class: "why-chart no-print", "data-of": subject }, words.flatMap((one) => [`${one}, ${subject} `, button(one, subject, ""), " "])));
  }
}

function dress() {
  pending = false;
  if (PLAIN.has(document.body.dataset.page)) return;
  figures();
  charts();
  if (on) cells();
}

function soon() {
  if (pending) return;
  pending = true;
  requestAnimationFrame(dress);
}

function turn(way = !on) {
  on = way;
  document.getElementById("why")?.setAttribute("aria-pressed", String(on));
  document.body.toggleAttribute("data-why", on);
  if (on) { ready(); dress(); job.say("Press ? beside a figure to see why it is what it is."); } else bare();
}

// ---- the dialog

let readied = -READY_MS;
/** Have what is kept held ready once a hand comes near a question: the answer is then there at once. */
function ready() {
  if (!job.may.work || performance.now() - readied < READY_MS) return;
  readied = performance.now();
  job.post("/api/why/ready", {}).catch(() => { readied = -READY_MS; });
}

/** Open at once, saying that it is looked up; what is found comes in when it is there. */
async function show(words, subject, value) {
  const close = el("button", { type: "submit", class: "main" }, ["Close"]);
  const inside = el("div", { "aria-live": "polite", "aria-busy": "true" }, [el("p", { class: "note looking" }, ["Being looked up in what is kept …"])]);
  const title = el("h2", { id: "why-title" }, [`Why: ${words}${subject ? `, ${subject}` : ""}`]);
  const dialog = el("dialog", { class: "why-dialog", "aria-labelledby": "why-title" }, [el("form", { method: "dialog" }, [title, inside, el("div", { class: "row" }, [close])])]);
  const from = document.activeElement;
  const leave = new AbortController();
  dialog.addEventListener("close", () => { leave.abort(); dialog.remove(); from?.focus?.({ preventScroll: true }); });
  document.body.append(dialog);
  dialog.showModal();
  close.focus({ preventScroll: true });
  const asked = new URLSearchParams({ thing: `${subject} ${words}`.trim(), label: words });
  try {
    const found = await job.get(`/api/why?${asked}`, { signal: leave.signal });
    readied = performance.now();
    title.textContent = `Why: ${words}${found.of ? `, ${found.of}` : ""}`;
    inside.replaceChildren(...answer(found, words, value));
  } catch (error) {
    if (leave.signal.aborted) return;
    inside.replaceChildren(el("p", { class: "say look" }, [error.problems?.length ? `Nothing is known of "${words}" yet.` : error.message]));
  }
  inside.setAttribute("aria-busy", "false");
  dialog.scrollTop = 0;
}

const answer = (found, words, value) => [
  el("p", { class: "note" }, [found.says]), ...values(found, words, value),
  el("h3", {}, ["Method"]), el("p", {}, [`${found.method} `, el("span", { class: "note" }, [`In full: ${found.page}`])]),
  ...typed(found), ...rules(found), ...sources(found), ...findings(found), ...steps(found),
];

const part = (title, inside) => (inside.length ? [el("h3", {}, [title]), ...inside] : []);
const day = (at) => at.slice(0, 16).replace("T", " ");

/** A table that can be scrolled by keyboard. */
function table(name, heads, rows) {
  return rows.length ? [el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": name }, [el("table", {}, [
    el("thead", {}, [el("tr", {}, heads.map((h) => el("th", { scope: "col" }, [h])))]),
    el("tbody", {}, rows.map((row) => el("tr", {}, row.map((cell) => el("td", {}, Array.isArray(cell) ? cell : [cell]))))),
  ])])] : [];
}

function values(found, words, value) {
  const stale = found.steps.some((one) => !one.at);
  const kept = found.values.map((one) => [`${one.what}${one.of ? ` (${one.of})` : ""}`, one.value]);
  const all = [...(value && !found.values.some((one) => one.value.startsWith(value)) ? [[`on the page: ${words}`, value]] : []), ...kept];
  return [
    ...(stale ? [el("p", { class: "say look" }, ["Not all of this is kept for the forms as they are: bring the plan up to date."])] : []),
    el("dl", { class: "said" }, all.flatMap(([what, said]) => [el("dt", {}, [what]), el("dd", {}, [said])])),
  ];
}

function typed(found) {
  return part("Typed", table("Typed", ["cell", "as typed", "since"], found.inputs.map((one) => [
    `${one.file}${one.row ? `, row ${one.row}` : ""}`, one.typed.map(([head, text]) => `${head} ${text}`).join(" · ") || one.says,
    `revision ${one.revision}${one.before ? " or before" : ""}, ${one.who}, ${day(one.at)}`,
  ])));
}

/** How far a source was read, as a word and never by colour alone. */
function mark(own) {
  const kind = own.mark === "from memory" ? "caution" : own.marked ? "note" : "good";
  return own.mark ? el("span", { class: `tag ${kind}` }, [own.mark]) : "";
}

function rules(found) {
  return part("Rules", table("Rules", ["rule", "value", "default", "source", "says"], found.rules.map((one) => [
    one.name, [one.changed ? el("b", {}, [one.value]) : one.value], one.default, [mark(one.source), " ", one.source.says], [one.set_by ? `${one.set_by}. ` : "", one.says],
  ])));
}

function sources(found) {
  return part("Figures looked up", table("Figures looked up", ["table", "source"], found.data.map((one) => [one.of, [mark(one), " ", one.says]])));
}

function findings(found) {
  if (!found.findings.length) return [];
  return part("Findings", [el("ul", { class: "findings" }, found.findings.map((f) => el("li", {}, [el("span", { class: `tag ${f.severity}` }, [f.severity]), ` ${f.code} ${f.where}: ${f.says}`])))]);
}

function steps(found) {
  return part("Made in steps", [...table("Made in steps", ["step", "key", "made"], found.steps.map((one) => [
    one.does, one.key.slice(0, 12), one.at ? `${day(one.at)}, revision ${one.revision}, Ribband ${one.version}` : "not kept for these forms",
  ])), el("p", { class: "note" }, [`Inputs: revision ${found.revision}, ${found.who}, ${day(found.at)}`])]);
}

// ---- beginning

document.getElementById("why")?.addEventListener("click", () => turn());
document.addEventListener("keydown", (event) => {
  if (event.key !== "?" || event.ctrlKey || event.metaKey || event.target.closest?.("input, textarea, select, [contenteditable], form-grid")) return;
  event.preventDefault();
  turn();
});
if (!PLAIN.has(document.body.dataset.page)) {
  setTimeout(() => job.get("/api/why/marks").then((found) => { marks = found; for (const one of document.querySelectorAll("main button.why")) one.remove(); for (const one of document.querySelectorAll("main .why-chart")) one.remove(); soon(); }).catch(() => {}), MARKS_MS);
}
new MutationObserver(soon).observe(document.getElementById("work"), { childList: true, subtree: true, characterData: true });
soon();
