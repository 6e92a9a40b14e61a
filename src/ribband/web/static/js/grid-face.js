// The face of a grid: heading and the rows that can be seen, painted from what it is given.
// Only rows in view are in the page, so that thousands of rows stay quick.
import { el } from "/static/js/ask.js";

const OVERSCAN = 6;
const MOST_PRINTED = 3000;
const NUMBER_WIDE = 46;
const PAPER_WIDE = 1000; // px on an A4 sheet laid sideways, within its margins
const ROOMY = new Set(["value", "skills", "reason", "reading"]); // words are typed in these
const ROOM_WIDE = 240;
const PAPER_LEAST = 0.5; // smaller could not be read

/**
 * What is shown of a grid, as `form-grid` gives it:
 * @typedef {{name: string, title: string, header: string[], rows: string[][], spare: boolean,
 *   frozen: number, at: {row: number, col: number}, range: {top: number, left: number, bottom: number, right: number},
 *   wrong: Map<string, {wanted: string, example: string}>, marks: Map<string, {kind: string, says: string}>, news: Set<string>, mayEdit: boolean}} Shown
 */
export class GridFace {
  /** @param {HTMLElement} pane the part that scrolls @param {string} says id of what describes the cell one stands in */
  constructor(pane, says) {
    this.pane = pane;
    this.says = says;
    this.head = el("div", { role: "rowgroup", class: "grid-head" });
    this.body = el("div", { role: "rowgroup", class: "grid-body" });
    this.grid = el("div", { role: "grid", "aria-multiselectable": "true", "aria-description": "Arrows move, typing or F2 edits, Enter goes down, Tab goes on; Escape and then Tab leaves the grid." }, [this.head, this.body]);
    this.over = el("div", { class: "grid-over" });
    this.pane.append(this.grid, this.over);
    /** @type {Map<number, HTMLElement>} */
    this.drawn = new Map();
    this.wide = [];
    this.high = 30;
    this.pane.addEventListener("scroll", () => this.shown && this.paintBody(), { passive: true });
    matchMedia("(pointer: coarse)").addEventListener("change", () => { this.known = 0; });
    addEventListener("beforeprint", () => this.printing(true));
    addEventListener("afterprint", () => this.printing(false));
  }

  /** @param {Shown} shown @param {boolean} [moved] nothing but the place one stands in has changed */
  show(shown, moved = false) {
    if (moved && this.shown?.name === shown.name && this.shown.rows === shown.rows && this.drawnRows === shown.rows.length) {
      this.shown = shown;
      this.paintHead();
      this.paintBody();
      return;
    }
    const other = !this.shown || this.shown.name !== shown.name || this.shown.header.join("\t") !== shown.header.join("\t");
    this.shown = shown;
    this.drawnRows = shown.rows.length;
    const high = this.known ||= parseFloat(getComputedStyle(this.pane).getPropertyValue("--grid-row")) || 30; // asked anew each time it lays the whole page out
    const resized = high !== this.high;
    this.high = high;
    if (other || resized) { this.drawn.clear(); this.body.replaceChildren(); this.head.replaceChildren(); }
    this.measure();
    this.grid.setAttribute("aria-label", shown.title);
    this.grid.setAttribute("aria-rowcount", String(this.count + 1));
    this.grid.setAttribute("aria-colcount", String(shown.header.length + 1));
    this.grid.setAttribute("aria-readonly", String(!shown.mayEdit));
    this.body.style.height = `${this.count * this.high}px`;
    this.paintHead();
    this.paintBody();
  }

  /** On paper every row is there. */
  printing(whole) {
    this.whole = whole;
    if (!this.shown) return;
    this.measure();
    const wide = this.left[this.left.length - 1];
    this.grid.style.zoom = whole ? String(Math.max(PAPER_LEAST, Math.min(1, PAPER_WIDE / wide))) : "";
    this.paintBody();
  }

  /** Take everything off, for another form. */
  clear() {
    this.shown = null;
    this.drawn.clear();
    this.body.replaceChildren();
    this.head.replaceChildren();
    this.body.style.height = "0";
    this.pane.scrollTo(0, 0);
  }

