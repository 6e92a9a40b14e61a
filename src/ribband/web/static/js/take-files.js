// Files of forms dropped on a page are taken in; what they say stands in place of the forms they name.
import { ask } from "/static/js/ask.js";
import { job } from "/static/js/job.js";

const AS_DECIMALS = "--decimal comma"; // the example of a problem that it would mend

/**
 * Send files of forms to the job; where they are refused for their commas, ask what those are.
 * @param {File[]} files @param {"point"|"comma"} decimal
 */
async function send(files, decimal) {
  const body = new FormData();
  for (const file of files) body.append("files", file, file.name);
  body.append("decimal", decimal);
  const answer = await fetch("/api/take", { method: "POST", body, headers: { "x-ribband-who": encodeURIComponent(job.who) } });
  const said = await answer.json();
  if (answer.ok) return job.say([`Taken in: ${said.forms.join(", ") || "nothing new"}.`, ...said.says].join(" "));
  const problems = said.problems || [], commas = problems.filter((p) => p.example === AS_DECIMALS);
  if (commas.length && decimal === "point") {
    const told = commas.map((p) => `${p.file}: ${p.found}.`).join(" ");
    if (await ask.yes("Are these commas decimals?", `${told} If they are, the figures are kept with points; if they mark thousands, leave it and save the forms without them.`, "They are decimals")) return send(files, "comma");
  }
  job.say([said.says, ...problems.slice(0, 4).map((p) => `${p.file}${p.row ? `, row ${p.row}` : ""}${p.column ? `, ${p.column}` : ""}: wanted ${p.wanted}.`)].join(" "), "bad");
}

/** Take files of forms in. @param {File[]} files */
export async function takeFiles(files) {
  if (!files.length || !job.may.work) return;
  const names = files.map((file) => file.name).join(", ");
  const filled = Object.values(job.view?.forms || {}).some((rows) => rows > 0);
  if (filled && !await ask.yes("Take these forms in?", `${names}. Each form named there is put in place of the one in the job; other forms stay. Undo brings back what was.`, "Take them in")) return;
  try {
    await send(files, "point");
  } catch { job.say("The server cannot be reached; the files were not taken in.", "bad"); }
}

/** Take in what is dropped anywhere on the page. */
export function watchDrops() {
  const holds = (event) => [...(event.dataTransfer?.types || [])].includes("Files");
  let depth = 0;
  const show = () => document.body.classList.toggle("dropping", depth > 0);
  addEventListener("dragenter", (event) => { if (holds(event)) { event.preventDefault(); depth++; show(); } });
  addEventListener("dragleave", (event) => { if (holds(event)) { depth = Math.max(0, depth - 1); show(); } });
  addEventListener("dragover", (event) => { if (holds(event)) event.preventDefault(); });
  addEventListener("drop", (event) => {
    if (!holds(event)) return;
    event.preventDefault();
    depth = 0;
    show();
    takeFiles([...event.dataTransfer.files]);
  });
}
