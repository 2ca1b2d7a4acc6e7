"""The small things that are scattered: stars, moons, petals, embers, sparks, dots.

Each is drawn about the origin in mm, lying along x, so that it can be turned with the flow.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import normals, spline
from composer.filler.cloud_lines import Line, Pen
from composer.filler.masses import Mass, filled
from composer.filler.points import pointed


@dataclass(frozen=True)
class Bit:
    """One small thing: its `body`, strokes and black areas, and discs that cover it: `spine` (n,) complex
    places, `half` (n,) radii in mm."""

    body: BaseGeometry
    spine: np.ndarray
    half: np.ndarray
    lines: list[Line] = field(default_factory=list)
    black: list[BaseGeometry] = field(default_factory=list)
    wash: list[tuple[str, BaseGeometry]] = field(default_factory=list)

    def laid(self, at: complex, turn: float) -> Mass:
        """The thing turned by `turn` radians and laid at a place, as a mass to be painted."""
        spin = np.exp(1j * turn)

        def go(p: np.ndarray) -> np.ndarray:
            z = (p[:, 0] + 1j * p[:, 1]) * spin + at
            return np.column_stack([z.real, z.imag])

        lines = [replace(line, path=go(line.path)) for line in self.lines]
        return Mass(shapely.transform(self.body, go), lines, [shapely.transform(b, go) for b in self.black],
                    wash=[(role, shapely.transform(g, go)) for role, g in self.wash])


Form = Callable[[float, Pen, np.random.Generator], Bit]
"""Draws a thing of about `r` mm from the middle to its edge."""


GLINT_MM, SHORT_MM = 3.1, 2.5
"""The longest point of the smallest star, and its shortest: shorter ones end blunt."""


def drawn_out(line: Line, pen: Pen) -> list[Line]:
    """The stroke with its tips drawn out as the needle can; one too short for that as it is."""
    return pointed([line], pen) or [line]


def _disc(r: float) -> tuple[np.ndarray, np.ndarray]:
    return np.zeros(1, complex), np.array([r])


def _pointed(tips: np.ndarray, waist: float, bend: float) -> np.ndarray:
    """A star with concave sides: `tips` (n,) complex in turn, valleys `waist` mm from the middle; ring (m, 2)."""
    out = []
    for a, b in zip(tips, np.roll(tips, -1), strict=True):
        mid = np.exp(0.5j * (np.angle(a) + np.angle(b / a) + np.angle(a)))
        t = np.linspace(0, 1, 9)[:-1]
        valley = mid * waist
        for p, q in ((a, valley), (valley, b)):
            knee = (p + q) / 2 * (1 - bend) + (valley * 0.5 + p * 0.25 + q * 0.25) * bend
            out.append((1 - t) ** 2 * p + 2 * t * (1 - t) * knee + t**2 * q)
    z = np.concatenate(out)
    return np.column_stack([z.real, z.imag])


def glint(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A solid star of four long points, the longest along the flow, each tip run out by hand."""
    lengths = max(r, GLINT_MM) * np.array([1.0, 0.7, 0.86, 0.72]) * rng.uniform(0.9, 1.08, 4)
    lengths = np.maximum(lengths, SHORT_MM)
    tips = lengths * 1j ** np.arange(4) * np.exp(1j * rng.uniform(-0.05, 0.05, 4))
    bend = float(np.clip((r - GLINT_MM) / 4.0, 0.0, 1.0))     # straight sides keep a small one its points
    waist = max(0.13 * r, 0.62 * pen.outline_mm, (0.36 - 0.25 * bend) * float(lengths.min()))
    body = filled(_pointed(tips, waist, bend))
    x, far, aside = np.linspace(-1, 1, 11), float(lengths.max()), float(lengths[1::2].max())
    return Bit(body, far * x + 0j, np.maximum(0.15 * far, aside * (1 - np.abs(x)) ** 1.5), [], [body])


