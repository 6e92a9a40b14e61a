// The timber's page: boards with their planks. A plank is carried to another board by hand, or
// chosen and sent; a flaw is marked by drawing it. Every act is a line of a form.
import { ofBefore, ofRepair } from "/static/js/before.js";
import { job } from "/static/js/job.js";
import { newest } from "/static/js/newest.js";
import { ask, el } from "/static/js/ask.js";
import { formFold } from "/static/js/form-tabs.js";
import { figures } from "/static/js/listings.js";
import { svg as s } from "/static/js/svg.js";

const $ = (id) => document.getElementById(id);
const CARRIED_PX = 8, HELD_MS = 280;
let all = { boards: [], lacking: [], sides: {}, apart: {} }, key = "", chosen = "", marking = false;

const asked = newest(() => job.get("/api/timber"));
async function read() {
  let found;
  try { found = await asked(); } catch (error) { job.say(error.message, "bad"); return; }
  if (!found || found.key === key) return;
  key = found.key;
  const old = found.boards.every((b) => !b.planks.length) && found.why ? all.boards : [];
  for (const board of found.boards) { // until it is laid again, the laying before is shown as old
    const was = old.find((b) => b.name === board.name);
    if (was?.planks.length) Object.assign(board, { planks: was.planks, old: true });
  }
  all = found;
  draw();
}

function draw() {
  const which = $("which").value;
  const shown = all.boards.filter((b) => !which || (which === "cut" && b.planks.length) || (which === "free" && !b.planks.length) || (which === "flawed" && b.flaws.length));
  const long = Math.max(1, ...all.boards.flatMap((b) => b.outline.map((p) => p[0])));
  $("boards").replaceChildren(...shown.map((b) => card(b, long)));
  for (const id of ["boards", "lacking"]) $(id).removeAttribute("aria-busy");
  lettered();
  if (!all.boards.length && !which) $("typed").open = true;
  ofRepair(all.alone);
  ofBefore(all.as_of, document.querySelector(".timber-room"));
  $("why-not").hidden = !all.why; $("why-not").textContent = all.why;
  figures($("laying"), all.laying); figures($("tally"), all.tally); figures($("order"), all.order);
  const lacking = all.lacking.flatMap((name, n) => [n ? ", " : "", el("span", { class: "whole" }, [name])]);
  $("lacking").replaceChildren(...(lacking.length ? ["Without a board: ", ...lacking, "."] : all.laying.length ? ["Every plank has a board."] : []));
  $("offcuts").textContent = all.offcuts.length ? `Off-cuts kept: ${all.offcuts.join("; ")}.` : "";
  $("listings").replaceChildren(...all.listings.map(listing));
  $("notes").replaceChildren(...noted(all.notes));
  none("no-pile", all.tally.length > 0, all.boards.length ? "Not summed up: the plan has not come so far, or is not up to date." : "");
  none("no-order", all.order.length + all.listings.length > 0);
  $("to").replaceChildren(...all.boards.filter((b) => b.state === "sound").map((b) => el("option", { value: b.name }, [`${b.name}, ${b.size}`])));
  $("marks").replaceChildren(...all.boards.map((b) => el("option", { value: b.name })));
  choose(chosen);
}

/** Bring a board into sight by the mark chalked on it, whatever the list shows now. */
function goTo(mark) {
  const board = all.boards.find((b) => b.name.toLowerCase() === mark.trim().toLowerCase());
  if (!board) { job.say(mark.trim() ? `There is no board ${mark.trim()} in the pile.` : "Type the mark chalked on the board.", "look"); return; }
  if (!cardOf(board.name)) { $("which").value = ""; draw(); }
  const found = cardOf(board.name);
  found.scrollIntoView({ block: "center" });
  found.tabIndex = -1;
  found.focus({ preventScroll: true });
}

const cardOf = (name) => $("boards").querySelector(`li[data-board="${CSS.escape(name)}"]`);

/** Say that there is nothing, where there is nothing. */
function none(id, some, why = "") {
  $(id).hidden = some;
  $(id).textContent = why || $(id).dataset.none;
}

/** Names on planks keep their size on the screen, however wide the boards are drawn. */
function lettered() {
  const first = $("boards").querySelector("svg");
  if (first?.clientWidth) $("boards").style.setProperty("--letter", `${(12.5 * first.viewBox.baseVal.width) / first.clientWidth}px`);
}
new ResizeObserver(lettered).observe($("boards"));

const PACKS_SEEN = 6;

/** What is said of the order; where the packs are many they lie folded. */
function noted(notes) {
  const said = (some) => some.map((n) => el("p", { class: "note" }, [n]));
  const packs = notes.filter((n) => n.startsWith("pack ")), others = notes.filter((n) => !n.startsWith("pack "));
  if (packs.length <= PACKS_SEEN) return said(notes);
  return [el("details", {}, [el("summary", {}, [`${packs.length} packs`]), ...said(packs)]), ...said(others)];
}

