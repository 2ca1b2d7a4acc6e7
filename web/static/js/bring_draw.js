// Lines drawn on the picture: round the subject, what belongs to it, regions of detail, a scale.
// Freehand with mouse, pen or finger; point by point with taps; or with arrow keys and Enter.

const HOW = {
  "": "The violet line is the silhouette.",
  lasso: "Draw once all round the subject, or tap point by point.",
  belongs: "Stroke over what belongs to the subject.",
  not: "Stroke over what does not belong to it.",
  more: "Draw round what needs more detail, such as eyes.",
  less: "Draw round what needs less detail.",
  none: "Draw round what gets no lines.",
  scale: "Drag between two points whose distance you know, or tap both.",
};
const NAMES = { more: "more detail", less: "less detail", none: "no lines" };
const ASK_LENGTH = "Now type how far apart the two points are.";
const RINGS = ["lasso", "more", "less", "none"];
const NS = "http://www.w3.org/2000/svg";

export class Drawn {
  constructor(data, calls) {
    this.calls = calls;
    this.svg = document.getElementById("draw");
    this.w = this.svg.viewBox.baseVal.width;
    this.h = this.svg.viewBox.baseVal.height;
    this.tool = "";
    this.points = []; // of the line under way
    this.cross = null;
    this.length = null;
    this.done = this.unpack(data); // finished, in order: {kind, points}
    this.svg.addEventListener("pointerdown", (e) => this.down(e));
    this.svg.addEventListener("pointermove", (e) => this.move(e));
    this.svg.addEventListener("pointerup", (e) => this.up(e));
    this.svg.addEventListener("pointercancel", () => this.drop());
    this.svg.addEventListener("keydown", (e) => this.key(e));
    document.querySelector(".tool-buttons").addEventListener("click", (e) => {
      const act = e.target.dataset.draw;
      if (act === "close") this.finish();
      if (act === "back") this.back();
      if (act === "stop") this.take("");
    });
    this.paint();
  }

  unpack(data) {
    const pairs = (flat) => Array.from({ length: flat.length / 2 }, (_, i) => [flat[2 * i], flat[2 * i + 1]]);
    const out = [];
    if (data.lasso.length) out.push({ kind: "lasso", points: pairs(data.lasso) });
    for (const [line, belongs] of data.marks) out.push({ kind: belongs ? "belongs" : "not", points: pairs(line) });
    for (const [ring, detail] of data.regions) out.push({ kind: detail, points: pairs(ring) });
    if (data.scale) out.push({ kind: "scale", points: pairs(data.scale) });
    return out;
  }

  /** As the server reads it: flat lists of pixels. */
  shapes() {
    const flat = (s) => s.points.flat().map((v) => Math.round(v * 10) / 10);
    const of = (...kinds) => this.done.filter((s) => kinds.includes(s.kind));
    return {
      lasso: of("lasso").map(flat)[0] ?? [],
      marks: of("belongs", "not").map((s) => [flat(s), s.kind === "belongs"]),
      regions: of("more", "less", "none").map((s) => [flat(s), s.kind]),
      scale: of("scale").map(flat)[0] ?? null,
    };
  }

  /** What the scale's length is as typed with its unit, "" while it is missing, null where no scale is used. */
  said(length) {
    this.length = length;
    this.paint();
  }

  take(tool) {
    this.tool = tool === this.tool ? "" : tool;
    this.points = [];
    this.cross = null;
    for (const b of document.querySelectorAll("[data-tool]")) b.setAttribute("aria-pressed", String(b.dataset.tool === this.tool));
    if (this.tool) {
      this.calls.begun();
      this.svg.focus({ preventScroll: true });
    }
    this.paint();
  }

  at(event) {
    const r = this.svg.getBoundingClientRect();
    const clamp = (v, top) => Math.min(Math.max(v, 0), top);
    return [clamp((event.clientX - r.left) / r.width * this.w, this.w), clamp((event.clientY - r.top) / r.height * this.h, this.h)];
  }

  /** The end of the scale that stays where the other one is taken hold of; nothing where neither is near. */
  other(p) {
    const ends = this.done.find((s) => s.kind === "scale")?.points ?? [];
    const k = ends.findIndex((end) => this.near(p, end, 22));
    return k < 0 ? [] : [ends[1 - k]];
  }

  /** Picture pixels for so many on the screen. */
  px(n) {
    return n * this.w / Math.max(this.svg.getBoundingClientRect().width, 1);
  }

  down(event) {
    if (!this.tool || event.button || this.held !== undefined) return;
    event.preventDefault();
    this.held = event.pointerId;
    this.svg.setPointerCapture(event.pointerId);
    if (this.tool === "scale" && !this.points.length) this.points = this.other(this.at(event));
    this.before = this.points.length;
    this.cross = null;
    this.add(this.at(event));
  }

  move(event) {
    if (this.held !== event.pointerId) return;
    const p = this.at(event);
    if (this.tool === "scale" && this.before) this.points[this.before] = p;
    else if (this.tool === "scale") {
      if (this.near(p, this.points[0], 8)) return;
      this.points = [this.points[0], p];
    } else {
      const last = this.points[this.points.length - 1];
      if (this.near(p, last, 3)) return;
      this.points.push(p);
    }
    this.paint();
  }

  up(event) {
    if (this.held !== event.pointerId) return;
    this.held = undefined;
    const run = this.points.length - this.before;
    if (this.tool === "scale") {
      if (this.points.length >= 2) this.finish();
      return;
    }
    if (run > 4) this.finish(); // drawn in one go
    else if (RINGS.includes(this.tool) && this.points.length > 3 && this.near(this.points[0], this.points[this.points.length - 1], 16)) this.finish();
    else this.paint();
  }

