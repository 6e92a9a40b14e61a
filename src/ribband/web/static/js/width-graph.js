// <width-graph>: a strake's width along its length, and below it how evenly it changes. A fair
// strake's width runs smooth; a place that is not fair shows as a bump, and stands out in the bars.
import { letter } from "/static/js/expansion.js";
import { svg } from "/static/js/svg.js";
import { curve } from "/static/js/flat.js";
import { length, small } from "/static/js/lengths.js";

/** Widths by frame: [[x, mm, column], ...], hood ends left out. */
export function widthsOf(data, girths, row) {
  const f = data.ground.frames;
  return girths.width[row].map((w, c) => [f[c - 1]?.x, w / 10, c]).filter(([x, w]) => x !== undefined && w > 0);
}

/** How far each width stands off the cubic through its four neighbours, mm: [[x, off, column], ...]. */
export function unevenness(points) {
  const out = [];
  for (let i = 2; i < points.length - 2; i++) {
    const near = [points[i - 2], points[i - 1], points[i + 1], points[i + 2]];
    const x = points[i][0];
    const fair = near.reduce((sum, [xa, w], a) => sum + w * near.reduce((t, [xb], b) => (a === b ? t : (t * (x - xb)) / (xa - xb)), 1), 0);
    out.push([x, points[i][1] - fair, points[i][2]]);
  }
  return out;
}

export class WidthGraph extends HTMLElement {
  connectedCallback() {
    if (this.svg) return;
    this.svg = svg("svg", { role: "img", "aria-label": "Width along the length" });
    this.replaceChildren(this.svg);
    new ResizeObserver(() => this.draw()).observe(this);
  }

  /** @param {any} data the page's @param {any} girths @param {number} row */
  show(data, girths, row) { Object.assign(this, { data, girths, row }); this.draw(); }

  draw() {
    if (!this.data) return;
    const [w, h] = [this.svg.clientWidth || 500, this.svg.clientHeight || 240];
    const points = widthsOf(this.data, this.girths, this.row);
    if (points.length < 2) { this.svg.replaceChildren(); return; }
    const f = this.data.ground.frames;
    const { greatest, least } = this.data.limits;
    const most = Math.max(greatest.mm * 1.04, ...points.map((p) => p[1]));
    const floor = Math.max(0, Math.min(least.mm, ...points.map((p) => p[1])) * 0.75);
    const m = { left: 58, right: 12, top: 12, graph: h * 0.66, low: h - 22 };
    const X = (x) => m.left + ((x - f[0].x) / (f[f.length - 1].x - f[0].x)) * (w - m.left - m.right);
    const Y = (mm) => m.graph - ((mm - floor) / (most - floor)) * (m.graph - m.top);
    const parts = [];
    for (const one of [greatest, least]) {
      if (one.mm < floor || one.mm > most) continue;
      parts.push(svg("path", { class: "limit", d: `M${m.left} ${Y(one.mm)}H${w - m.right}` }), letter(m.left - 5, Y(one.mm) + 4, length(one.mm, this.data.unit), "figure", "end"));
    }
    const step = Math.max(1, Math.ceil((f.length * 26) / (w - m.left)));
    f.forEach((one, i) => { if (i % step === 0) parts.push(svg("path", { class: "up", d: `M${X(one.x)} ${m.top}V${m.low}` }), letter(X(one.x), h - 6, one.name, "number")); });
    parts.push(svg("path", { class: "width-line", d: curve(points.map(([x, mm]) => [X(x), Y(mm)])) }));
    parts.push(...points.map(([x, mm]) => svg("circle", { class: "spot", cx: X(x), cy: Y(mm), r: 2.2 })));
    parts.push(...this.bars(points, X, m));
    this.svg.replaceChildren(...parts);
    this.svg.setAttribute("aria-label", `Width of strake ${this.data.strakes[this.row].name} along the length. ${this.says()}`);
  }

  bars(points, X, m) {
    const off = unevenness(points);
    const zero = (m.graph + m.low) / 2 + 4;
    const tall = (m.low - m.graph) / 2 - 8;
    const scale = Math.max(0.5, ...off.map((o) => Math.abs(o[1])));
    const bumps = new Set(this.bumps().map((b) => b[2]));
    return [
      svg("path", { class: "zero", d: `M${m.left} ${zero}H${X(points[points.length - 1][0])}` }), letter(m.left - 5, zero + 4, "even", "number", "end"),
      ...off.map(([x, mm, c]) => svg("path", { class: `bar${bumps.has(c) ? " bump" : ""}`, d: `M${X(x)} ${zero}v${(-mm / scale) * tall}` })),
    ];
  }

  /** Places off by more than half a mm and much more than the rest. */
  bumps() {
    const off = unevenness(widthsOf(this.data, this.girths, this.row));
    const sorted = off.map((o) => Math.abs(o[1])).sort((a, b) => a - b);
    const usual = sorted[Math.floor(sorted.length / 2)] || 0;
    return off.filter((o) => Math.abs(o[1]) > Math.max(0.5, 4 * usual));
  }

  says() {
    const off = unevenness(widthsOf(this.data, this.girths, this.row));
    if (!off.length) return "Too few frames to tell how even it is.";
    const worst = off.reduce((a, b) => (Math.abs(b[1]) > Math.abs(a[1]) ? b : a));
    const frame = this.data.ground.frames[worst[2] - 1].name;
    const many = this.bumps().length;
    return `${many ? `${many} ${many > 1 ? "places stand" : "place stands"} out as a bump; most at` : "No place stands out as a bump; least even at"} frame ${frame}, ${small(Math.abs(worst[1]), this.data.unit)} ${worst[1] > 0 ? "fuller" : "barer"} than its neighbours run.`;
  }
}

/** A small graph of one strake, for the row of all. */
export function smallGraph(data, girths, row, press) {
  const points = widthsOf(data, girths, row);
  const f = data.ground.frames;
  const most = Math.max(data.limits.greatest.mm, ...points.map((p) => p[1])) * 1.05;
  const X = (x) => ((x - f[0].x) / (f[f.length - 1].x - f[0].x)) * 100;
  const Y = (mm) => 31 - (mm / most) * 29;
  const name = data.strakes[row].name;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "plain small-graph";
  button.setAttribute("aria-label", `Widths of strake ${name}`);
  button.dataset.row = String(row);
  button.append(name, svg("svg", { viewBox: "0 0 100 32", preserveAspectRatio: "none", "aria-hidden": "true" }, [svg("path", { class: "width-line", d: curve(points.map(([x, mm]) => [X(x), Y(mm)])) })]));
  button.addEventListener("click", () => press(row));
  return button;
}

customElements.define("width-graph", WidthGraph);
