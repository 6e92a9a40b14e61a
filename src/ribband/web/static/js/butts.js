// The page of butts: the expansion as main sheet, clashes as a butt is dragged, wishes, rules.
import { job } from "/static/js/job.js";
import { newest } from "/static/js/newest.js";
import { ask, el } from "/static/js/ask.js";
import { formFold } from "/static/js/form-tabs.js";
import "/static/js/expansion.js";
import { ButtsChart } from "/static/js/butts-chart.js";
import { ScaleRule } from "/static/js/scale-rule.js";
import { showClashes, showGoals, showRules, showStock, showWishes } from "/static/js/butts-panels.js";

const $ = (id) => document.getElementById(id);
let data = null;
let sideAt = 0;
let ground = "";

const chart = $("chart");
const rule = new ScaleRule(chart, { says: (text) => { $("rule-says").textContent = text; }, moved: () => ruleBar() });
const butts = new ButtsChart(chart, {
  may: () => job.may.work,
  moved: tried, dropped, chose, pinned, stretched,
  drawn: () => rule.draw(),
});
rule.starts = (strake) => (data ? butts.butts.filter((b) => b.strake === strake).map((b) => data.along[strake][b.landing] / 10) : []);

// the rule lies over the butts: it is taken hold of first
const own = { hit: chart.hit, drag: chart.drag, drop: chart.drop, grab: chart.grab, leave: chart.leave };
chart.hit = (x, y, reach, kind) => rule.hit(x, y, reach) || own.hit(x, y, reach, kind);
chart.grab = (h, x, y) => { if (!h.rule) own.grab(h, x, y); };
chart.drag = (h, x, y) => (h.rule ? rule.drag(h, x, y) : own.drag(h, x, y));
chart.drop = (h) => { if (!h.rule) own.drop(h); };
chart.leave = (h) => { if (!h?.rule) own.leave(h); };

const side = () => data.sides[Math.min(sideAt, data.sides.length - 1)];

// ---- fetching and showing

/** What the hand is doing is newer than what the server would say. */
const busy = () => data && (butts.moving || job.waiting);

const asked = newest(() => job.get("/api/butts"));
async function load() {
  if (busy()) { later(); return; }
  let all;
  try { all = await asked(); } catch (error) { job.say(error.message, "bad"); return; }
  if (!all) return;
  if (busy()) { later(); return; }
  data = all;
  for (const id of ["whole", "panels"]) $(id).hidden = !data.there;
  $("nothing").hidden = data.there;
  if (!data.there) wanting();
  state();
  if (!data.there) return;
  for (const one of [$("pin"), $("forbid"), $("solve"), $("seconds").closest("label"), $("wish-form")]) one.hidden = !job.may.work;
  const key = JSON.stringify([data.ground, data.upper, data.strakes]);
  if (key !== ground) { ground = key; chart.show(data, data.unit); }
  sides();
  fillSelects();
  butts.show(data, side());
  rule.show(data);
  panels(side());
  chose(butts.butts[butts.chosen] || null);
  document.body.dataset.shown = String(data.revision);
}

/** What comes before butts can be laid. */
function wanting() {
  const unmeasured = job.view?.next.page === "measure";
  $("nothing").replaceChildren(el("h2", {}, ["No lining out yet"]), el("p", {}, unmeasured
    ? ["Butts are laid on strakes, and strakes on a hull that was measured. ", el("a", { href: "/measure" }, ["Go to the measurements"]), " first."]
    : ["Butts are laid on strakes. ", el("a", { href: "/line-out" }, ["Line the hull out"]), " first."]));
}

/** What is stale is said at the head of every page; here only what cannot be used. */
function state() {
  const many = data.problems?.length || 0;
  $("state").hidden = !many;
  $("state").className = "tag fault";
  $("state").textContent = many > 1 ? `${many} wishes or stock cells cannot be used` : "a wish or stock cell cannot be used";
}

