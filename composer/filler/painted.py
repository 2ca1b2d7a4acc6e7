"""Where the artist paints, background is wanted: a stroke of the brush over the skin, as gaps to fill.

A goal {"brush": [[u, s], ...], "width_mm": w} means all skin within w / 2 of the stroke that no piece covers,
kept clear of the pieces by the skin break. The stroke may run behind pieces; what shows on both sides is
filled by one drawing. A stroke longer than a chart can hold is refused, but for one that goes once right round
and says so ("closes": true), for bands of tiles. Redrawn after a piece has moved, it goes by the pieces as they
lie then.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import geometry_to_rings
from composer.body.patch import lay_patch
from composer.filler.clip import margin, silhouettes
from composer.filler.fabric_plan import MOST_MM, MOST_TURN

if TYPE_CHECKING:
    from composer.compose.gaps import Gap, Survey

LEAST_MM, WIDEST_MM = 6.0, 120.0
"""Narrowest and widest brush."""

LEAST_MM2 = 60.0
"""Open skin smaller than this beside a piece is left bare."""

BESIDE_MM = 4.0
SHUT_MM = 6.0
"""A stroke right round may miss its own beginning by so much along the limb."""


def painted_gaps(survey: Survey, goal: dict[str, Any]) -> list[Gap]:
    """The open skin under a stroke, the largest first. Raises ValueError with the sentence to show."""
    from composer.compose.gaps import Gap

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
    mains = [x for x in survey.scene.laid if not x.piece.is_filler]
    shapes = {x.piece.id: shapely.union_all(silhouettes(limb, patch, [x], (u0, u1), (s0, s1), width)) for x in mains}
    front = shapely.union_all([g for g in shapes.values() if not g.is_empty])
    skin = patch.to_skin(np.asarray(band.envelope.exterior.coords))
    open_ = shapely.difference(band, margin(front, survey.skin_break_mm)) if not front.is_empty else band
    if skin[:, 1].min() < limb.s_min or skin[:, 1].max() > limb.s_max:
        open_ = _on_skin(open_, patch, limb.s_min, limb.s_max)
    parts = [g for g in shapely.get_parts(open_) if g.area >= LEAST_MM2]
    parts.sort(key=lambda g: (-round(g.area, 3), g.bounds))
    if not parts:
        raise ValueError("Under this stroke there is no open skin; paint between the pieces, or with a wider brush.")
    out = []
    for number, part in enumerate(parts, 1):
        circle = np.asarray(shapely.maximum_inscribed_circle(part, tolerance=0.5).coords)
        (u, s), = patch.to_skin(circle[:1])
        rings = tuple(patch.to_skin(r) for r in geometry_to_rings(part))
        near = tuple(sorted(i for i, g in shapes.items()
                            if not g.is_empty and shapely.dwithin(g, part, survey.skin_break_mm + BESIDE_MM)))
        x0, y0, x1, y1 = part.bounds
        name = hashlib.sha256(np.round(rings[0] * (1e4, 10)).astype("<i8").tobytes()).hexdigest()[:10]
        out.append(Gap(name, number, rings, float(part.area), 2 * float(np.hypot(*(circle[1] - circle[0]))),
                       (float(u), float(s)), near, float(np.degrees(survey.flow.angle(np.array([[u, s]]))[0]) % 180),
                       float(np.hypot(x1 - x0, y1 - y0))))
    return out


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


def _on_skin(area: BaseGeometry, patch: Any, low: float, high: float) -> BaseGeometry:
    """What of an area lies between two levels."""
    x0, y0, x1, y1 = area.bounds
    reach = patch.to_skin(np.array([(x, y) for x in (x0 - 5, x1 + 5) for y in (y0, 0.0, y1)]))[:, 0]
    u = np.linspace(reach.min(), reach.max(), 48)
    ring = np.vstack([np.column_stack([u, np.full(48, low)]), np.column_stack([u[::-1], np.full(48, high)])])
    return shapely.intersection(area, shapely.make_valid(shapely.Polygon(patch.to_flat(ring))))
