// <form-grid form="girths">: any form as a grid to type and paste in, with the keys of a spreadsheet.
//
//   <link rel="stylesheet" href="/static/form-grid.css">
//   <form-grid form="girths" label="Girths"></form-grid>
//   grid.form = "offsets"             shows another form
//   grid.go(row, col)                 chooses a cell (row -1 is the heading) and brings it into view
//   grid.mark([{row, col, kind: "doubt", says: "5-3-5 would lie fair"}])     marks on cells
//   grid.addRows([{line: "position"}, ...], "rows for the table of offsets")
//   grid.write([{row, col, text}], "why")      changes cells as one change
//   events: "cell" {form, row, col, column, text} where one stands; "loaded" {form, rows, wrong}; "typing" {row, col, text} and "typed"
//
// Each edit, paste or clearing is one change of the job; where another hand changed the same cell,
// job.js asks. Cells others change are repainted while one types elsewhere. Where the server cannot
// be reached one can go on; what is typed waits in job.js.
import { ask, el } from "/static/js/ask.js";
import { CellEditor } from "/static/js/grid-editor.js";
import { GridFace } from "/static/js/grid-face.js";
import { headingOf, oldTable, plainName, readBlock, writeBlock } from "/static/js/grid-text.js";
import { job } from "/static/js/job.js";
import { moved } from "/static/js/patched.js";

const FROZEN = { offsets: 2, vessel: 1 };
const DOUBTING = new Set(["offsets", "girths", "points"]);
const OWN_OFFSETS = new Set(["line", "at", "notes"]);

const STATION = {
  position: "how far the station stands aft", "rabbet height": "height of the rabbet", "rabbet half-breadth": "half-breadth at the rabbet",
  "sheer height": "height of the sheer", "sheer half-breadth": "half-breadth at the sheer", waterline: "half-breadth on this waterline",
  buttock: "height on this buttock", diagonal: "distance along this diagonal from the centreline",
};
const LISTS = matchMedia("(pointer: coarse)").matches ? "a second tap lists them" : "Alt+Down lists them";
let made = 0;

class FormGrid extends HTMLElement {
  static observedAttributes = ["form"];

  connectedCallback() {
    if (this.face) return;
    this.tools = el("div", { class: "grid-tools row no-print", role: "toolbar", "aria-label": "Rows and cells" });
    this.says = el("p", { class: "grid-says", id: `grid-says-${++made}` });
    this.pane = el("div", { class: "grid-pane" });
    this.wrongs = el("div", { class: "grid-wrongs", role: "region", "aria-label": "To mend" });
    this.append(this.tools, this.says, this.pane, this.wrongs);
    this.face = new GridFace(this.pane, this.says.id);
    this.editor = new CellEditor(this.face.over);
    this.bubble = el("div", { class: "grid-bubble", "aria-hidden": "true" });
    this.face.over.append(this.bubble);
    this.ears();
    this.offs = [
      job.on("patch", (patch) => this.heard(patch)),
      job.on("view", (view) => this.viewed(view)),
      job.on("online", () => this.load()),
      leaving(() => this.editor.finish("")), // what is being typed is kept
    ];
    new ResizeObserver(() => this.paint()).observe(this.pane);
    this.form = this.getAttribute("form");
  }

  disconnectedCallback() { this.offs?.forEach((off) => off()); this.offs = []; }

  attributeChangedCallback(_, was, now) { if (this.face && was !== now && now !== this.name) this.form = now; }

  /** The form shown. */
  get form() { return this.name; }

  set form(name) {
    if (!name || name === this.name) return;
    this.editor?.finish("");
    this.name = name;
    this.setAttribute("form", name);
    this.held = null;
    this.rows = [];
    this.header = [];
    this.flight = { waits: 0 }; // changes of this form on their way; another form has its own
    this.touched = 0;
    this.at = { row: 0, col: 0 };
    this.anchor = { row: 0, col: 0 };
    this.marks = new Map();
    this.wrong = new Map();
    this.news = new Set();
    this.moves = [];
    this.face.clear();
    this.load();
  }

  get mayEdit() { return job.may.work && this.held !== null; }

  // ---- fetching

  async load() {
    const name = this.name;
    const touched = this.touched;
    let form;
    try { form = await job.form(name, { told: true }); } catch (error) { if (this.name === name && !this.held) this.trouble(error.message); return; }
    if (this.name !== name) return;
    if (this.flight.waits || this.touched !== touched || form.revision < (this.held?.revision ?? 0)) { this.stale = true; return; }
    this.stale = false;
    this.adopt(form);
  }

  loadSoon(ms) { clearTimeout(this.soon); this.soon = setTimeout(() => this.load(), ms); }

