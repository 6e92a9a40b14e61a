// Doubtful readings: each with what is said of it, and the shipwright's decision on it.
import { ask, el } from "/static/js/ask.js";
import { job } from "/static/js/job.js";

const DECIDED = { accept: "the fair value is taken", correct: "corrected", keep: "kept as it reads" };

/** One doubt as a line of the list.
 * @param {any} doubt @param {number} number @param {boolean} chosen
 * @param {{go: () => void, decide: (decision: string) => void}} does */
export function doubtLine(doubt, number, chosen, does) {
  const place = placeOf(doubt);
  const says = `${doubt.whole ? `The whole column is ${doubt.off}, all of it alike; left out till you decide.` : `Reads ${doubt.reads}, ${doubt.off}; ${doubt.fair} would lie fair.`}${doubt.explains ? ` Perhaps ${doubt.explains}.` : ""}`;
  return el("li", { class: chosen ? "chosen" : "" }, [
    el("button", { type: "button", class: "plain of", "data-hold": `of ${doubt.key}`, onclick: does.go }, [
      el("span", { class: "pencil-number", "aria-hidden": "true" }, [String(number)]), el("span", {}, [place])]),
    el("p", {}, [says]),
    ...(doubt.changed ? [el("p", { class: "note" }, ["Typed otherwise since; looked at again when the hull is made fair."])] : []),
    ...(doubt.decision ? [el("p", {}, [el("span", { class: "tag good" }, [doubt.decision]), ` ${doubt.whole && doubt.decision === "accept" ? "left out" : DECIDED[doubt.decision]}${doubt.value ? ` to ${doubt.value}` : ""}`])] : []),
    ...(job.may.work ? [el("div", { class: "row no-print" }, choices(doubt, place, does))] : []),
  ]);
}

/** What a doubt is of, in words. @param {any} doubt */
function placeOf(doubt) {
  if (doubt.line === "position") return `position of station ${doubt.frame}`;
  if (doubt.whole) return doubt.key;
  return [doubt.line, doubt.where && `at ${doubt.where}`].filter(Boolean).join(" ");
}

function choices(doubt, place, does) {
  const button = (words, decision, label, kind = "") => el("button", { type: "button", class: kind, "data-hold": `${decision} ${doubt.key}`, "aria-label": `${label}: ${place}`, onclick: () => does.decide(decision) }, [words]);
  if (doubt.decision) return [button("Decide again", "", "Take the decision back")];
  if (doubt.whole) {
    return [
      button("Leave it out", "accept", "Leave the column out", "main"),
      button("Mend all alike", "correct", "Say how much they are all too great"),
      button("Keep", "keep", "Keep as typed"),
    ];
  }
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
    value = doubt.whole
      ? await ask.text("Too great by", `The ${doubt.key}: so much is taken off them all; with a minus it is added. The form stays as it was typed.`, doubt.fair)
      : await ask.text("What it should read", `${placeOf(doubt)} reads ${doubt.reads}. The reading on the form stays as it was typed.`, doubt.fair);
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
  if (wrong) job.say(`${wrong.found}: wanted ${wrong.wanted}${wrong.example ? `; for example ${wrong.example}` : ""}. Decide again.`, "bad");
}
