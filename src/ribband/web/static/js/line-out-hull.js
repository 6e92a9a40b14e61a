// The planked hull on the page of lining out, which follows a seam while it is dragged.
//
// The points of its planks are fetched again a few times a second while a hand moves, one request
// at a time and only where the hull can be seen; strakes and butts stay, so nothing else is sent.
import { el } from "/static/js/ask.js";

const LEAST_MS = 160; // between two fetches, so that seams and planks come first

export class HullFollows {
  /** @param {HTMLElement} room @param {{sheet: HTMLElement, state: HTMLElement, chosen: (strake: string) => void}} does */
  constructor(room, { sheet, state, chosen }) {
    Object.assign(this, { room, sheet, state, hold: "", names: "", seen: false, wanted: false, busy: false });
    room.addEventListener("chosen", (event) => chosen(String(event.detail?.plank || "").replace(/^[PS]/, "").split("-")[0]));
    new IntersectionObserver((all) => { this.seen = all.some((one) => one.isIntersecting); if (this.data && !this.view) this.show(this.data); else this.run(); }, { rootMargin: "100px" }).observe(sheet);
  }

  /** Show it as the seams lie for all; fetched the first time it comes in sight. @param {any} data the page's */
  async show(data) {
    this.data = data;
    this.sheet.hidden = !data.ground.in_space;
    if (this.sheet.hidden || (!this.view && !this.seen)) return;
    if (!this.view) {
      this.view = el("hull-view", { src: "/api/line-out/hull" });
      this.view.addEventListener("ready", () => this.tell());
      this.room.append(this.view);
    } else this.again();
    this.good = data.states.butts === "good";
    this.tell();
    await import("/static/js/hull-view.js").catch(() => { this.sheet.hidden = true; });
  }

  /** Fetch the whole anew: other strakes or butts. */
  again() { this.view.load?.(); }

  /** Say of when the planks shown are. */
  tell() {
    this.state.hidden = !this.view.planks;
    const late = this.wanted;
    this.state.className = `tag ${late || !this.good ? "stale" : "good"}`;
    this.state.textContent = late ? "of before the last move" : this.good ? "of now" : "seams of now, butts of before";
  }

  /** Follow a hand's drag; nothing for the seams as all have them. */
  follow(hold) {
    if (!this.view) return;
    this.hold = hold;
    this.wanted = true;
    this.run();
  }

  async run() {
    if (!this.wanted || this.busy) return;
    if (!this.seen) { this.tell(); return; }
    this.busy = true;
    this.wanted = false;
    const began = performance.now();
    const answer = await fetch(`/api/line-out/hull/points?hold=${encodeURIComponent(this.hold)}`).catch(() => null);
    if (answer?.status === 200) this.moved(await answer.arrayBuffer());
    this.tell();
    setTimeout(() => { this.busy = false; this.run(); }, Math.max(0, LEAST_MS - (performance.now() - began)));
  }

  /** Put the planks elsewhere; other strakes than before are fetched whole. */
  moved(points) { if (this.view.gl && !this.view.move(new Float32Array(points))) this.view.load(this.hold); }
}