function listing(one) {
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": one.title }, [el("table", {}, [
    el("caption", {}, [one.title]), el("thead", {}, [el("tr", {}, one.columns.map((c) => el("th", { scope: "col" }, [c])))]),
    el("tbody", {}, one.rows.map((row) => el("tr", {}, row.map((cell) => el("td", {}, [cell]))))),
  ])]);
}

function card(board, long) {
  const ys = board.outline.map((p) => p[1]), low = Math.min(...ys), high = Math.max(...ys);
  const room = 60, box = `${-room} ${-high - room} ${long + 2 * room} ${high - low + 2 * room}`;
  const svg = s("svg", { viewBox: box, role: "group", "aria-label": `Board ${board.name}: ${board.planks.map((p) => p.name).join(", ") || "no planks"}` });
  const path = (ring) => `M${ring.map(([x, y]) => `${x},${-y}`).join("L")}Z`;
  svg.append(s("path", { class: "board-line", d: path(board.outline) }));
  for (const plank of board.planks) svg.append(...plankOn(plank, path, long));
  for (const flaw of board.flaws) { const made = s("path", { class: "flaw", d: path(flaw.ring) }); made.append(s("title", {}, flaw.kind)); svg.append(made); }
  svg.addEventListener("pointerdown", (event) => press(event, svg, board));
  const left = board.left && board.state !== "spoilt" ? `left alone: ${board.left}` : "";
  const words = [board.size, board.timber, board.species, left ? "" : board.dresses, board.lies, left].filter(Boolean).join(" · ");
  return el("li", { class: `${board.state === "sound" ? "" : board.state}${board.old ? " old" : ""}`, "data-board": board.name }, [
    el("header", {}, [el("b", {}, [`Board ${board.name}`]), el("span", { class: "note" }, [words]),
      ...(board.state === "sound" ? [el("button", { type: "button", class: "plain no-print", onclick: () => spoil(board), "aria-label": `Board ${board.name} is spoilt` }, ["It is spoilt"])] : [el("span", { class: board.left && board.state === "barred" ? "tag note" : "tag fault" }, [board.left && board.state === "barred" ? "left alone" : board.state])])]),
    svg,
  ]);
}

function plankOn(plank, path, long) {
  const xs = plank.ring.map((p) => p[0]), ys = plank.ring.map((p) => p[1]);
  const wood = s("path", { class: `on-board${plank.held ? " held" : ""}`, d: path(plank.ring), tabindex: "0", role: "button", "data-plank": plank.name, "aria-label": `Plank ${plank.name}${plank.held ? `, ${plank.held === "pin" ? "pinned" : plank.held}` : ""}` });
  wood.addEventListener("keydown", (event) => { if (event.key === "Enter" || event.key === " ") { event.preventDefault(); choose(plank.name); } });
  const middle = (Math.min(...xs) + Math.max(...xs)) / 2;
  const near = plank.ring.filter((p) => Math.abs(p[0] - middle) < long / 12).map((p) => p[1]);
  const y = near.length ? (Math.min(...near) + Math.max(...near)) / 2 : (Math.min(...ys) + Math.max(...ys)) / 2;
  return [wood, s("text", { x: middle, y: -y, "text-anchor": "middle", "dominant-baseline": "central" }, plank.name)];
}

/** What lies under a finger: a plank is taken hold of, or a flaw is begun. */
function press(event, svg, board) {
  if (event.button > 0) return;
  if (marking) { mark(event, svg, board); return; }
  const name = event.target.dataset?.plank;
  if (!name) { if (chosen && job.may.work) offer(board.name); return; }
  carry(event, name);
}

function carry(event, name) {
  const begun = { x: event.clientX, y: event.clientY, touch: event.pointerType === "touch", at: performance.now() };
  let label = null, over = null;
  const move = (e) => {
    const far = Math.hypot(e.clientX - begun.x, e.clientY - begun.y);
    if (!label && (far < CARRIED_PX || (begun.touch && performance.now() - begun.at < HELD_MS))) return;
    if (!label) { label = el("div", { class: "carried" }, [name]); document.body.append(label); choose(name); }
    e.preventDefault();
    label.style.left = `${e.clientX + 12}px`; label.style.top = `${e.clientY - 40}px`;
    const now = document.elementFromPoint(e.clientX, e.clientY)?.closest("li[data-board]") || null;
    if (now !== over) { over?.classList.remove("over"); now?.classList.add("over"); over = now; }
  };
  const end = (e) => {
    for (const [kind, does] of [["pointermove", move], ["pointerup", end], ["pointercancel", end]]) removeEventListener(kind, does);
    over?.classList.remove("over");
    label?.remove();
    if (!label) { if (e.type === "pointerup") choose(name); return; }
    if (e.type === "pointerup" && over && over.dataset.board !== boardOf(name)) wish("pin", name, over.dataset.board);
  };
  for (const [kind, does] of [["pointermove", move], ["pointerup", end], ["pointercancel", end]]) addEventListener(kind, does, { passive: false });
}

