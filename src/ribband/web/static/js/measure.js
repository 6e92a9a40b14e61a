// Measure: forms to type in, the lines drawn as they are typed, doubts to decide, both sides compared.
import { ask, el } from "/static/js/ask.js";
import "/static/js/form-grid.js";
import "/static/js/lines-plan.js";
import { job, Refused } from "/static/js/job.js";
import { doubtLine, decide } from "/static/js/measure-doubts.js";
import { askAgain, askUnit, startsOf } from "/static/js/measure-starts.js";
import { takeFiles, watchDrops } from "/static/js/take-files.js";

const $ = (id) => document.getElementById(id);
const grid = document.querySelector("form-grid");
const drawn = document.querySelector("lines-plan");
const TABS = [
  ["vessel", "Vessel", "lines"], ["frames", "Frames", "lines"], ["offsets", "Offsets", "lines"], ["girths", "Girths", "girths"], ["ends", "Stem and stern", "lines"], ["points", "Points", "lines"],
  null, ["old_strakes", "Old strakes", "old"], ["old_butts", "Old butts", "old"], ["old_fastenings", "Old fastenings", "old"], null, ["sides", "Both sides", "sides"],
];
const DRAWN = { lines: "The lines as typed", girths: "The girths as typed", old: "The old planking laid flat", sides: "Port less starboard" };
let data = null;
let tab = "";
let chosen = "";

// ---- tabs

function tabs() {
  $("tabs").replaceChildren(...TABS.map((one) => (one ? el("button", {
    type: "button", role: "tab", id: `tab-${one[0]}`, "aria-selected": "false", "aria-controls": one[0] === "sides" ? "sides-panel" : "form-panel", tabindex: -1,
    onclick: () => choose(one[0]), onkeydown: (event) => along(event, one[0]),
  }, [one[1], " ", el("span", { class: "count" })]) : el("span", { class: "gap", role: "presentation" }))));
}

function along(event, name) {
  const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (!step) return;
  event.preventDefault();
  const names = TABS.filter(Boolean).map(([own]) => own);
  const next = names[(names.indexOf(name) + step + names.length) % names.length];
  choose(next);
  $(`tab-${next}`).focus();
}

function choose(name) {
  if (name === tab) return;
  tab = name;
  for (const button of $("tabs").querySelectorAll("[role=tab]")) {
    const own = button.id === `tab-${name}`;
    button.setAttribute("aria-selected", String(own));
    button.tabIndex = own ? 0 : -1;
    if (own) beside(button);
  }
  history.replaceState(null, "", `#${name}`);
  const both = name === "sides";
  $("form-panel").hidden = both;
  $("sides-panel").hidden = !both;
  $(both ? "sides-panel" : "form-panel").setAttribute("aria-labelledby", `tab-${name}`);
  if (!both) grid.form = name;
  draw();
}

/** Bring a tab into view along the row of tabs, and leave the page where it is. */
function beside(button) {
  const row = $("tabs");
  const left = button.offsetLeft - row.offsetLeft;
  if (left < row.scrollLeft || left + button.offsetWidth > row.scrollLeft + row.clientWidth) row.scrollLeft = left - 40;
}

// ---- the drawing can be folded away while one types

function fold(shown) {
  document.querySelector(".measure-top").classList.toggle("folded", !shown);
  $("fold").setAttribute("aria-pressed", String(shown));
  try { localStorage.setItem("ribband.measure.drawing", shown ? "yes" : "no"); } catch { /* private window */ }
}
$("fold").addEventListener("click", () => fold($("fold").getAttribute("aria-pressed") !== "true"));
try { if (localStorage.getItem("ribband.measure.drawing") === "no") fold(false); } catch { /* private window */ }

function counts() {
  for (const one of TABS) {
    if (!one || one[0] === "sides" || !job.view) continue;
    const own = job.view.problems.filter((p) => formOf(p) === one[0]);
    const many = job.view.forms[one[0]] || 0;
    const count = $(`tab-${one[0]}`).querySelector(".count");
    const blank = own.filter((p) => !p.found).length;
    const wrong = own.length - blank;
    count.textContent = wrong ? `${wrong} to mend` : blank ? `${blank} to fill in` : many ? String(many) : "";
    count.classList.toggle("wrong", wrong > 0);
  }
}

const formOf = (problem) => problem.file.replace(/\..*$/, "");
/** Go to the first cell of what is to be mended or filled in; forms of other pages are named. */
job.on("mend", async (problems) => {
  const here = problems.find((p) => p.found && onTab(p)) || problems.find(onTab);
  if (!here) { job.say(`To mend in ${[...new Set(problems.map((p) => formOf(p).replace(/_/g, " ")))].join(", ")}: ${problems[0].column}, wanted ${problems[0].wanted}.`, "look"); return; }
  const form = formOf(here);
  if (tab !== form) await shownForm(form);
  const [place] = [...grid.wrong].map(([key]) => key.split(",").map(Number)).sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  if (place) grid.go(...place);
  else grid.wrongs.scrollIntoView({ block: "nearest" });
});
const onTab = (problem) => TABS.some((one) => one?.[0] === formOf(problem));

