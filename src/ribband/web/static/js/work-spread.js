// <work-spread>: the day the last plank is done, as so many runs ended on each working day.
//
//   spread.show({first, wide, runs, dates: [[50, "Fri 2 Apr 2027", 24.3]], planned, planned_said, ...})
import { svg as s } from "/static/js/svg.js";

const HIGH = 240, LEFT = 12, RIGHT = 12, TOP = 74, FOOT = 30, LEAST = 240;
const MARKED = [10, 50, 90];

class WorkSpread extends HTMLElement {
  connectedCallback() {
    this.sized = new ResizeObserver(() => { if (this.spread && this.clientWidth !== this.drawn) this.draw(); });
    this.sized.observe(this);
  }

  disconnectedCallback() { this.sized.disconnect(); }

  /** @param {any} spread */
  show(spread) {
    this.spread = spread;
    this.replaceChildren();
    if (spread) this.draw();
  }

  /** Draw it as wide as there is room, so that its letters keep their size. */
  draw() {
    const { spread } = this;
    this.drawn = this.clientWidth;
    this.wide = Math.max(this.drawn, LEAST);
    const end = spread.first + spread.runs.length * spread.wide;
    const from = Math.min(spread.first, Math.floor(spread.planned)) - 1;
    const x = (day) => LEFT + ((day - from) / (end - from)) * (this.wide - LEFT - RIGHT);
    const most = Math.max(...spread.runs), base = HIGH - FOOT;
    const svg = s("svg", { viewBox: `0 0 ${this.wide} ${HIGH}`, role: "img", "aria-label": words(spread) });
    spread.runs.forEach((runs, n) => {
      const day = spread.first + n * spread.wide, high = (runs / most) * (base - TOP);
      svg.append(s("rect", { class: "runs", x: x(day - 1) + 0.5, y: base - high, width: Math.max(1, x(day - 1 + spread.wide) - x(day - 1) - 1), height: high }));
    });
    svg.append(s("line", { class: "base", x1: LEFT, x2: this.wide - RIGHT, y1: base, y2: base }));
    this.mark(svg, x(spread.planned), 14, `without mishap: ${short(spread.planned_said)}`, "planned");
    for (const [n, part] of MARKED.entries()) {
      const found = spread.dates.find((d) => d[0] === part);
      if (found) this.mark(svg, x(found[2]), 30 + 16 * n, `${part} in 100: ${short(found[1])}`, "mark");
    }
    const marks = this.wide / 70, step = Math.max(5, Math.ceil((end - from) / marks / 5) * 5);
    for (let day = Math.ceil(from / step) * step; day <= end; day += step) svg.append(s("text", { class: "day", x: x(day), y: HIGH - 10, "text-anchor": "middle" }, String(day)));
    this.replaceChildren(svg);
  }

  mark(svg, x, y, said, kind) {
    const anchor = x < this.wide * 0.35 ? "start" : x > this.wide * 0.65 ? "end" : "middle";
    svg.append(s("line", { class: kind, x1: x, x2: x, y1: y + 4, y2: HIGH - FOOT }), s("text", { class: kind, x: anchor === "start" ? x - 2 : anchor === "end" ? x + 2 : x, y, "text-anchor": anchor }, said));
  }
}

const short = (day) => day.replace(/ \d{4}$/, "");

function words(spread) {
  const said = spread.dates.map(([part, day]) => `${part} in a hundred by ${day}`).join(", ");
  return `Spread of the last day. ${said}; the plan, without mishap: ${spread.planned_said}.`;
}

customElements.define("work-spread", WorkSpread);
