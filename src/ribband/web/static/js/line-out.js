// The page of lining out: seams dragged on the expansion or the body plan, widths, alternatives.
import { job } from "/static/js/job.js";
import { newest } from "/static/js/newest.js";
import { el } from "/static/js/ask.js";
import "/static/js/expansion.js";
import "/static/js/body-plan.js";
import "/static/js/seam-sight.js";
import { smallGraph } from "/static/js/width-graph.js";
import { SeamsChart } from "/static/js/seams-chart.js";
import { NibsChart } from "/static/js/line-out-nib.js";
import { HullFollows } from "/static/js/line-out-hull.js";
import "/static/js/line-out-planks.js";
import { WISHES, card, cells, showStealers, showWhy, showWishes, stealersOf } from "/static/js/line-out-panels.js";
import { countSays, isStealer, numbersOpen, renumbered } from "/static/js/line-out-count.js";
import { filled } from "/static/js/flat.js";
import { length } from "/static/js/lengths.js";

const $ = (id) => document.getElementById(id);
const [chart, body, graph, sight, planks] = ["chart", "body", "graph", "sight", "planks"].map($);
let data = null; // as the server last gave it
let space = null;
let seams = null; // as they are drawn now
let form = null; // the form of wishes
chart.figures = true;

const hand = new SeamsChart(chart, {
  may: () => job.may.work,
  chose, settle, moved, dropped,
  left: (hold) => { job.post("/api/line-out/let-go", { hold }).catch(() => {}); beside(); hull.follow(""); },
  fix: () => fix(),
});
const nibs = new NibsChart(chart, {
  may: () => job.may.work,
  chose: (row) => { hand.choose(-1, -1); explainNib(row); },
  settle: (stealer, above, frame, hold) => { own.add(hold); return said(job.post("/api/line-out/nib", { hold, stealer, above, frame })).then(filled); },
  moved: (answer) => { restrake(answer); explainNib(nibs.row, answer); planks.show(answer.planks, { frame: nibAt(answer), from: null }); hull.follow(nibs.moving?.hold || ""); },
  dropped: (answer) => stealers(answer.wishes, `squared end of stealer ${answer.stealer} set down on frame ${nibAt(answer)}`),
  left: (hold, from) => {
    job.post("/api/line-out/let-go", { hold }).catch(() => {});
    data = { ...data, strakes: from.strakes };
    draw(from.seams);
    explainNib(nibs.row);
    hull.follow("");
  },
  elsewhere: () => chose(-1, -1),
});
const hull = new HullFollows($("hull"), { sheet: $("hull-sheet"), state: $("hull-state"), chosen: (name) => { const row = data.strakes.findIndex((s) => s.name === name); if (row >= 0) look(row); } });
body.may = () => job.may.work;
body.choose = (row, column) => { hand.choose(row, column); };
body.grab = () => hand.begin();
body.dragTo = (girth) => hand.to(girth);
body.drop = () => hand.drop();
body.leave = () => hand.leave();

// ---- fetching and showing

const latest = newest(() => Promise.all([job.get("/api/line-out"), job.form("lining")]));
async function load() {
  let found;
  try { found = await latest(); } catch (error) { job.say(error.message, "bad"); return; }
  if (!found) return;
  const [all, rows] = found;
  form = rows;
  if (hand.moving || nibs.moving) return;
  for (const id of ["whole", "views", "others", "panels"]) $(id).hidden = !all.there;
  $("nothing").hidden = all.there;
  if (!all.there) { data = all; return; }
  const ground = data?.there && JSON.stringify(data.ground) === JSON.stringify(all.ground);
  const stale = all.states.lining !== "good";
  const keeps = stale && ground && seams && job.may.work; // what a hand has done stays until it is settled anew
  data = keeps ? { ...all, strakes: data.strakes } : all;
  if (!ground || !space) await intoSpace();
  draw(keeps ? seams : { lower: all.lower, upper: all.upper, width: all.width, feasible: all.feasible });
  panels();
  document.body.dataset.shown = String(data.revision);
  if (job.may.work) await ready(stale);
  beside();
  hull.show(data);
}

async function intoSpace() {
  space = null;
  if (data.ground.in_space) space = await job.get("/api/line-out/space").catch(() => null);
  body.hidden = !space;
  $("sight-sheet").hidden = !space;
}

