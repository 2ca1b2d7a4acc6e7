"""The conformal chart of a limb: angles are true everywhere, and it has no seam.

With girth C(s) the skin has the metric C^2 du^2 + ds^2. Put t = integral of ds / C(s): then it is
C^2 (du^2 + dt^2), so (u, t) is the Mercator chart of the limb. Small circles on skin are circles
here, of radius r / C, whatever the taper; everything repeats with u -> u + 1. Gaps are searched
in this chart and measured elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from composer.body.panel import Panel
from composer.body.surface import Surface

NODES = 2049


@dataclass(frozen=True, eq=False)
class Chart:
    """Tables along the limb: `s` (mm), `c` girth (mm), `t` (turn lengths), `area` below s (mm2 a turn)."""

    s: np.ndarray
    c: np.ndarray
    t: np.ndarray
    area: np.ndarray

    def girth(self, s_mm: np.ndarray | float) -> np.ndarray:
        """Girth in mm; the end girths are kept beyond the ends."""
        return np.interp(s_mm, self.s, self.c)

    def to_chart(self, us: np.ndarray) -> np.ndarray:
        """Skin (n, 2) of (u, s mm) to chart (n, 2) of (u, t); on beyond the ends at the end girths."""
        us = np.asarray(us, float)
        s = us[:, 1]
        t = np.interp(s, self.s, self.t)
        t = t + np.minimum(s - self.s[0], 0) / self.c[0] + np.maximum(s - self.s[-1], 0) / self.c[-1]
        return np.column_stack([us[:, 0], t])

    def to_skin(self, ut: np.ndarray) -> np.ndarray:
        """Inverse of `to_chart`."""
        ut = np.asarray(ut, float)
        t = ut[:, 1]
        s = np.interp(t, self.t, self.s)
        s = s + np.minimum(t - self.t[0], 0) * self.c[0] + np.maximum(t - self.t[-1], 0) * self.c[-1]
        return np.column_stack([ut[:, 0], s])

    def distance(self, a_us: np.ndarray, b_us: np.ndarray) -> np.ndarray:
        """Length on skin in mm between points (n, 2) of (u, s) that are near each other, u unwrapped alike.

        The girth half way is used: against geodesics on a cone the error is under 0.2 mm at 60 mm.
        """
        mid = self.girth((a_us[..., 1] + b_us[..., 1]) / 2)
        return np.hypot(mid * (b_us[..., 0] - a_us[..., 0]), b_us[..., 1] - a_us[..., 1])

    def ring_area(self, ring_us: np.ndarray) -> float:
        """Skin area inside a ring (n, 2) of (u, s), mm2, signed (counter-clockwise positive): the
        line integral of -A(s) du with A the area below s (Green's theorem)."""
        a = np.interp(ring_us[:, 1], self.s, self.area)
        b = np.interp((ring_us[:, 1] + np.roll(ring_us[:, 1], -1)) / 2, self.s, self.area)
        du = np.roll(ring_us[:, 0], -1) - ring_us[:, 0]
        return -float(np.sum((a + 4 * b + np.roll(a, -1)) / 6 * du))


    def scale(self, ut: np.ndarray) -> np.ndarray:
        """What a turn is worth, mm, at chart points (n, 2)."""
        return np.interp(ut[:, 1], self.t, self.c)


@dataclass(frozen=True, eq=False)
class PanelChart(Chart):
    """The chart of chest or back: its own sheet, which is nearly conformal but not true. Girth is the same
    everywhere; what measures asks the panel's metric."""

    panel: Panel

    def distance(self, a_us: np.ndarray, b_us: np.ndarray) -> np.ndarray:
        """Length on skin in mm between points (n, 2) near each other, by the metric half way."""
        d = self.panel.to_mm(b_us) - self.panel.to_mm(a_us)
        m = self.panel.metric((np.asarray(a_us, float) + b_us) / 2)
        return np.sqrt(np.einsum("ni,nij,nj->n", d, m, d))

    def ring_area(self, ring_us: np.ndarray) -> float:
        """Skin area inside a ring (n, 2) of (u, s), mm2, signed."""
        sheet = self.panel.to_mm(ring_us)
        x, y = sheet.T
        signed = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2
        step = float(np.clip(np.sqrt(abs(signed)) / 25.0, 1.0, 10.0))
        return float(np.copysign(self.panel.skin_area_mm2(ring_us, step), signed))

    @cached_property
    def _grown(self) -> RegularGridInterpolator:
        x, y = self.panel.x_mm, self.panel.y_mm
        us = self.panel.from_mm(np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2))
        grown = np.sqrt(np.sqrt(np.linalg.det(self.panel.metric(us)))).reshape(len(x), len(y))
        return RegularGridInterpolator((x, y), grown)

    def scale(self, ut: np.ndarray) -> np.ndarray:
        """What a turn is worth, mm, at chart points (n, 2), on average of all ways."""
        x, y = self.panel.x_mm, self.panel.y_mm
        at = (np.asarray(ut, float) - np.round(ut) * (1.0, 0.0)) * self.panel.turn_mm
        return self.panel.turn_mm * self._grown(np.clip(at, (x[0], y[0]), (x[-1], y[-1])))


@lru_cache(maxsize=64)
def chart_of(limb: Surface) -> Chart:
    """The part's chart (kept for the part)."""
    if isinstance(limb, Panel):
        s = np.array([limb.s_min, limb.s_max])
        return PanelChart(s, np.full(2, limb.turn_mm), s / limb.turn_mm, limb.turn_mm * (s - s[0]), limb)
    s = np.linspace(limb.s_min, limb.s_max, NODES)
    h = s[1] - s[0]
    c = limb.girth(s)
    mid = limb.girth(s[:-1] + h / 2)
    t = np.concatenate([[0.0], np.cumsum(h / 6 * (1 / c[:-1] + 4 / mid + 1 / c[1:]))])
    area = np.concatenate([[0.0], np.cumsum(h / 6 * (c[:-1] + 4 * mid + c[1:]))])
    return Chart(s, c, t, area)
