// The record's page, at the hull: choose a plank, mark its step with one thumb, measure its seams.
// Every mark is a line of a form; while the server cannot be reached it waits and shows all the same.
import { job } from "/static/js/job.js";
import { newest } from "/static/js/newest.js";
import { ask, el } from "/static/js/ask.js";
import { figures, findings, listing } from "/static/js/listings.js";
import { formTabs } from "/static/js/form-tabs.js";
import { Seams, clock } from "/static/js/record-seams.js";
import { Pictures } from "/static/js/record-pictures.js";

const $ = (id) => document.getElementById(id);
const FORMS = ["log", "as_hung", "photos"];
let all = { planks: [], states: [], hands: [], counts: [] }, key = "", show = "at", plank = null, told = null;
/** Marks that wait for the server: plank -> states. @type {Map<string, Set<string>>} */
const waits = new Map();
const seams = new Seams({ form: (name) => form(name), kept: () => tell() });
const pictures = new Pictures({ form: (name) => form(name), told: () => tell() });

/** A form; where it cannot be asked for, as it was last seen. */
const seen = new Map();
async function form(name) {
  try { seen.set(name, await job.form(name)); } catch (error) { if (!seen.has(name)) throw error; }
  return seen.get(name);
}

const asked = newest(() => job.get("/api/record"));
async function read() {
  let found;
  try { found = await asked(); } catch (error) { if (job.online) job.say(error.message, "bad"); return; }
  if (!found) return;
  FORMS.forEach((name) => form(name).catch(() => null));
  if (found.key === key) return;
  key = found.key;
  all = found;
  $("problems").hidden = !all.problems.length;
  $("problems").textContent = all.problems.length ? `The log cannot be read: ${all.problems.slice(0, 3).join("; ")}. It can be mended in the forms.` : "";
  list();
  left();
  sums();
  const named = decodeURIComponent(location.hash.slice(1)) || plank?.name;
  const again = all.planks.find((p) => p.name === named);
  if (again) choose(again.name, !plank);
}

// ---- choosing

const far = (p) => p.done.length + (waits.get(p.name)?.size || 0);
const order = (a, b) => (a.place ?? 1e9) - (b.place ?? 1e9);

function wanted() {
  const words = $("find").value.trim().toLowerCase().split(/\s+/).filter(Boolean);
  const kept = all.planks.filter((p) => words.every((w) => [p.name, p.side, p.strake, last(p)].some((t) => t.toLowerCase() === w || (w.length > 1 && t.toLowerCase().includes(w)))));
  if (words.length || show === "all") return kept.sort(order);
  const begun = kept.filter((p) => far(p) && p.next).sort(order), fresh = kept.filter((p) => !far(p)).sort(order);
  return [...begun, ...fresh.slice(0, Math.max(6, 16 - begun.length))];
}

const last = (p) => p.done.at(-1)?.state || "";

function list() {
  const kept = wanted();
  $("choose-count").textContent = all.planks.length ? `${kept.length} of ${all.planks.length}` : "";
  $("none").hidden = kept.length > 0;
  $("none").textContent = all.planks.length ? "No plank of that name." : "No planks yet: the plan has not come so far.";
  $("planks").replaceChildren(...kept.map((p) => el("li", {}, [el("button", { type: "button", "aria-pressed": String(p.name === plank?.name), "data-plank": p.name, onclick: () => { choose(p.name, true); $("plank-title").focus({ preventScroll: true }); } }, [
    el("b", {}, [p.name]), el("span", {}, [last(p) || "not begun"]), el("small", {}, [p.next ? `next: ${p.next}` : "all done"]),
    ...(p.new && !far(p) ? [el("span", { class: "tag caution" }, ["new shape"])] : []),
  ])])));
}