/** Hold the lining ready for a drag; where it is stale, its seams under the wishes as they are. */
async function ready(stale) {
  try {
    const now = filled(await job.post("/api/line-out/ready", {}));
    if (stale && !hand.moving && !nibs.moving) restrake(now);
  } catch (error) {
    const first = error.problems?.[0];
    $("state").hidden = !first;
    if (first) $("state").textContent = `a wish cannot be used: ${first.column} ${first.found}, wanted ${first.wanted}`;
  }
  document.body.dataset.ready = "1";
}

/** Draw everything for these seams. */
function draw(now) {
  seams = now;
  chart.show({ ...data, ...now }, data.unit);
  hand.points = fixed();
  nibs.show(data, now);
  hand.show(data, now);
  selects();
  rest(true);
  state(now);
  counted();
}

/** How many strakes are wished or drawn, and what that is at the stem, amidships and at the stern. */
function counted() {
  const wished = form && wishAt((w) => w.wish === "strakes");
  const given = wished ? cells(form, form.rows[wished.at]).value : "";
  $("count").textContent = given || String(data.strakes.length);
  $("count-says").textContent = countSays(data, seams, given);
  $("let-choose").hidden = !wished || !job.may.work;
}

/** Draw seams that may be of other strakes than before: a stealer let in, ended or moved. */
function restrake(now) {
  const other = JSON.stringify(now.strakes) !== JSON.stringify(data.strakes);
  if (other && data.strakes.length !== now.strakes.length) hand.row = hand.column = -1;
  data = { ...data, strakes: now.strakes };
  draw(now);
  if (other) showStealers(data, job.may.work, endStealer);
}

/** Draw what is beside the expansion. */
function rest(whole) {
  if (space) {
    if (whole) body.show(space, { ...data, ...seams }); else body.reseam(seams);
    sight.show(space, data, seams);
  }
  graph.show(data, seams, Number($("graph-strake").value) || 0);
  $("graph-says").textContent = graph.says();
  if (whole) $("small-graphs").replaceChildren(...data.strakes.map((_, row) => smallGraph(data, seams, row, (r) => look(r))));
}

function state(now) {
  $("state").hidden = now.feasible !== false;
  $("state").textContent = now.over ? `a limit is passed by ${now.over}${now.passed ? `: ${now.passed}` : ""}` : "a limit is broken: see the findings";
}

function selects() {
  const names = data.strakes.map((s, i) => [i, s.called ? `${s.name}, ${s.called}` : s.name]);
  const middle = Math.floor(names.length / 2);
  fill($("graph-strake"), names, $("graph-strake").value || middle);
  fill($("sight-seam"), names.slice(0, -1), $("sight-seam").value || middle);
  sight.row = Number($("sight-seam").value);
  const frames = data.ground.frames.map((f) => [f.name, f.name]);
  const ask = $("stealer-form");
  fill(ask.strake, data.strakes.filter((s) => !s.stealer).slice(0, -1).map((s) => [s.name, s.name]), ask.strake.value);
  fill(ask.frame, frames, ask.frame.value || frames[Math.floor(frames.length / 4)]?.[0]);
  fill(ask.to_frame, [["stem", "the stem"], ["stern", "the stern"], ...frames.map(([n]) => [n, `frame ${n}`])], ask.to_frame.value || "stem");
  $("strake-names").replaceChildren(...["lowers", "uppers", "topside", ...data.strakes.map((s) => s.name)].map((n) => el("option", { value: n })));
  $("frame-names").replaceChildren(...["stem", ...data.ground.frames.map((f) => f.name), "stern"].map((n) => el("option", { value: n })));
}
function fill(select, options, value) {
  select.replaceChildren(...options.map(([v, t]) => el("option", { value: v, selected: String(v) === String(value) }, [t])));
}

function panels() {
  showWishes(form, job.may.work, takeOff);
  showStealers(data, job.may.work, endStealer);
  showWhy(data);
  counted();
  for (const id of ["fewer", "more"]) $(id).disabled = !job.may.work;
  chose(hand.row, hand.column);
  cards();
}

// ---- the chosen point

const columns = () => ["stem", ...data.ground.frames.map((f) => f.name), "stern"];

