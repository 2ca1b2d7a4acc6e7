"""Paper on skin: the flat chart in which a piece lies rigid.

A patch is the development of the cone that fits the limb's girth best (least squares) over the
stretch that the piece covers: C(s) ~ c1 + b (s - s0). Exact on cylinders and cones. The closed
forms are those of ../shared/DESIGN.md, section 3 (developed for this project; sheet-metal
handbooks give the same sector for a frustum).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np

if TYPE_CHECKING:
    from composer.body.panel import Panel
    from composer.body.surface import Surface



@dataclass(frozen=True)
class Patch:
    """Flat chart at the anchor (u0 turns, s0 mm); girth c1 mm there, changing by b mm per mm."""

    u0: float
    s0_mm: float
    c1_mm: float
    b: float

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Flat points (n, 2) in mm (x right, y up) to skin (n, 2) of (u, s); u is unwrapped."""
        xy = np.asarray(xy, float)
        x, y = xy[:, 0], xy[:, 1]
        q = self.c1_mm + self.b * y
        h = np.hypot(self.b * x, q)
        s = self.s0_mm + (self.b * (x * x + y * y) + 2 * self.c1_mm * y) / (h + self.c1_mm)
        du = np.arctan2(self.b * x, q) / self.b if self.b else x / self.c1_mm
        return np.column_stack([self.u0 + du, s])

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin points (n, 2) of (u, s) to flat mm; u must be unwrapped near u0 (see `near`)."""
        us = np.asarray(us, float)
        d, ds = us[:, 0] - self.u0, us[:, 1] - self.s0_mm
        turn = self.b * d
        c = self.c1_mm + self.b * ds
        x = c * d * np.sinc(turn / np.pi)
        y = ds * np.cos(turn) - self.c1_mm * self.b * d * d * np.sinc(turn / 2 / np.pi) ** 2 / 2
        return np.column_stack([x, y])

    def near(self, us: np.ndarray) -> np.ndarray:
        """The same skin points with u moved by whole turns so that the first lies within half a
        turn of the anchor; an outline stays in one piece."""
        us = np.array(us, float)
        if len(us):
            us[:, 0] -= np.round(us[0, 0] - self.u0)
        return us

    def turn_at(self, u: float) -> float:
        """How far "up the limb" at u is turned in this chart, degrees counter-clockwise."""
        return float(-np.degrees(self.b * (u - self.u0)))

    def strain(self, limb: Surface, s_mm: np.ndarray) -> np.ndarray:
        """Stretch round the limb that paper would need at s: C(s) / cone girth - 1 (signed)."""
        return limb.girth(s_mm) / (self.c1_mm + self.b * (np.asarray(s_mm, float) - self.s0_mm)) - 1


def lay_patch(limb: Surface, u0: float, s0_mm: float, below_mm: float, above_mm: float,
              across_mm: float = 0.0) -> Patch:
    """Patch at the anchor fitted over s0 - below .. s0 + above (mm), kept within the limb.

    A surface that is no limb lays its own, over all that lies within `below`, `above` and `across_mm`
    (to either side) of the anchor.

    Raises ValueError when the anchor is not a finite place.
    """
    if not np.isfinite([u0, s0_mm, below_mm, above_mm]).all():
        raise ValueError("A piece must have a finite place on the limb.")
    if not limb.closed:
        return cast("Panel", limb).lay_patch(u0, s0_mm, max(below_mm, above_mm, across_mm or 40.0))
    lo, hi = np.clip([s0_mm - max(below_mm, 4.0), s0_mm + max(above_mm, 4.0)], limb.s_min, limb.s_max)
    if hi - lo < 8.0:
        lo, hi = max(limb.s_min, min(lo, limb.s_max - 8)), min(limb.s_max, max(hi, limb.s_min + 8))
    s = np.linspace(lo, hi, 33)
    b, a = np.polyfit(s - s0_mm, limb.girth(s), 1)
    here = float(limb.girth(s0_mm))
    if a < 0.2 * here:   # an anchor so far off the limb that the fit says nothing there
        a, b = here, 0.0
    if abs(b) < 1e-9:
        b = 0.0
    return Patch(float(u0), float(s0_mm), float(a), float(b))