  get count() { return this.shown.rows.length + (this.shown.spare ? 1 : 0); }

  /** Give every column the room its longest text wants. */
  measure() {
    const { header, rows } = this.shown;
    const sign = this.high > 40 ? 9 : 8.2;
    const longest = header.map((name) => Math.max(4, name.length));
    const step = Math.max(1, Math.floor(rows.length / 400));
    for (let at = 0; at < rows.length; at += step) {
      for (let col = 0; col < longest.length; col++) {
        const long = rows[at][col]?.length || 0;
        if (long > longest[col]) longest[col] = long;
      }
    }
    const narrow = this.pane.clientWidth < 560;
    this.wide = longest.map((long, col) => Math.round(Math.min(narrow ? (col ? 150 : 118) : 300, long * sign + 22)));
    this.left = [NUMBER_WIDE];
    for (const wide of this.wide) this.left.push(this.left[this.left.length - 1] + wide);
    const whole = this.left[this.left.length - 1];
    this.spread((this.whole ? 0 : this.pane.clientWidth) - whole);
    this.grid.style.setProperty("--columns", [NUMBER_WIDE, ...this.wide].map((w) => `${w}px`).join(" "));
    this.grid.style.width = `${this.whole ? whole : Math.max(whole, this.pane.clientWidth)}px`;
    this.frozen = narrow ? Math.min(1, this.shown.frozen) : this.shown.frozen;
  }

  /** Where there is room to spare, a cell of words is given some to type in; the last column, notes, takes the rest. */
  spread(spare) {
    const last = this.wide.length - 1;
    if (spare <= 0 || last < 0) return;
    const more = this.shown.header.map((name, col) => (col < last && ROOMY.has(name.trim().toLowerCase()) ? Math.max(0, ROOM_WIDE - this.wide[col]) : 0));
    const wanted = more.reduce((sum, one) => sum + one, 0);
    const part = wanted ? Math.min(1, spare / wanted) : 0;
    more.forEach((one, col) => { this.wide[col] += Math.floor(one * part); });
    this.wide[last] += spare - more.reduce((sum, one) => sum + Math.floor(one * part), 0);
    this.left = [NUMBER_WIDE];
    for (const wide of this.wide) this.left.push(this.left[this.left.length - 1] + wide);
  }

  paintHead() {
    const { header } = this.shown;
    let row = this.head.firstElementChild;
    if (!row) {
      row = el("div", { role: "row", class: "grid-row", "aria-rowindex": 1 }, [
        el("div", { role: "columnheader", class: "grid-cell grid-corner", "aria-colindex": 1 }, [el("span", { class: "unseen" }, ["row"])]),
        ...header.map((_, col) => this.cell("columnheader", -1, col)),
      ]);
      this.head.append(row);
    }
    header.forEach((name, col) => this.fill(row.children[col + 1], -1, col, name));
  }

  paintBody() {
    const top = this.whole ? 0 : Math.floor(this.pane.scrollTop / this.high) - OVERSCAN;
    const bottom = this.whole ? MOST_PRINTED : top + Math.ceil(this.pane.clientHeight / this.high) + 2 * OVERSCAN;
    const wanted = new Set();
    const last = this.whole ? this.shown.rows.length : this.count; // the new row is not for paper
    for (let row = Math.max(0, top); row < Math.min(last, bottom); row++) wanted.add(row);
    if (!this.whole && this.shown.at.row >= 0 && this.shown.at.row < this.count) wanted.add(this.shown.at.row);
    for (const [row, made] of this.drawn) {
      if (!wanted.has(row)) { made.remove(); this.drawn.delete(row); }
    }
    for (const row of [...wanted].sort((a, b) => a - b)) this.paintRow(row);
  }

