// The line through grips, as composer/filler/shaped.py draws it: a natural cubic spline over the lengths of its chords.

/** Second derivatives of a natural cubic through values y at t. */
function bends(t, y) {
  const n = t.length;
  const m = new Array(n).fill(0);
  const c = new Array(n).fill(0);
  const d = new Array(n).fill(0);
  for (let i = 1; i < n - 1; i += 1) {
    const [h, g] = [t[i] - t[i - 1], t[i + 1] - t[i]];
    const p = 2 * (h + g) - h * c[i - 1];
    c[i] = g / p;
    d[i] = (6 * ((y[i + 1] - y[i]) / g - (y[i] - y[i - 1]) / h) - h * d[i - 1]) / p;
  }
  for (let i = n - 2; i > 0; i -= 1) m[i] = d[i] - c[i] * m[i + 1];
  return m;
}

/** Points about `step` apart on the smooth line through `points`, each [x, y]. */
export function smooth(points, step = 2) {
  const p = points.filter((q, i) => !i || Math.hypot(q[0] - points[i - 1][0], q[1] - points[i - 1][1]) > 1e-6);
  if (p.length < 3) return p;
  const t = [0];
  for (let i = 1; i < p.length; i += 1) t.push(t[i - 1] + Math.hypot(p[i][0] - p[i - 1][0], p[i][1] - p[i - 1][1]));
  const axes = [0, 1].map((k) => p.map((q) => q[k]));
  const second = axes.map((y) => bends(t, y));
  const count = Math.max(8, Math.ceil(t[t.length - 1] / step) + 1);
  const out = [];
  let i = 0;
  for (let k = 0; k < count; k += 1) {
    const at = (t[t.length - 1] * k) / (count - 1);
    while (i < t.length - 2 && at > t[i + 1]) i += 1;
    const h = t[i + 1] - t[i];
    const [a, b] = [(t[i + 1] - at) / h, (at - t[i]) / h];
    out.push([0, 1].map((j) => a * axes[j][i] + b * axes[j][i + 1]
      + (((a ** 3 - a) * second[j][i] + (b ** 3 - b) * second[j][i + 1]) * h * h) / 6));
  }
  return out;
}

/** Share of a pull that a place takes which lies `off` away, where nothing moves from `reach` on. */
export function bell(off, reach) {
  return Math.abs(off) < reach ? 0.5 + 0.5 * Math.cos((Math.PI * off) / reach) : 0;
}
