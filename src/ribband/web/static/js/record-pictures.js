// Pictures of a plank: made small enough to send, kept in this browser until the server has them,
// and shown. The picture goes into the job file; the place and the camera's name do not.
import { job } from "/static/js/job.js";
import { ask, el } from "/static/js/ask.js";

const $ = (id) => document.getElementById(id);
const MOST_PX = 2560; // the longer side of what is sent
const SHARP = 0.86; // of the JPEG
const STORE = "pictures";
const TRY_MS = 4000;

/** The pictures that wait, in this browser's own store; in memory alone where it gives none. */
class Waiting {
  constructor() {
    /** @type {Map<string, any>} */
    this.memory = new Map();
    this.ready = new Promise((resolve) => {
      try {
        const asked = indexedDB.open("ribband", 1);
        asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "id" });
        asked.onsuccess = () => resolve(asked.result);
        asked.onerror = () => resolve(null); // a private window
      } catch { resolve(null); }
    });
  }

  /** @param {IDBTransactionMode} how @param {(store: IDBObjectStore) => IDBRequest} what */
  async with(how, what) {
    const db = await this.ready;
    if (!db) return undefined;
    return new Promise((resolve) => {
      const turn = db.transaction(STORE, how);
      const asked = what(turn.objectStore(STORE));
      turn.oncomplete = () => resolve(asked.result);
      turn.onabort = () => resolve(undefined); // no room: it stays in memory
    });
  }

  async keep(one) {
    this.memory.set(one.id, one);
    await this.with("readwrite", (store) => store.put(one));
  }

  async drop(id) {
    this.memory.delete(id);
    await this.with("readwrite", (store) => store.delete(id));
  }

  /** Those of this job, in the order they were taken. */
  async all() {
    for (const one of (await this.with("readonly", (store) => store.getAll())) || []) this.memory.set(one.id, one);
    for (const one of this.memory.values()) one.job ||= job.key; // taken before the server had said which job it is
    return [...this.memory.values()].filter((one) => one.job === job.key).sort((a, b) => a.order - b.order);
  }
}

/** Draw a picture no larger than is sent, the right way up. @param {Blob} file @returns {Promise<Blob>} */
async function small(file) {
  const shown = await createImageBitmap(file, { imageOrientation: "from-image" });
  const by = Math.min(1, MOST_PX / Math.max(shown.width, shown.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(shown.width * by));
  canvas.height = Math.max(1, Math.round(shown.height * by));
  const pen = canvas.getContext("2d");
  pen.fillStyle = "white"; // under what can be seen through
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(shown, 0, 0, canvas.width, canvas.height);
  shown.close();
  return new Promise((resolve, reject) => { canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error("no picture"))), "image/jpeg", SHARP); });
}

const jpegName = (name) => `${name.replace(/\.[^.]*$/, "") || "picture"}.jpg`;

function newId() {
  return [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, "0")).join("");
}

export class Pictures {
  /** @param {{told: () => void, form: (name: string) => Promise<any>}} how */
  constructor(how) {
    this.how = how;
    this.waiting = new Waiting();
    this.plank = "";
    this.kept = [];
    /** @type {Map<string, string>} */
    this.seen = new Map(); // addresses of those that wait
    job.on("online", () => this.send());
    job.on("people", () => { this.draw(); this.send(); }); // the server said which job it is
  }

  /** Show what is kept of a plank. @param {string} plank @param {any[]} kept */
  show(plank, kept) {
    this.plank = plank;
    this.kept = kept;
    this.draw();
  }

  /** Take a picture in. @param {File} file @param {{at: string, by: string, note: string}} said */
  async take(file, said) {
    const plank = this.plank;
    let blob;
    try { blob = await small(file); } catch { job.say(`${file.name} cannot be shown by this browser, so it was not taken: save it as JPEG.`, "bad"); return; }
    await this.waiting.keep({ id: newId(), order: Date.now(), job: job.key, plank, name: jpegName(file.name), blob, ...said });
    await this.draw();
    await this.send();
  }

