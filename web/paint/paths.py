"""Rings to SVG path strings: simplified, whole hundredths of a mm, y downwards.

Coordinates are integers in 1/100 mm, so the element needs `transform="scale(.01)"`; a path is
a third of the length that decimals would take.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from composer.sheets.unrolled import thinned

SCREEN_MM = 0.05
"""How far a drawn line may stray from the true one on the screen sheet, mm."""

MANY, MOST_CORNERS, DOT_MM = 200, 12, 0.8
"""From so many rings on, those of so few corners and so small a radius are drawn as dots."""


def path_data(rings: Iterable[np.ndarray], tolerance_mm: float = SCREEN_MM) -> str:
    """Path string of rings in mm (y up) as relative integer moves in 1/100 mm (y down). Many small round rings, as
    in mist, are drawn as eight-cornered dots of the same place and area, which is ten times as fast."""
    rings = list(rings)
    dots, rings = parted(rings) if len(rings) >= MANY else ([], rings)
    out = dots
    for ring in thinned(rings, tolerance_mm):
        grid = np.rint(ring * (100, -100)).astype(int)
        moves = np.diff(grid, axis=0)
        moves = moves[np.any(moves != 0, axis=1)]
        if len(moves) < 2:
            continue
        out.append(f"M{grid[0, 0]} {grid[0, 1]}l{' '.join(map(str, moves.ravel().tolist()))}z")
    return "".join(out).replace(" -", "-")


def parted(rings: Sequence[np.ndarray]) -> tuple[list[str], list[np.ndarray]]:
    """Dots among rings as path strings, and the other rings. A dot has up to MOST_CORNERS corners, all about as far
    from its middle, at most DOT_MM."""
    count = np.fromiter(map(len, rings), int, len(rings))
    dots: list[str] = []
    rest = [r for r, n in zip(rings, count, strict=True) if not 5 <= n <= MOST_CORNERS]
    for n in np.unique(count[(count >= 5) & (count <= MOST_CORNERS)]):
        here = np.flatnonzero(count == n)
        xy = np.stack([rings[i] for i in here])
        mid = xy.mean(axis=1)
        far = np.hypot(*(xy - mid[:, None]).transpose(2, 0, 1))
        mean = far.mean(axis=1)
        dot = (mean <= DOT_MM) & (far.std(axis=1) < 0.12 * mean)
        radius = mean * np.sqrt(n / 2 * np.sin(2 * np.pi / n) / (4 * np.sin(np.pi / 4)))
        r = np.maximum(np.rint(radius[dot] * 100), 1).astype(int)
        x, y = np.rint(mid[dot] * (100, -100)).astype(int).T
        shape = {int(k): _octagon(int(k)) for k in np.unique(r)}
        dots += [f"M{a} {b}{shape[k]}" for a, b, k in zip((x + r).tolist(), y.tolist(), r.tolist(), strict=True)]
        rest += [rings[i] for i in here[~dot]]
    return dots, rest


def _octagon(r: int) -> str:
    """Moves round a regular octagon of corner radius r, from its right-hand corner."""
    a = np.linspace(0, 2 * np.pi, 9)[:8]
    at = np.rint(r * np.column_stack([np.cos(a), np.sin(a)])).astype(int)
    return f"l{' '.join(map(str, np.diff(at, axis=0).ravel().tolist()))}z"


def line_data(points: np.ndarray) -> str:
    """Path string of an open line (n, 2) in mm (y up), in mm with two decimals (y down)."""
    return "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in points)


def ring_data(rings: Iterable[np.ndarray]) -> str:
    """Path string of closed rings in mm (y up), in mm with two decimals (y down)."""
    return "".join(line_data(r) + "Z" for r in rings if len(r) >= 3)
