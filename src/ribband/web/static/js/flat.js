// The expansion's arithmetic: where a girth falls, a strake's edges, curves through points.
// Lengths are mm; x grows aft, y upward; columns are the stem (0), the frames, the stern.

/**
 * @typedef {{name: string, x: number, rise: number, girth: number, keel: boolean, double: boolean}} Frame
 * @typedef {{frames: Frame[], stem: number[][]|null, stern: number[][]|null, rabbet: number[][],
 *   sheer: number[][], box: number[], in_space: boolean, open_doubts: number}} Ground
 * @typedef {{lower: number[][], upper: number[][], width: number[][]}} Seams  tenths of a mm, -1 = none
 */

/** Give the point of a girth in a column, or null. @param {Ground} ground */
export function at(ground, column, girth) {
  if (!(girth >= 0)) return null;
  const frame = ground.frames[column - 1];
  if (column > 0 && frame) return [frame.x, frame.rise + girth];
  const end = column === 0 ? ground.stem : ground.stern;
  return end && [along(end, girth, 1), along(end, girth, 2)];
}

/** Give the girth in a column of a point, held between the rabbet and the sheer. @param {Ground} ground */
export function girthAt(ground, column, y) {
  const frame = ground.frames[column - 1];
  if (column > 0 && frame) return Math.min(Math.max(y - frame.rise, 0), frame.girth);
  const end = column === 0 ? ground.stem : ground.stern;
  if (!end) return 0;
  const up = end.map((p) => [p[2], p[0]]);
  return Math.min(Math.max(along(up, y, 1), 0), end[end.length - 1][0]);
}

/** Read column `k` of rows ordered by their first figure, held at the ends. */
export function along(rows, value, k) {
  if (value <= rows[0][0]) return rows[0][k];
  for (let i = 1; i < rows.length; i++) {
    if (value <= rows[i][0]) {
      const [a, b] = [rows[i - 1], rows[i]];
      return a[k] + ((b[k] - a[k]) * (value - a[0])) / Math.max(b[0] - a[0], 1e-9);
    }
  }
  return rows[rows.length - 1][k];
}

/** Give an edge's points from forward aft; a frame it has run out before is left out. */
export function edge(ground, girths, onRabbet = false) {
  const last = girths.length - 1;
  const found = [];
  for (let c = 0; c <= last; c++) {
    const point = girths[c] < 0 ? null : at(ground, c, girths[c] / 10);
    if (point) found.push([c, point]);
  }
  const fore = found.length && found[0][0] === 0 ? found[0][1] : null;
  const aft = found.length && found[found.length - 1][0] === last ? found[found.length - 1][1] : null;
  const ended = fore || aft;
  const kept = found.filter(([c, p]) => {
    if (c === 0 || c === last) return true;
    if (fore && p[0] - fore[0] <= 1) return false;
    if (aft && aft[0] - p[0] <= 1) return false;
    return onRabbet || girths[c] > 0 || !ended;
  });
  return (kept.length ? kept : found).map(([, p]) => p);
}

/** Put in the lower edges that were left out: those that are the upper edge of the strake below. @param {any} answer */
export function filled(answer) {
  if (!answer?.lower) return answer;
  return { ...answer, lower: answer.lower.map((row, at) => (row.length || !at ? row : answer.upper[at - 1])) };
}

/** Tell whether two rows of girths are the same within so many tenths, and run out at the same columns. */
export function near(one, other, tenths) {
  return one === other || (one.length === other.length && one.every((girth, c) => girth < 0 === other[c] < 0 && Math.abs(girth - other[c]) <= tenths));
}

/** Read the height of an edge at x, held at its ends. */
export const heightAt = (points, x) => along(points, x, 1);

/** A fair curve through points as path text: slopes by the parabola through three. */
export function curve(points, begin = "M") {
  const n = points.length;
  if (!n) return "";
  let text = `${begin}${r(points[0][0])} ${r(points[0][1])}`;
  if (n < 3) return points.slice(1).reduce((t, p) => `${t}L${r(p[0])} ${r(p[1])}`, text);
  const s = points.map((_, i) => (i ? Math.hypot(points[i][0] - points[i - 1][0], points[i][1] - points[i - 1][1]) || 1e-6 : 0));
  const slope = points.map((_, i) => slopeAt(points, s, i));
  for (let i = 1; i < n; i++) {
    const third = s[i] / 3;
    const [a, b, u, v] = [points[i - 1], points[i], slope[i - 1], slope[i]];
    text += `C${r(a[0] + u[0] * third)} ${r(a[1] + u[1] * third)} ${r(b[0] - v[0] * third)} ${r(b[1] - v[1] * third)} ${r(b[0])} ${r(b[1])}`;
  }
  return text;
}

function slopeAt(p, s, i) {
  const n = p.length;
  const m = Math.min(Math.max(i, 1), n - 2);
  const [h0, h1] = [s[m], s[m + 1]];
  const d0 = [(p[m][0] - p[m - 1][0]) / h0, (p[m][1] - p[m - 1][1]) / h0];
  const d1 = [(p[m + 1][0] - p[m][0]) / h1, (p[m + 1][1] - p[m][1]) / h1];
  const bend = [(d1[0] - d0[0]) / (h0 + h1), (d1[1] - d0[1]) / (h0 + h1)];
  if (i === 0) return [d0[0] - bend[0] * h0, d0[1] - bend[1] * h0];
  if (i === n - 1) return [d1[0] + bend[0] * h1, d1[1] + bend[1] * h1];
  return [d0[0] + bend[0] * h0, d0[1] + bend[1] * h0];
}

const r = (v) => Math.round(v * 10) / 10;

/** Push heights apart to `least`, keeping their order and as near their places as may be. */
export function spread(heights, least) {
  const order = heights.map((h, i) => [h, i]).sort((a, b) => a[0] - b[0]);
  const groups = [];
  for (const [h, i] of order) {
    groups.push({ mean: h, many: [i] });
    while (groups.length > 1) {
      const [a, b] = groups.slice(-2);
      if (b.mean - a.mean >= (least * (a.many.length + b.many.length)) / 2) break;
      const n = a.many.length + b.many.length;
      groups.splice(-2, 2, { mean: (a.mean * a.many.length + b.mean * b.many.length) / n, many: [...a.many, ...b.many] });
    }
  }
  const out = [...heights];
  for (const { mean, many } of groups) many.forEach((i, k) => { out[i] = mean + (k - (many.length - 1) / 2) * least; });
  return out;
}