function choose(name, scroll = false) {
  const found = all.planks.find((p) => p.name === name);
  if (!found) return;
  const other = name !== plank?.name;
  plank = found;
  history.replaceState(null, "", `#${encodeURIComponent(name)}`);
  $("plank").hidden = false;
  document.body.classList.add("has-plank");
  for (const button of $("planks").querySelectorAll("button")) button.setAttribute("aria-pressed", String(button.dataset.plank === name));
  $("plank-title").textContent = `Plank ${name}`;
  $("sheet-of").href = `/planks/${encodeURIComponent(name)}`;
  if (other) { pictures.show(name, []); $("told").replaceChildren(); $("note").value = ""; $("at").value = ""; told = null; }
  who(); // before the first thumb: a step may be marked while the plank's own record is still on its way
  head();
  steps();
  tell();
  if (scroll && matchMedia("(max-width: 640px)").matches) $("plank").scrollIntoView({ block: "start" });
}

function head() {
  const p = plank, place = p.place ? `, ${p.place} in the order` : "";
  $("stands").replaceChildren(`${p.side}, strake ${p.strake}, ${p.length}, from ${p.fore} to ${p.aft}${place}. `, el("b", {}, [last(p) ? `It is ${last(p)}.` : "Not begun."]),
    ...(p.spoilt ? [` Spoilt ${p.spoilt > 1 ? `${p.spoilt} times` : "once"} before.`] : []),
    ...(p.new && !far(p) ? [el("span", { class: "tag caution" }, ["new shape: what is left was divided anew; take its new ticket"])] : []));
}

// ---- marking a step

function steps() {
  const done = new Map(plank.done.map((d) => [d.state, d])), mine = waits.get(plank.name) || new Set();
  const furthest = Math.max(-1, ...all.states.map((s, n) => (done.has(s) || mine.has(s) ? n : -1)));
  const next = plank.wanted.find((s) => all.states.indexOf(s) > furthest);
  const button = (state) => {
    const was = done.get(state), needed = plank.wanted.includes(state);
    const small = mine.has(state) ? "waits for the server" : was ? [was.at.slice(0, 10), was.by].filter(Boolean).join(", ") || "done" : state === next ? "next" : needed ? "" : "not wanted here";
    return el("button", { type: "button", "data-state": state, disabled: !job.may.work, class: was || mine.has(state) ? "done" : state === next ? "main" : "", onclick: () => (was ? takeBack(state) : mark(state)) }, [
      el("span", {}, [was ? `✓ ${state}` : state]), ...(small ? [el("small", {}, [small])] : [])]);
  };
  $("steps").replaceChildren(...all.states.map(button),
    el("button", { type: "button", class: "spoil", "data-state": "spoilt", disabled: !job.may.work, onclick: spoil }, [el("span", {}, ["✗ spoilt"]), el("small", {}, ["it begins again"])]));
}

/** Ask where a plank is told hung long before its turn: a neighbouring key is soon touched. */
async function inTurn(state) {
  const hanging = all.planks.filter((p) => p.done.some((d) => d.state === "hung")).length;
  if (state !== "hung" || !plank.place || plank.place <= hanging + AHEAD) return true;
  return ask.yes(`${plank.name} is hung?`, `By the order it is the ${plank.place}th of ${all.planks.length}, and ${hanging || "none"} ${hanging === 1 ? "hangs" : "hang"} yet.`, "It is hung");
}
const AHEAD = 12; // places in the order a yard may be ahead on the other side, or at the sheer

async function mark(state) {
  if (!await inTurn(state)) return;
  const { name } = plank, when = $("at").value.replace("T", " ") || clock(), by = $("by").value.trim(), note = $("note").value.trim();
  let log;
  try { log = await form("log"); } catch { job.say("The log has not been read yet; it can be written once the server is reached.", "bad"); return; }
  const row = job.row(log.header, { plank: name, state, at: when, by, note });
  const at = log.rows.length + [...waits.values()].reduce((sum, s) => sum + s.size, 0); // after those that wait
  wait(name, state, true);
  $("told").replaceChildren(el("b", {}, [`${name} is ${state}.`]), ` ${by ? `${by}, ` : ""}${when}. `, el("button", { type: "button", onclick: () => remove(row, state) }, ["Take it back"]));
  $("note").value = "";
  whoSays();
  try { await job.change([{ form: "log", was: null, now: row, at }], `${name} ${state}`); } catch { $("told").replaceChildren(el("span", { class: "tag fault" }, ["not written"]), ` ${name} ${state}: the server said no.`); }
  await read();
  wait(name, state, false);
}

