"""What lies on a part, carried onto its unrolled sheet, vertex by vertex."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.art.drawing import Drawing
from composer.body.patch import Patch
from composer.body.sheet import Sheet
from composer.plan.model import Piece


@dataclass(frozen=True)
class OnSheet:
    """A piece on the sheet: rings (n, 2) in the sheet's flat mm, y up; both copies where it crosses
    the seam (what runs over the edge is to be clipped by the sheet's border)."""

    piece: Piece
    silhouette: list[np.ndarray]
    layers: tuple[tuple[str, list[np.ndarray]], ...]


def shifts(turns: np.ndarray, sheet: Sheet) -> list[int]:
    """Whole turns by which something that spans these u (turns) must be moved to show."""
    lo, hi, left, right = turns.min(), turns.max(), sheet.seam_u, sheet.seam_u + 1
    every = range(int(np.ceil(left - hi)), int(np.floor(right - lo)) + 1)
    return [k for k in every if hi + k > left and lo + k < right]


def rings_on_sheet(rings: tuple[np.ndarray, ...], patch: Patch, sheet: Sheet) -> list[np.ndarray]:
    """Rings in a patch chart to the sheet, once for every side of the seam on which they show."""
    if not rings:
        return []
    skin = patch.to_skin(np.vstack(rings))
    cuts = np.cumsum([len(r) for r in rings])[:-1]
    copies = [sheet.to_flat(skin + np.array([k, 0.0])) for k in shifts(skin[:, 0], sheet)]
    return [ring for flat in copies for ring in np.split(flat, cuts)]


def drawing_on_sheet(piece: Piece, drawing: Drawing, patch: Patch, sheet: Sheet) -> OnSheet:
    """A laid drawing (flat in its patch chart) carried onto the sheet."""
    return OnSheet(piece, rings_on_sheet(drawing.silhouette, patch, sheet),
                   tuple((la.role, rings_on_sheet(la.rings, patch, sheet)) for la in drawing.layers))
