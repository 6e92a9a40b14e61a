// The panels of lining out: wishes, stealers, reasons, alternatives side by side.
import { el } from "/static/js/ask.js";
import { svg } from "/static/js/svg.js";
import { curve, edge } from "/static/js/flat.js";

const $ = (id) => document.getElementById(id);

/** What each wish needs, and what it says. */
export const WISHES = {
  strakes: { fields: ["value"], says: "How many strakes a side, stealers counted." },
  width: { fields: ["strake", "frame", "value", "weight"], says: "A strake's width at a frame; a weight under 1 only pulls." },
  greatest: { fields: ["strake", "frame", "to_frame", "value"], says: "No wider than this; blank strake or frames: everywhere." },
  least: { fields: ["strake", "frame", "to_frame", "value"], says: "No narrower than this; blank strake or frames: everywhere." },
  master: { fields: ["strake", "frame", "value"], says: "The master line: the seam above a strake at this girth on a frame." },
  fix: { fields: ["strake", "frame", "value"], says: "The seam above a strake, held at this girth on a frame." },
  taper: { fields: ["strake", "frame", "value", "weight"], says: "Width at the hood end over width amidships; frame stem or stern, or blank for both." },
  stealer: { fields: ["strake", "frame", "to_frame"], says: "A stealer above a strake: its squared end at a frame, its other end at stem, stern or a frame." },
  recorded: { fields: ["value"], says: "How much the old strakes' widths count, 0 to 1." },
};

/** Say a wish in words. @param {Record<string, string>} w */
export function said(w) {
  const strake = w.strake ? (/^\d/.test(w.strake) ? `strake ${w.strake}` : `the ${w.strake}`) : "every strake";
  const where = w.frame ? (w.to_frame ? `, frames ${w.frame} to ${w.to_frame}` : ["stem", "stern"].includes(w.frame) ? ` at the ${w.frame}` : ` at frame ${w.frame}`) : "";
  const words = {
    strakes: `${w.value} strakes a side`, width: `${strake} ${w.value} wide${where}`, greatest: `${strake} no wider than ${w.value}${where}`, least: `${strake} no narrower than ${w.value}${where}`,
    master: `master line: seam above ${strake} at girth ${w.value}${where}`, fix: `seam above ${strake} fixed at girth ${w.value}${where}`,
    taper: `${strake} tapered to ${w.value}${where || " at both ends"}`, stealer: `a stealer above ${strake}, squared end at frame ${w.frame}, to ${/^\d/.test(w.to_frame || "stern") ? `frame ${w.to_frame}` : w.to_frame || "stern"}`,
    recorded: `the old strakes' widths count ${w.value}`,
  };
  return words[w.wish] || Object.values(w).filter(Boolean).join(" ");
}

/** @param {any} form @param {string[]} row */
export const cells = (form, row) => Object.fromEntries(form.header.map((h, i) => [h, (row[i] || "").trim()]));

export function showWishes(form, may, remove) {
  const bad = new Map(form.problems.filter((p) => p.at !== null && p.at >= 0).map((p) => [p.at, p]));
  const list = form.rows.map((row, at) => [cells(form, row), at]).filter(([w]) => w.wish);
  $("wishes").replaceChildren(...(list.length ? list.map(([w, at]) => {
    const words = said({ ...w, wish: w.wish.toLowerCase() });
    const problem = bad.get(at);
    const small = [w.weight && w.weight !== "1" ? `weight ${w.weight}` : "", w.notes].filter(Boolean).join("; ");
    return el("li", {}, [
      el("span", { class: "words" }, [words, ...(small ? [el("small", {}, [small])] : []), ...(problem ? [el("span", { class: "say bad" }, [`${problem.column}: wanted ${problem.wanted}`])] : [])]),
      ...(may ? [el("button", { type: "button", "aria-label": `Take off: ${words}`, onclick: () => remove(at) }, ["Take off"])] : []),
    ]);
  }) : [el("li", { class: "note" }, ["No wishes: the fairest lining within the limits."])]));
}

/** The stealers there are, as wishes would say them. */
export function stealersOf(data) {
  return data.strakes.filter((s) => s.stealer).map((s) => ({ wish: "stealer", strake: s.name.replace(/s\d*$/, ""), frame: s.nib, to_frame: s.nib === s.first ? s.last : s.first, name: s.name }));
}

export function showStealers(data, may, end) {
  const there = stealersOf(data);
  $("stealers").replaceChildren(...(there.length ? there.map((s) => el("li", {}, [
    el("span", { class: "words" }, [el("b", {}, [s.name]), `, above strake ${s.strake}: squared end at frame ${s.frame}, to ${s.to_frame}`]),
    ...(may ? [el("button", { type: "button", "aria-label": `End stealer ${s.name}`, onclick: () => end(s) }, ["End it"])] : []),
  ])) : [el("li", { class: "note" }, ["No stealers."])]));
}

export function showWhy(data) {
  $("key-figures").replaceChildren(...data.figures.map((one) => el("div", {}, [el("dt", {}, [one.what]), el("dd", {}, [one.value])])));
  $("reasons").replaceChildren(...data.reasons.map((text) => el("li", {}, [text])));
  $("binds").replaceChildren(...(data.binds.length ? data.binds.map((b) => el("li", {}, [el("b", {}, [`${b.what}, ${b.where}: `]), b.gain])) : [el("li", { class: "note" }, ["No limit holds it."])]));
  $("found").replaceChildren(...(data.findings.length ? data.findings.map((f) => el("li", {}, [el("span", { class: `tag ${f.severity}` }, [f.severity]), el("b", {}, [f.where]), ` ${f.says} `, el("span", { class: "note" }, [f.why])])) : [el("li", { class: "note" }, ["Nothing found."])]));
}

/** A small expansion, for comparing. */
export function smallExpansion(ground, lining) {
  const [left, low, right, up] = ground.box;
  const tall = 1.7;
  const put = (points) => points.map(([x, y]) => [x - left, (up - y) * tall]);
  const bands = lining.upper.map((upper, row) => svg("path", { class: `band ${row % 2 ? "odd" : "even"}${lining.strakes[row].stealer ? " stealer" : ""}`, d: `${curve(put(edge(ground, lining.lower[row], row === 0)))}${curve(put(edge(ground, upper)).reverse(), "L")}Z` }));
  return svg("svg", { class: "small-expansion", viewBox: `-60 -60 ${right - left + 120} ${(up - low) * tall + 120}`, "aria-hidden": "true" }, bands);
}

/** One card: a lining, its figures, what it differs in. */
export function card(title, ground, lining, says, act) {
  return el("article", { class: "card", "aria-label": title }, [
    el("h3", {}, [title]), lining ? smallExpansion(ground, lining) : el("p", { class: "note" }, ["Being lined out …"]),
    ...(lining ? [el("dl", {}, lining.figures.flatMap((one) => [el("dt", {}, [one.what]), el("dd", {}, [one.value])]))] : []),
    ...(lining && !lining.feasible ? [el("p", { class: "say look" }, ["A limit is broken here."])] : []),
    ...(says ? [el("p", { class: "note" }, [says])] : []), ...(act ? [act] : []),
  ]);
}
