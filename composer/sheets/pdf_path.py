"""Closed rings as path text for PDF, thousands of vertices in one pass.

Coordinates are whole numbers of a unit that the frame is scaled to, so a vertex takes a dozen bytes and
no float is ever put into words. ISO 32000-1, 8.5.3.3: filling closes open subpaths by itself.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from composer.sheets.paper import POINT_MM

UNIT_MM = 0.01
"""The grid on paper that printed vertices lie on: rounding moves a point by 0.007 mm at most."""
MOVE, LINE = (np.frombuffer(b" m\n", np.uint8), np.frombuffer(b" l\n", np.uint8))


def path_text(points: np.ndarray, counts: np.ndarray) -> str:
    """`points` (n, 2) whole numbers of 0 or more, rings one after another, `counts` of them each: 'x y m',
    then 'x y l' for the rest of each ring."""
    first = np.zeros(len(points), bool)
    first[np.cumsum(counts) - counts] = True
    digits = len(str(int(points.max(initial=0))))
    out = np.zeros((len(points), 2 * digits + 4), np.uint8)   # zeros are taken out at the end
    for k, column in enumerate((0, digits + 1)):
        left = points[:, k].astype(np.uint32)
        for at in range(column + digits - 1, column - 1, -1):
            shorter = left // 10
            out[:, at] = np.where((left > 0) | (at == column + digits - 1), left - 10 * shorter + 48, 0)
            left = shorter
    out[:, digits] = 32
    out[:, -3:] = np.where(first[:, None], MOVE, LINE)
    return out.tobytes().translate(None, b"\0").decode("ascii")


def fill_rings(canvas: Canvas, rings: Sequence[np.ndarray], grey: float, scale: float = 1.0) -> None:
    """Fill closed rings (n, 2), mm, even-odd in a grey (0 black to 1 white), in a frame that shows mm at
    1 : `scale`."""
    text = fill_text(rings, grey, scale)
    if text:
        canvas._code.append(text)


def fill_text(rings: Sequence[np.ndarray], grey: float, scale: float = 1.0) -> str:
    """What `fill_rings` writes; '' where there is nothing to fill."""
    rings = [r for r in rings if len(r) >= 3]
    if not rings:
        return ""
    xy, counts = np.concatenate(rings), np.fromiter(map(len, rings), int, len(rings))
    unit = UNIT_MM * scale
    corner = np.floor(xy.min(axis=0) / unit)
    whole = np.rint(xy / unit - corner).astype(np.int64)
    k = unit / POINT_MM
    return (f"q {grey:.4g} g {k:.9f} 0 0 {k:.9f} {corner[0] * k:.5f} {corner[1] * k:.5f} cm\n"
            f"{path_text(whole, counts)}f* Q")