function mark(event, svg, board) {
  event.preventDefault();
  const at = (e) => { const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse()); return [p.x, -p.y]; };
  const [x, y] = at(event), box = s("rect", { class: "drawn" });
  svg.append(box);
  svg.setPointerCapture(event.pointerId);
  let last = [x, y];
  const move = (e) => {
    last = at(e);
    box.setAttribute("x", Math.min(x, last[0])); box.setAttribute("y", -Math.max(y, last[1]));
    box.setAttribute("width", Math.abs(last[0] - x)); box.setAttribute("height", Math.abs(last[1] - y));
  };
  const end = async (e) => {
    svg.removeEventListener("pointermove", move);
    const large = Math.abs(last[0] - x) > 5 && Math.abs(last[1] - y) > 2;
    if (e.type === "pointerup" && large) await flawed(board, [x, y, ...last]);
    else if (e.type === "pointerup") job.say("Nothing was marked: draw a box over the flaw, from one corner to the other.", "look");
    box.remove();
  };
  svg.addEventListener("pointermove", move);
  svg.addEventListener("pointerup", end, { once: true });
  svg.addEventListener("pointercancel", end, { once: true });
}

async function flawed(board, [x_mm, y_mm, to_x_mm, to_y_mm]) {
  const kind = $("kind").value, drawn = { board: board.name, kind, x_mm, y_mm, to_x_mm, to_y_mm };
  try {
    const { figures } = await job.post("/api/timber/flaw", drawn);
    const lines = FIGURES.map(([words, note], n) => [`figure-${n}`, words, figures[n], note]);
    const words = await ask.several(`A ${kind} on board ${board.name}`, "As it was drawn; put right what the tape says otherwise.", lines,
      async (said) => (await putRight(drawn, Object.values(said))).words, "Write it down");
    if (!words) return;
    await cell("boards", board.name, "flaws", (was) => (was.trim() ? `${was}; ${words}` : words), `a ${kind} on board ${board.name}`);
  } catch (error) { job.say(error.message, "bad"); }
}
const FIGURES = [["Along from", "from the butt end"], ["to", ""], ["Up from", "from the lower edge as the board is drawn"], ["to", ""]];

/** The words with the figures as typed; throws what is wrong with one. */
async function putRight(drawn, typed) {
  try { return await job.post("/api/timber/flaw", { ...drawn, typed }); } catch (error) {
    const [problem] = error.problems || [];
    throw new Error(problem ? `${problem.column}: found “${problem.found}”; wanted ${problem.wanted}.` : error.message);
  }
}

async function spoil(board) {
  const on = board.planks.map((p) => p.name);
  const says = on.length ? `${on.join(", ")} ${on.length > 1 ? "are" : "is"} laid again on other boards; nothing else moves that need not.` : "Nothing lies on it.";
  if (!await ask.yes(`Board ${board.name} is spoilt?`, says, "It is spoilt")) return;
  const before = { state: board.state, old: board.old };
  Object.assign(board, { state: "spoilt", old: true }); // at once: nobody takes a plank from it meanwhile
  draw();
  if (!await cell("boards", board.name, "state", () => "spoilt", `board ${board.name} is spoilt`)) { Object.assign(board, before); draw(); }
}

/** Change one cell of a board's row; the column is made if the form has none. Tells whether it was. */
async function cell(form, board, column, change, why) {
  const found = await job.form(form), at = found.rows.findIndex((r) => r[found.header.indexOf("board")] === board);
  if (at < 0) { job.say(`There is no board ${board} on the form any more.`, "bad"); return false; }
  let { header } = found, was = found.rows[at];
  const edits = [];
  if (!header.includes(column)) {
    const notes = header.indexOf("notes"), to = notes < 0 ? header.length : notes;
    const wider = [...header.slice(0, to), column, ...header.slice(to)];
    edits.push({ form, was: header, now: wider, at: -1 });
    was = [...was.slice(0, to), "", ...was.slice(to)];
    header = wider;
  }
  const now = [...was], place = header.indexOf(column);
  now[place] = change(was[place]);
  edits.push({ form, was, now, at });
  return job.change(edits, why).then((patch) => patch !== null, () => false);
}

