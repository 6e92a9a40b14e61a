// Butts on the expansion: drawn, chosen, dragged from landing to landing, pinned.
import { svg } from "/static/js/svg.js";

/**
 * @typedef {{strake: number, landing: number, fixed: boolean}} Butt
 */

export class ButtsChart {
  /** @param {import("./expansion.js").Expansion} chart @param {{moved: Function, dropped: Function, chose: Function, pinned: Function, stretched: Function}} does */
  constructor(chart, does) {
    this.chart = chart;
    this.does = does;
    /** @type {Butt[]} */
    this.butts = [];
    this.broken = [];
    this.chosen = -1;
    this.forbidding = false;
    this.shut = chart.layer("shut");
    this.links = chart.layer("links");
    this.marks = chart.layer("butts");
    this.stretch = chart.layer("stretch");
    chart.svg.addEventListener("focusin", (event) => this.focused(event)); // a group that listened would itself be a stop of the Tab key
    chart.onview = () => this.draw();
    chart.key = (event) => this.keyed(event);
    Object.assign(chart, {
      hit: (x, y, reach) => this.hit(x, y, reach), grab: (h, x, y) => this.grab(h, x, y), drag: (h, x, y) => this.drag(h, x, y),
      drop: (h) => this.drop(h), leave: (h) => this.leave(h), tap: (x, y, kind) => this.tapped(x, y, kind),
      hover: (x, y) => this.hover(x, y),
    });
  }

  /** @param {any} data the page's @param {any} side one of its sides */
  show(data, side) {
    const was = this.butts[this.chosen];
    this.data = data;
    this.side = side;
    this.kind = data.rules.find((r) => r.name === "butts.landings")?.value || "frames";
    this.butts = side.butts.map(([strake, landing, fixed]) => ({ strake, landing, fixed }));
    this.chosen = was ? this.butts.findIndex((b) => b.strake === was.strake && b.landing === was.landing) : -1;
    this.moving = null;
    const held = this.marks.contains(document.activeElement) ? was : null;
    this.clash(side.clashes);
    if (held) this.hold(held);
  }

  /** Give the keyboard its place back on the butt it was on, or the one nearest along the strake. */
  hold(was) {
    const far = (b) => Math.abs(b.strake - was.strake) * 1000 + Math.abs(b.landing - was.landing);
    const near = this.butts.reduce((best, b, i) => (best < 0 || far(b) < far(this.butts[best]) ? i : best), -1);
    const mark = this.marks.children[near];
    if (!mark) { this.chart.svg.focus({ preventScroll: true }); return; }
    if (mark !== document.activeElement) mark.focus({ preventScroll: true });
  }

  /** @param {any[]} clashes */
  clash(clashes) {
    this.broken = clashes;
    this.draw();
  }

  // ---- where things are

  landingX(landing) {
    const f = this.data.ground.frames;
    const i = landing >> 1;
    return landing % 2 ? (f[i].x + f[i + 1].x) / 2 : f[i].x;
  }

  allowed(landing) { return this.kind === "both" || (landing % 2 ? this.kind === "blocks" : this.kind === "frames"); }

  /** Landings of a strake that the rules allow and the strake crosses. */
  landings(strake) {
    const along = this.data.along[strake];
    return along.map((mm, j) => (mm > 0 && mm < this.data.length[strake] && this.allowed(j) ? j : -1)).filter((j) => j >= 0);
  }

  nearest(strake, x) {
    return this.landings(strake).reduce((best, j) => (best < 0 || Math.abs(this.landingX(j) - x) < Math.abs(this.landingX(best) - x) ? j : best), -1);
  }

  place(butt) {
    const x = this.landingX(butt.landing);
    const [low, up] = this.chart.edgesAt(butt.strake, x);
    const [px, y0] = this.chart.px(x, up);
    const y1 = this.chart.px(x, low)[1];
    return { x: px, y0, y1, y: (y0 + y1) / 2 };
  }

  hit(x, y, reach, kind) {
    if (this.forbidding) return this.strakeHit(x, y);
    let best = null;
    this.butts.forEach((butt, i) => {
      const p = this.place(butt);
      const far = Math.hypot(x - p.x, Math.max(0, p.y0 - y, y - p.y1));
      if (far <= reach && (!best || far < best.far)) best = { i, far };
    });
    return best;
  }

  strakeHit(x, y) {
    const [mx, my] = this.chart.mm(x, y);
    const strake = this.chart.strakeAt(mx, my);
    return strake < 0 ? null : { strake, from: this.nearFrame(mx), to: this.nearFrame(mx), stretch: true };
  }

