// <flat-plank>: a plank's flat shape, drawn long, its widths stretched so that they can be seen.
//
//   document.querySelector("flat-plank").show(sheet);   // as /api/planks/{name} gives it
import { svg as s } from "/static/js/svg.js";

const SHARE = 0.24, LEAST = 280, ROOM = 26;

class FlatPlank extends HTMLElement {
  connectedCallback() {
    this.sized = new ResizeObserver(() => { if (this.sheet && this.clientWidth !== this.drawn) this.draw(); });
    this.sized.observe(this);
  }

  disconnectedCallback() { this.sized.disconnect(); }

  show(sheet) {
    this.sheet = sheet;
    this.draw();
  }

  /** Draw it as wide as there is room, so that its letters keep their size. */
  draw() {
    const { sheet } = this;
    this.drawn = this.clientWidth;
    const WIDE = Math.max(this.drawn, LEAST), HIGH = Math.max(130, WIDE * SHARE);
    const xs = sheet.outline.map((p) => p[0]), ys = sheet.outline.map((p) => p[1]);
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys, 0), Math.max(...ys, 0)];
    const across = (WIDE - 2 * ROOM) / Math.max(x1 - x0, 1), up = (HIGH - 2 * ROOM) / Math.max(y1 - y0, 1);
    const taller = Math.min(up, 8 * across);
    const at = ([x, y]) => `${(ROOM + (x - x0) * across).toFixed(1)},${(HIGH / 2 - (y - (y0 + y1) / 2) * taller).toFixed(1)}`;
    const path = (points) => `M${points.map(at).join("L")}`;
    const svg = s("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": `Flat shape of plank ${sheet.name}` });
    svg.append(s("path", { class: "wood", d: `${path(sheet.outline)}Z` }));
    svg.append(s("path", { class: "batten", d: path([[x0, 0], [x1, 0]]) }));
    let last = -100;
    for (const { frame, line } of sheet.frames) {
      svg.append(s("path", { class: "frame", d: path(line) }));
      const [x] = at(line[line.length - 1]).split(",").map(Number);
      if (x - last > Math.max(22, 9 * frame.length)) { svg.append(s("text", { x, y: HIGH - 6, "text-anchor": "middle" }, frame)); last = x; }
    }
    const stretch = taller / across;
    svg.append(s("text", { x: ROOM, y: 15 }, stretch > 1.05 ? `across the grain ${stretch.toFixed(1)} times as large; fore end left` : "to one scale; fore end left"));
    this.replaceChildren(svg);
  }
}

customElements.define("flat-plank", FlatPlank);
