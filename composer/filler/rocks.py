"""Rocks: cracked slabs piled up, lit on top, black on the flank, with whips from the black into the light.

A rock is a rough convex form cut into facets from one ridge; the side away from the light turns black.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from composer.art.drawing import Drawing
from composer.filler.cloud import pen_of
from composer.filler.cloud_lay import Field
from composer.filler.cloud_lines import Line, Pen
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, filled, own_stage, paint, within
from composer.filler.points import pointed
from composer.filler.voids import voids
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of rock: size of the largest as a share of the gap's width, height over width, how rough
    its outline is."""

    title: str
    size: float
    tall: float
    jag: float


STYLES = {
    "crag": Style("Rocks, a crag", 0.86, 1.1, 0.2),
    "slabs": Style("Rocks, flat slabs", 0.8, 0.58, 0.12),
    "boulders": Style("Rocks, boulders", 0.62, 0.84, 0.07),
}


LEAN = 0.35
"""How far (radians) rocks lean with the flow; they stand upright on a hanging limb."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "crag") -> Drawing | None:
    """Rocks over the ground, unclipped. Deterministic in `rng`. None where no rock finds room."""
    look = STYLES[style]
    stage, home = own_stage(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    target = shapely.simplify(home, 0.1)
    if target.is_empty:
        return None
    wide = 2 * max(shapely.maximum_inscribed_circle(p, tolerance=1.0).length for p in shapely.get_parts(ground.free))
    most = max(0.5 * look.size * min(wide, 46.0) * wish.size, 2.4 * pen.pitch_mm)
    flow = Field(ground, ground.free).angle
    angle = float(np.clip(flow, -LEAN, LEAN)) if abs(flow) < 1.2 else 0.0
    apart = (0.2 - 0.6 * wish.density) * most
    spots = voids(target, shapely.Polygon(), 2.0 * pen.pitch_mm, most, apart, count=60)
    if not len(spots):
        return None
    up = np.array([-np.sin(angle), np.cos(angle)])
    spots = spots[np.argsort(-(spots[:, :2] @ up), kind="stable")]
    light = 1.0 if rng.uniform() < 0.5 else -1.0
    masses = [Rock(np.array([x, y]), 1.22 * r * float(rng.uniform(0.9, 1.15)), angle, look, light, rng).mass(pen, hand)
              for x, y, r in spots]
    for m in masses:
        m.lines = pointed(within(m.lines, home, 3.0), pen)
        m.body = shapely.intersection(m.body, stage.room)
        m.black = [b for b in shapely.intersection(m.black, home) if not b.is_empty] if m.black else []
    return paint([m for m in masses if not m.body.is_empty and m.lines], stage, pen, ground.line_gap_mm)


propose = draw


class Rock:
    """One rock about `at`: rough outline, a ridge line from the top to the foot, facets on the shaded
    side of it. `light` +1: lit from the right of the frame that lies at `angle`."""

    def __init__(self, at: np.ndarray, size: float, angle: float, look: Style, light: float,
                 rng: np.random.Generator) -> None:
        self.at, self.size, self.light, self.rng = at, size, light, rng
        self.frame = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        n = 9
        a = np.pi / 2 + np.linspace(0, 2 * np.pi, n, endpoint=False) + rng.uniform(-0.16, 0.16, n)
        a[0] += light * 0.3
        rho = 1 + look.jag * rng.uniform(-1, 1, n)
        rho[0] = 1.12 + look.jag
        p = np.column_stack([np.cos(a) * rho, np.sin(a) * rho * look.tall])
        p[:, 1] = np.where(p[:, 1] < -0.55 * look.tall, -0.62 * look.tall, p[:, 1])
        self.corners = p
        self.peak = p[0]
        foot = np.array([-light * 0.4 + rng.uniform(-0.1, 0.1), -0.62 * look.tall])
        mid = (self.peak + foot) / 2 + (light * rng.uniform(-0.02, 0.12), rng.uniform(-0.08, 0.08))
        self.knee = mid - (light * 0.14, 0.16 * look.tall)
        self.ridge = np.array([self.peak, mid, self.knee, foot])

    def place(self, p: np.ndarray) -> np.ndarray:
        """Unit rock coordinates (n, 2) to the chart, mm."""
        return np.asarray(p, float) * self.size @ self.frame + self.at

    def mass(self, pen: Pen, hand: Hand) -> Mass:
        """Outline, ridge, black flank with whips into the light, a crack."""
        body = filled(self.place(self.corners))
        ring = np.vstack([self.corners, self.corners[:1]])
        lines = [self._stroke(ring[i : i + 2], pen.outline_mm * (0.9 + 0.25 * (i % 2)), pen)
                 for i in range(len(ring) - 1)]
        lines.append(self._stroke(self.ridge, pen.line_mm, pen))
        side = self.corners[1:] if self.light > 0 else self.corners[:0:-1]
        flank = [self.peak, *[c for c in side if c[0] * self.light < 0.1][:6], *self.ridge[:0:-1]]
        dark = filled(self.place(np.array(flank)))
        black = []
        room = self.size > 2.6 * pen.pitch_mm
        if hand.dark > 0.05:
            deep = shapely.intersection(dark, filled(self.place(self._facet(0.36 * (1 - hand.dark)))))
            rim = shapely.buffer(body, -(pen.pitch_mm + 0.35), join_style="mitre")
            black.append(shapely.intersection(deep, rim) if self.size > 4.4 * pen.pitch_mm else deep)
        lines += self._whips(pen) if room else []
        lines += self._cracks(pen) if room else []
        return Mass(body, lines, [b for b in black if not b.is_empty])

    def _facet(self, keep: float) -> np.ndarray:
        """What of the flank turns black: all but a lit edge next to the ridge."""
        s = self.light
        knee, foot = self.knee - (s * keep * 0.9, 0), (self.ridge[3][0] - s * keep * 0.5, -2)
        over = self.ridge[1] + (s * 0.02 - s * keep * 0.4, 0)
        return np.array([(-s * 2, 2), (self.peak[0], 2), self.peak, over, knee, foot, (-s * 2, -2)])

    def _whips(self, pen: Pen) -> list[Line]:
        """Strokes from the ridge into the lit face, down along its slope."""
        out = []
        n = int(self.size * 1.35 / (1.02 * pen.pitch_mm))
        slope = np.array([self.light * 0.5, -0.66])
        way = np.array([np.interp(np.linspace(0, 1, n + 1), np.linspace(0, 1, 4), self.ridge[:, i]) for i in (0, 1)]).T
        for k in range(1, n):
            long = 0.66 * (0.45, 1.0, 0.62, 0.8)[k % 4] * (1 - 0.5 * k / n)
            u = np.linspace(0, 1, 8)[:, None]
            path = self.place(way[k] + slope * long * u + np.array([self.light * 0.06, 0.0]) * u**2)
            out.append(Line(path, pen.outline_mm * 1.35 * np.linspace(1.0, 0.25, 8), "tucked", "tip", 0))
        return out

    def _cracks(self, pen: Pen) -> list[Line]:
        """A jagged crack from the lit outline inwards."""
        s = self.light
        side = self.corners[::-1] if s > 0 else self.corners[1:]
        start = next((c for c in side if c[0] * s > 0.55 and c[1] < 0.4), None)
        if start is None:
            return []
        path = np.array([start, start * (0.74, 0.9) + (0, -0.08), start * (0.62, 0.7) + (0, 0.04),
                         start * (0.45, 0.62)])
        return [self._stroke(path, pen.line_mm, pen, taper=True)]

    def _stroke(self, p: np.ndarray, width: float, pen: Pen, taper: bool = False) -> Line:
        """A broken line with a little tremor, thick in the middle of each leg."""
        legs = []
        for a, b in pairwise(p):
            legs.append(a + (b - a) * np.linspace(0, 1, 4)[:-1, None])
        path = np.vstack([*legs, p[-1:]])
        t = np.linspace(0, 1, len(path))
        w = width * (np.linspace(1.0, 0.3, len(path)) if taper else 0.85 + 0.3 * np.sin(np.pi * t))
        return Line(self.place(path), w, "tucked", "tip" if taper else "tucked", 0)
