// The sheet's chart in closed form, as composer/body/patch.py has it; mm, y up, u in turns.

const TURN = 360;

function sinc(t) {
  return Math.abs(t) < 1e-8 ? 1 - (t * t) / 6 : Math.sin(t) / t;
}

/** Flat chart at (u0, s0): girth c1 there, changing by b mm per mm. */
export class Patch {
  constructor({ u0, s0, c1, b }) {
    Object.assign(this, { u0, s0, c1, b });
  }

  toSkin(x, y) {
    const { u0, s0, c1, b } = this;
    const q = c1 + b * y;
    const h = Math.hypot(b * x, q);
    const s = s0 + (b * (x * x + y * y) + 2 * c1 * y) / (h + c1);
    return [u0 + (b ? Math.atan2(b * x, q) / b : x / c1), s];
  }

  toFlat(u, s) {
    const { u0, s0, c1, b } = this;
    const d = u - u0;
    const ds = s - s0;
    const turn = b * d;
    const half = sinc(turn / 2);
    return [(c1 + b * ds) * d * sinc(turn), ds * Math.cos(turn) - (c1 * b * d * d * half * half) / 2];
  }

  /** How far "up the limb" at u is turned in this chart, degrees counter-clockwise. */
  turnAt(u) {
    return (-this.b * (u - this.u0) * 180) / Math.PI;
  }
}

/** The unrolled part: its chart, where a limb is cut and the girth along it, how paper lies on chest and back. */
export class Sheet {
  constructor(data) {
    this.patch = new Patch(data.patch);
    this.seam = data.seam;
    [this.sMin, this.sMax] = data.s;
    this.girths = data.girth;
    this.levels = data.levels;
    this.sides = data.sides;
    this.far = data.far;
    this.part = data.part;
    // A limb closes on itself; chest and back have edges, a midline, and a grid that says how paper lies.
    this.closed = data.closed;
    this.grid = data.grid;
    this.midline = data.midline;
  }

  girth(s) {
    const n = this.girths.length - 1;
    const t = Math.min(Math.max(((s - this.sMin) / (this.sMax - this.sMin)) * n, 0), n);
    const i = Math.min(Math.floor(t), n - 1);
    return this.girths[i] + (this.girths[i + 1] - this.girths[i]) * (t - i);
  }

  /** Flat mm of a place on skin. */
  toFlat(u, s) {
    return this.patch.toFlat(u, s);
  }

  toSkin(x, y) {
    return this.patch.toSkin(x, y);
  }

  /** The same u within the sheet. */
  within(u) {
    if (!this.closed) return u;
    return this.seam + (((u - this.seam) % 1) + 1) % 1;
  }

  /** How much wider round the limb the sheet shows skin at s than it is. */
  widening(s) {
    return (this.patch.c1 + this.patch.b * (s - this.patch.s0)) / this.girth(s);
  }

  /** Chest and back: a, c, d of the map [[a, 0], [c, d]] from sheet mm to paper mm at (x, y). */
  paperAt(x, y) {
    const { x: x0, y: y0, step, nx, ny, p } = this.grid;
    const i = Math.min(Math.max((x - x0) / step, 0), nx - 1.001);
    const j = Math.min(Math.max((y - y0) / step, 0), ny - 1.001);
    const [a, b] = [Math.floor(i), Math.floor(j)];
    const at = (k, m, n) => p[((b + n) * nx + a + m) * 3 + k];
    const mix = (k) => (1 - (j - b)) * ((1 - (i - a)) * at(k, 0, 0) + (i - a) * at(k, 1, 0))
      + (j - b) * ((1 - (i - a)) * at(k, 0, 1) + (i - a) * at(k, 1, 1));
    return [mix(0), mix(1), mix(2)];
  }

  /** The place dx mm to the right and dy mm up from (u, s), true mm. */
  beside(u, s, dx, dy) {
    if (this.closed) return [u + dx / this.girth(s), s + dy];
    const [x, y] = linear.at(this.paperFrame(...this.patch.toFlat(u, s)), dx, dy);
    return [u + x / this.patch.c1, s + y];
  }

  /**
   * How true mm at (u, s) appear on the sheet: place [x, y] and the linear map [a, b, c, d]
   * (columns (a, b) and (c, d)) from "right, up the limb" to the sheet's "right, up".
   */
  frame(u, s) {
    const [x, y] = this.toFlat(u, s);
    return { x, y, m: this.closed ? this.coneFrame(u, s) : this.paperFrame(x, y) };
  }

  coneFrame(u, s) {
    const a = (this.patch.turnAt(u) * Math.PI) / 180;
    const k = this.widening(s);
    return [Math.cos(a) * k, Math.sin(a) * k, -Math.sin(a), Math.cos(a)];
  }

  paperFrame(x, y) {
    const [p, q, r] = this.paperAt(x, y);
    return [1 / p, -q / (p * r), 0, 1 / r];
  }

