"""Extra tools for the drawing table: pointwise line weight, flicked whip shading, stipple.

All points are (n, 2) in mm, y up; a third column is a line width in mm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import shapely
from canvas import Canvas
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length, normals, spline, stroke
from composer.art.drawing import geometry_to_rings

RHYTHM = (0.62, 0.84, 1.0, 0.72, 0.46, 0.68, 0.92, 0.56, 0.36, 0.58, 0.8, 0.5)


def crv(points: Any, step: float = 0.7, closed: bool = False) -> np.ndarray:
    """Smooth curve through the points, one vertex about every `step` mm."""
    return spline(np.asarray(points, float)[:, :2], closed=closed, step_mm=step)


def even(path: Any, n: int) -> np.ndarray:
    """n points evenly spaced along a path."""
    p = np.asarray(path, float)
    s = arc_length(p)
    t = np.linspace(0, s[-1], n)
    return np.column_stack([np.interp(t, s, p[:, 0]), np.interp(t, s, p[:, 1])])


def between(a: Any, b: Any, t: float | np.ndarray, n: int = 40) -> np.ndarray:
    """Curve a share t of the way from curve a to curve b (t may vary along it)."""
    p, q = even(a, n), even(b, n)
    k = np.broadcast_to(np.asarray(t, float), (n,))[:, None]
    return p + (q - p) * k


def vline(c: Canvas, points: Any, inside: BaseGeometry | None = None, role: str = "line",
          step: float = 0.8, gain: float = 1.0) -> None:
    """One inked line with its width given at every point: rows of (x, y, width)."""
    p = np.asarray(points, float)
    keep = np.concatenate([[True], np.hypot(*np.diff(p[:, :2], axis=0).T) > 1e-9])
    path = crv(p, step)
    s = arc_length(path)
    q = p[keep]
    near = [int(np.argmin(np.hypot(*(path - a).T))) for a in q[:, :2]]
    near[0], near[-1] = 0, len(path) - 1
    at = np.maximum.accumulate(s[near])
    c.put(role, stroke(path, np.interp(s, at, q[:, 2] * gain)), inside)


def thin(c: Canvas, points: Any, width: float = 0.5, inside: BaseGeometry | None = None, step: float = 0.9,
         belly: float = 0.4, start: float = 0.5, end: float = 0.15, role: str = "line") -> None:
    """A fine line: swells to `width`, tapers at both ends."""
    path = crv(points, step) if len(points) > 2 else np.asarray(points, float)
    s = arc_length(path)
    t = s / s[-1]
    up = start + (1 - start) * np.sin(np.clip(t / belly, 0, 1) * np.pi / 2)
    down = end + (1 - end) * np.sin(np.clip((1 - t) / (1 - belly), 0, 1) * np.pi / 2)
    c.put(role, stroke(path, width * np.minimum(up, down)), inside)


def black(c: Canvas, points: Any, inside: BaseGeometry | None = None, smooth: bool = True,
          role: str = "black", step: float = 0.7) -> BaseGeometry:
    """A solid shape; returns it."""
    if isinstance(points, BaseGeometry):
        g = points
    else:
        ring = crv(points, step, closed=True) if smooth else np.asarray(points, float)
        g = shapely.make_valid(Polygon(ring))
    c.put(role, g, inside)
    return g


def flick(c: Canvas, base: Any, tip: Any, n: int, width: float = 0.8, bow: float = 0.0,
          inside: BaseGeometry | None = None, rhythm: Sequence[float] = RHYTHM, role: str = "line",
          fade: float = 0.0, solid: float = 0.0) -> None:
    """Whip shading: n spikes from the base curve towards the tip curve.

    Each spike is wide at the base and ends in a point; lengths follow the rhythm. `bow` bends
    the spikes sideways (share of the length), `fade` shortens those towards both ends, `solid` packs that share
    of the depth with black first, fading out at both ends of the edge.
    """
    p, q = even(base, n), even(tip, n)
    if solid > 0:
        a, b = even(base, 60), even(tip, 60)
        k = np.linspace(0, 1, 60)
        k = solid * np.clip(np.minimum(k, 1 - k) * 5, 0, 1) ** 0.7 * (0.85 + 0.15 * np.sin(k * 17))
        c.put("black", Polygon(np.vstack([a, (a + (b - a) * k[:, None])[::-1]])).buffer(0), inside)
    spikes = []
    for i in range(n):
        t = i / max(n - 1, 1)
        r = rhythm[i % len(rhythm)] * float(c.rng.uniform(0.9, 1.08))
        r *= 1 - fade * (2 * t - 1) ** 2
        d = (q[i] - p[i]) * min(r, 1.0)
        size = float(np.hypot(*d))
        if size < 0.3:
            continue
        m = np.array([-d[1], d[0]]) / size
        w = width * float(c.rng.uniform(0.88, 1.12)) / 2
        curve = [p[i] + d * k + m * bow * size * 4 * k * (1 - k) for k in (0.0, 0.33, 0.66, 1.0)]
        wide = (w, w * 0.72, w * 0.4, 0.03)
        left = [a + m * b for a, b in zip(curve, wide, strict=True)]
        right = [a - m * b for a, b in zip(curve, wide, strict=True)]
        back = p[i] - d / size * max(w * 0.8, 0.22)
        spikes.append(shapely.make_valid(Polygon([*left, *right[::-1], back])))
    if spikes:
        c.put(role, shapely.union_all(spikes), inside)


def stipple(c: Canvas, region: BaseGeometry, density: Callable[[float, float], float], size: float = 0.4,
            n: int = 600, apart: float = 2.0) -> None:
    """Pepper shading: n random tries kept with chance density(x, y), at least `apart` dot sizes from each other."""
    if region.is_empty:
        return
    x0, y0, x1, y1 = region.bounds
    tries = c.rng.uniform((x0, y0), (x1, y1), (n, 2))
    dice = c.rng.uniform(size=n)
    grow = c.rng.uniform(0.75, 1.25, n)
    ok = shapely.contains_xy(region, tries[:, 0], tries[:, 1])
    kept: list[np.ndarray] = []
    dots = []
    for p, a, g, inside in zip(tries, dice, grow, ok, strict=True):
        if not inside or a > density(*p):
            continue
        if kept and np.min(np.hypot(*(np.asarray(kept) - p).T)) < apart * size:
            continue
        kept.append(p)
        dots.append(shapely.Point(p).buffer(size * g / 2, quad_segs=2))
    if dots:
        c.put("line", shapely.union_all(dots), region)


def moved(points: Any, dx: float = 0.0, dy: float = 0.0, turn_deg: float = 0.0, scale: float = 1.0) -> np.ndarray:
    """Points scaled, turned about the origin, then moved; a width column is scaled only."""
    p = np.asarray(points, float).copy()
    a, b = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    x, y = p[:, 0] * scale, p[:, 1] * scale
    p[:, 0], p[:, 1] = a * x - b * y + dx, b * x + a * y + dy
    if p.shape[1] > 2:
        p[:, 2] *= scale
    return p


def arc(cx: float, cy: float, rx: float, ry: float, start_deg: float, stop_deg: float, n: int = 24) -> np.ndarray:
    """Part of an ellipse, from start to stop angle."""
    t = np.radians(np.linspace(start_deg, stop_deg, n))
    return np.column_stack([cx + rx * np.cos(t), cy + ry * np.sin(t)])


def inked(c: Canvas, form: Any, heavy: float = 1.1, light: float = 0.55, sun_deg: float = 120.0, step: float = 0.7,
          fine: Sequence[tuple[float, float, float, float]] = (), smooth: bool = True, silhouette: bool = True
          ) -> BaseGeometry:
    """Like Canvas.body, but the outline thins near given spots: (x, y, radius, share left at the spot)."""

    if isinstance(form, BaseGeometry):
        g = form
    else:
        ring = crv(form, step, closed=True) if smooth else np.asarray(form, float)
        g = shapely.make_valid(Polygon(ring))
    c.erase(g)
    if silhouette:
        c.forms.append(g)
    sun = np.array([np.cos(np.radians(sun_deg)), np.sin(np.radians(sun_deg))])
    for ring in geometry_to_rings(g):
        if abs(Polygon(ring).area) < 0.05:
            continue
        closed = np.vstack([ring, ring[:2]])
        nn = normals(closed)
        if Polygon(ring).exterior.is_ccw:
            nn = -nn
        k = (1 - nn @ sun) / 2
        k = np.convolve(np.pad(k, 4, mode="wrap"), np.ones(9) / 9, "valid")
        w = light + (heavy - light) * k
        for x, y, r, share in fine:
            d = np.clip(np.hypot(closed[:, 0] - x, closed[:, 1] - y) / r, 0, 1)
            w = w * (share + (1 - share) * d)
        c.put("line", stroke(closed, w))
    return g


def tube(points: Any, width: float | np.ndarray, step: float = 1.5) -> BaseGeometry:
    """A bar of even or varying width along points, as a form."""
    path = crv(points, step) if len(points) > 2 else even(points, 12)
    w = width if np.isscalar(width) else np.interp(np.linspace(0, 1, len(path)), np.linspace(0, 1, len(width)), width)
    return stroke(path, w)


def frill(path: Any, nodes: Sequence[float], out: Sequence[float], lean: float = 0.0,
    step: float = 0.5) -> np.ndarray:
    """Shell edge along a path: cusps at the shares `nodes`, a bulge of `out` mm (left of travel) between two of them.

    `lean` moves the belly of every bulge along the path (share of its length).
    """
    p = even(path, 400)
    s = np.linspace(0, 1, 400)
    n = np.gradient(p, axis=0)
    n /= np.maximum(np.hypot(n[:, 0], n[:, 1]), 1e-9)[:, None]
    n = np.column_stack([-n[:, 1], n[:, 0]])

    def spot(t: float, o: float) -> np.ndarray:
        k = int(np.argmin(abs(s - t)))
        return p[k] + n[k] * o

    rows = []
    for i in range(len(nodes) - 1):
        a, b, o = nodes[i], nodes[i + 1], out[i % len(out)]
        w = b - a
        ctrl = [spot(a, 0), spot(a + w * 0.2, o * 0.72), spot(a + w * (0.5 + lean), o), spot(b - w * 0.16, o * 0.74),
            spot(b, 0)]
        rows.append(crv(ctrl, step)[: None if i == len(nodes) - 2 else -1])
    return np.concatenate(rows)


def shares(parts: Sequence[float]) -> np.ndarray:
    """Node shares from relative lengths of the bulges."""
    return np.concatenate([[0.0], np.cumsum(parts) / np.sum(parts)])


def flakes(path: Any, parts: Sequence[float], out: Sequence[float], back: bool = False,
    step: float = 0.45) -> np.ndarray:
    """Broken shell edge along a path: flakes that rise slowly and end in a step, one for every entry of `parts`.

    `out` (mm, left of travel; cycled) is how far each stands off; `back` turns the steps round.
    """
    p = even(path, 500)
    if back:
        p = p[::-1]
    s = np.linspace(0, 1, 500)
    n = np.gradient(p, axis=0)
    n /= np.maximum(np.hypot(n[:, 0], n[:, 1]), 1e-9)[:, None]
    n = np.column_stack([-n[:, 1], n[:, 0]]) * (-1 if back else 1)

    def spot(t: float, o: float) -> np.ndarray:
        k = int(np.argmin(abs(s - t)))
        return p[k] + n[k] * o

    at = shares(parts if not back else list(parts)[::-1])
    rows = []
    for i in range(len(at) - 1):
        a, b, o = at[i], at[i + 1], out[i % len(out)]
        w = b - a
        rise = crv([spot(a, o * 0.05), spot(a + w * 0.3, o * 0.34), spot(a + w * 0.55, o * 0.86),
            spot(a + w * 0.82, o * 0.94), spot(b - w * 0.02, o * 0.98)], step)
        end = crv([spot(b - w * 0.02, o * 0.98), spot(b + w * 0.03, o * 0.72), spot(b - w * 0.03, o * 0.3)], step)
        rows += [rise, end[1:]]
    ring = np.concatenate(rows)
    return ring[::-1] if back else ring


def rescale(c: Canvas, k: float) -> None:
    """Bring the finished drawing to print size: all ink and forms scaled about the origin."""
    c.ink = {r: [affinity.scale(g, k, k, origin=(0, 0)) for g in parts] for r, parts in c.ink.items()}
    c.forms = [affinity.scale(g, k, k, origin=(0, 0)) for g in c.forms]


def tidy(c: Canvas, hole_mm2: float = 3.0, fleck_mm2: float = 0.035) -> None:
    """Clean the drawing for the needle: no ink outside the silhouette, no holes in it too small to show skin,
    no flecks or pinholes in the black that a machine could not leave open."""
    form = shapely.union_all([f.buffer(0.35) for f in c.forms])
    for part in shapely.get_parts(form):
        c.forms += [Polygon(r) for r in part.interiors if Polygon(r).area < hole_mm2]
    form = shapely.union_all([f.buffer(0.35) for f in c.forms])
    both = shapely.union_all([*c.ink["black"], *c.ink["line"]])
    holes = [Polygon(r) for part in shapely.get_parts(both) if part.geom_type == "Polygon" for r in part.interiors]
    pins = [h for h in holes if h.area < fleck_mm2]
    c.ink["line"] += [p.buffer(0.02) for p in pins]
    for role, parts in c.ink.items():
        if not parts:
            continue
        whole = shapely.union_all(parts).intersection(form).buffer(0)
        keep = []
        for part in shapely.get_parts(whole):
            if part.geom_type == "Polygon" and part.area >= fleck_mm2:
                keep.append(Polygon(part.exterior, [r for r in part.interiors if Polygon(r).area >= fleck_mm2]))
        c.ink[role] = keep
