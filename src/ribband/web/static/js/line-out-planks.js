// <seam-planks>: the planks of the strakes beside a seam, laid flat as the seam lies now.
//
//   planks.show(found, { frame, from });   // as /api/line-out/planks gives them; `from` those before a drag
//   planks.late();                          // what is shown is of before: the seam has moved on
//   planks.clear("words")
//
// The two planks under the hand are drawn large, with their outline of before dashed in; all of
// both strakes stand in the list. Widths are stretched so that a sweep can be seen.
import { el } from "/static/js/ask.js";
import { letter } from "/static/js/expansion.js";
import { svg } from "/static/js/svg.js";

const WIDE = 400, HIGH = 74, ROOM = 6, FOOT = 16;
const STRETCH = 10; // the most that widths are drawn larger than lengths
const LATE_MS = 250; // an answer is waited for so long before the planks count as those of before
const HINT = "Choose a seam: the planks on both sides of it are laid flat here, and again while it is dragged.";

const pairs = (flat) => Array.from({ length: flat.length / 2 }, (_, i) => [flat[2 * i], flat[2 * i + 1]]);

export class SeamPlanks extends HTMLElement {
  connectedCallback() {
    if (this.list) return;
    this.state = el("span", { class: "tag", role: "status" });
    this.large = el("div", { class: "under-hand" });
    this.list = el("table", {}, [
      el("thead", {}, [el("tr", {}, ["Plank", "Laid flat", "Blank", "Sweep", "Strain ‰"].map((text) => el("th", { scope: "col" }, [text])))]), el("tbody"),
    ]);
    this.note = el("p", { class: "note" }, [HINT]);
    this.scroll = el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Planks of the strakes beside the seam" }, [this.large, this.list]);
    this.replaceChildren(el("header", {}, [el("h3", {}, ["Planks beside the seam"]), this.state]), this.note, this.scroll);
    this.clear();
  }

  /** Nothing to show, and why. */
  clear(words = HINT) {
    clearTimeout(this.waiting);
    this.found = null;
    this.scroll.hidden = true;
    this.state.hidden = true;
    this.note.hidden = false;
    this.note.textContent = words;
  }

  /** @param {any} found @param {{frame: string, from: any}} at */
  show(found, { frame, from }) {
    clearTimeout(this.waiting);
    this.waiting = 0;
    if (!found?.planks?.length) { this.clear(found?.why || HINT); return; }
    if (found.part) found = merged(this.found || from, found);
    this.found = found;
    this.note.hidden = found.butts === "good";
    this.note.textContent = "Cut by the butts of before, until the plan is brought up to date.";
    this.scroll.hidden = false;
    this.mark("good", "of now");
    const old = new Map((from?.planks || []).map((p) => [p.name, p]));
    const hand = found.planks.filter((p) => p.lines.some(([name]) => name === frame)).reverse(); // upper strake above
    const large = onePerStrake(hand);
    this.large.replaceChildren(...large.map((p) => drawing(p, frame, old.get(p.name))));
    const body = this.list.tBodies[0];
    const order = [...found.planks].sort((a, b) => found.strakes.indexOf(b.strake) - found.strakes.indexOf(a.strake) || a.number - b.number);
    body.replaceChildren(...order.map((p) => row(p, large.includes(p), old.get(p.name))));
  }

  /** The seam has moved on and these planks are of before; said when that lasts. */
  late() {
    if (!this.found || this.waiting) return;
    this.waiting = setTimeout(() => this.mark("stale", "of before the last move"), LATE_MS);
  }

  mark(kind, words) {
    this.state.hidden = false;
    this.state.className = `tag ${kind}`;
    this.state.textContent = words;
    this.classList.toggle("late", kind === "stale");
  }
}

/** Put the planks under the hand among those shown, which stay as they were till the hand rests. */
function merged(before, part) {
  if (!before?.planks?.length) return part;
  const now = new Map(part.planks.map((p) => [p.name, p]));
  return { ...before, planks: before.planks.map((p) => now.get(p.name) || p) };
}

/** A frame at a butt crosses two planks of a strake: one of them will do. */
function onePerStrake(planks) {
  return planks.filter((p, i) => planks.findIndex((q) => q.strake === p.strake) === i);
}

function span(plank, old) {
  const every = [plank, old].filter(Boolean).flatMap((p) => [...pairs(p.lower), ...pairs(p.upper)]);
  const [xs, ys] = [0, 1].map((k) => every.map((p) => p[k]));
  return [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
}

/** Give how a plank is put on so much paper: x forward left, widths stretched. */
function onPaper([x0, x1, y0, y1], wide, high) {
  const along = wide / Math.max(x1 - x0, 1);
  const up = Math.min(high / Math.max(y1 - y0, 1), STRETCH * along);
  const top = (high - (y1 - y0) * up) / 2;
  return { at: ([x, y]) => [(x - x0) * along, top + (y1 - y) * up], stretch: up / along };
}

const path = (points) => points.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
const outline = (plank, at) => `${path([...pairs(plank.lower), ...pairs(plank.upper).reverse()].map(at))}Z`;

function drawing(plank, frame, old) {
  const { at, stretch } = onPaper(span(plank, old), WIDE - 2 * ROOM, HIGH - FOOT - 6);
  const lines = plank.lines.map(([name, ...flat]) => svg("path", { class: `frame${name === frame ? " chosen" : ""}`, d: path(pairs(flat).map(at)) }));
  const here = plank.lines.find(([name]) => name === frame);
  const [x] = at(here.slice(1));
  const inside = svg("g", { transform: `translate(${ROOM} 3)` }, [
    svg("path", { class: "wood", d: outline(plank, at) }), ...lines,
    ...(old ? [svg("path", { class: "before", d: outline(old, at) })] : []),
    letter(Math.min(Math.max(x, 14), WIDE - 2 * ROOM - 14), HIGH - 8, frame, "number"),
  ]);
  const says = `Plank ${plank.name}: blank ${plank.length} by ${plank.width}, sweep ${plank.sweep}, strain ${plank.strain} in a thousand`;
  return el("figure", {}, [
    svg("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": says }, [inside]),
    el("figcaption", {}, [
      el("b", {}, [plank.name]), ` ${plank.length} by ${plank.width}, sweep ${plank.sweep}, strain ${plank.strain} ‰`,
      el("small", {}, [`most strain at ${plank.where}; ${stretch > 1.05 ? `widths drawn ×${stretch.toFixed(1)}` : "to one scale"}`]),
    ]),
  ]);
}

function row(plank, large, old) {
  const { at } = onPaper(span(plank), 118, 20);
  const was = (key) => (old && old[key] !== plank[key] ? [el("small", {}, [`was ${old[key]}`])] : []);
  return el("tr", { class: large ? "chosen" : "", "data-plank": plank.name }, [
    el("th", { scope: "row" }, [plank.name]),
    el("td", {}, [svg("svg", { viewBox: "-1 -1 120 22", "aria-hidden": "true" }, [svg("path", { class: "wood", d: outline(plank, at) })])]),
    el("td", {}, [`${plank.length} × ${plank.width}`, ...was("width")]), el("td", {}, [plank.sweep, ...was("sweep")]), el("td", {}, [plank.strain, ...was("strain")]),
  ]);
}

customElements.define("seam-planks", SeamPlanks);
