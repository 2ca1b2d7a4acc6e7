"""Further drawing tools: sharp-cornered rings, tubes with lanes, whip shading between two curves, fur, mirror.

All points are mm with y UP; arrays are (n, 2), rings closed implicitly.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from canvas import Canvas
from scipy.interpolate import PchipInterpolator
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length, normals, resample, spline, stroke
from composer.art.drawing import ROLES, geometry_to_rings, rings_to_geometry

WEIGHT = 0.84
"""Share by which this set's outlines are drawn lighter than asked for."""
RHYTHM = (1.0, 0.58, 0.82, 0.46, 0.93, 0.66, 0.78, 0.52)


def loop(points: Any) -> BaseGeometry:
    """Filled form whose first point, and every doubled point, is a sharp corner."""
    pts = [tuple(p) for p in points]
    return shapely.make_valid(Polygon(spline([*pts, pts[0]])[:-1]))


def whole(g: BaseGeometry) -> BaseGeometry:
    """The largest part of a form that crossed itself, slits and pinholes closed."""
    g = shapely.buffer(shapely.buffer(g, 0.25), -0.25)
    big = max(getattr(g, "geoms", [g]), key=lambda q: q.area)
    return Polygon(big.exterior)


def round_loop(points: Any) -> BaseGeometry:
    """Filled form, smooth all round."""
    return shapely.make_valid(Polygon(spline(points, closed=True)))


def xy(x: float, y: float) -> np.ndarray:
    """One point, or one shift, as an array."""
    return np.array([x, y], float)


def at_shares(path: np.ndarray, t: np.ndarray) -> np.ndarray:
    """Points of a polyline at shares t of its length."""
    s = arc_length(path)
    return np.column_stack([np.interp(t * s[-1], s, path[:, 0]), np.interp(t * s[-1], s, path[:, 1])])


def flip(points: Any) -> np.ndarray:
    """Points mirrored over x = 0."""
    return np.asarray(points, float) * (-1, 1)


def moved(points: Any, dx: float, dy: float, turn_deg: float = 0.0, scale: float = 1.0) -> np.ndarray:
    """Points scaled and turned about the origin, then shifted."""
    c, s = np.cos(np.radians(turn_deg)) * scale, np.sin(np.radians(turn_deg)) * scale
    p = np.asarray(points, float)
    return np.column_stack([c * p[:, 0] - s * p[:, 1] + dx, s * p[:, 0] + c * p[:, 1] + dy])


def taper(p: np.ndarray, q: np.ndarray, width: float, bend: float = 0.0, hook: float = 1.0) -> BaseGeometry:
    """One flick of the needle from p (full width) to q (nothing), bent sideways by a share of its length."""
    t = np.linspace(0, 1, 7)[:, None]
    d = q - p
    m = (p + q) / 2 + np.array([-d[1], d[0]]) * bend
    c = (1 - t) ** 2 * p + 2 * t * (1 - t) * m + t**2 * q
    w = width / 2 * (1 - t) ** hook
    n = normals(c) * w
    g = Polygon(np.vstack([c + n, (c - n)[-2::-1]]))
    return g if g.is_valid else shapely.make_valid(g)


