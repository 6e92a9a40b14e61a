// Seams on the expansion: a point chosen by seam and frame, dragged, the rest following.
//
// While the hand moves, all seams go with it at once, as they leaned from where they lay to the last
// answer; before there is one, the seam alone, its near frames a little. The server settles the whole
// lining for where the hand is, one request at a time, and its answer takes the place.
import { Offline } from "/static/js/job.js";
import { svg } from "/static/js/svg.js";
import { at, girthAt } from "/static/js/flat.js";
import { leaned, leaning, pulled } from "/static/js/seams-lean.js";

const RESTS = 3; // times it is asked again for where the hand lies still

/** @typedef {import("./flat.js").Seams & {girth?: number, text?: string, feasible?: boolean, over?: string}} Answer */

export class SeamsChart {
  /**
   * @param {import("./expansion.js").Expansion} chart
   * @param {{may: () => boolean, chose: (row: number, column: number) => void, settle: (strake: string, frame: string, girth: number, hold: string, rests: boolean) => Promise<Answer>,
   *   moved: (seams: Answer, whole: boolean) => void, dropped: (row: number, column: number, answer: Answer) => void, left: (hold: string) => void, fix: () => void}} does
   */
  constructor(chart, does) {
    this.chart = chart;
    this.does = does;
    this.row = -1;
    this.column = -1;
    this.points = []; // what is fixed: {row, column, kind}
    this.marks = chart.layer("fixes");
    this.grips = chart.layer("grips");
    chart.onview = () => this.draw();
    chart.key = (event) => this.keyed(event);
    Object.assign(chart, {
      hit: (x, y, reach, kind) => this.hit(x, y, reach, kind), grab: (h) => this.grab(h), drag: (h, x, y) => this.drag(y),
      drop: () => this.drop(), leave: () => this.leave(), tap: (x, y, kind) => this.tapped(x, y, kind), hover: (x, y) => this.hover(x, y),
    });
  }

  /** @param {any} data the page's @param {Answer} seams */
  show(data, seams) {
    this.data = data;
    this.seams = seams;
    this.columns = ["stem", ...data.ground.frames.map((f) => f.name), "stern"];
    if (this.row >= data.strakes.length - 1) this.row = this.column = -1;
    this.draw();
  }

  girth(row = this.row, column = this.column) { return this.seams.upper[row]?.[column] ?? -1; }

  place(row, column) {
    const girth = this.girth(row, column);
    const p = girth < 0 ? null : at(this.data.ground, column, girth / 10);
    return p && this.chart.px(...p);
  }

  /** The crossing of a seam and a frame nearest to a place on the screen. */
  nearest(x, y, reach) {
    let best = null;
    for (let column = 0; column < this.columns.length; column++) {
      const f = this.data.ground.frames[column - 1];
      if (f && Math.abs(this.chart.px(f.x, 0)[0] - x) > reach) continue;
      for (let row = 0; row < this.seams.upper.length - 1; row++) {
        const p = this.place(row, column);
        const far = p ? Math.hypot(p[0] - x, p[1] - y) : reach + 1;
        if (far <= reach && (!best || far < best.far)) best = { row, column, far };
      }
    }
    return best;
  }

  hit(x, y, reach, kind) {
    if (!this.does.may()) return null;
    const own = this.row < 0 ? null : this.place(this.row, this.column);
    if (own && Math.hypot(own[0] - x, own[1] - y) <= Math.max(reach, 22)) return { row: this.row, column: this.column };
    return kind === "touch" ? null : this.nearest(x, y, 7);
  }

  tapped(x, y, kind) {
    const found = this.nearest(x, y, kind === "touch" ? 30 : 12);
    if (found) this.choose(found.row, found.column);
    else this.choose(-1, -1);
  }

  hover(x, y) { if (this.seams) this.chart.svg.style.cursor = this.hit(x, y, 8, "mouse") ? "ns-resize" : ""; }

  choose(row, column) {
    if (this.moving) this.leave();
    this.row = row;
    this.column = column;
    this.draw();
    this.does.chose(row, column);
  }

  // ---- moving

  grab(h) {
    this.choose(h.row, h.column);
    this.begin();
  }

  begin() {
    this.moving = { from: this.seams, hold: `d${Math.random().toString(36).slice(2, 12)}`, want: this.girth() / 10, answer: null, busy: null };
    this.draw();
  }

  drag(y) { this.to(girthAt(this.data.ground, this.column, this.chart.mm(0, y)[1])); }

  /** Bring the chosen point to a girth, mm. */
  to(girth) {
    if (!this.moving) return;
    const whole = this.wholeGirth();
    this.moving.want = Math.min(Math.max(girth, whole * 0.004), whole * 0.996);
    const began = performance.now();
    this.preview();
    if (this.moving.lean) told("seam-leaned", began);
    this.ask(false);
  }

  wholeGirth() {
    const { ground } = this.data;
    const f = ground.frames[this.column - 1];
    const end = this.column === 0 ? ground.stem : ground.stern;
    return f ? f.girth : end[end.length - 1][0];
  }