  nearFrame(x) {
    const f = this.data.ground.frames;
    return f.reduce((best, one, i) => (Math.abs(one.x - x) < Math.abs(f[best].x - x) ? i : best), 0);
  }

  // ---- hands

  grab(h) {
    if (h.stretch) return;
    this.choose(h.i);
    if (!this.may) return;
    this.begin(h.i);
  }

  drag(h, x) {
    const mx = this.chart.mm(x, 0)[0];
    if (h.stretch) { h.to = this.nearFrame(mx); this.drawStretch(h); return; }
    if (!this.moving) return;
    this.moveTo(this.nearest(this.butts[h.i].strake, mx));
  }

  drop(h) {
    if (h.stretch) { this.stretch.replaceChildren(); this.does.stretched(h.strake, Math.min(h.from, h.to), Math.max(h.from, h.to)); return; }
    this.end();
  }

  leave(h) {
    if (h?.stretch) { this.stretch.replaceChildren(); return; }
    this.putBack();
  }

  tapped(x, y, kind) {
    if (this.forbidding) return;
    const hit = this.hit(x, y, kind === "touch" ? 26 : 12);
    if (hit) { this.choose(hit.i); this.marks.querySelector(`[data-i="${hit.i}"]`)?.focus(); } else this.choose(-1);
  }

  hover(x, y) {
    this.chart.svg.style.cursor = this.forbidding ? "crosshair" : this.hit(x, y, 8) ? (this.may ? "ew-resize" : "pointer") : "";
  }

  // ---- moving one butt

  get may() { return this.does.may(); }

  begin(i) {
    this.moving = { i, from: this.butts[i].landing, fixed: this.butts[i].fixed };
    this.draw();
  }

  moveTo(landing) {
    const butt = this.butts[this.moving.i];
    if (landing < 0 || landing === butt.landing) return;
    butt.landing = landing;
    this.draw();
    this.does.moved(this.laid());
  }

  end() {
    const moved = this.moving;
    this.moving = null;
    if (!moved) return;
    const butt = this.butts[moved.i];
    if (butt.landing === moved.from) { this.draw(); return; }
    butt.fixed = true;
    this.draw();
    this.does.dropped({ ...butt }, { strake: butt.strake, landing: moved.from, fixed: moved.fixed });
  }

  putBack() {
    if (!this.moving) return;
    this.butts[this.moving.i].landing = this.moving.from;
    this.moving = null;
    this.draw();
    this.does.moved(this.laid());
  }

  laid() { return this.butts.map((b) => [b.strake, b.landing]); }

  choose(i) {
    if (this.moving && this.moving.i !== i) this.putBack();
    this.chosen = i;
    this.draw();
    this.does.chose(this.butts[i] || null);
  }

  // ---- keys

  focused(event) {
    const i = Number(event.target.closest?.("[data-i]")?.dataset.i ?? -1);
    if (i >= 0 && i !== this.chosen) this.choose(i);
    if (i >= 0 && event.target.matches(":focus-visible")) {
      const butt = this.butts[i];
      const x = this.landingX(butt.landing);
      this.chart.bring(x, this.chart.edgesAt(butt.strake, x)[0]);
    }
  }

  keyed(event) {
    if (!event.target.closest?.("[data-i]") || this.chosen < 0) return false;
    const butt = this.butts[this.chosen];
    const way = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (way && (event.shiftKey || this.moving)) { if (this.may) this.stepTo(way); return true; }
    if (way) return this.go((b) => b.strake === butt.strake && Math.sign(b.landing - butt.landing) === way, (b) => Math.abs(b.landing - butt.landing));
    const up = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (up) return this.go((b) => Math.sign(b.strake - butt.strake) === up, (b) => Math.abs(b.strake - butt.strake) * 1000 + Math.abs(b.landing - butt.landing));
    if (event.key === "Enter" && this.moving) { this.end(); return true; }
    if (event.key === "Escape" && this.moving) { this.putBack(); return true; }
    if ((event.key === "p" || event.key === "P") && !event.ctrlKey && !event.metaKey) { this.does.pinned(); return true; }
    return false;
  }

  stepTo(way) {
    if (!this.moving) this.begin(this.chosen);
    const butt = this.butts[this.chosen];
    const all = this.landings(butt.strake);
    const next = way > 0 ? all.find((j) => j > butt.landing) : all.filter((j) => j < butt.landing).pop();
    if (next !== undefined) this.moveTo(next);
  }

  go(which, far) {
    const found = this.butts.map((b, i) => [b, i]).filter(([b]) => which(b)).sort(([a], [b]) => far(a) - far(b))[0];
    if (found) this.marks.querySelector(`[data-i="${found[1]}"]`)?.focus();
    return true;
  }

  // ---- drawing

