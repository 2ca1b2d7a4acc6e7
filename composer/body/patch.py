"""Paper on skin: the flat chart in which a piece lies rigid.

A patch is the development of the cone that fits the limb's girth best (least squares) over the
stretch that the piece covers: C(s) ~ c1 + b (s - s0). Exact on cylinders and cones. The closed
forms are those of ../shared/DESIGN.md, section 3 (developed for this project; sheet-metal
handbooks give the same sector for a frustum).

Where the girth is wrong by a share e, an outline of width w lies off by e w / 2, so a piece is fitted where it is wide
(`lay_patch_under`). Half of its greatest width counts at every level, so that its narrow ends aren't strained without
need. Of the cones near that one a large piece takes the one on which it lies truest (`cone_fit`): a square of 200 mm
is 7.3 mm off at the knee so, 8.8 by least squares alone (tests/outside/test_limb_paper.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

import numpy as np

from composer.body.cone_fit import spans, truer

if TYPE_CHECKING:
    from composer.body.limb import Limb
    from composer.body.panel import Panel
    from composer.body.surface import Surface

LEVELS = 32
"""So many levels of a piece are looked at when its paper is fitted."""
LEAST_WIDTH = 0.5
"""What a level counts for at least, as a share of the piece's greatest width."""


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
    return _sound(limb, u0, s0_mm, a, b)


def lay_patch_under(limb: Surface, u0: float, s0_mm: float, rings: Sequence[np.ndarray]) -> Patch:
    """Patch at the anchor for paper with this outline: rings (n, 2), flat mm from the anchor.

    On a limb levels where the outline is wide count for more; what lies past the ends doesn't count. A piece less than
    8 mm high is fitted as `lay_patch` does. Raises ValueError when the anchor is not a finite place.
    """
    xy = np.concatenate(rings)
    low, high = float(xy[:, 1].min()), float(xy[:, 1].max())
    reach = float(np.hypot(*xy.T).max())
    if not limb.closed or not np.isfinite([u0, s0_mm, reach]).all() or high - low < 8.0:
        return lay_patch(limb, u0, s0_mm, -low, high, reach)
    y, weight = level_weights(rings)
    weight = weight * on_limb(limb, s0_mm + y, y[1] - y[0])
    if np.count_nonzero(weight) < 4:
        return lay_patch(limb, u0, s0_mm, -low, high, reach)
    patch = _sound(limb, u0, s0_mm, *fitted_cone(y, limb.girth(s0_mm + y), weight))
    return replace(patch, **dict(zip(("c1_mm", "b"), truer(cast("Limb", limb), patch, rings), strict=True)))


def level_weights(rings: Sequence[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Levels y (LEVELS,) of an outline, mm above its anchor, and what each counts for (LEVELS,) when its paper is
    fitted: the square of the width there, so that the fit is one of mm, and of the least that counts."""
    y, left, right = spans(rings, (np.arange(LEVELS) + 0.5) / LEVELS)
    width = np.maximum(right - left, 0.0)
    return y, width**2 + (LEAST_WIDTH * max(float(width.max()), 1e-9)) ** 2


def on_limb(limb: Surface, s_mm: np.ndarray, step_mm: np.ndarray | float) -> np.ndarray:
    """Share (..., n) of each level that lies between the ends of the limb; levels are `step_mm` high."""
    inside = np.minimum(s_mm - limb.s_min, limb.s_max - s_mm)
    return np.clip(inside / step_mm + 0.5, 0.0, 1.0)


def fitted_cone(y: np.ndarray, girth: np.ndarray, weight: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Girth at y = 0 and its change by y, (...,) each, of the cones that fit best: weighted least squares, over
    the last axis of `y`, `girth` and `weight` (..., n), of the shares of the girth by which they are wrong."""
    weight = weight / girth**2
    weight = weight / weight.sum(axis=-1, keepdims=True)
    y_mid, mid = (weight * y).sum(axis=-1), (weight * girth).sum(axis=-1)
    off = y - y_mid[..., None]
    b = (weight * off * (girth - mid[..., None])).sum(axis=-1) / (weight * off * off).sum(axis=-1)
    return mid - b * y_mid, b


def _sound(limb: Surface, u0: float, s0_mm: float, a: np.ndarray, b: np.ndarray) -> Patch:
    """The patch of a fitted cone; a cylinder where the anchor lies so far off the limb that the fit says nothing."""
    here = float(limb.girth(s0_mm))
    if a < 0.2 * here:
        return Patch(float(u0), float(s0_mm), here, 0.0)
    return Patch(float(u0), float(s0_mm), float(a), float(b) if abs(b) >= 1e-9 else 0.0)
