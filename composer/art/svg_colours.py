"""Where the colours of an SVG lie: paint that is not grey, named as in pictures, where it is wide enough to outline."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.colour_names import AREA_SHARE, LEAST_SHARE, colour_name
from composer.art.drawing import ROLES
from composer.art.lightness import lab
from composer.art.pixels import cut_to
from composer.art.svg_veil import DARKEST_FIRST

Tint = tuple[str, str | None]
"""A tone, and the name of the colour that makes it (None: grey)."""
THIN = 0.0075
"""Of the drawing's longer side: gaps narrower than this are closed and colour narrower than this is left out, which is
about what the smoothing of a picture does (`composer.art.colours.colour_areas`)."""


def name_of(rgb: np.ndarray) -> str | None:
    """The name of an sRGB colour (3,), 0 to 1."""
    return colour_name(*map(float, lab(np.round(np.clip(rgb, 0, 1) * 255).astype(np.uint8))))


def by_role(areas: Mapping[Tint, BaseGeometry]) -> dict[str, BaseGeometry]:
    """The areas by tone alone, without those that leave skin open."""
    out: dict[str, list[BaseGeometry]] = {}
    for (role, _), g in areas.items():
        out.setdefault(role, []).append(g)
    return {r: some[0] if len(some) == 1 else shapely.union_all(some) for r, some in out.items() if r in ROLES}


def coloured(solid: Mapping[Tint, BaseGeometry], shown: Mapping[Tint, BaseGeometry]) -> dict[str, BaseGeometry]:
    """Areas by colour name: of solid paint alone, and of what is seen where see-through paint lies; where both lie,
    the darker of the two, as `svg_veil.veiled` has it for tones."""
    out: dict[str, list[BaseGeometry]] = {}
    darker: BaseGeometry = Polygon()
    for role in (*DARKEST_FIRST, "open"):
        for paints in (shown, solid):
            here = {name: g for (r, name), g in paints.items() if r == role}
            for name, g in here.items():
                if name:
                    out.setdefault(name, []).append(shapely.difference(g, darker) if shown else g)
            if shown:
                darker = shapely.union_all([darker, *here.values()])
    return {name: shapely.union_all(some) for name, some in out.items()}


def to_outline(areas: Mapping[str, BaseGeometry], outline: BaseGeometry) -> dict[str, BaseGeometry]:
    """What of these areas is outlined on a stencil, within the drawing's outline; largest first."""
    x0, y0, x1, y1 = outline.bounds
    reach, least = THIN / 2 * max(x1 - x0, y1 - y0), AREA_SHARE * outline.area
    out = {}
    for name, g in areas.items():
        if g.area < least:
            continue
        g = shapely.simplify(g, reach / 4)
        for step in (reach, -2 * reach, reach):
            g = shapely.buffer(g, step, join_style="mitre", mitre_limit=3)
        parts = shapely.get_parts(cut_to(shapely.make_valid(g), outline))
        parts = parts[(shapely.get_dimensions(parts) == 2) & (shapely.area(parts) >= least)]
        if len(parts):
            out[name] = shapely.union_all(parts)
    return dict(sorted(out.items(), key=lambda v: -v[1].area))


def shares_of(areas: Mapping[str, BaseGeometry], outline: BaseGeometry) -> dict[str, float]:
    """Share of the outline by colour name, traces left out."""
    shares = {name: round(g.area / outline.area, 3) for name, g in areas.items()}
    return {name: v for name, v in shares.items() if v >= LEAST_SHARE}


def thin_said(areas: Mapping[str, BaseGeometry], outlined: Iterable[str]) -> str | None:
    """A sentence that names colours too narrow to be outlined; None where there are none."""
    thin = [name for name, g in areas.items() if name not in outlined and not g.is_empty]
    if not thin:
        return None
    return f"Too narrow or too small to be outlined, so named nowhere on the stencil: {', '.join(thin)}."
