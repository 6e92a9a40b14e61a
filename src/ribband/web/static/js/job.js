// The job as a browser holds it: its revision, changes that wait, and news from the server.
//
//   import { job } from "/static/js/job.js";
//   await job.change([{ form: "lining", was: null, now: ["fix", "3", "12", ...], at: 0 }], "seam 3 fixed at 12");
//   job.on("patch", (patch) => { if (patch.forms.includes("lining")) draw(); });
//
// A change is kept in this browser until the server says it is on the disk. While the server
// cannot be reached it waits, also over a reload or a closed lid, and is sent again with the same
// id, so that nothing is done twice. Where two hands changed one thing, it asks. `job.form(name)` is
// the form as this hand sees it: with what waits put in.
import { patched, withProblems } from "/static/js/patched.js";
import { withWaiting } from "/static/js/waited.js";

/**
 * @typedef {{form: string, was: string[]|null, now: string[]|null, at: number}} Edit
 * @typedef {{id: string, revision: number, upon: number, who: string, why: string, at: string,
 *   forms: string[], edits: Edit[], repeated: boolean, gap?: boolean}} Patch
 * @typedef {{says: string, problems: {file: string, row: number, column: string, found: string,
 *   wanted: string, example: string}[]}} Trouble
 */

const WAITING = "ribband.waiting.";
const TRY_MS = [400, 800, 1500, 3000, 5000];
const SILENT_MS = 11000;
const FULL_MS = 20000; // until a server with too many browsers is asked again
const ANSWER_MS = 20000; // a change not answered by then is sent again, with its id
export const AWAY = "The server cannot be reached.";
const FORM_TRIES = 4; // a form fetched while others change it all the time is given as it came

/** What the server refused, in words; `problems` names the cells. */
export class Refused extends Error {
  /** @param {number} status @param {Trouble & Record<string, any>} body */
  constructor(status, body) {
    super(body.says || `The server refused (${status}).`);
    this.status = status;
    this.body = body;
    this.problems = body.problems || [];
  }
}

/** The server could not be reached. */
export class Offline extends Error {}