let before = null; // the planks as they were when the hand took hold
let asked = 0;
/** Lay the planks beside the chosen seam flat, as it lies now. */
async function beside() {
  if (hand.moving) return;
  const mine = ++asked;
  before = null;
  if (hand.row < 0) { planks.clear(); return; }
  planks.late();
  const [row, column] = [hand.row, hand.column];
  let found;
  try { found = await job.get(`/api/line-out/planks?strake=${encodeURIComponent(data.strakes[row].name)}`); } catch (error) { found = { why: error.message }; }
  if (mine !== asked || hand.row !== row || hand.column !== column) return;
  before = found;
  if (!hand.moving) planks.show(found, { frame: columns()[column], from: null });
}

function explainNib(row, answer = null) {
  const strake = data.strakes[row];
  if (!strake) return;
  const above = strake.name.replace(/s.*$/, "");
  if (!answer) planks.clear();
  $("explain").replaceChildren(
    el("b", {}, [`Stealer ${strake.name}: squared end on frame ${strake.nib}, above strake ${above}.`]),
    nibs.moving ? el("span", { class: "tag caution" }, ["being moved"]) : "",
    ...(answer ? clashWords(answer) : [el("span", { class: "note" }, [" Drag it from frame to frame or to another strake."])]),
  );
}
const clashWords = (answer) => (answer.clash.length
  ? [el("ul", { class: "clashes" }, answer.clash.map((words) => el("li", {}, [el("span", { class: `tag ${answer.stands ? "caution" : "fault"}` }, [answer.stands ? "look" : "clash"]), ` ${words}`])))]
  : [el("span", { class: "tag good" }, ["no clash"])]);
const nibAt = (answer) => answer.strakes.find((s) => s.name === answer.stealer)?.nib;

function chose(row, column) {
  beside();
  const there = row >= 0 && job.may.work;
  for (const id of ["fix", "master", "width", "set-width"]) $(id).disabled = !there;
  if (space) body.mark(row, column);
  if (row < 0 && nibs.row >= 0) { explainNib(nibs.row); return; }
  if (row < 0) {
    $("explain").replaceChildren(el("span", { class: "note" }, ["Drag a seam where it crosses a frame; the rest follows. By touch, press a crossing first, then drag it; a stealer’s handle can be dragged at once."]));
    $("fix").textContent = "Fix here";
    return;
  }
  const point = fixedAt(row, column);
  $("fix").textContent = point ? "Loosen" : "Fix here";
  $("width").value = length(seams.width[row][column] / 10, data.unit, true);
  if ($("graph-strake").value !== String(row)) look(row);
  if ($("sight-seam").value !== String(row)) { $("sight-seam").value = String(row); sight.row = row; if (space) sight.show(space, data, seams); }
  explain();
}

function explain() {
  const { row, column } = hand;
  const mm = (v) => length(v / 10, data.unit);
  const name = columns()[column];
  const above = data.strakes[row + 1];
  const place = column === 0 || column === columns().length - 1 ? `the ${name}` : `frame ${name}`;
  const point = fixedAt(row, column);
  $("explain").replaceChildren(
    el("b", {}, [`Seam above strake ${data.strakes[row].name}, ${place}: girth ${mm(seams.upper[row][column])}.`]),
    ` Strake ${data.strakes[row].name} is ${mm(seams.width[row][column])} wide`, above && seams.width[row + 1][column] >= 0 ? `, strake ${above.name} ${mm(seams.width[row + 1][column])}.` : ".",
    point ? el("span", { class: "tag note" }, [point.kind === "master" ? "on the master line" : "fixed"]) : "",
    hand.moving ? el("span", { class: "tag caution" }, ["being moved"]) : "",
  );
}

function look(row) {
  $("graph-strake").value = String(row);
  graph.show(data, seams, row);
  $("graph-says").textContent = graph.says();
}
$("graph-strake").addEventListener("change", () => look(Number($("graph-strake").value)));
for (const [id, set] of [["sight-seam", (v) => { sight.row = Number(v); }], ["sight-end", (v) => { sight.from = v; }], ["sight-out", (v) => { sight.out = Number(v); }], ["sight-up", (v) => { sight.up = Number(v); }]]) {
  $(id).addEventListener("input", () => { set($(id).value); sight.draw(); });
}
$("figures").addEventListener("click", () => { chart.figures = !chart.figures; $("figures").setAttribute("aria-pressed", String(chart.figures)); chart.soon(); });