function sides() {
  $("side-label").hidden = data.sides.length < 2;
  $("side").replaceChildren(...data.sides.map((s, i) => el("option", { value: i, selected: i === sideAt }, [s.name])));
}
$("side").addEventListener("change", () => { sideAt = Number($("side").value); butts.show(data, side()); panels(side()); });

async function panels(one) {
  showClashes(one, find);
  showGoals(one);
  showStock(data);
  showRules(data, job.may.work, setRule);
  const form = await job.form("butts");
  showWishes(form, job.may.work, removeWish);
}

function fillSelects() {
  const names = data.strakes.map((s) => s.name);
  const frames = data.ground.frames.map((f) => f.name);
  fill($("rule-strake"), names.map((n, i) => [i, n]), rule.strake);
  const form = $("wish-form");
  fill(form.strake, [["", "every one"], ...names.map((n) => [n, n])], form.strake.value);
  fill(form.frame, frames.map((n) => [n, n]), form.frame.value);
  fill(form.to_frame, frames.map((n) => [n, n]), form.to_frame.value);
}
function fill(select, options, value) {
  select.replaceChildren(...options.map(([v, t]) => el("option", { value: v, selected: String(v) === String(value) }, [t])));
}

// ---- clashes at once

let asking = false;
let next = null;
/** Ask the rule engine about a layout that is being tried; where the hand is quicker, the last one counts. */
async function tried(laid) {
  next = laid;
  if (asking) return;
  asking = true;
  while (next) {
    const now = next;
    next = null;
    await look(now);
  }
  asking = false;
}

async function look(laid) {
  const began = performance.now();
  try {
    const found = await job.post("/api/butts/check", { side: sideAt, butts: laid });
    butts.clash(found.clashes);
    showClashes({ ...side(), ...found, solved: true }, find);
    chose(butts.butts[butts.chosen] || null);
    window.dispatchEvent(new CustomEvent("butts-checked", { detail: { ms: performance.now() - began } }));
  } catch (error) { job.say(error.message, "bad"); }
}

/** Explain the chosen butt. */
function chose(butt) {
  $("pin").disabled = !butt || !job.may.work;
  $("pin").textContent = butt?.fixed ? "Loosen" : "Pin";
  if (!butt) { $("explain").replaceChildren(el("span", { class: "note" }, ["Drag a butt to another frame, or press one to see what it clashes with."])); return; }
  const found = butts.of(butt);
  const name = butts.name(butt);
  $("explain").replaceChildren(
    el("b", {}, [`Butt, ${name}`]), butt.fixed ? el("span", { class: "tag note" }, ["pinned"]) : "",
    ...(butts.moving ? [el("span", { class: "note" }, [" being moved"])] : []),
    ...(found.length ? [el("ul", {}, found.map((c) => el("li", {}, [el("span", { class: "tag fault" }, [c.code]), ` ${c.where}: ${c.says}. ${c.why}`])))] : [el("span", { class: "tag good" }, ["no clash"])]),
  );
}

function find(clash) {
  const [strake, landing] = clash.butts[0] || [clash.strake, -1];
  const i = butts.butts.findIndex((b) => b.strake === strake && (landing < 0 || b.landing === landing));
  if (i < 0) return;
  butts.choose(i);
  const x = butts.landingX(butts.butts[i].landing);
  chart.bring(x, chart.edgesAt(strake, x)[0]);
  butts.marks.querySelector(`[data-i="${i}"]`)?.focus();
}

// ---- wishes

const said = (butt) => ({ wish: "fix", strake: data.strakes[butt.strake].name, frame: data.ground.frames[butt.landing >> 1].name, landing: butt.landing % 2 ? "block" : "frame" });

function rowOf(form, wish) {
  const col = (row, name) => (row[form.header.indexOf(name)] || "").trim();
  return form.rows.findIndex((row) => col(row, "wish").toLowerCase() === wish.wish && col(row, "strake") === wish.strake && col(row, "frame") === wish.frame && (col(row, "landing") || "frame") === wish.landing);
}

