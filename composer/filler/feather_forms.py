"""Feathers along a line: a quill, vanes of two widths, barbs that slant forward, splits, black tips, bars, rims.

Feather coordinates: x in mm along the shaft from the foot, q in mm to the left of it. A barb leaves the
shaft forward: x = x0 + SLANT |q|.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length, normals
from composer.filler.cloud_lines import Line, Pen
from composer.filler.masses import Mass, filled

SLANT = 0.95
QUILL = 0.15
"""Share of the length that is bare quill."""
NARROW = 0.36
"""The narrow vane's share of the width."""


@dataclass(frozen=True)
class Shaft:
    """`path` (n, 2) mm, close-set, from the foot to the tip; `wide` mm across at the fullest; `lead` +1 or -1: the
    side of the narrow vane."""

    path: np.ndarray
    wide: float
    lead: float

    @property
    def long(self) -> float:
        """Length, mm."""
        return float(arc_length(self.path)[-1])

    def at(self, x: np.ndarray, q: np.ndarray) -> np.ndarray:
        """Feather coordinates to the chart; beyond the tip straight on."""
        s, n = arc_length(self.path), normals(self.path)
        x, q = np.asarray(x, float), np.asarray(q, float)
        p = np.column_stack([np.interp(x, s, self.path[:, k]) for k in (0, 1)])
        m = np.column_stack([np.interp(x, s, n[:, k]) for k in (0, 1)])
        m /= np.maximum(np.hypot(m[:, 0], m[:, 1]), 1e-9)[:, None]
        over = np.where(x > s[-1], x - s[-1], np.minimum(x, 0.0))
        return p + m * q[:, None] + np.column_stack([m[:, 1], -m[:, 0]]) * over[:, None]

    def half(self, x: np.ndarray, side: float) -> np.ndarray:
        """Width of the vane on a side (+1 left) at x: fullest beyond the middle, round at the tip."""
        t = np.clip((np.asarray(x, float) / self.long - QUILL) / (1 - QUILL), 0, 1)
        if side == self.lead:
            return self.wide * NARROW * np.clip(t / 0.3, 0, 1) ** 0.7 * np.clip((1 - t) / 0.5, 0, 1) ** 0.6
        return self.wide * (1 - NARROW) * np.clip(t / 0.42, 0, 1) ** 0.75 * np.clip((1 - t) / 0.36, 0, 1) ** 0.5

    def cover(self, spread: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
        """Discs that cover it, `spread` times as wide as its vanes: places (n,) complex down the middle of the
        vanes, radii in mm."""
        x = np.linspace(0, self.long, 26)
        left, right = self.half(x, 1.0), self.half(x, -1.0)
        p = self.at(x, (left - right) / 2)
        return p[:, 0] + 1j * p[:, 1], np.maximum(spread * (left + right) / 2, 0.6) + 0.4

    def vane(self) -> BaseGeometry:
        """The outline of both vanes."""
        x = np.linspace(QUILL * self.long, self.long, 60)
        # towards the tip the edge runs ahead of the shaft's end as barbs do, but never beyond it
        left, right = self.at(x, self.half(x, 1.0)), self.at(x, -self.half(x, -1.0))
        return filled(np.vstack([left, right[::-1]]))

    def barb(self, x0: float, side: float, q: np.ndarray) -> np.ndarray:
        """Places along a barb that leaves the shaft at x0, at distances q >= 0 from it."""
        return self.at(x0 + SLANT * q - 0.012 * SLANT * q * q, side * q)

    def split(self, x0: float, side: float, open_mm: float, deep: float) -> BaseGeometry:
        """A wedge out of the vane where barbs have parted; `deep` share of the vane."""
        h = float(self.half(np.array([x0 + 0.5 * self.wide]), side)[0])
        inner, outer = (1 - deep) * h, 1.5 * h + 0.5
        q = np.linspace(inner, outer, 8)
        near, far = self.barb(x0, side, q), self.barb(x0 + open_mm * 1.25, side, np.linspace(inner, outer, 8))
        far[0] = near[0]
        return filled(np.vstack([near, far[::-1]]))

    def beyond(self, x0: float, teeth: int, rough: float) -> BaseGeometry:
        """All of the feather beyond barbs that leave the shaft near x0, its edge toothed."""
        out = []
        for side in (1.0, -1.0):
            q = np.linspace(0, self.wide, 2 * teeth + 1)
            jag = rough * np.where(np.arange(2 * teeth + 1) % 2, 1.0, 0.0)
            out.append(self.at(x0 + 0.6 * SLANT * q - jag, side * q))
        tip = self.at(np.array([self.long + 8.0] * 2), np.array([-1.4, 1.4]) * self.wide)
        return filled(np.vstack([out[0][::-1], out[1][1:], tip]))

    def bar(self, x0: float, thick: float) -> BaseGeometry:
        """A cross band of the feather, parallel to its barbs."""
        out = []
        for x in (x0, x0 + thick):
            sides = [self.at(x + 0.62 * SLANT * q, side * q) for side in (1.0, -1.0)
                     for q in (np.linspace(0, self.wide, 8),)]
            out.append(np.vstack([sides[0][::-1], sides[1][1:]]))
        return filled(np.vstack([out[0], out[1][::-1]]))


def _outline(area: BaseGeometry, pen: Pen, light: float) -> list[Line]:
    """A line round an area, heavier on the side away from the light."""
    out = []
    for part in shapely.get_parts(area):
        ring = np.asarray(shapely.segmentize(part.exterior, 1.0).coords)
        d = np.gradient(ring, axis=0)
        lean = (d[:, 0] * 0.8 + d[:, 1] * 0.6) / np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)
        out.append(Line(ring, pen.outline_mm * (0.92 + 0.22 * light * lean), "tucked", "tucked", 0))
    return out