class Tube:
    """A limb: a centre line with half widths, and lanes that run along it or across it."""

    def __init__(self, points: Any, widths: Sequence[tuple[float, float]], caps: tuple[float, float] = (0.6, 0.6),
                 step_mm: float = 0.5) -> None:
        self.mid = resample(spline(points, step_mm=0.3), step_mm)
        s = arc_length(self.mid)
        self.length = float(s[-1])
        self.t = s / s[-1]
        w = np.asarray(widths, float)
        self.half = PchipInterpolator(w[:, 0], w[:, 1] / 2)(self.t)
        self.n = normals(self.mid)
        self.caps = caps

    def lane(self, v: float | np.ndarray | Callable[[np.ndarray], np.ndarray], t0: float = 0.0,
             t1: float = 1.0) -> np.ndarray:
        """Curve along the limb at lateral share v (-1 right edge, +1 left edge)."""
        t = np.linspace(t0, t1, max(8, int(self.length * abs(t1 - t0) / 0.6)))
        vv = v(t) if callable(v) else np.broadcast_to(np.asarray(v, float), t.shape)
        return self.at(t, vv)

    def at(self, t: Any, v: Any) -> np.ndarray:
        t, v = np.broadcast_arrays(np.atleast_1d(np.asarray(t, float)), np.atleast_1d(np.asarray(v, float)))
        out = []
        for a in (self.mid, self.n):
            out.append(np.column_stack([np.interp(t, self.t, a[:, 0]), np.interp(t, self.t, a[:, 1])]))
        return out[0] + out[1] * (np.interp(t, self.t, self.half) * v)[:, None]

    def across(self, t: float, v0: float = -1.0, v1: float = 1.0, bow_mm: float = 0.0) -> np.ndarray:
        """Curve across the limb at share t, bowed along it as a hoop round a cylinder is."""
        v = np.linspace(v0, v1, 13)
        return self.at(np.clip(t + bow_mm / self.length * np.sqrt(np.clip(1 - v**2, 0, 1)), 0, 1), v)

    def piece(self, t0: float, t1: float, caps: tuple[float, float] = (0.0, 0.0)) -> BaseGeometry:
        """The form between two shares, with rounded ends (depth as a share of the half width)."""
        a, b = self.lane(1, t0, t1), self.lane(-1, t0, t1)[::-1]
        ring = [a]
        for end, e, depth in ((t1, 1, caps[1]), (t0, -1, caps[0])):
            c, q = self.at(end, 0)[0], self.at(end, 1)[0]
            along = np.array([(q - c)[1], -(q - c)[0]]) * e
            k = np.linspace(0, np.pi, 11)[1:-1]
            arc = c + np.cos(k)[:, None] * (q - c) * e + np.sin(k)[:, None] * along * depth
            if e == 1:
                ring += [arc, b] if depth > 0 else [b]
            elif depth > 0:
                ring.append(arc)
        return shapely.make_valid(Polygon(np.vstack(ring)))

    def form(self) -> BaseGeometry:
        return self.piece(0, 1, self.caps)


class Fan:
    """A wing, petal or leaf: rays from a base curve to a margin curve, each bowed sideways.

    `a` runs 0..1 along base and margin, `f` 0..1 from base to margin; `bow` is the sideways bow as a
    share of the ray's length, a number or a function of a.
    """

    def __init__(self, base: Any, margin: Any, bow: float | Callable[[np.ndarray], np.ndarray] = 0.0) -> None:
        self.base = spline(base, step_mm=0.2)
        self.margin = spline(margin, step_mm=0.2)
        self.bow = bow

    def at(self, a: Any, f: Any) -> np.ndarray:
        a, f = np.broadcast_arrays(np.atleast_1d(np.asarray(a, float)), np.atleast_1d(np.asarray(f, float)))
        p, q = at_shares(self.base, a), at_shares(self.margin, a)
        d = q - p
        bow = self.bow(a) if callable(self.bow) else np.broadcast_to(float(self.bow), a.shape)
        return p + d * f[:, None] + np.column_stack([-d[:, 1], d[:, 0]]) * (bow * 4 * f * (1 - f))[:, None]

    def ray(self, a: float, f0: float = 0.0, f1: float = 1.0, n: int = 24) -> np.ndarray:
        return self.at(np.full(n, a), np.linspace(f0, f1, n))

    def arc(self, f: float | Callable[[np.ndarray], np.ndarray], a0: float = 0.0, a1: float = 1.0,
            n: int = 160) -> np.ndarray:
        a = np.linspace(a0, a1, n)
        return self.at(a, f(a) if callable(f) else f)

    def between(self, f0: Any, f1: Any, a0: float = 0.0, a1: float = 1.0, n: int = 160) -> BaseGeometry:
        """Region between two arcs."""
        return shapely.make_valid(Polygon(np.vstack([self.arc(f0, a0, a1, n), self.arc(f1, a0, a1, n)[::-1]])))

    def form(self) -> BaseGeometry:
        return shapely.make_valid(Polygon(np.vstack([self.ray(0.0, 0, 1, 60), self.margin[1:-1],
                                                     self.ray(1.0, 0, 1, 60)[::-1], self.base[::-1][1:-1]])))


