"""A shade line as it is drawn on a sheet: the line itself, and short ticks on its shaded side."""

from __future__ import annotations

import numpy as np

from composer.body.sheet import AnySheet
from composer.body.surface import Surface
from composer.compose.shade_reach import Reach, reach_of
from composer.plan.shade_lines import ShadeLine
from composer.sheets.unrolled import shifts

TICK_MM, APART_MM = 3.4, 9.0
"""Length of the ticks, and how far apart they stand."""


def shade_marks(limb: Surface, sheet: AnySheet, line: ShadeLine) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """The line and its ticks in the sheet's flat mm, y up, once for every side of the seam on which they show."""
    reach, lines, ticks = reach_of(limb, line), [], []
    for border in reach.borders:
        kept = border[(border[:, 1] > limb.s_min - 4) & (border[:, 1] < limb.s_max + 4)]
        if len(kept) < 3:
            continue
        lines += _on_sheet(kept, sheet)
        for pair in _ticks(limb, reach, kept):
            ticks += _on_sheet(pair, sheet)
    return lines, ticks


def _on_sheet(us: np.ndarray, sheet: AnySheet) -> list[np.ndarray]:
    return [sheet.to_flat(np.add(us, (k, 0.0))) for k in shifts(us[:, 0], sheet)]


def _ticks(limb: Surface, reach: Reach, line: np.ndarray) -> list[np.ndarray]:
    """Short strokes (2, 2) of (u, s) from a line towards its shaded side."""
    girth = float(limb.girth(float(line[:, 1].mean())))
    mm = line * (girth, 1.0)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(mm, axis=0).T))])
    at = np.arange(APART_MM / 2, along[-1], APART_MM)
    foot = np.column_stack([np.interp(at, along, mm[:, k]) for k in (0, 1)])
    way = np.column_stack([np.interp(at + 1, along, mm[:, k]) - np.interp(at - 1, along, mm[:, k]) for k in (0, 1)])
    way /= np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    off = np.column_stack([-way[:, 1], way[:, 0]])
    sense = np.where(reach.inside((foot + off) / (girth, 1.0)), 1.0, -1.0)
    tip = foot + TICK_MM * sense[:, None] * off
    return list(np.stack([foot, tip], axis=1) / (girth, 1.0))
