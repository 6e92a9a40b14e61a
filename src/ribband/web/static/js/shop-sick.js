// A hand who is sick from one day to another: the rows of the crew that say so.
//
// A row of the crew is a span of days; a sick hand's is parted in two. Where the house's own crew
// stands, it is written down whole, as it is taken to be.
import { ask } from "/static/js/ask.js";
import { job } from "/static/js/job.js";

const DAY_MS = 86400000;
const day = (text) => (/^\d{4}-\d{2}-\d{2}$/.test(text) ? Date.parse(`${text}T00:00Z`) : NaN);
const said = (ms) => new Date(ms).toISOString().slice(0, 10);

/** Ask who, from when to when, and write it down. @param {string[]} hands the crew's names */
export async function sickHand(hands) {
  const asked = await ask.several("A hand is sick", `Nothing is planned for the days between. The hands: ${hands.join(", ")}.`, [
    ["who", "Who", hands[0] || "", ""], ["from", "First day away", "", "year first, such as 2027-03-15"], ["to", "Last day away", "", "blank: not back yet"],
  ], async ({ who, from, to }) => {
    const name = hands.find((one) => one.toLowerCase() === who.toLowerCase());
    if (!name) throw new Error(`Who: found “${who}”; wanted one of ${hands.join(", ")}.`);
    if (!(day(from) > 0)) throw new Error(`First day: found “${from}”; wanted a day, year first, such as 2027-03-15.`);
    if (to && !(day(to) >= day(from))) throw new Error(`Last day: found “${to}”; wanted a day not before ${from}, or nothing.`);
    return { name, from, to };
  });
  if (!asked) return;
  const edits = away(await job.form("crew"), hands, asked);
  if (!edits.length) { job.say(`${asked.name} is not at work on those days, by the form crew.`, "look"); return; }
  await job.change(edits, `${asked.name} is sick from ${asked.from}${asked.to ? ` to ${asked.to}` : ""}`).catch(() => null);
}

/** The edits of the form crew. @returns {import("./job.js").Edit[]} */
export function away(form, hands, { name, from, to }) {
  const at = (column) => form.header.indexOf(column);
  const blank = !form.rows.some((row) => row[at("name")]?.trim());
  const rows = blank ? hands.map((hand) => job.row(form.header, { name: hand, skills: "all" })) : form.rows;
  const edits = blank ? rows.map((now, n) => ({ form: "crew", was: null, now, at: form.rows.length + n })) : [];
  const put = (was, now, place) => {
    const own = edits.find((one) => one.now === was);
    if (own) own.now = now;
    else edits.push({ form: "crew", was, now, at: place });
  };
  let end = form.rows.length + edits.length;
  rows.forEach((row, n) => {
    if (row[at("name")]?.trim() !== name || (blank && edits[n].now !== row)) return;
    const [first, last] = [day(row[at("from")] || "") || -Infinity, day(row[at("to")] || "") || Infinity];
    const [gone, back] = [day(from), to ? day(to) + DAY_MS : Infinity];
    if (last < gone || first >= back) return; // not at work on those days anyway
    const before = first < gone ? row.with(at("to"), said(gone - DAY_MS)) : null;
    const after = last >= back ? row.with(at("from"), said(back)) : null;
    put(row, before || after, n);
    if (before && after) edits.push({ form: "crew", was: null, now: after, at: end++ });
  });
  return edits.filter((one) => one.was || one.now);
}
