// A form as this hand sees it: what the server holds, with the changes that still wait put in.
//
// The next change is then made upon what was last done here, also while that is still on its way to
// the disk or the server cannot be reached. What cannot be put in any more is left out: the server
// says what became of it.

/** @typedef {{header: string[], rows: string[][], numbers: (number|null)[], columns: any[], problems: any[], revision: number}} Form */

/** @param {string} name @param {Form} form @param {{path: string, body: any}[]} waiting in their order @returns {Form} */
export function withWaiting(name, form, waiting) {
  let seen = form;
  for (const { path, body } of waiting) {
    if (path !== "/api/changes") break; // what taking back comes to is not known here
    for (const edit of body.edits) if (edit.form === name) seen = put(seen, edit);
  }
  return seen;
}

function put(form, { was, now, at }) {
  if (at < 0) return now && was?.join("\t") === form.header.join("\t") ? headed(form, now) : form;
  if (!was) return now ? added(form, wide(now, form), Math.min(at, form.rows.length)) : form;
  const there = nearest(form.rows, wide(was, form), at);
  if (there < 0) return form;
  return now ? changed(form, wide(now, form), there) : removed(form, there);
}

const wide = (row, form) => form.header.map((_, n) => row[n] ?? "");

function nearest(rows, row, at) {
  const words = row.join("\t");
  const same = rows.map((own, n) => (own.join("\t") === words ? n : -1)).filter((n) => n >= 0);
  return same.reduce((best, n) => (best < 0 || Math.abs(n - at) < Math.abs(best - at) ? n : best), -1);
}

function added(form, row, at) {
  const problems = form.problems.map((p) => (p.at >= at ? { ...p, at: p.at + 1 } : p));
  return { ...form, rows: form.rows.toSpliced(at, 0, row), numbers: form.numbers.toSpliced(at, 0, null), problems };
}

function removed(form, at) {
  const problems = form.problems.filter((p) => p.at !== at).map((p) => (p.at > at ? { ...p, at: p.at - 1 } : p));
  return { ...form, rows: form.rows.toSpliced(at, 1), numbers: form.numbers.toSpliced(at, 1), problems };
}

function changed(form, row, at) {
  return { ...form, rows: form.rows.with(at, row), problems: form.problems.filter((p) => p.at !== at) };
}

/** Columns moved by name, or renamed where there are as many as before. */
function headed(form, header) {
  if (header.length === form.header.length) return { ...form, header };
  const from = header.map((name) => form.header.indexOf(name));
  const columns = from.map((n, at) => (n < 0 ? { name: header[at], says: "", needed: false, choices: [], example: "", by: {}, examples: {} } : form.columns[n]));
  return { ...form, header, columns, rows: form.rows.map((row) => from.map((n) => (n < 0 ? "" : row[n]))), problems: [] };
}