  drop() {
    if (this.held === undefined) return;
    this.held = undefined;
    this.points.length = this.tool === "scale" && this.done.some((s) => s.kind === "scale") ? 0 : this.before;
    this.paint();
  }

  near(a, b, screen) {
    return Math.hypot(a[0] - b[0], a[1] - b[1]) < this.px(screen);
  }

  add(p) {
    this.points.push(p);
    this.paint();
  }

  finish() {
    const least = RINGS.includes(this.tool) ? 3 : 2;
    if (!this.tool || this.points.length < least) return;
    const kind = this.tool;
    if (kind === "lasso" || kind === "scale") this.done = this.done.filter((s) => s.kind !== kind);
    if (kind === "scale") this.points = [this.points[0], this.points[this.points.length - 1]];
    this.done.push({ kind, points: this.thin(this.points) });
    this.points = [];
    if (kind === "lasso" || kind === "scale") this.take(kind);
    else this.paint();
    this.calls.changed(kind);
    if (kind === "scale") document.getElementById("b-scale").focus();
  }

  /** At most 1500 points a line. */
  thin(points) {
    const step = Math.ceil(points.length / 1500);
    return points.filter((_, i) => i % step === 0);
  }

  back() {
    if (this.points.length) {
      this.points.pop();
      this.paint();
      return;
    }
    const gone = this.done.pop();
    this.paint();
    if (gone) this.calls.changed("");
  }

  key(event) {
    if (!this.tool) return;
    const far = event.shiftKey ? 2 : 14;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (way) {
      const [x, y] = this.cross ?? [this.w / 2, this.h / 2];
      const d = this.px(far);
      this.cross = [Math.min(Math.max(x + way[0] * d, 0), this.w), Math.min(Math.max(y + way[1] * d, 0), this.h)];
      this.paint();
    } else if (event.key === "Enter" || event.key === " ") {
      this.cross ??= [this.w / 2, this.h / 2];
      const closes = RINGS.includes(this.tool) && this.points.length > 2 && this.near(this.cross, this.points[0], 16);
      if (closes) this.finish();
      else {
        this.add([...this.cross]);
        if (this.tool === "scale" && this.points.length === 2) this.finish();
      }
    } else if (event.key === "Backspace") this.back();
    else if (event.key === "Escape") this.take("");
    else return;
    event.preventDefault();
  }

  paint() {
    const parts = [];
    const path = (points, closed) => `M${points.map((p) => p.map((v) => v.toFixed(1)).join(" ")).join("L")}${closed ? "Z" : ""}`;
    const shape = (kind, points, closed) => {
      const d = path(points, closed);
      parts.push(["path", { class: "under", d }], ["path", { class: `shape ${kind}`, d }]);
      if (kind === "scale") for (const [x, y] of points) parts.push(["circle", { class: "tick", cx: x, cy: y, r: this.px(6) }]);
    };
    const name = (kind, words, x, y) => {
      for (const under of ["under-words", `words ${kind}`])
        parts.push(["text", { class: under, x, y, "font-size": this.px(14), "stroke-width": this.px(4) }, words]);
    };
    const fitted = !document.querySelector("[name=as_drawn]")?.checked;
    for (const s of this.done) {
      if (s.kind === "lasso" && this.tool !== "lasso" && fitted) continue;
      if (s.kind === "scale" && this.tool === "scale" && this.points.length) continue;
      shape(s.kind, s.points, RINGS.includes(s.kind));
    }
    for (const s of this.done) { // words lie above all lines
      const mid = (k) => { const v = s.points.map((p) => p[k]); return (Math.min(...v) + Math.max(...v)) / 2; };
      const held = s.kind === "scale" && this.tool === "scale" && this.points.length;
      if (NAMES[s.kind]) name(s.kind, NAMES[s.kind], mid(0), Math.max(Math.min(...s.points.map((p) => p[1])) - this.px(6), this.px(14)));
      if (s.kind === "scale" && this.length && !held) name("scale", this.length, mid(0), mid(1) - this.px(10));
    }
    if (this.points.length) {
      shape(this.tool, this.points, false);
      const [x, y] = this.points[0];
      if (RINGS.includes(this.tool)) parts.push(["circle", { class: "tick", cx: x, cy: y, r: this.px(6) }]);
    }
    if (this.cross) {
      const [x, y] = this.cross;
      const r = this.px(12);
      parts.push(["path", { class: "under", d: `M${x - r} ${y}h${2 * r}M${x} ${y - r}v${2 * r}` }],
        ["path", { class: "cross", d: `M${x - r} ${y}h${2 * r}M${x} ${y - r}v${2 * r}` }]);
    }
    this.svg.replaceChildren(...parts.map(([tag, given, words]) => {
      const node = document.createElementNS(NS, tag);
      for (const [k, v] of Object.entries(given)) node.setAttribute(k, v);
      if (words) node.textContent = words;
      return node;
    }));
    this.svg.classList.toggle("tool", Boolean(this.tool));
    const waits = this.length === "" && this.done.some((s) => s.kind === "scale");
    document.getElementById("draw-how").textContent = !this.tool && waits ? ASK_LENGTH : HOW[this.tool];
    document.querySelector("[data-draw=close]").hidden = !(RINGS.includes(this.tool) && this.points.length > 2);
    document.querySelector("[data-draw=back]").disabled = !this.points.length && !this.done.length;
    document.querySelector("[data-draw=stop]").hidden = !this.tool;
  }
}
