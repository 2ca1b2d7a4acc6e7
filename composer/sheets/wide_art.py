"""Both shoulders with chest or back as one sheet to print: each part's art on its own sheet, hung beside the next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import shapely

from composer.art.drawing import Drawing, geometry_to_rings
from composer.body.joins_pair import pair_sheet
from composer.body.joins_wide import PAIRS, WIDE, WidePart, WideSheet, wide_sheet
from composer.body.panel import Panel
from composer.compose.sleeve_lines import sleeve_lines
from composer.filler.seen import visible_laid
from composer.plan.model import Plan
from composer.plan.over_joins import seen_on
from composer.plan.twins import surface_of
from composer.sheets.sheet_art import SheetArt, panel_guides
from composer.sheets.unrolled import OnSheet, drawing_on_sheet

WORDS = {"left_arm": "left", "right_arm": "right", "chest": "chest", "upper_back": "back"}


def parts_of(name: str, plan: Plan) -> tuple[str, ...]:
    """The parts of the body that a printed sheet shows: itself, or those of a wide sheet that are taped."""
    if name not in WIDE:
        return (name,)
    taped = {p.name for p in plan.parts}
    beside = ("upper_back",) if name in PAIRS else ("left_arm", "right_arm")
    return tuple(p for p in (WIDE[name], *beside) if p in taped)


def wide_of(plan: Plan, name: str) -> WideSheet:
    """The wide sheet of that name. Raises ValueError with a sentence when its middle is not taped."""
    surfaces = {p: surface_of(plan, p) for p in parts_of(name, plan)}
    return pair_sheet(surfaces, name) if name in PAIRS else wide_sheet(surfaces, WIDE[name])


def wide_art(plan: Plan, name: str, gallery: Mapping[str, Drawing]) -> SheetArt:
    """What to print of a wide sheet, at 1:1. Raises as `composer.sheets.sheet_art.sheet_art` does."""
    wide = wide_of(plan, name)
    rows: dict[str, list[OnSheet]] = {}
    sleeve: list[np.ndarray] = []
    for part in wide.parts:
        seen = seen_on(plan, part.part, gallery)
        cut = visible_laid(seen.scene, plan.settings)
        hung = replace(seen.scene, seam_u=part.seam_u) if part.limb.closed else seen.scene
        sleeve += [part.to_wide(us) for us in sleeve_lines(hung) if part.reached([us])]
        for x in seen.scene.laid:
            if part.reached(x.rings):
                on = drawing_on_sheet(x.piece, cut[x.piece.id], x.patch, part)
                rows.setdefault(x.piece.id, []).append(_within(on, part))
    every = [_one(halves) for halves in rows.values()]
    every.sort(key=lambda on: (not on.piece.is_filler, on.piece.depth, on.piece.id))
    middle = wide.parts[0]
    assert isinstance(middle.limb, Panel)
    levels, axes = panel_guides(middle.limb, middle) if name not in PAIRS else ((), ())
    levels += tuple((f"{WORDS[part.part]} {n}", 0.0, line)
                    for part in wide.parts[0 if name in PAIRS else 1:] for n, line in part.lines)
    axes += tuple(("", np.vstack([part.shown, part.shown[:1]])) for part in wide.parts[1:])
    return SheetArt(name, middle.sheet, wide.border, levels, axes, tuple(p for p in every if p.silhouette),
                    sleeve=tuple(sleeve))


def _one(halves: list[OnSheet]) -> OnSheet:
    """A piece that lies over a seam as one: what of it each part shows, side by side."""
    if len(halves) == 1:
        return halves[0]
    layers: dict[str, list[np.ndarray]] = {}
    for role, rings in (layer for on in halves for layer in on.layers):
        layers.setdefault(role, []).extend(rings)
    return OnSheet(halves[0].piece, [r for on in halves for r in on.silhouette], tuple(layers.items()))


def _within(on: OnSheet, part: WidePart) -> OnSheet:
    """Art cut where another part takes over, and at the sides of an arm's sheet, where it runs on round the arm."""
    strip = part.strip
    shapely.prepare(strip)
    rings = list(on.silhouette)
    if not rings or shapely.covers(strip, shapely.multipoints(np.concatenate(rings))):
        return on

    def cut(rings: list[np.ndarray]) -> list[np.ndarray]:
        """Each ring by itself: an even-odd sum cut by an area is the sum of what is cut."""
        if not rings:
            return rings
        xy = np.concatenate(rings)
        starts = np.cumsum([0, *(len(r) for r in rings[:-1])])
        inside = np.add.reduceat(shapely.contains_xy(strip, xy[:, 0], xy[:, 1]).astype(int), starts)
        boxes = shapely.box(*np.minimum.reduceat(xy, starts).T, *np.maximum.reduceat(xy, starts).T)
        out = []
        for ring, n, near in zip(rings, inside.tolist(), shapely.intersects(strip, boxes).tolist(), strict=True):
            if n == len(ring):
                out.append(ring)
            elif near:
                out += geometry_to_rings(shapely.intersection(shapely.make_valid(shapely.Polygon(ring)), strip))
        return out

    return OnSheet(on.piece, cut(rings), tuple((role, cut(r)) for role, r in on.layers))
