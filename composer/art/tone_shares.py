"""How much of a drawing is black, dark, mid, light and open skin, read off a picture of it."""

from __future__ import annotations

import numpy as np

from composer.art.drawing import ROLES, Drawing

TONES = ("black", "dark", "mid", "light", "open")
PIXELS = 140


def tones_of(drawing: Drawing, pixels: int = PIXELS) -> dict[str, float]:
    """Shares of the silhouette by the tone that lies uppermost; they add up to 1. Line work counts as black, as
    it does on skin. `pixels` a side of the picture; good to about a hundredth. No valid area is made of the rings,
    which would take a hundred times as long."""
    outline = [r for r in drawing.silhouette if len(r) >= 3]
    if not outline:
        return {**dict.fromkeys(TONES, 0.0), "open": 1.0}
    at = np.concatenate(outline)
    low, wide = at.min(axis=0), max(float(np.ptp(at, axis=0).max()), 1e-6)
    tone = np.full((pixels, pixels), len(TONES) - 1)
    for layer in sorted(drawing.layers, key=lambda la: ROLES.index(la.role)):
        inked = _filled(layer.rings, low, wide, pixels)
        tone[inked] = TONES.index("black" if layer.role == "line" else layer.role)
    inside = tone[_filled(tuple(outline), low, wide, pixels)]
    if not len(inside):
        return {**dict.fromkeys(TONES, 0.0), "open": 1.0}
    return dict(zip(TONES, (np.bincount(inside, minlength=len(TONES)) / len(inside)).tolist(), strict=True))


def _filled(rings: tuple[np.ndarray, ...], low: np.ndarray, wide: float, pixels: int) -> np.ndarray:
    """Which pixels (rows, columns) have their middle inside rings by the even-odd rule; (0, 0) at `low`, `wide` mm a
    side. A pixel is inside when an odd number of edges cross its row to the left of it."""
    whole = [r for r in rings if len(r) >= 3]
    if not whole:
        return np.zeros((pixels, pixels), bool)
    xy = (np.concatenate(whole) - low) * (pixels / wide) - 0.5
    stop = np.cumsum([len(r) for r in whole])
    after = np.arange(1, len(xy) + 1)
    after[stop - 1] = stop - [len(r) for r in whole]
    (x0, y0), (x1, y1) = xy.T, xy[after].T
    first = np.clip(np.ceil(np.minimum(y0, y1)), 0, pixels).astype(int)
    count = np.clip(np.ceil(np.maximum(y0, y1)), 0, pixels).astype(int) - first
    edge = np.repeat(np.arange(len(xy)), count)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    x = x0[edge] + (row - y0[edge]) * (x1 - x0)[edge] / (y1 - y0)[edge]
    crossed = np.zeros((pixels, pixels + 1), int)
    np.add.at(crossed, (row, np.clip(np.ceil(x), 0, pixels).astype(int)), 1)
    return (np.cumsum(crossed, axis=1)[:, :pixels] % 2).astype(bool)
