"""Skin that goes right round the limb, in a flat chart: a place a turn further is the same place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.body.limb import Limb
from composer.body.patch import Patch, lay_patch
from composer.filler.ground import Ground, Place

OVER_MM = 2.5
"""So far a ground that goes right round runs over its own seam."""
STEP_MM = 3.0
"""Edges are carried from chart to chart in steps of this length; the sag is under 0.02 mm on a limb."""


def turned(shape: BaseGeometry, patch: Patch, turns: int) -> BaseGeometry:
    """The same skin in the chart, whole turns further on."""
    return shapely.transform(shape, lambda p: patch.to_flat(patch.to_skin(p) + np.array([float(turns), 0.0])))


def all_round(shape: BaseGeometry, patch: Patch) -> BaseGeometry:
    """A shape with its copies one turn before and one turn after it, grown together."""
    copies = shapely.union_all([turned(shape, patch, k) for k in (-1, 0, 1)])
    return shapely.buffer(shapely.buffer(copies, 0.05, quad_segs=1, join_style="mitre"), -0.05, quad_segs=1,
                          join_style="mitre")


def goes_round(shape: BaseGeometry, patch: Patch) -> bool:
    """Whether a shape in the chart reaches as far as a whole turn."""
    ring = [np.asarray(p.exterior.coords) for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
    return bool(ring) and float(np.ptp(patch.to_skin(np.concatenate(ring))[:, 0])) > 0.995


def one_turn(shape: BaseGeometry, patch: Patch, over_mm: float = OVER_MM) -> BaseGeometry:
    """A shape and its copies cut to one turn about the chart's anchor, and `over_mm` more at both ends."""
    _, y0, _, y1 = shape.bounds
    y = np.linspace(y0 - 60, y1 + 60, 40)
    s = patch.to_skin(np.column_stack([np.zeros(40), y]))[:, 1]
    half = 0.5 + over_mm / patch.c1_mm
    u = np.linspace(-half, half, 120) + patch.u0
    ring = np.vstack([np.column_stack([u, np.full(120, s[0])]), np.column_stack([np.full(40, u[-1]), s]),
                      np.column_stack([u[::-1], np.full(120, s[-1])]), np.column_stack([np.full(40, u[0]), s[::-1]])])
    return shapely.intersection(all_round(shape, patch), shapely.make_valid(Polygon(patch.to_flat(ring))))


def as_laid(ground: Ground, drawing: Drawing) -> Ground:
    """The ground in the chart in which a drawing that goes right round will be laid as a piece; over a whole turn that
    chart and the ground's own differ by millimetres where the girth bends. Other drawings keep their ground."""
    if ground.place is None or not goes_round(ground.free, ground.place.patch):
        return ground
    old = ground.place.patch
    y = np.concatenate(drawing.silhouette)[:, 1]
    new = lay_patch(ground.place.limb, old.u0, old.s0_mm, -float(y.min()), float(y.max()))
    if not goes_round(drawing.outline, new):
        return ground

    def carried(shape: BaseGeometry) -> BaseGeometry:
        if shape.is_empty:
            return shape
        dense = shapely.segmentize(all_round(shape, old), STEP_MM)
        return shapely.make_valid(shapely.transform(dense, lambda p: new.to_flat(old.to_skin(p))))

    return replace(ground, free=carried(ground.free), region=carried(ground.region), front=carried(ground.front),
                   edge=carried(ground.edge), place=Place(ground.place.limb, new))


def settled(limb: Limb, patch: Patch, rings: list[np.ndarray]) -> Patch:
    """The chart in which a drawing of these rings (in the chart `patch`) will be laid as a piece, found by
    laying it again and again until it no longer changes: what closes in it closes on skin. Each step goes half
    way, since where the girth bends the charts swing to and fro about the one that is looked for."""
    skin = [patch.to_skin(r) for r in rings]
    own = patch
    for _ in range(60):
        y = np.concatenate([own.to_flat(r)[:, 1] for r in skin])
        new = lay_patch(limb, own.u0, own.s0_mm, -float(y.min()), float(y.max()))
        if abs(new.b - own.b) < 1e-12 and abs(new.c1_mm - own.c1_mm) < 1e-9:
            return new
        own = replace(own, c1_mm=(own.c1_mm + new.c1_mm) / 2, b=(own.b + new.b) / 2)
    return own
