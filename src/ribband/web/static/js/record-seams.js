// Seams measured at the hull: an edge, a frame, and the girth read from the tape, in fields that a
// thumb can fill; beside it what was planned and how far off it is.
import { job } from "/static/js/job.js";
import { ask, el } from "/static/js/ask.js";
import { listing } from "/static/js/listings.js";

const $ = (id) => document.getElementById(id);
const NAMES = ["feet", "inches", "eighths"], MOST = [Infinity, 11, 7];
const PARTS = { "ft-in-8ths": [["ft", "feet"], ["in", "inches"], ["8ths", "eighths; a + for a sixteenth more"]] };

/** Whether a part after the feet can be read, and is no more than its most. */
function within(text, n) {
  return (n === 2 ? /^\d+[+-]?$/ : /^\d+$/).test(text) && parseInt(text, 10) <= MOST[n];
}

/** The day and clock, as the log writes them: planks cut later follow what was measured now. */
export function clock() {
  const d = new Date(), two = (n) => String(n).padStart(2, "0");
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())} ${two(d.getHours())}:${two(d.getMinutes())}`;
}

export class Seams {
  /** @param {{form: (name: string) => Promise<any>, kept: () => void}} how */
  constructor(how) {
    this.how = how;
    this.edge = "upper";
    this.plank = null;
    /** @type {{frame: string, lower: string, upper: string, lower_hung: string, upper_hung: string, lower_off: string, upper_off: string}[]} */
    this.seams = [];
    this.fields();
    for (const button of document.querySelectorAll("[data-edge]")) button.addEventListener("click", () => this.turn(button.dataset.edge));
    $("frame").addEventListener("change", () => this.at());
    $("frame-before").addEventListener("click", () => this.step(-1));
    $("frame-after").addEventListener("click", () => this.step(1));
    $("measure").addEventListener("submit", (event) => { event.preventDefault(); this.keep(); });
  }

  fields() {
    const parts = PARTS[job.unit] || [[job.unit, `girth, ${job.unit}`]];
    this.inputs = parts.map(([, says], n) => el("input", { maxlength: "12", size: parts.length > 1 ? "4" : "9", inputmode: n === parts.length - 1 && parts.length > 1 ? "text" : "decimal", autocomplete: "off", "aria-label": says }));
    $("girth").replaceChildren(...this.inputs.flatMap((input, n) => [input, el("span", { "aria-hidden": "true" }, [parts[n][0]])]));
    this.inputs.forEach((input) => input.addEventListener("input", () => { if (input.value.trim()) input.removeAttribute("aria-invalid"); this.look(); }));
  }

  get text() {
    const typed = this.inputs.map((i) => i.value.trim());
    if (!typed.some(Boolean)) return "";
    return typed.length > 1 && !typed[0].includes("-") ? typed.map((t) => t || "0").join("-") : typed.filter(Boolean).join(" ");
  }

  /** @param {any} plank @param {any[]} seams */
  show(plank, seams) {
    const same = this.plank?.name === plank.name, frame = $("frame").value;
    this.plank = plank;
    this.seams = seams;
    $("seams-room").hidden = !seams.length;
    $("frame").replaceChildren(...seams.map((s) => el("option", { value: s.frame }, [s.frame])));
    const open = seams.find((s) => !s[`${this.edge}_hung`]) || seams[0];
    $("frame").value = same && seams.some((s) => s.frame === frame) ? frame : open?.frame ?? "";
    const rows = seams.filter((s) => s.lower_hung || s.upper_hung).map((s) => [s.frame, s.upper, s.upper_hung, s.upper_off, s.lower, s.lower_hung, s.lower_off]);
    $("seams").replaceChildren(...(rows.length ? [listing({ title: "Measured", columns: ["frame", "upper, planned", "hung", "off", "lower, planned", "hung", "off"], rows })] : [el("p", { class: "note" }, ["None of its seams is measured yet."])]));
    if (same && $("frame").value === frame) this.planned(); else this.at(); // what is being typed stays
  }

  turn(edge) {
    this.edge = edge;
    for (const button of document.querySelectorAll("[data-edge]")) button.setAttribute("aria-pressed", String(button.dataset.edge === edge));
    this.at();
  }

  step(way) {
    const at = this.seams.findIndex((s) => s.frame === $("frame").value);
    const next = this.seams[Math.min(Math.max(at + way, 0), this.seams.length - 1)];
    if (next) { $("frame").value = next.frame; this.at(); }
  }

  planned() {
    const seam = this.seams.find((s) => s.frame === $("frame").value);
    const hung = seam?.[`${this.edge}_hung`];
    $("planned").replaceChildren(...(seam ? ["planned ", el("b", {}, [seam[this.edge]]), ...(hung ? [`, measured ${hung}: ${seam[`${this.edge}_off`]}`] : [])] : []));
  }

  at() {
    this.planned();
    this.inputs.forEach((input) => { input.value = ""; input.removeAttribute("aria-invalid"); });
    $("off").textContent = "";
  }

  /**
   * What is wrong with the parts, or still to be said: feet and inches alone could be short of what
   * was read; feet left blank are nought. `at` is the part it is of.
   * @returns {{says: string, at: number, kind: "fault"|"note"}|null}
   */
  get amiss() {
    const typed = this.inputs.map((i) => i.value.trim());
    if (typed.length < 2 || !typed.some(Boolean) || typed[0].includes("-")) return null;
    const far = typed.findIndex((text, n) => n && text && !within(text, n));
    if (far > 0) return { says: `${NAMES[far]}: wanted 0 to ${MOST[far]}${far === 2 ? ", with a + for a sixteenth more" : ""}, not ${typed[far]}`, at: far, kind: "fault" };
    const begun = typed.findIndex(Boolean);
    const blank = typed.flatMap((text, n) => (text || n < begun ? [] : [n]));
    if (!blank.length) return null;
    return { says: `${blank.map((n) => NAMES[n]).join(" and ")}: wanted; 0 where ${blank.length > 1 ? "they are" : "it is"} nought`, at: blank[0], kind: "note" };
  }

  /** Say how far off the typed girth is; while the server cannot be reached, nothing is said. */
  look() {
    clearTimeout(this.later);
    this.later = setTimeout(async () => {
      const { text, amiss } = this;
      if (amiss) { $("off").replaceChildren(el("span", { class: `tag ${amiss.kind}` }, [amiss.says])); return; }
      if (!text || !job.online) { $("off").textContent = ""; return; }
      try {
        const found = await job.post("/api/record/measured", { ...this.said(), girth: text });
        this.valid(true);
        if (text === this.text) $("off").replaceChildren(el("span", { class: `tag ${found.near ? "good" : "caution"}` }, [found.says]));
      } catch (error) {
        const problem = error.problems?.[0];
        if (!problem) return;
        this.valid(false);
        $("off").replaceChildren(el("span", { class: "tag fault" }, [`${text}: wanted ${problem.wanted}${problem.example ? `, such as ${problem.example}` : ""}`]));
      }
    }, 250);
  }

  valid(good) { this.inputs.forEach((input) => (good ? input.removeAttribute("aria-invalid") : input.setAttribute("aria-invalid", "true"))); }

  said() { return { side: this.plank.side, strake: this.plank.strake, edge: this.edge, frame: $("frame").value }; }

  /** Ask about a girth far off its plan; while the server cannot be reached it is taken as read. */
  async believed(girth) {
    if (!job.online) return true;
    const found = await job.post("/api/record/measured", { ...this.said(), girth }).catch((error) => ({ wrong: Boolean(error.problems?.length) }));
    if (found.wrong) { this.look(); return false; } // said beside it what is wanted
    return !found.ask || ask.yes(`${girth} at frame ${$("frame").value}?`, found.ask, "Write it down");
  }

  async keep() {
    const said = this.said(), girth = this.text, { amiss } = this;
    if (!girth) { this.inputs[0].focus(); return; }
    if (amiss) {
      $("off").replaceChildren(el("span", { class: "tag fault", role: "alert" }, [amiss.says]));
      this.inputs[amiss.at].setAttribute("aria-invalid", "true");
      this.inputs[amiss.at].focus();
      return;
    }
    if (this.inputs.some((input) => input.hasAttribute("aria-invalid"))) { this.inputs[0].focus(); return; } // said beside it what is wanted
    if (!(await this.believed(girth))) { this.inputs[0].focus(); return; }
    const form = await this.how.form("as_hung").catch(() => null);
    if (!form) { job.say("The form of seams has not been read yet; it can be written once the server is reached.", "bad"); return; }
    const col = (name) => form.header.indexOf(name);
    const at = form.rows.findIndex((row) => ["side", "strake", "frame"].every((c) => row[col(c)] === said[c]) && (row[col("edge")] || "upper") === said.edge);
    const was = at < 0 ? null : form.rows[at];
    const cells = was ? Object.fromEntries(form.header.map((c, n) => [c, was[n]])) : {};
    const now = job.row(form.header, { ...cells, ...said, girth, at: clock() });
    const why = `${said.side} strake ${said.strake}, ${said.edge} edge at ${said.frame}: ${girth}`;
    $("planned").textContent = `${girth} at frame ${said.frame} is ${job.online ? "written down" : "kept till the server is reached"}.`;
    this.step(1);
    this.inputs[0].focus();
    try { await job.change([{ form: "as_hung", was, now, at: at < 0 ? form.rows.length : at }], why); } catch { return; }
    this.how.kept();
  }
}
