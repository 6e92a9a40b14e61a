// <hull-view>: the planked hull, to be turned by hand; a plank can be chosen in it.
//
//   const view = document.querySelector("hull-view");
//   view.addEventListener("chosen", (event) => event.detail.plank);
//   view.choose("P7-2");
//   view.paint((plank) => [0.9, 0.8, 0.6]);   // optional colours, 0 to 1
//
// Turned by mouse, one finger or arrow keys; nearer by wheel, pinch or + and -. It fills its frame
// until a hand brings it nearer or shifts it; 0 frames it again. The data comes from
// /api/hull-view by itself. Facets are shaded by the screen's own derivatives, so only points and
// triangles travel. With `src` it comes from there; view.move(points) then puts the same planks
// elsewhere (true where they are the same), and where the heading says `mirrored` the other half of
// the planks is made here. All of it is drawn in one call.
import { job } from "/static/js/job.js";
import { el } from "/static/js/ask.js";

const LENS = 4; // heights of the frame it lies before it: a nearer eye makes the bow too great
const FILLED = 0.9; // of the frame, the way the hull fills first
const TRIED = 1500; // points of the hull that are enough to frame it by

const VERTEX = `#version 300 es
in vec3 at; in float plank; in vec2 place; uniform mat4 turn; uniform mat4 lens; uniform sampler2D paints;
out vec3 seen; out vec2 within; flat out vec4 paint; flat out float number;
void main() { within = place; vec4 p = turn * vec4(at, 1.0); seen = p.xyz; gl_Position = lens * p;
  paint = texelFetch(paints, ivec2(int(plank) % 256, int(plank) / 256), 0); number = plank; }`;
const FRAGMENT = `#version 300 es
precision highp float;
in vec3 seen; in vec2 within; uniform vec3 seam; flat in vec4 paint; flat in float number; uniform float picking; out vec4 color;
void main() {
  if (picking > 0.5) { float n = number + 1.0; color = vec4(mod(n, 256.0) / 255.0, floor(n / 256.0) / 255.0, 0.0, 1.0); return; }
  vec3 n = normalize(cross(dFdx(seen), dFdy(seen)));
  float light = 0.52 + 0.34 * abs(dot(n, normalize(vec3(0.25, 0.8, 0.55)))) + 0.14 * abs(n.z);
  vec2 pixel = max(fwidth(within), vec2(1e-6)), away = min(within, 1.0 - within) / pixel;
  float ink = 0.65 * (1.0 - smoothstep(0.4, 1.5, min(away.x, away.y))) * clamp(0.09 / pixel.y, 0.0, 1.0);
  color = vec4(mix(paint.rgb * light, seam, ink), 1.0); // seams and butts, fainter where planks are but a few pixels wide
}`;

class HullView extends HTMLElement {
  connectedCallback() {
    if (this.canvas) return;
    this.chosen = "";
    this.turning = { about: 0.7, over: 0.3, away: 0.7, shift: [0, 0] };
    this.canvas = el("canvas", { tabindex: "0", role: "img", "aria-label": "The planked hull. Arrow keys turn it, plus and minus bring it nearer, 0 frames it again; N and B choose the next and the last plank." });
    this.says = el("p", { class: "unseen", "aria-live": "polite" });
    this.word = el("p", { class: "note" }, ["Reading the hull …"]);
    this.append(this.canvas, this.says, this.word);
    this.hands = new Map();
    for (const [name, does] of [["pointerdown", "press"], ["pointermove", "move"], ["pointerup", "lift"], ["pointercancel", "lift"], ["wheel", "wheel"], ["keydown", "key"]])
      this.canvas.addEventListener(name, (event) => this[does](event), name === "wheel" ? { passive: false } : undefined);
    new ResizeObserver(() => this.draw()).observe(this);
    new MutationObserver(() => { this.painted(); this.draw(); }).observe(document.documentElement, { attributeFilter: ["data-light"] });
    if (!this.getAttribute("src")) job.on("view", () => this.load()); // with a source of its own its page says when
    this.load();
  }

  /** @param {string} [hold] a hand's drag, where it comes from one */
  async load(hold = "") {
    const src = this.getAttribute("src");
    const answer = await fetch(src ? `${src}?hold=${encodeURIComponent(hold)}` : "/api/hull-view").catch(() => null);
    if (!answer || answer.status !== 200) {
      const said = answer?.headers.get("x-ribband-why") || "";
      this.word.textContent = `No hull to turn yet. ${said}`;
      this.word.hidden = false; this.canvas.hidden = true;
      return;
    }
    const tag = answer.headers.get("etag");
    if (tag && tag === this.tag) return;
    this.tag = tag;
    this.take(await answer.arrayBuffer());
  }