function wait(name, state, on) {
  const mine = waits.get(name) || new Set();
  if (on) mine.add(state); else mine.delete(state);
  waits.set(name, mine);
  if (plank?.name === name) steps();
}

async function spoil() {
  const { name } = plank, begun = plank.done.map((d) => d.state), waiting = waits.get(name)?.size;
  if (!begun.length && !waiting) { job.say(`${name} is not begun: there is nothing of it to be spoilt. A board that is spoilt is marked under Timber.`, "look"); return; }
  const says = `It is got out anew${begun.includes("patterned") ? "; its pattern is kept" : ""}. What was done to it stays in its history.`;
  if (await ask.yes(`Plank ${name} is spoilt?`, says, "It is spoilt")) mark("spoilt");
}

/** A step that is told already, by whomever: nothing is added, and the line can be taken out if it was a slip. */
async function takeBack(state) {
  const log = await form("log").catch(() => null);
  if (!log) return;
  const [p, s, at, by] = ["plank", "state", "at", "by"].map((c) => log.header.indexOf(c));
  const row = log.rows.findLast((r) => r[p] === plank.name && r[s] === state);
  if (!row) return;
  const told = [row[by] && `by ${row[by]}`, row[at]].filter(Boolean).join(", ");
  if (await ask.yes(`${plank.name} is ${state} already`, `It was told ${told}. It stands in the log once, and nothing is added. Only if that was a slip: the line can be taken out of the log; it stays in the history of the job.`, "Take it out")) remove(row, state);
}

async function remove(row, state) {
  const log = await form("log").catch(() => null);
  const at = log ? log.rows.findLastIndex((r) => r.every((cell, n) => cell === row[n])) : -1;
  await job.change([{ form: "log", was: row, now: null, at: Math.max(at, 0) }], `${plank.name}: ${state} taken back`).catch(() => null);
  $("told").textContent = `${state} is taken back.`;
  await read();
}

/** What the next mark will say, on the closed fold. */
function whoSays() {
  const said = [$("by").value.trim() || "nobody named", $("at").value.replace("T", " ") || "now", $("note").value.trim()].filter(Boolean);
  $("who-says").textContent = said.join(", ");
}

function who() {
  if (!$("by").value && job.who) $("by").value = job.who;
  const names = () => $("by").value.split(";").map((n) => n.trim()).filter(Boolean);
  $("hands").replaceChildren(...all.hands.map((name) => el("button", { type: "button", "aria-pressed": String(names().includes(name)), onclick: (event) => {
    const on = !names().includes(name);
    $("by").value = on ? [...names(), name].join("; ") : names().filter((n) => n !== name).join("; ");
    event.currentTarget.setAttribute("aria-pressed", String(on));
    whoSays();
  } }, [name])));
  whoSays();
}

// ---- its record

async function tell() {
  const { name } = plank;
  try { told = await job.get(`/api/record/${encodeURIComponent(name)}`); } catch (error) { if (job.online) job.say(error.message, "look"); return; }
  if (plank.name !== name) return;
  $("cautions").replaceChildren(...told.cautions.map((words) => el("p", { class: "safety" }, [words])));
  $("facts").replaceChildren(...told.facts.map(([what, said]) => el("div", {}, [el("dt", {}, [what]), el("dd", {}, [said])])));
  lines($("history"), told.history, "Nothing is told of it yet.");
  pictures.show(name, told.photos);
  seams.show(plank, told.seams);
}

function lines(at, rows, none) {
  at.replaceChildren(...(rows.length ? rows.map((r) => el("li", {}, [el("b", {}, [r.state]), ` ${[r.at, r.by].filter(Boolean).join(", ")}`, ...(r.note ? [el("span", { class: "note" }, [` ${r.note}`])] : [])])) : [el("li", { class: "note" }, [none])]));
}

