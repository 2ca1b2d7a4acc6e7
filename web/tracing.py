"""A healed tattoo traced by hand: the closed line on the sheet as a drawing of its own."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import Polygon

from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.body.patch import lay_patch
from composer.body.sheet import Sheet
from composer.json_in import read_json
from composer.plan.errors import StepError

LINE_MM = 0.6
LEAST_MM2 = 40.0
MOST_POINTS = 20_000


def traced_piece(text: str, sheet: Sheet) -> tuple[Drawing, float, float]:
    """Drawing, u and s of a traced outline; `text` is JSON [[x, y], ...], flat mm of the sheet, y up.

    Raises StepError with a sentence when the line encloses nothing that could be a piece.
    """
    try:
        ring = np.asarray(read_json(text), float)
    except (ValueError, TypeError) as err:
        raise StepError("The outline could not be read; draw it again.") from err
    if ring.ndim != 2 or ring.shape[1:] != (2,) or not np.isfinite(ring).all() or len(ring) > MOST_POINTS:
        raise StepError("The outline could not be read; draw it again.")
    if len(ring) < 3:
        raise StepError("The outline is too short; go once round the healed piece and lift the pen where you began.")
    skin = sheet.to_skin(ring)
    u0, s0 = (skin.min(axis=0) + skin.max(axis=0)) / 2
    if not (sheet.limb.s_min - 50 <= s0 <= sheet.limb.s_max + 50 and sheet.seam_u - 0.2 <= u0 <= sheet.seam_u + 1.2):
        raise StepError("The outline lies beside the skin; draw it on the sheet.")
    patch = lay_patch(sheet.limb, float(u0), float(s0), s0 - skin[:, 1].min(), skin[:, 1].max() - s0)
    outline = shapely.make_valid(Polygon(patch.to_flat(skin)), method="structure")
    parts = [g for g in getattr(outline, "geoms", [outline]) if g.geom_type == "Polygon"]
    if not parts or (shape := max(parts, key=lambda g: g.area)).area < LEAST_MM2:
        raise StepError("The outline encloses almost nothing; go once round the healed piece.")
    smooth = Polygon(shape.exterior).buffer(1.2).buffer(-2.4).buffer(1.2).simplify(0.1)
    if smooth.geom_type != "Polygon" or smooth.area < LEAST_MM2:
        smooth = Polygon(shape.exterior).simplify(0.1)
    inner = smooth.buffer(-LINE_MM)
    line = smooth.difference(inner)
    drawing = Drawing(geometry_to_rings(smooth), (Layer("line", geometry_to_rings(line)),),
                      notes={"traced": True, "area_mm2": round(smooth.area, 1)})
    return drawing, float(math.remainder(u0, 1.0)), float(s0)