def burst(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A star of single strokes about a ball, long and short in turn; they keep the line gap at its foot."""
    n = 8 if r > 7.6 else 6
    foot = n * (pen.pitch_mm + 0.25) / (2 * np.pi)
    lines, discs = [], [Point(0, 0).buffer(min(1.0 + 0.02 * r, foot - pen.pitch_mm + 0.5), quad_segs=6)]
    for k in range(n):
        a = 2 * np.pi * k / n + rng.uniform(-0.05, 0.05)
        long = (1.0 if k % (n // 2) == 0 else 0.78 if k % 2 == 0 else 0.6) * r * rng.uniform(0.94, 1.06)
        t = np.linspace(0, 1, 12)
        z = np.exp(1j * a) * (foot + (max(long, foot + 1.6) - foot) * t)
        w = pen.outline_mm * np.interp(t, [0, 0.4, 1], [0.45, 1.4, 0.4])
        lines.append(Line(np.column_stack([z.real, z.imag]), w, "tip", "tip", 0))
    return Bit(discs[0], *_disc(0.9 * r), lines, discs)


def moon(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A crescent: its two arcs meet in the horns, the outer rim lies in shade."""
    deep, off = 0.86 * r, 0.50 * r * float(rng.uniform(0.92, 1.06))
    x = (r * r - deep * deep + off * off) / (2 * off)
    horn, bite = np.arccos(x / r), np.arccos((x - off) / deep)
    a, b = np.linspace(horn, 2 * np.pi - horn, 60), np.linspace(2 * np.pi - bite, bite, 50)
    outer = r * np.column_stack([np.cos(a), np.sin(a)])
    inner = np.column_stack([off + deep * np.cos(b), deep * np.sin(b)])
    body = filled(np.vstack([outer, inner[1:-1]]))
    lines = [Line(arc, w * pen.outline_mm * np.interp(np.linspace(0, 1, len(arc)), [0, 0.2, 0.5, 0.8, 1],
                                                      [0.45, 0.9, 1.1, 0.9, 0.45]), "tip", "tip", 0)
             for arc, w in ((outer, 1.05), (inner, 0.85))]
    black, wash, turn = [], [], np.linspace(0, 2 * np.pi, 72, endpoint=False)
    for share, role in ((0.12, "black"), (0.26, "mid"), (0.42, "light")):
        lit = Polygon(np.column_stack([share * r + r * np.cos(turn), 0.4 * share * r + r * np.sin(turn)]))
        dark = shapely.difference(body, lit)
        black += [dark] if role == "black" else []
        wash += [(role, dark)] if role != "black" else []
    return Bit(body, *_disc(r), lines, black, wash)


def bead(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A ball of ink, no two of one size."""
    own = max(r * float(rng.choice([0.5, 0.65, 0.85, 1.2])), 0.52 * pen.fine_mm + 0.05)
    body = Point(0, 0).buffer(own, quad_segs=6)
    return Bit(body, *_disc(own), [], [body])


_PETAL = spline([(-1, 0), (-1, 0), (-0.62, 0.20), (-0.1, 0.52), (0.42, 0.68), (0.80, 0.50), (0.86, 0.14), (1.0, -0.12),
                 (0.84, -0.48), (0.38, -0.62), (-0.2, -0.44), (-0.66, -0.17), (-1, 0), (-1, 0)], step_mm=0.07)
"""A petal's rim from the foot round to the foot again, unit size."""


def petal(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A fallen petal: pointed foot, notched rim, one edge black where it rolls under; a wash runs up
    from the foot. Lines in it would close up to a beak of black."""
    flip = 1.0 if rng.uniform() < 0.5 else -1.0
    wide, bend = float(rng.uniform(0.72, 1.0)), float(rng.uniform(0.3, 0.8)) * flip

    def bent(p: np.ndarray) -> np.ndarray:
        z = (p[:, 0] + 1j * flip * wide * p[:, 1]) * np.exp(1j * bend * 0.5 * (p[:, 0] + 0.2)) * r
        return np.column_stack([z.real, z.imag])

    body = filled(bent(_PETAL)[:-1])
    rim = bent(_PETAL)
    t = np.linspace(0, 1, len(rim))
    width = pen.outline_mm * np.interp(t, [0, 0.2, 0.45, 0.75, 1], [0.6, 1.15, 0.8, 1.1, 0.6])
    lines = [Line(rim, width, "tucked", "tucked", 0)]
    k = slice(int(0.08 * len(rim)), int(0.44 * len(rim)))
    edge = _PETAL[k]
    share = np.sin(np.pi * np.linspace(0, 1, len(edge)) ** 1.3) ** 0.9
    black = [shapely.intersection(filled(bent(np.vstack([edge, (edge - np.column_stack([-0.06 * share, 0.19 * share])
                                                                )[::-1]]))), body)]
    wash = []
    for x, role in ((0.15, "light"), (-0.35, "mid")):
        y = np.linspace(-0.9, 0.9, 24)
        front = np.column_stack([x + 0.16 * np.sin(3.1 * y + 0.7) + 0.14 * y, y])
        foot = np.vstack([[(-1.3, -0.9)], front, [(-1.3, 0.9)]])
        wash.append((role, shapely.intersection(body, filled(bent(foot)))))
    at = np.linspace(-0.96, 0.98, 12)
    half = np.interp(at, [-1, -0.6, 0, 0.5, 1], [0.03, 0.2, 0.5, 0.64, 0.3]) * wide * r
    return Bit(body, at * np.exp(1j * bend * 0.5 * (at + 0.2)) * r, half, lines, black, wash)


def curled(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A petal or leaf of a flower seen from its edge: a bent sickle, its inside black, its back open
    where there is room."""
    t = np.linspace(0, 1, 28)
    bend = float(rng.uniform(0.75, 1.15)) * (1 if rng.uniform() < 0.5 else -1)
    z = np.concatenate([[0], np.cumsum(np.exp(1j * bend * (2 * t[:-1] - 1)))]) * 2 * r / 27
    z -= z[13]
    mid = np.column_stack([z.real, z.imag])
    n = normals(mid) * np.sign(bend)
    thick = 0.44 * r * np.sin(np.pi * t**0.8) ** 0.9
    back, inner = mid - n * thick[:, None] * 0.72, mid + n * thick[:, None] * 0.28
    body = filled(np.vstack([back, inner[::-1]]))
    if thick.max() < pen.pitch_mm + 0.9:
        slim = mid + n * thick[:, None] * 0.1
        line = Line(slim, np.maximum(1.15 * thick, 0.35 * pen.outline_mm), "tip", "tip", 0)
        return Bit(body, z, 0.6 * thick + 0.2, [line])
    w = pen.outline_mm * np.interp(t, [0, 0.5, 1], [0.5, 1.05, 0.5])
    dark = filled(np.vstack([inner, (inner - n * thick[:, None] * 0.3)[::-1]]))
    lines = [Line(e, w, "tucked", "tip", 0) for e in (back, inner)]
    return Bit(body, z, 0.72 * thick + 0.3, lines, [dark], [("light", body)])


def ember(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A lick of fire: round head, a tail that hooks twice, its lee side black; a small one is solid."""
    t = np.linspace(0, 1, 36)
    hook = float(rng.uniform(0.8, 1.3)) * (1 if rng.uniform() < 0.5 else -1)
    z = np.concatenate([[0], np.cumsum(np.exp(1j * hook * np.sin(2.1 * np.pi * t[:-1]) * t[:-1] ** 0.7))]) * 2 * r / 35
    z -= z[14]
    mid = np.column_stack([z.real, z.imag])
    n = normals(mid)
    half = 0.27 * r * t**0.8 * (1 - t) ** 1.5 / (0.348**0.8 * 0.652**1.5)
    if half.max() < 1.0 * pen.pitch_mm:
        w = np.maximum(1.25 * half, 0.45 * pen.outline_mm)
        return Bit(shapely.LineString(mid).buffer(0.5, quad_segs=2), z, w / 2 + 0.1,
                   drawn_out(Line(mid, w, "tip", "tip", 0), pen))
    up, low = mid + n * half[:, None], mid - n * half[:, None]
    body = filled(np.vstack([up, low[::-1]]))
    w = pen.outline_mm * np.interp(t, [0, 0.4, 1], [0.9, 1.0, 0.5])
    lines = [Line(e, w, "tucked", "tip", 0) for e in (up, low)]
    s = np.sign(hook)
    rim = mid + n * (s * half)[:, None]
    deep = rim - n * (s * 0.55 * half * np.clip((t - 0.02) / 0.3, 0, 1))[:, None]
    wash = [("light", filled(np.vstack([mid - n * (s * 0.2 * half)[:, None], rim[::-1]])))]
    return Bit(body, z, np.maximum(half, 0.4), lines, [filled(np.vstack([deep, rim[::-1]]))], wash)


def dart(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A spark in one pull of the needle: heavy head, bent, running out to a tip."""
    t = np.linspace(0, 1, 24)
    bend = float(rng.uniform(-0.8, 0.8))
    z = np.concatenate([[0], np.cumsum(np.exp(1j * bend * (t[:-1] - 0.3)))]) * 2 * r / 23
    z -= z[10]
    width = pen.outline_mm * (0.4 + min(0.7 + 0.12 * r, 1.8) * np.clip(t / 0.3, 0, 1) * (1 - t) ** 0.8)
    path = np.column_stack([z.real, z.imag])
    body = shapely.LineString(path).buffer(0.6 * pen.outline_mm, quad_segs=2)
    return Bit(body, z, width / 2, drawn_out(Line(path, width, "tip", "tip", 0), pen))


def lozenge(r: float, pen: Pen, rng: np.random.Generator) -> Bit:
    """A small solid lozenge along the flow."""
    own = r * float(rng.uniform(0.7, 1.3))
    body = filled(_pointed(np.array([own, 0.45j * own, -0.8 * own, -0.45j * own]), 0.4 * own, 0.3))
    return Bit(body, np.linspace(-own, own, 5) + 0j, np.array([0.3, 0.4, 0.5, 0.4, 0.3]) * own, [], [body])
