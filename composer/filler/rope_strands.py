"""Laid rope along a line: strands that wind round it as helices, bulging edges, whipped and frayed ends.

Rope coordinates: x in mm along the line, n in mm to the left of it. A strand's edge is a helix seen from
the side, n = half sin(2 pi x / lay): steep in the middle, running in along the rope's edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from composer.art.brush import normals
from composer.filler.cloud_ink import ribbons
from composer.filler.cloud_lines import Line, Pen
from composer.filler.masses import Mass, filled

STRANDS = 3
WRAPPED = 1.75
"""Half the width of a rope wrapped round itself, in half widths."""
RISE = np.radians(78)
"""So far round the rope (radians from its middle line) a strand's edge is drawn."""


@dataclass(frozen=True)
class Rope:
    """`path` (n, 2) mm, `step_mm` apart; `half_mm` half its width; `hand` +1 or -1: which way it is laid;
    `dark` -1 or +1: which side lies in shade."""

    path: np.ndarray
    step_mm: float
    half_mm: float
    pitch_mm: float
    hand: float
    dark: float

    @property
    def length_mm(self) -> float:
        """Length along the middle."""
        return (len(self.path) - 1) * self.step_mm

    @property
    def strand_mm(self) -> float:
        """From one strand to the next along the rope; as narrow as the pen's pitch allows."""
        p = 1.3 * self.half_mm
        while p * np.sin(np.arctan(2 * np.pi * self.half_mm / (STRANDS * p))) < self.pitch_mm + 0.35:
            p += 0.1
        return float(p)

    @property
    def lean_mm(self) -> float:
        """How far along the rope a strand's edge runs from the middle to the side."""
        return float(STRANDS * self.strand_mm * RISE / (2 * np.pi))

    def at(self, x: np.ndarray, n: np.ndarray) -> np.ndarray:
        """Rope coordinates to the chart, (m, 2) mm."""
        f = np.clip(np.asarray(x, float) / self.step_mm, 0, len(self.path) - 1.001)
        i = f.astype(int)
        t = (f - i)[:, None]
        side = normals(self.path)
        p = self.path[i] * (1 - t) + self.path[i + 1] * t
        return p + (side[i] * (1 - t) + side[i + 1] * t) * np.asarray(n, float)[:, None]

    def edge_of(self, x: float) -> tuple[np.ndarray, np.ndarray]:
        """The edge between two strands whose middle is at x: rope coordinates from the right side to the left."""
        a = np.linspace(-RISE, RISE, 17)
        return x + self.hand * STRANDS * self.strand_mm * a / (2 * np.pi), self.half_mm * np.sin(a) / np.sin(RISE)

    def rim(self, x0: float, x1: float, side: float) -> tuple[np.ndarray, np.ndarray]:
        """One strand's bulge at the side `side` (+1 left), from crevice to crevice."""
        t = np.linspace(0, 1, 9)
        return x0 + (x1 - x0) * t, side * (self.half_mm + 0.13 * self.half_mm * np.sin(np.pi * t) ** 0.8)

    def stretch(self, x0: float, x1: float, pen: Pen, dark: float, least_seen: float = 0.0) -> Mass:
        """The rope between two strands' edges, whole strands, as a mass."""
        p, lean = self.strand_mm, self.hand * self.lean_mm
        count = max(1, round((x1 - x0) / p))
        xs = x0 + p * np.arange(count + 1)
        lines, black, rims = [], [], {}
        for side in (1.0, -1.0):
            rows = [self.rim(a + side * lean, b + side * lean, side) for a, b in pairwise(xs)]
            rims[side] = rows
            heavy = 1.15 if side == self.dark else 0.85
            for x, n in rows:
                w = pen.outline_mm * heavy * np.interp(np.linspace(0, 1, len(x)), [0, 0.5, 1], [0.6, 1.05, 0.6])
                lines.append(Line(self.at(x, n), w, "tucked", "tucked", 0))
        for x in xs:
            a, n = self.edge_of(x)
            w = pen.line_mm * np.interp(np.linspace(0, 1, len(a)), [0, 0.5, 1], [1.3, 0.85, 1.3])
            lines.append(Line(self.at(a, n), w, "tucked", "tucked", 0))
        if dark > 0.05:
            black += [self._wedge(x, rim, dark) for x, rim in
                      zip(xs[:-1] if self.dark > 0 else xs[1:], rims[self.dark], strict=True)]
        left = np.concatenate([np.column_stack(r) for r in rims[1.0]])
        right = np.concatenate([np.column_stack(r) for r in rims[-1.0]])
        start, end = np.column_stack(self.edge_of(xs[0])), np.column_stack(self.edge_of(xs[-1]))
        ring = np.vstack([start, left, end[::-1], right[::-1]])
        body = filled(self.at(ring[:, 0], ring[:, 1]))
        return Mass(body, lines, black, wash=self._wash(xs[0], xs[-1], body), least_seen=least_seen)

    def _wedge(self, x: float, rim: tuple[np.ndarray, np.ndarray], dark: float) -> shapely.Geometry:
        """Black in the crevice between two strands on the shaded side."""
        a, n = self.edge_of(x)
        if self.dark > 0:
            a, n = a[::-1], n[::-1]
            b, m = rim
        else:
            b, m = rim[0][::-1], rim[1][::-1]
        k, j = 4 + round(4 * dark), 2 + round(4 * dark)
        up, along = np.column_stack([a[:k], n[:k]]), np.column_stack([b[: j + 1], m[: j + 1]])
        t = np.linspace(0, 1, 6)[1:-1, None]
        hollow = (1 - t) ** 2 * along[-1] + 2 * t * (1 - t) * (0.72 * up[0] + 0.28 * up[-1]) + t**2 * up[-1]
        ring = np.vstack([along, hollow, up[::-1]])
        return filled(self.at(ring[:, 0], ring[:, 1]))

    def _wash(self, x0: float, x1: float, body: shapely.Geometry) -> list[tuple[str, shapely.Geometry]]:
        """The rope is round: its shaded side in two tones."""
        x = np.arange(x0 - self.lean_mm, x1 + self.lean_mm, 1.0)
        out = []
        for share, role in ((0.1, "light"), (0.52, "mid")):
            n = np.concatenate([np.full(len(x), share), np.full(len(x), 1.3)]) * self.half_mm * self.dark
            area = filled(self.at(np.concatenate([x, x[::-1]]), n))
            out.append((role, shapely.intersection(area, body)))
        return out

    def end(self, x: float, way: float, pen: Pen, rng: np.random.Generator) -> list[Mass]:
        """A whipped end from x on, forwards (`way` +1) or back: a frayed tuft, then the whipping before it."""
        turn = pen.pitch_mm + 0.2
        tip = x + way * 2 * turn
        lines = []
        for k, f in enumerate((-0.95, -0.3, 0.3, 0.95)):
            long = self.half_mm * (2.1 + 0.9 * (k % 2)) * float(rng.uniform(0.9, 1.15))
            t = np.linspace(0, 1, 14)
            n = self.half_mm * f * (0.62 + 1.15 * t**1.5) + 0.16 * self.half_mm * np.sin(4.5 * t + 2 * k) * t
            w = pen.outline_mm * np.interp(t, [0, 0.25, 1], [1.5, 1.1, 0.45])
            lines.append(Line(self.at(tip + way * (long * t - 0.6), n), w, "tucked", "tip", 0))
        tuft = Mass(shapely.union_all(ribbons(lines, pen.least_mm)), lines)
        bars, rings = [], []
        for k in range(2):
            a, b = x + way * turn * k, x + way * turn * (k + 1)
            n = np.linspace(-1, 1, 11)
            bow = 0.28 * self.half_mm * (1 - n**2) * way
            ends = [self.at(e + bow, self.half_mm * n) for e in (a, b)]
            bars += [Line(e, np.full(11, pen.line_mm), "tucked", "tucked", 0) for e in ends]
            rings.append(np.vstack([ends[0], ends[1][::-1]]))
            for side in (1.0, -1.0):
                u = np.linspace(0, 1, 7)
                rim = self.at(a + (b - a) * u, side * self.half_mm * (0.98 + 0.12 * np.sin(np.pi * u)))
                bars.append(Line(rim, np.full(7, pen.outline_mm), "tucked", "tucked", 0))
        body = shapely.union_all([filled(r) for r in rings])
        return [tuft, Mass(body, bars, wash=self._wash(min(x, tip), max(x, tip), body))]

    def wraps(self, x: float, pen: Pen) -> Mass:
        """Four turns of the rope round itself about x, as in a stopper knot: fuller than the rope, slanting."""
        turn = max(pen.pitch_mm + 0.6, 1.2 * self.half_mm)
        lines, rings = [], []
        full = WRAPPED * self.half_mm
        n = np.linspace(-1, 1, 13)
        slant = -self.hand * 0.3 * turn * np.sin(0.5 * np.pi * n)
        for k in range(-2, 2):
            a, b = x + turn * k, x + turn * (k + 1)
            own = full * (1.0 if k in (-1, 0) else 0.86)
            ends = [self.at(e + slant, own * n) for e in (a, b)]
            rings.append(np.vstack([ends[0], ends[1][::-1]]))
            w = pen.line_mm * np.interp(np.abs(n), [0, 1], [0.85, 1.3])
            lines += [Line(e, w, "tucked", "tucked", 0) for e in ends]
            for side, j in ((1.0, -1), (-1.0, 0)):
                u = np.linspace(0, 1, 9)
                rim = self.at(a + slant[j] + (b - a) * u, side * (own + 0.22 * turn * np.sin(np.pi * u) ** 0.8))
                rings.append(rim)
                heavy = 1.2 if side == self.dark else 0.9
                lines.append(Line(rim, np.full(9, pen.outline_mm * heavy), "tucked", "tucked", 0))
        body = shapely.union_all([filled(r) for r in rings])
        wash = []
        for share, role in ((0.1, "light"), (0.52, "mid")):
            xs = np.linspace(x - 3 * turn, x + 3 * turn, 20)
            near, far = np.full(20, share * full * self.dark), np.full(20, 2 * full * self.dark)
            area = filled(np.vstack([self.at(xs, near), self.at(xs[::-1], far)]))
            wash.append((role, shapely.intersection(area, body)))
        return Mass(body, lines, wash=wash)
