// <plank-expansion>: the planking laid flat, to be looked at near and far and drawn upon.
//
//   <plank-expansion id="chart" label="Planking expansion, port side"></plank-expansion>
//   chart.show({ ground, strakes, lower, upper, width }, unit);
//   const layer = chart.layer("butts");            // an SVG group in pixels, over the strakes
//   chart.onview = () => { const [x, y] = chart.px(mmX, mmY); ... };   // after every move of the view
//   chart.hit / grab / drag / drop / leave / tap / hover: see hands.js; chart.key(event): true if taken
//   chart.reseam({ lower, upper, width });          // new seams, while a seam is dragged
//
// The bow lies to the left. Girths may be drawn up to three times larger than lengths, on a phone five.
import { edge, curve, heightAt, near, spread } from "/static/js/flat.js";
import { hands } from "/static/js/hands.js";
import { length } from "/static/js/lengths.js";
import { svg } from "/static/js/svg.js";

const MOST_STRETCH = 3;
const MOST_STRETCH_NARROW = 5; // on a phone, where seams would lie too close to be told apart
const MOST_NEAR = 60;
const UNSEEN_PX = 0.25;
const FIGURE_ROOM = 30; // px a figure keeps from the ends of the hull
const FIGURE_EVERY = 96; // px between frames whose widths are figured

/** On paper a drawing is as it was seen, however wide the paper is. @param {SVGElement} on @param {() => [number, number]} size in pixels */
export function onPaper(on, size) {
  addEventListener("beforeprint", () => { const [wide, high] = size(); if (wide && high) on.setAttribute("viewBox", `0 0 ${wide} ${high}`); });
  addEventListener("afterprint", () => on.removeAttribute("viewBox"));
}

export class Expansion extends HTMLElement {
  constructor() {
    super();
    this.view = { k: 0.1, ky: 0.1, x: 0, y: 0 };
    this.fitted = true;
    this.figures = false;
    this.onview = () => {};
    this.key = () => false;
    this.hit = () => null;
    for (const name of ["grab", "drag", "drop", "leave", "tap", "hover"]) this[name] = () => {};
  }

  connectedCallback() {
    if (this.svg) return;
    this.svg = svg("svg", { class: "chart", tabindex: 0, role: "application", "aria-roledescription": "chart", "aria-label": this.getAttribute("label") || "Planking expansion" });
    this.map = svg("g", { class: "map" });
    this.bands = svg("g", { class: "bands" });
    this.lines = svg("g", { class: "frames" });
    this.seams = svg("g", { class: "seams" });
    this.map.append(this.bands, this.lines, this.seams);
    this.letters = svg("g", { class: "letters", "aria-hidden": "true" });
    this.over = svg("g", { class: "over" });
    this.svg.append(this.map, this.letters, this.over);
    this.replaceChildren(this.svg, this.tools());
    this.hands = hands(this.svg, {
      hit: (...a) => this.hit(...a), grab: (...a) => this.grab(...a), drag: (...a) => this.drag(...a),
      drop: (...a) => this.drop(...a), leave: (...a) => this.leave(...a), tap: (...a) => this.tap(...a),
      hover: (...a) => this.hover(...a), pan: (dx, dy) => this.pan(dx, dy),
      pinch: (f, x, y, dx, dy) => { this.pan(dx, dy); this.near(f, x, y); },
    });
    this.svg.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    this.svg.addEventListener("keydown", (event) => this.keyed(event));
    new ResizeObserver(() => { this.size = null; if (this.fitted) this.fit(); else this.soon(); }).observe(this);
    onPaper(this.svg, () => [this.wide, this.high]);
  }

  tools() {
    const tools = document.createElement("div");
    tools.className = "chart-tools no-print";
    for (const [says, sign, does] of [["Nearer", "+", () => this.near(1.5)], ["Farther", "−", () => this.near(1 / 1.5)], ["Whole sheet", "⤢", () => this.fit()]]) {
      const button = document.createElement("button");
      button.type = "button";
      button.title = says;
      button.setAttribute("aria-label", says);
      button.textContent = sign;
      button.addEventListener("click", does);
      tools.append(button);
    }
    return tools;
  }

  // ---- what is shown

  /** @param {any} data ground, strakes, lower, upper, width @param {string} unit */
  show(data, unit) {
    this.ground = data.ground;
    this.strakes = data.strakes;
    this.unit = unit;
    this.drawGround();
    this.reseam(data);
    if (this.fitted) this.fit();
  }