// ---- drawing

let asking = null;
let again = false;

/** Fetch what is drawn; while one fetch is on its way, one more follows it at the most. */
function fetchAll() {
  if (asking) { again = true; return asking; }
  asking = (async () => {
    do {
      again = false;
      fetched = performance.now();
      try { data = await job.get("/api/measure"); } catch (error) { if (error instanceof Refused) job.say(error.message, "bad"); return; }
      inAPause(draw);
    } while (again);
  })().finally(() => { asking = null; });
  return asking;
}

// ---- drawn while a cell is still being typed

const PAUSE_MS = 150;
const LONGEST_MS = 900;
const MOST_TRIED = 800; // readings; beyond, the drawing waits until the cell is left
let trying = null;
let tried = 0;
function tryOut({ row, col, text }) {
  clearTimeout(tried);
  trying?.abort();
  if (!data || data.readings.length > MOST_TRIED || row < 0) return;
  tried = setTimeout(async () => {
    trying = new AbortController();
    try {
      const got = await job.post("/api/measure/try", { form: grid.form, row, column: col, text }, { signal: trying.signal });
      drawn.show(got, what());
      drawn.ring([grid.form, row, col]);
    } catch { /* typed on, or no connection */ }
  }, 120);
}
function typedOut() { clearTimeout(tried); trying?.abort(); inAPause(() => { if (data) drawn.show(data, what()); }); }

// ---- the hand first: while keys come one upon another, what is drawn waits for a pause

let lastKey = -PAUSE_MS;
let since = 0;
let pausing = 0;
let last = null;
grid.addEventListener("keydown", () => { lastKey = performance.now(); }, true);
/** Do the last of what was asked for once no key has come for a little while; not later than LONGEST_MS. */
function inAPause(act) {
  last = act;
  since ||= performance.now();
  if (!pausing) look();
}
function look() {
  const now = performance.now();
  const wait = Math.min(lastKey + PAUSE_MS - now, since + LONGEST_MS - now);
  if (wait > 0) { pausing = setTimeout(look, wait); return; }
  pausing = since = 0;
  const act = last;
  last = null;
  act();
}

/** What is drawn for a tab: the lines, or the girths where only girths were measured. */
function what() {
  const own = TABS.find((one) => one?.[0] === tab)?.[2] || "lines";
  return own === "lines" && data && !data.readings.length && !data.ends.length && data.girths.length ? "girths" : own;
}

function draw() {
  if (!data) return;
  const now = what();
  drawn.show(data, now);
  $("drawn-title").textContent = DRAWN[now];
  drawn.closest("section").dataset.what = now;
  const state = data.states.hull;
  $("fair-says").textContent = state === "good" ? "made fair" : state === "stale" ? "fair, as last made (stale)" : "not made fair yet";
  doubts();
  marks();
  if (tab === "sides") sides();
}

// ---- doubts

function doubts() {
  const open = data.doubts.filter((d) => !d.decision).length;
  $("doubt-count").textContent = data.doubts.length ? `${open} open of ${data.doubts.length}${data.states.hull === "stale" ? ", as last made fair" : ""}` : "";
  $("no-doubts").hidden = data.doubts.length > 0;
  $("no-doubts").textContent = data.judged;
  $("decided").hidden = !data.decided.length;
  $("decided").textContent = `Decided before: ${data.decided.join("; ")}.`;
  const held = document.activeElement?.dataset?.hold;
  $("doubts").replaceChildren(...data.doubts.map((doubt, n) => doubtLine(doubt, n + 1, doubt.key === chosen, {
    go: () => chooseDoubt(doubt.key), decide: async (decision) => { await decide(doubt, decision); fetchAll(); },
  })));
  if (held) $("doubts").querySelector(`[data-hold="${CSS.escape(held)}"]`)?.focus();
}

function chooseDoubt(key) {
  chosen = key;
  const doubt = data.doubts.find((d) => d.key === key);
  drawn.choose(key);
  doubts();
  $("doubts").querySelector("li.chosen")?.scrollIntoView({ block: "nearest" });
  if (doubt?.place) toCell(doubt.place, false);
}

function marks() {
  grid.mark?.(data.doubts.filter((d) => d.place?.[0] === grid.form && !d.changed).map((d) => ({
    row: d.place[1], col: d.place[2], kind: d.decision ? "decided" : "doubt",
    says: d.decision ? `doubtful, decided: ${d.decision}${d.value ? ` as ${d.value}` : ""}` : `doubtful: ${d.off}; ${d.fair} would lie fair${d.explains ? ` (${d.explains})` : ""}`,
  })));
}

async function toCell([form, row, col], focus = true) {
  if (tab !== form) await shownForm(form);
  grid.go(row, col, { focus });
}

async function shownForm(form) {
  const ready = new Promise((resolve) => grid.addEventListener("loaded", resolve, { once: true }));
  choose(form);
  await ready;
  marks();
}