  adopt(form) {
    const first = !this.held, wider = first || form.header.length !== this.header.length;
    const before = this.rows;
    this.news = first ? new Set() : this.changed(form);
    this.held = form;
    if (form.revision > job.told) this.moves = null; // fetched before it was told what became of the rows
    this.inColumns(form.header);
    this.header = [...form.header];
    this.rows = form.rows.map((row) => [...row]);
    this.follow(before);
    this.findWrong();
    if (wider) this.buttons();
    this.paint();
    this.editor.open && this.editor.place(this.face.box(this.at.row, this.at.col));
    this.dispatchEvent(new CustomEvent("loaded", { detail: { form: this.name, rows: this.rows.length, wrong: this.wrong.size } }));
    if (first) this.told();
  }

  /** Name the cells that read otherwise than they are shown: another hand's. */
  changed(form) {
    const news = new Set();
    if (form.rows.length !== this.rows.length || form.header.length !== this.header.length) return news;
    form.rows.forEach((row, r) => row.forEach((text, c) => { if (text !== this.rows[r][c]) news.add(`${r},${c}`); }));
    return news.size < 400 ? news : new Set();
  }

  /** A cell being typed in stays the cell of its column where another hand moved columns. */
  inColumns(header) {
    const own = this.typing;
    if (!this.editor.open || !own || header.join("\t") === this.header.join("\t")) return;
    const from = header.map((name) => this.header.indexOf(name));
    const col = header.length === this.header.length ? own.col : from.indexOf(own.col);
    if (own.seen && header.length !== this.header.length) own.seen = { ...own.seen, row: from.map((n) => (n < 0 ? "" : own.seen.row[n])), upon: this.held.revision };
    if (col >= 0) { own.col = col; this.at = { ...this.at, col }; this.anchor = { ...this.at }; return; }
    const text = this.editor.input.value;
    this.editor.back();
    job.say(`The column ${this.header[own.col]} was taken out by another hand; “${text}”, typed in it, was not put in.`, "look");
  }

  /** Stay with the row one stands on where rows came or went above it. */
  follow(before) {
    const { moves } = this;
    this.moves = [];
    if (moves) {
      for (const spot of [this.at, this.anchor]) if (spot.row >= 0) spot.row = moved(spot.row, moves) ?? spot.row;
      this.keepIn();
    } else this.search(before);
  }

  /** The same where it is not known what became of the rows. */
  search(before) {
    const own = before[this.at.row]?.join("\t");
    if (own === undefined && this.editor.open && before.length !== this.rows.length) { // the new row stays the new row
      this.at = { row: this.rows.length, col: this.at.col };
      this.anchor = { ...this.at };
    }
    const here = this.rows[this.at.row]?.join("\t");
    if (own !== undefined && own !== here && before.length !== this.rows.length) {
      const same = this.rows.map((row, n) => (row.join("\t") === own ? n : -1)).filter((n) => n >= 0);
      if (same.length) {
        const row = same.reduce((a, b) => (Math.abs(b - this.at.row) < Math.abs(a - this.at.row) ? b : a));
        this.anchor = { row: this.anchor.row + row - this.at.row, col: this.anchor.col };
        this.at = { row, col: this.at.col };
      }
    }
    this.keepIn();
  }

  keepIn() {
    for (const spot of [this.at, this.anchor]) {
      spot.row = Math.max(-1, Math.min(spot.row, this.last));
      spot.col = Math.max(0, Math.min(spot.col, this.header.length - 1));
    }
  }

  findWrong() {
    const names = this.header.map(plainName);
    this.wrong = new Map();
    this.whole = [];
    for (const problem of this.held.problems) {
      const col = names.indexOf(plainName(problem.column || ""));
      if (problem.at === null || problem.at === undefined || (col < 0 && problem.at < 0)) this.whole.push(problem);
      else this.wrong.set(`${problem.at},${Math.max(col, 0)}`, problem);
    }
    this.listWrong();
  }

  listWrong() {
    const all = [...this.wrong].sort((a, b) => parseInt(a[0], 10) - parseInt(b[0], 10));
    const many = all.length + this.whole.length;
    this.wrongs.hidden = !many;
    if (!many) { this.wrongs.replaceChildren(); return; }
    const blank = all.filter(([, p]) => !p.found).length;
    const wrong = many - blank;
    this.wrongs.replaceChildren(
      el("h3", {}, [[wrong && `${wrong} to mend`, blank && `${blank} to fill in`].filter(Boolean).join(", ")]),
      el("ul", {}, [
        ...this.whole.map((p) => el("li", {}, [inWords(p)])),
        ...all.slice(0, 40).map(([key, p]) => {
          const [row, col] = key.split(",").map(Number);
          return el("li", {}, [el("button", { type: "button", class: "plain on-paper", onclick: () => this.go(row, col) }, [
            `${row < 0 ? "heading" : `row ${row + 1}`}, ${this.header[col]}: `]), inWords(p)]);
        }),
        ...(all.length > 40 ? [el("li", {}, [`and ${all.length - 40} more`])] : []),
      ]),
    );
  }

  heard(patch) {
    if (patch.forms.includes("vessel") && this.name !== "vessel") this.loadSoon(150); // perhaps another unit
    if (!patch.forms.includes(this.name) && !patch.forms.includes("*")) return;
    if (this.held && patch.revision <= this.held.revision) return; // fetched since
    this.moves = this.movesOf(patch);
    if (this.flight.waits) { this.stale = true; return; }
    this.loadSoon(0);
  }

