// The shell of every page: rail, title block, undo, light, work in hand, sayings.
import { AWAY, job, Offline, Refused } from "/static/js/job.js";
import { ask, el } from "/static/js/ask.js";

const $ = (id) => document.getElementById(id);

// ---- the rail

const rail = document.querySelector(".rail");
const opener = document.querySelector(".pages-button");
opener.addEventListener("click", () => {
  const open = rail.classList.toggle("open");
  opener.setAttribute("aria-expanded", String(open));
});
document.querySelector('.rail [aria-current="page"]')?.scrollIntoView({ block: "nearest", inline: "center" });

/** Show on the rail what is good, stale or not made. */
function marks(view) {
  const worst = {};
  const rank = { good: 0, stale: 1, "not made": 2 };
  for (const step of view.steps) {
    if (!(step.page in worst) || rank[step.state] > rank[worst[step.page]]) worst[step.page] = step.state;
  }
  for (const [page, state] of Object.entries(worst)) {
    const link = rail.querySelector(`a[data-page="${page}"]`);
    if (!link) continue;
    link.querySelector(".dot")?.remove();
    link.querySelector(".unseen")?.remove();
    link.append(el("span", { class: "dot", "data-state": state, "aria-hidden": "true" }), el("span", { class: "unseen" }, [`, ${state === "good" ? "up to date" : state}`]));
  }
}

/** Look at the job again and tell whoever listens: job.on("view", ...). */
export async function look() {
  looked = performance.now();
  try { shown(await job.get("/api/job")); } catch { /* said by the line at the top */ }
}

/** Show the job at a glance. */
function shown(view) {
  job.view = view;
  job.unit = view.unit;
  job.seen(view.revision);
  $("revision").textContent = String(job.revision);
  $("undo").disabled = !view.can_undo || !job.may.work;
  $("redo").disabled = !view.can_redo || !job.may.work;
  marks(view);
  job.emit("view", view);
}

const SOON_MS = 120;
const LATEST_MS = 1500; // while others change the job all the time
let soon = 0;
let looked = 0;
function lookSoon() {
  clearTimeout(soon);
  soon = setTimeout(look, Math.min(SOON_MS, Math.max(0, looked + LATEST_MS - performance.now())));
}
/** What others do all the time is looked at every second. */
let others = 0;
function lookLater() {
  others ||= setTimeout(() => { others = 0; lookSoon(); }, Math.max(0, looked + OTHERS_MS - performance.now()));
}
const OTHERS_MS = 1000;
job.on("patch", (patch) => {
  $("revision").textContent = String(job.revision);
  if (patch.mine) lookSoon();
  else lookLater();
  if (patch.who && patch.id && !mine.has(patch.id)) job.say(`${patch.who}: ${patch.why || "a change"}`);
});
const mine = new Set();
const change = job.wait.bind(job);
job.wait = (item) => { mine.add(item.body.id); return change(item); };

const inHand = (work) => `${work.number} ${work.kept} ${work.state}`;
let kept = "";
job.on("work", (work) => {
  const now = inHand(work);
  if (now !== kept && work.state !== "waiting") { kept = now; lookSoon(); }
});
job.on("online", lookSoon);

// ---- undo, redo

async function step(kind) {
  const last = job.view?.last;
  if (kind === "undo" && last && job.people.length > 1 && last.who !== job.view.who) {
    if (!await ask.yes(`Undo what ${last.who} did?`, `${last.why || "A change"}, revision ${last.number}.`, "Undo it")) return;
  }
  try {
    const done = await job[kind]();
    if (done?.why) job.say(`Revision ${done.revision}, ${done.why}`);
  } catch (error) { /* said by job.refuse */ }
}
$("undo").addEventListener("click", () => step("undo"));
$("redo").addEventListener("click", () => step("redo"));
addEventListener("keydown", (event) => {
  const typing = event.target.closest?.("input, textarea, select, [contenteditable='true'], dialog");
  if (!(event.ctrlKey || event.metaKey) || event.altKey || typing || event.defaultPrevented) return;
  const key = event.key.toLowerCase();
  if (key === "z" || key === "y") {
    event.preventDefault();
    step(key === "y" || event.shiftKey ? "redo" : "undo");
  }
});

// ---- light and print

