// Answers on a sheet: figures, tables whose planks open their own sheet, notes, what was found.
import { el } from "/static/js/ask.js";

/** @param {HTMLElement} at @param {{what: string, value: string, remark: string}[]} lines */
export function figures(at, lines) {
  at.hidden = !lines.length;
  at.replaceChildren(...lines.map((line) => el("div", {}, [el("dt", {}, [line.what]), el("dd", {}, [line.value, ...(line.remark ? [el("small", {}, [line.remark])] : [])])])));
}

/** A table under its heading. @param {{title: string, columns: string[], rows: string[][]}} one */
export function listing(one) {
  const right = one.columns.map((_, n) => (one.rows.filter((row) => isFigure(row[n])).length * 2 > one.rows.length ? "figure" : ""));
  const body = one.rows.map((row) => el("tr", {}, row.map((cell, n) => el("td", { class: right[n] }, isPlank(one.columns[n]) ? [plankLink(cell)] : [cell]))));
  const made = el("div", { class: "scroll listing", tabindex: "0", role: "region", "aria-label": one.title }, [el("table", {}, [
    el("caption", {}, [`${one.title}${one.rows.length > 12 ? `: ${one.rows.length} lines` : ""}`]),
    el("thead", {}, [el("tr", {}, one.columns.map((c, n) => el("th", { scope: "col", class: right[n] }, c ? [c] : [el("span", { class: "unseen" }, ["remark"])])))]),
    el("tbody", {}, body),
  ])]);
  return one.folded ? el("details", { class: "folded" }, [el("summary", {}, [`${one.title} (${one.rows.length})`]), made]) : made;
}

/** What was found, the gravest first; the rest behind "more". @param {HTMLElement} at @param {[string, string, string][]} says */
export function findings(at, says) {
  const grave = ["fault", "caution", "note"];
  const all = [...says].sort((a, b) => grave.indexOf(a[0]) - grave.indexOf(b[0]));
  const line = ([kind, where, words]) => el("li", {}, [el("span", { class: `tag ${kind}` }, [kind]), el("b", {}, [where]), ` ${words}`]);
  const more = all.slice(4);
  at.replaceChildren(...all.slice(0, 4).map(line), ...(more.length ? [el("li", {}, [el("details", {}, [el("summary", {}, [`${more.length} more`]), el("ul", { class: "findings" }, more.map(line))])])] : []));
  at.hidden = !all.length;
}

const isPlank = (column) => column === "plank";
const isFigure = (text) => /^[-+]?\d[\d\s.,+-]*( (mm|cm|m|in|ft|kg|lb|min|%|m2|m3))?$/.test(text);

function plankLink(name) {
  return /^[A-Z]\w*-\d+$/.test(name) ? el("a", { href: `/planks/${encodeURIComponent(name)}` }, [name]) : name;
}
