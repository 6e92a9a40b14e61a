// The lines as typed: body plan, sheer profile and half-breadth plan, with the fair hull under them.
import { Paper } from "/static/js/plan-paper.js";

const range = (values, pad = 0) => {
  let low = Infinity;
  let high = -Infinity;
  for (const v of values) { if (v < low) low = v; if (v > high) high = v; }
  if (!(high > low)) { low -= 500; high += 500; }
  return [low - pad, high + pad];
};
const sorted = (points, by) => [...points].sort((a, b) => by(a) - by(b));
const own = (reading) => reading.side !== "starboard";

/** What lies where, worked out once for all three views. */
export function layOut(data) {
  const r = data.readings;
  const inked = r.filter((p) => p.decided !== "accept").map((p) => (p.said ? { ...p, y: p.said[0], z: p.said[1] } : p));
  const xs = [...r.map((p) => p.x), ...data.ends.map((p) => p.x), ...data.stations.map((s) => s.x), ...data.frames.map((f) => f.x)];
  const zs = [...r.map((p) => p.z), ...data.ends.map((p) => p.z)];
  const ys = r.map((p) => p.y);
  const lines = new Map();
  const stations = new Map();
  const seen = new Set();
  for (const p of inked) {
    if (p.role !== "surface") { // a height and a half-breadth are one point of rabbet or sheer
      const spot = `${p.role} ${p.side} ${p.x} ${p.y} ${p.z}`;
      if (seen.has(spot)) continue;
      seen.add(spot);
    }
    const line = `${p.role === "surface" ? p.line : p.role} ${p.side}`;
    if (!lines.has(line)) lines.set(line, { role: p.role, name: p.line, side: p.side, points: [] });
    lines.get(line).points.push(p);
    const station = `${p.station} ${p.side}`;
    if (!stations.has(station)) stations.set(station, { name: p.station, side: p.side, points: [] });
    stations.get(station).points.push(p);
  }
  for (const line of lines.values()) line.points = sorted(line.role === "rabbet" ? onKeel(line.points, data.ends) : line.points, (p) => p.x);
  for (const station of stations.values()) station.points = outward(station.points);
  const beam = [...stations.values()].filter((s) => s.points.length > 2).reduce((a, s) => { const y = Math.max(...s.points.map((p) => p.y)); return y > a.y ? { y, x: s.points[0].x } : a; }, { y: 0, x: (range(xs)[0] + range(xs)[1]) / 2 });
  return { data, xs: range(xs, 200), zs: range(zs, 80), ys: [0, Math.max(...ys, 500) + 60], lines: [...lines.values()], stations: [...stations.values()], middle: beam.x };
}

/** The rabbet's readings along the keel, with its ends; those on stem and stern lie on lines of their own. */
function onKeel(points, ends) {
  const foot = (end) => ends.filter((p) => p.end === end).reduce((low, p) => (low && low.z <= p.z ? low : p), null);
  const fore = foot("stem"), aft = foot("stern");
  const kept = points.filter((p) => (!fore || p.x >= fore.x) && (!aft || p.x <= aft.x));
  return [...(fore ? [fore] : []), ...kept, ...(aft ? [aft] : [])];
}

/** A section's readings from the rabbet out and up to the sheer. */
function outward(points) {
  const rank = { rabbet: -1, surface: 0, sheer: 1 };
  return [...points].sort((a, b) => rank[a.role] - rank[b.role] || a.z + 0.3 * a.y - b.z - 0.3 * b.y);
}

/** Points of a flat list x, y, z, ... */
function* triples(flat) { for (let n = 0; n < flat.length; n += 3) yield [flat[n], flat[n + 1], flat[n + 2]]; }

const kindOf = (p) => (p.decided === "accept" || p.said ? "dot decided" : p.faint ? "dot faint" : p.side === "starboard" ? "dot starboard" : "dot");

function put(paper, points, place) {
  const kinds = new Map();
  for (const p of points) {
    const [x, up] = place(p);
    const kind = kindOf(p);
    if (!kinds.has(kind)) kinds.set(kind, []);
    kinds.get(kind).push({ x, up, of: p });
  }
  for (const [kind, all] of kinds) paper.dots(all, kind);
}

function marks(paper, shown, place) {
  shown.doubts.forEach((doubt, n) => {
    if (!doubt.at || doubt.at.length < 3 || doubt.decision) return;
    const spot = (p) => place({ x: p[0], y: p[1], z: p[2] });
    paper.doubt(...spot(doubt.at), doubt.fair_at && spot(doubt.fair_at), n + 1, doubt.key === shown.chosen);
  });
  paper.place = (one) => (one.z === undefined ? null : place(one));
  paper.here(shown.here && paper.place(shown.here));
}

