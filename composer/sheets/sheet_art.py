"""One part's sheet as vectors at 1:1: border, levels, landmark lines, pieces clipped by depth."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from composer.art.drawing import Drawing
from composer.body.joins_wide import WidePart
from composer.body.panel import Panel
from composer.body.sheet import Sheet, unroll
from composer.compose.sleeve_lines import sleeve_lines
from composer.filler.seen import visible_laid
from composer.plan.model import Plan
from composer.plan.over_joins import scene_with_neighbours
from composer.plan.scene import Laid
from composer.plan.twins import surface_of
from composer.sheets.shade_marks import shade_marks
from composer.sheets.unrolled import OnSheet, drawing_on_sheet

INK = {"light": 0.84, "mid": 0.62, "dark": 0.38, "black": 0.0, "line": 0.0}
"""Grey of each ink role on paper, 0 black to 1 white."""


@dataclass(frozen=True)
class SheetArt:
    """Everything to print of one part, in the sheet's flat mm (y up). `levels` are (name, s mm,
    line (n, 2)); `axes` are the landmark lines front, outer, back, inner as (name, line), on chest and back
    the midline. `pieces` are those of the part and what reaches in from its neighbours. `shade`: its shade lines,
    `shade_ticks` the ticks on their shaded side. `sleeve`: where a sleeve ends."""

    part: str
    sheet: Sheet
    border: np.ndarray
    levels: tuple[tuple[str, float, np.ndarray], ...]
    axes: tuple[tuple[str, np.ndarray], ...]
    pieces: tuple[OnSheet, ...]
    shade: tuple[np.ndarray, ...] = ()
    shade_ticks: tuple[np.ndarray, ...] = ()
    sleeve: tuple[np.ndarray, ...] = ()

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        (x0, y0), (x1, y1) = self.border.min(axis=0), self.border.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)


def sheet_art(plan: Plan, part: str, gallery: Mapping[str, Drawing],
              then: Callable[[OnSheet], object] | None = None) -> SheetArt:
    """The part's sheet. `then` is called with each piece as it is ready, from several threads. Raises KeyError or
    ValueError with a sentence when the part or a drawing is missing."""
    limb = surface_of(plan, part)
    here = scene_with_neighbours(plan, part, gallery)
    sheet = unroll(limb, here.seam_u)
    ready: dict[str, OnSheet] = {}

    def carry(laid: Laid, seen: Drawing) -> None:
        ready[laid.piece.id] = on = drawing_on_sheet(laid.piece, seen, laid.patch, sheet)
        if then is not None:
            then(on)

    visible_laid(here, plan.settings, then=carry)
    order = sorted(here.laid, key=lambda x: (not x.piece.is_filler, x.piece.depth, x.piece.id))
    pieces = tuple(ready[x.piece.id] for x in order)
    marks = [shade_marks(limb, sheet, x) for x in here.shade.lines]
    shade = tuple(tuple(line for m in marks for line in m[k]) for k in (0, 1))
    sleeve = tuple(sheet.to_flat(us) for us in sleeve_lines(here))
    if isinstance(limb, Panel):
        return SheetArt(part, sheet, sheet.border(), *panel_guides(limb, sheet), pieces, *shade, sleeve)
    u = np.linspace(sheet.seam_u, sheet.seam_u + 1, 121)
    levels = tuple((lv.name, lv.s_mm, sheet.to_flat(np.column_stack([u, np.full(len(u), lv.s_mm)])))
                   for lv in limb.levels)
    outer = 0.25 if part.startswith("left") else -0.25
    s = np.linspace(limb.s_min, limb.s_max, 2)
    axes = tuple((name, sheet.to_flat(np.column_stack([np.full(2, sheet.seam_u + (a - sheet.seam_u) % 1.0), s])))
                 for name, a in (("front", 0.0), ("outer", outer), ("back", 0.5), ("inner", -outer)))
    return SheetArt(part, sheet, sheet.border(), levels, axes, pieces, *shade, sleeve)


def panel_guides(panel: Panel, sheet: Sheet | WidePart) -> tuple[tuple[tuple[str, float, np.ndarray], ...],
                                                                  tuple[tuple[str, np.ndarray], ...]]:
    """Level curves and the midline of chest or back on a sheet, as `SheetArt` has them, with a small cross at
    every landmark."""
    levels = tuple((line.name, float(line.us[0, 1]), sheet.to_flat(line.us)) for line in panel.lines)
    axes = [("midline", sheet.to_flat(np.array([[0.0, panel.midline_low], [0.0, panel.midline_top]])))]
    for us in panel.landmarks.values():
        x, y = sheet.to_flat(np.array([us]))[0]
        axes.append(("", np.array([[x - 3, y], [x + 3, y], [x, y], [x, y - 3], [x, y + 3]])))
    return levels, tuple(axes)