// ---- dragging

const own = new Set(); // the drags of this hand, which it need not be told of
async function settle(strake, frame, girth, hold, rests) {
  own.add(hold);
  const answer = filled(await said(job.post("/api/line-out/move", { hold, strake, frame, girth, rests, planks: true })));
  if (hand.moving && answer.planks) planks.show(answer.planks, { frame, from: before });
  hull.follow(hold);
  return answer;
}
/** Say in the corner what went wrong. */
async function said(asking) {
  try { return await asking; } catch (error) { job.say(error.message, "bad"); throw error; }
}

let resting = 0;
let rested = 0;
let took = 0;
/** The expansion at once; what lies beside it a few times a second while the hand moves, for a quarter of the time at most. */
function moved(now, whole) {
  seams = now;
  chart.reseam(now);
  nibs.seams = now;
  if (!whole) planks.late();
  clearTimeout(resting);
  const around = () => {
    const began = performance.now();
    rest(false);
    if (hand.row >= 0) explain();
    state(seams);
    rested = performance.now();
    took = rested - began;
  };
  resting = setTimeout(around, whole ? 0 : Math.max(0, Math.max(120, 3 * took) - (performance.now() - rested)));
}

async function dropped(row, column, answer) {
  seams = answer;
  explain();
  const text = answer.text || length(seams.upper[row][column] / 10, data.unit, true); // dropped while the server was away
  const strake = data.strakes[row].name;
  const masters = form.rows.map((r) => cells(form, r)).filter((w) => w.wish.toLowerCase() === "master");
  const kind = masters.some((w) => w.strake === strake) ? "master" : "fix";
  await put({ wish: kind, strake, frame: columns()[column], value: text }, `seam above strake ${strake} ${kind === "master" ? "(master line) " : ""}at ${text} on ${place(column)}`);
}

const place = (column) => (column === 0 || column === columns().length - 1 ? `the ${columns()[column]}` : `frame ${columns()[column]}`);

// ---- wishes

function wishAt(which) {
  const at = form.rows.findIndex((row) => { const w = cells(form, row); return which({ ...w, wish: w.wish.toLowerCase() }); });
  return at < 0 ? null : { at };
}

/** The fixed points there are: seams and columns by name. */
function fixed() {
  const names = data.strakes.map((s) => s.name);
  return form.rows.map((r) => cells(form, r)).filter((w) => ["fix", "master"].includes(w.wish.toLowerCase())).map((w) => ({ row: names.indexOf(w.strake), column: columns().indexOf(w.frame.toLowerCase() in { stem: 1, stern: 1 } ? w.frame.toLowerCase() : w.frame), kind: w.wish.toLowerCase() })).filter((p) => p.row >= 0 && p.column >= 0);
}
const fixedAt = (row, column) => hand.points.find((p) => p.row === row && p.column === column);

async function send(edits, why) {
  try { await job.change(edits, why); } catch { /* said in the corner */ }
  await load();
}

/** Put a wish on the form, in place of the one of the same kind and place. */
async function put(wish, why) {
  form = await job.form("lining");
  const once = ["strakes", "recorded"].includes(wish.wish);
  const same = (w) => w.wish === wish.wish && (once || (["strake", "frame", "to_frame"].every((k) => w[k] === (wish[k] || ""))));
  const found = wishAt(same);
  const edit = found
    ? { form: "lining", was: form.rows[found.at], now: form.header.map((h, i) => (h in wish ? wish[h] : form.rows[found.at][i])), at: found.at }
    : { form: "lining", was: null, now: job.row(form.header, wish), at: form.rows.length };
  const held = /^\d/.test(wish.strake || "") ? asDrawn(form.rows.length + (found ? 0 : 1)) : [];
  await send([edit, ...held], why + heldSays(held));
}