/** Keep the pictures chosen, with who took them, when, and the note. @param {HTMLInputElement} from */
async function picture(from) {
  const said = { at: $("at").value.replace("T", " ") || clock(), by: $("by").value.trim(), note: $("note").value.trim() };
  const files = [...from.files];
  from.value = "";
  $("note").value = "";
  whoSays();
  for (const file of files) await pictures.take(file, said);
}

// ---- what is left

function left() {
  for (const id of ["counts", "paper"]) $(id).hidden = !all.planks.length; // none of none is no figure
  $("counts").replaceChildren(...all.counts.map(([state, done, of]) => el("li", {}, [el("span", { id: `count-${state.replace(" ", "-")}` }, [state]), el("progress", { max: Math.max(1, of), value: Math.min(done, of), "aria-labelledby": `count-${state.replace(" ", "-")}` }), el("span", { class: "of" }, [`${done} of ${of}`])])));
  part($("left"), all.left, all.left.notes);
  const [care, ...notes] = [...all.repair.notes].reverse();
  $("repair").hidden = !all.repair.lines.length;
  $("repair").querySelector(".safety").textContent = care || "";
  part($("repair"), all.repair, notes);
  for (const a of $("repair").querySelectorAll("a[href^='/planks/']")) a.href = `#${a.textContent}`; // here, not the whole hull's of that name
}

/** Costs and the old planking: of the last plan whole, so asked for apart and shown when it comes. */
async function sums() {
  const found = await job.get("/api/record/sums").catch(() => null);
  if (!found) return; // the line is down: what was shown stays
  $("sums").hidden = !found.listings.length;
  part($("sums"), found, found.notes);
}

function part(at, made, notes) {
  figures(at.querySelector(".lines"), made.lines);
  findings(at.querySelector(".says"), made.says);
  at.querySelector(".listings").replaceChildren(...made.listings.map(listing));
  at.querySelector(".notes").replaceChildren(...notes.map((n) => el("p", { class: "note" }, [n])));
  at.querySelector(".state").replaceChildren(...(made.state === "good" ? [] : [el("span", { class: "tag stale" }, [made.state === "stale" ? "not up to date" : "not made yet"])]));
}

function step(way) {
  const kept = wanted(), at = kept.findIndex((p) => p.name === plank.name);
  if (kept.length) choose(kept[(at + way + kept.length) % kept.length].name);
}

for (const button of document.querySelectorAll("[data-show]")) button.addEventListener("click", () => {
  show = button.dataset.show;
  for (const one of document.querySelectorAll("[data-show]")) one.setAttribute("aria-pressed", String(one === button));
  list();
});
$("find").addEventListener("input", list);
$("find").addEventListener("keydown", (event) => { if (event.key === "Enter") $("planks").querySelector("button")?.click(); });
$("planks").addEventListener("keydown", (event) => {
  const way = { ArrowDown: 1, ArrowUp: -1 }[event.key], all = [...$("planks").querySelectorAll("button")];
  if (!way) return;
  event.preventDefault();
  all[(all.indexOf(document.activeElement) + way + all.length) % all.length]?.focus();
});
$("before").addEventListener("click", () => step(-1));
$("after").addEventListener("click", () => step(1));
$("other").addEventListener("click", () => { document.body.classList.remove("has-plank"); $("find").focus(); });
for (const id of ["camera", "file"]) $(id).addEventListener("change", (event) => picture(event.target));
for (const id of ["by", "at", "note"]) $(id).addEventListener("input", whoSays);
$("who-room").open = matchMedia("(min-width: 641px)").matches;
addEventListener("hashchange", () => {
  const name = decodeURIComponent(location.hash.slice(1));
  if (!name || !all.planks.length) return; // while they are being read, the plank of the address is opened when they are there
  if (all.planks.some((p) => p.name === name)) choose(name, true);
  else job.say(`There is no plank ${name} in this plan.`, "look");
});
formTabs($("forms"), $("typed-in"));
job.on("patch", (patch) => { if (patch.forms.includes("*") || patch.forms.some((f) => FORMS.includes(f) || f === "crew")) read(); });
job.on("view", read);
job.on("online", read);
read();