  /** Until the answer is there: all seams as they leaned so far, or the one under the hand. */
  preview() {
    const { answer, from, lean, want } = this.moving;
    const base = answer || from;
    const off = Math.round(want * 10) - base.upper[this.row][this.column];
    this.seams = !off ? base : lean ? leaned(base, lean, this.row, this.column, off) : pulled(base, this.row, this.column, off);
    this.does.moved(this.seams, false);
    this.draw();
  }

  /** @param {boolean} rests whether the hand lies still where it was asked for before */
  ask(rests) {
    const mine = this.moving;
    if (mine.busy) return;
    const want = mine.want;
    const began = performance.now();
    mine.busy = this.does.settle(this.data.strakes[this.row].name, this.columns[this.column], want, mine.hold, rests).then((answer) => {
      mine.busy = null;
      mine.failed = null;
      if (this.moving !== mine) return;
      mine.answer = answer;
      mine.lean = leaning(mine.from, answer, this.row, this.column) || mine.lean;
      const moving = Math.abs(mine.want - want) > 0.2;
      if (moving) this.preview();
      else { this.seams = answer; this.does.moved(answer, true); this.draw(); }
      told("seam-drawn", began);
      if (moving) mine.rested = 0;
      const on = mine.dropping ? answer.more && !rests : (answer.more || !answer.planks || answer.planks.part) && (mine.rested = (mine.rested || 0) + 1) <= RESTS;
      if (moving || on) this.ask(!moving || mine.dropping); // a large lining is brought on while the hand rests
    }).catch((error) => { mine.busy = null; mine.failed = error; });
  }

  async drop() {
    const mine = this.moving;
    if (!mine) return;
    if (Math.abs(mine.want - mine.from.upper[this.row][this.column] / 10) < 0.05) { this.leave(); return; }
    mine.dropping = true;
    while (mine.busy) await mine.busy;
    if (this.moving !== mine) return;
    const away = mine.failed instanceof Offline; // what was drawn by hand stands, and is sent when the server is back
    if (!away && (mine.failed || !mine.answer)) { this.leave(); return; }
    this.moving = null;
    this.draw();
    this.does.dropped(this.row, this.column, away ? { ...this.seams, text: "" } : mine.answer);
  }

  leave() {
    const mine = this.moving;
    if (!mine) return;
    this.moving = null;
    this.seams = mine.from;
    this.does.moved(this.seams, true);
    this.does.left(mine.hold);
    this.draw();
  }

  // ---- keys

  keyed(event) {
    if (!this.seams) return false;
    const across = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    const up = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (this.moving) {
      if (up) { this.to(this.moving.want + up * this.step(event.ctrlKey)); return true; }
      if (event.key === "Enter") { this.drop(); return true; }
      if (event.key === "Escape") { this.leave(); return true; }
      return Boolean(across);
    }
    if (up && event.shiftKey && this.row >= 0) { if (this.does.may()) { this.begin(); this.to(this.moving.want + up * this.step(event.ctrlKey)); } return true; }
    if ((event.key === "f" || event.key === "F") && this.row >= 0 && !event.ctrlKey) { this.does.fix(); return true; }
    if (event.key === "Escape" && this.row >= 0) { this.choose(-1, -1); return true; }
    if (!across && !up) return false;
    if (event.shiftKey) return false;
    this.go(up || 0, across || 0);
    return true;
  }

  step(large) {
    const fine = { mm: 1, cm: 1, m: 1, in: 25.4 / 8, ft: 3.048, "ft-in-8ths": 25.4 / 8 }[this.data.unit] || 1;
    return large ? 8 * fine : fine;
  }

  go(up, across) {
    if (this.row < 0) { this.choose(Math.floor(this.data.strakes.length / 2), Math.floor(this.columns.length / 2)); return; }
    let [row, column] = [this.row, this.column];
    do {
      row += up;
      column += across;
      if (row < 0 || row > this.data.strakes.length - 2 || column < 0 || column >= this.columns.length) return;
    } while (this.girth(row, column) < 0);
    this.choose(row, column);
    const p = at(this.data.ground, column, this.girth() / 10);
    if (p) this.chart.bring(...p);
  }

  // ---- drawing

  draw() {
    if (!this.seams || !this.chart.edges) return;
    [...this.chart.seams.children].forEach((path, row) => path.classList.toggle("chosen", row === this.row));
    this.marks.replaceChildren(...this.points.map(({ row, column, kind }) => {
      const p = this.place(row, column);
      return p ? svg("path", { class: `fix ${kind}`, d: kind === "master" ? `M${p[0]} ${p[1] - 7}l7 7l-7 7l-7 -7Z` : `M${p[0] - 5} ${p[1] - 5}h10v10h-10Z` }, [svg("title", {}, [kind === "master" ? "on the master line" : "fixed"])]) : "";
    }));
    const p = this.row < 0 ? null : this.place(this.row, this.column);
    this.grips.replaceChildren(...(p ? [
      svg("path", { class: "thread", d: `M${p[0]} 0V${this.chart.high}` }),
      svg("circle", { class: "reach", cx: p[0], cy: p[1], r: 24 }), svg("circle", { class: `grip${this.moving ? " moving" : ""}`, cx: p[0], cy: p[1], r: 9 }),
    ] : []));
  }
}

/** Tell how long an answer took to be drawn, for whoever measures. */
function told(kind, began) { dispatchEvent(new CustomEvent(kind, { detail: { ms: performance.now() - began } })); }