/** A wish that names a strake is of the strakes as they are drawn: a number left to the program is held from then on. */
function asDrawn(at) {
  if (wishAt((w) => w.wish === "strakes")) return [];
  const rows = [{ wish: "strakes", value: String(data.strakes.length) }, ...(wishAt((w) => isStealer(w)) ? [] : stealersOf(data).map(({ name, ...w }) => w))];
  return rows.map((w, n) => ({ form: "lining", was: null, now: job.row(form.header, w), at: at + n }));
}
const heldSays = (held) => (held.length ? `; ${data.strakes.length} strakes held` : "");

async function takeOff(at) {
  form = await job.form("lining");
  const less = isStealer(cells(form, form.rows[at])) ? recount(-1) : [];
  const open = cells(form, form.rows[at]).wish.toLowerCase() === "strakes" ? numbersOpen(form.rows.map((row) => cells(form, row))) : "";
  await send([...less, { form: "lining", was: form.rows[at], now: null, at }], `taken off: ${form.rows[at].filter(Boolean).join(" ")}`);
  if (open) job.say(open, "look");
}

async function fix() {
  const { row, column } = hand;
  if (row < 0 || !job.may.work || hand.moving) return;
  const strake = data.strakes[row].name;
  const point = fixedAt(row, column);
  if (point) { const found = wishAt((w) => w.wish === point.kind && w.strake === strake && w.frame === columns()[column]); if (found) await takeOff(found.at); return; }
  const value = length(seams.upper[row][column] / 10, data.unit);
  await put({ wish: "fix", strake, frame: columns()[column], value }, `seam above strake ${strake} fixed on ${place(column)}`);
}
$("fix").addEventListener("click", fix);

$("master").addEventListener("click", async () => {
  const { row, column } = hand;
  const strake = data.strakes[row].name;
  form = await job.form("lining");
  const old = form.rows.map((r, at) => [cells(form, r), at]).filter(([w]) => w.wish.toLowerCase() === "master" && w.strake !== strake).map(([, at]) => at).reverse();
  const edits = old.map((at) => ({ form: "lining", was: form.rows[at], now: null, at }));
  const value = length(seams.upper[row][column] / 10, data.unit);
  const wish = { wish: "master", strake, frame: columns()[column], value };
  edits.push({ form: "lining", was: null, now: job.row(form.header, wish), at: form.rows.length - old.length });
  const held = asDrawn(form.rows.length - old.length + 1);
  await send([...edits, ...held], `master line above strake ${strake}, on ${place(column)}${heldSays(held)}`);
});

async function setWidth() {
  const { row, column } = hand;
  const value = $("width").value.trim();
  if (row < 0 || !value) return;
  const strake = data.strakes[row].name;
  await put({ wish: "width", strake, frame: columns()[column], value, weight: "1" }, `strake ${strake} ${value} wide on ${place(column)}`);
}
$("set-width").addEventListener("click", setWidth);
$("width").addEventListener("keydown", (event) => { if (event.key === "Enter") setWidth(); });

/** The wish for a number of strakes, where there is one, with so many more: whole strakes stay as many. */
function recount(more) {
  const found = wishAt((w) => w.wish === "strakes");
  const value = found ? Number(cells(form, form.rows[found.at]).value) : NaN;
  if (!more || !Number.isInteger(value)) return [];
  return [{ form: "lining", was: form.rows[found.at], now: form.header.map((h, i) => (h === "value" ? String(value + more) : form.rows[found.at][i])), at: found.at }];
}

const LEAST = 3, MOST = 80; // strakes a side
/** Wish a number of strakes: stealers stay, and wishes that name strakes stay with their planks where that is wanted. */
async function count(n) {
  form = await job.form("lining");
  const found = wishAt((w) => w.wish === "strakes");
  const wished = form.rows.filter((row) => isStealer(cells(form, row))).length;
  const chosen = found || wished ? [] : stealersOf(data); // those it chose by itself become wishes
  const whole = n - wished - chosen.length;
  if (whole < LEAST || n > MOST) { job.say(`${n} strakes a side: wanted ${LEAST} from end to end to ${MOST} in all.`, "look"); return; }
  const names = await renumbered(whole);
  if (!names) return;
  const value = { wish: "strakes", value: String(n) };
  const was = found ? form.rows[found.at] : null;
  const rows = chosen.map(({ name, ...w }) => ({ ...w, strake: names.seam(w.strake) }));
  const edits = [...names.edits, { form: "lining", was, now: was ? form.header.map((h, i) => value[h] ?? was[i]) : job.row(form.header, value), at: found ? found.at : form.rows.length }];
  edits.push(...rows.map((w, i) => ({ form: "lining", was: null, now: job.row(form.header, w), at: form.rows.length + 1 + i })));
  await send(edits, `${n} strakes a side${names.says}`);
}
$("fewer").addEventListener("click", () => count(Number($("count").textContent) - 1));
$("more").addEventListener("click", () => count(Number($("count").textContent) + 1));
$("let-choose").addEventListener("click", () => { const found = wishAt((w) => w.wish === "strakes"); if (found) takeOff(found.at); });

