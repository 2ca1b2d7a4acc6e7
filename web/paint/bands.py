"""A measure all over the sheet as bands of one colour, as a picture to lie over the sheet."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence

import numpy as np
from PIL import Image
from scipy.ndimage import zoom

FINE = 6
"""Pixels to a step of the grid."""
HATCH_PX, HATCH_LINE_PX = 12, 3

Ink = tuple[int, int, int, int]
"""Red, green, blue, opacity; 0 to 255."""


def grid(box: tuple[float, float, float, float], step_mm: float) -> tuple[np.ndarray, tuple[int, int]]:
    """Points (n, 2) of a grid over (x0, y0, x1, y1) in mm, y up, row by row from the top, and its shape."""
    x0, y0, x1, y1 = box
    x = np.arange(x0, x1 + step_mm, step_mm)
    y = np.arange(y1, y0 - step_mm, -step_mm)
    gx, gy = np.meshgrid(x, y)
    return np.column_stack([gx.ravel(), gy.ravel()]), gx.shape


def band_image(values: np.ndarray, box: tuple[float, float, float, float], step_mm: float, levels: Sequence[float],
               inks: Sequence[Ink], hatched: np.ndarray | None = None, hatch: Ink = (0, 0, 0, 90)) -> str:
    """SVG image over the sheet (y down): values (rows, columns) of a `grid` get the ink of the highest level
    that they reach, nothing below the first. `hatched` (same shape): where lines run over it."""
    fine = zoom(np.asarray(values, float), FINE, order=1)
    index = np.searchsorted(np.asarray(levels, float), fine, side="right").astype(np.uint8)
    palette = [(0, 0, 0, 0), *inks]
    if hatched is not None and hatched.any():
        rows, columns = np.indices(fine.shape)
        lines = (zoom(hatched.astype(float), FINE, order=1) > 0.5) & ((rows + columns) % HATCH_PX < HATCH_LINE_PX)
        index[lines] = len(palette)
        palette.append(hatch)
    picture = Image.fromarray(index, "P")
    picture.putpalette([v for ink in palette for v in ink[:3]])
    out = io.BytesIO()
    picture.save(out, "PNG", optimize=True, transparency=bytes(ink[3] for ink in palette))
    x0, _, _, y1 = box
    rows_, columns_ = values.shape
    data = base64.b64encode(out.getvalue()).decode()
    return (f'<image x="{x0:.2f}" y="{-y1:.2f}" width="{(columns_ - 1) * step_mm:.2f}" '
            f'height="{(rows_ - 1) * step_mm:.2f}" preserveAspectRatio="none" href="data:image/png;base64,{data}"/>')