  /** What became of the rows up to this patch; null where that is not known. Own edits were done here at once. */
  movesOf(patch) {
    if (patch.mine) return this.moves;
    const theirs = patch.edits.filter((edit) => edit.form === this.name);
    const known = this.moves && theirs.length && !this.flight.shifts;
    return known ? [...this.moves, ...theirs] : null;
  }

  /** What is wrong here may hang on other forms: look again where the job's problems changed. */
  viewed(view) {
    const problems = JSON.stringify(view.problems);
    if (problems === this.problems) return;
    this.problems = problems;
    if (this.held) this.loadSoon(0);
  }

  trouble(words) { this.says.textContent = words; this.pane.hidden = true; }

  // ---- painting

  get last() { return this.rows.length - (this.mayEdit ? 0 : 1); }

  get range() {
    return {
      top: Math.min(this.at.row, this.anchor.row), bottom: Math.max(this.at.row, this.anchor.row),
      left: Math.min(this.at.col, this.anchor.col), right: Math.max(this.at.col, this.anchor.col),
    };
  }

  paint(moved = false) {
    if (!this.held) return;
    this.pane.hidden = false;
    const inside = this.face.grid.contains(document.activeElement);
    this.face.show({
      name: this.name, title: this.getAttribute("label") || this.held.title, header: this.header, rows: this.rows, spare: this.mayEdit,
      frozen: FROZEN[this.name] ?? 1, at: this.at, range: this.range, wrong: this.wrong, marks: this.marks, news: this.news, mayEdit: this.mayEdit,
    }, moved);
    if (inside && !this.face.grid.contains(document.activeElement)) this.face.at(this.at.row, this.at.col)?.focus({ preventScroll: true });
    this.words();
  }

  /** Say of the cell one stands in what is wanted, and what is wrong. */
  words() {
    const { row, col } = this.at;
    const problem = this.wrong.get(`${row},${col}`);
    const mark = this.marks.get(`${row},${col}`);
    const column = this.held.columns[col];
    const place = row < 0 ? "heading" : this.rows[row] ? `row ${row + 1}` : "new row";
    const wants = this.wants(column, row);
    this.says.replaceChildren(el("b", {}, [`${this.header[col] ?? ""}, ${place}`]), ` ${wants}`,
      ...(problem ? [el("span", { class: "wrong-words" }, [` ${inWords(problem)}`])] : []),
      ...(mark ? [el("span", { class: "mark-words" }, [` ${mark.says}`])] : []));
    const shown = problem || mark;
    this.bubble.hidden = !shown || Boolean(this.editor.open && !problem);
    if (!shown) return;
    this.bubble.textContent = problem ? inWords(problem) : mark.says;
    this.bubble.classList.toggle("doubt", !problem);
    const box = this.face.box(row, col);
    this.bubble.style.left = `${Math.max(this.pane.scrollLeft + 4, Math.min(box.left, this.pane.scrollLeft + this.pane.clientWidth - 290))}px`;
    const below = box.top + box.height + 3;
    const fits = below + 64 < this.pane.scrollTop + this.pane.clientHeight || row < 2;
    this.bubble.style.top = fits ? `${below}px` : `${box.top - 3}px`;
    this.bubble.classList.toggle("above", !fits);
  }

  /** Say what a cell wants, with an example in the job's unit. */
  wants(column, row) {
    if (!column) return "";
    if (this.name === "offsets" && column.says === "a station") { // hangs on the line of the row
      const line = (this.rows[row]?.[0] || "").trim().toLowerCase();
      const example = this.held.columns.find((c) => plainName(c.name) === "at")?.example;
      return STATION[line] ? `${STATION[line]}; for example ${example}` : "a station";
    }
    const first = (this.rows[row]?.[0] || "").trim().toLowerCase().replace(/_/g, " ");
    const example = column.examples && first in column.examples ? column.examples[first] : column.example;
    const choices = row < 0 ? [] : this.fixedChoices(column, first);
    if (choices.length) return `${column.says}${choices.every((word) => column.says.includes(word)) ? "" : `: one of ${choices.join(", ")}`} (${LISTS})`;
    return `${column.says}${example && row >= 0 ? `; for example ${example}` : ""}`;
  }

  told() {
    const { row, col } = this.at;
    this.dispatchEvent(new CustomEvent("cell", { bubbles: true, detail: { form: this.name, row, col, column: this.header[col], text: this.rows[row]?.[col] ?? "" } }));
  }

  /** Marks on cells. @param {{row: number, col: number, kind: string, says: string}[]} marks */
  mark(marks) {
    this.marks = new Map(marks.map((m) => [`${m.row},${m.col}`, m]));
    this.paint(true);
  }

  // ---- moving

