"""Tools for the first set of motifs: feathers, ribbons and whip shading that follow the form.

Coordinates are mm, y up; points are arrays (n, 2).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from canvas import Canvas, shape
from scipy.ndimage import gaussian_filter1d
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length, normals, resample, spline, stroke, swell

RHYTHM = (1.0, 0.58, 0.82, 0.46, 0.92, 0.66)


def at(path: np.ndarray, t: Any) -> np.ndarray:
    """Point(s) at share t of the length."""
    s = arc_length(path)
    q = np.asarray(t, float) * s[-1]
    return np.stack([np.interp(q, s, path[:, 0]), np.interp(q, s, path[:, 1])], axis=-1)


def part(path: np.ndarray, a: float, b: float, step: float = 0.5) -> np.ndarray:
    """Stretch of a path between two shares of its length (a > b runs backwards)."""
    n = max(3, int(abs(b - a) * arc_length(path)[-1] / step) + 1)
    return at(path, np.linspace(a, b, n))


def profile(stops: Any) -> Callable[[np.ndarray], np.ndarray]:
    """Value along a length from (t, value) stops, smooth between them (PCHIP)."""
    from scipy.interpolate import PchipInterpolator

    f = PchipInterpolator(*np.asarray(stops, float).T)
    return lambda t: f(np.clip(t, 0, 1))


def ribbon(spine: Any, left: Any, right: Any = None, smooth: bool = True) -> np.ndarray:
    """Ring along a spine with half widths from (t, mm) stops to the left and right of it."""
    p = spline(spine, step_mm=0.6) if smooth else np.asarray(spine, float)
    t = arc_length(p) / arc_length(p)[-1]
    n = normals(p)
    a = profile(left)(t)[:, None]
    b = a if right is None else profile(right)(t)[:, None]
    return np.vstack([p + n * a, (p - n * b)[::-1]])


def spiral(start: Any, heading_deg: float, radius: float, turns: float, turn: int, shrink: float = 0.2) -> np.ndarray:
    """Curve whose curvature only grows: `radius` first, `shrink` of it at the end."""
    total = turns * 2 * np.pi
    ang = np.linspace(0, total, int(40 * turns) + 12)
    r = radius * shrink ** (ang / total)
    h = np.radians(heading_deg) + turn * ang
    step = np.gradient(ang) * r
    d = np.column_stack([np.cos(h), np.sin(h)]) * step[:, None]
    return np.asarray(start, float) + np.vstack([[0, 0], np.cumsum(d, axis=0)[:-1]])


class Arm:
    """Spine from hand-set points run on into a curl; half widths taper by `stops`."""

    def __init__(self, points: list, radius: float, turns: float, turn: int, base: float, shrink: float = 0.4,
                 stops: Any = None) -> None:
        p = spline(points, step_mm=0.6)
        d = p[-1] - p[-3]
        coil = spiral(p[-1], float(np.degrees(np.arctan2(d[1], d[0]))), radius, turns, turn, shrink)
        path = resample(np.vstack([p, coil[1:]]), 0.6)
        path = np.column_stack([gaussian_filter1d(path[:, k], 4, mode="nearest") for k in (0, 1)])
        self.spine, self.turn, self.base = path, turn, base
        self.stops = stops or [(0, 1.0), (0.15, 0.9), (0.35, 0.64), (0.55, 0.41), (0.7, 0.28), (0.85, 0.17), (1, 0.05)]
        self.width = profile([(t, v * base) for t, v in self.stops])
        s = arc_length(path)
        t = s / s[-1]
        n = normals(path)
        w = self.width(t)[:, None]
        self.length = float(s[-1])
        self.left, self.right = path + n * w, path - n * w
        self.ring = np.vstack([self.left, self.right[::-1]])
        self.inner, self.outer = (self.left, self.right) if turn > 0 else (self.right, self.left)

    def geometry(self) -> Any:
        quads = [Polygon([self.left[i], self.left[i + 1], self.right[i + 1], self.right[i]]).buffer(0.02)
                 for i in range(len(self.left) - 1)]
        tip = shapely.Point(self.spine[-1]).buffer(float(self.width(np.array(1.0))) * 1.6)
        return shapely.union_all([shapely.make_valid(q) for q in quads] + [tip])


def tooth(p: np.ndarray, d: np.ndarray, width: float, bend: float) -> BaseGeometry:
    """One flick from p by the vector d: full width at the root, nothing at the tip."""
    n = np.array([-d[1], d[0]])
    u = n / max(float(np.hypot(*n)), 1e-9)
    t = np.array([0.0, 0.3, 0.6, 0.85, 1.0])
    mid = p + t[:, None] * d + (4 * t * (1 - t))[:, None] * n * bend
    w = width / 2 * np.array([1.0, 0.8, 0.5, 0.24, 0.05])
    return Polygon(np.vstack([mid + w[:, None] * u, (mid - w[:, None] * u)[::-1]]))


def dot(p: np.ndarray, size: float) -> BaseGeometry:
    return shapely.Point(p).buffer(size / 2, quad_segs=2)


class Table(Canvas):
    """Canvas with the tools of this set; `put` keeps merged geometries, `erase` is quick."""

    least_mm = 0.36
    """No drawn line swells to less than this (before the scale of `save`): one needle's width."""

    def line(self, points: Any, width: float = 0.6, *args: Any, **kwargs: Any) -> None:
        super().line(points, max(width, self.least_mm), *args, **kwargs)

    def erase(self, form: BaseGeometry) -> None:
        shapely.prepare(form)
        for role, parts in self.ink.items():
            arr = np.array(parts, dtype=object)
            if not len(arr):
                continue
            hit = shapely.intersects(form, arr)
            keep = list(arr[~hit])
            keep += [g for g in shapely.difference(arr[hit], form) if not g.is_empty]
            self.ink[role] = keep

    def put(self, role: str, geometry: BaseGeometry, inside: BaseGeometry | None = None) -> None:
        if not geometry.is_valid:
            geometry = shapely.make_valid(geometry)
        super().put(role, geometry, inside)

    def form(self, pts: Any, heavy: float = 1.1, light: float = 0.5, sun_deg: float = 120.0,
             smooth: bool = True, silhouette: bool = True) -> BaseGeometry:
        """Open form with living outline, in front of everything so far."""
        return self.body(pts, heavy, light, sun_deg, smooth, silhouette)

    def fill(self, pts: Any, inside: BaseGeometry | None = None, role: str = "black", smooth: bool = True) -> None:
        self.put(role, shape(pts, smooth=smooth), inside)

    def shade(self, edge: Any, depth: Any, lean: Any = 0.0, side: int = 1, gap: float = 0.8, width: float = 1.35,
              bend: float = 0.09, inside: BaseGeometry | None = None, dots: int = 2, smooth: bool = True,
              toward: Any = None, role: str = "black") -> None:
        """Black that starts solid at an edge and is flicked out to skin.

        depth: mm, or stops (t, mm) along the edge. Flicks stand on the edge's normal (to the
        left of its travel for side 1), leaned by `lean` degrees (number or stops), or run
        towards a point. The last of each long flick breaks into dots.
        """
        path = spline(edge, step_mm=0.5) if smooth else np.asarray(edge, float)
        path = resample(path, gap)
        t = np.linspace(0, 1, len(path))
        deep = np.full(len(path), float(depth)) if np.isscalar(depth) else profile(depth)(t)
        tilt = np.full(len(path), float(lean)) if np.isscalar(lean) else profile(lean)(t)
        n = normals(path) * side
        bits: list[BaseGeometry] = []
        pale: list[BaseGeometry] = []
        for i, p in enumerate(path):
            if deep[i] < 0.4:
                continue
            a = np.radians(tilt[i])
            v = n[i]
            if toward is not None:
                v = np.asarray(toward, float) - p
                v = v / max(float(np.hypot(*v)), 1e-6)
            v = np.array([np.cos(a) * v[0] - np.sin(a) * v[1], np.sin(a) * v[0] + np.cos(a) * v[1]])
            reach = deep[i] * RHYTHM[i % 6] * (1 + 0.22 * np.sin(i * 0.71)) * float(self.rng.uniform(0.88, 1.12))
            root = p - v * 0.25
            bits.append(tooth(root, v * (reach + 0.25), width * min(1.0, 0.35 + reach / 4), bend))
            if dots and RHYTHM[i % 6] > 0.8 and reach > 2.2:
                q, step = p + v * reach + np.array([-v[1], v[0]]) * 0.0, 0.7
                for k in range(dots):
                    q = q + v * step
                    pale.append(dot(q, 0.42 - 0.06 * k))
                    step *= 1.35
        if bits:
            self.put(role, shapely.union_all(bits), inside)
        if pale:
            self.put("line", shapely.union_all(pale), inside)

    def feather(self, root: Any, tip: Any, width: float, bend: float = 0.0, point: float = 0.4, tone: float = 0.7,
                start: float = 0.34, heavy: float = 0.8, light: float = 0.4, solid: bool = False, dark_side: int = 1,
                barbs: int = 4, full: float = 0.6, sun_deg: float = 120.0, base: float = 0.5,
                silhouette: bool = True) -> BaseGeometry:
        """A feather from root to tip; `bend` to the left as share of length; `point` 0 blunt, 1 sharp.

        Black fills it up to `start` (the part the rank in front hides and shades) and is flicked
        out to `tone` of the length. solid: black vanes, shaft and one rim left open.
        """
        r, q = np.asarray(root, float), np.asarray(tip, float)
        d = q - r
        length = float(np.hypot(*d))
        nrm = np.array([-d[1], d[0]])
        t = np.sin(np.linspace(0, np.pi / 2, max(16, int(length / 1.1))))
        spine = r + t[:, None] * d + (4 * t * (1 - t))[:, None] * nrm * bend
        rise = base + (1 - base) * np.clip(t / full, 0, 1) ** 0.8
        fall = np.clip((t - full) / (1 - full), 0, 1)
        tipw = (1 - fall ** (2.4 - 0.9 * point)) ** (0.5 + 0.5 * point)
        w = width / 2 * rise * tipw
        n = normals(spine)
        ring = np.vstack([spine + n * w[:, None], (spine - n * w[:, None])[-2::-1]])
        g = shapely.make_valid(Polygon(ring))
        self.erase(g)
        if silhouette:
            self.forms.append(g)
        k = dark_side

        def lane(x: float, a: float, b: float, m: int = 7) -> np.ndarray:
            """Path along the feather at share x of the half width (left is positive)."""
            tt = np.linspace(a, b, m)
            px = np.column_stack([np.interp(tt, t, spine[:, 0]), np.interp(tt, t, spine[:, 1])])
            nx = np.column_stack([np.interp(tt, t, n[:, 0]), np.interp(tt, t, n[:, 1])])
            return px + nx * (np.interp(tt, t, w) * x)[:, None]

        if solid:
            open_rim = stroke(lane(-0.78 * k, 0.2, 0.97, 14), 0.15 * width, swell(0.6, 0.4, 0.3))
            shaft = stroke(lane(0, 0, 0.9, 12), max(0.4, width * 0.075), swell(0.1, 1.0, 0.3))
            cuts = [stroke(spline([lane(-0.9 * k, f + 0.05, f + 0.06, 2)[0], lane(-0.3 * k, f, f + 0.01, 2)[0]]), 0.4,
                swell(0.1, 1, 0))
                    for f in (0.5, 0.64, 0.76)]
            self.put("black", g.difference(shapely.union_all([open_rim, shaft, *cuts])))
        else:
            bits = [Polygon(np.vstack([lane(1, 0, start, 6), lane(-1, 0, start, 6)[::-1]]))]
            m = max(5, int(width / 0.72))
            for i in range(m):
                x = -0.92 + 1.84 * i / (m - 1)
                reach = (tone - start) * RHYTHM[(i * 2 + int(length)) % 6] * (1.0 if x * k > 0 else 0.72)
                path = lane(x, max(0, start - 0.03), min(0.97, start + max(reach, 0.03)))
                bits.append(stroke(path, width / m * 1.35, lambda u: (1 - u) ** 0.8, least_mm=0.08))
            self.put("black", shapely.union_all([shapely.make_valid(z) for z in bits]), g)
            self.line(lane(0, start, 0.93, 10), max(0.34, min(0.5, width * 0.08)), 0.05, 1.0, 0.3, g, smooth=False)
            for i in range(barbs):
                f = tone - 0.12 + (0.97 - tone) * (i + 0.5) / barbs
                for sgn in (1, -1):
                    a = lane(sgn * 1.02, min(0.985, f + 0.07), 1, 2)[0]
                    deep = 0.42 if (i + (sgn > 0)) % 2 else 0.62
                    b = lane(sgn * deep, f - 0.03, 1, 2)[0]
                    c = lane(sgn * (deep + 1) / 2, f + 0.035, 1, 2)[0]
                    self.put("line", stroke(spline([a, c, b]), 0.34, swell(0.1, 1.0, 0.0)), g)
        closed = np.vstack([ring, ring[:2]])
        nn = normals(closed)
        if Polygon(ring).exterior.is_ccw:
            nn = -nn
        sun = np.array([np.cos(np.radians(sun_deg)), np.sin(np.radians(sun_deg))])
        kk = np.convolve(np.pad((1 - nn @ sun) / 2, 4, mode="wrap"), np.ones(9) / 9, "valid")
        wd = light + (heavy - light) * kk
        if point > 0.6:
            tipd = np.hypot(*(closed - spine[-1]).T)
            wd = wd * np.clip(0.3 + tipd / 4, 0.3, 1)
        self.put("line", stroke(closed, wd, least_mm=0.1))
        return g

    def plume(self, root: Any, tip: Any, width: float, bend: float = 0.0, heavy: float = 0.75, dark: int = 1,
              full: float = 0.45, inner: float = 0.6, hidden: float = 0.2) -> BaseGeometry:
        """Pointed plume that grows out of what lies under it: no line across its root."""
        r, q = np.asarray(root, float), np.asarray(tip, float)
        d = q - r
        nrm = np.array([-d[1], d[0]])
        t = np.sin(np.linspace(0, np.pi / 2, 22))
        sp = r + t[:, None] * d + (4 * t * (1 - t))[:, None] * nrm * bend
        w = width / 2 * (0.35 + 0.65 * np.clip(t / full, 0, 1)) * (1 - np.clip((t - full) / (1 - full), 0, 1) ** 1.4)
        n = normals(sp)
        lft, rgt = sp + n * w[:, None], sp - n * w[:, None]
        cut = int(np.searchsorted(t, hidden))
        g = shapely.make_valid(Polygon(np.vstack([lft, rgt[-2::-1]])))
        # the open part begins as a point, so that it seems to come out from under its neighbours
        ease = np.clip((t - hidden) / 0.22, 0, 1)[:, None] ** 0.7
        el, er = sp + (lft - sp) * ease, sp + (rgt - sp) * ease
        self.erase(shapely.make_valid(Polygon(np.vstack([el[cut:], er[cut:][-2::-1]]))).buffer(0))
        self.forms.append(g)
        a, b = (rgt, lft) if dark > 0 else (lft, rgt)
        ea, eb = (er, el) if dark > 0 else (el, er)
        self.line(ea[cut:], heavy * 1.25, 0.6, 0.05, 0.3, smooth=False)
        self.line(eb[cut:], heavy * 0.7, 0.5, 0.05, 0.3, smooth=False)
        mid = sp * 0.55 + a * 0.45
        self.put("black", stroke(mid[max(0, cut - 1): 17], width * 0.3, swell(0.35, 0.1, 0.0), least_mm=0.06), g)
        self.line((sp * 0.6 + b * 0.4)[4:18], 0.34, 0.3, 0.1, 0.0, g, smooth=False)
        return g

    def limb(self, rings: list[Any], heavy: float = 1.0, light: float = 0.55, soft: float = 0.8,
             sun_deg: float = 120.0) -> BaseGeometry:
        """Several ribbons grown together into one form with one outline, joints rounded."""
        u = shapely.union_all([shapely.make_valid(Polygon(np.asarray(r))) for r in rings])
        u = u.buffer(soft).buffer(-2 * soft + 0.05).buffer(soft)
        return self.body(u, heavy, light, sun_deg)

    def save(self, name: str, side: dict[str, Any], close_mm: float = 0.7, hole_mm2: float = 14.0,
             fine_mm: float = 0.025, scale: float = 1.0, speck_mm2: float = 0.12) -> Path:
        """Clean silhouette (slivers closed, small holes dropped), hairlines dropped, then write."""
        u = shapely.union_all([shapely.make_valid(f) for f in self.forms])
        u = u.buffer(close_mm, quad_segs=4).buffer(-close_mm, quad_segs=4)
        polys = [Polygon(p.exterior, [h for h in p.interiors if Polygon(h).area > hole_mm2])
                 for p in getattr(u, "geoms", [u]) if p.area > 1.2]
        self.forms = [shapely.union_all(polys).simplify(0.05)]
        if scale != 1.0:
            for store in (self.forms, *self.ink.values()):
                store[:] = [affinity.scale(g, scale, scale, origin=(0, 0)) for g in store]
        whole = self.forms[0].buffer(0.35)
        for role, parts in self.ink.items():
            kept = []
            merged = shapely.intersection(shapely.union_all([p.buffer(0) for p in parts]),
                whole) if parts else Polygon()
            for g in getattr(merged, "geoms", [merged]):
                if isinstance(g, Polygon) and g.area > 0.035:
                    kept.append(Polygon(g.exterior, [h for h in g.interiors
                        if Polygon(h).area > 0.03]).simplify(fine_mm))
            self.ink[role] = kept
        # specks of skin shut in by ink would close up under the needle: ink them now
        total = shapely.union_all([g for parts in self.ink.values() for g in parts])
        specks = [Polygon(h) for g in getattr(total, "geoms", [total]) for h in getattr(g, "interiors", ())
                  if Polygon(h).area < speck_mm2]
        if specks:
            self.ink["black"].append(shapely.union_all(specks).buffer(0.04))
        return super().save(name, side)
