// Revisions of one hand at one form, close upon one another, for showing them in one line.

const APART_MS = 5 * 60 * 1000; // from one to the next

/** Whether `r` goes on where the older one left off. */
function goesOn(older, r) {
  const [a, b] = [older.touched, r.touched];
  return older.number === r.number - 1 && older.kind === "new" && r.kind === "new" && older.who === r.who
    && a.form && a.form === b.form && a.cells > 0 && b.cells > 0 && Math.abs(Date.parse(r.at) - Date.parse(older.at)) <= APART_MS;
}

/** Part revisions, newest first, into runs. @param {any[]} revisions @returns {any[][]} */
export function runsOf(revisions) {
  const runs = [];
  for (const r of revisions) {
    const run = runs[runs.length - 1];
    if (run && goesOn(r, run[run.length - 1])) run.push(r);
    else runs.push([r]);
  }
  return runs;
}

/** Say what a run did: "girths: 12 cells, frame 3 to 5, girth". @param {any[]} run newest first */
export function runWords(run) {
  const all = [...run].reverse().map((r) => r.touched);
  const { form, first } = all[0];
  const cells = all.reduce((sum, one) => sum + one.cells, 0);
  const each = (kind) => [...new Set(all.flatMap((one) => one[kind]))].filter(Boolean);
  const [rows, columns] = [each("rows"), each("columns").filter((name) => name !== first)];
  const where = rows.length > 2 ? `${rows[0]} to ${rows[rows.length - 1]}` : rows.join(" and ");
  const parts = [`${form.replaceAll("_", " ")}: ${cells} ${cells === 1 ? "cell" : "cells"}`];
  if (where) parts.push(`${first} ${where}`);
  if (columns.length) parts.push(columns.length > 3 ? `${columns.length} columns` : columns.join(", "));
  return parts.join("; ");
}
