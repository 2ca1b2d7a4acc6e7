"""The honest tiling that a band is cut from: whole tiles, a whole number of them round the limb.

The tiling lies on skin, in turns round the limb and mm along it, and is laid flat by the piece's chart: the
place a turn further is the same place, so what goes right round closes, whatever the girth and its taper.
Without a limb (or along it) tiles count in mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from composer.filler.ground import Place

SHOWN = 0.6
"""A run of which less comes into view is not drawn: strips cut off lengthwise tell nothing."""


@dataclass(frozen=True)
class Row:
    """One row: its middle at `level` (mm along the limb; of a row along the limb: turns round it, or mm without
    a limb), tiles `wide_mm` across. `count` tiles go once round (0: it does not go round); tile i begins
    at i / count turns, else at i wide_mm."""

    place: Place | None
    along: bool
    level: float
    wide_mm: float
    count: int

    def flat(self, xq: np.ndarray) -> np.ndarray:
        """Row coordinates (n, 2), x mm from where tile 0 begins, q mm from the middle, to the chart, mm."""
        x, q = xq[:, 0], xq[:, 1]
        if self.place is None:
            return np.column_stack([self.level - q, x]) if self.along else np.column_stack([x, self.level + q])
        limb, patch = self.place.limb, self.place.patch
        if self.along:
            return patch.to_flat(np.column_stack([self.level - q / limb.girth(x), x]))
        return patch.to_flat(np.column_stack([x / (self.count * self.wide_mm), self.level + q]))

    def laid(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape in row coordinates, in the chart; straight edges bend as the limb does."""
        return shapely.transform(shapely.segmentize(shape, 1.2), self.flat)

    def span(self, bounds: tuple[float, float, float, float], round_it: bool) -> tuple[int, int]:
        """First and last tile that a box of the chart can hold; `round_it`: those that one turn holds."""
        x0, y0, x1, y1 = bounds
        if self.place is None:
            a, b = (y0, y1) if self.along else (x0, x1)
        else:
            us = self.place.patch.to_skin(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1), ((x0 + x1) / 2, y0),
                                                    ((x0 + x1) / 2, y1)]))
            if not self.along:
                if round_it:
                    first = int(np.floor((self.place.patch.u0 - 0.5) * self.count))
                    return first, first + self.count
                a, b = us[:, 0].min() * self.count, us[:, 0].max() * self.count
                return int(np.floor(a)), int(np.ceil(b))
            a, b = float(us[:, 1].min()), float(us[:, 1].max())
        return int(np.floor(a / self.wide_mm)), int(np.ceil(b / self.wide_mm))


def row_at(place: Place | None, along: bool, level: float, wide_mm: float) -> Row:
    """The row at a level, its tiles about `wide_mm` across: round the limb as many as come nearest."""
    if place is None or along:
        return Row(place, along, level, wide_mm, 0)
    girth = float(place.limb.girth(level))
    count = max(3, round(girth / wide_mm))
    return Row(place, along, level, girth / count, count)


@dataclass(frozen=True)
class Run:
    """Tiles `first` to `last` of a row, side by side; `shut`: it goes once round and closes. `open_`: whether
    its two ends lie in open skin. `seam`: whether it goes on beyond its start and its end, a turn away."""

    row: Row
    first: int
    last: int
    shut: bool
    open_: tuple[bool, bool]
    seen_mm2: float
    seam: tuple[bool, bool] = (False, False)

    @property
    def worth(self) -> float:
        """What it shows, mm2; short runs count for less."""
        return self.seen_mm2 * (1.0 if self.shut else min(1.0, 0.25 + 0.15 * self.tiles))

    @property
    def tiles(self) -> int:
        """How many."""
        return self.last - self.first + 1


def runs_of(row: Row, tall_mm: float, legal: BaseGeometry, free: BaseGeometry, round_it: bool = False,
            least: int = 2) -> list[Run]:
    """What of a row may be drawn: whole tiles that lie within `legal` (open skin of the gap and what is hidden),
    where at least `least` of a run come into view. `round_it`: the ground goes right round the limb."""
    round_it = round_it and row.count > 0
    first, last = row.span(legal.bounds, round_it)
    cells = np.array([row.laid(box(i * row.wide_mm, -tall_mm / 2, (i + 1) * row.wide_mm, tall_mm / 2))
                      for i in range(first, last + 1)], dtype=object)
    shapely.prepare(legal)
    ok = shapely.covers(legal, cells)
    if not ok.any():
        return []
    seen = np.where(ok, shapely.area(shapely.intersection(cells, free)), 0.0)
    if round_it and ok.all() and (seen > 0.3 * tall_mm * row.wide_mm).sum() >= least:
        return [Run(row, first, last, True, (False, False), float(seen.sum()), (True, True))]
    out = []
    edge = np.diff(np.concatenate([[0], ok.astype(int), [0]]))
    for i, j in zip(np.flatnonzero(edge == 1), np.flatnonzero(edge == -1), strict=True):
        own = np.flatnonzero(seen[i:j] > 0.02 * tall_mm * row.wide_mm) + i
        if len(own) < least or seen[own].sum() < SHOWN * len(own) * tall_mm * row.wide_mm:
            continue
        i, j = max(i, own[0] - 1), min(j, own[-1] + 2)  # one tile more, out of view
        on = (round_it and i == 0 and bool(ok[-1]), round_it and j == len(ok) and bool(ok[0]))
        ends = [seen[k] > 0.02 * tall_mm * row.wide_mm for k in (i, j - 1)]
        out.append(Run(row, first + int(i), first + int(j) - 1, False, (bool(ends[0]) and not on[0],
                                                                        bool(ends[1]) and not on[1]),
                       float(seen[i:j].sum()), on))
    return out
