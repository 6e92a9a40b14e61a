// Lengths in the job's own unit, as the server writes them, for figures that change under the hand.

const INCH = 25.4;
const KINDS = {
  "mm": { mm: 1, step: 1, mark: "mm", digits: 0 },
  "cm": { mm: 10, step: 0.1, mark: "cm", digits: 1 },
  "m": { mm: 1000, step: 0.001, mark: "m", digits: 3 },
  "in": { mm: INCH, step: 1 / 8, mark: "in" },
  "ft": { mm: 12 * INCH, step: 0.01, mark: "ft", digits: 2 },
  "ft-in-8ths": { mm: INCH, step: 1 / 16, mark: "" },
};

/** Write a length. @param {number} mm @param {string} unit @param {boolean} [bare] without its mark */
export function length(mm, unit, bare = false) {
  if (!Number.isFinite(mm)) return "";
  const kind = KINDS[unit] || KINDS.mm;
  const steps = Math.round(mm / kind.mm / kind.step);
  const said = (steps < 0 ? "-" : "") + printed(Math.abs(steps), unit, kind);
  return bare || !kind.mark ? said : `${said} ${kind.mark}`;
}

/** Write a small error, finer than a tape reads, as the server does: decimals of an inch in a job of feet or inches. */
export function small(mm, unit) {
  return ["in", "ft", "ft-in-8ths"].includes(unit) ? `${(mm / INCH).toFixed(mm < 0.13 ? 3 : 2)} in` : `${mm.toFixed(1)} mm`;
}

function printed(steps, unit, kind) {
  if (unit === "ft-in-8ths") return dashed(steps);
  if (unit === "in") return eighths(steps);
  return (steps * kind.step).toFixed(kind.digits);
}

function dashed(sixteenths) {
  const whole = Math.floor(sixteenths / 2);
  const feet = Math.floor(whole / 96);
  const inches = Math.floor((whole % 96) / 8);
  return `${feet}-${inches}-${whole % 8}${sixteenths % 2 ? "+" : ""}`;
}

function eighths(steps) {
  const whole = Math.floor(steps / 8);
  let top = steps % 8;
  let under = 8;
  while (top && top % 2 === 0) { top /= 2; under /= 2; }
  const part = top ? `${top}/${under}` : "";
  return [whole || !part ? String(whole) : "", part].filter(Boolean).join(" ");
}
