"""The trunk's skin from armpit to shoulder line, and down to below the chest, as a smooth surface.

Own coordinates: `p` mm round the trunk at the level of the armpits (0 on the midline, growing to
the right as the skin is seen from outside), `v` mm up from that level. In space the part looks
towards -y, +x to the right of somebody who looks at it, z up, the origin in the trunk's middle
at the level of the armpits.

A section at the armpits is given by its radius of curvature over the turning angle t,
r (1 + e2 cos 2t + e4 cos 4t): a rounded box that is as long round as the tape said. Above, it is
drawn in depth to nothing along a quarter turn that ends on the shoulder line, and spread in
breadth to the shoulders; below, it tapers with the girths. How square the trunk is, how steep
the shoulders fall and where a chest is fullest comes from memory; the rest is taped.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from scipy.interpolate import CubicSpline

BROAD, SQUARE = 0.22, 0.35
"""e2 and e4 of the section, from memory: broader than deep by 1.15 to 1.2 (ANSUR II chest breadth :
depth, median 1.14 men, 1.09 women), flat in front, rounded at the corners."""

SLOPE = np.tan(np.radians(21.0))
"""Fall of the shoulder line from neck to acromion, about 20 degrees (from memory)."""

PLATE, PLATE_FROM = 0.31, 0.8
"""Higher up the chest is a plate bowed with this radius (share of the chest girth), wholly so from
this share of the way to the shoulder line (from memory)."""

BUST_APART, BUST_BELOW, BUST_WIDE = 0.105, 42.0, 0.055
"""Fullest points: from the midline and how wide (share of the chest girth), and how far below the
armpits (mm; ANSUR II axilla height less chest height, median 38 men, 67 women). The shares are from memory."""


@cache
def _turning() -> CubicSpline:
    """The turning angle t of the section over the way round it, in radii (girth / 2 pi)."""
    t = np.linspace(-1.4 * np.pi, 1.4 * np.pi, 561)
    return CubicSpline(t + BROAD * np.sin(2 * t) / 2 + SQUARE * np.sin(4 * t) / 4, t)


@cache
def _side() -> CubicSpline:
    """Depth (1 at the armpits, 0 on the shoulder line) and height (0 to 1), (.., 2), over v / over_mm."""
    w = np.linspace(-1.2, 1.6, 1121)
    x = np.clip((w + 0.10) / 1.10, 0.0, None)
    tilt = np.where(x < 1, np.pi / 2 * x * x * (2.2 - 1.2 * x), np.pi / 2 * (1 + 0.8 * (x - 1)))
    step = w[1] - w[0]
    down = np.concatenate([[0.0], np.cumsum((np.sin(tilt[1:]) + np.sin(tilt[:-1])) / 2 * step)])
    up = np.concatenate([[0.0], np.cumsum((np.cos(tilt[1:]) + np.cos(tilt[:-1])) / 2 * step)])
    at0, at1 = (int(np.argmin(np.abs(w - k))) for k in (0.0, 1.0))
    depth = 1 - (down - down[at0]) / (down[at1] - down[at0])
    height = (up - up[at0]) / (up[at1] - up[at0])
    return CubicSpline(w, np.column_stack([depth, height]))


@dataclass(frozen=True)
class Trunk:
    """`girth_mm` at the armpits, `lower_girth_mm` at `lower_mm` below them; `acromion_mm` half the
    breadth at the shoulder points, `rise_mm` their height over the armpits; `fullness_mm` how far
    the fullest part stands out before the breastbone (0 on the back)."""

    girth_mm: float
    lower_girth_mm: float
    lower_mm: float
    acromion_mm: float
    rise_mm: float
    fullness_mm: float = 0.0

    @cached_property
    def half_breadth_mm(self) -> float:
        """Half the breadth of the section at the armpits."""
        return self.girth_mm / (2 * np.pi) * (1 + BROAD / 3 - SQUARE / 15)

    @cached_property
    def half_depth_mm(self) -> float:
        """Half the depth of the section at the armpits."""
        return self.girth_mm / (2 * np.pi) * (1 - BROAD / 3 - SQUARE / 15)

    @cached_property
    def over_mm(self) -> float:
        """v of the shoulder line: about the way from the armpits' level over the chest to the top."""
        return 1.35 * float(np.hypot(self.half_depth_mm, self.rise_mm + 0.35 * SLOPE * self.acromion_mm)) * 0.86

    def section(self, p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """x and depth (towards the viewer) of the section at the armpits, mm."""
        r = self.girth_mm / (2 * np.pi)
        t = _turning()(p / r)
        x = r * (
            np.sin(t)
            + BROAD / 2 * (np.sin(t) + np.sin(3 * t) / 3)
            + SQUARE / 2 * (np.sin(3 * t) / 3 + np.sin(5 * t) / 5)
        )
        y = r * (
            np.cos(t)
            + BROAD / 2 * (np.cos(3 * t) / 3 - np.cos(t))
            + SQUARE / 2 * (np.cos(5 * t) / 5 - np.cos(3 * t) / 3)
        )
        return x, y

    def ridge(self, x: np.ndarray) -> np.ndarray:
        """Height of the shoulder line over the armpits at x, mm; it falls to both sides."""
        soft = 0.30 * self.acromion_mm

        def out(at: np.ndarray | float) -> np.ndarray:
            return np.sqrt(np.square(at) + soft * soft)

        return self.rise_mm + SLOPE * (out(self.acromion_mm) - out(x))

    def embed(self, pv: np.ndarray) -> np.ndarray:
        """Own coordinates (n, 2) to space (n, 3), mm."""
        p, v = np.asarray(pv, float).T
        x0, y0 = self.section(p)
        w = v / self.over_mm
        depth, height = _side()(w).T
        bow = PLATE * self.girth_mm
        up = np.clip(w / PLATE_FROM, 0.0, 1.0)
        plate = up * up * up * (10 - 15 * up + 6 * up * up)
        k = np.maximum(-v, 0.0) / self.lower_mm
        taper = 1 - (1 - self.lower_girth_mm / self.girth_mm) * np.where(k < 1, k * k * (3 - k) / 2, 1 + 1.5 * (k - 1))
        x = (x0 + plate * (bow * np.sin(p / bow) - x0)) * taper
        y = (y0 + plate * (self.half_depth_mm - bow * (1 - np.cos(p / bow)) - y0)) * depth * taper
        return np.column_stack([x, -y - self._swell(p, v), self.ridge(x) * height])

    def _swell(self, p: np.ndarray, v: np.ndarray) -> np.ndarray:
        if not self.fullness_mm:
            return np.zeros(len(p))
        wide, apart = BUST_WIDE * self.girth_mm, BUST_APART * self.girth_mm
        fall = np.exp(-0.5 * ((v + BUST_BELOW) / (1.25 * wide)) ** 2)

        def swell(at: np.ndarray | float) -> np.ndarray:
            return np.exp(-0.5 * ((at - apart) / wide) ** 2) + np.exp(-0.5 * ((at + apart) / wide) ** 2)

        return self.fullness_mm / (swell(apart) - swell(0.0)) * swell(p) * fall

    def metric(self, pv: np.ndarray, step_mm: float = 0.02) -> np.ndarray:
        """First fundamental form (n, 2, 2) in (p, v), by central differences."""
        pv = np.asarray(pv, float)
        d = [
            (self.embed(pv + e) - self.embed(pv - e)) / (2 * step_mm)
            for e in (np.array([step_mm, 0.0]), np.array([0.0, step_mm]))
        ]
        j = np.stack(d, axis=2)
        return np.einsum("nki,nkj->nij", j, j)