  /** Choose a cell. @param {number} row @param {number} col @param {{reach?: boolean, focus?: boolean}} [how] */
  go(row, col, { reach = false, focus = true } = {}) {
    this.at = { row: Math.max(-1, Math.min(row, this.last)), col: Math.max(0, Math.min(col, this.header.length - 1)) };
    if (!reach) this.anchor = { ...this.at };
    this.news = new Set();
    this.face.bring(this.at.row, this.at.col);
    this.paint(true);
    const cell = this.face.at(this.at.row, this.at.col);
    if (focus) cell?.focus({ preventScroll: true });
    if (cell && (focus || innerWidth > 900)) intoWindow(cell);
    this.told();
  }

  move(down, right, reach) { this.go(this.at.row + down, this.at.col + right, { reach }); }

  /** Go to the end of what is filled in, as Ctrl with an arrow does. */
  jump(down, right, reach) {
    const filled = (row, col) => Boolean(this.rows[row]?.[col]);
    let { row, col } = this.at;
    const next = filled(row + down, col + right) && filled(row, col);
    do { row += down; col += right; } while (row >= 0 && row < this.rows.length && col >= 0 && col < this.header.length && filled(row, col) === next);
    if (next) { row -= down; col -= right; }
    this.go(Math.max(0, Math.min(row, this.last)), col, { reach });
  }

  /** Leave a cell the way an editor was left. */
  leave(move) {
    const { row, col } = this.at;
    const last = this.header.length - 1;
    const first = this.tabbed ?? col;
    if (move === "after") { this.tabbed ??= col; return col < last ? this.go(row, col + 1) : this.go(row + 1, 0); }
    if (move === "before") return col > 0 ? this.go(row, col - 1) : this.go(Math.max(0, row - 1), row > 0 ? last : 0);
    if (move === "down" && this.tabbed !== undefined) { this.tabbed = undefined; return this.go(row + 1, first); }
    this.tabbed = undefined;
    const [down, right] = { down: [1, 0], up: [-1, 0], left: [0, -1], right: [0, 1] }[move] || [0, 0];
    return this.move(row + down < -1 ? 0 : down, right, false);
  }

  ears() {
    const { grid } = this.face;
    grid.addEventListener("keydown", (event) => this.key(event));
    grid.addEventListener("pointerdown", (event) => this.press(event));
    grid.addEventListener("pointermove", (event) => this.drag(event));
    grid.addEventListener("click", (event) => this.tap(event));
    grid.addEventListener("dblclick", (event) => { if (spot(event)) this.edit(null); });
    this.addEventListener("copy", (event) => this.copied(event));
    this.addEventListener("cut", (event) => { if (this.copied(event)) this.clear(); });
    this.addEventListener("paste", (event) => {
      if (this.editor.open || !event.target.closest?.(".grid-pane")) return;
      event.preventDefault();
      this.paste(event.clipboardData.getData("text/plain"));
    });
    addEventListener("pointerup", () => { this.dragging = false; });
  }

  press(event) {
    const at = this.under = spot(event);
    if (event.pointerType === "touch" || event.button) return;
    event.preventDefault();
    this.editor.finish("");
    this.tabbed = undefined;
    if (!at) { this.pickRow(event); return; }
    this.go(at.row, at.col, { reach: event.shiftKey });
    this.dragging = true;
  }

  drag(event) {
    if (!this.dragging || event.pointerType === "touch") return;
    const at = spot(event);
    if (at && (at.row !== this.at.row || at.col !== this.at.col)) this.go(at.row, at.col, { reach: true });
  }

  /** A finger: the first tap chooses, the second types. It is meant for the cell that lay under it
   * when it came down: leaving the cell before may have moved the columns since. */
  tap(event) {
    const at = this.under ?? spot(event);
    if (event.pointerType !== "touch") return;
    if (!at) { this.pickRow(event); return; }
    const again = at.row === this.at.row && at.col === this.at.col && this.face.grid.contains(document.activeElement);
    this.editor.finish("");
    this.go(at.row, at.col);
    if (again) this.edit(null);
  }

  pickRow(event) {
    const number = event.target.closest?.(".grid-number");
    if (!number) return;
    const row = Number(number.parentElement.dataset.row);
    if (event.shiftKey) { this.go(row, this.header.length - 1, { reach: true }); this.anchor.col = 0; this.paint(); } else this.chooseRow(row);
  }

  chooseRow(row) {
    this.go(row, this.header.length - 1);
    this.anchor = { row, col: 0 };
    this.paint();
  }