class Table(Canvas):
    """The canvas with whip shading between curves, fur, and an exact mirror."""

    def erase(self, form: BaseGeometry) -> None:
        shapely.prepare(form)
        for role, parts in self.ink.items():
            if not parts:
                continue
            arr = np.asarray(parts, object)
            hit = shapely.intersects(arr, form)
            if hit.any():
                arr[hit] = shapely.difference(arr[hit], form)
                self.ink[role] = [g for g in arr if not g.is_empty]

    def form(self, g: Any, heavy: float = 1.2, light: float = 0.6, sun_deg: float = 120.0,
             silhouette: bool = True, fill: str | None = None) -> BaseGeometry:
        """A form in front: open skin (or solid), outline heavy away from the light."""
        g = g if isinstance(g, BaseGeometry) else loop(g)
        self.erase(g)
        if silhouette:
            self.forms.append(g)
        if fill:
            self.put(fill, g)
        if heavy > 0:
            self.contour(g, heavy, light, sun_deg)
        return g

    def contour(self, g: BaseGeometry, heavy: float, light: float, sun_deg: float = 120.0) -> None:
        """Outline of every ring: slow swelling from thin in the light to heavy in the shade."""
        for ring in geometry_to_rings(g):
            closed = resample(np.vstack([ring, ring[:1]]), 0.5)
            if len(closed) < 7:
                continue
            n = normals(np.vstack([closed[-3:-1], closed, closed[1:3]]))[2:-2]
            if Polygon(closed).exterior.is_ccw:
                n = -n
            sun = np.array([np.cos(np.radians(sun_deg)), np.sin(np.radians(sun_deg))])
            k = (1 - n @ sun) / 2
            k = np.convolve(np.pad(k[:-1], 6, mode="wrap"), np.hanning(15)[1:-1] / np.hanning(15).sum(), "valid")
            k = np.append(k, k[0])
            self.put("line", stroke(closed, (light + (heavy - light) * k**1.3) * WEIGHT * _sharpen(closed)))

    def flick(self, p: Any, q: Any, width: float, bend: float = 0.0, inside: BaseGeometry | None = None,
              hook: float = 0.9, role: str = "line") -> None:
        self.put(role, taper(np.asarray(p, float), np.asarray(q, float), width, bend, hook), inside)

    def shade(self, base: Any, tip: Any, inside: BaseGeometry | None = None, black: float = 0.3, gap: float = 0.85,
              bend: float = 0.06, dots: int = 0, ends: float = 0.18, smooth: bool = True, swing: float = 1.0,
              fat: float = 1.3) -> None:
        """Solid black from the base curve, whipped out towards the tip curve.

        `black` is the share of the way that is solid; strokes beyond it keep RHYTHM; `ends` is the
        share of the length over which both die away (0 keeps them full); `dots` peppers the tips.
        """
        b = spline(base) if smooth else np.asarray(base, float)
        e = spline(tip) if smooth else np.asarray(tip, float)
        n = max(4, int(arc_length(b)[-1] / gap))
        t = np.linspace(0, 1, n)
        t[1:-1] += self.rng.uniform(-0.16, 0.16, n - 2) / (n - 1)
        swell_at = float(self.rng.uniform(0, 6))
        pb, pe = at_shares(b, t), at_shares(e, t)
        fade = np.ones(n) if ends <= 0 else np.clip(np.minimum(t, 1 - t) / ends, 0, 1) ** 0.6
        if black > 0:
            k = (black * (0.15 + 0.85 * fade))[:, None]
            solid = Polygon(np.vstack([pb, (pb + (pe - pb) * k)[::-1]]))
            self.put("black", solid if solid.is_valid else shapely.make_valid(solid), inside)
        for i in range(n):
            r = black + (1 - black) * (1 - swing + swing * RHYTHM[i % 8]) * float(self.rng.uniform(0.9, 1.08))
            r *= (0.25 + 0.75 * fade[i]) * (0.92 + 0.16 * float(np.sin(i * 0.43 + swell_at)))
            r = min(r, 1.05)
            p, d = pb[i], pe[i] - pb[i]
            self.flick(p, p + d * r, gap * fat * (0.6 + 0.4 * fade[i]), bend, inside)
            length = float(np.hypot(*d))
            at = r * length
            for j in range(dots if i % 2 == 0 else 0):
                at += 0.75 + 0.35 * j
                side = np.array([-d[1], d[0]]) / max(length, 1e-6) * float(self.rng.uniform(-0.3, 0.3))
                self.dot(p + d * at / max(length, 1e-6) + side, 0.42 - 0.06 * j, inside)

    def lock(self, root: Any, tip: Any, width: float, bend: float = 0.0, heavy: float = 0.75, light: float = 0.45,
             black: float = 0.5, silhouette: bool = True) -> BaseGeometry:
        """One lock of fur: swells from the root, bends, runs out to a hair; dark at the root and along one bank."""
        p, q = np.asarray(root, float), np.asarray(tip, float)
        d = q - p
        side = np.array([-d[1], d[0]])
        body = Tube([p, p + d * 0.35 + side * bend, p + d * 0.72 + side * bend * 0.8, q],
                    [(0, width * 0.75), (0.35, width), (0.75, width * 0.55), (1, 0.05)], (0.3, 0.0), 0.3)
        g = self.form(body.form(), heavy, light, silhouette=silhouette)
        for v, r in ((-0.6, 0.72), (-0.1, 0.95), (0.4, 0.62)):
            a, e = body.at(0.0, v)[0], body.at(min(0.9, black * r), v * 0.6)[0]
            self.flick(a, e, width * 0.34, bend * 0.5, g)
        return g

    def dot(self, p: Any, size: float, inside: BaseGeometry | None = None) -> None:
        """One peppered dot, six-sided."""
        a = np.arange(6) * np.pi / 3 + float(self.rng.uniform(0, 1))
        r = size / 2 * float(self.rng.uniform(0.85, 1.2))
        g = Polygon(np.asarray(p, float) + r * np.column_stack([np.cos(a), np.sin(a)]))
        if inside is None or inside.contains(g):
            self.ink["line"].append(g)

    def stipple(self, region: BaseGeometry, density: Callable[[float, float], float], size: float = 0.4,
                tries: int = 600) -> None:
        """Graded dots: closer where density is high, never clumped."""
        x0, y0, x1, y1 = region.bounds
        kept = np.empty((0, 2))
        shapely.prepare(region)
        for p in self.rng.uniform((x0, y0), (x1, y1), (tries, 2)):
            k = float(density(*p))
            if k <= 0.02 or not shapely.contains_xy(region, *p):
                continue
            room = size * (1.7 + 3.0 * (1 - min(k, 1.0)))
            if len(kept) == 0 or np.hypot(*(kept - p).T).min() > room:
                kept = np.vstack([kept, p])
        for p in kept:
            self.dot(p, size)

    def mirror(self) -> None:
        """Keep what lies at x >= 0 and give it its mirror image, exactly."""
        half = shapely.box(0, -500, 500, 500)
        for role in ROLES:
            if self.ink[role]:
                g = shapely.intersection(shapely.union_all([p.buffer(0) for p in self.ink[role]]), half)
                g = shapely.set_precision(_solid(g.simplify(0.035)), 0.01)
                self.ink[role] = [shapely.union(_solid(g), affinity.scale(_solid(g), -1, 1, origin=(0, 0)))]
        f = shapely.union_all([shapely.intersection(f, half) for f in self.forms])
        self.forms = [f, affinity.scale(f, -1, 1, origin=(0, 0))]

    def save(self, name: str, side: dict[str, Any]) -> Path:
        """As Canvas.save, with the silhouette closed over slits and pinholes first."""
        f = shapely.union_all([g.buffer(0.02) for g in self.forms])
        closed = shapely.buffer(shapely.buffer(f, 1.0), -1.0).union(f)
        holes = [Polygon(i) for g in getattr(closed.buffer(0.35), "geoms", [closed.buffer(0.35)])
                 for i in g.interiors if Polygon(i).area < 8.0]
        self.forms = [shapely.union_all([closed, *[h.buffer(0.4) for h in holes]]).buffer(0.15)]
        for role in ROLES:
            if self.ink[role]:
                g = shapely.union_all([p.buffer(0) for p in self.ink[role]])
                parts = [p for p in getattr(g.simplify(0.025), "geoms", [g.simplify(0.025)]) if p.area > 0.04]
                self.ink[role] = [shapely.union_all([_plug(p) for p in parts])]
        path = super().save(name, side)
        if side.get("symmetric"):
            _make_exact(path)
        return path


