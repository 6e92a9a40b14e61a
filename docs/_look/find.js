/* Finding in the handbook, with no server: every section's text stands in `PLACES`.

   A *place* is a section: page, its title, its heading, anchor, text. A *word* is what is typed
   between blanks, or in quotes. A word of letters counts whole with any of its endings (plank:
   planks) and less by its beginning (butt: buttock); a word with a figure in it is found whole, so
   that 2 is not 20, nor 5 a part of 3-7-5. A page is shown where each word stands on it. */
"use strict";

const SHOWN = 3; // places of a page
const AROUND = 90; // letters before and after a word that are shown

/** Text as it is compared: small letters, one dash, one kind of quote, fractions spelt out. */
const plain = (text) =>
  text.toLowerCase().replace(/[‐-―−]/g, "-").replace(/[’′]/g, "'").replace(/[“”″]/g, '"')
    .replace(/½/g, "1/2").replace(/¼/g, "1/4").replace(/¾/g, "3/4");

const escaped = (word) => word.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");

/** What a word is looked for by: whole, and, where it is of letters only, by its beginning. */
function wanted(word) {
  const [before, after] = ["(?<![\\p{L}\\p{N}]|\\p{N}[-./])", "(?![\\p{L}\\p{N}]|[-./]\\p{N})"];
  if (!/^\p{L}{3,}$/u.test(word)) {
    const only = new RegExp(before + escaped(word) + after, "gu");
    return { whole: only, starts: only, letters: !/[\p{N}._-]/u.test(word) };
  }
  const stem = escaped(word.replace(/(?<=\p{L}{3})(?:ing|ed|es|s)$/u, ""));
  return {
    whole: new RegExp(`${before}${stem}(?:s|es|ed|ing)?${after}`, "gu"),
    starts: new RegExp(`${before}${stem}\\p{L}*`, "gu"),
    letters: true,
  };
}

/** The words of what was asked: parted at blanks, but for what stands in quotes. */
const words = (asked) =>
  [...plain(asked).matchAll(/"([^"]+)"?|(\S+)/g)].map((m) => (m[1] ?? m[2]).trim())
    .map((word) => word.replace(/^[,;:.]+|[,;:.]+$/g, "")).filter(Boolean);

const times = (pattern, text) => [...text.matchAll(pattern)].length;

/** How well a word stands in a place: in the title best, then the heading, then the text. */
function weight(word, place) {
  const [page, title, head, , text] = place.plain;
  const { whole, starts, letters } = word;
  const name = page.replace(/^.*\//, "");
  const at = (t, full, part) => (times(whole, t) ? full : times(starts, t) ? part : 0);
  const own = at(name, 20, 6) + at(title, 20 + 30 / title.split(" ").length, 6);
  // words are told on the pages and listed on those that are made; figures and codes stand in lists
  const aside = page.startsWith("decisions/") || (letters && page.startsWith("made/"));
  const inText = Math.min(times(whole, text), 6) + Math.min(times(starts, text), 3) / 4;
  return own + at(head, 12, 4) + (aside ? inText / 2 : inText);
}

/** Pages on which every word stands, best first, each with its places, best first. */
function found(asked) {
  const sought = words(asked).map(wanted);
  const together = wanted(words(asked).join(" ")).whole;
  const pages = new Map();
  for (const place of window.PLACES) {
    place.plain ??= place.map(plain);
    const each = sought.map((word) => weight(word, place));
    if (!each.some(Boolean)) continue;
    const as = times(together, place.plain[4]) + 2 * times(together, place.plain[2]);
    const all = each.every(Boolean);
    const score = each.reduce((a, b) => a + b, 0) + (all ? 20 : 0) + (sought.length > 1 ? 12 * Math.min(as, 3) : 0);
    const page = pages.get(place[0]) ?? { name: place[0], title: place[1], has: sought.map(() => false), places: [] };
    page.has = page.has.map((had, at) => had || each[at] > 0);
    page.places.push({ place, score, all });
    pages.set(place[0], page);
  }
  const best = (page) => Math.max(...page.places.map((p) => p.score));
  const whole = [...pages.values()].filter((page) => page.has.every(Boolean));
  for (const page of whole) {
    if (page.places.some((p) => p.all)) page.places = page.places.filter((p) => p.all);
    page.places.sort((a, b) => b.score - a.score);
  }
  return whole.sort((a, b) => best(b) - best(a) || a.title.localeCompare(b.title));
}

const el = (tag, inside, attributes = {}) => {
  const made = Object.assign(document.createElement(tag), attributes);
  made.append(...inside);
  return made;
};

/** A stretch of a place's text round the first word found, with all words marked. */
function stretch(place, asked) {
  const text = place[4];
  const small = plain(text).length === text.length ? plain(text) : text.toLowerCase();
  const list = [words(asked).join(" "), ...words(asked)].map(wanted);
  const spans = list.flatMap(({ whole, starts }) => {
    const hits = [...small.matchAll(whole)];
    return (hits.length ? hits : [...small.matchAll(starts)]).map((m) => [m.index, m.index + m[0].length]);
  });
  const first = spans.length ? spans[0][0] : 0;
  const begin = first > AROUND ? small.indexOf(" ", first - AROUND) + 1 : 0;
  const far = first + AROUND * 2;
  const end = far < text.length ? small.lastIndexOf(" ", far) : text.length;
  const parts = [];
  let at = begin;
  for (const [from, to] of spans.sort((a, b) => a[0] - b[0])) {
    if (from < at || to > end) continue;
    parts.push(text.slice(at, from), el("mark", [text.slice(from, to)]));
    at = to;
  }
  parts.push(text.slice(at, end), end < text.length ? " …" : "");
  return el("p", [begin ? "… " : "", ...parts]);
}

/** A page as it is shown: its title, and its best places with a stretch of text. */
function shown(page, asked) {
  const link = (place, text) => el("a", [text], { href: `${page.name}.html${place[3] ? `#${place[3]}` : ""}` });
  const top = page.places;
  const list = top.slice(0, SHOWN).map(({ place }) =>
    el("li", [...(place[3] ? [link(place, place[2])] : []), stretch(place, asked)]));
  const more = top.length - SHOWN;
  if (more > 0) list.push(el("li", [`and ${more} more ${more === 1 ? "place" : "places"} on this page`], { className: "more" }));
  return el("section", [el("h2", [link(["", "", "", ""], page.title)]), el("ul", list)]);
}

const asked = new URLSearchParams(window.location.search).get("q")?.trim() ?? "";
document.getElementById("find").value = asked;
if (words(asked).length) {
  const pages = found(asked);
  const many = pages.length === 1 ? "One page has" : `${pages.length} pages have`;
  document.getElementById("count").textContent = pages.length
    ? `${many} ${asked}.` : `No page has ${asked}. Try fewer words, or the beginning of one.`;
  document.getElementById("found").append(...pages.map((page) => shown(page, asked)));
}
