// Beginning a blank form: the rows it usually has, so that nobody starts from an empty sheet.
import { ask, el } from "/static/js/ask.js";
import { job } from "/static/js/job.js";

const VESSEL = ["vessel", "yard", "built", "unit", "length", "beam", "planking", "rough", "half siding", "measured to", "side", "measured by", "measured on", "species"];
const LINES = ["position", "rabbet height", "rabbet half-breadth", "sheer height", "sheer half-breadth", "waterline", "waterline", "waterline", "buttock", "buttock"];

/** The buttons for a form that is blank, or nearly. @returns {HTMLElement[]} */
export function startsOf(grid, data, { form, rows }) {
  if (!job.may.work) return [];
  const button = (words, act) => el("button", { type: "button", onclick: act }, [words]);
  if (form === "vessel" && rows < 4) return [button("Put in the usual items", () => vessel(grid))];
  if (form === "offsets" && !rows) return [button("Begin a table of offsets", () => offsets(grid))];
  if (form === "frames" && !rows) return [button("Number the frames", () => frames(grid))];
  if (form === "girths" && !rows && data?.frames.length) return [button("A row for every frame", () => grid.addRows(data.frames.map((f) => ({ frame: f.name })), "girths: a row for every frame"))];
  if (form === "ends" && !rows) return [button("Rows for stem and stern", () => grid.addRows(["stem", "stem", "stem", "stern", "stern", "stern"].map((end) => ({ end })), "ends: rows for stem and stern"))];
  return [];
}

function vessel(grid) {
  const there = new Set(grid.rows.map((row) => row[0].trim().toLowerCase()));
  grid.addRows(VESSEL.filter((item) => !there.has(item)).map((item) => ({ item })), "vessel: the usual items");
}

async function offsets(grid) {
  const said = await ask.text("Stations", "Their names from forward, parted by blanks. More can be added.", "1 2 3 4 5 6 7 8 9 10");
  const names = (said || "").split(/[\s,;]+/).filter(Boolean);
  if (!names.length) return;
  await grid.addStations([...new Set(names)]);
  await grid.addRows(LINES.map((line) => ({ line })), "offsets: the usual rows");
  grid.go(0, 2);
}

async function frames(grid) {
  if (!await unitSaid()) return;
  const rows = await ask.several("Number the frames", "They are numbered from forward. Positions are level along the centreline, aft of one mark that serves for every form: usually the forward perpendicular, or the fore side of the stem’s rabbet at the sheer.", [
    ["many", "How many frames", "", ""],
    ["spacing", "Spacing, frame to frame", "", `such as ${SPACING[job.unit] || SPACING.mm}; blank, and positions are filled in after`],
    ["first", "Position of frame 1", "", "how far it stands aft of the mark; blank is one spacing"],
  ], numbered);
  if (!rows) return;
  await grid.addRows(rows, `frames: ${rows.length} numbered`);
  grid.go(0, rows[0].position ? 2 : 1);
}

const UNITS = [["ft-in-8ths", "feet-inches-eighths"], ["in", "inches"], ["ft", "feet"], ["mm", "mm"], ["cm", "cm"], ["m", "m"]];

/** The row of the form vessel that says the unit, and what stands there. */
async function unitRow() {
  const form = await job.form("vessel");
  const [item, value] = ["item", "value"].map((name) => form.header.indexOf(name));
  const at = form.rows.findIndex((row) => row[item]?.trim().toLowerCase() === "unit");
  return { form, at, value, said: at < 0 ? "" : row(form, at, value) };
}
const row = (form, at, value) => (form.rows[at][value] || "").trim();

/** Whether the unit she is measured in is said, asked for first where it is not. */
async function unitSaid() {
  if ((await unitRow()).said) return true;
  const unit = await ask.one("How is she measured?", "Lengths are written in this unit from then on.", UNITS);
  if (!unit) return false;
  await sayUnit(unit);
  return true;
}

/** Write the unit down. */
async function sayUnit(unit) {
  const { form, at, value } = await unitRow();
  const now = at < 0 ? job.row(form.header, { item: "unit", value: unit }) : form.rows[at].with(value, unit);
  await job.change([{ form: "vessel", was: at < 0 ? null : form.rows[at], now, at: at < 0 ? form.rows.length : at }], `measured in ${unit}`);
  job.unit = unit;
}