let turn = Promise.resolve();
/**
 * Change a form by what this hand sees on it. Changes are made up one after another, each upon the
 * last, without waiting for the disk; `make` gives the edits and why, or null for none.
 */
async function change(name, make) {
  const made = turn.then(async () => {
    const [edits, why] = make(await job.form(name)) || [];
    return { sent: edits && job.change(edits, why) };
  });
  turn = made.catch(() => {});
  try {
    const { sent } = await made;
    await sent?.catch(() => {}); // said in the corner
  } catch (error) { job.say(error.message, "bad"); }
  load();
}

const add = (form, wish) => ({ form: "butts", was: null, now: job.row(form.header, wish), at: form.rows.length });
const takeOut = (form, at) => ({ form: "butts", was: form.rows[at], now: null, at });

function dropped(butt, was) {
  const to = said(butt), from = said(was);
  return change("butts", (form) => {
    const at = was.fixed ? rowOf(form, from) : -1;
    const edit = at < 0 ? add(form, to) : { form: "butts", was: form.rows[at], now: form.header.map((h, i) => (h in to ? to[h] : form.rows[at][i])), at };
    return [[edit], `butt of strake ${to.strake} pinned at ${butt.landing % 2 ? "block aft of " : ""}frame ${to.frame}`];
  });
}

/** Pin the chosen butt, or loosen it: the other of what is seen. */
function pinned() {
  const butt = butts.butts[butts.chosen];
  if (!butt || !job.may.work || butts.moving) return;
  const to = said(butt), pin = !butt.fixed;
  butt.fixed = pin;
  butts.draw();
  chose(butt);
  change("butts", (form) => {
    const at = rowOf(form, to);
    if (pin !== at < 0) return null;
    return pin ? [[add(form, to)], `butt of strake ${to.strake} pinned at frame ${to.frame}`] : [[takeOut(form, at)], `butt of strake ${to.strake} at frame ${to.frame} loosened`];
  });
}
$("pin").addEventListener("click", pinned);

async function stretched(strake, from, to) {
  if (!job.may.work) return;
  const frames = data.ground.frames;
  const name = data.strakes[strake].name;
  const reason = await ask.text("Why may no butt stand here?", `Strake ${name}, frames ${frames[from].name} to ${frames[to].name}. The reason is kept with the stretch, and said with every clash.`);
  if (reason === null) return;
  await forbid({ strake: name, frame: frames[from].name, to_frame: frames[to].name, reason });
  mode(false);
}

function forbid(wish) {
  const why = `no butt in ${wish.strake ? `strake ${wish.strake}` : "any strake"}, frames ${wish.frame} to ${wish.to_frame}`;
  return change("butts", (form) => [[add(form, { wish: "forbid", ...wish })], why]);
}

function removeWish(row) {
  return change("butts", (form) => {
    const at = form.rows.findIndex((own) => own.join("\t") === row.join("\t"));
    return at < 0 ? null : [[takeOut(form, at)], `taken off: ${row.filter(Boolean).join(" ")}`];
  });
}

$("wish-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const wish = { wish: form.wish.value, strake: form.strake.value, frame: form.frame.value, reason: form.reason.value.trim() };
  if (wish.wish === "forbid") { await forbid({ ...wish, to_frame: form.to_frame.value }); form.reason.value = ""; return; }
  if (!wish.strake) { job.say("Choose the strake whose butt is pinned.", "look"); return; }
  wish.landing = form.landing.value;
  change("butts", (rows) => [[add(rows, wish)], `butt of strake ${wish.strake} pinned at frame ${wish.frame}`]);
});
$("wish-form").wish.addEventListener("change", () => {
  const fix = $("wish-form").wish.value === "fix";
  $("to-frame").hidden = fix;
  $("landing").hidden = !fix;
});

