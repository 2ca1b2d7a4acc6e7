"""The skin of a limb, from taped girths at named levels.

Coordinates on the skin: `u` in turns round the limb by share of girth (0 on the landmark line
at the front, growing to the right as the skin is seen from outside; unwrapped values such as
1.2 or -0.3 are fine) and `s` in mm of tape along the skin from the far end (wrist, ankle) up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import ClassVar

import numpy as np
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator, PPoly

TURN = 2 * np.pi
_GAUSS, _WEIGHT = np.polynomial.legendre.leggauss(5)


@dataclass(frozen=True)
class Level:
    """A taped level: its name, place along the skin (mm), girth (mm), width : depth of the section.

    `landmark` is off for further girths taped between the landmark levels.
    """

    name: str
    s_mm: float
    girth_mm: float
    aspect: float = 1.0
    landmark: bool = True


@dataclass(frozen=True)
class Limb:
    """A limb's skin between its first and last level.

    Girth and aspect are interpolated by PCHIP (monotone between levels, so no bulge that was
    not taped). Raises ValueError when levels do not ascend, a girth is not positive, or the
    girth changes so fast that no skin could (|dC/ds| of 2 pi or more).
    """

    levels: tuple[Level, ...]

    closed: ClassVar[bool] = True
    """It closes on itself after one turn; a panel (`composer.body.panel`) does not."""

    def __post_init__(self) -> None:
        s = np.array([lv.s_mm for lv in self.levels])
        c = np.array([lv.girth_mm for lv in self.levels])
        if len(s) < 2 or not np.all(np.isfinite(s)) or np.any(np.diff(s) <= 0):
            raise ValueError("The levels of a limb must follow each other from the far end up, at least two of them.")
        if not np.all(np.isfinite(c)) or np.any(c <= 0):
            raise ValueError("Every girth of a limb must be more than 0 mm.")
        steep = np.abs(self._girth.derivative()(np.linspace(s[0], s[-1], 400))).max()
        if steep >= TURN * 0.98:
            raise ValueError(f"The girth changes by {steep:.1f} mm per mm along the skin, which no limb can; "
                             "look for two lengths or two girths that were swapped.")

    @cached_property
    def _girth(self) -> PchipInterpolator:
        return PchipInterpolator([lv.s_mm for lv in self.levels], [lv.girth_mm for lv in self.levels])

    @cached_property
    def _slope(self) -> PPoly:
        return self._girth.derivative()

    @cached_property
    def _aspect(self) -> PchipInterpolator:
        return PchipInterpolator([lv.s_mm for lv in self.levels], [lv.aspect for lv in self.levels])

    @property
    def s_min(self) -> float:
        """First level, mm (0 for a whole limb)."""
        return self.levels[0].s_mm

    @property
    def s_max(self) -> float:
        """Last level, mm."""
        return self.levels[-1].s_mm

    def girth(self, s_mm: np.ndarray | float) -> np.ndarray:
        """Girth in mm at `s_mm`; beyond the ends the end girth is kept."""
        return self._girth(np.clip(s_mm, self.s_min, self.s_max))

    def slope(self, s_mm: np.ndarray | float) -> np.ndarray:
        """dC/ds (mm per mm) at `s_mm`; 0 beyond the ends."""
        s = np.asarray(s_mm, float)
        inside = np.clip(s, self.s_min, self.s_max)
        return np.where(s == inside, self._slope(inside), 0.0)

    def area_mm2(self, s_from: float | None = None, s_to: float | None = None) -> float:
        """Skin area between two levels, mm2: the integral of C ds (exact for the interpolant)."""
        a = self.s_min if s_from is None else max(s_from, self.s_min)
        b = self.s_max if s_to is None else min(s_to, self.s_max)
        return float(self._girth.integrate(a, b))

    @cached_property
    def _area(self) -> PPoly:
        return self._girth.antiderivative()

    def area_below(self, s_mm: np.ndarray | float) -> np.ndarray:
        """Skin area, mm2, from the first level up to `s_mm`; beyond the ends the end girth is kept."""
        s = np.asarray(s_mm, float)
        inside = np.clip(s, self.s_min, self.s_max)
        return self._area(inside) + (s - inside) * self._girth(inside)

    @cached_property
    def _axis(self) -> CubicHermiteSpline:
        s = np.linspace(self.s_min, self.s_max, 401)
        knots = s[:-1, None] + (_GAUSS + 1) / 2 * np.diff(s)[:, None]
        z = np.concatenate([[0.0], np.cumsum(self._rate(knots) @ (_WEIGHT / 2) * np.diff(s))])
        return CubicHermiteSpline(s, z, self._rate(s))

    def _rate(self, s_mm: np.ndarray) -> np.ndarray:
        return np.sqrt(np.maximum(1 - (self._slope(s_mm) / TURN) ** 2, 1e-6))

    def height(self, s_mm: np.ndarray | float) -> np.ndarray:
        """Height along the straight axis, mm, of skin at `s_mm` (shorter than the tape on a taper)."""
        s = np.asarray(s_mm, float)
        inside = np.clip(s, self.s_min, self.s_max)
        return self._axis(inside) + (s - inside)

    def embed(self, us: np.ndarray) -> np.ndarray:
        """Points (n, 2) of (u, s) to space (n, 3), mm: z up the limb, the front (u = 0) at -y,
        and +x to the right of somebody who looks at the front."""
        us = np.asarray(us, float)
        c, r = self.girth(us[:, 1]), self._aspect(np.clip(us[:, 1], self.s_min, self.s_max))
        theta, unit = _ellipse_angle(us[:, 0], r)
        b = c / unit
        return np.column_stack([b * r * np.sin(theta), -b * np.cos(theta), self.height(us[:, 1])])


@lru_cache(maxsize=1)
def _ellipse_table() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    aspects = np.linspace(0.4, 2.5, 211)
    t = np.linspace(0, TURN, 1441)
    speed = np.sqrt((aspects[:, None] * np.cos(t)) ** 2 + np.sin(t) ** 2)
    step = (speed[:, 1:] + speed[:, :-1]) / 2 * np.diff(t)
    length = np.concatenate([np.zeros((len(aspects), 1)), np.cumsum(step, axis=1)], axis=1)
    u = np.linspace(0, 1, 721)
    angle = np.array([np.interp(u, row / row[-1], t) for row in length])
    return aspects, angle, length[:, -1]


def _ellipse_angle(u: np.ndarray, aspect: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Ellipse parameter at arc-length share u from the front, and the perimeter for half-depth 1."""
    aspects, angle, perimeter = _ellipse_table()
    whole = np.floor(u)
    f = (np.clip(aspect, aspects[0], aspects[-1]) - aspects[0]) / (aspects[1] - aspects[0])
    i = np.minimum(f.astype(int), len(aspects) - 2)
    w = f - i
    x = (u - whole) * (angle.shape[1] - 1)
    j = np.minimum(x.astype(int), angle.shape[1] - 2)
    v = x - j

    def row(k: np.ndarray) -> np.ndarray:
        return angle[k, j] * (1 - v) + angle[k, j + 1] * v

    return row(i) * (1 - w) + row(i + 1) * w + whole * TURN, perimeter[i] * (1 - w) + perimeter[i + 1] * w