  /** Draw new seams; those that move by less than can be seen stay as they are drawn. @param {import("./flat.js").Seams} seams */
  reseam(seams) {
    const old = this.drawn === this.ground && this.edges?.length === seams.upper.length ? this.edges : null;
    const unseen = (10 * UNSEEN_PX) / this.view.ky; // tenths of a mm
    const same = (row) => old && near(old[row].of.upper, seams.upper[row], unseen) && near(old[row].of.lower, seams.lower[row], unseen);
    this.girths = seams;
    this.drawn = this.ground;
    this.edges = seams.upper.map((upper, row) => (same(row) ? old[row] : {
      lower: edge(this.ground, seams.lower[row], row === 0), upper: edge(this.ground, upper), of: { upper, lower: seams.lower[row] },
    }));
    while (this.bands.children.length > this.edges.length) this.bands.lastChild.remove();
    while (this.seams.children.length > this.edges.length) this.seams.lastChild.remove();
    this.edges.forEach((one, row) => { if (one !== old?.[row]) this.drawStrake(one, row); });
    this.soon();
  }

  drawStrake({ lower, upper }, row) {
    let band = this.bands.children[row];
    let seam = this.seams.children[row];
    if (!band) { band = svg("path"); this.bands.append(band); seam = svg("path"); this.seams.append(seam); }
    const strake = this.strakes[row];
    band.setAttribute("class", `band ${row % 2 ? "odd" : "even"}${strake.stealer ? " stealer" : ""}`);
    const up = curve(upper);
    band.setAttribute("d", `${curve(lower)}${curve([...upper].reverse(), "L")}Z`);
    seam.setAttribute("class", `seam${row === this.edges.length - 1 ? " sheer" : ""}${strake.stealer ? " stealer" : ""}`);
    seam.setAttribute("d", strake.stealer ? `${up}${this.nib(row, lower, upper)}` : up);
  }

  /** The squared end of a stealer. */
  nib(row, lower, upper) {
    const at = this.ground.frames.find((f) => f.name === this.strakes[row].nib);
    return at ? `M${at.x} ${heightAt(lower, at.x)}L${at.x} ${heightAt(upper, at.x)}` : "";
  }

  drawGround() {
    const { frames, stem, stern, rabbet } = this.ground;
    const upright = (double) => frames.filter((f) => f.double === double).map((f) => `M${f.x} ${f.rise}V${f.rise + f.girth}`).join("");
    this.lines.replaceChildren(
      svg("path", { class: "frame", d: upright(false) }), svg("path", { class: "frame double", d: upright(true) }),
      svg("path", { class: "rabbet", d: curve(rabbet) }),
      ...[stem, stern].filter(Boolean).map((end) => svg("path", { class: "hood", d: curve(end.map((p) => [p[1], p[2]])) })),
    );
  }

  /** Give a group of a page's own over the strakes, in pixels. */
  layer(name) {
    const made = svg("g", { class: name });
    this.over.append(made);
    return made;
  }

  // ---- the view

  px(x, y) { const v = this.view; return [v.x + x * v.k, v.y - y * v.ky]; }
  mm(x, y) { const v = this.view; return [(x - v.x) / v.k, (v.y - y) / v.ky]; }
  /** Measured once for a size: to ask anew after every stroke would have the whole sheet laid out again. */
  measured() { return (this.size ||= { wide: this.svg.clientWidth || 800, high: this.svg.clientHeight || 400 }); }
  get wide() { return this.measured().wide; }
  get high() { return this.measured().high; }

  /** Room for letters, and at the top for the buttons that lie over the corner. */
  margins() {
    const top = 30 + (matchMedia("(pointer: coarse)").matches ? 30 : 18);
    return this.wide < 560 ? { x: 30, top: top + 8, foot: 26 } : { x: 58, top, foot: 30 };
  }

  fit() {
    if (!this.ground) return;
    const [left, low, right, up] = this.ground.box;
    const m = this.margins();
    const k = Math.min((this.wide - 2 * m.x) / (right - left), (this.high - m.top - m.foot) / (up - low));
    const ky = Math.min(Math.max((this.high - m.top - m.foot) / (up - low), k), (this.wide < 560 ? MOST_STRETCH_NARROW : MOST_STRETCH) * k);
    this.whole = k;
    this.stretch = ky / k;
    const spare = (this.high - m.top - m.foot - (up - low) * ky) / 2;
    this.view = { k, ky, x: m.x - left * k + (this.wide - 2 * m.x - (right - left) * k) / 2, y: this.high - m.foot - spare + low * ky };
    this.fitted = true;
    this.soon();
  }