  /** @param {ArrayBuffer} body */
  take(body) {
    const size = new DataView(body).getUint32(0, true);
    const head = JSON.parse(new TextDecoder().decode(new Uint8Array(body, 4, size)));
    const own = new Float32Array(body, 4 + size, head.points * 3);
    const half = new Uint32Array(body, 4 + size + own.byteLength, head.triangles * 3);
    this.mirrored = Boolean(head.mirrored);
    this.own = own.length;
    const points = this.both(own);
    const triangles = this.mirrored ? joined(Uint32Array, half, half.map((n) => n + head.points)) : half;
    const plank = new Float32Array(points.length / 3);
    let first = 0;
    head.planks.forEach((p, n) => { plank.fill(n, first, first + p.points); first += p.points; });
    this.planks = head.planks;
    this.bounds(points);
    this.word.hidden = true; this.canvas.hidden = false;
    if (!this.begin()) return;
    const gl = this.gl;
    this.count = triangles.length;
    this.points = this.buffer(gl.ARRAY_BUFFER, points, "at", 3);
    this.buffer(gl.ARRAY_BUFFER, plank, "plank", 1);
    this.buffer(gl.ARRAY_BUFFER, places(head.planks), "place", 2);
    this.buffer(gl.ELEMENT_ARRAY_BUFFER, triangles);
    this.painted();
    this.draw();
    this.dispatchEvent(new CustomEvent("ready", { detail: { planks: this.planks.length } }));
  }

  /** Both sides of points where one was sent. @param {Float32Array} own */
  both(own) {
    return this.mirrored ? joined(Float32Array, own, own.map((v, i) => (i % 3 === 1 ? -v : v))) : own;
  }

  /** Put the planks elsewhere; false where these are not points of the planks shown. @param {Float32Array} own */
  move(own) {
    if (!this.gl || own.length !== this.own) return false;
    const gl = this.gl;
    gl.bindBuffer(gl.ARRAY_BUFFER, this.points);
    gl.bufferSubData(gl.ARRAY_BUFFER, 0, this.both(own));
    this.draw();
    return true;
  }

  bounds(points) {
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    for (let i = 0; i < points.length; i++) { const k = i % 3; low[k] = Math.min(low[k], points[i]); high[k] = Math.max(high[k], points[i]); }
    this.middle = low.map((v, k) => (v + high[k]) / 2);
    this.radius = Math.hypot(...low.map((v, k) => high[k] - v)) / 2 || 1;
    const every = 3 * Math.max(1, Math.floor(points.length / 3 / TRIED));
    this.tried = [];
    this.framed = "";
    for (let i = 0; i < points.length; i += every) this.tried.push([points[i], points[i + 1], points[i + 2]]);
  }

  /** Set the hull before the eye so that it fills the frame, unless a hand has set it. @param {number} shape */
  frame(shape) {
    const { about, over } = this.turning, asked = `${shape} ${about} ${over}`;
    if (this.set || !this.tried || asked === this.framed) return;
    this.framed = asked;
    const rows = this.rows();
    const seen = this.tried.map((p) => rows.map((r) => r.reduce((sum, v, k) => sum + v * (p[k] - this.middle[k]), 0)));
    const nearest = 1.05 * Math.max(...seen.map((p) => p[2]));
    let near = Math.log(Math.max(nearest, 0.1 * this.radius)), far = Math.log(40 * this.radius), fits;
    for (let turn = 0; turn < 16; turn++) { // the nearer, the more of the frame it fills
      const away = Math.exp((near + far) / 2), at = centred(seen, away, shape);
      if (at.fills > FILLED) near = Math.log(away);
      else { far = Math.log(away); fits = { away, shift: at.shift }; }
    }
    if (!fits) return;
    const { away, shift } = fits;
    Object.assign(this.turning, { away: away / 2.6 / this.radius, shift: shift.map((v) => v / this.radius) });
  }

