// The panels of the page of butts: clashes, goals, wishes, stock, rules.
import { el, keepingPlace } from "/static/js/ask.js";

const $ = (id) => document.getElementById(id);

/** List the clashes; one can be pressed to find its butts. */
export function showClashes(side, choose) {
  const { clashes, notes } = side;
  const near = notes.find((one) => one.code === "B013"); // a goal only, but no hand would call it clear
  $("clash-count").textContent = !side.solved ? "No butts are laid out yet." : clashes.length ? `${clashes.length} clash${clashes.length > 1 ? "es" : ""} with the rules in force.` : notes.some((one) => one.severity === "fault") ? "No clash between butts; what is wrong stands below." : near ? `No clash with the rules in force, but ${near.says}.` : "No clash with the rules in force.";
  $("clashes").replaceChildren(...clashes.map((one) => el("li", {}, [
    el("button", { type: "button", class: "plain clash on-paper", onclick: () => choose(one) }, [
      el("b", {}, [one.where]), el("span", {}, [one.says]), ...(one.why ? [el("small", {}, [one.why])] : []), el("small", {}, [`${one.code}, rule ${one.rule}${one.source ? `, after ${one.source}` : ""}`]),
    ]),
  ])));
  $("notes").replaceChildren(...notes.map((one) => el("li", {}, [el("span", { class: `tag ${one.severity}` }, [one.severity]), el("b", {}, [one.where]), ` ${one.says} `, el("span", { class: "note" }, [one.why])])));
}

export function showGoals(side) {
  $("goals").tBodies[0].replaceChildren(...side.goals.map((goal) => el("tr", {}, [
    el("th", { scope: "row" }, [goal.name]), el("td", { class: "figure" }, [goal.value]), el("td", { class: "figure" }, [goal.bound]),
    el("td", { class: "figure" }, [goal.proved ? el("span", { class: "tag good" }, ["proved"]) : goal.gap && `open: ${goal.gap}`]),
  ])));
  const says = side.solved && !side.feasible ? [
    el("p", { class: "say bad" }, ["No layout found keeps every rule: the best attempt is shown, not to be built from."]),
    el("ul", {}, [...side.why_not, ...side.reliefs].map((text) => el("li", {}, [text]))),
  ] : [];
  $("why-not").replaceChildren(...says);
}

/** List the wishes as on the form. @param {any} form @param {(row: string[]) => void} remove */
export function showWishes(form, may, remove) {
  const col = (row, name) => (row[form.header.indexOf(name)] || "").trim();
  const bad = new Map(form.problems.filter((p) => p.at !== null && p.at >= 0).map((p) => [p.at, p]));
  const list = form.rows.map((row, at) => [row, at]).filter(([row]) => row.some((c) => c.trim()));
  keepingPlace($("wishes"), () => $("wishes").replaceChildren(...(list.length ? list.map(([row, at]) => {
    const fix = col(row, "wish").toLowerCase() === "fix";
    const strake = col(row, "strake") ? `strake ${col(row, "strake")}` : "every strake";
    const place = fix ? `${col(row, "landing") === "block" ? "block aft of " : ""}frame ${col(row, "frame")}` : `frames ${col(row, "frame")} to ${col(row, "to_frame") || col(row, "frame")}`;
    const problem = bad.get(at);
    return el("li", {}, [
      el("span", { class: "words" }, [el("b", {}, [fix ? "Pinned: " : "Forbidden: "]), `${strake}, ${place}`, ...(col(row, "reason") ? [el("small", {}, [col(row, "reason")])] : []), ...(problem ? [el("span", { class: "say bad" }, [`${problem.column}: wanted ${problem.wanted}`])] : [])]),
      ...(may ? [el("button", { type: "button", "aria-label": `${fix ? "Loosen" : "Allow again"}: ${strake}, ${place}`, onclick: () => remove(row) }, [fix ? "Loosen" : "Allow"])] : []),
    ]);
  }) : [el("li", { class: "note" }, ["Nothing is pinned or forbidden: every butt may go where it does best."])])));
}

export function showStock(data) {
  const { stock } = data;
  $("stock").replaceChildren(...(stock.length ? [el("div", { class: "scroll" }, [el("table", {}, [
    el("thead", {}, [el("tr", {}, [el("th", { scope: "col", class: "figure" }, ["Length"]), el("th", { scope: "col", class: "figure" }, ["Boards"])])]),
    el("tbody", {}, stock.map((one) => el("tr", {}, [el("td", { class: "figure" }, [one.text]), el("td", { class: "figure" }, [one.count < 0 ? "enough" : String(one.count)])]))),
  ])])] : [el("p", { class: "note" }, ["No stock lengths are entered: any length up to the longest plank is taken to be had. Type the lengths you have below."])]),
    ...(data.pile ? [el("p", { class: "note" }, ["The longest sound board on the pile is ", el("b", {}, [data.pile]), " as it lies: the rule longest plank may be set by it."])] : []));
}

/** Show the rules; `set(name, text)` puts one on the form, "" takes it off. */
export function showRules(data, may, set) {
  const own = data.rules.find((r) => r.name === "butts.set");
  $("set").replaceChildren(...data.sets.map((s) => el("option", { value: s.name, selected: s.name === own.value }, [s.name])));
  $("set").disabled = !may;
  $("set").onchange = () => set("butts.set", $("set").value === "house" ? "" : $("set").value);
  const chosen = data.sets.find((s) => s.name === own.value);
  $("set-says").textContent = chosen ? `${chosen.says.join(". ")}. Known: ${chosen.marks.join(", ")}; source ${chosen.sources.join(", ")}.` : "";
  if ($("rules").contains(document.activeElement) && document.activeElement.dataset.dirty) return;
  keepingPlace($("rules"), () => $("rules").tBodies[0].replaceChildren(...data.rules.filter((r) => r.name !== "butts.set").map((rule) => ruleRow(rule, may, set))));
}

const WORDS = { "butts.landings": ["frames", "blocks", "both"], "butts.sides": ["mirrored", "staggered", "one"] };

function ruleRow(rule, may, set) {
  const choices = WORDS[rule.name];
  const input = choices
    ? el("select", { "aria-label": rule.says, disabled: !may }, choices.map((c) => el("option", { selected: c === rule.value }, [c])))
    : el("input", { value: rule.value, "aria-label": rule.says, disabled: !may, size: 8 });
  input.addEventListener("input", () => { input.dataset.dirty = "1"; });
  input.addEventListener("change", () => {
    delete input.dataset.dirty;
    const text = input.value.trim();
    if (text !== rule.value) set(rule.name, text === rule.default ? "" : text);
  });
  const span = rule.most && !choices ? `${rule.least} to ${rule.most}` : "";
  return el("tr", { class: rule.changed ? "changed" : "" }, [
    el("th", { scope: "row" }, [rule.says, el("small", {}, [`${rule.name}${span ? `, ${span}` : ""}`])]),
    el("td", {}, [el("span", { class: "with-unit" }, [input, rule.unit])]),
    el("td", {}, [rule.changed ? el("span", { class: "tag caution" }, [`changed; was ${rule.default}`]) : el("span", { class: "note" }, [rule.source])]),
  ]);
}