const ask = $("wish-form");
ask.wish.replaceChildren(...Object.keys(WISHES).map((k) => el("option", {}, [k])));
ask.wish.addEventListener("change", wishFields);
function wishFields() {
  const own = WISHES[ask.wish.value];
  for (const label of ask.querySelectorAll("[data-for]")) label.hidden = !own.fields.includes(label.dataset.for);
  $("wish-says").textContent = own.says;
}
wishFields();
ask.addEventListener("submit", (event) => {
  event.preventDefault();
  const wish = { wish: ask.wish.value };
  for (const field of WISHES[wish.wish].fields) wish[field] = ask[field].value.trim();
  if (wish.wish === "strakes") {
    if (/^\d+$/.test(wish.value)) count(Number(wish.value));
    else job.say(`“${wish.value}” strakes a side: wanted a whole number.`, "look");
    return;
  }
  if (isStealer(wish) && !wishAt((w) => isStealer(w) && ["strake", "frame", "to_frame"].every((k) => w[k] === wish[k]))) { stealers([...wishedStealers(), wish], `a stealer above strake ${wish.strake}`); return; }
  put(wish, `wish: ${Object.values(wish).filter(Boolean).join(" ")}`);
});

// ---- stealers: where the lining chose its own, they become wishes when one is changed

$("stealer-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const f = event.target;
  const added = { wish: "stealer", strake: f.strake.value, frame: f.frame.value, to_frame: f.to_frame.value };
  await stealers([...stealersOf(data), added], `a stealer above strake ${added.strake}`);
});
async function endStealer(gone) {
  await stealers(stealersOf(data).filter((s) => s.name !== gone.name), `stealer ${gone.name} ended`);
}
/** The stealers as they are wished, or else as the lining chose them. */
function wishedStealers() {
  const wished = form.rows.map((row) => cells(form, row)).filter(isStealer).map(({ strake, frame, to_frame }) => ({ wish: "stealer", strake, frame, to_frame }));
  return wished.length ? wished : stealersOf(data);
}
/** Make these the stealers there are, the whole strakes staying as many; none at all is a rule, as a wish can only ask for some. */
async function stealers(wanted, why) {
  const [lining, rules] = await Promise.all([job.form("lining"), job.form("rules")]);
  form = lining;
  const old = form.rows.map((r, at) => [cells(form, r), at]).filter(([w]) => w.wish.toLowerCase() === "stealer").map(([, at]) => at).reverse();
  const edits = old.map((at) => ({ form: "lining", was: form.rows[at], now: null, at }));
  edits.push(...wanted.map(({ name, ...w }, i) => ({ form: "lining", was: null, now: job.row(form.header, w), at: form.rows.length - old.length + i })));
  edits.unshift(...recount(wanted.length - old.length));
  if (!wanted.length && !edits.some((e) => e.form === "rules")) edits.push(noStealers(rules));
  await send(edits, why);
}
function noStealers(rules) {
  const at = rules.rows.findIndex((row) => row[rules.header.indexOf("rule")]?.trim() === "lining.stealers");
  const wish = { rule: "lining.stealers", value: "0" };
  const was = at < 0 ? null : rules.rows[at];
  return { form: "rules", was, now: was ? rules.header.map((h, i) => wish[h] ?? was[i]) : job.row(rules.header, wish), at: at < 0 ? rules.rows.length : at };
}

// ---- alternatives, lined out when they are looked at

