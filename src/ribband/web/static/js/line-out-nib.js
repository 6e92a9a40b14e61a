// A stealer's nib on the expansion: chosen, dragged from frame to frame and from strake to strake.
//
// It lies over the seams (`SeamsChart`) and is taken hold of first, by a finger too: handles are few. While it is dragged the server
// settles the lining for where it stands, one request at a time; what cannot be is said in words.
import { svg } from "/static/js/svg.js";
import { girthAt } from "/static/js/flat.js";

const OUT_PX = 20; // the handle stands so far beyond the squared end, clear of the seams' crossings

export class NibsChart {
  /**
   * @param {import("./expansion.js").Expansion} chart
   * @param {{may: () => boolean, chose: (row: number) => void, settle: (stealer: string, above: string, frame: string, hold: string) => Promise<any>,
   *   moved: (answer: any) => void, dropped: (answer: any) => void, left: (hold: string, from: any) => void, elsewhere: () => void}} does
   */
  constructor(chart, does) {
    this.chart = chart;
    this.does = does;
    this.name = ""; // of the chosen one
    this.marks = chart.layer("nibs");
    const under = {};
    for (const own of ["hit", "grab", "drag", "drop", "leave", "tap", "hover", "key", "onview"]) under[own] = chart[own];
    chart.hit = (x, y, reach, kind) => this.hit(x, y, reach) || under.hit(x, y, reach, kind);
    chart.grab = (h, x, y) => { if (h.nib) this.grab(h); else { this.choose(""); under.grab(h, x, y); } };
    chart.drag = (h, x, y) => (h.nib ? this.drag(x, y) : under.drag(h, x, y));
    chart.drop = (h) => (h.nib ? this.drop() : under.drop(h));
    chart.leave = (h) => (h?.nib ? this.leave() : under.leave(h));
    chart.tap = (x, y, kind) => { if (!this.tapped(x, y, kind)) { this.choose(""); under.tap(x, y, kind); } };
    chart.hover = (x, y) => { if (this.data && this.hit(x, y, 10)) chart.svg.style.cursor = "move"; else under.hover(x, y); };
    chart.key = (event) => this.keyed(event) || under.key(event);
    chart.onview = () => { under.onview(); this.draw(); };
  }

  /** @param {any} data the page's @param {any} seams as they lie */
  show(data, seams) {
    this.data = data;
    this.seams = seams;
    if (this.name && this.row < 0) this.name = "";
    this.draw();
  }

  get row() { return this.data ? this.data.strakes.findIndex((s) => s.stealer && s.name === this.name) : -1; }
  rows() { return this.data.strakes.flatMap((s, row) => (s.stealer && s.nib ? [row] : [])); }
  frameAt(name) { return this.data.ground.frames.findIndex((f) => f.name === name); }

  /** Where the handle of a stealer stands, in pixels, and the middle of its squared end. */
  place(row) {
    const strake = this.data.strakes[row];
    const f = this.frameAt(strake.nib);
    const [low, up] = [this.seams.lower[row][f + 1], this.seams.upper[row][f + 1]];
    if (f < 0 || low < 0 || up < 0) return null;
    const frame = this.data.ground.frames[f];
    const [x, y] = this.chart.px(frame.x, frame.rise + (low + up) / 20);
    return { x, y, out: x + (strake.nib === strake.first ? -OUT_PX : OUT_PX) };
  }

  nearest(x, y, reach) {
    let best = null;
    for (const row of this.rows()) {
      const p = this.place(row);
      const far = p ? Math.hypot(p.out - x, p.y - y) : Infinity;
      if (far <= reach && (!best || far < best.far)) best = { row, far };
    }
    return best;
  }

  hit(x, y, reach) {
    if (!this.seams || !this.does.may()) return null;
    const found = this.nearest(x, y, Math.max(reach, 12));
    if (!found) return null;
    return { nib: this.data.strakes[found.row].name };
  }

  tapped(x, y, kind) {
    const found = this.seams && this.nearest(x, y, kind === "touch" ? 30 : 14);
    if (!found) return false;
    this.choose(this.data.strakes[found.row].name);
    return true;
  }

  choose(name) {
    if (this.moving) this.leave();
    if (!name && !this.name) return;
    this.name = name;
    this.draw();
    if (name) this.does.chose(this.row);
  }

  // ---- moving

  grab(h) { this.choose(h.nib); this.begin(); }

  begin() {
    const strake = this.data.strakes[this.row];
    this.moving = {
      from: { strakes: this.data.strakes, seams: this.seams }, stealer: strake.name, nib: strake.nib, was: [strake.name.replace(/s.*$/, ""), strake.nib],
      hold: `n${Math.random().toString(36).slice(2, 12)}`, want: [strake.name.replace(/s.*$/, ""), strake.nib], asked: null, answer: null, busy: null,
    };
    this.draw();
  }

  /** Bring the nib under a place on the screen: the nearest frame, and the nearest seam between whole strakes. */
  drag(x, y) {
    const mine = this.moving;
    if (!mine) return;
    const { frames } = this.data.ground;
    const strake = mine.from.strakes.find((s) => s.name === mine.stealer);
    const [mx, my] = this.chart.mm(x - (strake.nib === strake.first ? -OUT_PX : OUT_PX), y);
    const f = frames.reduce((best, one, i) => (Math.abs(one.x - mx) < Math.abs(frames[best].x - mx) ? i : best), 0);
    const girth = 10 * girthAt(this.data.ground, f + 1, my);
    const heights = this.heights(f + 1);
    const above = heights.reduce((best, one) => (Math.abs(one.girth - girth) < Math.abs(best.girth - girth) ? one : best), heights[0]);
    if (above) this.to(above.name, frames[f].name);
  }