  begin() {
    if (this.gl) return true;
    const gl = this.gl = this.canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
    if (!gl) { this.word.textContent = "This browser cannot draw in space; the sheets show every plank."; this.word.hidden = false; return false; }
    const made = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
      const shader = gl.createShader(kind); gl.shaderSource(shader, text); gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
      gl.attachShader(made, shader);
    }
    gl.linkProgram(made); gl.useProgram(made);
    this.made = made;
    this.where = Object.fromEntries(["turn", "lens", "paints", "picking", "seam"].map((n) => [n, gl.getUniformLocation(made, n)]));
    gl.enable(gl.DEPTH_TEST);
    return true;
  }

  buffer(kind, data, name, size) {
    const gl = this.gl, made = gl.createBuffer();
    gl.bindBuffer(kind, made); gl.bufferData(kind, data, gl.STATIC_DRAW);
    if (!name) return made;
    const at = gl.getAttribLocation(this.made, name);
    gl.enableVertexAttribArray(at); gl.vertexAttribPointer(at, size, gl.FLOAT, false, 0, 0);
    return made;
  }

  /** Colour the planks; without a painter, neighbours alternate in the house's timber. */
  paint(painter) { this.painter = painter; this.painted(); this.draw(); }

  painted() {
    if (!this.gl || !this.planks) return;
    const lift = document.documentElement.dataset.light === "night" ? 1.9 : 1; // shaded wood is lost on dark paper
    const [a, b, lit] = ["--plank-a", "--plank-b", "--chosen"].map((name) => token(name).map((v) => Math.min(1, v * lift)));
    const data = new Uint8Array(256 * Math.ceil(this.planks.length / 256) * 4);
    this.planks.forEach((p, n) => {
      const plain = (parseInt(p.strake, 10) + Number(p.name.split("-")[1])) % 2 ? a : b;
      const shade = p.name === this.chosen ? lit : this.painter?.(p) || plain;
      data.set([...shade.map((v) => Math.round(255 * v)), 255], 4 * n);
    });
    const gl = this.gl;
    this.texture ||= gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, this.texture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, 256, data.length / 1024, 0, gl.RGBA, gl.UNSIGNED_BYTE, data);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
  }

  draw() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => { this.asked = false; this.drawn(false); });
  }

  drawn(picking) {
    const gl = this.gl;
    if (!gl || !this.count) return;
    const ratio = Math.min(devicePixelRatio || 1, 2), w = this.clientWidth, h = this.canvas.clientHeight || 300;
    if (!w) return;
    const wide = Math.round(w * ratio), high = Math.round(h * ratio);
    if (this.canvas.width !== wide || this.canvas.height !== high) { this.canvas.width = wide; this.canvas.height = high; }
    gl.viewport(0, 0, wide, high);
    this.frame(w / h);
    const paper = picking ? [0, 0, 0] : token("--paper");
    gl.clearColor(...paper, 1); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.uniformMatrix4fv(this.where.turn, false, this.turn());
    gl.uniformMatrix4fv(this.where.lens, false, this.lens(w / h));
    gl.uniform1f(this.where.picking, picking ? 1 : 0);
    gl.uniform3f(this.where.seam, ...token("--seam"));
    gl.drawElements(gl.TRIANGLES, this.count, gl.UNSIGNED_INT, 0);
    this.frames = (this.frames || 0) + 1;
  }

  /** Seen from beyond the side: x to the right, up the second row, towards the eye the third. */
  rows() {
    const { about, over } = this.turning;
    const c = Math.cos(about), s = Math.sin(about), k = Math.cos(over), q = Math.sin(over);
    return [[c, s, 0], [-q * -s, -q * c, k], [k * -s, k * c, q]];
  }

  /** The hull turned and set before the eye: x aft, y to starboard, z up. */
  turn() {
    const { away, shift } = this.turning, [x, y, z] = this.middle, rows = this.rows();
    const at = rows.map((r) => -(r[0] * x + r[1] * y + r[2] * z));
    return new Float32Array([rows[0][0], rows[1][0], rows[2][0], 0, rows[0][1], rows[1][1], rows[2][1], 0, rows[0][2], rows[1][2], rows[2][2], 0,
      at[0] + shift[0] * this.radius, at[1] + shift[1] * this.radius, at[2] - 2.6 * this.radius * away, 1]);
  }

  lens(shape) {
    const near = this.radius * 0.02, far = this.radius * 20;
    return new Float32Array([LENS / shape, 0, 0, 0, 0, LENS, 0, 0, 0, 0, -(far + near) / (far - near), -1, 0, 0, -2 * far * near / (far - near), 0]);
  }

  press(event) {
    this.canvas.setPointerCapture(event.pointerId);
    this.hands.set(event.pointerId, { x: event.clientX, y: event.clientY, moved: 0 });
    this.most = this.hands.size;
  }

  move(event) {
    const hand = this.hands.get(event.pointerId);
    if (!hand) return;
    const dx = event.clientX - hand.x, dy = event.clientY - hand.y;
    if (this.hands.size === 2) {
      const other = [...this.hands].find(([id]) => id !== event.pointerId)[1];
      const before = Math.hypot(hand.x - other.x, hand.y - other.y), now = Math.hypot(event.clientX - other.x, event.clientY - other.y);
      this.nearer(before / Math.max(now, 1));
      this.turning.shift[0] += dx / this.clientWidth; this.turning.shift[1] -= dy / this.clientWidth;
      this.most = 2;
      this.set = true;
    } else if (event.shiftKey || event.buttons === 4) {
      this.turning.shift[0] += 2 * dx / this.clientWidth; this.turning.shift[1] -= 2 * dy / this.clientWidth;
      this.set = true;
    } else this.roll(dx * 0.008, dy * 0.008);
    Object.assign(hand, { x: event.clientX, y: event.clientY, moved: hand.moved + Math.abs(dx) + Math.abs(dy) });
    this.draw();
  }

  lift(event) {
    const hand = this.hands.get(event.pointerId);
    this.hands.delete(event.pointerId);
    if (hand && hand.moved < 6 && this.most === 1 && event.type === "pointerup") this.pick(event);
  }

  roll(about, over) {
    this.turning.about += about;
    this.turning.over = Math.min(1.5, Math.max(-1.5, this.turning.over + over));
  }

  nearer(by) { this.set = true; this.turning.away = Math.min(4, Math.max(0.12, this.turning.away * by)); this.draw(); }

  wheel(event) { event.preventDefault(); this.nearer(Math.exp(event.deltaY * 0.0012)); }

  key(event) {
    const turns = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, -0.08], ArrowDown: [0, 0.08] }[event.key];
    if (turns) this.roll(...turns);
    else if (event.key === "+" || event.key === "=") this.nearer(0.85);
    else if (event.key === "-") this.nearer(1.18);
    else if (event.key === "0") { this.set = false; this.framed = ""; }
    else if (event.key === "n" || event.key === "b") this.step(event.key === "n" ? 1 : -1);
    else return;
    event.preventDefault();
    this.draw();
  }

  step(way) {
    const at = this.planks.findIndex((p) => p.name === this.chosen);
    const next = this.planks[(at + way + this.planks.length) % this.planks.length];
    this.tell(next.name);
  }

  pick(event) {
    const gl = this.gl, box = this.canvas.getBoundingClientRect(), pixel = new Uint8Array(4);
    this.drawn(true);
    const ratio = this.canvas.width / box.width;
    gl.readPixels(Math.round((event.clientX - box.left) * ratio), Math.round((box.bottom - event.clientY) * ratio), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
    this.drawn(false);
    const number = pixel[0] + 256 * pixel[1] - 1;
    if (number >= 0) this.tell(this.planks[number].name);
  }

  tell(plank) {
    this.choose(plank);
    this.dispatchEvent(new CustomEvent("chosen", { detail: { plank }, bubbles: true }));
  }

  /** Show a plank as chosen, without telling anyone. */
  choose(plank) {
    this.chosen = plank;
    this.says.textContent = plank ? `Plank ${plank} chosen` : "";
    this.painted();
    this.draw();
  }
}


