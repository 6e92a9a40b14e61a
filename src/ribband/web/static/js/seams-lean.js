// Seams while a hand moves one of them and the answer is not there yet.
//
//   pulled(base, row, column, off)            the seam alone, near frames a little
//   leaning(from, to, row, column)            how all seams went from one answer to another
//   leaned(base, lean, row, column, off)      all seams, as they went so far
//
// Girths and widths are tenths of a mm, -1 where a strake is not; nothing given is changed.

/** @typedef {import("./flat.js").Seams} Seams */
/** @typedef {{by: number, rows: {row: number, lower: number[], upper: number[], width: number[]}[]}} Lean */

const NEAR_FRAMES = 5; // that follow a hand before the first answer is there
const LEAST = 20; // tenths of a mm between two answers that tell how seams lean
const FURTHEST = 4; // times what was seen so far; beyond, only the seam under the hand follows
const KINDS = ["lower", "upper", "width"];

/** Pull a seam at one frame, and near it a little. @template {Seams} T @param {T} base @returns {T} */
export function pulled(base, row, column, off) {
  const upper = base.upper.map((g) => g);
  const lower = base.lower.map((g) => g);
  const old = base.upper[row];
  upper[row] = old.map((g, c) => {
    const t = Math.abs(c - column) / (NEAR_FRAMES + 1);
    return g < 0 || t >= 1 ? g : Math.round(g + off * (1 - t * t) ** 2);
  });
  for (let above = row + 1; above < lower.length; above++) {
    if (lower[above].some((g, c) => g >= 0 && g === old[c])) lower[above] = lower[above].map((g, c) => (g >= 0 && g === old[c] ? upper[row][c] : g));
  }
  return { ...base, upper, lower };
}

/** How all seams went while the one at `row`, `column` went from one place to another. @returns {Lean|null} */
export function leaning(from, to, row, column) {
  const by = to.upper[row][column] - from.upper[row][column];
  if (Math.abs(by) < LEAST || from.upper.length !== to.upper.length) return null;
  const went = (kind, at) => to[kind][at].map((v, c) => (v < 0 || from[kind][at][c] < 0 ? 0 : v - from[kind][at][c]));
  const rows = to.upper.map((_, at) => ({ row: at, lower: went("lower", at), upper: went("upper", at), width: went("width", at) }));
  return { by, rows: rows.filter((one) => KINDS.some((kind) => one[kind].some((v) => v))) };
}

/** All seams with the one under the hand `off` further, as they leaned so far. @template {Seams} T @param {T} base @param {Lean} lean @returns {T} */
export function leaned(base, lean, row, column, off) {
  const part = Math.max(-FURTHEST, Math.min(FURTHEST, off / lean.by));
  const rest = off - Math.round(lean.by * part);
  const made = { ...base, lower: [...base.lower], upper: [...base.upper], width: [...base.width] };
  for (const one of lean.rows) {
    for (const kind of KINDS) made[kind][one.row] = base[kind][one.row].map((v, c) => (v < 0 ? v : Math.max(0, Math.round(v + part * one[kind][c]))));
  }
  return rest ? pulled(made, row, column, rest) : made;
}