  /** Where a stealer could lie on a frame: above each whole strake but the sheer strake. */
  heights(column) {
    const { strakes, seams } = this.moving.from;
    const whole = strakes.flatMap((s, row) => (s.stealer ? [] : [row])).slice(0, -1);
    return whole.map((row) => {
      const own = strakes[row + 1]?.name === this.moving.stealer ? row + 1 : row;
      const up = Math.max(seams.upper[own][column], seams.upper[row][column]);
      return { name: strakes[row].name, girth: (seams.upper[row][column] + up) / 2 };
    }).filter((one) => one.girth >= 0);
  }

  /** Bring the nib to a frame, above a strake. */
  to(above, frame) {
    const mine = this.moving;
    if (!mine) return;
    mine.want = [above, frame];
    this.draw();
    this.ask();
  }

  ask() {
    const mine = this.moving;
    const [above, frame] = mine.want;
    if (mine.busy || mine.asked === `${above} ${frame}`) return;
    mine.asked = `${above} ${frame}`;
    const began = performance.now();
    mine.busy = this.does.settle(mine.stealer, above, frame, mine.hold).then((answer) => {
      mine.busy = null;
      if (this.moving !== mine) return;
      mine.answer = answer;
      this.name = answer.stealer;
      this.does.moved(answer);
      dispatchEvent(new CustomEvent("nib-drawn", { detail: { ms: performance.now() - began } }));
      this.ask();
    }).catch((error) => { mine.busy = null; mine.failed = error; });
  }

  async drop() {
    const mine = this.moving;
    if (!mine) return;
    if (mine.want.join() === mine.was.join()) { this.leave(); return; }
    while (mine.busy) await mine.busy;
    if (this.moving !== mine) return;
    if (mine.failed || !mine.answer?.stands) { this.leave(); return; }
    this.moving = null;
    this.draw();
    this.does.dropped(mine.answer);
  }

  leave() {
    const mine = this.moving;
    if (!mine) return;
    this.moving = null;
    this.name = mine.stealer;
    this.does.left(mine.hold, mine.from);
    this.draw();
  }

  // ---- keys

  keyed(event) {
    if (!this.seams || event.ctrlKey || event.metaKey || event.altKey) return false;
    const across = { ArrowLeft: -1, ArrowRight: 1 }[event.key] || 0;
    const up = { ArrowUp: 1, ArrowDown: -1 }[event.key] || 0;
    if (this.moving) {
      if (across || up) this.step(up, across);
      else if (event.key === "Enter") this.drop();
      else if (event.key === "Escape") this.leave();
      else return false;
      return true;
    }
    if (event.key === "n" || event.key === "N") return this.next();
    if (this.row < 0) return false;
    if (event.key === "Escape") { this.choose(""); this.does.elsewhere(); return true; }
    if ((across || up) && event.shiftKey) { if (this.does.may()) { this.begin(); this.step(up, across); } return true; }
    if (across || up) { this.choose(""); return false; }
    return false;
  }

  /** Choose the next nib. */
  next() {
    const rows = this.rows();
    if (!rows.length) return false;
    const at = rows.indexOf(this.row);
    const row = rows[(at + 1) % rows.length];
    this.choose(this.data.strakes[row].name);
    const frame = this.data.ground.frames[this.frameAt(this.data.strakes[row].nib)];
    this.chart.bring(frame.x, frame.rise + this.seams.upper[row][this.frameAt(frame.name) + 1] / 10);
    return true;
  }

  step(up, across) {
    const { frames } = this.data.ground;
    const [above, frame] = this.moving.want;
    const f = Math.min(Math.max(this.frameAt(frame) + across, 0), frames.length - 1);
    const names = this.moving.from.strakes.filter((s) => !s.stealer).slice(0, -1).map((s) => s.name);
    const k = Math.min(Math.max(names.indexOf(above) + up, 0), names.length - 1);
    this.to(names[k], frames[f].name);
  }

  // ---- drawing

  draw() {
    if (!this.seams || !this.chart.edges) return;
    this.marks.replaceChildren(...this.rows().flatMap((row) => {
      const p = this.place(row);
      if (!p) return [];
      const own = this.data.strakes[row].name === this.name;
      const side = Math.sign(p.out - p.x);
      const bad = own && this.moving?.answer && !this.moving.answer.stands;
      return [
        svg("path", { class: "nib-thread", d: `M${p.x} ${p.y}H${p.out - side * 8}` }),
        ...(own ? [svg("circle", { class: "reach", cx: p.out, cy: p.y, r: 24 })] : []),
        svg("path", { class: `nib-grip${own ? " chosen" : ""}${own && this.moving ? " moving" : ""}${bad ? " bad" : ""}`, d: `M${p.out - side * 9} ${p.y}L${p.out + side * 7} ${p.y - 9}V${p.y + 9}Z` }, [svg("title", {}, [`squared end of stealer ${this.data.strakes[row].name}`])]),
      ];
    }), ...this.wanted());
  }

  /** Where the hand wants it, until the answer is there. */
  wanted() {
    const mine = this.moving;
    if (!mine) return [];
    const [above, frame] = mine.want;
    const f = this.frameAt(frame);
    const height = this.heights(f + 1).find((one) => one.name === above);
    if (!height) return [];
    const one = this.data.ground.frames[f];
    const [x, y] = this.chart.px(one.x, one.rise + height.girth / 10);
    return [svg("path", { class: "nib-want", d: `M${x - 8} ${y - 8}h16v16h-16Z` })];
  }
}
