"""Both shoulders with chest or back as one sheet to print: each part's art on its own sheet, hung beside the next."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely

from composer.art.drawing import Drawing, geometry_to_rings, rings_to_geometry
from composer.body.joins_wide import WIDE, WidePart, WideSheet, wide_sheet
from composer.body.panel import Panel
from composer.filler.clip import visible_laid
from composer.plan.model import Plan
from composer.plan.over_joins import seen_on
from composer.plan.twins import surface_of
from composer.sheets.sheet_art import SheetArt, panel_guides
from composer.sheets.unrolled import OnSheet, drawing_on_sheet


def parts_of(name: str, plan: Plan) -> tuple[str, ...]:
    """The parts of the body that a printed sheet shows: itself, or those of a wide sheet that are taped."""
    if name not in WIDE:
        return (name,)
    taped = {p.name for p in plan.parts}
    return tuple(p for p in (WIDE[name], "left_arm", "right_arm") if p in taped)


def wide_of(plan: Plan, name: str) -> WideSheet:
    """The wide sheet of that name. Raises ValueError with a sentence when its middle is not taped."""
    return wide_sheet({p: surface_of(plan, p) for p in parts_of(name, plan)}, WIDE[name])


def wide_art(plan: Plan, name: str, gallery: Mapping[str, Drawing]) -> SheetArt:
    """What to print of a wide sheet, at 1:1. Raises as `composer.sheets.sheet_art.sheet_art` does."""
    wide = wide_of(plan, name)
    laid = []
    for part in wide.parts:
        seen = seen_on(plan, part.part, gallery)
        cut = visible_laid(seen.scene, plan.settings)
        laid += [(part, x, cut[x.piece.id]) for x in seen.scene.laid if x.piece.id not in seen.leaning
                 and max(r[:, 1].max() for r in x.rings) > part.s_from_mm]
    laid.sort(key=lambda row: (not row[1].piece.is_filler, row[1].piece.depth, row[1].piece.id))
    pieces = tuple(_within(drawing_on_sheet(x.piece, drawing, x.patch, part), part) for part, x, drawing in laid)
    middle = wide.parts[0]
    assert isinstance(middle.limb, Panel)
    levels, axes = panel_guides(middle.limb, middle)
    levels += tuple((f"{part.part.split('_')[0]} {n}", 0.0, line) for part in wide.parts[1:] for n, line in part.lines)
    axes += tuple(("", part.edge) for part in wide.parts[1:])
    return SheetArt(name, middle.sheet, wide.border, levels, axes, tuple(p for p in pieces if p.silhouette))


def _within(on: OnSheet, part: WidePart) -> OnSheet:
    """Art of an arm cut at the sides of its sheet, where it runs on round the arm."""
    strip = part.strip
    rings = list(on.silhouette)
    if strip is None or not rings or shapely.covers(strip, shapely.multipoints(np.concatenate(rings))):
        return on

    def cut(rings: list[np.ndarray]) -> list[np.ndarray]:
        if not rings:
            return rings
        shape = shapely.make_valid(rings_to_geometry(rings))
        return list(geometry_to_rings(shapely.intersection(shape, strip)))

    return OnSheet(on.piece, cut(rings), tuple((role, cut(r)) for role, r in on.layers))