  near(f, x = this.wide / 2, y = this.high / 2) {
    if (!this.ground) return;
    const v = this.view;
    const k = Math.min(Math.max(v.k * f, this.whole), this.whole * MOST_NEAR);
    if (k <= this.whole * 1.0001) { this.fit(); return; }
    const by = k / v.k;
    this.view = { k, ky: k * this.stretch, x: x - (x - v.x) * by, y: y - (y - v.y) * by };
    this.fitted = false;
    this.keepIn();
  }

  pan(dx, dy) {
    if (this.fitted || !this.ground) return;
    this.view = { ...this.view, x: this.view.x + dx, y: this.view.y + dy };
    this.keepIn();
  }

  /** Keep some of the drawing on the sheet. */
  keepIn() {
    const [left, low, right, up] = this.ground.box;
    const v = this.view;
    const half = { x: this.wide / 2, y: this.high / 2 };
    v.x = Math.min(Math.max(v.x, half.x - right * v.k), half.x - left * v.k);
    v.y = Math.min(Math.max(v.y, half.y + low * v.ky), half.y + up * v.ky);
    this.soon();
  }

  /** Bring a point to the middle if it is off the sheet. */
  bring(x, y) {
    const [px, py] = this.px(x, y);
    if (px > 40 && px < this.wide - 40 && py > 30 && py < this.high - 30) return;
    this.fitted = false;
    this.view = { ...this.view, x: this.view.x + this.wide / 2 - px, y: this.view.y + this.high / 2 - py };
    this.keepIn();
  }

  wheel(event) {
    if (!this.ground || (this.fitted && event.deltaY > 0)) return;
    event.preventDefault();
    const box = this.svg.getBoundingClientRect();
    if (event.shiftKey) { this.pan(-event.deltaY, 0); return; }
    const step = event.deltaMode === 1 ? event.deltaY * 30 : event.deltaY;
    this.near(Math.exp(-Math.max(-240, Math.min(240, step)) / 500), event.clientX - box.left, event.clientY - box.top);
  }

  keyed(event) {
    if (event.defaultPrevented) return;
    if (this.key(event)) { event.preventDefault(); event.stopPropagation(); return; }
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const step = 60;
    const does = {
      "+": () => this.near(1.4), "=": () => this.near(1.4), "-": () => this.near(1 / 1.4), "0": () => this.fit(),
      ArrowLeft: () => this.pan(step, 0), ArrowRight: () => this.pan(-step, 0), ArrowUp: () => this.pan(0, step), ArrowDown: () => this.pan(0, -step),
    }[event.key];
    if (does) { does(); event.preventDefault(); }
  }