const tried = new Map();
let seen = false;
new IntersectionObserver((all) => { if (all.some((one) => one.isIntersecting) && !seen) { seen = true; cards(); } }).observe($("others"));
let wanted = [];
function cards() {
  if (!data?.there) return;
  const list = [...data.alternatives.map((a) => ({ count: a.strakes, stealers: a.stealers > 0, says: a.says })), ...wanted.filter((n) => n !== data.strakes.length && !data.alternatives.some((a) => a.strakes === n)).map((n) => ({ count: n, stealers: false, says: "" }))];
  const now = card(`As it is: ${data.strakes.length} strakes`, data.ground, { ...data, ...seams }, data.reasons[0] || "", null);
  $("cards").replaceChildren(now, ...list.map((one) => {
    const found = tried.get(key(one));
    const act = found && job.may.work ? el("button", { type: "button", onclick: () => take(one, found) }, ["Take this"]) : null;
    return card(`${one.count} strakes${one.stealers ? ", with stealers" : ""}`, data.ground, found, one.says, act);
  }));
  if (seen && job.may.work) next(list);
}
const key = (one) => `${data.revision}.${one.count}.${one.stealers}`;
let trying = false;
async function next(list) {
  const one = list.find((a) => !tried.has(key(a)));
  if (!one || trying) return;
  trying = true;
  const mine = key(one);
  try { tried.set(mine, await job.post("/api/line-out/another", { strakes: one.count, stealers: one.stealers })); } catch (error) { tried.set(mine, null); job.say(error.message, "bad"); }
  trying = false;
  cards();
}
async function take(one, found) {
  const own = { strakes: found.strakes };
  form = await job.form("lining");
  const names = await renumbered(one.count - stealersOf(own).length, false);
  if (!names) return;
  const edits = [...names.edits];
  const gone = form.rows.map((r, at) => [cells(form, r), at]).filter(([w]) => ["strakes", "stealer"].includes(w.wish.toLowerCase())).map(([, at]) => at).reverse();
  edits.push(...gone.map((at) => ({ form: "lining", was: form.rows[at], now: null, at })));
  const wishes = [{ wish: "strakes", value: String(one.count) }, ...stealersOf(own).map(({ name, ...w }) => w)];
  edits.push(...wishes.map((w, i) => ({ form: "lining", was: null, now: job.row(form.header, w), at: form.rows.length - gone.length + i })));
  await send(edits, `${one.count} strakes taken${names.says}`);
}
$("try").addEventListener("submit", (event) => { event.preventDefault(); seen = true; wanted = [...new Set([...wanted, Number($("try-count").value)])]; cards(); });

// ---- another hand at a seam

let following = false;
let again = false;
let following_of = "";
async function follow() {
  if (following) { again = true; return; }
  following = true;
  do {
    again = false;
    const now = filled(await job.get("/api/line-out/move").catch(() => null));
    if (now && now.upper && !hand.moving && !nibs.moving && data?.there) {
      const other = now.names.join() !== data.strakes.map((s) => s.name).join();
      seams = now;
      hand.seams = now;
      if (other) restrake(now); else { chart.reseam(now); rest(false); }
      const mine = hand.row >= 0 && now.planks?.strakes[0] === data.strakes[hand.row].name;
      if (mine) planks.show(now.planks, { frame: columns()[hand.column], from: before }); else planks.late();
      hull.follow(following_of);
      window.dispatchEvent(new CustomEvent("seam-followed"));
    }
  } while (again);
  following = false;
}
job.on("seam", (said) => {
  if (own.has(said.hold) || !data?.there) return;
  if (!said.strake) { if (following_of === said.hold) load(); return; }
  following_of = said.hold;
  follow();
});

let soon = 0;
const later = () => { clearTimeout(soon); soon = setTimeout(load, 80); };
job.on("patch", (patch) => { if (patch.forms.includes("*") || patch.forms.some((f) => ["lining", "rules", "old_strakes", "vessel"].includes(f))) later(); });
// what is wrong with a wish comes with the view, after the wish itself
job.on("view", async () => { if (!data?.there || !form) return; form = await job.form("lining").catch(() => form); showWishes(form, job.may.work, takeOff); });
job.on("view", (view) => { const step = view?.steps?.find((s) => s.step === "lining"); if (!step || !data || step.state !== data.states?.lining || view.revision !== data.revision || step.at !== chart.dataset.at) { chart.dataset.at = step?.at || ""; later(); } });

load();
