// The shop's page: sheets of figures and tables, the plan of work with its bars and its spread,
// what-ifs tried beside it, and the yard's own figures as forms.
import { job } from "/static/js/job.js";
import { newest } from "/static/js/newest.js";
import { el } from "/static/js/ask.js";
import { ofRepair } from "/static/js/before.js";
import { formTabs } from "/static/js/form-tabs.js";
import { figures, findings, listing } from "/static/js/listings.js";
import { sickHand } from "/static/js/shop-sick.js";
import "/static/js/work-spread.js";

const $ = (id) => document.getElementById(id);
const LONG_BOARD = { "mm": "9000", "cm": "900", "m": "9", "in": "360", "ft": "30", "ft-in-8ths": "30-0-0" };
let key = "", sheet = 1, sheets = 1;

const asked = newest(() => job.get("/api/shop"));
async function read() {
  let found;
  try { found = await asked(); } catch (error) { job.say(error.message, "bad"); return; }
  if (!found || found.key === key) return;
  key = found.key;
  ofRepair(found.alone);
  for (const part of found.parts) draw(part);
  spread(found.spread);
  const there = found.parts.find((p) => p.name === "work")?.state !== "not made" && Boolean(found.spread);
  for (const id of ["work-does", "bars-room", "spread-and-what"]) $(id).hidden = !there;
  $("longer").disabled = found.proved || !job.may.work;
  $("longer").title = found.proved ? "It is proved the soonest there can be" : "";
  hands(found.hands);
  if (there) bars();
}

function draw(part) {
  const at = $(part.name === "work" ? "plan-of-work" : part.name), made = part.state !== "not made";
  const empty = at.querySelector(".empty");
  empty.hidden = made;
  empty.textContent = empty.dataset.none;
  figures(at.querySelector(".lines"), part.lines);
  at.querySelector(".listings").replaceChildren(...part.listings.map(listing));
  at.querySelector(".notes").replaceChildren(...part.notes.filter((n) => part.name !== "work" || n !== $("work-care").textContent).map((n) => el("p", { class: "note" }, [n])));
  const state = at.querySelector(".state"), says = at.querySelector(".says"), care = at.querySelector(".safety");
  if (state) state.replaceChildren(...(part.state === "stale" ? [el("span", { class: "tag stale" }, ["of an earlier plan"])] : []));
  if (says) findings(says, part.says);
  if (part.caution && care) { care.textContent = part.caution; care.hidden = !made; }
}

function spread(found) {
  document.querySelector("work-spread").show(found);
  $("spread-title").parentElement.hidden = !found;
  $("spread-says").textContent = found ? `The plan itself ends ${found.planned_said}, without any mishap; of every hundred runs ${Math.round(100 * found.late)} end later. Lost on average: ${found.lost.toFixed(1)} days, ${found.spoilt.toFixed(1)} planks. Figures at the foot are working days from the first. Hours scatter about their rates; nobody changes the order as things go.` : "";
}

let crew = [];
function hands(names) {
  crew = names;
  $("sick").disabled = !names.length || !job.may.work;
  const was = $("hand").value;
  $("hand").replaceChildren(el("option", { value: "" }, ["the whole plan"]), ...names.map((name) => el("option", { value: name }, [name])));
  $("hand").value = names.includes(was) ? was : "";
  calendar();
}

function calendar() { $("diary").href = `/api/shop/work.ics?hand=${encodeURIComponent($("hand").value)}`; }

/** Show a sheet of bars; the answer says how many there are. */
async function bars() {
  const address = `/api/shop/bars.svg?sheet=${sheet}`;
  const answer = await fetch(address).catch(() => null);
  if (!answer) return;
  if (answer.status === 422 && sheet > 1) { sheet = 1; bars(); return; }
  $("bars-room").hidden = !answer.ok;
  if (!answer.ok) return;
  sheets = Number(answer.headers.get("x-sheets") || sheets);
  $("bars").src = `${address}&of=${key}`;
  $("bars").alt = `The plan of work as bars, sheet ${sheet} of ${sheets}: a line for every plank, days across. The same is in the calendar file and in the tables below.`;
  $("sheet-at").textContent = `sheet ${sheet} of ${sheets}`;
  $("sheet-before").disabled = sheet <= 1;
  $("sheet-after").disabled = sheet >= sheets;
}

async function tryOut(event) {
  event.preventDefault();
  const on = (name) => $(`w-${name}`).checked;
  const asked = { seconds: 2 };
  if (on("hands")) asked.hands = Number($("n-hands").value);
  if (on("gear")) asked.gear = [{ item: $("n-gear").value, count: 1 }];
  if (on("boards")) asked.boards = $("n-boards").value.trim();
  if (on("lost")) asked.lost = Number($("n-lost").value) / 100;
  $("try").disabled = true;
  $("tried").replaceChildren(el("p", { class: "note" }, ["Each is planned and run over; it takes some seconds."]));
  try {
    const found = await job.post("/api/shop/what-if", asked);
    $("tried").replaceChildren(listing(found), ...found.notes.slice(0, 1).map((n) => el("p", { class: "note" }, [n])));
  } catch (error) {
    const more = error.problems?.map((p) => `${p.column || ""} ${p.found ? `“${p.found}”` : ""}: wanted ${p.wanted}${p.example ? `, such as ${p.example}` : ""}`).join("; ");
    $("tried").replaceChildren(el("p", { class: "say bad" }, [more || error.message]));
  }
  $("try").disabled = false;
}

$("what").addEventListener("submit", tryOut);
$("what").addEventListener("input", (event) => { const its = event.target.id.match(/^n-(\w+)$/); if (its) $(`w-${its[1]}`).checked = true; });
$("n-boards").value = LONG_BOARD[job.unit] || "9000";
$("hand").addEventListener("change", calendar);
$("sick").addEventListener("click", () => sickHand(crew));
$("longer").addEventListener("click", () => job.post("/api/work", { last: "work", seconds: 30 }).catch((error) => job.say(error.message, "bad")));
$("sheet-before").addEventListener("click", () => { sheet -= 1; bars(); });
$("sheet-after").addEventListener("click", () => { sheet += 1; bars(); });
formTabs($("forms"), $("typed-in"));
job.on("view", read);
read();
