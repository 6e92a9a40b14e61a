// The overview: what is next, the steps, a drawing, key figures, findings, what can be taken away.
import { ofBefore, ofRepair } from "/static/js/before.js";
import { job } from "/static/js/job.js";
import { newest } from "/static/js/newest.js";
import { el } from "/static/js/ask.js";

const $ = (id) => document.getElementById(id);
let shown = { drawings: [] };
/** Asked for by the head of the page already, before its scripts were there. @type {Promise<any>|null} */
let first = fetch("/api/overview").then((answer) => (answer.ok ? answer.json() : null)).catch(() => null);

const asked = newest(async () => {
  const given = first;
  first = null; // what the page asked for in its head is good once
  return (await given) || job.get("/api/overview");
});

async function draw() {
  let all;
  try { all = await asked(); } catch (error) { job.say(error.message, "bad"); return; }
  if (!all) return;
  shown = all;
  next(all.job.next);
  $("steps").replaceChildren(...all.job.steps.map(step));
  figures(all.figures);
  ofRepair(all.alone);
  ofBefore(all.as_of, $("figures").parentElement);
  findings(all);
  $("downloads").replaceChildren(...all.downloads.map(download));
  $("changes").replaceChildren(...all.changes.map(change));
  drawings(all.drawings);
}

function next(said) {
  $("next").textContent = said.says;
  const plan = said.act === "plan" && job.may.work;
  $("next-page").hidden = plan;
  $("next-plan").hidden = !plan;
  $("next-page").href = said.page === "overview" ? "#downloads-title" : `/${said.page}`;
}
$("next-plan").addEventListener("click", () => job.post("/api/work", {}).catch((error) => job.say(error.message, "bad")));
job.on("work", (work) => { $("next-plan").disabled = work.state === "running"; });

function step(one) {
  const faults = one.findings.filter((f) => f.severity === "fault").length;
  const cautions = one.findings.filter((f) => f.severity === "caution").length;
  const kind = one.state === "good" ? (faults ? "fault" : cautions ? "caution" : "good") : one.state === "stale" ? "stale" : "note";
  const words = one.state === "good" ? [faults && `${faults} fault${faults > 1 ? "s" : ""}`, cautions && `${cautions} caution${cautions > 1 ? "s" : ""}`].filter(Boolean).join(", ") || "good" : one.state;
  return el("li", {}, [el("a", { href: `/${one.page}` }, [el("b", {}, [NAMES[one.step] || one.step]), el("span", { class: `tag ${kind}` }, [words])])]);
}
const NAMES = { survey: "Measurements", hull: "Fair hull", lining: "Lining out", butts: "Butts", planks: "Planks", shapes: "Flat shapes", stands: "The planking as it stands", relined: "Divided anew", repair: "Repair", boards: "Pile", laying: "Laid on boards", order: "Order", shop: "Shop", hanging: "Order of hanging", work: "Plan of work" };

function figures(lines) {
  $("no-figures").hidden = lines.length > 0;
  $("figures").hidden = !lines.length;
  $("figures").replaceChildren(...lines.map((line) => el("div", {}, [
    el("dt", {}, [line.what]), el("dd", {}, [line.value, ...(line.remark ? [el("small", {}, [line.remark])] : [])]),
  ])));
}

function findings(all) {
  const { fault, caution, note } = all.counts;
  $("counts").textContent = fault + caution + note ? `${fault} faults, ${caution} cautions, ${note} notes.` : "Nothing found in what is up to date.";
  const [grave, notes] = [all.findings.filter((g) => g.severity !== "note"), all.findings.filter((g) => g.severity === "note")];
  const open = $("findings").querySelector("details.notes")?.open || !grave.length;
  $("findings").replaceChildren(...grave.map(finding), ...(notes.length ? [el("li", {}, [
    el("details", { class: "notes", open }, [el("summary", {}, [`${note} ${note === 1 ? "note" : "notes"}`]), el("ul", { class: "findings" }, notes.map(finding))])])] : []));
}

function finding(group) {
  return el("li", {}, [
    el("span", { class: `tag ${group.severity}` }, [group.severity]), el("b", {}, [el("a", { href: `/${group.page}` }, [group.code])]),
    ` ${group.first.where}: ${group.first.says}`, ...(group.first.why ? [el("span", { class: "note" }, [` ${group.first.why}`])] : []),
    ...(group.more.length ? [el("details", {}, [el("summary", {}, [`and ${group.count - 1} more like it`]), el("ul", {}, group.more.map((m) => el("li", {}, [m])))])] : []),
  ]);
}

function download(one) {
  const ready = !one.why_not;
  const get = ready
    ? el("a", { class: "button", href: `/api/downloads/${one.name}`, download: one.file, "aria-label": `Get the ${one.title.toLowerCase()}`, onclick: fetched }, ["Get"])
    : el("button", { type: "button", disabled: true, "aria-label": `${one.title}: ${one.why_not}` }, ["Get"]);
  return el("li", {}, [el("span", { class: "words" }, [el("b", {}, [one.title]), el("small", {}, [ready ? one.says : one.why_not])]), get]);
}

/** Papers take some seconds: say so, and say what went wrong instead of saving it. */
async function fetched(event) {
  const link = event.currentTarget;
  event.preventDefault();
  if (link.getAttribute("aria-disabled")) return;
  link.setAttribute("aria-disabled", "true");
  link.textContent = "Being made …";
  try {
    const answer = await fetch(link.href);
    if (!answer.ok) throw new Error((await answer.json()).says);
    const held = URL.createObjectURL(await answer.blob());
    el("a", { href: held, download: link.download }).click();
    setTimeout(() => URL.revokeObjectURL(held), 60000);
  } catch (error) { job.say(error.message, "bad"); }
  link.removeAttribute("aria-disabled");
  link.textContent = "Get";
}

function change(one) {
  const at = new Date(one.at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
  return el("li", {}, [el("b", {}, [String(one.number)]), el("span", {}, [one.why || one.kind, el("small", {}, [`${one.who}, ${at}`])])]);
}

function drawings(all) {
  const which = $("which");
  const was = which.value;
  which.replaceChildren(...all.map((d) => el("option", { value: d.name, selected: d.name === was }, [d.name])));
  const none = !all.length;
  $("no-drawing").hidden = !none;
  $("drawing-large").hidden = none;
  for (const id of ["drawing-pdf", "drawing-dxf"]) $(id).hidden = none;
  which.closest("label").hidden = none;
  if (!none) picture();
}

async function picture() {
  const name = $("which").value;
  const says = shown.drawings.find((d) => d.name === name)?.says || name;
  const base = `/api/drawings/${name}`;
  $("drawing-large").href = `${base}.svg`;
  $("drawing-pdf").href = `${base}.pdf`;
  $("drawing-dxf").href = `${base}.dxf`;
  $("drawing").alt = `${job.view?.vessel || ""}, ${says}`;
  const key = `${base}.svg?r=${job.revision}.${job.work.number}.${job.work.kept}`;
  if ($("drawing").dataset.key === key) return;
  $("drawing").dataset.key = key;
  $("drawing-large").setAttribute("aria-busy", "true");
  $("drawing").src = key;
}
$("drawing").addEventListener("load", () => $("drawing-large").removeAttribute("aria-busy"));

$("which").addEventListener("change", picture);
let soon = 0;
job.on("view", () => { clearTimeout(soon); soon = setTimeout(draw, 100); });
draw();
