// Paper for a small drawing on the screen: millimetres of the vessel to pixels of the sheet.

import { svg } from "/static/js/svg.js";

const EDGE = { left: 30, right: 16, top: 14, bottom: 20 };

/** A sheet that holds x from..to and up from..to, fitted into so many pixels; `square` keeps the shape. */
export class Paper {
  constructor({ x, up, wide, high, square = true, edge = EDGE }) {
    const [x0, x1] = x;
    const [u0, u1] = up;
    const roomX = Math.max(40, wide - edge.left - edge.right);
    const roomY = Math.max(30, high - edge.top - edge.bottom);
    this.kx = roomX / Math.max(1, x1 - x0);
    this.ky = roomY / Math.max(1, u1 - u0);
    if (square) this.kx = this.ky = Math.min(this.kx, this.ky);
    this.left = edge.left + (roomX - this.kx * (x1 - x0)) / 2 - this.kx * x0;
    this.foot = edge.top + (roomY + this.ky * (u1 - u0)) / 2 + this.ky * u0;
    this.svg = svg("svg", { viewBox: `0 0 ${wide} ${high}`, width: wide, height: high, role: "img" });
    this.spots = [];
  }

  at(x, up) { return [this.left + this.kx * x, this.foot - this.ky * up]; }

  add(...made) { this.svg.append(...made.filter(Boolean)); }

  /** Straight from point to point. @param {number[][]} points */
  straight(points, kind) {
    if (points.length < 2) return;
    this.add(svg("path", { class: kind, d: `M${points.map(([x, u]) => this.at(x, u).map((n) => n.toFixed(1)).join(" ")).join("L")}` }));
  }

  /** A spline through the points, as a batten would lie if held at them. @param {number[][]} points */
  batten(points, kind) {
    if (points.length < 3) { this.straight(points, kind); return; }
    const p = points.map(([x, u]) => this.at(x, u));
    let d = `M${p[0][0].toFixed(1)} ${p[0][1].toFixed(1)}`;
    for (let n = 0; n < p.length - 1; n++) {
      const [a, b, c, e] = [p[n - 1] || p[n], p[n], p[n + 1], p[n + 2] || p[n + 1]];
      const pull = 6;
      d += `C${[b[0] + (c[0] - a[0]) / pull, b[1] + (c[1] - a[1]) / pull, c[0] - (e[0] - b[0]) / pull, c[1] - (e[1] - b[1]) / pull, c[0], c[1]].map((v) => v.toFixed(1)).join(" ")}`;
    }
    this.add(svg("path", { class: kind, d }));
  }

  /** Dots of readings, one path for all. @param {{x: number, up: number, of: any}[]} points */
  dots(points, kind) {
    const d = [];
    for (const { x, up, of } of points) {
      const [px, py] = this.at(x, up);
      d.push(`M${px.toFixed(1)} ${py.toFixed(1)}h0`);
      this.spots.push({ px, py, of });
    }
    if (d.length) this.add(svg("path", { class: kind, d: d.join("") }));
  }

  words(x, up, text, kind, { dx = 0, dy = 0, anchor = "middle" } = {}) {
    const [px, py] = this.at(x, up);
    this.add(svg("text", { class: kind, x: px + dx, y: py + dy, "text-anchor": anchor }, [text]));
  }

  ring(x, up, kind, radius) {
    const [px, py] = this.at(x, up);
    this.add(svg("circle", { class: kind, cx: px, cy: py, r: radius }));
  }

  /** Ring the one spot that is stood on; null takes the ring away. */
  here(spot) {
    this.svg.querySelector(".here")?.remove();
    if (spot) this.ring(...spot, "here", 7);
  }

  /** Circle a doubtful reading with red pencil, and show where it would lie fair. */
  doubt(x, up, fair, number, chosen) {
    const [px, py] = this.at(x, up);
    const g = svg("g", { class: `pencil${chosen ? " chosen" : ""}`, "data-doubt": number });
    if (fair) {
      const [fx, fy] = this.at(...fair);
      g.append(svg("path", { d: `M${px.toFixed(1)} ${py.toFixed(1)}L${fx.toFixed(1)} ${fy.toFixed(1)}` }), svg("path", { class: "cross", d: `M${fx - 4} ${fy - 4}l8 8m0-8l-8 8` }));
    }
    g.append(
      svg("path", { d: `M${px + 9} ${py - 1}a9 8.5 0 1 1 -4 -7.2l3 2.4` }),
      svg("text", { x: px + 11, y: py - 8 }, [String(number)]),
      svg("circle", { class: "hold", cx: px, cy: py, r: 22 }),
    );
    this.add(g);
  }

  /** The reading nearest to a place on the screen. */
  near(event, within = 16) {
    const box = this.svg.getBoundingClientRect();
    const px = event.clientX - box.left;
    const py = event.clientY - box.top;
    let best = null;
    let by = within;
    for (const spot of this.spots) {
      const off = Math.hypot(spot.px - px, spot.py - py);
      if (off < by) { best = spot.of; by = off; }
    }
    return best;
  }
}
