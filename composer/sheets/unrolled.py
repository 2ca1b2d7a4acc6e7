"""What lies on a part, carried onto its unrolled sheet, vertex by vertex."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely

from composer.art.drawing import Drawing
from composer.body.patch import Patch
from composer.body.sheet import AnySheet
from composer.plan.model import Piece


@dataclass(frozen=True)
class OnSheet:
    """A piece on the sheet: rings (n, 2) in the sheet's flat mm, y up; both copies where it crosses
    the seam (what runs over the edge is to be clipped by the sheet's border)."""

    piece: Piece
    silhouette: list[np.ndarray]
    layers: tuple[tuple[str, list[np.ndarray]], ...]

    def thinner(self, tolerance_mm: float, most_mm: float = 0.0) -> OnSheet:
        """The same with rings `thinned`."""
        return replace(self, silhouette=thinned(self.silhouette, tolerance_mm, most_mm),
                       layers=tuple((role, thinned(rings, tolerance_mm, most_mm)) for role, rings in self.layers))


def shifts(turns: np.ndarray, sheet: AnySheet) -> list[int]:
    """Whole turns by which something that spans these u (turns) must be moved to show."""
    lo, hi, left, right = turns.min(), turns.max(), sheet.seam_u, sheet.seam_u + 1
    every = range(int(np.ceil(left - hi)), int(np.floor(right - lo)) + 1)
    return [k for k in every if hi + k > left and lo + k < right]


def rings_on_sheet(rings: tuple[np.ndarray, ...], patch: Patch, sheet: AnySheet) -> list[np.ndarray]:
    """Rings in a patch chart to the sheet, once for every side of the seam on which they show."""
    if not rings:
        return []
    skin = patch.to_skin(np.vstack(rings))
    cuts = [0, *np.cumsum([len(r) for r in rings]).tolist()]
    copies = [sheet.to_flat(skin + np.array([k, 0.0])) for k in shifts(skin[:, 0], sheet)]
    return [flat[a:b] for flat in copies for a, b in pairwise(cuts)]


def drawing_on_sheet(piece: Piece, drawing: Drawing, patch: Patch, sheet: AnySheet) -> OnSheet:
    """A laid drawing (flat in its patch chart) carried onto the sheet."""
    return OnSheet(piece, rings_on_sheet(drawing.silhouette, patch, sheet),
                   tuple((la.role, rings_on_sheet(la.rings, patch, sheet)) for la in drawing.layers))


def thinned(rings: list[np.ndarray], tolerance_mm: float, most_mm: float = 0.0) -> list[np.ndarray]:
    """The rings without vertices that stray less than the tolerance (Douglas and Peucker 1973); edges
    longer than `most_mm` are then broken up, unless it is 0."""
    rings = [r for r in rings if len(r) >= 3]
    if not rings or tolerance_mm <= 0:
        return rings
    counts = np.fromiter(map(len, rings), int, len(rings))
    ends, xy = np.cumsum(counts), np.concatenate(rings)
    closed = np.insert(xy, ends, xy[ends - counts], axis=0)
    lines = shapely.linestrings(closed, indices=np.repeat(np.arange(len(rings)), counts + 1))
    lines = shapely.simplify(lines, tolerance_mm, preserve_topology=False)
    lines = lines[shapely.get_num_coordinates(lines) > 3]
    xy, index = shapely.get_coordinates(shapely.segmentize(lines, most_mm) if most_mm else lines, return_index=True)
    cuts = [0, *(np.flatnonzero(np.diff(index)) + 1).tolist(), len(xy)]
    return [xy[a:b - 1] for a, b in pairwise(cuts) if b > a]