def _shaft_line(shaft: Shaft, pen: Pen, until: float) -> Line:
    x = np.linspace(0, until * shaft.long, 50)
    width = pen.outline_mm * np.interp(x / shaft.long, [0, 0.04, 0.3, 1], [0.6, 1.5, 1.25, 0.5])
    return Line(shaft.at(x, np.zeros(50)), width, "tip", "tip", 0)


def flight(shaft: Shaft, pen: Pen, dark: float, rng: np.random.Generator, barred: bool = False) -> list[Mass]:
    """A flight feather: vanes split where barbs have parted, its tip black, or (`barred`) black bands; the narrow
    vane of a small one is black altogether."""
    long, wide_side = shaft.long, -shaft.lead
    body = shaft.vane()
    broad = (1 - NARROW) * shaft.wide
    if broad > 2.4 * pen.pitch_mm:
        deep = 1 - (pen.pitch_mm + 1.2) / broad
        cuts = [shaft.split(long * x * float(rng.uniform(0.93, 1.07)), wide_side, pen.pitch_mm + 0.6, d * deep)
                for x, d in (((0.22, 0.7), (0.44, 1.0)) if long > 44 else ((0.34, 0.9),))]
        body = max(shapely.get_parts(shapely.difference(body, shapely.union_all(cuts))), key=lambda g: g.area)
    lines = [*_outline(body, pen), _shaft_line(shaft, pen, 0.96)]
    black: list[BaseGeometry] = []
    if NARROW * shaft.wide < 1.3 * pen.pitch_mm:
        x = np.linspace(QUILL * long, long, 40)
        edge = shaft.at(x, shaft.lead * shaft.half(x, shaft.lead))
        black.append(filled(np.vstack([shaft.at(x, np.zeros(40)), edge[::-1]])))
    if barred:
        thick = max(1.6, 0.07 * long)
        for x in np.arange(0.32, 0.95, (thick + max(pen.pitch_mm + 1.6, 0.1 * long)) / long) * long:
            black.append(shapely.intersection(body, shaft.bar(float(x), thick)))
    elif dark > 0.05:
        edge_at = long * (0.9 - 0.22 * dark)
        black.append(shapely.intersection(body, shaft.beyond(edge_at, 2 if broad < 8 else 3, 0.05 * long)))
    if broad > 2.3 * pen.pitch_mm and not barred:
        lines += _barbs(shaft, pen, body, shapely.union_all(black))
    x = np.linspace(QUILL * long, long, 40)
    wash = []
    for share, role in ((0.5, "light"), (0.22, "mid")):
        edge = shaft.at(x, wide_side * share * shaft.half(x, wide_side))
        near = filled(np.vstack([shaft.at(x, np.zeros(40)), edge[::-1]]))
        wash.append((role, shapely.intersection(body, near)))
    return [Mass(body, lines, [b for b in black if not b.is_empty], wash=wash)]


