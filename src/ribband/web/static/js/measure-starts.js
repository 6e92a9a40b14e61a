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
  const many = Number(await ask.text("How many frames?", "They are numbered from forward; positions are filled in after.", "40"));
  if (!(many > 0 && many <= 400)) return;
  await grid.addRows(Array.from({ length: many }, (_, n) => ({ frame: String(n + 1) })), `frames: ${many} numbered`);
  grid.go(0, 1);
}
