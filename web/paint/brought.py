"""A drawing made of a picture, as it will look on skin or as a stencil with its tone marks."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, geometry_to_rings
from composer.art.pixels import polygons
from composer.art.tone_marks import tone_marks
from composer.compose.holds import Holds
from web.paint.paths import line_data, path_data, ring_data
from web.paint.piece import own_picture

NAMES = {"closing": "will close up", "tight": "may close up", "thin": "finer than the needle", "dots": "will blur away"}


def on_skin(drawing: Drawing, found: Holds | None, label: str) -> str:
    """SVG of the drawing; what skin can't hold is outlined."""
    size = float(np.ptp(np.concatenate(drawing.silhouette), axis=0).max())
    svg = own_picture(drawing, 900, max(size / 3000, 0.02), margin_mm=size * 0.04, label=label)
    if found is None:
        return svg
    areas = {name: getattr(found, name).buffer(0.15) for name in ("tight", "thin", "dots", "closing")}
    marks = "".join(f'<path class="hold {name}" d="{path_data(geometry_to_rings(area))}"/>'
                    for name, area in areas.items() if not area.is_empty)
    return svg.replace("</svg>", f'<g class="holds">{marks}</g></svg>')


def as_stencil(drawing: Drawing, label: str) -> str:
    """SVG of the drawing as it goes on a stencil: lines, blacks by outline, shade borders dotted, highlights marked."""
    x0, y0, x1, y1 = drawing.outline.bounds
    pad = max(x1 - x0, y1 - y0) * 0.04
    marks = tone_marks(drawing)
    lines = [r for la in drawing.layers if la.role == "line" for r in la.rings]
    dots = "".join(f'<path class="dot {step}" d="{"".join(f"M{x:.2f} {-y:.2f}h0" for x, y in at)}"/>'
                   for step, at in marks.dots.items() if len(at))
    crosses = "".join(f"M{x - 0.9:.2f} {-y:.2f}h1.8M{x:.2f} {-y - 0.9:.2f}v1.8" for x, y in marks.open_at)
    view = f"{x0 - pad:.1f} {-y1 - pad:.1f} {x1 - x0 + 2 * pad:.1f} {y1 - y0 + 2 * pad:.1f}"
    return (f'<svg class="stencil" viewBox="{view}" role="img" aria-label="{label}">'
            f'<path class="ink-line" d="{ring_data(lines)}"/>'
            f'<path class="black" d="{ring_data(marks.solid)}"/>{dots}'
            f'<path class="open" d="{"".join(map(line_data, marks.dashes))}{crosses}"/></svg>')


def outline_path(area: BaseGeometry, tolerance: float) -> str:
    """Path string of an area in a picture's pixels."""
    out = []
    for p in polygons(shapely.simplify(area, tolerance)):
        for ring in (p.exterior, *p.interiors):
            out.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring.coords[:-1]) + "Z")
    return "".join(out)
