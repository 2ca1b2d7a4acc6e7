"""A line drawing of a lightness field: the flow-guided difference of Gaussians.

Kang, Lee and Chui, 'Coherent line drawing', NPAR 2007: a difference of Gaussians is taken across the edge and summed
along it, so that strokes come out whole where an isotropic filter gives crumbs. The flow is the minor eigenvector of
the smoothed structure tensor (Kyprianidis and Doellner 2008; Winnemoeller, Kyprianidis and Olsen, 'XDoG', Computers &
Graphics 2012), which needs no rounds of smoothing. Fields are float32 (h, w), row 0 on top.
"""

from __future__ import annotations

import numpy as np
from scipy import ndimage

SIGMA = 1.25
"""Pixels: the inner Gaussian. The field is scaled beforehand so that this is as fine as is wanted."""

OUTER = 1.6
"""Outer over inner Gaussian (Marr and Hildreth 1980)."""

RHO = 0.993
"""Weight of the outer Gaussian; under 1, so that a dark field gives a little more line than a light one."""

TENSOR = 2.4
ALONG = 3.2
_REACH = 6


def flow(light: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Unit vectors (tx, ty) along the edges."""
    f = np.float32
    smooth = ndimage.gaussian_filter(light, SIGMA * 0.8)
    gx = ndimage.sobel(smooth, axis=1, output=f)
    gy = ndimage.sobel(smooth, axis=0, output=f)
    e = ndimage.gaussian_filter(gx * gx, TENSOR)
    g = ndimage.gaussian_filter(gy * gy, TENSOR)
    m = ndimage.gaussian_filter(gx * gy, TENSOR)
    turn = 0.5 * np.arctan2(2 * m, e - g)  # across the edge
    return -np.sin(turn).astype(f), np.cos(turn).astype(f)


class _Sampler:
    """A field read between its pixels; beyond its edge the edge goes on."""

    def __init__(self, field: np.ndarray, pad: int) -> None:
        self.flat = np.pad(field, pad, mode="edge").ravel()
        self.width, self.pad = field.shape[1] + 2 * pad, pad

    def at(self, y: np.ndarray, x: np.ndarray) -> np.ndarray:
        y, x = y + np.float32(self.pad), x + np.float32(self.pad)
        iy, ix = y.astype(np.int32), x.astype(np.int32)
        fy, fx = y - iy, x - ix
        k = iy * self.width + ix
        top = self.flat.take(k)
        top += fx * (self.flat.take(k + 1) - top)
        k += self.width
        low = self.flat.take(k)
        low += fx * (self.flat.take(k + 1) - low)
        return top + fy * (low - top)

    def near(self, y: np.ndarray, x: np.ndarray) -> np.ndarray:
        k = (y + np.float32(self.pad + 0.5)).astype(np.int32) * self.width
        k += (x + np.float32(self.pad + 0.5)).astype(np.int32)
        return self.flat.take(k)


def line_field(light: np.ndarray, floor: float) -> np.ndarray:
    """How strongly a dark line runs through each pixel: the negated response, in units of lightness (0..1 in).

    Pixels whose plain difference of Gaussians, and that of their neighbours, stays under a quarter of `floor` are not
    looked at further; they can't reach it.
    """
    f = np.float32
    w = light.shape[1]
    plain = RHO * ndimage.gaussian_filter(light, SIGMA * OUTER) - ndimage.gaussian_filter(light, SIGMA)
    live = np.flatnonzero(ndimage.maximum_filter(plain, 5) > 0.25 * floor)
    if not len(live):
        return plain
    tx, ty = flow(light)
    y, x = np.divmod(live, w)
    y, x = y.astype(f), x.astype(f)
    nx, ny = -ty.ravel()[live], tx.ravel()[live]
    radius = int(np.ceil(2.3 * SIGMA * OUTER))
    t = np.arange(-radius, radius + 1)
    inner, outer = (np.exp(-0.5 * (t / s) ** 2) for s in (SIGMA, SIGMA * OUTER))
    weight = (RHO * outer / outer.sum() - inner / inner.sum()).astype(f)
    read = _Sampler(light, radius + 2)
    across = np.zeros(len(live), f)
    for k, share in zip(t, weight, strict=True):
        across += share * (read.at(y, x) if k == 0 else read.at(y + f(k) * ny, x + f(k) * nx))
    field = plain
    field.ravel()[live] = across
    return _along(field, live, y, x, tx, ty)


def _along(field: np.ndarray, live: np.ndarray, y0: np.ndarray, x0: np.ndarray, tx: np.ndarray,
           ty: np.ndarray) -> np.ndarray:
    """The field summed along the flow, a pixel a step both ways, by a Gaussian of ALONG pixels."""
    f = np.float32
    h, w = field.shape
    pad = 2
    read, read_x, read_y = _Sampler(field, pad), _Sampler(tx, pad), _Sampler(ty, pad)
    total = field.ravel()[live].copy()
    whole = f(1.0)
    step = ALONG * 2.2 / _REACH
    for way in (1.0, -1.0):
        y, x = y0.copy(), x0.copy()
        vx, vy = f(way) * tx.ravel()[live], f(way) * ty.ravel()[live]
        for k in range(1, _REACH + 1):
            y += f(step) * vy
            x += f(step) * vx
            np.clip(y, 0, h - 1, out=y)
            np.clip(x, 0, w - 1, out=x)
            share = f(np.exp(-0.5 * (k * step / ALONG) ** 2))
            total += share * read.at(y, x)
            if way > 0:
                whole += 2 * share
            if k < _REACH:
                ax, ay = read_x.near(y, x), read_y.near(y, x)
                sign = np.where(ax * vx + ay * vy < 0, f(-1), f(1))
                vx, vy = sign * ax, sign * ay
    out = field.copy()
    out.ravel()[live] = total / whole
    return out
