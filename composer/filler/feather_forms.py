"""Feathers inked: an outline that parts in a few places, black that runs out from the shaft along the barbs in
points, black tips, bars, rims. Most of the broad vane stays skin.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.filler.cloud_lines import Line, Pen
from composer.filler.feather_shaft import NARROW, QUILL, Shaft
from composer.filler.masses import Mass, filled
from composer.filler.points import pointed

BARRED_MM = 21.0
"""Shorter feathers have no room for bars."""
CLEFT_MM, CLEFT_FROM = 4.6, 1.4
"""How wide barbs part at the edge of a small solid feather, and how many pitches its broad vane has to be for that."""
TEETH = (1.0, 0.66, 0.86, 0.58)
"""How far neighbouring points of black run out, as shares of the longest (common practice, no published source)."""
DEPTHS = (0.62, 0.42, 0.52)
"""How deep barbs part, as shares of the vane."""


def _outline(area: BaseGeometry, pen: Pen) -> list[Line]:
    """A line round an area, heavier away from the light (upper left)."""
    ring = np.asarray(shapely.segmentize(area.exterior, 1.0).coords)
    d = np.gradient(ring, axis=0)
    lean = (d[:, 0] * 0.8 + d[:, 1] * 0.6) / np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)
    width = pen.line_mm * (1.15 + 0.3 * lean)
    cuts = np.linspace(0, len(ring) - 1, 5).astype(int)     # open stretches: a closed one is no plain polygon
    return [Line(ring[a : b + 1], width[a : b + 1], "tucked", "tucked", 0) for a, b in pairwise(cuts)]


def _shaft_line(shaft: Shaft, pen: Pen, until: float) -> list[Line]:
    x = np.linspace(0, until * shaft.long, 50)
    heavy = pen.outline_mm * float(np.clip(shaft.long / 40, 0.8, 1.3))
    width = heavy * np.interp(x / shaft.long, [0, 0.05, 0.16, 0.5, 1], [0.7, 1.35, 1.7, 1.1, 0.45])
    return pointed([Line(shaft.at(x, np.zeros(50)), width, "tip", "tip", 0)], pen)


def flight(shaft: Shaft, pen: Pen, dark: float, rng: np.random.Generator, barred: bool = False) -> list[Mass]:
    """A flight feather: its broad vane parted where barbs have come apart, black along the shaft, its tip
    black, or (`barred`) black bands; a small one shows its broad vane only."""
    long, wide_side = shaft.long, -shaft.lead
    broad, narrow = (1 - NARROW) * shaft.wide, NARROW * shaft.wide
    barred = barred and long > BARRED_MM
    slim = narrow < 1.3 * pen.pitch_mm
    if slim and not barred:
        return [solid(shaft, pen, rng)]
    vane = shapely.difference(shaft.vane(), shapely.union_all(parted(shaft, pen, rng)))
    body = _round(max(shapely.get_parts(vane), key=lambda g: g.area))
    lines = [*_outline(body, pen), *_shaft_line(shaft, pen, 0.96)]
    black: list[BaseGeometry] = [] if dark <= 0.05 else [
        shapely.union(foot(shaft, pen, 1.0), foot(shaft, pen, -1.0))]
    if barred:
        thick = max(1.6, 0.055 * long)
        for x in np.arange(0.34, 0.95, (thick + max(1.9 * pen.pitch_mm, 0.1 * long)) / long) * long:
            black.append(shapely.intersection(body, shaft.bar(float(x), thick)))
    elif dark > 0.05:
        edge_at = long * (0.93 - 0.22 * dark)
        black.append(shapely.intersection(body, shaft.beyond(edge_at, 2 if broad < 8 else 3, 0.08 * long)))
    start = int(rng.integers(0, len(TEETH)))
    if not slim and not barred and dark > 0.05:
        black.append(flame(shaft, pen, shaft.lead, (0.15, 0.66), 0.5 + 0.5 * dark, start))
    if broad > 2.9 * pen.pitch_mm and not barred and dark > 0.05:
        black.append(flame(shaft, pen, wide_side, (0.15, 0.6), 0.3 + 0.5 * dark, start + 1))
    x = np.linspace(QUILL * long, long, 40)
    wash = []
    for share, role in ((0.5, "light"), (0.22, "mid")):
        edge = shaft.at(x, wide_side * share * shaft.half(x, wide_side))
        near = filled(np.vstack([shaft.at(x, np.zeros(40)), edge[::-1]]))
        wash.append((role, shapely.intersection(body, near)))
    return [Mass(body, lines, [b for b in black if not b.is_empty], wash=wash)]


def solid(shaft: Shaft, pen: Pen, rng: np.random.Generator) -> Mass:
    """A small feather, solid: an outline alone would read as a pod. Barbs part on both sides, its quill is bare."""
    x = np.linspace(QUILL * shaft.long, shaft.long, 60)
    drawn_in = np.sqrt(np.clip((shaft.long - x) / (0.32 * shaft.long), 0, 1))
    sides = [shaft.at(x, sign * shaft.half(x, sign) * drawn_in) for sign in (1.0, -1.0)]
    vane, first = filled(np.vstack([sides[0], sides[1][::-1]])), float(rng.uniform(0.26, 0.34))
    if (1 - NARROW) * shaft.wide > CLEFT_FROM * pen.pitch_mm:
        vane = shapely.difference(vane, shapely.union_all([
            shaft.split(shaft.long * (first + off), side, CLEFT_MM * share, 0.95)
            for off, side, share in ((0.0, -shaft.lead, 1.0), (0.26, shaft.lead, 0.8))]))
    body = max(shapely.get_parts(vane), key=lambda g: g.area)
    return Mass(body, _shaft_line(shaft, pen, 0.7), [body])


def foot(shaft: Shaft, pen: Pen, side: float) -> BaseGeometry:
    """The foot of a vane, black as far as it is too narrow for white between its lines."""
    x = np.linspace(QUILL * shaft.long, 0.6 * shaft.long, 80)
    half = shaft.half(x, side)
    till = int(np.argmax(half > 1.25 * pen.pitch_mm))
    if till < 2:
        return Polygon()
    far = np.linspace(half[till], 0, 8)
    inward = x[till] - shaft.along(0.0, far[:1]) + shaft.along(0.0, far)
    ring_x = np.concatenate([x[: till + 1], np.maximum(inward, x[0]), x[:1]])
    return filled(shaft.at(ring_x, side * np.concatenate([half[: till + 1], far, [0.0]])))


def parted(shaft: Shaft, pen: Pen, rng: np.random.Generator) -> list[BaseGeometry]:
    """Where barbs of the broad vane have come apart: wedges to be cut from it."""
    side, broad = -shaft.lead, (1 - NARROW) * shaft.wide
    many = int(np.clip(0.55 * shaft.long / (4.6 * pen.pitch_mm), 1, 2)) if broad > 2.2 * pen.pitch_mm else 0
    first = int(rng.integers(0, 3))
    out = []
    for k in range(many):
        x0 = shaft.long * (0.26 + 0.4 * (k + float(rng.uniform(0.25, 0.75))) / many)
        mouth = float(np.clip(0.5 * broad, 2.0 * pen.pitch_mm, 2.7 * pen.pitch_mm)) * float(rng.uniform(0.9, 1.1))
        out.append(shaft.split(x0, side, mouth, DEPTHS[(first + k) % 3]))
    return out


def _round(area: BaseGeometry, by_mm: float = 0.7) -> BaseGeometry:
    """The area with its corners rounded, as barbs close up again beside a split."""
    soft = shapely.buffer(shapely.buffer(area, -by_mm, quad_segs=4), by_mm, quad_segs=4)
    return max(shapely.get_parts(soft), key=lambda g: g.area) if not soft.is_empty else area


def flame(shaft: Shaft, pen: Pen, side: float, between: tuple[float, float], wide: float, first: int) -> BaseGeometry:
    """Black beside the shaft whose edge runs out along the barbs in points, `wide` of the vane at the foot and less
    towards the tip; nothing where the vane has no room for it."""
    a, b = (x * shaft.long for x in between)
    step = max(1.55 * pen.pitch_mm, 0.085 * shaft.long)
    many = max(2, int((b - a) / step))
    step = (b - a) / many
    x, q = [np.array([a])], [np.zeros(1)]
    for k in range(many):
        x0 = a + k * step
        edge, share = shaft.reach(x0, side), wide * (1 - 0.75 * k / many) * TEETH[(first + k) % len(TEETH)]
        out = edge * np.linspace(0.42 * share if k else 0.0, share, 7)
        x.append(shaft.along(x0, out))
        q.append(out)
        low = 0.42 * wide * (1 - 0.75 * (k + 1) / many) * TEETH[(first + k + 1) % len(TEETH)] * edge
        low = low if k + 1 < many else 0.0
        u = np.linspace(0, 1, 7)[1:-1]
        till = float(shaft.along(x0 + step, np.array([low]))[0]) if k + 1 < many else b + 0.9 * step
        x.append(x[-1][-1] + (till - x[-1][-1]) * u)
        q.append(low + (out[-1] - low) * (1 - u) ** 1.9)
    ahead = np.concatenate([*x, [b + 0.9 * step]])
    beside = np.concatenate([*q, [0.0]])
    return filled(shaft.at(ahead, side * beside))


def breast(shaft: Shaft, pen: Pen, dark: float, rng: np.random.Generator) -> list[Mass]:
    """A small round feather of the breast: bare quill, a black crescent at its rim, parted on one side, black that
    runs up beside its shaft."""
    long, wide = shaft.long, shaft.wide
    x = np.linspace(0.17, 1.0, 50) * long
    t = (x / long - 0.17) / 0.83
    t = np.clip(t, 0.0, 1.0)
    half = 0.5 * wide * t**0.85 * (1 - t) ** 0.36 / ((0.85 / 1.21) ** 0.85 * (0.36 / 1.21) ** 0.36)
    body = filled(np.vstack([shaft.at(x, half), shaft.at(x, -half)[::-1]]))
    if wide > 4.4 * pen.pitch_mm:
        at, t = float(rng.uniform(0.36, 0.5)) * long, np.linspace(0, 1.4, 10)
        q = 0.5 * wide * (0.5 + 0.5 * t)
        near = shaft.at(at + 1.1 * q, -shaft.lead * q)
        far = shaft.at(at + 1.1 * q + 2.2 * pen.pitch_mm * t, -shaft.lead * q)
        wedge = filled(np.vstack([near, far[::-1]]))
        body = max(shapely.get_parts(shapely.difference(body, wedge)), key=lambda g: g.area)
    body = _round(body, 0.6)
    lines = [*_outline(body, pen), *_shaft_line(shaft, pen, 0.66)]
    black, q = [], np.linspace(-1, 1, 25)
    if dark > 0.05:
        deep = 0.06 + 0.16 * dark
        inner = shaft.at((1.0 - deep) * long - 0.13 * long * q**2 + 0.014 * long * np.sin(25 * q), 0.62 * wide * q)
        tip = shaft.at(np.array([1.2, 1.2]) * long, np.array([1.0, -1.0]) * wide)
        black.append(shapely.intersection(body, filled(np.vstack([inner, tip]))))
    if wide > 3.4 * pen.pitch_mm:
        u = np.linspace(0, 1, 20)
        swell = (0.1 + 0.12 * dark) * wide * np.sin(np.pi * u**0.7) ** 0.8
        core = [shaft.at((0.13 + 0.42 * u) * long, k * side * swell) for side, k in ((1.0, 1.0), (-1.0, 0.7))]
        black.append(filled(np.vstack([core[0], core[1][::-1]])))
    wash = []
    for share, role in ((0.62, "light"), (0.3, "mid")):
        edge = shaft.at(x, -shaft.lead * share * half)
        wash.append((role, shapely.intersection(body, filled(np.vstack([shaft.at(x, 0 * x), edge[::-1]])))))
    return [Mass(body, lines, black, wash=wash)]
