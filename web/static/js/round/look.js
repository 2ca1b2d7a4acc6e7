// Where the eye stands: which side it looks at, how steep, how near; and the hand that changes it.

const STEEPEST = 0.62;
const CLOSEST = 14;
const REST_TILT = 0.075;

export class Look {
  constructor() {
    this.u = 0;
    this.tilt = REST_TILT;
    this.zoom = 1;
    this.along = 0;
    this.across = 0;
    this.changed = () => {};
    this.heightMm = 1;
    this.widthMm = 80;
    this.moving = 0;
  }

  limit() {
    this.zoom = Math.min(Math.max(this.zoom, 0.8), CLOSEST);
    this.tilt = Math.min(Math.max(this.tilt, -STEEPEST), STEEPEST);
    const room = Math.max(0, this.heightMm / 2 * (1 - 0.75 / this.zoom)) + 8 * (this.zoom > 1);
    this.along = Math.min(Math.max(this.along, -room), room);
    const side = this.zoom > 1 ? this.widthMm * (1 - 0.5 / this.zoom) : 0;
    this.across = Math.min(Math.max(this.across, -side), side);
  }

  set(values) {
    cancelAnimationFrame(this.moving);
    this.moving = 0;
    Object.assign(this, values);
    this.limit();
    this.changed();
  }

  /** Go there: at once, or in a third of a second where motion is welcome. */
  go(values) {
    cancelAnimationFrame(this.moving);
    if (matchMedia("(prefers-reduced-motion: reduce)").matches) return this.set(values);
    const from = { u: this.u, tilt: this.tilt, zoom: this.zoom, along: this.along, across: this.across };
    const to = { ...from, ...values };
    to.u = from.u + (to.u - from.u - Math.round(to.u - from.u));
    const begun = performance.now();
    const step = (now) => {
      const t = Math.min((now - begun) / 340, 1), k = t * t * (3 - 2 * t);
      for (const key of Object.keys(from)) this[key] = from[key] + (to[key] - from[key]) * k;
      this.limit();
      this.changed();
      this.moving = t < 1 ? requestAnimationFrame(step) : 0;
    };
    this.moving = requestAnimationFrame(step);
  }
}

/** Drag, pinch, wheel. `radius()` is the limb's, mm; `tap(x, y)` is a press that stayed. */
export function handle(stage, look, { radius, tap, hover }) {
  const { stand } = stage;
  const mm = () => stage.mm;
  const down = new Map();
  let start = null;

  const flip = () => (stage.mirror ? -1 : 1);
  const spread = () => {
    const [a, b] = [...down.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, d: Math.hypot(a.x - b.x, a.y - b.y) };
  };

  stand.addEventListener("pointerdown", (event) => {
    if (event.button > 0 && event.button !== 2) return;
    try {
      stand.setPointerCapture(event.pointerId);
    } catch {
      return;
    }
    down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    start = { x: event.clientX, y: event.clientY, still: down.size === 1, tilt: event.shiftKey || event.button === 2, was: down.size === 2 ? spread() : null };
    stand.classList.add("turning");
  });

  stand.addEventListener("pointermove", (event) => {
    const held = down.get(event.pointerId);
    if (!held) {
      if (event.pointerType === "mouse") hover(event.clientX, event.clientY);
      return;
    }
    const dx = event.clientX - held.x, dy = event.clientY - held.y;
    if (down.size === 2 && start?.was) {
      held.x = event.clientX;
      held.y = event.clientY;
      const now = spread(), k = now.d / Math.max(start.was.d, 1);
      zoomAt(stage, look, now.x, now.y, k);
      const size = mm();
      look.set({ across: look.across - (now.x - start.was.x) * size * flip(), along: look.along + (now.y - start.was.y) * size });
      start.was = now;
      return;
    }
    if (start?.still && Math.hypot(event.clientX - start.x, event.clientY - start.y) < 6) return;
    if (start) start.still = false;
    held.x = event.clientX;
    held.y = event.clientY;
    const change = { u: look.u - dx * flip() * mm() / (2 * Math.PI * radius()) };
    if (start?.tilt || look.zoom <= 1.05) change.tilt = look.tilt + dy * 0.004;
    else change.along = look.along + dy * mm();
    look.set(change);
  });

  const up = (event) => {
    if (!down.delete(event.pointerId)) return;
    if (event.type === "pointerup" && start?.still && down.size === 0) tap(event.clientX, event.clientY);
    if (down.size === 1) start = { ...start, still: false, was: null };
    if (!down.size) {
      start = null;
      stand.classList.remove("turning");
      look.changed();
    }
  };
  stand.addEventListener("pointerup", up);
  stand.addEventListener("pointercancel", up);
  stand.addEventListener("contextmenu", (event) => event.preventDefault());
  stand.addEventListener("wheel", (event) => {
    event.preventDefault();
    const lines = event.deltaMode === 1 ? 18 : event.deltaMode === 2 ? 300 : 1;
    zoomAt(stage, look, event.clientX, event.clientY, Math.exp(-event.deltaY * lines * 0.0014));
  }, { passive: false });
  return { held: () => down.size > 0 };
}

/** Come nearer by `k` with what lies under the pointer staying there. */
export function zoomAt(stage, look, x, y, k) {
  const settle = stage.hold(x, y);
  look.set({ zoom: Math.min(Math.max(look.zoom * k, 0.8), CLOSEST) });
  settle();
}
