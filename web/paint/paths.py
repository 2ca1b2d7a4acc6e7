"""Rings to SVG path strings: simplified, whole hundredths of a mm, y downwards.

Coordinates are integers in 1/100 mm, so the element needs `transform="scale(.01)"`; a path is
a third of the length that decimals would take.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely

SCREEN_MM = 0.05
"""How far a drawn line may stray from the true one on the screen sheet, mm."""


def simplified(rings: Iterable[np.ndarray], tolerance_mm: float) -> list[np.ndarray]:
    """Rings (n, 2) in mm with vertices dropped that stray less than the tolerance."""
    rings = [r for r in rings if len(r) >= 3]
    if not rings or tolerance_mm <= 0:
        return rings
    closed = [np.vstack([r, r[:1]]) for r in rings]
    where = np.repeat(np.arange(len(closed)), [len(r) for r in closed])
    lines = shapely.linestrings(np.vstack(closed), indices=where)
    lines = shapely.simplify(lines, tolerance_mm, preserve_topology=False)
    xy, index = shapely.get_coordinates(lines, return_index=True)
    cuts = np.flatnonzero(np.diff(index)) + 1
    return [part[:-1] for part in np.split(xy, cuts) if len(part) >= 4]


def path_data(rings: Iterable[np.ndarray], tolerance_mm: float = SCREEN_MM) -> str:
    """Path string of rings in mm (y up) as relative integer moves in 1/100 mm (y down)."""
    out = []
    for ring in simplified(rings, tolerance_mm):
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
