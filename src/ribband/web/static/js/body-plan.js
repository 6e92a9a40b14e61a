// <body-plan>: sections and seams from ahead and astern, fore body right, aft body left.
import { letter, onPaper } from "/static/js/expansion.js";
import { svg } from "/static/js/svg.js";
import { curve } from "/static/js/flat.js";
import { hands } from "/static/js/hands.js";
import { place, seamIn } from "/static/js/space.js";

export class BodyPlan extends HTMLElement {
  constructor() {
    super();
    this.chosen = { row: -1, column: -1 };
    for (const name of ["choose", "grab", "dragTo", "drop", "leave"]) this[name] = () => {};
    this.may = () => false;
  }

  connectedCallback() {
    if (this.svg) return;
    this.svg = svg("svg", { class: "chart", role: "img", "aria-label": "Body plan with the seams; fore body to the right, aft body to the left" });
    this.still = svg("g");
    this.seams = svg("g", { class: "seams" });
    this.over = svg("g");
    this.svg.append(this.still, this.seams, this.over);
    this.replaceChildren(this.svg);
    hands(this.svg, {
      hit: (x, y, reach) => { const p = this.chosenAt(); return p && this.may() && Math.hypot(p[0] - x, p[1] - y) < reach + 4 ? { point: true } : null; },
      grab: () => this.grab(), drag: (h, x, y) => { const g = this.girthAt(x, y); if (g !== null) this.dragTo(g); }, drop: () => this.drop(), leave: () => this.leave(),
      tap: (x, y) => this.tapped(x, y), pan: () => {}, pinch: () => {}, hover: () => {},
    });
    new ResizeObserver(() => this.drawAll()).observe(this);
    onPaper(this.svg, () => [this.svg.clientWidth, this.svg.clientHeight]);
  }

  /** @param {import("./space.js").Space} space @param {any} data the page's */
  show(space, data) {
    this.space = space;
    this.data = data;
    this.girths = data;
    this.drawAll();
  }

  reseam(girths) { this.girths = girths; this.drawSeams(); }
  mark(row, column) { this.chosen = { row, column }; this.drawSeams(); }

  middle() {
    const f = this.data.ground.frames;
    return (f[0].x + f[f.length - 1].x) / 2;
  }

  /** On the screen: fore body to the right. */
  px(p) {
    const side = p[0] <= this.middle() ? 1 : -1;
    return [this.x0 + side * p[1] * this.k, this.y0 - (p[2] - this.low) * this.k];
  }

  drawAll() {
    if (!this.space) return;
    const every = this.space.frames.flat();
    const half = Math.max(...every.map((p) => p[1]));
    this.low = Math.min(...every.map((p) => p[2]));
    const high = Math.max(...every.map((p) => p[2]));
    const [w, h] = [this.svg.clientWidth || 400, this.svg.clientHeight || 400];
    this.k = Math.min((w - 36) / (2 * half), (h - 44) / (high - this.low));
    this.x0 = w / 2;
    this.y0 = h / 2 + ((high - this.low) * this.k) / 2 + 4;
    const f = this.data.ground.frames;
    const step = f.length > 24 ? 2 : 1;
    const sections = this.space.frames.filter((_, i) => i % step === 0);
    this.still.replaceChildren(
      svg("path", { class: "centre", d: `M${this.x0} ${this.y0 + 8}V${this.y0 - (high - this.low) * this.k - 14}` }),
      ...sections.map((run) => svg("path", { class: "section", d: curve(run.filter((_, i) => i % 2 === 0).map((p) => this.px(p))) })),
      ...[this.space.stem, this.space.stern].filter(Boolean).map((run) => svg("path", { class: "hood", d: curve(run.map((p) => this.px(p))) })),
      letter(w - 8, 18, "fore", "number", "end"), letter(8, 18, "aft", "number", "start"),
    );
    this.drawSeams();
  }

  drawSeams() {
    if (!this.space || !this.k) return;
    const { ground } = this.data;
    while (this.seams.children.length > this.girths.upper.length) this.seams.lastChild.remove();
    this.girths.upper.forEach((girths, row) => {
      let path = this.seams.children[row];
      if (!path) { path = svg("path"); this.seams.append(path); }
      const points = seamIn(this.space, ground, girths).map(([, p]) => p);
      const fore = points.filter((p) => p[0] <= this.middle());
      const aft = points.filter((p) => p[0] > this.middle());
      const cross = fore.length && aft.length ? between(fore[fore.length - 1], aft[0], this.middle()) : null;
      const bodies = [cross ? [...fore, cross] : fore, cross ? [[cross[0] + 0.01, cross[1], cross[2]], ...aft] : aft];
      path.setAttribute("d", bodies.filter((b) => b.length > 1).map((b) => curve(b.map((p) => this.px(p)))).join(""));
      path.setAttribute("class", `seam${row === this.chosen.row ? " chosen" : ""}${row === this.girths.upper.length - 1 ? " sheer" : ""}`);
    });
    this.over.replaceChildren(...this.marks());
  }

  marks() {
    const { row, column } = this.chosen;
    const run = this.run(column);
    if (!run) return [];
    const at = this.chosenAt();
    return [svg("path", { class: "section chosen", d: curve(run.map((p) => this.px(p))) }), ...(at ? [svg("circle", { class: "grip", cx: at[0], cy: at[1], r: 7 })] : [])];
  }

  run(column) {
    if (column < 0) return null;
    if (column === 0) return this.space?.stem;
    return this.space?.frames[column - 1] || this.space?.stern;
  }

  chosenAt() {
    const { row, column } = this.chosen;
    const girth = row < 0 ? -1 : this.girths.upper[row]?.[column] ?? -1;
    const p = girth < 0 ? null : place(this.space, this.data.ground, column, girth / 10);
    return p && this.px(p);
  }

  whole(column) {
    return this.data.ground.frames[column - 1]?.girth ?? (column === 0 ? this.space.girths.stem : this.space.girths.stern);
  }

  /** Girth of the point of the chosen section nearest to a place on the screen. */
  girthAt(x, y) {
    const run = this.run(this.chosen.column);
    if (!run) return null;
    let best = null;
    for (let i = 0; i <= 400; i++) {
      const p = this.px(place(this.space, this.data.ground, this.chosen.column, (this.whole(this.chosen.column) * i) / 400));
      const far = (p[0] - x) ** 2 + (p[1] - y) ** 2;
      if (!best || far < best.far) best = { far, girth: (this.whole(this.chosen.column) * i) / 400 };
    }
    return best.girth;
  }

  tapped(x, y) {
    let best = null;
    this.girths.upper.slice(0, -1).forEach((girths, row) => {
      for (const [column, p] of seamIn(this.space, this.data.ground, girths)) {
        const [px, py] = this.px(p);
        const far = Math.hypot(px - x, py - y);
        if (far < 26 && (!best || far < best.far)) best = { row, column, far };
      }
    });
    if (best) this.choose(best.row, best.column);
  }
}

function between(a, b, x) {
  const t = (x - a[0]) / Math.max(b[0] - a[0], 1e-6);
  return [x, a[1] + (b[1] - a[1]) * t, a[2] + (b[2] - a[2]) * t];
}

customElements.define("body-plan", BodyPlan);