  /** The sheet that a place lies on: this one (see WideSheet). */
  of() {
    return this;
  }
}

/** A part's sheet hung on a wide one: the same, moved and turned by a matrix (2 x 3, row by row). */
export class HungSheet extends Sheet {
  constructor(data) {
    super(data);
    this.matrix = data.matrix;
  }

  toFlat(u, s) {
    const [x, y] = super.toFlat(u, s);
    const [a, b, e, c, d, f] = this.matrix;
    return [a * x + b * y + e, c * x + d * y + f];
  }

  toSkin(x, y) {
    return super.toSkin(...this.home(x, y));
  }

  /** Wide mm to the mm of the part's own sheet. */
  home(x, y) {
    const [a, b, e, c, d, f] = this.matrix;
    return [a * (x - e) + c * (y - f), b * (x - e) + d * (y - f)];
  }

  /** On a hung panel, which may stand on its head, right and up are those of the wide sheet. */
  beside(u, s, dx, dy) {
    if (this.closed) return super.beside(u, s, dx, dy);
    const [a, b, , c, d] = this.matrix;
    return super.beside(u, s, a * dx + c * dy, b * dx + d * dy);
  }

  frame(u, s) {
    const [hx, hy] = super.toFlat(u, s);
    const [a, b, e, c, d, f] = this.matrix;
    const own = this.closed ? this.coneFrame(u, s) : this.paperFrame(hx, hy);
    return { x: a * hx + b * hy + e, y: c * hx + d * hy + f, m: linear.mul([a, c, b, d], own) };
  }
}

/** Both shoulders with chest or back: a sheet for each part; a place says which it is on. */
export class WideSheet {
  constructor(data) {
    this.wide = true;
    this.closed = false;
    this.part = data.main;
    this.parts = new Map(Object.entries(data.wide).map(([name, part]) => [name, new HungSheet(part)]));
    this.outlines = new Map(Object.entries(data.wide).map(([name, part]) => [name, new Path2D(part.outline)]));
    this.probe = document.createElement("canvas").getContext("2d");
  }

  of(place) {
    return this.parts.get(place?.part) ?? this.parts.get(this.part);
  }

  /** The part that lies at (x, y), mm, y up: the middle one where several do; null beside all of them. */
  partAt(x, y) {
    for (const [name, outline] of this.outlines) if (this.probe.isPointInPath(outline, x, -y)) return name;
    return null;
  }
}

/** Linear maps as [a, b, c, d], columns (a, b), (c, d). */
export const linear = {
  of(turnDeg, scale = 1, flip = false) {
    const t = (turnDeg * Math.PI) / 180;
    const f = flip ? -scale : scale;
    return [Math.cos(t) * f, Math.sin(t) * f, -Math.sin(t) * scale, Math.cos(t) * scale];
  },
  mul(m, n) {
    return [
      m[0] * n[0] + m[2] * n[1], m[1] * n[0] + m[3] * n[1],
      m[0] * n[2] + m[2] * n[3], m[1] * n[2] + m[3] * n[3],
    ];
  },
  inv(m) {
    const d = m[0] * m[3] - m[1] * m[2];
    return [m[3] / d, -m[1] / d, -m[2] / d, m[0] / d];
  },
  at(m, x, y) {
    return [m[0] * x + m[2] * y, m[1] * x + m[3] * y];
  },
};

/** How a placed drawing appears on the sheet: anchor [x, y] and map from its own mm. */
export function placed(sheet, place) {
  const f = sheet.of(place).frame(place.u, place.s);
  return { x: f.x, y: f.y, m: linear.mul(f.m, linear.of(place.turn, place.scale, place.flip)) };
}

/** Turn to -180..180. */
export function turned(deg) {
  return ((((deg + 180) % TURN) + TURN) % TURN) - 180;
}

/**
 * Where the anchor must go so that the drawing's own point `grip` (its own mm) lies at the
 * sheet point (x, y), the drawing keeping its turn and scale on skin. A few rounds are enough:
 * the sheet turns slowly.
 */
export function anchorFor(sheet, place, grip, x, y) {
  let { u, s } = place;
  for (let i = 0; i < 6; i += 1) {
    const f = placed(sheet, { ...place, u, s });
    const [gx, gy] = linear.at(f.m, grip[0], grip[1]);
    const next = sheet.of(place).toSkin(x - gx, y - gy);
    const still = Math.abs(next[0] - u) < 1e-7 && Math.abs(next[1] - s) < 1e-4;
    [u, s] = next;
    if (still) break;
  }
  return { u, s };
}

/** Own point of a placed drawing under the sheet point (x, y). */
export function gripAt(sheet, place, x, y) {
  const f = placed(sheet, place);
  return linear.at(linear.inv(f.m), x - f.x, y - f.y);
}
