// <lines-plan>: what was measured, drawn as it is typed. `show(data, what)` draws: "lines", "girths",
// "old" or "sides". Pressing a reading sends "pick" {place}, pressing a pencil mark "doubt" {key}.
import { el } from "/static/js/ask.js";
import { body, layOut, plan, profile } from "/static/js/plan-lines.js";
import { girths, old, sides } from "/static/js/plan-girths.js";

class LinesPlan extends HTMLElement {
  connectedCallback() {
    this.what = "lines";
    this.shown = { doubts: [], chosen: "", here: null };
    new ResizeObserver(() => this.draw()).observe(this);
  }

  /** @param {any} data what /api/measure gave @param {string} what */
  show(data, what) {
    this.data = data;
    this.what = what;
    this.shown.doubts = data.doubts;
    this.laid = what === "lines" && data.readings.length + data.ends.length ? layOut(data) : null;
    this.wide = 0;
    this.draw();
  }

  /** Ring the reading of a cell. @param {[string, number, number]|null} place */
  ring(place) {
    const same = (p) => p.place && place && p.place[0] === place[0] && p.place[1] === place[1] && (p.place[2] === place[2] || place[0] === "points");
    const all = this.data ? [...this.data.readings, ...this.data.ends, ...this.data.girths] : [];
    const here = all.find(same) || null;
    if (here === this.shown.here) return;
    this.shown.here = here;
    for (const { paper, place } of this.live || []) paper.here(here && place(here));
  }

  /** Choose a doubt. @param {string} key */
  choose(key) { this.shown.chosen = key; this.draw(true); }

  draw(again = false) {
    if (!this.data || !this.clientWidth) return;
    if (!again && this.wide === this.clientWidth) return;
    this.wide = this.clientWidth;
    this.live = [];
    const papers = this.papers();
    this.setAttribute("data-what", this.what);
    this.classList.toggle("many", this.data.readings.length > 500);
    this.replaceChildren(...(papers.length ? papers : [el("p", { class: "nothing" }, [EMPTY[this.what]])]));
  }

  papers() {
    const wide = this.clientWidth;
    if (this.what !== "lines") {
      const high = wide < 560 ? 210 : 250;
      if (this.what === "old") return this.oldSides().map((side, _, all) => this.sheet(old(this.data, side, all.length > 1 ? this.two(wide) : wide, high), `Old planking, ${side}`)).filter(Boolean).map(this.nowhere, this);
      const paper = this.what === "girths" ? girths(this.data, this.shown, wide, high) : sides(this.data, wide, high);
      return [this.sheet(paper, this.what === "girths" ? "Girths, rabbet to sheer" : "Port less starboard")].filter(Boolean);
    }
    if (!this.laid) return [];
    const on = this.laid;
    const narrow = wide < 700;
    const across = narrow ? wide : Math.round(wide * 0.36);
    const rest = narrow ? wide : wide - across;
    const half = (tall) => Math.max(122, Math.min(170, Math.round((rest - 46) * tall / (on.xs[1] - on.xs[0])) + 36));
    const [up, out] = [half(on.zs[1] - on.zs[0]), half(on.ys[1])];
    return [
      this.sheet(body(on, this.shown, across, narrow ? 210 : up + out), "Body plan", "body"),
      ...(wide < 420 ? [] : [el("div", { class: "long" }, [
        this.sheet(profile(on, this.shown, rest, up), "Sheer profile"),
        this.sheet(plan(on, this.shown, rest, out), "Half-breadth plan"),
      ])]),
    ];
  }

  /** The sides of which old widths were taken; widths of both sides go with each that has its own. */
  oldSides() {
    const own = new Set([...this.data.old, ...this.data.old_butts].map((w) => w.side || "both"));
    const sides = ["port", "starboard"].filter((side) => own.has(side));
    return sides.length ? sides : ["both sides"];
  }

  /** Say under a drawing which widths are not on it, since nothing says where their frames stand. */
  nowhere(figure) {
    const names = this.data.old_nowhere;
    if (names.length) figure.lastChild.append(`. Not drawn: the widths at ${names.slice(0, 8).join(", ")}${names.length > 8 ? " and more" : ""}; nothing says where ${names.length > 1 ? "they stand" : "that is"}. Give positions in Frames, of stem and stern in Girths.`);
    return figure;
  }

  two(wide) { return wide < 700 ? wide : Math.floor(wide / 2) - 6; }

  sheet(paper, title, kind = "") {
    if (!paper) return null;
    const open = this.shown.doubts.filter((d) => !d.decision).length;
    paper.svg.setAttribute("aria-label", `${title}, as typed${open ? `, ${open} doubtful readings marked` : ""}`);
    if (paper.place) this.live.push({ paper, place: paper.place });
    paper.svg.addEventListener("click", (event) => this.press(event, paper));
    return el("figure", { class: kind }, [paper.svg, el("figcaption", {}, [title])]);
  }

  press(event, paper) {
    const mark = event.target.closest("[data-doubt]");
    if (mark) {
      const doubt = this.shown.doubts[Number(mark.getAttribute("data-doubt")) - 1];
      this.dispatchEvent(new CustomEvent("doubt", { detail: { key: doubt.key } }));
      return;
    }
    const reading = paper.near(event);
    if (reading?.place) this.dispatchEvent(new CustomEvent("pick", { detail: { place: reading.place } }));
  }
}

const EMPTY = {
  lines: "The lines are drawn here as you type: offsets, points, stem and stern.",
  girths: "The curve of girths is drawn here as you type.",
  old: "The old strakes are laid flat here as their widths are typed.",
  sides: "Nothing to compare: both sides were not measured at the same frames.",
};

customElements.define("lines-plan", LinesPlan);
