"""A large sheet cut into pages that overlap, with marks to lay them edge on edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from composer.sheets.paper import Frame

OVERLAP_MM = 10.0


@dataclass(frozen=True)
class Tile:
    """One page of a sheet: its row (0 at the bottom) and column, the corner of the sheet (mm) that
    lies at the lower left of its window, and the page's number within the sheet from 1."""

    row: int
    column: int
    x: float
    y: float
    number: int


@dataclass(frozen=True)
class Tiling:
    """Pages for a sheet. `marks` (n, 2) mm on the sheet: crosses that show on every page they fall on."""

    tiles: tuple[Tile, ...]
    rows: int
    columns: int
    frame: Frame
    marks: np.ndarray

    def at(self, row: int, column: int) -> Tile | None:
        return next((t for t in self.tiles if (t.row, t.column) == (row, column)), None)


def tile(outline: np.ndarray, frame: Frame) -> Tiling:
    """Pages for a sheet with this outline (n, 2), mm; pages on which nothing falls are left out.

    The sheet is centred on the grid. Crosses stand in the middle of the overlaps, so each is
    printed on all pages that meet there.
    """
    form = shapely.Polygon(outline).buffer(2.0)
    x0, y0, x1, y1 = form.bounds
    w, h = frame.window
    columns, rows = _count(x1 - x0, w), _count(y1 - y0, h)
    step = np.array([w - OVERLAP_MM, h - OVERLAP_MM])
    whole = step * (columns - 1, rows - 1) + (w, h)
    corner = np.array([(x0 + x1) / 2, (y0 + y1) / 2]) - whole / 2
    tiles = []
    for row in reversed(range(rows)):
        for column in range(columns):
            x, y = corner + step * (column, row)
            if shapely.box(x, y, x + w, y + h).intersects(form):
                tiles.append(Tile(row, column, float(x), float(y), len(tiles) + 1))
    xs = corner[0] + OVERLAP_MM / 2 + step[0] * np.arange(columns + 1)
    ys = corner[1] + OVERLAP_MM / 2 + step[1] * np.arange(rows + 1)
    xs[-1], ys[-1] = corner + whole - OVERLAP_MM / 2
    marks = np.array([(x, y) for x in xs for y in ys])
    return Tiling(tuple(tiles), rows, columns, frame, marks)


def _count(length: float, window: float) -> int:
    return max(1, int(np.ceil((length - OVERLAP_MM) / (window - OVERLAP_MM) - 1e-9)))