function mode(on) {
  butts.forbidding = on;
  $("forbid").setAttribute("aria-pressed", String(on));
  chart.svg.style.touchAction = on ? "none" : "";
  if (on) $("explain").replaceChildren(el("span", { class: "note" }, ["Drag along a strake, from the first frame to the last on which no butt may stand."]));
  else if (data) chose(butts.butts[butts.chosen] || null);
}
$("forbid").addEventListener("click", () => mode(!butts.forbidding));
addEventListener("keydown", (event) => { if (event.key === "Escape" && butts.forbidding && !event.defaultPrevented && !document.querySelector("dialog")) mode(false); });

// ---- rules

function setRule(name, text) {
  return change("rules", (form) => {
    const header = form.header.length ? form.header : ["rule", "value", "notes"];
    const at = form.rows.findIndex((row) => (row[header.indexOf("rule")] || "").trim() === name);
    if (at < 0 && !text) return null;
    const was = at < 0 ? null : form.rows[at];
    const now = !text ? null : was ? was.map((c, i) => (header[i] === "value" ? text : c)) : job.row(header, { rule: name, value: text });
    return [[{ form: "rules", was, now, at: at < 0 ? form.rows.length : at }], text ? `${name} = ${text}` : `${name} as it comes`];
  });
}

// ---- the scale rule

$("rule").addEventListener("click", () => {
  rule.on = !rule.on;
  $("rule").setAttribute("aria-pressed", String(rule.on));
  $("rule-bar").hidden = !rule.on;
  if (rule.on && butts.butts[butts.chosen]) {
    const b = butts.butts[butts.chosen];
    rule.strake = b.strake;
    rule.from = data.along[b.strake][b.landing] / 10;
  }
  rule.draw();
  ruleBar();
});
function ruleBar() {
  if (!data) return;
  $("rule-strake").value = String(rule.strake);
  const starts = [["0", "the fore end"], ...butts.butts.filter((b) => b.strake === rule.strake).sort((a, b) => a.landing - b.landing).map((b) => [String(data.along[b.strake][b.landing] / 10), `the butt at frame ${data.ground.frames[b.landing >> 1].name}`])];
  const here = starts.find(([mm]) => Math.abs(Number(mm) - rule.from) < 1);
  fill($("rule-from"), here ? starts : [["", "where it lies"], ...starts], here ? here[0] : "");
}
$("rule-strake").addEventListener("change", () => rule.lay(Number($("rule-strake").value), 0));
$("rule-from").addEventListener("change", () => { if ($("rule-from").value) rule.lay(rule.strake, Number($("rule-from").value)); });

// ---- work in hand

$("solve").addEventListener("click", () => job.post("/api/work", { last: "butts", seconds: Number($("seconds").value) }).catch((error) => job.say(error.message, "bad")));
$("stop").addEventListener("click", () => job.ask("DELETE", "/api/work").catch((error) => job.say(error.message, "bad")));
let kept = -1;
function working(work) {
  const on = work.state === "running";
  $("solve").disabled = on || !job.may.work;
  $("stop").hidden = !on;
  $("hand").hidden = !on && work.state !== "trouble";
  $("hand-part").value = work.part || 0;
  const best = (work.lines || []).find((l) => l.what.startsWith("butts"));
  $("hand-words").textContent = [work.state === "trouble" ? work.says : work.words, best && `kept so far: ${best.value} ${best.what}${best.remark ? `, ${best.remark}` : ""}`].filter(Boolean).join("; ");
  const mark = `${work.number}.${work.kept}.${work.state}`;
  if (kept !== mark && (work.state === "done" || work.kept)) load();
  kept = mark;
}
job.on("work", working);
working(job.work);

let soon = 0;
const later = () => { clearTimeout(soon); soon = setTimeout(load, 60); };
job.on("patch", (patch) => { if (patch.forms.includes("*") || patch.forms.some((f) => ["butts", "rules", "stock", "lining", "vessel"].includes(f))) later(); });
job.on("view", later);
formFold($("stock-typed"), $("stock-typed-in"));
load();