  paintRow(row) {
    const { header, rows } = this.shown;
    const cells = rows[row];
    let made = this.drawn.get(row);
    if (!made) {
      made = el("div", { role: "row", class: "grid-row" }, [
        el("div", { role: "rowheader", class: "grid-cell grid-number", "aria-colindex": 1 }),
        ...header.map((_, col) => this.cell("gridcell", row, col)),
      ]);
      made.dataset.row = String(row);
      made.style.transform = `translateY(${row * this.high}px)`;
      made.setAttribute("aria-rowindex", String(row + 2));
      const next = [...this.drawn.keys()].filter((n) => n > row).sort((a, b) => a - b)[0];
      this.body.insertBefore(made, next === undefined ? null : this.drawn.get(next));
      this.drawn.set(row, made);
    }
    const number = cells ? String(row + 1) : "new"; // as seen: the file's own lines begin with its heading
    if (made.firstChild.textContent !== number) made.firstChild.textContent = number;
    for (let col = 0; col < header.length; col++) this.fill(made.children[col + 1], row, col, cells?.[col] ?? "");
  }

  cell(role, row, col) {
    const made = el("div", { role, class: "grid-cell", "aria-colindex": col + 2, tabindex: -1 });
    made.dataset.row = String(row);
    made.dataset.col = String(col);
    return made;
  }

  fill(cell, row, col, text) {
    const { at, range, wrong, marks, news } = this.shown;
    const key = `${row},${col}`;
    const bad = wrong.get(key);
    const mark = marks.get(key);
    const active = at.row === row && at.col === col;
    const chosen = row >= range.top && row <= range.bottom && col >= range.left && col <= range.right;
    const look = `grid-cell${col < this.frozen ? " frozen" : ""}${bad ? " wrong" : ""}${mark ? ` marked ${mark.kind}` : ""}${chosen && !active ? " chosen" : ""}${active ? " active" : ""}${news.has(key) ? " flash" : ""}`;
    if (cell.className !== look) cell.className = look;
    if (cell.dataset.text !== text) {
      cell.dataset.text = text;
      cell.replaceChildren(text);
    }
    this.put(cell, "tabindex", active ? "0" : "-1");
    if (row >= 0) this.put(cell, "aria-selected", String(chosen || active));
    this.put(cell, "aria-invalid", bad ? "true" : null);
    this.put(cell, "aria-describedby", active ? this.says : null);
    this.put(cell, "aria-label", mark && !bad ? `${text}, ${mark.says}` : null);
    if (col < this.frozen) cell.style.left = `${this.left[col]}px`;
  }

  put(cell, name, value) {
    if (value === null) { if (cell.hasAttribute(name)) cell.removeAttribute(name); }
    else if (cell.getAttribute(name) !== value) cell.setAttribute(name, value);
  }

  /** Give the element of a cell, if it is drawn. */
  at(row, col) {
    return row < 0 ? this.head.firstElementChild?.children[col + 1] : this.drawn.get(row)?.children[col + 1];
  }

  /** Where a cell lies in the pane's contents; what is typed may grow over notes, never over a cell to be filled in. */
  box(row, col) {
    const frozen = col < this.frozen;
    const notes = this.shown.header[col + 1]?.trim().toLowerCase() === "notes";
    return {
      room: this.wide[col] + (notes ? this.wide[col + 1] : 0),
      left: this.left[col] + (frozen ? this.pane.scrollLeft : 0),
      top: row < 0 ? this.pane.scrollTop : this.high * (row + 1),
      width: this.wide[col], height: this.high,
    };
  }

  /** Scroll so that a cell can be seen. */
  bring(row, col) {
    const { pane, high } = this;
    if (row >= 0) {
      const top = row * high;
      const room = pane.clientHeight - high * 2;
      if (top < pane.scrollTop) pane.scrollTop = top;
      else if (top > pane.scrollTop + room - 4) pane.scrollTop = top - room + 4;
    }
    if (col < this.frozen) return;
    const left = this.left[col] - this.left[this.frozen];
    const right = this.left[col + 1];
    if (left < pane.scrollLeft) pane.scrollLeft = left;
    else if (right > pane.scrollLeft + pane.clientWidth) pane.scrollLeft = right - pane.clientWidth + 2;
  }
}