def _sharpen(ring: np.ndarray, reach: int = 4) -> np.ndarray:
    """Width factor that thins the line into sharp outward tips so that they stay pointed."""
    p = ring[:-1]
    a, b = p - np.roll(p, 2, axis=0), np.roll(p, -2, axis=0) - p
    turn = np.degrees(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)))
    out = turn if Polygon(p).exterior.is_ccw else -turn
    f = np.ones(len(p))
    for i in np.flatnonzero(out > 75):
        for j in range(-reach, reach + 1):
            m = (i + j) % len(p)
            f[m] = min(f[m], 0.16 + 0.84 * abs(j) / reach)
    return np.append(f, f[0])


def _make_exact(path: Path) -> None:
    """Rewrite a symmetric drawing so that its left half is the mirror of its right half to the last digit."""
    text = path.read_text(encoding="utf-8")
    found = re.search(r'viewBox="0 0 (\S+) (\S+)"', text)
    if found is None:
        raise ValueError(f"{path} has no viewBox; save the drawing first.")
    c = round(float(found[1]) / 2, 2)
    text = text.replace(found[0], f'viewBox="0 0 {2 * c:.2f} {found[2]}"')
    text = re.sub(r'<svg (.*?)width="\S+mm"', rf'<svg \1width="{2 * c:.2f}mm"', text)
    right = shapely.box(c, -10, 3 * c, 1000)

    def both(match: re.Match[str]) -> str:
        rings = [np.array([[float(v) for v in q.split()] for q in r.rstrip("Z").split("L")])
                 for r in match[1].split("M")[1:]]
        half = _solid(shapely.set_precision(rings_to_geometry(rings).intersection(right), 0.01))
        left = shapely.transform(half, lambda p: np.round(np.column_stack([2 * c - p[:, 0], p[:, 1]]), 2))
        g = _solid(shapely.union(half, left, grid_size=0.01))
        d = ["M" + "L".join(f"{a:g} {b:g}" for a, b in np.round(r, 2)) + "Z" for r in geometry_to_rings(g)]
        return f' d="{"".join(d)}"'

    path.write_text(re.sub(r' d="(.*?)"', both, text), encoding="utf-8")


def _plug(p: BaseGeometry, least: float = 0.05) -> BaseGeometry:
    """The polygon without pinholes that no needle could leave open."""
    if not isinstance(p, Polygon):
        return p
    return Polygon(p.exterior, [i for i in p.interiors if Polygon(i).area > least])


def _solid(g: BaseGeometry) -> BaseGeometry:
    parts = [p for p in getattr(g, "geoms", [g]) if isinstance(p, Polygon) and p.area > 0.005]
    return shapely.union_all(parts)