class Job extends EventTarget {
  constructor() {
    super();
    const body = document.body.dataset;
    this.revision = Number(body.revision || 0);
    /** The last revision the page was told of; a form may have been fetched since that is newer. */
    this.told = this.revision;
    this.role = body.role || "lead";
    this.unit = body.unit || "mm";
    this.page = body.page || "";
    this.online = true;
    /** @type {{name: string, page: string}[]} */
    this.people = [];
    this.work = { state: "idle", kept: 0 };
    /** What is wrong with the job file, where another program changed it; "" where nothing is. */
    this.file = "";
    this.key = "";
    this.asking = 0; // requests on their way
    this.tries = 0;
    /** @type {Map<string, {resolve: Function, reject: Function}>} */
    this.asked = new Map();
    this.sending = false;
    /** Ids of the changes made here. @type {Set<string>} */
    this.ids = new Set();
    /** Given up when the line is found dead, with all that waits for an answer on it. */
    this.line = new AbortController();
    this.heardAt = Date.now();
    /** The change on its way to the server; settles when it is known to be there, or not. */
    this.flying = Promise.resolve();
    this.memory = new Map();
    /** @type {Map<string, any>} */
    this.forms = new Map();
    this.connect();
    addEventListener("online", () => this.wake());
    addEventListener("pageshow", () => this.wake());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.wake(); });
  }

  // ---- who

  get who() {
    if (document.body.dataset.who) return document.body.dataset.who; // the name that came in with the code
    try { return localStorage.getItem("ribband.who") || ""; } catch { return ""; }
  }

  set who(name) {
    try { localStorage.setItem("ribband.who", name); } catch { /* private window */ }
    this.here();
  }

  get may() {
    return { work: this.role !== "look", lead: this.role === "lead" };
  }

  // ---- asking the server

  /** @param {string} path @param {{signal?: AbortSignal}} [how] */
  get(path, how = {}) { return this.ask("GET", path, undefined, how); }

  /** @param {string} path @param {any} body @param {{signal?: AbortSignal}} [how] */
  post(path, body, how = {}) { return this.ask("POST", path, body, how); }

  async ask(method, path, body, how = {}) {
    this.asking++;
    try { return await this.answer(method, path, body, how); } finally { this.asking--; }
  }

  async answer(method, path, body, how) {
    const headers = { "x-ribband-who": encodeURIComponent(this.who) };
    if (body !== undefined) headers["content-type"] = "application/json";
    const signal = either(how.signal, this.line.signal);
    let answer;
    try {
      answer = await fetch(path, { method, headers, body: body === undefined ? undefined : JSON.stringify(body), signal });
    } catch (error) {
      if (leftOff(error, how.signal)) throw error;
      throw new Offline(AWAY);
    }
    if (answer.status === 401) { location.assign(`/enter?to=${encodeURIComponent(location.pathname)}`); throw new Offline("Give the code again."); }
    const said = await heardOut(answer, how.signal);
    if (!answer.ok) throw new Refused(answer.status, typeof said === "string" ? { says: said, problems: [] } : said);
    return said;
  }

  /**
   * Give a form as this hand sees it, from memory where that is still good. Who is told of the next
   * patch anyway may take it as it was when last told (`told`). @param {string} name
   */
  async form(name, { told = false } = {}) {
    let form = this.forms.get(name);
    const behind = () => form?.revision !== this.revision && !(told && form?.revision >= this.told);
    for (let tries = 0; behind() && tries < FORM_TRIES; tries++) {
      form = await this.get(`/api/forms/${encodeURIComponent(name)}`);
      await this.flying; // whether it is in this form already is known once it is answered
      this.forms.set(name, form);
      this.seen(form.revision);
    }
    return withWaiting(name, withProblems(form, this.view), this.queue());
  }

  /** Make a row of a form from named cells. @param {string[]} header @param {Record<string, string>} cells */
  row(header, cells) { return header.map((name) => String(cells[name] ?? "")); }

  // ---- changing

  /**
   * Change rows of forms; resolves with the patch once it is on the disk (or null where, after
   * asking, theirs was kept). Rejects with Refused where it cannot be used.
   * @param {Edit[]} edits @param {string} why @param {{upon?: number}} [how]
   * @returns {Promise<Patch|null>}
   */
  change(edits, why, how = {}) {
    return this.wait({ path: "/api/changes", body: { id: newId(), why, edits, upon: how.upon ?? this.revision } });
  }

  /** Take back the last revision, whoever made it. */
  undo() { return this.wait({ path: "/api/undo", body: { id: newId(), upon: this.revision } }); }

  /** Bring back what was undone. */
  redo() { return this.wait({ path: "/api/redo", body: { id: newId(), upon: this.revision } }); }

  /** Go back to a revision by making a new one. @param {number} number */
  back(number) { return this.wait({ path: "/api/history/back", body: { id: newId(), number } }); }

  get waiting() { return this.queue().length; }

  wait(item) {
    item.order = Date.now() + this.memory.size / 1000;
    item.after = item.path !== "/api/changes" && this.waiting > 0; // undo of what still waits itself
    return new Promise((resolve, reject) => {
      this.asked.set(item.body.id, { resolve, reject });
      this.ids.add(item.body.id);
      this.keep(item);
      this.emit("waiting", this.waiting);
      this.send();
    });
  }

  /** Send what waits, in order; what is added meanwhile is sent too. */
  async send() {
    this.more = true;
    if (this.sending) return;
    this.sending = true;
    try {
      while (this.more) {
        this.more = false;
        if (!await this.sendAll()) return;
      }
    } finally { this.sending = false; }
  }

  /** False where the server cannot be reached and it is tried again later. */
  async sendAll() {
    for (let item = this.queue()[0]; item; item = this.queue()[0]) {
      if (item.after && this.own) item.body.upon = this.own;
      const { patch, error } = await this.fly(item);
      if (error && !(error instanceof Refused && error.status < 500)) { this.later(error); return false; }
      this.drop(item.body.id);
      if (patch) this.done(item.body.id, patch);
      else if (error.status === 409 && error.body.rows) await this.clash(item, error.body);
      else this.refuse(item.body.id, error);
      this.emit("waiting", this.waiting);
    }
    return true;
  }

  /** Send a change: what became of it, or why that is not known. A line gone dead is not waited for. */
  fly(item) {
    const sent = this.post(item.path, item.body, { signal: AbortSignal.timeout(ANSWER_MS) });
    const known = sent.then((patch) => ({ patch }), (error) => ({ error }));
    this.flying = known;
    return known;
  }

  done(id, patch) {
    this.own = patch.revision;
    this.up();
    this.settle(id, "resolve", patch);
    this.heard({ kind: "patch", ...patch });
  }

  later(error) {
    this.emit("waiting", this.waiting);
    if (error instanceof Refused) this.say(error.message, "bad");
    else this.down();
    clearTimeout(this.again);
    this.again = setTimeout(() => this.send(), TRY_MS[Math.min(this.tries++, TRY_MS.length - 1)]);
  }

  refuse(id, error) {
    const asked = this.asked.get(id);
    this.asked.delete(id);
    this.emit("refused", error);
    const cells = error.problems?.map((p) => `${[p.file, p.row ? `row ${p.row}` : "", p.column].filter(Boolean).join(", ")}: wanted ${p.wanted}`) || [];
    this.say([error.message, ...cells.slice(0, 4)].join(" "), "bad");
    asked?.reject(error);
  }

  settle(id, how, value) {
    const asked = this.asked.get(id);
    this.asked.delete(id);
    asked?.[how](value);
  }

  /** Two hands at one thing: show both and ask. */
  async clash(item, clash) {
    const mine = await askClash(clash);
    const id = item.body.id;
    if (!mine) {
      this.emit("patch", { id, revision: clash.revision, upon: clash.revision, who: clash.who, why: "", at: "", forms: clash.rows.map((r) => r.form), edits: [], repeated: false, gap: true });
      this.settle(id, "resolve", null);
      return;
    }
    const edits = item.body.edits.map((edit, n) => {
      const row = clash.rows.find((r) => r.edit === n);
      if (!row) return edit;
      return { form: row.form, was: row.theirs, now: row.both ?? row.mine, at: row.at };
    }).filter((e) => e.was !== null || e.now !== null);
    const body = { ...item.body, id: newId(), edits, upon: clash.revision };
    const asked = this.asked.get(id);
    this.asked.delete(id);
    this.ids.add(body.id);
    if (asked) this.asked.set(body.id, asked);
    this.keep({ ...item, body });
  }

  // ---- what waits is kept in this browser, one entry each, so that two tabs do not tread on each other

  keep(item) {
    this.memory.set(item.body.id, item);
    try { localStorage.setItem(WAITING + item.body.id, JSON.stringify({ ...item, job: this.key })); } catch { /* full or private: in memory only */ }
  }

  drop(id) {
    this.memory.delete(id);
    try { localStorage.removeItem(WAITING + id); } catch { /* nothing was kept */ }
  }

  queue() {
    const all = new Map(this.memory);
    try {
      for (const key of Object.keys(localStorage)) {
        if (!key.startsWith(WAITING)) continue;
        const item = JSON.parse(localStorage.getItem(key) || "null");
        if (item && this.key && item.job === this.key) all.set(item.body.id, item);
      }
    } catch { /* private window */ }
    return [...all.values()].sort((a, b) => a.order - b.order);
  }

  // ---- hearing

  /** @param {string} kind patch, work, people, online, offline, waiting, refused, or one of a page's own
   *  @param {(detail: any) => void} fn */
  on(kind, fn) {
    const heard = (event) => fn(event.detail);
    this.addEventListener(kind, heard);
    return () => this.removeEventListener(kind, heard);
  }

  emit(kind, detail) { this.dispatchEvent(new CustomEvent(kind, { detail })); }

  connect() {
    if (this.socket && this.socket.readyState <= 1) return;
    clearTimeout(this.retry);
    const socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/live`);
    this.socket = socket;
    socket.onmessage = (event) => { this.alive(); this.up(); this.heard(JSON.parse(event.data)); };
    socket.onclose = (event) => {
      if (event.code === 4401) { location.assign("/enter"); return; }
      if (event.code === 4429) { this.full(event.reason); return; }
      if (this.socket === socket) { this.down(); this.retry = setTimeout(() => this.connect(), TRY_MS[Math.min(this.tries++, TRY_MS.length - 1)]); }
    };
    this.alive();
  }

  /** There are too many browsers already: say so, and ask again later. */
  full(says) {
    clearTimeout(this.silent);
    this.socket = null;
    this.down();
    this.say(says, "bad");
    this.retry = setTimeout(() => this.connect(), FULL_MS);
  }

  alive() {
    clearTimeout(this.silent);
    this.heardAt = Date.now();
    this.silent = setTimeout(() => this.anew(), SILENT_MS);
  }

  /** The socket says nothing any more: another. */
  anew() {
    const { socket } = this;
    if (socket) { socket.onclose = null; socket.onmessage = null; socket.close(); }
    this.socket = null;
    this.down();
    this.connect();
  }

  /** Looked at again, perhaps after hours with the lid closed: what has been silent since is not waited for. */
  wake() {
    if (Date.now() - this.heardAt > SILENT_MS) this.anew();
    else this.connect();
    this.send();
  }

  /** The server was heard again. */
  up() {
    this.tries = 0;
    if (this.online) return;
    this.online = true;
    this.emit("online", null);
  }

  down() {
    this.line.abort();
    this.line = new AbortController();
    if (!this.online) return;
    this.online = false;
    this.emit("offline", this.waiting);
  }

  here() {
    if (this.socket?.readyState === 1) this.socket.send(JSON.stringify({ page: this.page, name: this.who }));
  }

  heard(said) {
    if (said.kind === "hello") this.hello(said);
    else if (said.kind === "patch") this.patched(said);
    else if (said.kind !== "beat") {
      if (said.kind === "work") this.work = said;
      if (said.kind === "people") this.people = said.people;
      if (said.kind === "file") this.file = said.says;
      this.emit(said.kind, said);
    }
  }

  hello(said) {
    if (this.boot && this.boot !== said.boot) this.forms.clear();
    this.boot = said.boot;
    this.key = said.job;
    this.people = said.people;
    this.here();
    this.emit("people", said);
    this.work = said.work;
    this.emit("work", said.work);
    this.file = said.file || "";
    this.emit("file", { says: this.file });
    if (said.revision > this.told) {
      const upon = this.told;
      this.told = said.revision;
      this.seen(said.revision);
      this.forms.clear();
      this.emit("patch", { id: "", revision: said.revision, upon, who: "", why: "", at: "", forms: ["*"], edits: [], repeated: false, gap: true });
    }
    this.send();
  }

  seen(revision) {
    if (revision > this.revision) this.revision = revision;
    document.body.dataset.revision = String(this.revision);
  }

  patched(patch) {
    if (patch.revision <= this.told) return; // older, or heard both ways
    const gap = patch.upon > this.told;
    this.follow(patch, gap);
    this.told = patch.revision;
    this.seen(patch.revision);
    const mine = this.ids.has(patch.id);
    this.emit("patch", gap ? { ...patch, gap, mine, forms: ["*"] } : { ...patch, mine });
  }

  /** Keep the forms in memory in step; one that cannot be is fetched when it is asked for. */
  follow(patch, gap) {
    const all = gap || patch.forms.includes("*");
    const vessel = patch.forms.includes("vessel"); // perhaps another unit, and so other examples
    for (const [name, form] of this.forms) {
      if (form.revision >= patch.revision) continue; // fetched since
      const touched = patch.forms.includes(name);
      const next = all || (vessel && name !== "vessel") ? null : touched ? patched(name, form, patch) : { ...form, revision: patch.revision };
      if (next) this.forms.set(name, next);
      else this.forms.delete(name);
    }
  }

  // ---- saying

  /** Say something in the corner. @param {string} text @param {""|"bad"|"look"} [kind] */
  say(text, kind = "") { this.emit("say", { text, kind }); }
}

/** Either of two signals. @param {AbortSignal|undefined} own @param {AbortSignal} line */
function either(own, line) {
  if (!own) return line;
  return AbortSignal.any ? AbortSignal.any([own, line]) : own;
}

/** Whether the one who asked wants the answer no more. */
function leftOff(error, own) { return error.name === "AbortError" && Boolean(own?.aborted); }

/** Read an answer to its end; a server that goes away half-way has not answered. */
async function heardOut(answer, own) {
  const kind = answer.headers.get("content-type") || "";
  try {
    return kind.includes("json") ? await answer.json() : await answer.text();
  } catch (error) {
    if (leftOff(error, own)) throw error;
    throw new Offline("The server went away before it had answered.");
  }
}

function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}

/** Show a clash and ask; true where mine is to stand. */
async function askClash(clash) {
  const { ask } = await import("/static/js/ask.js");
  return ask.clash(clash);
}

export const job = new Job();
