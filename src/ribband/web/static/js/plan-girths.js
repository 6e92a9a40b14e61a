// Girths along the hull, the old planking laid flat, and how the two sides differ.
import { Paper } from "/static/js/plan-paper.js";

const EDGE = { left: 34, right: 16, top: 16, bottom: 22 };
const span = (values, pad) => [Math.min(...values) - pad, Math.max(...values) + pad];

/** Say positions along the foot by the names of frames. */
function feet(paper, places, up) {
  let last = -Infinity;
  for (const { x, name } of places) {
    const [px] = paper.at(x, up);
    if (px - last < 22) continue;
    last = px;
    paper.words(x, up, name, "name", { dy: 15 });
  }
}

/** Girths by frame, heights drawn larger than lengths so that a slip shows. */
export function girths(data, shown, wide, high) {
  const typed = data.girths;
  const fair = data.fair?.girths || [];
  const xs = [...typed.map((g) => g.x), ...fair.map(([x]) => x)];
  const tall = [...typed.map((g) => g.girth), ...fair.map(([, g]) => g)];
  if (!tall.length) return null;
  const top = Math.max(...tall);
  const low = Math.min(...tall);
  const up = [Math.max(0, low - 0.15 * (top - low) - 40), top + 0.08 * (top - low) + 40];
  const paper = new Paper({ x: span(xs, 150), up, wide, high, square: false, edge: EDGE });
  const frames = data.frames.length ? data.frames : typed.map((g) => ({ name: g.frame, x: g.x }));
  for (const f of frames) paper.straight([[f.x, up[0]], [f.x, up[1]]], "hair");
  paper.straight(fair, "fair");
  for (const side of ["both", "port", "starboard"]) {
    const own = typed.filter((g) => g.side === side).sort((a, b) => a.x - b.x);
    paper.batten(own.map((g) => [g.x, g.girth]), side === "starboard" ? "typed starboard" : "typed");
    paper.dots(own.map((g) => ({ x: g.x, up: g.girth, of: g })), side === "starboard" ? "dot starboard" : "dot");
  }
  shown.doubts.forEach((doubt, n) => { if (doubt.at?.length === 2 && !doubt.decision) paper.doubt(...doubt.at, doubt.fair_at, n + 1, doubt.key === shown.chosen); });
  paper.place = (one) => (one.girth === undefined ? null : [one.x, one.girth]);
  paper.here(shown.here && paper.place(shown.here));
  feet(paper, frames, up[0]);
  return paper;
}

/** The old strakes laid flat: widths stacked up from the keel at every frame where they were taken.
 * Where one strake between others was not taken at a frame, its neighbours along the hull stand in. */
export function old(data, side, wide, high) {
  const own = data.old.filter((w) => !w.side || w.side === "both" || w.side === side);
  if (!own.length) return null;
  const strakes = [...new Set(own.map((w) => w.strake))].sort((a, b) => parseFloat(a) - parseFloat(b));
  const stacks = stacked(own, strakes);
  const seams = new Map(strakes.map((strake) => [strake, []]));
  for (const stack of stacks) for (const step of stack.steps) seams.get(step.strake).push([stack.x, step.up]);
  const top = Math.max(...stacks.flatMap((stack) => stack.steps.map((step) => step.up)));
  const known = data.frames.map((f) => f.x);
  const paper = new Paper({ x: span([...stacks.map((s) => s.x), ...known], 150), up: [0, top + 30], wide, high, square: false, edge: EDGE });
  for (const stack of stacks) paper.straight([[stack.x, 0], [stack.x, stack.steps.at(-1).up]], "hair");
  paper.straight([[stacks[0].x, 0], [stacks.at(-1).x, 0]], "typed");
  for (const points of seams.values()) paper.batten(points, "typed");
  for (const stack of stacks) paper.dots(stack.steps.filter((step) => step.of).map((step) => ({ x: stack.x, up: step.up, of: step.of })), "dot");
  for (const step of stacks[0].steps) paper.words(stacks[0].x, step.middle, step.strake, "name", { dx: -8, dy: 4, anchor: "end" });
  butts(paper, data, side, seams);
  feet(paper, stacks, 0);
  return paper;
}

/** Stack the strakes at every frame, from the keel up to the highest that was taken there. */
function stacked(own, strakes) {
  const taken = new Map();
  for (const w of own) {
    if (!taken.has(w.x)) taken.set(w.x, { x: w.x, name: w.frame, widths: new Map() });
    taken.get(w.x).widths.set(w.strake, w);
  }
  const stacks = [...taken.values()].sort((a, b) => a.x - b.x);
  for (const stack of stacks) {
    let up = 0;
    const top = strakes.findLastIndex((strake) => stack.widths.has(strake));
    stack.steps = strakes.slice(0, top + 1).map((strake) => {
      const of = stack.widths.get(strake);
      const width = of?.width ?? nearBy(stacks, stack.x, strake);
      up += width;
      return { strake, up, middle: up - width / 2, of };
    });
  }
  return stacks;
}

/** The width of a strake at the nearest frame where it was taken. */
function nearBy(stacks, x, strake) {
  const there = stacks.filter((s) => s.widths.has(strake));
  const near = there.reduce((a, s) => (Math.abs(s.x - x) < Math.abs(a.x - x) ? s : a), there[0]);
  return near.widths.get(strake).width;
}

/** Old butts across their strakes. */
function butts(paper, data, side, seams) {
  const strakes = [...seams.keys()];
  for (const b of data.old_butts.filter((o) => !o.side || o.side === "both" || o.side === side)) {
    const n = strakes.indexOf(b.strake);
    if (n < 0) continue;
    const upper = reach(seams.get(b.strake), b.x);
    const lower = n ? reach(seams.get(strakes[n - 1]), b.x) : 0;
    if (upper === null || lower === null) continue;
    paper.straight([[b.x, lower], [b.x, upper]], "butt");
    const [px, py] = paper.at(b.x, (lower + upper) / 2);
    paper.spots.push({ px, py, of: b });
  }
}

function reach(points, x) {
  for (let n = 1; n < points.length; n++) {
    const [[a, u], [b, v]] = [points[n - 1], points[n]];
    if (x >= a && x <= b) return u + ((v - u) * (x - a)) / Math.max(1, b - a);
  }
  return null;
}

/** Port less starboard at every frame: bars up where port is greater. */
export function sides(data, wide, high) {
  if (!data.sides.length) return null;
  const most = Math.max(...data.sides.map((s) => Math.abs(s.mm)), 5) * 1.15;
  const paper = new Paper({ x: [-0.7, data.sides.length - 0.3], up: [-most, most], wide, high, square: false, edge: EDGE });
  paper.straight([[-0.7, 0], [data.sides.length - 0.3, 0]], "centre");
  data.sides.forEach((s, n) => paper.straight([[n, 0], [n, s.mm]], s.far ? "bar far" : "bar"));
  feet(paper, data.sides.map((s, n) => ({ x: n, name: s.frame })), -most);
  paper.words(-0.7, most, "port greater", "name", { dy: 8, anchor: "start" });
  paper.words(-0.7, -most, "starboard greater", "name", { dy: -4, anchor: "start" });
  return paper;
}
