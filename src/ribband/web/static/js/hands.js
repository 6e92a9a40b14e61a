// Pointers on a chart: mouse, pen, fingers. One finger or the mouse on something that can be taken
// hold of drags it; elsewhere it pans; two fingers pinch. The first finger of a pinch must not
// take hold of anything, so a finger waits a moment before it counts.

const WAIT_MS = 130;
const STILL = { mouse: 3, pen: 5, touch: 10 };
export const REACH = { mouse: 10, pen: 14, touch: 26 };

/**
 * @typedef {{hit: (x: number, y: number, reach: number, kind: string) => any, grab: (h: any, x: number, y: number) => void,
 *   drag: (h: any, x: number, y: number) => void, drop: (h: any) => void, leave: (h: any) => void,
 *   tap: (x: number, y: number, kind: string) => void, pan: (dx: number, dy: number) => void,
 *   pinch: (f: number, x: number, y: number, dx: number, dy: number) => void, hover: (x: number, y: number) => void}} Does
 */

/** Listen for hands on `place`. @param {Element} place @param {Does} does */
export function hands(place, does) {
  /** @type {Map<number, {x: number, y: number, x0: number, y0: number, kind: string}>} */
  const down = new Map();
  let state = "idle"; // idle, waiting, held, dragging, pinching
  let holds = null;
  let timer = 0;

  const where = (event) => {
    const box = place.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };

  function begin() {
    const [one] = down.values();
    if (state !== "waiting" || !one) return;
    state = "held";
    holds = does.hit(one.x0, one.y0, REACH[one.kind] || REACH.touch, one.kind);
    move(one, 0, 0);
  }

  function move(one, dx, dy) {
    if (state === "held" && Math.hypot(one.x - one.x0, one.y - one.y0) > (STILL[one.kind] ?? STILL.touch)) {
      state = "dragging";
      if (holds) does.grab(holds, one.x0, one.y0);
      else { dx = one.x - one.x0; dy = one.y - one.y0; }
    }
    if (state !== "dragging") return;
    if (holds) does.drag(holds, one.x, one.y);
    else does.pan(dx, dy);
  }

  function pinch() {
    const [a, b] = [...down.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, d: Math.hypot(a.x - b.x, a.y - b.y) || 1 };
  }

  function letGo() {
    clearTimeout(timer);
    if (state === "dragging" && holds) does.leave(holds);
    holds = null;
  }

  place.addEventListener("pointerdown", (event) => {
    if (event.button > 0) return;
    const [x, y] = where(event);
    down.set(event.pointerId, { x, y, x0: x, y0: y, kind: event.pointerType || "mouse" });
    try { place.setPointerCapture(event.pointerId); } catch { /* already gone */ }
    if (down.size === 1) {
      state = "waiting";
      if (event.pointerType === "touch") timer = setTimeout(begin, WAIT_MS);
      else begin();
    } else { letGo(); state = "pinching"; }
  });

  place.addEventListener("pointermove", (event) => {
    const [x, y] = where(event);
    const one = down.get(event.pointerId);
    if (!one) { if (!down.size) does.hover(x, y); return; }
    const before = state === "pinching" && down.size === 2 ? pinch() : null;
    const [dx, dy] = [x - one.x, y - one.y];
    one.x = x;
    one.y = y;
    if (before) {
      const now = pinch();
      does.pinch(now.d / before.d, now.x, now.y, now.x - before.x, now.y - before.y);
    } else move(one, dx, dy);
  });

  // a finger on what can be dragged does not scroll the page
  place.addEventListener("touchstart", (event) => {
    const [x, y] = where(event.touches[0]);
    if (event.touches.length > 1 || does.hit(x, y, REACH.touch, "touch")) event.preventDefault();
  }, { passive: false });

  const end = (event, gone) => {
    const one = down.get(event.pointerId);
    if (!one) return;
    down.delete(event.pointerId);
    if (state === "waiting") { clearTimeout(timer); if (!gone) { holds = null; does.tap(one.x, one.y, one.kind); } }
    else if (state === "held" && !gone) does.tap(one.x, one.y, one.kind);
    else if (state === "dragging" && holds) { if (gone) does.leave(holds); else does.drop(holds); }
    holds = null;
    state = down.size ? "pinching" : "idle";
  };
  place.addEventListener("pointerup", (event) => end(event, false));
  place.addEventListener("pointercancel", (event) => end(event, true));
  return { cancel() { letGo(); state = down.size ? "pinching" : "idle"; } };
}
