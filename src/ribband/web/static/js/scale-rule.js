// A rule of the stock lengths, to be laid on a strake and slid along it: how far each board reaches.
import { letter } from "/static/js/expansion.js";
import { svg } from "/static/js/svg.js";
import { along as read } from "/static/js/flat.js";
import { length } from "/static/js/lengths.js";

export class ScaleRule {
  /** @param {import("./expansion.js").Expansion} chart @param {{says: (text: string) => void, moved: () => void}} does */
  constructor(chart, does) {
    this.chart = chart;
    this.does = does;
    this.on = false;
    this.strake = 0;
    this.from = 0; // mm along the strake from its fore end
    this.layer = chart.layer("scale-rule");
    this.layer.addEventListener("keydown", (event) => this.keyed(event));
  }

  /** @param {any} data the page's @param {number[]} starts mm along the strake where planks begin */
  show(data) { this.data = data; this.strake = Math.min(this.strake, data.strakes.length - 1); this.draw(); }

  /** Rows of (mm along, x) for the strake. */
  places() {
    const { along, length: whole, ground } = this.data;
    const { lower, upper } = this.chart.edges[this.strake];
    const f = ground.frames;
    const x = (j) => (j % 2 ? (f[j >> 1].x + f[(j >> 1) + 1].x) / 2 : f[j >> 1].x);
    const ends = [lower, upper].map((e) => [e[0][0], e[e.length - 1][0]]);
    const inner = along[this.strake].map((mm, j) => [mm / 10, x(j)]).filter(([mm]) => mm > 0 && mm < whole[this.strake] / 10);
    return [[0, (ends[0][0] + ends[1][0]) / 2], ...inner, [whole[this.strake] / 10, (ends[0][1] + ends[1][1]) / 2]];
  }

  get whole() { return this.data.length[this.strake] / 10; }

  /** Lengths a plank out of each board may have: the board less its trim. */
  reaches() {
    return this.data.stock.map((one) => ({ ...one, mm: one.length - this.data.trim })).filter((one) => one.mm > 0);
  }

  draw() {
    if (!this.on || !this.data || !this.chart.edges) { this.layer.replaceChildren(); return; }
    const places = this.places();
    const at = (mm) => { const x = read(places, mm, 1); return this.chart.px(x, this.chart.edgesAt(this.strake, x)[1]); };
    const reach = this.reaches().filter((one) => this.from + one.mm <= this.whole);
    const far = reach.length ? Math.max(...reach.map((one) => one.mm)) : this.whole - this.from;
    const run = [];
    for (let i = 0; i <= 40; i++) run.push(at(this.from + (far * i) / 40));
    const text = (points) => points.map((p) => p.map((v) => v.toFixed(1)).join(" ")).join("L");
    const body = svg("path", { class: "body", d: `M${text(run)}L${text([...run].reverse().map(([x, y]) => [x, y - 16]))}Z` });
    const g = svg("g", { class: "handle", tabindex: 0, role: "slider", "aria-label": `Scale rule on strake ${this.data.strakes[this.strake].name}`, "aria-valuemin": 0, "aria-valuemax": Math.round(this.whole), "aria-valuenow": Math.round(this.from), "aria-valuetext": this.says() }, [body]);
    const [x0, y0] = at(this.from);
    g.append(svg("path", { class: "end", d: `M${x0} ${y0 + 6}V${y0 - 22}` }));
    let last = -99;
    for (const one of reach) {
      const [x, y] = at(this.from + one.mm);
      g.append(svg("path", { class: "tick", d: `M${x} ${y}V${y - 20}` }));
      if (x - last > 46) { g.append(letter(x, y - 23, one.text, "figure")); last = x; }
    }
    const focus = this.layer.contains(document.activeElement);
    this.layer.replaceChildren(g);
    if (focus) g.focus();
    this.does.says(this.says());
  }

  says() {
    const { unit } = this.data;
    if (!this.data.stock.length) return `From ${this.frameAt(this.from)}: ${length(this.whole - this.from, unit)} to the after end. No stock lengths are entered, so no board is marked.`;
    const names = this.reaches().filter((one) => this.from + one.mm <= this.whole).map((one) => `${one.text} to ${this.frameAt(this.from + one.mm)}`);
    const trim = length(this.data.trim, unit);
    return `From ${this.frameAt(this.from)}, ${trim} allowed for trimming: ${names.join(", ") || "every board reaches past the end"}. ${length(this.whole - this.from, unit)} left to the after end.`;
  }

  /** Name the last frame before a place. */
  frameAt(mm) {
    if (mm <= 0) return "the fore end";
    const x = read(this.places(), mm, 1);
    const f = this.data.ground.frames;
    const near = f.reduce((best, one) => (Math.abs(one.x - x) < Math.abs(best.x - x) ? one : best), f[0]);
    const off = x - near.x;
    const bay = f.length > 1 ? Math.abs(f[1].x - f[0].x) : 1;
    return Math.abs(off) < bay / 8 ? `frame ${near.name}` : `${off < 0 ? "forward" : "aft"} of frame ${near.name}`;
  }

  hit(x, y, reach) {
    if (!this.on || !this.data) return null;
    const places = this.places();
    const mx = this.chart.mm(x, 0)[0];
    const begin = read(places, this.from, 1);
    const far = Math.max(0, ...this.reaches().map((one) => one.mm));
    const end = read(places, Math.min(this.from + far, this.whole), 1);
    const slack = reach / this.chart.view.k;
    if (mx < begin - slack || mx > end + slack) return null;
    const top = this.chart.px(mx, this.chart.edgesAt(this.strake, mx)[1])[1];
    return y <= top + 3 && y >= top - 22 - reach / 2 ? { rule: true, off: mx - begin } : null;
  }

  drag(h, x, y) {
    const [mx, my] = this.chart.mm(x, y);
    const strake = this.chart.strakeAt(mx, my - 8 / this.chart.view.ky);
    const beyond = Math.abs(y - this.chart.px(mx, this.chart.edgesAt(this.strake, mx)[1])[1]) > 34;
    if (strake >= 0 && beyond) this.strake = strake;
    const rows = this.places().map(([mm, at]) => [at, mm]);
    this.lay(this.strake, read(rows, mx - h.off, 1));
  }

  lay(strake, from) {
    this.strake = strake;
    this.from = Math.min(Math.max(from, 0), this.whole * 0.98);
    const near = [0, ...this.starts(strake)].find((mm) => Math.abs(mm - this.from) * this.chart.view.k < 7);
    if (near !== undefined) this.from = near;
    this.draw();
    this.does.moved();
  }

  starts() { return []; }

  keyed(event) {
    if (event.key === "Home") { event.preventDefault(); this.lay(this.strake, 0); return; }
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    const up = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!step && !up) return;
    event.preventDefault();
    event.stopPropagation();
    if (up) { this.lay(Math.min(Math.max(this.strake + up, 0), this.data.strakes.length - 1), this.from); return; }
    const stops = this.places().map(([mm]) => mm);
    const next = step > 0 ? stops.find((mm) => mm > this.from + 1) : stops.filter((mm) => mm < this.from - 1).pop();
    if (next !== undefined) { this.from = next; this.draw(); this.does.moved(); }
  }
}
