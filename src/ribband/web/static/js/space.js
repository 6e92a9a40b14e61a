// The hull in space for a page: points on frames and seams, fair between frames.

/** @typedef {{frames: number[][][], stem: number[][]|null, stern: number[][]|null, girths: {stem: number, stern: number}, normals: number[][][]}} Space */

/** A point at `t` (0 to 1) along a run of evenly spaced points, by the cubic through four. */
export function onRun(run, t) {
  const last = run.length - 1;
  const at = Math.min(Math.max(t, 0), 1) * last;
  const i = Math.min(Math.floor(at), last - 1);
  const u = at - i;
  const p = (k) => run[Math.min(Math.max(k, 0), last)];
  const [a, b, c, d] = [p(i - 1), p(i), p(i + 1), p(i + 2)];
  return b.map((_, k) => b[k] + 0.5 * u * (c[k] - a[k] + u * (2 * a[k] - 5 * b[k] + 4 * c[k] - d[k] + u * (3 * (b[k] - c[k]) + d[k] - a[k]))));
}

/** Where a girth in a column lies in space, or null. @param {Space} space @param {any} ground */
export function place(space, ground, column, girth) {
  const frame = ground.frames[column - 1];
  if (column > 0 && frame) return onRun(space.frames[column - 1], girth / frame.girth);
  const [run, whole] = column === 0 ? [space.stem, space.girths.stem] : [space.stern, space.girths.stern];
  return run && onRun(run, girth / whole);
}

/** The outward normal at a girth on a frame (the nearest frame's for a hood end). */
export function outward(space, ground, column, girth) {
  const f = Math.min(Math.max(column - 1, 0), space.frames.length - 1);
  if (!space.normals.length) return [0, 1, 0];
  return onRun(space.normals[f], girth / ground.frames[f].girth);
}

/** An edge in space, column by column: [[column, point], ...]. Girths in tenths, -1 = none. */
export function seamIn(space, ground, girths) {
  return girths.map((g, c) => [c, g < 0 ? null : place(space, ground, c, g / 10)]).filter(([, p]) => p);
}

/** Points along a run, `many` between every two, by slopes through three points. */
export function faired(points, many) {
  const out = [];
  const n = points.length;
  if (n < 3) return points;
  const far = (a, b) => Math.hypot(...a.map((v, k) => v - b[k])) || 1e-6;
  const h = points.map((p, i) => (i ? far(p, points[i - 1]) : 0));
  const slope = (i) => {
    const m = Math.min(Math.max(i, 1), n - 2);
    return points[m].map((v, k) => {
      const d0 = (v - points[m - 1][k]) / h[m];
      const d1 = (points[m + 1][k] - v) / h[m + 1];
      const bend = (d1 - d0) / (h[m] + h[m + 1]);
      return i === 0 ? d0 - bend * h[1] : i === n - 1 ? d1 + bend * h[n - 1] : d0 + bend * h[m];
    });
  };
  for (let i = 1; i < n; i++) {
    const [a, b, u, v] = [points[i - 1], points[i], slope(i - 1), slope(i)];
    for (let s = 0; s < many; s++) {
      const t = s / many;
      const [t2, t3] = [t * t, t * t * t];
      out.push(a.map((_, k) => (2 * t3 - 3 * t2 + 1) * a[k] + (t3 - 2 * t2 + t) * h[i] * u[k] + (3 * t2 - 2 * t3) * b[k] + (t3 - t2) * h[i] * v[k]));
    }
  }
  out.push(points[n - 1]);
  return out;
}