  /** Put everything in its place on the next frame of the screen. */
  soon() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => { this.asked = false; this.place(); });
  }

  place() {
    if (!this.ground || !this.edges) return;
    const v = this.view;
    this.map.setAttribute("transform", `matrix(${v.k} 0 0 ${-v.ky} ${v.x} ${v.y})`);
    this.svg.classList.toggle("nearer", !this.fitted);
    this.letters.replaceChildren(...this.frameNumbers(), ...this.strakeNames(), ...(this.figures ? this.widthFigures() : []), ...this.stretched());
    this.onview();
  }

  // ---- lettering

  every(least) {
    const { frames } = this.ground;
    const bay = ((frames[frames.length - 1].x - frames[0].x) / Math.max(frames.length - 1, 1)) * this.view.k;
    return [1, 2, 5, 10, 20].find((n) => n * bay >= least) || 20;
  }

  /** Say how much larger heights are drawn than lengths. */
  stretched() {
    const by = this.view.ky / this.view.k;
    return by > 1.05 ? [letter(8, 16, `heights drawn ×${by.toFixed(1)}`, "number", "start")] : [];
  }

  frameNumbers() {
    const step = this.every(24);
    const found = [];
    this.ground.frames.forEach((f, i) => {
      if ((i + 1) % step && i) return;
      const [x, up] = this.px(f.x, f.rise + f.girth);
      const low = this.px(f.x, f.rise)[1];
      if (x < -20 || x > this.wide + 20) return;
      found.push(letter(x, Math.max(up - 10, 14), f.name, "number"));
      if (f.keel) found.push(letter(x, Math.min(low + 18, this.high - 6), f.name, "number"));
    });
    return found;
  }

  strakeNames() {
    return [...this.namesAt(true), ...(this.wide < 560 ? [] : this.namesAt(false))];
  }

  /** Strake numbers beyond the hood ends, or at the edge of the sheet where those are out of sight. */
  namesAt(fore) {
    const edgeX = this.mm(fore ? 26 : this.wide - 26, 0)[0];
    const rows = [];
    this.edges.forEach(({ lower, upper }, row) => {
      if (lower.length < 2 || upper.length < 2) return;
      const ends = [lower, upper].map((e) => (fore ? e[0] : e[e.length - 1]));
      const endX = (ends[0][0] + ends[1][0]) / 2;
      const inside = fore ? endX >= edgeX : endX <= edgeX;
      if (this.strakes[row].stealer && !inside) { if (edgeX < lower[0][0] || edgeX > lower[lower.length - 1][0]) return; }
      const point = inside ? [endX, (ends[0][1] + ends[1][1]) / 2] : [edgeX, (heightAt(lower, edgeX) + heightAt(upper, edgeX)) / 2];
      const [x, y] = this.px(...point);
      if (y > -10 && y < this.high + 10) rows.push({ row, x, y, inside });
    });
    const many = rows.length;
    const room = Math.max(140, 1.5 * (Math.max(...rows.map((one) => one.y)) - Math.min(...rows.map((one) => one.y))));
    const step = [1, 2, 5, 10].find((n) => (many / n) * 13 <= room) || 20;
    const named = rows.filter(({ row }) => step === 1 || row === 0 || (row + 1) % step === 0);
    const places = spread(named.map((one) => one.y), 13);
    const side = fore ? -1 : 1;
    return named.flatMap(({ row, x, y, inside }, i) => {
      const at = inside ? x + side * 24 : x;
      const line = inside ? [svg("path", { class: "leader", d: `M${x + side * 3} ${y}L${at - side * 9} ${places[i]}` })] : [];
      return [...line, letter(at, places[i] + 4, this.strakes[row].name, `strake${inside ? "" : " edge"}`, "middle")];
    });
  }

  widthFigures() {
    const step = this.every(FIGURE_EVERY);
    const found = [];
    const ends = [this.ground.box[0], this.ground.box[2]].map((x) => this.px(x, 0)[0]);
    this.ground.frames.forEach((f, i) => {
      if ((i + 1) % step) return;
      const x = this.px(f.x, 0)[0];
      if (x < 0 || x > this.wide || ends.some((end) => Math.abs(end - x) < FIGURE_ROOM)) return; // strakes are numbered there
      this.girths.width.forEach((width, row) => {
        const [lower, upper] = [this.girths.lower[row][i + 1], this.girths.upper[row][i + 1]];
        if (width[i + 1] < 0 || upper < 0) return;
        const tall = ((upper - lower) / 10) * this.view.ky;
        if (tall < 14) return;
        const y = this.px(0, f.rise + (lower + upper) / 20)[1];
        if (y > 0 && y < this.high) found.push(letter(x, y + 4, length(width[i + 1] / 10, this.unit, true), "width"));
      });
    });
    return found;
  }

  /** The strake whose band holds a point (mm), or -1. */
  strakeAt(x, y) {
    return this.edges.findIndex(({ lower, upper }) => lower.length > 1 && x >= Math.min(lower[0][0], upper[0][0]) && x <= Math.max(lower[lower.length - 1][0], upper[upper.length - 1][0]) && y >= heightAt(lower, x) && y <= heightAt(upper, x));
  }

  /** Heights (mm) of a strake's edges at x. */
  edgesAt(row, x) { const one = this.edges[row]; return [heightAt(one.lower, x), heightAt(one.upper, x)]; }
}

/** Letter something. */
export function letter(x, y, text, kind, anchor = "middle") {
  const made = svg("text", { x: x.toFixed(1), y: y.toFixed(1), class: kind, "text-anchor": anchor });
  made.textContent = text;
  return made;
}

customElements.define("plank-expansion", Expansion);