const LIGHTS = ["office", "sun", "night"];
$("light").addEventListener("click", () => {
  const root = document.documentElement;
  const next = LIGHTS[(LIGHTS.indexOf(root.dataset.light || "office") + 1) % 3];
  root.dataset.light = next;
  try { localStorage.setItem("ribband.light", next); } catch { /* private window */ }
  job.emit("light", next);
});
$("print").addEventListener("click", async () => {
  const own = [...document.querySelectorAll("[data-print]")].find((one) => one.checkVisibility()); // a page's proper sheet, made by the server
  if (!own) { print(); return; }
  const sheet = window.open("", "_blank"); // at once: later it would be kept from opening
  const path = own.getAttribute("data-print");
  try {
    const answer = await fetch(path);
    if (!answer.ok) throw new Error(inWords(await answer.json()));
    if (sheet) sheet.location.replace(path);
    else location.assign(path);
  } catch (error) {
    sheet?.close();
    job.say(`${error instanceof TypeError ? AWAY : error.message} The page is printed as it stands.`, "look");
    print();
  }
});
const inWords = ({ says, problems }) => [says, ...(problems || []).slice(0, 2).map((p) => `Wanted: ${p.wanted}.`)].join(" ");

// ---- the line, what waits, who is here

function line() {
  const down = $("line-down");
  const waits = job.waiting;
  down.hidden = job.online && !job.file;
  if (job.file) down.textContent = job.file;
  const kept = waits ? `${waits} change${waits > 1 ? "s" : ""} kept here, sent when it comes back.` : "You can go on; changes are kept here and sent when it comes back.";
  if (!job.online) down.textContent = `No connection. ${kept} Stay on this page till then: without the server no page can be loaded anew.`;
}
job.on("offline", line);
job.on("waiting", line);
job.on("file", line);
job.on("online", () => { line(); job.say("The connection is back."); });

const shared = document.body.hasAttribute("data-shared");

function people() {
  const names = [...new Set(job.people.map((p) => p.name).filter(Boolean))];
  const box = $("people");
  const count = job.people.length;
  box.replaceChildren(el("button", { type: "button", class: "plain", onclick: rename, "aria-label": `${count} here: ${names.join(", ") || "unnamed"}. ${shared ? "" : "Change your name"}` }, [
    `${(shared ? job.view?.who : job.who || job.view?.who) || "Sign"}${count > 1 ? ` +${count - 1}` : ""}`,
  ]));
}
async function rename() {
  const others = job.people.map((p) => `${p.name || "someone"}${p.page ? ` (${p.page})` : ""}`).join(", ");
  if (shared) { job.say(`Here now: ${others}.`); return; } // the name was given with the code
  const name = await ask.text("Your name", `For the history. Here now: ${others}.`, job.who);
  if (name !== null) { job.who = name; people(); }
}
job.on("people", people);
job.on("view", people);
people();

// ---- sayings

job.on("say", ({ text, kind }) => {
  if (text === AWAY && !job.online) return; // the line at the top says so
  const box = el("div", { class: `say ${kind}` }, [el("span", {}, [text])]);
  const away = () => box.remove();
  box.append(el("button", { type: "button", class: "plain", "aria-label": "Close", onclick: away }, ["×"]));
  $("sayings").append(box);
  while ($("sayings").children.length > 4) $("sayings").firstChild.remove();
  setTimeout(away, kind === "bad" ? 15000 : 5000);
});

// what no page has caught is said too, and a server that is away is no fault of the page's
addEventListener("unhandledrejection", (event) => {
  if (!(event.reason instanceof Offline || event.reason instanceof Refused)) return;
  event.preventDefault();
  if (event.reason instanceof Refused || job.online) job.say(event.reason.message, "bad");
});

// ---- work in hand

class WorkInHand extends HTMLElement {
  connectedCallback() {
    this.words = el("span", { class: "note" });
    this.bar = el("progress", { max: 1, value: 0, "aria-label": "Work in hand" });
    this.end = el("button", { type: "button", onclick: () => job.ask("DELETE", "/api/work").catch((e) => job.say(e.message, "bad")) }, ["End"]);
    this.begin = el("button", { type: "button", onclick: () => job.post("/api/work", {}).catch((e) => job.say(e.message, "bad")) }, ["Bring up to date"]);
    this.both = el("div", { class: "work-words" }, [this.words, this.bar]);
    this.replaceChildren(this.both, this.end, this.begin);
    job.on("work", () => this.draw());
    for (const kind of ["view", "offline", "online"]) job.on(kind, () => this.draw());
    this.draw();
  }

  draw() {
    const work = job.work;
    const busy = work.state === "running" || work.state === "waiting";
    const stale = job.view?.steps.some((s) => s.state !== "good");
    const wants = job.online ? this.wants(job.view) : "no connection";
    this.bar.hidden = !busy;
    this.end.hidden = !busy || !job.may.work;
    this.begin.hidden = busy || !stale || Boolean(wants) || !job.may.work;
    if (work.state === "running") this.bar.value = work.part;
    else this.bar.removeAttribute("value");
    this.words.textContent = ((!busy || !job.online) && wants) || this.says(work, busy, stale);
  }