def _barbs(shaft: Shaft, pen: Pen, body: BaseGeometry, black: BaseGeometry) -> list[Line]:
    """A few barbs in the broad vane, clear of shaft and edge."""
    out = []
    taken = shapely.union(black, shapely.boundary(body))
    step = 2.1 * pen.pitch_mm
    for x in np.arange(0.2, 0.72, step / shaft.long) * shaft.long:
        h = float(shaft.half(np.array([x + 0.3 * shaft.wide]), -shaft.lead)[0])
        path = shaft.barb(float(x), -shaft.lead, np.linspace(min(0.42 * h, pen.pitch_mm + 0.5), 0.95 * h, 12))
        ok = shapely.contains_xy(body, path[:, 0], path[:, 1])
        ok &= shapely.distance(taken, shapely.points(path)) > pen.pitch_mm
        path = path[: int(np.argmin(ok))] if not ok.all() else path
        if len(path) > 3:
            out.append(Line(path, pen.fine_mm * np.linspace(1.7, 1.0, len(path)), "tip", "tip", 0))
    return out


def _outline(area: BaseGeometry, pen: Pen) -> list[Line]:
    """A line round an area, heavier away from the light (upper left)."""
    ring = np.asarray(shapely.segmentize(area.exterior, 1.0).coords)
    d = np.gradient(ring, axis=0)
    lean = (d[:, 0] * 0.8 + d[:, 1] * 0.6) / np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)
    return [Line(ring, pen.line_mm * (1.15 + 0.3 * lean), "tucked", "tucked", 0)]


def _shaft_line(shaft: Shaft, pen: Pen, until: float) -> Line:
    x = np.linspace(0, until * shaft.long, 50)
    width = pen.outline_mm * np.interp(x / shaft.long, [0, 0.04, 0.3, 1], [0.6, 1.5, 1.15, 0.5])
    return Line(shaft.at(x, np.zeros(50)), width, "tip", "tip", 0)


def breast(shaft: Shaft, pen: Pen, dark: float, rng: np.random.Generator) -> list[Mass]:
    """A small round feather of the breast: bare quill, a black crescent at its rim, parted on one side, a stroke or
    two beside its shaft."""
    long, wide = shaft.long, shaft.wide
    x = np.linspace(0.17, 1.0, 50) * long
    t = (x / long - 0.17) / 0.83
    half = 0.5 * wide * np.clip(t / 0.6, 0, 1) ** 0.8 * np.clip((1 - t) / 0.32, 0, 1) ** 0.5
    body = filled(np.vstack([shaft.at(x, half), shaft.at(x, -half)[::-1]]))
    if wide > 4.4 * pen.pitch_mm:
        at = float(rng.uniform(0.36, 0.5))
        reach = 0.5 * wide
        q = np.linspace(pen.pitch_mm + 1.4, 1.3 * reach, 8)
        near = shaft.at(at * long + 1.1 * q, -shaft.lead * q)
        far = shaft.at(at * long + 1.1 * q + np.linspace(0, 1.6 * pen.pitch_mm, 8), -shaft.lead * q)
        body = max(shapely.get_parts(shapely.difference(body, filled(np.vstack([near, far[::-1]])))),
                   key=lambda g: g.area)
    lines = [*_outline(body, pen), _shaft_line(shaft, pen, 0.7)]
    black, q = [], np.linspace(-1, 1, 25)
    if dark > 0.05:
        deep = 0.06 + 0.16 * dark
        inner = shaft.at((1.0 - deep) * long - 0.13 * long * q**2 + 0.014 * long * np.sin(25 * q), 0.62 * wide * q)
        tip = shaft.at(np.array([1.2, 1.2]) * long, np.array([1.0, -1.0]) * wide)
        black.append(shapely.intersection(body, filled(np.vstack([inner, tip]))))
    u = np.linspace(0, 1, 12)
    if wide > 4.6 * pen.pitch_mm:
        off = pen.pitch_mm + 0.7 + 0.14 * wide * u**1.4
        path = shaft.at((0.42 + 0.24 * u) * long, shaft.lead * off)
        lines.append(Line(path, pen.fine_mm * (1.0 + 0.9 * np.sin(np.pi * u) ** 0.7), "tip", "tip", 0))
    wash = []
    for share, role in ((0.62, "light"), (0.3, "mid")):
        edge = shaft.at(x, -shaft.lead * share * half)
        wash.append((role, shapely.intersection(body, filled(np.vstack([shaft.at(x, 0 * x), edge[::-1]])))))
    return [Mass(body, lines, black, wash=wash)]
