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
    at = _grid(gap)
    reached = np.zeros(len(at), bool)
    for laid in fillers:
        outline = laid.flat.outline
        shapely.prepare(outline)
        for turn in (-1.0, 0.0, 1.0):
            flat = laid.patch.to_flat(at + np.array([turn, 0.0]))
            reached |= shapely.dwithin(outline, shapely.points(flat), REACH_MM)
    return float(reached.mean())


def holds(fillers: Sequence[Laid], gap: Gap) -> bool:
    """Whether the fillers together tie in the gap."""
    return share_reached(fillers, gap) >= HELD


def _grid(gap: Gap) -> np.ndarray:
    """Skin points (n, 2) of (u, s) spread over the gap; its middle where it is too thin for any other."""
    form = Polygon(gap.rings[0], gap.rings[1:])
    lo, hi = gap.rings[0].min(axis=0), gap.rings[0].max(axis=0)
    step = (np.arange(ACROSS) + 0.5) / ACROSS
    u, s = np.meshgrid(lo[0] + (hi[0] - lo[0]) * step, lo[1] + (hi[1] - lo[1]) * step)
    at = np.column_stack([u.ravel(), s.ravel()])
    inside = at[shapely.contains_xy(form, at[:, 0], at[:, 1])]
    return inside if len(inside) else np.array([gap.centre])