/** Stations' names along the foot, as many as there is room for. */
function named(paper, stations, up) {
  let last = -Infinity;
  for (const s of stations) {
    const [px] = paper.at(s.x, up);
    if (px - last < 18) continue;
    last = px;
    paper.words(s.x, up, s.name, "name", { dy: 14 });
  }
}

export function body(on, shown, wide, high) {
  const out = on.ys[1];
  const paper = new Paper({ x: [-out, out], up: on.zs, wide, high, edge: { left: 12, right: 12, top: 14, bottom: 20 } });
  const half = (x) => (x <= on.middle ? 1 : -1);
  const place = (p) => [half(p.x) * p.y, p.z];
  squares(paper, on, out);
  const fair = on.data.fair?.sections || [];
  const step = Math.max(1, Math.ceil(fair.length / 24));
  fair.forEach((frame, n) => { if (n % step === 0) paper.straight([...triples(frame.xyz)].map(([x, y, z]) => [half(x) * y, z]), "fair"); });
  for (const station of on.stations) paper.batten(station.points.map(place), own(station) ? "typed" : "typed starboard");
  put(paper, on.data.readings, place);
  marks(paper, shown, place);
  paper.words(out * 0.98, on.zs[0], "forward", "name", { dy: 14, anchor: "end" });
  paper.words(-out * 0.98, on.zs[0], "aft", "name", { dy: 14, anchor: "start" });
  return paper;
}

function squares(paper, on, out) {
  paper.straight([[0, on.zs[0]], [0, on.zs[1]]], "centre");
  for (const line of on.lines) {
    const first = line.points[0];
    if (line.name.startsWith("waterline")) paper.straight([[-out, first.z], [out, first.z]], "hair");
    if (line.name.startsWith("buttock")) for (const side of [-1, 1]) paper.straight([[side * first.y, on.zs[0]], [side * first.y, on.zs[1]]], "hair");
  }
}

export function profile(on, shown, wide, high) {
  const paper = new Paper({ x: on.xs, up: on.zs, wide, high });
  const place = (p) => [p.x, p.z];
  for (const s of on.data.stations) paper.straight([[s.x, on.zs[0]], [s.x, on.zs[1]]], "hair");
  for (const line of on.lines) if (line.name.startsWith("waterline")) paper.straight([[on.xs[0], line.points[0].z], [on.xs[1], line.points[0].z]], "hair");
  for (const edge of on.data.fair?.edges || []) paper.straight([...triples(edge)].map(([x, , z]) => [x, z]), "fair");
  for (const line of on.lines) if (line.role !== "surface" || line.name.startsWith("buttock")) paper.batten(line.points.map(place), "typed");
  for (const end of ["stem", "stern"]) paper.batten(sorted(on.data.ends.filter((p) => p.end === end), (p) => p.z).map(place), "typed");
  put(paper, on.data.readings, place);
  put(paper, on.data.ends.map((p) => ({ ...p, side: "both" })), place);
  marks(paper, shown, place);
  named(paper, on.data.stations, on.zs[0]);
  shown.doubts.forEach((doubt, n) => { // a station's own position is doubted at its foot
    const station = doubt.line === "position" && !doubt.decision && on.data.stations.find((s) => s.name === doubt.frame);
    if (station) paper.doubt(station.x, on.zs[0], null, n + 1, doubt.key === shown.chosen);
  });
  return paper;
}

/** A waterline in as many pieces as the sheer leaves of it: where she dips under it, it is not there. */
function runs(line, on) {
  if (line.role !== "surface") return [line.points];
  const under = on.lines.filter((l) => l.role === "sheer").flatMap((l) => l.points).filter((p) => p.z < line.points[0].z).map((p) => p.x);
  return line.points.reduce((found, p, n) => {
    const before = line.points[n - 1];
    if (!before || under.some((x) => x > before.x && x < p.x)) found.push([p]);
    else found.at(-1).push(p);
    return found;
  }, []);
}

export function plan(on, shown, wide, high) {
  const paper = new Paper({ x: on.xs, up: on.ys, wide, high });
  const place = (p) => [p.x, p.y];
  for (const s of on.data.stations) paper.straight([[s.x, 0], [s.x, on.ys[1]]], "hair");
  paper.straight([[on.xs[0], 0], [on.xs[1], 0]], "centre");
  for (const edge of on.data.fair?.edges || []) paper.straight([...triples(edge)].map(([x, y]) => [x, y]), "fair");
  for (const line of on.lines) if (line.role !== "surface" || line.name.startsWith("waterline")) for (const run of runs(line, on)) paper.batten(run.map(place), line.side === "starboard" ? "typed starboard" : "typed");
  put(paper, on.data.readings, place);
  marks(paper, shown, place);
  named(paper, on.data.stations, 0);
  return paper;
}
