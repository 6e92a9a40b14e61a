// Doubtful readings: each with what is said of it, and the shipwright's decision on it.
import { ask, el } from "/static/js/ask.js";
import { job } from "/static/js/job.js";

const DECIDED = { accept: "the fair value is taken", correct: "corrected", keep: "kept as it reads" };

/** One doubt as a line of the list.
 * @param {any} doubt @param {number} number @param {boolean} chosen
 * @param {{go: () => void, decide: (decision: string) => void}} does */
export function doubtLine(doubt, number, chosen, does) {
  const place = doubt.line === "position" ? `position of station ${doubt.frame}` : [doubt.line, doubt.frame && `at ${doubt.frame}`].filter(Boolean).join(" ");
  const says = `Reads ${doubt.reads}, ${doubt.off}; ${doubt.fair} would lie fair.${doubt.explains ? ` Perhaps ${doubt.explains}.` : ""}`;
  return el("li", { class: chosen ? "chosen" : "" }, [
    el("button", { type: "button", class: "plain of", "data-hold": `of ${doubt.key}`, onclick: does.go }, [
      el("span", { class: "pencil-number", "aria-hidden": "true" }, [String(number)]), el("span", {}, [place])]),
    el("p", {}, [says]),
    ...(doubt.changed ? [el("p", { class: "note" }, ["Typed otherwise since; looked at again when the hull is made fair."])] : []),
    ...(doubt.decision ? [el("p", {}, [el("span", { class: "tag good" }, [doubt.decision]), ` ${DECIDED[doubt.decision]}${doubt.value ? ` to ${doubt.value}` : ""}`])] : []),
    ...(job.may.work ? [el("div", { class: "row no-print" }, choices(doubt, place, does))] : []),
  ]);
}

function choices(doubt, place, does) {
  const button = (words, decision, label, kind = "") => el("button", { type: "button", class: kind, "data-hold": `${decision} ${doubt.key}`, "aria-label": `${label}: ${place}`, onclick: () => does.decide(decision) }, [words]);
  if (doubt.decision) return [button("Decide again", "", "Take the decision back")];
  return [
    button(`Accept ${doubt.fair}`, "accept", `Accept ${doubt.fair}`, "main"),
    button("Correct", "correct", "Give the right value"),
    button("Keep", "keep", `Keep ${doubt.reads}`),
  ];
}

/** Write a decision down on the form of doubts ("" takes it back). @param {any} doubt @param {string} decision */
export async function decide(doubt, decision) {
  let value = "";
  if (decision === "correct") {
    value = await ask.text("What it should read", `${doubt.line}${doubt.frame ? ` at ${doubt.frame}` : ""} reads ${doubt.reads}. The reading on the form stays as it was typed.`, doubt.fair);
    if (!value) return;
  }
  const form = await job.form("doubts");
  const at = form.rows.findIndex((row) => row[form.header.indexOf("reading")].trim() === doubt.key);
  const was = at < 0 ? null : form.rows[at];
  const notes = was ? was[form.header.indexOf("notes")] : "";
  const now = decision ? job.row(form.header, { reading: doubt.key, decision, value, notes }) : null;
  if (!was && !now) return;
  const why = decision ? `${decision} ${doubt.key}${value ? ` as ${value}` : ""}` : `${doubt.key}: decision taken back`;
  try { await job.change([{ form: "doubts", was, now, at: at < 0 ? form.rows.length : at }], why); } catch { return; }
  if (value) await sayIfWrong(doubt.key);
}

/** A value that cannot be read is said at once. */
async function sayIfWrong(key) {
  job.forms.delete("doubts");
  const form = await job.form("doubts");
  const at = form.rows.findIndex((row) => row[0].trim() === key);
  const wrong = form.problems.find((p) => p.at === at);
  if (wrong) job.say(`${wrong.found}: wanted ${wrong.wanted}${wrong.example ? `, such as ${wrong.example}` : ""}. Decide again.`, "bad");
}
