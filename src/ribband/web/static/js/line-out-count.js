// How many strakes there are, what that number means, and what becomes of wishes that name strakes.
import { ask, many } from "/static/js/ask.js";
import { job } from "/static/js/job.js";
import { said } from "/static/js/line-out-panels.js";

/** @param {Record<string, string>} wish */
export const isStealer = (wish) => (wish.wish || "").toLowerCase() === "stealer";

/** Say what the number of strakes is at the stem, amidships and at the stern. `wished` is "" where none is. */
export function countSays(data, seams, wished) {
  const columns = seams.width[0]?.length || 0;
  const at = (column) => data.strakes.filter((_, row) => seams.width[row]?.[column] >= 0).length;
  const end = (column, next) => at(column) || at(next);
  const [fore, amid, aft] = [end(0, 1), at(Math.floor(columns / 2)), end(columns - 1, columns - 2)];
  const stealers = data.strakes.filter((s) => s.stealer).length;
  const whole = data.strakes.length - stealers;
  const drawn = stealers
    ? `${whole} from end to end and ${many(stealers, "stealer")}: ${fore} at the stem, ${amid} amidships, ${aft} at the stern`
    : `${whole} a side, all from end to end`;
  const other = wished && wished !== String(data.strakes.length);
  return other ? `${wished} wished; drawn as yet: ${drawn}` : drawn;
}

/**
 * What a new number of whole strakes does to wishes that name strakes, as the hand wants it: the edits,
 * and how a seam is called then; null where it was left. Stealers taken anew are left out (`all` false).
 * @param {number} whole @param {boolean} [all]
 */
export async function renumbered(whole, all = true) {
  let found;
  try { found = await job.get(`/api/line-out/renumber?whole=${whole}`); } catch (error) { job.say(error.message, "bad"); return null; }
  const { before, after } = found;
  const seam = (strake) => (before ? String(Math.min(Math.max(Math.round(Number(strake) * after / before), 1), after - 1)) : strake);
  const forms = Object.fromEntries(await Promise.all([...new Set(found.wishes.map((w) => w.form))].map(async (name) => [name, await job.form(name)])));
  const words = (w) => Object.fromEntries(forms[w.form].header.map((h, n) => [h, (w.was[n] || "").trim()]));
  const moves = found.wishes.filter((w) => all || w.form !== "lining" || !isStealer(words(w)));
  if (!moves.length) return { edits: [], seam, says: "" };
  const list = moves.slice(0, SHOWN).map((w) => `${inWords(w.form, words(w))} → ${w.now ? w.to : "taken off, for another has its place"}`);
  const more = moves.length > SHOWN ? `; and ${moves.length - SHOWN} more` : "";
  const answer = await ask.one(`${after} whole strakes in place of ${before}`, `Strakes are numbered from the keel, so ${many(moves.length, "wish", "wishes")} would be of other planks than now. By place: ${list.join("; ")}${more}.`, [
    ["Leave the numbers", "leave"], ["Keep them by place", "keep", "main"]]);
  if (!answer) return null;
  if (answer === "leave") return { edits: [], seam, says: "; wishes keep their numbers" };
  const edits = moves.map(({ form, was, now, at }) => ({ form, was, now, at })).sort((a, b) => b.at - a.at);
  return { edits, seam, says: "; wishes keep their places" };
}
const SHOWN = 6;

/** What is to be said where the number of strakes is the program's again, and wishes name strakes by it. @param {Record<string, string>[]} wishes */
export function numbersOpen(wishes) {
  const named = wishes.filter((w) => w.wish !== "strakes" && /^\d/.test(w.strake || ""));
  const list = named.slice(0, SHOWN).map((w) => inWords("lining", w)).join("; ");
  return named.length ? `The number of strakes is the program’s to choose again. These wishes keep the numbers they have, and may come to be of other planks: ${list}. Look them over when she is lined out; undo brings all back as it was.` : "";
}

function inWords(form, w) {
  if (form === "butts") return `butt ${w.wish.toLowerCase() === "forbid" ? "forbidden" : "fixed"} in strake ${w.strake}${w.frame ? (w.to_frame && w.to_frame !== w.frame ? `, frames ${w.frame} to ${w.to_frame}` : ` at frame ${w.frame}`) : ""}`;
  return said({ ...w, wish: w.wish.toLowerCase() });
}
