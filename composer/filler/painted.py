"""Where the artist paints, background is wanted: a stroke of the brush over the skin, as gaps to fill.

A goal {"brush": [[u, s], ...], "width_mm": w} means all skin within w / 2 of the stroke that no piece covers,
kept clear of the pieces by the skin break. The stroke may run behind pieces; what shows on both sides is
filled by one drawing. A stroke longer than a chart can hold is refused, but for one that goes once right round
and says so ("closes": true), for bands of tiles. Redrawn after a piece has moved, it goes by the pieces as they
lie then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry import LineString, Point

from composer.body.patch import lay_patch
from composer.filler.fabric_plan import MOST_MM, MOST_TURN
from composer.filler.open_skin import open_skin

if TYPE_CHECKING:
    from composer.compose.gaps import Gap, Survey

LEAST_MM, WIDEST_MM = 6.0, 120.0
"""Narrowest and widest brush."""

SHUT_MM = 6.0
"""A stroke right round may miss its own beginning by so much along the limb."""


class NothingUnder(ValueError):
    """Under a stroke there is no open skin."""


def painted_gaps(survey: Survey, goal: dict[str, Any]) -> list[Gap]:
    """The open skin under a stroke, the largest first. Raises ValueError with the sentence to show (NothingUnder where
    there is none)."""
    at, width = _stroke(goal)
    limb = survey.scene.limb
    (u0, s0), (u1, s1) = at.min(axis=0), at.max(axis=0)
    if (limb.closed and u1 - u0 > MOST_TURN and not (goal.get("closes") and right_round(at))) or s1 - s0 > MOST_MM:
        raise ValueError(f"This stroke is too long for one drawing: {MOST_MM:.0f} mm along the limb and "
                         f"{MOST_TURN:.0%} of the way round it at most. Paint it in two.")
    patch = lay_patch(limb, float(u0 + u1) / 2, float(s0 + s1) / 2, float(s1 - s0) / 2 + width / 2,
                      float(s1 - s0) / 2 + width / 2)
    flat = patch.to_flat(at)
    line = LineString(flat) if len(np.unique(flat, axis=0)) > 1 else Point(flat[0])
    band = shapely.buffer(line, width / 2)
    parts = open_skin(survey, patch, band, (u0, u1), (s0, s1), width)
    if not parts:
        raise NothingUnder("Under this stroke there is no open skin; paint between the pieces, or with a wider brush.")
    return parts


def right_round(at: np.ndarray) -> bool:
    """Whether a stroke (n, 2) of (u, s) goes once right round a limb and comes back to where it began."""
    return bool(0.97 <= np.ptp(at[:, 0]) <= 1.03 and abs(at[0, 1] - at[-1, 1]) <= SHUT_MM)


def _stroke(goal: dict[str, Any]) -> tuple[np.ndarray, float]:
    try:
        at = np.asarray(goal["brush"], float)
        width = float(goal.get("width_mm", 24.0))
    except (TypeError, ValueError) as err:
        raise ValueError("The stroke could not be read; paint it again.") from err
    if at.ndim != 2 or at.shape[1:] != (2,) or not len(at) or not np.isfinite(at).all() or not np.isfinite(width):
        raise ValueError("The stroke could not be read; paint it again.")
    if not LEAST_MM <= width <= WIDEST_MM:
        raise ValueError(f"A brush of {width:g} mm cannot be used; {LEAST_MM:g} to {WIDEST_MM:g} mm can.")
    return at, width
