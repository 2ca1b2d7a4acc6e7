"""A drawing made of a picture, as it will look on skin or as a stencil with its tone marks."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.colour_notes import noted_areas
from composer.art.drawing import Drawing, geometry_to_rings, rings_to_geometry
from composer.art.pixels import polygons
from composer.compose.holds import Holds
from composer.sheets.stencil_art import COLOUR_EVERY_MM, DOT_EVERY_MM, OPEN, OPEN_DASH_MM, art_of, dots
from composer.sheets.strokes import lines_of
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
    """SVG of the drawing as it is printed on a stencil: lines, blacks by outline and cross, shade borders dotted,
    highlights dashed, colours named."""
    x0, y0, x1, y1 = drawing.outline.bounds
    pad = max(x1 - x0, y1 - y0) * 0.04
    art = art_of([drawing], True, {n: rings_to_geometry(r) for n, r in noted_areas(drawing.notes).items()})
    out = [f'<path class="ink-line" d="{ring_data(geometry_to_rings(art.lines))}"/>',
           f'<path class="black" d="{"".join(map(line_data, lines_of(art.blacks)))}'
           + "".join(f"M{x - 0.6:.2f} {0.6 - y:.2f}l1.2 -1.2m-1.2 0l1.2 1.2" for x, y in art.crosses) + '"/>']
    for role, lines in art.borders:
        if role == OPEN:
            dash = " ".join(f"{v:g}" for v in OPEN_DASH_MM)
            out.append(f'<path class="open" stroke-dasharray="{dash}" '
                       f'd="{"".join(map(line_data, lines_of(lines)))}"/>')
        else:
            at = dots(lines, DOT_EVERY_MM.get(role, COLOUR_EVERY_MM))
            kind = role if role in DOT_EVERY_MM else "colour"
            out.append(f'<path class="dot {kind}" d="{"".join(f"M{x:.2f} {-y:.2f}h0" for x, y in at)}"/>')
    out += [f'<text x="{x:.2f}" y="{0.7 - y:.2f}">{name}</text>' for name, ((x, y),) in art.names]
    view = f"{x0 - pad:.1f} {-y1 - pad:.1f} {x1 - x0 + 2 * pad:.1f} {y1 - y0 + 2 * pad:.1f}"
    return f'<svg class="stencil" viewBox="{view}" role="img" aria-label="{label}">{"".join(out)}</svg>'


def outline_path(area: BaseGeometry, tolerance: float) -> str:
    """Path string of an area in a picture's pixels."""
    out = []
    for p in polygons(shapely.simplify(area, tolerance)):
        for ring in (p.exterior, *p.interiors):
            out.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring.coords[:-1]) + "Z")
    return "".join(out)
