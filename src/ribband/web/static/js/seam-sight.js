// <seam-sight>: a view down the length of a seam, foreshortened as the eye sees it along a ribband.
// The nearer end is large and the far end small; a place that is not fair shows as a kink. Where the
// hull turns away from the eye the seam goes on as a dashed line.
import { letter, onPaper } from "/static/js/expansion.js";
import { svg } from "/static/js/svg.js";
import { faired, outward, place, seamIn } from "/static/js/space.js";

const BACK_MM = 1500; // the eye is at least this far behind the end of the ribband,
const BACK = 0.25; // and as far as this part of its length, so that its near end is not all there is to see
const OVER = 2; // times the swell of the seam over its chord the eye stands out
const SKEW = 4; // the most that one way across is drawn larger than the other
const LEAST = 4; // points shown at the least
const NEAR = 2; // strakes to either side that are drawn too
const APART_PX = 30; // between two frames' numbers

const minus = (a, b) => a.map((v, k) => v - b[k]);
const plus = (a, b, t = 1) => a.map((v, k) => v + b[k] * t);
const dot = (a, b) => a.reduce((s, v, k) => s + v * b[k], 0);
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const unit = (a) => { const n = Math.hypot(...a) || 1; return a.map((v) => v / n); };

export class SeamSight extends HTMLElement {
  constructor() {
    super();
    this.row = 0;
    this.from = "fore";
    this.out = 120;
    this.up = 80;
  }

  connectedCallback() {
    if (this.svg) return;
    this.svg = svg("svg", { class: "chart", role: "img", "aria-label": "Sight along a seam" });
    this.replaceChildren(this.svg);
    new ResizeObserver(() => this.draw()).observe(this);
    onPaper(this.svg, () => [this.svg.clientWidth, this.svg.clientHeight]);
  }

  show(space, data, girths) { Object.assign(this, { space, data, girths }); this.draw(); }

  /** Where the eye is and which way it looks: on down the chord of the seam, out where it sees over the swell of the side. */
  eye(run) {
    const points = this.ends(run).map(([, p]) => p);
    const [near, far] = [points[0], points[points.length - 1]];
    const long = Math.hypot(...minus(far, near));
    const chord = unit(minus(far, near));
    const swells = points.map((p) => { const v = minus(p, near); return plus(v, chord, -dot(v, chord)); });
    const swell = swells.reduce((most, one) => (Math.hypot(...one) > Math.hypot(...most) ? one : most));
    const at = plus(plus(plus(plus(near, chord, -Math.max(BACK_MM, BACK * long)), swell, OVER), unit(swell), this.out), [0, 0, 1], this.up);
    const look = unit(minus(plus(near, minus(far, near), 0.5), at));
    const right = unit(cross(look, [0, 0, 1]));
    return { at, look, right, over: cross(right, look) };
  }

  /** The seam from the end the eye is at. */
  ends(run) { return this.from === "fore" ? run : [...run].reverse(); }

  /** The points the eye sees, from its end to where the hull turns away, and those beyond. */
  parted(run, eye) {
    const points = this.ends(run);
    const turned = points.findIndex(([column, p], n) => n > 1 && dot(outward(this.space, this.data.ground, column, this.girths.upper[this.row][column] / 10), minus(eye.at, p)) < 0);
    const last = turned < 0 ? points.length : Math.max(turned, LEAST);
    return [points.slice(0, last), points.slice(last - 1)].map((some) => some.map(([, p]) => p));
  }

  draw() {
    if (!this.space || !this.girths?.upper[this.row]) return;
    const { ground, strakes } = this.data;
    const run = seamIn(this.space, ground, this.girths.upper[this.row]);
    if (run.length < 3) { this.svg.replaceChildren(); return; }
    const eye = this.eye(run);
    const seen = (p) => { const v = minus(p, eye.at); const deep = dot(v, eye.look); return deep > 120 ? [dot(v, eye.right) / deep, -dot(v, eye.over) / deep, deep] : null; };
    const [near, beyond] = this.parted(run, eye);
    const frame = this.fit(faired(run.map(([, p]) => p), 6).map(seen).filter(Boolean));
    const put = (p) => [frame.x + p[0] * frame.kx, frame.y + p[1] * frame.ky];
    const line = (points, kind) => { const put2 = points.map(seen).filter(Boolean).map(put); return put2.length > 1 ? [svg("path", { class: kind, d: `M${put2.map((p) => p.map((v) => v.toFixed(1)).join(" ")).join("L")}` })] : []; };
    const others = this.girths.upper.flatMap((g, row) => (row === this.row || Math.abs(row - this.row) > NEAR ? [] : line(faired(seamIn(this.space, ground, g).map(([, p]) => p), 3), "seam")));
    const sections = run.flatMap(([c]) => line(this.bit(c), "section"));
    const ribband = svg("path", { class: "ribband", d: this.ribband(seen, put, near.length) });
    let told = null; // frames far off stand close on the screen: only some are numbered
    const ticks = this.ends(run).slice(0, near.length).filter(([c]) => c > 0 && c <= ground.frames.length && c % 5 === 0).flatMap(([c, p]) => { const s = seen(p); if (!s) return []; const [x, y] = put(s); const crowded = told && Math.hypot(x - told[0], y - told[1]) < APART_PX; if (crowded) return []; told = [x, y]; return [letter(x + 10, y - 6, ground.frames[c - 1].name, "number", "start")]; });
    this.svg.replaceChildren(...sections, ...others, ...line(faired(beyond, 6), "beyond"), ribband, ...line(faired(near, 6), "sighted"), ...ticks);
    this.svg.setAttribute("aria-label", `Sight along the seam above strake ${strakes[this.row].name} from the ${this.from === "fore" ? "bow" : "stern"}, foreshortened`);
  }

  /** The bit of a frame that lies near the seam. */
  bit(column) {
    const [first, last] = [this.row - NEAR, this.row + NEAR].map((row) => Math.min(Math.max(row, 0), this.girths.upper.length - 1));
    const [a, b] = [first, last].map((row) => this.girths.upper[row][column]);
    if (a < 0 || b < 0) return [];
    return Array.from({ length: 9 }, (_, i) => place(this.space, this.data.ground, column, (a + ((b - a) * i) / 8) / 10)).filter(Boolean);
  }

  /** The whole sighted line fills the view; one way across may be drawn larger than the other. */
  fit(own) {
    const [w, h] = [this.svg.clientWidth || 500, this.svg.clientHeight || 320];
    const xs = own.map((p) => p[0]);
    const ys = own.map((p) => p[1]);
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const [across, up] = [(w - 90) / Math.max(x1 - x0, 0.002), (h - 60) / Math.max(y1 - y0, 0.002)];
    const k = Math.min(across, up);
    const [kx, ky] = [Math.min(across, SKEW * k), Math.min(up, SKEW * k)];
    return { kx, ky, x: w / 2 - ((x0 + x1) / 2) * kx, y: h / 2 - ((y0 + y1) / 2) * ky };
  }

  /** A batten 40 mm wide on the frames, along the seam as far as it is seen. */
  ribband(seen, put, many) {
    const girths = this.girths.upper[this.row];
    const edge = (by) => faired(this.ends(seamIn(this.space, this.data.ground, girths.map((g) => (g < 0 ? g : Math.max(g + by, 0))))).slice(0, many).map(([, p]) => p), 6).map(seen).filter(Boolean).map(put).map((p) => p.map((v) => v.toFixed(1)).join(" "));
    return `M${edge(200).join("L")}L${edge(-200).reverse().join("L")}Z`;
  }
}

customElements.define("seam-sight", SeamSight);
