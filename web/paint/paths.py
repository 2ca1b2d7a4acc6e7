"""Rings to SVG path strings: simplified, whole hundredths of a mm, y downwards.

Coordinates are integers in 1/100 mm, so the element needs `transform="scale(.01)"`; a path is
a third of the length that decimals would take.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from composer.sheets.unrolled import thinned

SCREEN_MM = 0.05
"""How far a drawn line may stray from the true one on the screen sheet, mm."""


def path_data(rings: Iterable[np.ndarray], tolerance_mm: float = SCREEN_MM) -> str:
    """Path string of rings in mm (y up) as relative integer moves in 1/100 mm (y down)."""
    out = []
    for ring in thinned(rings, tolerance_mm):
        grid = np.rint(ring * (100, -100)).astype(int)
        moves = np.diff(grid, axis=0)
        moves = moves[np.any(moves != 0, axis=1)]
        if len(moves) < 2:
            continue
        out.append(f"M{grid[0, 0]} {grid[0, 1]}l{' '.join(map(str, moves.ravel().tolist()))}z")
    return "".join(out).replace(" -", "-")


def line_data(points: np.ndarray) -> str:
    """Path string of an open line (n, 2) in mm (y up), in mm with two decimals (y down)."""
    return "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in points)


def ring_data(rings: Iterable[np.ndarray]) -> str:
    """Path string of closed rings in mm (y up), in mm with two decimals (y down)."""
    return "".join(line_data(r) + "Z" for r in rings if len(r) >= 3)