/** Ask for the unit in one line, as long as it is not said. @param {HTMLElement} line */
export async function askUnit(line) {
  const { said } = await unitRow();
  line.hidden = Boolean(said) || !job.may.work;
  if (line.hidden || line.childElementCount) return;
  const { hand } = await job.get("/api/measure/bare");
  const says = hand ? `Every length so far is written as ${unitWords(hand)}. Is she measured so? Until it is said, a bare figure is taken for millimetres. `
    : "How is she measured? Until it is said, a bare figure is taken for millimetres. ";
  line.replaceChildren(says, el("span", { class: "row" }, UNITS.map(([unit, words]) => el("button", { type: "button", class: unit === hand ? "main" : "", onclick: () => sayUnit(unit).catch(() => null) }, [words]))));
}

// ---- figures older than the unit

const unitWords = (unit) => UNITS.find(([own]) => own === unit)?.[1] || unit;
const LEFT = "ribband.bare.";

/** Offer to write bare figures again that were written while the unit was another. @param {HTMLElement} line */
export async function askAgain(line, was = "") {
  const found = job.may.work ? await job.get(`/api/measure/bare?was=${encodeURIComponent(was)}`) : null;
  const known = found && `${LEFT}${job.view?.file}.${found.since}`;
  const left = known && read(known);
  line.hidden = !found || left || (!found.count && !was);
  if (line.hidden) return;
  const { count, now, forms, examples } = found;
  const pick = el("select", { "aria-label": "The unit they were written in", onchange: (event) => askAgain(line, event.target.value).catch(() => null) },
    UNITS.filter(([unit]) => unit !== now && unit !== "ft-in-8ths").map(([unit, words]) => el("option", { value: unit, selected: unit === found.was }, [words])));
  line.replaceChildren(
    el("p", {}, [`${count} bare ${count === 1 ? "figure" : "figures"} (${forms.map((form) => form.replace(/_/g, " ")).join(", ") || "none of this unit"}) ${count === 1 ? "is" : "are"} older than the unit, which is now ${unitWords(now)}: ${now === "ft-in-8ths" ? "they cannot be read in it." : `as they stand they are read as ${unitWords(now)}.`}${examples.length ? ` Written again: ${examples.map((pair) => pair.join(" → ")).join(", ")}, to the nearest step.` : ""}`]),
    el("span", { class: "row" }, [
      el("label", {}, ["They were written in ", pick]),
      el("button", { type: "button", class: "main", disabled: !count, onclick: () => writeAgain(line, found) }, [`Write them again in ${unitWords(now)}`]),
      el("button", { type: "button", onclick: () => { keep(known); line.hidden = true; } }, ["Leave them as they stand"]),
    ]));
}

async function writeAgain(line, { count, was, now, edits }) {
  const why = `${count} bare ${count === 1 ? "figure" : "figures"}, taken in ${unitWords(was)}, written in ${unitWords(now)}`;
  try { await job.change(edits, why); } catch { return; /* said in the corner */ }
  line.hidden = true;
  job.say(`${why}. Undo brings them back.`);
}

function read(name) { try { return Boolean(localStorage.getItem(name)); } catch { return false; } }
function keep(name) { try { localStorage.setItem(name, "left"); } catch { /* private window */ } }

const SPACING = { "ft-in-8ths": "14 in or 1-2-0", in: "14", ft: "1.17", mm: "355", cm: "35.5", m: "0.355" };

/** The rows of so many frames; throws what cannot be read. */
async function numbered({ many, spacing, first }) {
  const count = Number(many);
  if (!(Number.isInteger(count) && count > 0 && count <= 400)) throw new Error("How many frames: wanted a whole number from 1 to 400.");
  if (!spacing && first) throw new Error("A spacing is wanted with the position of frame 1.");
  let places = [];
  try { if (spacing) places = await job.post("/api/measure/frames", { many: count, spacing, first: first || spacing }); } catch (error) {
    const [problem] = error.problems || [];
    throw new Error(problem ? `${problem.column}: found “${problem.found}”; wanted ${problem.wanted}${problem.example ? `, such as ${problem.example}` : ""}.` : error.message);
  }
  return Array.from({ length: count }, (_, n) => ({ frame: String(n + 1), position: places[n] ?? "" }));
}