  key(event) {
    const { key, shiftKey: shift } = event;
    const ctrl = event.ctrlKey || event.metaKey;
    const move = { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[key];
    if (event.altKey && key === "ArrowDown") return this.does(event, () => this.edit(null));
    if (event.altKey && key === "Delete") return this.does(event, () => this.takeOut());
    if (event.altKey) return undefined;
    if (move) return this.does(event, () => (ctrl ? this.jump(...move, shift) : this.move(...move, shift)));
    if (key === "Tab") return this.tab(event);
    const act = ctrl ? this.withCtrl(key.toLowerCase(), shift) : this.plainly(key, shift);
    return act && this.does(event, act);
  }

  does(event, act) {
    event.preventDefault();
    if (/^(Arrow|Home|End|Page|Esc)/.test(event.key)) this.tabbed = undefined;
    this.leaving = event.key === "Escape";
    act();
  }

  /** Tab goes on through the cells; after Escape, or at the end, it leaves. */
  tab(event) {
    const { row, col } = this.at;
    const end = event.shiftKey ? row <= 0 && col === 0 : row === this.last && col === this.header.length - 1;
    if (this.leaving || end) { this.leaving = false; return this.out(event); }
    event.preventDefault();
    return this.leave(event.shiftKey ? "before" : "after");
  }

  /** Let Tab go past every other cell. */
  out(event) {
    if (event.shiftKey) { this.tools.querySelector("button:last-of-type")?.focus(); event.preventDefault(); }
  }

  withCtrl(key, shift) {
    return {
      home: () => this.go(0, 0, { reach: shift }),
      end: () => this.go(this.rows.length - 1, this.header.length - 1, { reach: shift }),
      a: () => { this.go(this.rows.length - 1, this.header.length - 1); this.anchor = { row: 0, col: 0 }; this.paint(); },
      d: () => this.fillDown(),
    }[key];
  }

  plainly(key, shift) {
    const page = Math.max(1, Math.floor(this.pane.clientHeight / this.face.high) - 2);
    const known = {
      Enter: () => this.leave(shift ? "up" : "down"), F2: () => this.edit(null), Escape: () => this.go(this.at.row, this.at.col),
      Home: () => this.go(this.at.row, 0, { reach: shift }), End: () => this.go(this.at.row, this.header.length - 1, { reach: shift }),
      PageDown: () => this.move(page, 0, shift), PageUp: () => this.go(Math.max(0, this.at.row - page), this.at.col, { reach: shift }),
      Delete: () => this.clear(), Backspace: () => this.clear(), Insert: () => this.addRow(this.at.row),
    }[key];
    if (key === " " && shift) return () => this.chooseRow(this.at.row);
    return known || ([...key].length === 1 ? () => this.edit(key) : undefined);
  }

  // ---- typing

  /** Edit the cell one stands in: with a sign typed over it, or (null) what is there. */
  edit(sign) {
    const { row, col } = this.at;
    if (!this.mayEdit || !this.mayName(row, col)) return;
    const text = row < 0 ? this.header[col] : this.rows[row]?.[col] ?? "";
    const seen = this.rows[row] ? { row: [...this.rows[row]], at: row, upon: this.held.revision } : null;
    this.face.bring(row, col);
    const typing = this.typing = { col, seen };
    this.editor.start({
      text: sign ?? text, whole: sign === null, label: `${this.header[col]}, ${row < 0 ? "heading" : this.rows[row] ? `row ${row + 1}` : "new row"}`,
      choices: row < 0 ? [] : this.choices(row, col), box: this.face.box(row, col),
      done: (now, move) => {
        this.goesOn = Boolean(move); // what is drawn for the next cell is drawn once
        try { this.ended(); this.typed(this.at.row, typing.col, now, typing.seen); } finally { this.goesOn = false; }
        if (move) this.leave(move); else this.paint();
      },
      left: () => { this.ended(); this.go(this.at.row, this.at.col); },
      typed: (now) => this.dispatchEvent(new CustomEvent("typing", { detail: { row, col, text: now } })),
    });
    this.words();
  }

  ended() { this.dispatchEvent(new CustomEvent("typed")); }

  /** Only the headings of stations can be changed. */
  mayName(row, col) { return row >= 0 || (this.name === "offsets" && !OWN_OFFSETS.has(plainName(this.header[col] || ""))); }

  choices(row, col) {
    const column = this.held.columns[col];
    if (!column) return this.offered?.(this.name, col) || [];
    const first = (this.rows[row]?.[0] || "").trim().toLowerCase().replace(/_/g, " ");
    const own = this.fixedChoices(column, first);
    const known = column.known?.[first] || column.known?.[""];
    return own.length ? own : known || this.offered?.(this.name, col) || [];
  }

  /** What may stand in a cell and nothing else, by the first cell of its row. */
  fixedChoices(column, first) { return column.by[first] || column.choices; }

  /** Put in what was typed, upon the row as it was when the typing began: what another hand typed
   * into the same cell meanwhile is asked about, not lost. */
  typed(row, col, text, seen) {
    if (row < 0) { if (text && text !== this.header[col]) this.heading(this.header.map((name, n) => (n === col ? text : name)), `station ${this.header[col]} named ${text}`); return; }
    const here = this.rows[row];
    if (!seen || seen.row.join("\t") === here?.join("\t")) { this.write([{ row, col, text }]); return; }
    if (text === seen.row[col]) return;
    const within = (cells) => cells.map((own, n) => (n === col ? text : own));
    const now = within(seen.row);
    const shown = here ? [{ was: here, now: within(here), at: row }] : [];
    this.send([{ form: this.name, was: seen.row, now, at: seen.at }], this.why([{ col, text }], [{ now }]), seen.upon, shown);
  }

  /** Change cells as one change. @param {{row: number, col: number, text: string}[]} cells @param {string} [why] */
  write(cells, why) {
    const now = new Map();
    for (const { row, col, text } of cells) {
      if (row < 0 || col < 0 || col >= this.header.length) continue;
      if (!now.has(row)) now.set(row, [...(this.rows[row] || this.header.map(() => ""))]);
      now.get(row)[col] = text;
    }
    const edits = [];
    let end = this.rows.length;
    for (const row of [...now.keys()].sort((a, b) => a - b)) {
      const cellsNow = now.get(row);
      const was = this.rows[row] ?? null;
      if (was ? was.join("\t") !== cellsNow.join("\t") : cellsNow.some(Boolean)) edits.push({ form: this.name, was, now: cellsNow, at: was ? row : end++ });
    }
    if (!edits.length) return undefined;
    return this.send(edits, why || this.why(cells, edits));
  }

  why(cells, edits) {
    const title = this.name.replace(/_/g, " ");
    if (cells.length > 1 && edits.length > 1) return `${title}: ${edits.length} rows`;
    const { col, text } = cells[0];
    const first = edits[0].now[0];
    const of = col > 0 && first ? `${title}, ${this.header[0]} ${first}` : title;
    return `${of}: ${this.header[col]} ${text || "cleared"}`.slice(0, 200);
  }

  /** Do edits here at once and send them; rows come back from the server when all are sent. */
  async send(edits, why, upon = this.held.revision, shown = edits) {
    if (!this.mayEdit) return;
    for (const edit of shown) this.doHere(edit);
    this.touched++;
    const { flight } = this;
    flight.waits++;
    flight.shifts ||= edits.some((edit) => !edit.was || !edit.now || edit.at < 0);
    this.listWrong();
    if (!this.goesOn) { this.paint(); this.told(); }
    try {
      if (!await job.change(edits, why, { upon })) this.fetchAnew(); // theirs was kept
    } catch { this.fetchAnew(); /* said in the corner */ } finally {
      flight.waits--;
      if (!flight.waits) flight.shifts = false;
      if (!flight.waits && flight === this.flight) this.loadSoon(30);
    }
  }

  /** What is shown here did not come about. */
  fetchAnew() {
    job.forms.delete(this.name);
    this.moves = null;
  }

  doHere({ was, now, at }) {
    if (at < 0) { this.moveColumns(now); return; }
    if (was && now) {
      now.forEach((text, col) => { if (text !== was[col]) this.wrong.delete(`${at},${col}`); });
      this.rows[at] = [...now];
    } else if (now) { this.rows.splice(at, 0, [...now]); if (at < this.rows.length - 1) this.wrong.clear(); }
    else { this.rows.splice(at, 1); this.wrong.clear(); this.marks.clear(); }
  }

  moveColumns(now) {
    if (now.length !== this.header.length) {
      const from = now.map((name) => this.header.indexOf(name));
      this.rows = this.rows.map((row) => from.map((n) => (n < 0 ? "" : row[n])));
      const columns = from.map((n, at) => (n < 0 ? this.held.more?.find((one) => one.name === now[at]) || { name: now[at], says: "a station", needed: false, choices: [], example: "", by: {}, examples: {} } : this.held.columns[n]));
      this.held = { ...this.held, columns, more: this.held.more?.filter((one) => !now.includes(one.name)) };
      this.buttons();
      this.wrong.clear();
      this.marks.clear();
    }
    this.header = [...now];
  }

  heading(now, why) { return this.send([{ form: this.name, was: this.header, now, at: -1 }], why); }

  clear() {
    const { top, left, bottom, right } = this.range;
    const cells = [];
    for (let row = Math.max(0, top); row <= Math.min(bottom, this.rows.length - 1); row++) for (let col = left; col <= right; col++) if (this.rows[row][col]) cells.push({ row, col, text: "" });
    return this.write(cells, cells.length > 1 ? `${this.name.replace(/_/g, " ")}: ${cells.length} cells cleared` : undefined);
  }

  fillDown() {
    const { top, left, bottom, right } = this.range;
    const from = top === bottom ? top - 1 : top;
    if (from < 0) return undefined;
    const cells = [];
    for (let row = from + 1; row <= bottom; row++) for (let col = left; col <= right; col++) cells.push({ row, col, text: this.rows[from]?.[col] ?? "" });
    return this.write(cells, cells.length > 1 ? `${this.name.replace(/_/g, " ")}: filled down` : undefined);
  }

  /** Put or take the ? that marks readings as doubtful where they were written. */
  doubt() {
    const { top, left, bottom, right } = this.range;
    const cells = [];
    for (let row = Math.max(0, top); row <= Math.min(bottom, this.rows.length - 1); row++) {
      for (let col = left; col <= right; col++) {
        const text = this.rows[row][col];
        if (text && col > 0 && plainName(this.header[col]) !== "notes" && plainName(this.header[col]) !== "at") cells.push({ row, col, text: text.endsWith("?") ? text.slice(0, -1).trim() : `${text}?` });
      }
    }
    return this.write(cells);
  }

  // ---- rows and stations

  addRow(row) { const at = Math.max(0, Math.min(row, this.rows.length)); this.send([{ form: this.name, was: null, now: this.header.map(() => ""), at }], `${this.name.replace(/_/g, " ")}: a row put in`); this.go(at, this.at.col); }

  takeOut() {
    const { top, bottom } = this.range;
    const edits = [];
    for (let row = Math.min(bottom, this.rows.length - 1); row >= Math.max(0, top); row--) edits.push({ form: this.name, was: this.rows[row], now: null, at: row });
    if (!edits.length) return;
    this.send(edits, `${this.name.replace(/_/g, " ")}: ${edits.length > 1 ? `${edits.length} rows` : `row ${edits[0].was[0] || top + 1}`} taken out`);
    this.go(Math.max(0, top), this.at.col);
  }

  /** Add rows at the end. @param {Record<string, string>[]} rows @param {string} why */
  addRows(rows, why) {
    let at = this.rows.length;
    return this.send(rows.map((cells) => ({ form: this.name, was: null, now: job.row(this.header.map(plainName), cells), at: at++ })), why);
  }

  /** Put in a column that such a form may have and this one has not, before the notes. */
  async addColumn() {
    const name = await ask.one("Which column?", "It stands before the notes, blank in every row.", this.held.more.map((one) => [`${one.name.replace(/_/g, " ")}: ${one.says}`, one.name]));
    if (!name) return;
    const at = this.header.map(plainName).indexOf("notes"), end = at < 0 ? this.header.length : at;
    await this.heading([...this.header.slice(0, end), name, ...this.header.slice(end)], `${this.name.replace(/_/g, " ")}: column ${name} put in`);
  }

  async addStation() {
    const said = await ask.text("New stations", "Their names, parted by blanks; they stand before the notes.", this.nextStation());
    const names = (said || "").split(/[\s,;]+/).filter((name) => name && !this.header.includes(name));
    if (names.length) this.addStations(names);
  }

  addStations(names) {
    const at = this.header.map(plainName).indexOf("notes");
    const end = at < 0 ? this.header.length : at;
    return this.heading([...this.header.slice(0, end), ...names, ...this.header.slice(end)], `offsets: ${names.length > 1 ? "stations" : "station"} ${names.join(", ")} put in`);
  }

  nextStation() {
    const own = this.header.filter((name) => !OWN_OFFSETS.has(plainName(name)));
    const last = own[own.length - 1];
    if (!last) return "1 2 3 4 5 6 7 8 9 10";
    if (/^\d+$/.test(last)) return String(Number(last) + 1);
    return /^[A-Ya-y]$/.test(last) ? String.fromCharCode(last.charCodeAt(0) + 1) : "";
  }

  async dropStation() {
    const name = this.header[this.at.col];
    if (!this.mayName(-1, this.at.col)) { job.say("Stand in the column of the station first."); return; }
    if (this.rows.some((row) => row[this.at.col]) && !await ask.yes(`Take out station ${name}?`, "Its column goes with all its readings. Undo brings it back.", "Take it out")) return;
    this.heading(this.header.filter((_, n) => n !== this.at.col), `offsets: station ${name} taken out`);
  }

  buttons() {
    const button = (words, act, title) => el("button", { type: "button", title, onclick: act }, [words]);
    const offsets = this.name === "offsets";
    this.tools.replaceChildren(...(this.mayEdit ? [
      button("Row above", () => this.addRow(this.at.row), "Insert"),
      button("Take out row", () => this.takeOut(), "Alt+Delete"),
      ...(offsets ? [button("Add stations", () => this.addStation()), button("Take out station", () => this.dropStation())] : []),
      ...(this.held?.more?.length ? [button("Add column", () => this.addColumn())] : []),
      button("Fill down", () => { this.fillDown(); this.refocus(); }, "Ctrl+D"),
      ...(DOUBTING.has(this.name) ? [button("Doubtful ?", () => { this.doubt(); this.refocus(); }, "Mark the reading as hard to read where it was written")] : []),
      button("Paste", () => this.pasteAsked(), "Ctrl+V; takes blocks from a spreadsheet"),
    ] : []));
  }

  refocus() { this.go(this.at.row, this.at.col, { reach: true }); }

  // ---- copying and pasting

  copied(event) {
    if (this.editor.open || !event.target.closest?.(".grid-pane") || String(getSelection())) return false;
    const { top, left, bottom, right } = this.range;
    const lines = [];
    for (let row = top; row <= bottom; row++) {
      const cells = row < 0 ? this.header : this.rows[row];
      if (cells) lines.push(cells.slice(left, right + 1));
    }
    event.preventDefault();
    event.clipboardData.setData("text/plain", writeBlock(lines));
    return true;
  }

  async pasteAsked() {
    const area = el("textarea", { rows: 8, cols: 40, "aria-label": "What to paste" });
    const dialog = el("dialog", { "aria-labelledby": "paste-title" }, [el("form", { method: "dialog" }, [
      el("h2", { id: "paste-title" }, ["Paste a block"]), el("p", {}, ["Cells parted by tabs, as a spreadsheet copies them; a heading is understood."]), area,
      el("div", { class: "row" }, [el("button", { value: "" }, ["Leave it"]), el("button", { value: "yes", class: "main" }, ["Put it in"])]),
    ])]);
    dialog.addEventListener("close", () => { dialog.remove(); if (dialog.returnValue === "yes") { this.paste(area.value); this.refocus(); } });
    document.body.append(dialog);
    dialog.showModal();
  }

  /** Put a block in from the chosen cell on. */
  paste(text) {
    if (!this.mayEdit || !text) return undefined;
    let block = readBlock(text);
    const table = this.name === "old_strakes" && oldTable(block, this.offered?.(this.name, this.header.indexOf("frame")) || []);
    if (table) return this.pasteTable(table);
    let places = headingOf(block[0], this.header);
    const headed = places !== null;
    if (headed) {
      if (this.name === "offsets") places = this.withStations(block[0], places);
      block = block.slice(1);
    }
    const { top, left, bottom, right } = this.range;
    const start = Math.max(0, headed && this.at.row < 0 ? 0 : top);
    if (!headed && block.length === 1 && block[0].length === 1 && (bottom > top || right > left)) block = Array.from({ length: bottom - top + 1 }, () => Array(right - left + 1).fill(block[0][0]));
    const cells = [];
    let lost = 0;
    block.forEach((line, r) => line.forEach((cell, c) => {
      const col = headed ? places[c] : left + c;
      if (col >= 0 && col < this.header.length) cells.push({ row: start + r, col, text: cell });
      else if (cell) lost++;
    }));
    if (lost) job.say(`${lost} pasted cells fell outside the columns of this form and were left out.`, "look");
    const wide = headed ? this.header.length : block[0]?.length || 1;
    const done = this.write(cells, `${this.name.replace(/_/g, " ")}: ${block.length} ${block.length > 1 ? "rows" : "row"} pasted`);
    this.at = { row: Math.min(start + block.length - 1, this.last), col: Math.min((headed ? 0 : left) + wide - 1, this.header.length - 1) };
    this.anchor = { row: start, col: headed ? 0 : left };
    this.paint();
    return done;
  }

  /** Put in old widths from a table of strakes down and frames across: over those that are there, else after them. */
  pasteTable(table) {
    const at = (name) => this.header.map(plainName).indexOf(name);
    const [side, strake, frame, width] = ["side", "strake", "frame", "width"].map(at);
    const key = (cells) => cells.map((cell) => plainName(cell || "")).join("\t");
    const known = new Map(this.rows.map((row, n) => [key([row[side], row[strake], row[frame]]), n]));
    let end = this.rows.length;
    const cells = table.flatMap((one) => {
      const row = known.get(key([one.side, one.strake, one.frame])) ?? end++;
      return [[side, one.side], [strake, one.strake], [frame, one.frame], [width, one.width]].filter(([col, text]) => col >= 0 && text).map(([col, text]) => ({ row, col, text }));
    });
    const done = this.write(cells, `old strakes: a table of ${table.length} widths pasted`);
    job.say(`${table.length} widths were read from the table, strakes down and frames across.`);
    this.go(Math.max(0, end - 1), Math.max(0, width), { focus: false });
    return done;
  }

  /** Put in the stations a pasted heading has and the form has not. */
  withStations(names, places) {
    const fresh = names.filter((name, n) => name && places[n] < 0);
    if (fresh.length) this.addStations([...new Set(fresh)]);
    return names.map((name) => (name ? this.header.findIndex((own) => plainName(own) === plainName(name)) : -1));
  }
}

/** Find the cell an event happened in. */
function spot(event) {
  const cell = document.elementFromPoint(event.clientX, event.clientY)?.closest?.(".grid-cell[data-col]");
  return cell ? { row: Number(cell.dataset.row), col: Number(cell.dataset.col) } : null;
}

/** Do something before the page goes; gives how to leave it off. */
function leaving(act) {
  addEventListener("pagehide", act);
  return () => removeEventListener("pagehide", act);
}

/** Scroll the window, where the grid reaches beyond it, until a cell can be seen. */
function intoWindow(cell) {
  const { top, bottom } = cell.getBoundingClientRect();
  const foot = innerHeight - (innerWidth <= 640 ? 66 : 8);
  if (bottom > foot) scrollBy(0, bottom - foot);
  else if (top < 4) scrollBy(0, top - 4);
}

/** Say what is wrong with a cell in words. */
function inWords(problem) {
  const found = problem.found ? `found ${problem.found}; ` : "";
  return `${found}wanted ${problem.wanted}${problem.example ? `; for example ${problem.example}` : ""}`;
}

customElements.define("form-grid", FormGrid);