drawn.addEventListener("pick", (event) => toCell(event.detail.place));
drawn.addEventListener("doubt", (event) => chooseDoubt(event.detail.key));
grid.addEventListener("typing", (event) => tryOut(event.detail));
grid.addEventListener("typed", typedOut);
grid.addEventListener("cell", ({ detail }) => drawn.ring([detail.form, detail.row, detail.col]));
grid.addEventListener("loaded", ({ detail }) => {
  const { title, notes } = grid.held;
  const told = $("form-title").textContent === title;
  $("form-title").textContent = title;
  if (!told) $("form-notes").replaceChildren(...[...notes, "Paste blocks from a spreadsheet where you stand; a heading among them is understood.", "Arrows and Tab move, typing or F2 edits, Escape and then Tab leaves."].map((note) => el("li", {}, [note])));
  $("starts").replaceChildren(...startsOf(grid, data, detail));
  if (data) marks();
});
grid.offered = (form, col) => (form === "vessel" && col === 0 ? VESSEL : form === "points" && col === 2 ? ["rabbet", "sheer", "stem", "stern", "forefoot", "heel"] : ["old_strakes", "old_butts", "girths", "points"].includes(form) && grid.header[col] === "frame" ? [...new Set((data?.frames || []).map((f) => f.name))] : []);
const VESSEL = ["vessel", "yard", "built", "length", "beam", "unit", "planking", "rough", "half siding", "measured to", "side", "measured by", "measured on", "species"];

// ---- both sides

function sides() {
  const found = job.view?.steps.flatMap((s) => s.findings).filter((f) => ["H016", "H017", "S007"].includes(f.code) && f.code !== "H017") || [];
  $("sides-findings").replaceChildren(...found.map((f) => el("li", {}, [el("span", { class: `tag ${f.severity}` }, [f.severity]), ` ${f.says}`, ...(f.why ? [el("span", { class: "note" }, [` ${f.why}`])] : [])])));
  const from = data.sides_from;
  $("sides-says").textContent = from === "hull" ? "Port less starboard at every frame, as made fair. The plan is made on the mean of the two."
    : from === "girths" ? "Girths taken on both sides, as typed: port less starboard. Once the hull is made fair, the sides are compared all round."
      : "Nothing to compare yet: give readings of port and of starboard at the same frames (the column side of girths and points). What is measured on one side only serves for both.";
  const heads = from === "hull" ? ["Frame", "Girth, port less starboard", "Greatest gap", "Where", ""] : ["Frame", "Port", "Starboard", "Port less starboard", ""];
  $("sides").tHead.replaceChildren(el("tr", {}, heads.map((h) => el("th", { scope: "col" }, [h]))));
  $("sides").tBodies[0].replaceChildren(...data.sides.map((s) => el("tr", {}, [
    el("th", { scope: "row" }, [s.frame]), ...(from === "hull" ? [s.girth, s.greatest, s.at] : [s.port, s.starboard, s.girth]).map((t) => el("td", {}, [t])),
    el("td", {}, s.far ? [el("span", { class: "tag caution" }, ["more than allowed"])] : []),
  ])));
  $("sides").parentElement.hidden = !data.sides.length;
}

// ---- files

$("files").addEventListener("change", async (event) => { await takeFiles([...event.target.files]); event.target.value = ""; });
watchDrops();

// ---- news

const MINE = new Set(["vessel", "frames", "girths", "offsets", "ends", "points", "old_strakes", "old_butts", "doubts", "*"]);
let others = 0;
let fetched = 0;
/** What this hand did is drawn at once; what others do, as long as they go on, every second and a half. */
function fetchSoon(patch) {
  if (patch.mine) { fetchAll(); return; }
  others ||= setTimeout(() => { others = 0; if (!document.hidden) fetchAll(); }, Math.max(OTHERS_MS, fetched + LATEST_MS - performance.now()));
}
const OTHERS_MS = 200;
const LATEST_MS = 1500;
job.on("patch", (patch) => { if (patch.forms.some((f) => MINE.has(f))) fetchSoon(patch); });
const unit = () => { askUnit($("unit")).catch(() => null); askAgain($("again")).catch(() => null); };
job.on("patch", (patch) => { if (patch.forms.some((f) => f === "vessel" || f === "*")) unit(); });
unit();
job.on("online", () => fetchAll());
document.addEventListener("visibilitychange", () => { if (!document.hidden && data && data.revision < job.revision) fetchAll(); });
const hullIs = (view) => { const hull = view?.steps.find((s) => s.step === "hull"); return hull ? `${hull.state} ${hull.at}` : ""; };
let kept = hullIs(job.view);
job.on("view", (view) => {
  counts();
  const now = hullIs(view);
  if (now !== kept) { const first = kept === ""; kept = now; if (!first) fetchAll(); }
  if (data && tab === "sides") sides();
});

tabs();
const wanted = location.hash.slice(1);
await fetchAll();
if (data) draw();
const girthsOnly = data && data.girths.length && !data.readings.length;
const nothing = data && !data.girths.length && !data.readings.length && !data.frames.length;
choose(TABS.some((one) => one?.[0] === wanted) ? wanted : nothing ? "vessel" : girthsOnly ? "girths" : "offsets");
if (job.view) counts();
addEventListener("hashchange", () => { const name = location.hash.slice(1); if (TABS.some((one) => one?.[0] === name)) choose(name); });
