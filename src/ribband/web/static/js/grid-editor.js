// The editor of one cell: an input laid over it, with the choices that may stand there below.
import { el } from "/static/js/ask.js";

/**
 * @typedef {{text: string, label: string, choices: string[], whole: boolean, box: {left: number, top: number, width: number, height: number, room: number},
 *   done: (text: string, move: string) => void, left: () => void, typed?: (text: string) => void}} Opened
 */
export class CellEditor {
  /** @param {HTMLElement} over where it is laid */
  constructor(over) {
    this.over = over;
    /** @type {Opened|null} */
    this.open = null;
  }

  /** Open over a cell; `whole` edits what is there (arrows move the caret), else arrows leave it. @param {Opened} opened */
  start(opened) {
    this.end();
    this.open = opened;
    this.was = opened.text;
    this.moves ??= () => { if (this.open?.choices.length) this.clear(); };
    addEventListener("scroll", this.moves, { capture: true, passive: true });
    const choosing = opened.choices.length > 0;
    this.input = el("input", {
      class: "grid-input", "aria-label": opened.label, maxlength: 2000, autocomplete: "off", autocapitalize: "off", spellcheck: "false", enterkeyhint: "next",
      ...(choosing ? { role: "combobox", "aria-autocomplete": "list", "aria-expanded": "true", "aria-controls": "grid-choices" } : {}),
      onkeydown: (event) => this.key(event), oninput: () => { this.pick = -1; this.list(true); this.widen(); opened.typed?.(this.input.value); }, onblur: () => this.finish(""),
    });
    this.input.value = opened.text;
    this.choices = el("ul", { id: "grid-choices", class: "grid-choices", role: "listbox", "aria-label": `what may stand in ${opened.label}` });
    this.over.append(this.input, ...(choosing ? [this.choices] : []));
    this.place(opened.box);
    this.pick = -1;
    this.list(!opened.whole && opened.text !== "");
    this.input.focus({ preventScroll: true });
    this.input.setSelectionRange(opened.text.length, opened.text.length);
  }

  place(box) {
    const { left, top, width, height } = box;
    Object.assign(this.input.style, { left: `${left}px`, top: `${top}px`, width: `${width}px`, height: `${height}px` });
    this.box = box;
    this.widen();
    this.choices.style.minWidth = `${width}px`;
    if (this.choices.isConnected) this.clear();
  }

  /** Let the cell grow with what is typed in it, as far as it has room and the grid is wide. */
  widen() {
    const { left, width, room } = this.box;
    const pane = this.over.parentElement;
    const most = Math.max(width, Math.min(room, pane.clientWidth + pane.scrollLeft - left - 4));
    this.input.style.width = `${width}px`;
    const wants = this.input.scrollWidth + 10;
    if (wants > width) this.input.style.width = `${Math.min(wants, most)}px`;
  }

  /** List the choices; `narrow` to what is typed. */
  list(narrow) {
    if (!this.open?.choices.length) return;
    const typed = this.input.value.trim().toLowerCase();
    const fits = narrow && typed ? this.open.choices.filter((c) => c.toLowerCase().includes(typed)) : this.open.choices;
    this.fits = fits;
    this.choices.replaceChildren(...fits.map((choice, n) => el("li", {
      id: `grid-choice-${n}`, role: "option", "aria-selected": String(n === this.pick),
      onpointerdown: (event) => event.preventDefault(),
      onclick: () => { this.input.value = choice; this.finish("down"); },
    }, [choice])));
    this.choices.hidden = !fits.length;
    this.clear();
    this.input.setAttribute("aria-expanded", String(fits.length > 0));
    if (this.pick >= 0) this.input.setAttribute("aria-activedescendant", `grid-choice-${this.pick}`);
    else this.input.removeAttribute("aria-activedescendant");
    this.choices.children[this.pick]?.scrollIntoView({ block: "nearest" });
  }

  /** Keep the whole list on the screen: below its cell, or above where below there is no room. */
  clear() {
    const { left, top, bottom } = this.input.getBoundingClientRect();
    const foot = innerHeight - 8;
    this.choices.style.maxHeight = "";
    const high = this.choices.offsetHeight;
    const above = bottom + high > foot && top > foot - bottom;
    Object.assign(this.choices.style, {
      left: `${Math.max(4, Math.min(left, innerWidth - this.choices.offsetWidth - 4))}px`, top: above ? `${Math.max(4, top - high)}px` : `${bottom}px`,
      maxHeight: `${Math.min(260, Math.max(80, above ? top - 8 : foot - bottom))}px`,
    });
  }

  key(event) {
    event.stopPropagation(); // the shell's and the grid's keys are not for here
    const { key } = event;
    const choosing = this.open.choices.length && this.fits?.length;
    if (choosing && (key === "ArrowDown" || key === "ArrowUp")) {
      event.preventDefault();
      const step = key === "ArrowDown" ? 1 : -1;
      this.pick = (this.pick + step + this.fits.length + (this.pick < 0 && step < 0 ? 1 : 0)) % this.fits.length;
      const kept = this.fits[this.pick];
      this.list(false);
      this.pick = this.fits.indexOf(kept);
      this.list(false);
      this.input.value = kept;
      return;
    }
    const move = this.leaves(event);
    if (move === null) return;
    event.preventDefault();
    if (move === "back") this.back();
    else this.finish(move);
  }

  /** Say which way a key leaves the cell; null where it stays. */
  leaves({ key, shiftKey }) {
    if (key === "Escape") return "back";
    if (key === "Enter") return shiftKey ? "up" : "down";
    if (key === "Tab") return shiftKey ? "before" : "after";
    if (this.open.whole) return null;
    return { ArrowDown: "down", ArrowUp: "up", ArrowLeft: "left", ArrowRight: "right" }[key] || null;
  }

  finish(move) {
    if (!this.open) return;
    const opened = this.open;
    const text = this.input.value.trim();
    this.end();
    opened.done(text, move);
  }

  back() {
    const opened = this.open;
    this.end();
    opened?.left();
  }

  end() {
    if (!this.open) return;
    this.open = null;
    removeEventListener("scroll", this.moves, { capture: true });
    this.input.remove();
    this.choices.remove();
  }
}
