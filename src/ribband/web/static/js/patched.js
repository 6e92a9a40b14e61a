// A form kept in step with what other hands do to it, so that nobody fetches it for one cell.
//
// Where what a patch does to a form cannot be known here it is null, and the form is fetched.

/** @typedef {import("/static/js/waited.js").Form & {file: string, heading_row: number}} Held */

/** The form after a patch that comes next upon it, or null. @param {string} name @param {Held} form @param {any} patch */
export function patched(name, form, patch) {
  const own = patch.edits.filter((edit) => edit.form === name);
  if (patch.upon !== form.revision || !own.length) return null; // whole forms changed, or something was missed
  let next = { ...form, there: true, revision: patch.revision };
  for (const edit of own) if (next) next = put(next, edit);
  return next;
}

/** Where a row stands after edits of other hands; null where it was taken out. @param {number} row @param {any[]} edits */
export function moved(row, edits) {
  let at = row;
  for (const { was, now, at: there } of edits) {
    if (!was && there <= at) at++;
    else if (!now && there < at) at--;
    else if (!now && there === at) return null;
  }
  return at;
}

/** The problems of a form among those of the whole job, where both are of one revision. @param {Held} form @param {any} view */
export function withProblems(form, view) {
  if (!view || view.revision !== form.revision) return form;
  const problems = view.problems.filter((p) => p.file === form.file).map(({ row, column, found, wanted, example }) => ({ at: place(form, row), column, found, wanted, example }));
  return { ...form, problems };
}

function place(form, row) {
  if (row === form.heading_row) return -1;
  const at = form.numbers.indexOf(row);
  return at < 0 ? null : at;
}

function put(form, { was, now, at }) {
  if (at < 0 || (was && form.rows[at]?.join("\t") !== was.join("\t"))) return null;
  if (!was) return now && at <= form.rows.length ? added(form, now, at) : null;
  if (now) return { ...form, rows: form.rows.with(at, now), problems: form.problems.filter((p) => p.at !== at) };
  const problems = form.problems.filter((p) => p.at !== at).map((p) => (p.at > at ? { ...p, at: p.at - 1 } : p));
  return { ...form, rows: form.rows.toSpliced(at, 1), numbers: form.numbers.toSpliced(at, 1), problems };
}

/** Rows below move down only as far as they must, as in the job; a note that stands between is not known here. */
function added(form, row, at) {
  const number = (at ? form.numbers[at - 1] : form.heading_row) + 1;
  const below = form.numbers.slice(at);
  if (below.length && below[0] > number) return null;
  const numbers = [...form.numbers.slice(0, at), number, ...below.map((n) => n + 1)];
  const problems = form.problems.map((p) => (p.at >= at ? { ...p, at: p.at + 1 } : p));
  return { ...form, rows: form.rows.toSpliced(at, 0, row), numbers, problems };
}
