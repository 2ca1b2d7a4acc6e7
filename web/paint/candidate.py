"""A candidate in its gap as a small picture: the gap, what lies in front, the drawing behind it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, geometry_to_rings
from composer.plan.model import Settings
from web.paint.colour import skin_of
from web.paint.paths import path_data

PICTURE_MM = 0.25
SIZE_PX = 130
LOW, HIGH = 0.7, 1.25
"""Least and greatest height of a picture by its width."""


def candidate_picture(drawing: Drawing, front: BaseGeometry, around: Sequence[np.ndarray], settings: Settings) -> str:
    """SVG in the drawing's flat chart; `front` and the gap's rings `around` are in the same mm."""
    xy = np.concatenate(around if around else drawing.silhouette)
    (x0, y0), (x1, y1) = xy.min(axis=0), xy.max(axis=0)
    wide, high = (x1 - x0) * 1.06 + 6, (y1 - y0) * 1.06 + 6
    wide, high = max(wide, high / HIGH), max(high, wide * LOW)
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    tolerance = min(PICTURE_MM, wide / SIZE_PX / 3)
    near = shapely.intersection(front, shapely.box(cx - wide, cy - high, cx + wide, cy + high))
    ink = "".join(f'<path class="{la.role}" d="{path_data(la.rings, tolerance)}"/>' for la in drawing.layers)
    view = f"{(cx - wide / 2) * 100:.0f} {-(cy + high / 2) * 100:.0f} {wide * 100:.0f} {high * 100:.0f}"
    return (f'<svg class="art" viewBox="{view}" aria-hidden="true" style="--skin:{skin_of(settings)}">'
            f'<path class="around" d="{path_data(around, 0.3)}"/><g class="ink">{ink}</g>'
            f'<path class="before" stroke-width="{settings.skin_break_mm * 200:.0f}" '
            f'd="{path_data(geometry_to_rings(near), 0.3)}"/></svg>')