  /** What has to be there before anything can be planned; "" where it is. */
  wants(view) {
    if (!view) return "";
    const said = many(view.problems);
    return said ? `${said} first` : view.wanting ? "nothing measured yet" : "";
  }

  says(work, busy, stale) {
    if (work.state === "running") {
      const best = work.lines?.find((line) => line.what.startsWith("butts"));
      return `${work.words}${best ? `; best so far ${best.value} ${best.what}` : ""}`;
    }
    if (work.state === "waiting") return "changed; brought up to date in a moment";
    if (work.state === "trouble") return work.says;
    if (!job.view) return "";
    if (work.state === "ended" && stale) return `${work.says}; what was done is kept`;
    return stale ? "not up to date" : "all up to date";
  }
}
customElements.define("work-in-hand", WorkInHand);

/** Cells that cannot be read are mended; those that are blank yet and may not be are filled in. */
function many(problems) {
  const blank = problems.filter((p) => !p.found).length;
  const wrong = problems.length - blank;
  return [wrong && `${wrong} to mend`, blank && `${blank} to fill in`].filter(Boolean).join(", ");
}

// ---- what of this page is stale, doubtful or wrong, and what is next

class PageState extends HTMLElement {
  connectedCallback() { job.on("view", () => this.draw()); }

  draw() {
    const { steps, next, problems, open_doubts: doubts } = job.view;
    const mine = steps.filter((step) => step.page === job.page);
    const open = this.querySelector("details")?.open;
    this.replaceChildren(
      ...mine.map((step) => this.step(step)),
      ...([next.page, "measure"].includes(job.page) && problems.length ? [this.mend(problems)] : []),
      ...(job.page === "measure" && doubts ? [el("span", { class: "tag caution" }, [`${doubts} doubtful`])] : []),
      this.next(next),
      ...this.found(mine, open),
    );
  }

  /** Press it, and the page stands in the first of them. */
  mend(problems) {
    const kind = problems.some((p) => p.found) ? "fault" : "note";
    return el("button", { type: "button", class: `tag ${kind} to-mend`, title: "Go to the first of them", onclick: () => job.emit("mend", problems) }, [many(problems)]);
  }

  step(step) {
    const kind = { good: "good", stale: "stale" }[step.state] || "note";
    const says = step.state === "good" ? `${step.does}: done` : `${step.does}: ${step.state}`;
    return el("span", { class: `tag ${kind}` }, [says]);
  }

  next(next) {
    if (next.page === job.page) return el("span", { class: "next-here" }, [el("b", {}, ["Next: "]), next.says]);
    return el("span", { class: "next-here" }, [el("b", {}, ["Next: "]), el("a", { href: next.page === "overview" ? "/" : `/${next.page}` }, [next.says])]);
  }

  found(mine, open) {
    const rank = ["fault", "caution", "note"];
    const all = mine.flatMap((step) => step.findings).sort((a, b) => rank.indexOf(a.severity) - rank.indexOf(b.severity));
    if (!all.length) return [];
    const count = rank.map((kind) => [all.filter((f) => f.severity === kind).length, kind]).filter(([n]) => n);
    return [el("details", { open }, [
      el("summary", {}, [count.map(([n, kind]) => `${n} ${kind}${n > 1 ? "s" : ""}`).join(", ")]),
      el("ul", { class: "findings" }, all.slice(0, 60).map((f) => el("li", {}, [
        el("span", { class: `tag ${f.severity}` }, [f.severity]), ` ${f.code} ${f.where}: ${f.says}`, ...(f.why ? [el("span", { class: "note" }, [` ${f.why}`])] : []),
      ]))),
    ])];
  }
}
customElements.define("page-state", PageState);

// the page came with the job as it was a moment ago: it is shown at once
const first = JSON.parse($("first-view").textContent);
if (first) {
  kept = inHand(first.work);
  looked = performance.now();
  shown({ ...first, who: shared ? first.who : job.who || first.who });
}
/** Ready once what the page asked for at first is there, or soon after. */
async function ready() {
  const latest = performance.now() + LATEST_MS;
  do await new Promise((on) => { setTimeout(on, 10); });
  while (performance.now() < latest && (document.readyState === "loading" || job.asking));
  document.body.dataset.ready ||= "yes";
}
if (first) ready(); else look().finally(ready);
