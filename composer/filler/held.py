"""Which gaps have their background already: how much of a gap lies near what is drawn there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from composer.compose.gaps import Gap
from composer.plan.scene import Laid

REACH_MM = 5.0
"""Skin this near to ink reads as filled (DESIGN.md, section 4; the project's own rule)."""

HELD = 0.4
"""A gap counts as tied in from this share on; one bolt of lightning in a wide pocket reaches it."""

ACROSS = 12
"""Points of the grid over a gap's box, each way."""


def share_reached(fillers: Sequence[Laid], gap: Gap) -> float:
    """Share (0..1) of a gap within REACH_MM of the silhouettes of the fillers, on a grid of points."""
    du, ds = np.ptp(gap.rings[0], axis=0) / ACROSS
    at = spots_in(gap, du, ds)
    left, low, high = at, at[:, 1].min() - 2 * REACH_MM, at[:, 1].max() + 2 * REACH_MM
    for laid in fillers:
        if not len(left):
            break
        if laid.box[1] > high or laid.box[3] < low:   # s is mm along the skin: too far in any chart
            continue
        outline = laid.flat.outline
        shapely.prepare(outline)
        x0, y0, x1, y1 = outline.bounds
        for turn in (-1.0, 0.0, 1.0):
            flat = laid.patch.to_flat(left + np.array([turn, 0.0]))
            near = ((flat >= (x0 - REACH_MM, y0 - REACH_MM)) & (flat <= (x1 + REACH_MM, y1 + REACH_MM))).all(axis=1)
            if near.any():
                near[near] = shapely.dwithin(outline, shapely.points(flat[near]), REACH_MM)
                left = left[~near]
    return 1.0 - len(left) / len(at)


def holds(fillers: Sequence[Laid], gap: Gap) -> bool:
    """Whether the fillers together tie in the gap."""
    return share_reached(fillers, gap) >= HELD


def spots_in(gap: Gap, du: float, ds_mm: float) -> np.ndarray:
    """Skin points (n, 2) of (u, s) spread over a gap, `du` turns and `ds_mm` apart; its middle where it is too
    thin for any other."""
    form = Polygon(gap.rings[0], gap.rings[1:])
    (u0, s0), (u1, s1) = gap.rings[0].min(axis=0), gap.rings[0].max(axis=0)
    u, s = np.meshgrid(np.arange(u0 + du / 2, u1, du), np.arange(s0 + ds_mm / 2, s1, ds_mm))
    at = np.column_stack([u.ravel(), s.ravel()])
    inside = at[shapely.contains_xy(form, at[:, 0], at[:, 1])]
    return inside if len(inside) else np.array([gap.centre])
