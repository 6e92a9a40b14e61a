// Asking: small dialogs with words, made from the browser's own dialog element.
//
//   if (await ask.yes("Go back to revision 12?", "A new revision is made; nothing is lost.", "Go back")) ...
//   const text = await ask.text("Your name", "For the history", job.who);

/** @param {string} tag @param {Record<string, any>} [more] @param {(Node|string)[]} [inside] */
export function el(tag, more = {}, inside = []) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(more)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (name === "class") made.className = value;
    else if (name.startsWith("aria-") && value !== null && value !== undefined) made.setAttribute(name, String(value));
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, String(value));
  }
  made.append(...(PLAIN.has(tag) ? inside : inside.flatMap(whole)));
  return made;
}

const PLAIN = new Set(["option", "title", "textarea", "style", "script"]);
const FIGURE = /([-+−]?\d+-\d+(?:-\d+)?\+?)/; // 3-7-5, 0-1-4+, 2026-11-25, P7-2 from its digit
const SHORT = 24;

/** Words with every figure in them kept on one line: at its hyphens it would be parted. @param {Node|string} words */
function whole(words) {
  if (typeof words !== "string" || words.length <= SHORT || !FIGURE.test(words)) return [words];
  return words.split(FIGURE).map((part, n) => {
    if (n % 2 === 0) return part;
    const kept = document.createElement("span");
    kept.className = "whole";
    kept.append(part);
    return kept;
  });
}

/** Show a dialog; gives what its button is worth, "" where it was sent away. */
function show(title, inside, buttons, check = null) {
  return new Promise((resolve) => {
    const row = el("div", { class: "row" }, buttons.map(([words, worth, kind]) =>
      el("button", { class: kind || "", value: worth, type: "submit" }, [words])));
    const dialog = el("dialog", { "aria-labelledby": "ask-title" }, [
      el("form", { method: "dialog" }, [el("h2", { id: "ask-title" }, [title]), ...inside, row]),
    ]);
    if (check) {
      dialog.firstChild.addEventListener("submit", (event) => {
        event.preventDefault();
        check(dialog);
      });
      row.firstChild.type = "button"; // so that Enter presses the other
      row.firstChild.addEventListener("click", () => dialog.close(""));
    }
    dialog.addEventListener("close", () => { resolve(dialog.returnValue); dialog.remove(); });
    document.body.append(dialog);
    dialog.showModal();
  });
}

/** Say so many of a thing. @param {number} n @param {string} word @param {string} [more] of more than one */
export const many = (n, word, more = `${word}s`) => `${n} ${n === 1 ? word : more}`;

export const ask = {
  async yes(title, says, does = "Yes") {
    return (await show(title, [el("p", {}, [says])], [["Leave it", ""], [does, "yes", "main"]])) === "yes";
  },

  async text(title, says, was = "") {
    const input = el("input", { value: was, maxlength: 300, "aria-label": title });
    const said = await show(title, [el("p", {}, [says]), input], [["Leave it", ""], ["Put it in", "yes", "main"]]);
    return said === "yes" ? input.value.trim() : null;
  },

  /** Several lines at once, checked before they are taken. @param {[string, string, string, string][]} lines name, words, what stands there, what is said of it
   * @param {(said: Record<string, string>) => Promise<any>} check gives what is taken, or throws what is wrong
   * @param {string} [does] */
  async several(title, says, lines, check, does = "Put it in") {
    const inputs = lines.map(([name, , was, note]) => el("input", { name, value: was, maxlength: 60, "aria-describedby": note ? `ask-${name}` : null, autocomplete: "off" }));
    const wrong = el("p", { class: "say bad", role: "alert", hidden: true });
    let taken = null;
    const asked = show(title, [el("p", {}, [says]), ...lines.map(([name, words, , note], n) => el("label", { class: "over line" }, [words, inputs[n], ...(note ? [el("span", { class: "note", id: `ask-${name}` }, [note])] : [])])), wrong],
      [["Leave it", ""], [does, "yes", "main"]], async (dialog) => {
        try { taken = await check(Object.fromEntries(inputs.map((input) => [input.name, input.value.trim()]))); dialog.close("yes"); } catch (error) { wrong.textContent = error.message; wrong.hidden = false; }
      });
    inputs[0].select();
    return (await asked) === "yes" ? taken : null;
  },

  async one(title, says, choices) {
    return show(title, [el("p", {}, [says])], [["Leave it", ""], ...choices]);
  },

  /** Two hands at one thing: true where mine is to stand. */
  async clash(clash) {
    const who = clash.who || "another hand";
    const tables = clash.rows.map((row) => clashTable(row, who));
    const said = await show(`You and ${who} changed the same thing`, [
      el("p", {}, ["Nothing was changed yet. Which is to stand? What you do not choose stays in the history."]),
      ...tables,
    ], [[`Keep ${who === "another hand" ? "theirs" : `${who}'s`}`, ""], ["Put mine in", "mine", "main"]]);
    return said === "mine";
  },
};

function clashTable(row, who) {
  const cells = row.cells.length ? row.cells : row.header.map((column, n) => ({
    column, was: row.was?.[n] ?? "", mine: row.mine ? row.mine[n] : "taken out", theirs: row.theirs ? row.theirs[n] : "taken out",
  })).filter((c) => c.mine !== c.theirs);
  const known = (row.theirs || row.was || row.mine || []).filter(Boolean).slice(0, 3).join(" · ");
  return el("div", { class: "scroll" }, [el("table", {}, [
    el("caption", {}, [`${row.form.replace("_", " ")}: ${known}`]),
    el("thead", {}, [el("tr", {}, ["", "was", "yours", `${who}'s`].map((t) => el("th", { scope: "col" }, [t])))]),
    el("tbody", {}, cells.map((c) => el("tr", {}, [
      el("th", { scope: "row" }, [c.column]), ...[c.was, c.mine, c.theirs].map((t) => el("td", {}, [t || "–"])),
    ]))),
  ])]);
}

/**
 * Draw a part anew without the keyboard losing its place in it: what was held is found again by its
 * name, or else what now stands where it stood. @param {Element} part @param {() => void} draw
 */
export function keepingPlace(part, draw) {
  const all = () => [...part.querySelectorAll("button, input, select, textarea, a[href], [tabindex]")];
  const named = (one) => one.dataset.hold || one.id || one.getAttribute("aria-label") || one.textContent;
  const held = part.contains(document.activeElement) ? document.activeElement : null;
  const at = held ? all().indexOf(held) : -1, name = held && named(held);
  draw();
  if (!held || held.isConnected) return;
  const now = all();
  (now.find((one) => named(one) === name) || now[Math.min(at, now.length - 1)])?.focus({ preventScroll: true });
}
