"""Rings where a field of numbers crosses a level: marching squares (Lorensen and Cline 1987, in two dimensions).

Every edge of the grid that the level crosses is one point, and every cell leads from one such point to the next, with
what is above the level always on the same side; so rings are read off without putting pieces together. Where a cell
has its high corners across from each other they are kept apart.
"""

from __future__ import annotations

import numpy as np

_TOP, _LEFT, _RIGHT, _LOW = range(4)
_STEPS = {1: ((_LEFT, _TOP),), 2: ((_TOP, _RIGHT),), 3: ((_LEFT, _RIGHT),), 4: ((_LOW, _LEFT),), 5: ((_LOW, _TOP),),
          6: ((_TOP, _RIGHT), (_LOW, _LEFT)), 7: ((_LOW, _RIGHT),), 8: ((_RIGHT, _LOW),),
          9: ((_LEFT, _TOP), (_RIGHT, _LOW)), 10: ((_TOP, _LOW),), 11: ((_LEFT, _LOW),), 12: ((_RIGHT, _LEFT),),
          13: ((_RIGHT, _TOP),), 14: ((_TOP, _LEFT),)}
"""By a cell's corners above the level (1 upper left, 2 upper right, 4 lower left, 8 lower right): from which of its
edges to which."""


def level_rings(field: np.ndarray, level: float) -> tuple[np.ndarray, np.ndarray]:
    """All rings laid end to end (n, 2) of (row, column), each implicitly closed, and how many points each has. The
    field's (h, w) outermost rows and columns must not be above the level, so that every ring closes."""
    h, w = field.shape
    above = field > level
    code = above[:-1, :-1] + np.uint8(2) * above[:-1, 1:] + np.uint8(4) * above[1:, :-1] + np.uint8(8) * above[1:, 1:]
    cells = np.flatnonzero((code > 0) & (code < 15))
    row, column = np.divmod(cells, w - 1)
    kinds = code.ravel()[cells]
    # edges by number: those along rows first, then those down columns
    down = h * (w - 1)
    edges = np.stack([cells, down + row * w + column, down + row * w + column + 1, cells + w - 1])
    starts, ends = [], []
    for kind, steps in _STEPS.items():
        here = np.flatnonzero(kinds == kind)
        for a, b in steps:
            starts.append(edges[a, here])
            ends.append(edges[b, here])
    start = np.concatenate(starts)
    number = np.empty(down + (h - 1) * w, np.int32)
    number[start] = np.arange(len(start))
    after = number[np.concatenate(ends)].tolist()
    order, sizes, seen = [], [], bytearray(len(start))
    for first in range(len(after)):
        if seen[first]:
            continue
        at, before = first, len(order)
        while not seen[at]:
            seen[at] = 1
            order.append(at)
            at = after[at]
        sizes.append(len(order) - before)
    return _points(field, level, start[order]), np.array(sizes, int)


def _points(field: np.ndarray, level: float, edges: np.ndarray) -> np.ndarray:
    """Where the level crosses edges of the grid, (n, 2) of (row, column)."""
    h, w = field.shape
    down = h * (w - 1)
    along = edges < down
    row, column = np.divmod(np.where(along, edges, 0), w - 1)
    row_down, column_down = np.divmod(np.where(along, 0, edges - down), w)
    row, column = np.where(along, row, row_down), np.where(along, column, column_down)
    low = field[row, column].astype(float)
    high = field[row + ~along, column + along].astype(float)
    share = (level - low) / (high - low)
    return np.column_stack([row + np.where(along, 0.0, share), column + np.where(along, share, 0.0)])