async function wish(kind, plank, board) {
  const found = await job.form("layings"), { header } = found;
  const at = found.rows.findIndex((r) => r[header.indexOf("plank")] === plank && ["pin", "sawn"].includes(r[header.indexOf("wish")]));
  const now = kind ? job.row(header, { wish: kind, plank, board }) : null;
  const edit = { form: "layings", was: at < 0 ? null : found.rows[at], now, at: at < 0 ? found.rows.length : at };
  const why = kind ? `plank ${plank} ${kind === "pin" ? "pinned to" : "sawn from"} board ${board}` : `plank ${plank} let go`;
  await job.change([edit], why).catch(() => null);
}

/** Wish both sides of a plank or a strake out of one board or book-matched; the same again lets it go. */
async function sides(how) {
  const name = $("sides-of").value, found = await job.form("layings"), { header } = found;
  const [plank, wished] = ["plank", "wish"].map((column) => header.indexOf(column));
  const same = found.rows.map((row, at) => ({ row, at })).filter(({ row }) => SIDES.includes(row[wished]) && name.toLowerCase() === placeOf(row[plank]).toLowerCase());
  const go = same.length && same.every(({ row }) => row[wished] === how);
  const edits = same.map(({ row, at }, n) => ({ form: "layings", was: row, now: go || n ? null : job.row(header, { wish: how, plank: name }), at }));
  if (!same.length) edits.push({ form: "layings", was: null, now: job.row(header, { wish: how, plank: name }), at: found.rows.length });
  const why = go ? `port and starboard of ${name} let go` : `port and starboard of ${name} ${how === "pair" ? "out of one board" : "book-matched"}`;
  await job.change(edits.reverse(), why).catch(() => null);
}
const SIDES = ["pair", "book"];

/** What a plank is called on either side, 7-2; a strake is its own name. */
function placeOf(name) { return /^[ps].*-/i.test(name) ? name.slice(1) : name; }

/** What is wished of the chosen plank's two sides, and what came of it. */
function sidesSaid(name, board) {
  const place = placeOf(name), strake = place.slice(0, place.lastIndexOf("-"));
  const mine = all.boards.flatMap((b) => b.planks).find((p) => p.name === name);
  const was = $("sides-of").value;
  $("sides-of").replaceChildren(el("option", { value: place }, [`plank ${place}`]), el("option", { value: strake }, [`strake ${strake}`]));
  $("sides-of").value = was === strake ? strake : place;
  for (const how of SIDES) $(how).setAttribute("aria-pressed", String(all.sides[name] === how));
  const said = mine?.mate || (all.apart[name] ? `Laid apart: ${all.apart[name]}.` : all.sides[name] && board ? "Wished; not laid so yet." : "");
  $("sides-say").textContent = said && said[0].toUpperCase() + said.slice(1);
}

async function offer(board) {
  if (board !== boardOf(chosen) && await ask.yes(`Pin ${chosen} to board ${board}?`, "It is laid there, and only what must make room moves.", "Pin it")) wish("pin", chosen, board);
}

function boardOf(plank) { return all.boards.find((b) => b.planks.some((p) => p.name === plank))?.name || ""; }

function choose(name) {
  chosen = name;
  for (const wood of $("boards").querySelectorAll(".on-board")) wood.classList.toggle("chosen", wood.dataset.plank === name);
  const board = boardOf(name), held = all.boards.flatMap((b) => b.planks).find((p) => p.name === name)?.held || "";
  $("chosen").hidden = !name || (!board && !all.lacking.includes(name));
  if ($("chosen").hidden) return;
  $("chosen-title").textContent = `Plank ${name}`;
  $("chosen-says").textContent = board ? `On board ${board}${held ? `, ${held === "pin" ? "pinned there" : "sawn"}` : ""}.` : "Without a board.";
  if (board) $("to").value = board;
  $("free").hidden = !held;
  sidesSaid(name, board);
  $("sheet-of").href = `/planks/${encodeURIComponent(name)}`;
}

$("pin").addEventListener("click", () => wish("pin", chosen, $("to").value));
$("sawn").addEventListener("click", () => wish("sawn", chosen, boardOf(chosen) || $("to").value));
$("free").addEventListener("click", () => wish("", chosen, ""));
for (const how of SIDES) $(how).addEventListener("click", () => sides(how));
$("longer").addEventListener("click", () => job.post("/api/work", { last: "laying", seconds: 30 }).catch((error) => job.say(error.message, "bad")));
$("which").addEventListener("change", draw);
$("put-away").addEventListener("click", () => choose(""));
$("go").addEventListener("submit", (event) => { event.preventDefault(); goTo($("go-to").value); });
$("mark").addEventListener("click", () => {
  marking = !marking;
  $("mark").setAttribute("aria-pressed", String(marking));
  $("boards").classList.toggle("marking", marking);
  $("how").textContent = marking ? "Draw a box over the flaw on its board, from one corner to the other. It can also be typed into the tally below." : "Choose a plank, then a board to pin it to; or drag it there. Boards lie with the marked face up, butt end left.";
});
formFold($("typed"), $("typed-in"));
job.on("view", read);
read();