  /** Send what waits, one after another; what the server refuses is said and dropped. */
  async send() {
    if (this.sending) return;
    this.sending = true;
    clearTimeout(this.again);
    try {
      for (const one of await this.waiting.all()) {
        const said = await this.sent(one);
        if (said === null) { this.again = setTimeout(() => this.send(), TRY_MS); return; }
        await this.waiting.drop(one.id);
        if (said) job.say(said, "bad");
        if (one.plank === this.plank) this.how.told();
      }
    } finally { this.sending = false; this.draw(); }
  }

  /** Send one: "" when it is in the job file, words where it was refused, null where it must wait. */
  async sent(one) {
    const body = new FormData();
    for (const name of ["id", "plank", "name", "at", "by", "note"]) body.append(name, one[name]);
    body.append("file", one.blob, one.name);
    try {
      const answer = await fetch("/api/uploads/picture", { method: "POST", body, headers: { "x-ribband-who": encodeURIComponent(job.who) } });
      if (answer.ok) return "";
      if (answer.status >= 500 || answer.status === 401) return null;
      const said = await answer.json();
      return [`The picture of ${one.plank} was not kept.`, said.says, ...(said.problems || []).slice(0, 2).map((p) => `Wanted ${p.wanted}.`)].join(" ");
    } catch { return null; }
  }

  async draw() {
    const waits = (await this.waiting.all()).filter((one) => one.plank === this.plank);
    for (const [id, address] of this.seen) if (!waits.some((one) => one.id === id)) { URL.revokeObjectURL(address); this.seen.delete(id); }
    const rows = [...this.kept.map((one) => this.row(one)), ...waits.map((one) => this.waitingRow(one))];
    $("photos").replaceChildren(...(rows.length ? rows : [el("li", { class: "note" }, ["No picture yet."])]));
    $("photos-count").textContent = rows.length ? String(rows.length) : "";
  }

  row(one) {
    const words = this.words(one);
    const shown = one.key ? [el("a", { href: `/api/pictures/${one.key}`, target: "_blank", rel: "noopener" }, [el("img", { src: `/api/pictures/${one.key}`, alt: `${this.plank}: ${one.note || one.file}, opens alone`, loading: "lazy", width: one.wide, height: one.high })])] : [el("p", { class: "note" }, ["Only its name is known; the picture is not in the job."])];
    const out = job.may.work ? [el("button", { type: "button", class: "plain no-print", "aria-label": `Take ${one.file} out of the record`, onclick: () => this.remove(one) }, ["Take it out"])] : [];
    return el("li", {}, [...shown, el("p", {}, words), ...out]);
  }

  waitingRow(one) {
    if (!this.seen.has(one.id)) this.seen.set(one.id, URL.createObjectURL(one.blob));
    return el("li", { class: "waits" }, [el("img", { src: this.seen.get(one.id), alt: `${one.plank}: waits to be sent` }), el("p", {}, [el("span", { class: "tag caution" }, ["waits for the server"]), " ", ...this.words({ ...one, file: one.name })])]);
  }

  words(one) {
    return [el("b", {}, [one.file]), ` ${[one.at, one.by].filter(Boolean).join(", ")}`, ...(one.note ? [el("span", { class: "note" }, [` ${one.note}`])] : [])];
  }

  async remove(one) {
    const form = await this.how.form("photos").catch(() => null);
    if (!form || !await ask.yes(`Take ${one.file} out?`, "Its line is taken out of the record. The picture itself stays in the job file, and undo brings it back.", "Take it out")) return;
    const column = (name) => form.header.indexOf(name);
    const at = form.rows.findIndex((row) => row[column("plank")] === this.plank && row[column("file")] === one.file && (row[column("picture")] || "") === one.key);
    if (at < 0) return;
    await job.change([{ form: "photos", was: form.rows[at], now: null, at }], `${this.plank}: picture ${one.file} taken out`).catch(() => null);
    this.how.told();
  }
}