/** Set points seen from `away` in the middle of the frame; gives the shift and how far they fill it. */
function centred(seen, away, shape) {
  const wide = [LENS / shape, LENS], shift = [0, 0];
  let fills = 0;
  for (let turn = 0; turn < 5; turn++) { // what is nearer moves more, so the middle is found in turns
    fills = 0;
    for (const k of [0, 1]) {
      let low = Infinity, high = -Infinity, moves = [0, 0];
      for (const p of seen) {
        const scale = wide[k] / (away - p[2]), at = scale * (p[k] + shift[k]);
        if (at < low) { low = at; moves[0] = scale; }
        if (at > high) { high = at; moves[1] = scale; }
      }
      fills = Math.max(fills, -low, high);
      if (turn < 4) shift[k] -= (low + high) / (moves[0] + moves[1]);
    }
  }
  return { shift, fills };
}

/** How far along its plank and across it each point lies, 0 to 1, so that seams and butts can be drawn: stations of three points, inner and outer. */
function places(planks) {
  const made = new Float32Array(2 * planks.reduce((sum, p) => sum + p.points, 0));
  let at = 0;
  for (const { points } of planks) {
    const last = points / 6 - 1;
    for (let i = 0; i < points; i++) { made[at++] = Math.floor(i / 6) / last; made[at++] = ((i >> 1) % 3) / 2; }
  }
  return made;
}

/** Two arrays of a kind, one after the other. */
function joined(Kind, a, b) {
  const made = new Kind(a.length + b.length);
  made.set(a);
  made.set(b, a.length);
  return made;
}

/** A token's colour as three parts from 0 to 1. */
function token(name) {
  const text = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const hex = text.length === 4 ? [...text.slice(1)].map((c) => c + c).join("") : text.slice(1);
  return [0, 2, 4].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255);
}

customElements.define("hull-view", HullView);