  name(butt) {
    const strake = this.data.strakes[butt.strake].name;
    const frame = this.data.ground.frames[butt.landing >> 1].name;
    return `strake ${strake}, ${butt.landing % 2 ? `bay aft of frame ${frame}` : `frame ${frame}`}`;
  }

  /** Clashes of one butt. @param {Butt} butt */
  of(butt) {
    return this.broken.filter((c) => c.butts.some(([s, j]) => s === butt.strake && j === butt.landing));
  }

  draw() {
    if (!this.data || !this.chart.edges) return;
    const bad = new Set(this.broken.flatMap((c) => c.butts.map(([s, j]) => `${s},${j}`)));
    this.drawShut();
    this.drawLinks();
    while (this.marks.children.length > this.butts.length) this.marks.lastChild.remove();
    this.butts.forEach((butt, i) => this.drawButt(butt, i, bad.has(`${butt.strake},${butt.landing}`)));
    this.does.drawn?.();
  }

  drawButt(butt, i, clashes) {
    let g = this.marks.children[i];
    if (!g) {
      g = svg("g", { "data-i": i, role: "button" }, [svg("rect", { class: "reach" }), svg("path", { class: "stroke" }), svg("circle", { class: "ring", r: 8 }), svg("rect", { class: "block", x: -4.5, y: -4.5, width: 9, height: 9 }), svg("circle", { class: "dot", r: 4 })]);
      this.marks.append(g);
    }
    const p = this.place(butt);
    const half = Math.max((p.y1 - p.y0) / 2, 4);
    const chosen = i === this.chosen;
    g.setAttribute("class", ["butt", butt.landing % 2 ? "on-block" : "on-frame", butt.fixed && "fixed", clashes && "clashes", chosen && "chosen", this.moving?.i === i && "moving"].filter(Boolean).join(" "));
    g.setAttribute("transform", `translate(${p.x.toFixed(1)} ${p.y.toFixed(1)})`);
    g.setAttribute("tabindex", chosen || (this.chosen < 0 && i === 0) ? "0" : "-1");
    const many = this.of(butt).length;
    g.setAttribute("aria-label", `Butt, ${this.name(butt)}${butt.fixed ? ", pinned" : ""}${many ? `, ${many} clash${many > 1 ? "es" : ""}` : ""}`);
    const [reach, stroke, , , dot] = g.children;
    dot.setAttribute("r", String(Math.min(Math.max(half * 0.6, 2.2), 4)));
    for (const [name, value] of [["x", -12], ["width", 24], ["y", -half - 2], ["height", 2 * half + 4]]) reach.setAttribute(name, String(value));
    stroke.setAttribute("d", `M0 ${-half}V${half}`);
  }

  /** A red line between the butts of each clash. */
  drawLinks() {
    const lines = this.broken.filter((c) => c.butts.length > 1).map((c) => {
      const [a, b] = c.butts.map(([strake, landing]) => this.place({ strake, landing, fixed: false }));
      return svg("path", { class: "link", d: `M${a.x} ${a.y}L${b.x} ${b.y}` });
    });
    this.links.replaceChildren(...lines);
  }

  drawShut() {
    const names = new Map(this.data.ground.frames.map((f, i) => [f.name, i]));
    const made = this.side.shut.flatMap((one) => {
      const [a, b] = [names.get(one.frame), names.get(one.to_frame || one.frame)].sort((x, y) => x - y);
      const rows = this.data.strakes.map((s, i) => i).filter((i) => !one.strake || this.data.strakes[i].name === one.strake);
      return rows.map((row) => this.stretchShape(row, a, b, one.reason));
    });
    this.shut.replaceChildren(...made);
  }

  drawStretch(h) {
    this.stretch.replaceChildren(this.stretchShape(h.strake, Math.min(h.from, h.to), Math.max(h.from, h.to), ""));
  }

  /** A stretch of a strake, hatched. */
  stretchShape(row, a, b, reason) {
    const f = this.data.ground.frames;
    const own = f.slice(a, b + 1).map((one) => one.x);
    const bay = f.length > 1 ? Math.abs(f[1].x - f[0].x) / 3 : 100;
    const xs = [own[0] - bay, ...own, own[own.length - 1] + bay];
    const up = xs.map((x) => this.chart.px(x, this.chart.edgesAt(row, x)[1]));
    const low = xs.map((x) => this.chart.px(x, this.chart.edgesAt(row, x)[0])).reverse();
    const shape = svg("path", { class: "stretch-shape", d: `M${[...up, ...low].map((p) => p.map((v) => v.toFixed(1)).join(" ")).join("L")}Z` });
    if (reason) shape.append(svg("title", {}, [`No butt here: ${reason}`]));
    return shape;
  }
}
