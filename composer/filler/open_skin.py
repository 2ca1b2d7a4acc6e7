"""What of a stretch of skin no piece covers, as gaps to fill: for what is painted, and for ground that was pulled."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import geometry_to_rings
from composer.body.kept_skin import OpenLimb
from composer.body.panel import Panel
from composer.body.patch import Patch
from composer.compose.rim import band as edge_band
from composer.filler.clip import margin, silhouettes

if TYPE_CHECKING:
    from composer.compose.gaps import Gap, Survey

LEAST_MM2 = 60.0
"""Open skin smaller than this beside a piece is left bare."""
BESIDE_MM = 4.0
"""A piece within so much of the skin break is a neighbour."""


def open_skin(survey: Survey, patch: Patch, area: BaseGeometry, u: tuple[float, float], s: tuple[float, float],
              pad_mm: float) -> list[Gap]:
    """The open skin of an area in the chart `patch`, kept clear of the pieces by the skin break, the largest part
    first; none where all of it is covered. The area lies within `pad_mm` of the stretch `u` (unwrapped turns) by
    `s` (mm)."""
    from composer.compose.gaps import Gap

    limb = survey.scene.limb
    mains = [x for x in survey.scene.laid if not x.piece.is_filler]
    shapes = {x.piece.id: shapely.union_all(silhouettes(limb, patch, [x], u, s, pad_mm)) for x in mains}
    front = shapely.union_all([g for g in shapes.values() if not g.is_empty])
    open_ = shapely.difference(area, margin(front, survey.skin_break_mm)) if not front.is_empty else area
    skin = patch.to_skin(np.asarray(area.envelope.exterior.coords))
    if isinstance(limb, Panel):
        open_ = shapely.difference(open_, shapely.make_valid(shapely.transform(edge_band(limb, 60.0), patch.to_flat)))
    elif isinstance(limb, OpenLimb):
        beyond = limb.beyond(float(skin[:, 0].min()) - 0.02, float(skin[:, 0].max()) + 0.02)
        open_ = shapely.difference(open_, shapely.make_valid(shapely.transform(beyond, patch.to_flat)))
    elif skin[:, 1].min() < limb.s_min or skin[:, 1].max() > limb.s_max:
        open_ = _on_skin(open_, patch, limb.s_min, limb.s_max)
    parts = [g for g in shapely.get_parts(open_) if g.geom_type == "Polygon" and g.area >= LEAST_MM2]
    parts.sort(key=lambda g: (-round(g.area, 3), g.bounds))
    out = []
    for number, part in enumerate(parts, 1):
        circle = np.asarray(shapely.maximum_inscribed_circle(part, tolerance=0.5).coords)
        (cu, cs), = patch.to_skin(circle[:1])
        rings = tuple(patch.to_skin(r) for r in geometry_to_rings(part))
        near = tuple(sorted(i for i, g in shapes.items()
                            if not g.is_empty and shapely.dwithin(g, part, survey.skin_break_mm + BESIDE_MM)))
        x0, y0, x1, y1 = part.bounds
        name = hashlib.sha256(np.round(rings[0] * (1e4, 10)).astype("<i8").tobytes()).hexdigest()[:10]
        flow = float(np.degrees(survey.flow.angle(np.array([[cu, cs]]))[0]) % 180)
        out.append(Gap(name, number, rings, float(part.area), 2 * float(np.hypot(*(circle[1] - circle[0]))),
                       (float(cu), float(cs)), near, flow, float(np.hypot(x1 - x0, y1 - y0))))
    return out


def _on_skin(area: BaseGeometry, patch: Patch, low: float, high: float) -> BaseGeometry:
    """What of an area lies between two levels."""
    x0, y0, x1, y1 = area.bounds
    reach = patch.to_skin(np.array([(x, y) for x in (x0 - 5, x1 + 5) for y in (y0, 0.0, y1)]))[:, 0]
    u = np.linspace(reach.min(), reach.max(), 48)
    ring = np.vstack([np.column_stack([u, np.full(48, low)]), np.column_stack([u[::-1], np.full(48, high)])])
    return shapely.intersection(area, shapely.make_valid(shapely.Polygon(patch.to_flat(ring))))
