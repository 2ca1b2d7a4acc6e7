"""The curves of scrollwork, as complex arrays: arcs whose curvature only grows.

A point x + iy is one complex number, so that turn, size and mirror of a whole family of curves
is one product. Unit curves start at 0 heading along +x and turn left; `r * t * z` brings one to
size r with heading t, the conjugate turns right. A curve of monotone curvature lies inside its
first osculating circle (Kneser 1912), so whether a scroll fits is a question about one disc.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.ndimage import correlate1d


def log_spiral_arc(shrink: float, turn_rad: float, n: int) -> np.ndarray:
    """n points of the logarithmic spiral whose radius of curvature falls linearly with arc
    length s: rho = 1 - shrink * s, heading = -ln(1 - shrink * s) / shrink (closed form, first radius 1).

    Evenly spaced by heading 0..turn_rad. Raises ValueError for a shrink that is not positive.
    """
    if shrink <= 0:
        raise ValueError("A scroll must tighten: its shrink has to be above 0.")
    theta = np.linspace(0.0, turn_rad, n)
    k = 1j - shrink
    return (np.exp(k * theta) - 1) / k


def clothoid_arc(length: float, k0: float, k1: float, n: int) -> np.ndarray:
    """n points of the clothoid of this length whose curvature runs linearly from k0 to k1.

    Integrated with Simpson's rule on a fine grid; the reference is the Fresnel integrals.
    """
    m = 4
    s = np.linspace(0.0, length, (n - 1) * m * 2 + 1)
    f = np.exp(1j * (k0 * s + (k1 - k0) * s * s / (2 * max(length, 1e-12))))
    h = s[1] - s[0]
    cells = h / 3 * (f[:-2:2] + 4 * f[1:-1:2] + f[2::2])
    return np.concatenate([[0], np.cumsum(cells)])[::m]


def _even_smooth(z: np.ndarray, n: int) -> np.ndarray:
    """As `even`, by a cubic spline: the curvature survives."""
    s = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(z)))])
    p = CubicSpline(s, np.column_stack([z.real, z.imag]))(np.linspace(0, s[-1], n))
    out = p[:, 0] + 1j * p[:, 1]
    out.setflags(write=False)
    return out


def unit_tangents(z: np.ndarray) -> np.ndarray:
    """Unit tangents (n,) of a path whose vertices need not be evenly spaced."""
    way = z[1:] - z[:-1]
    step = np.maximum(np.abs(way), 1e-9)
    unit = way / step
    t = np.empty(len(z), complex)
    t[1:-1] = (unit[1:] * step[:-1] + unit[:-1] * step[1:]) / (step[1:] + step[:-1])
    t[0], t[-1] = (2 * unit[0] - t[1], 2 * unit[-1] - t[-2]) if len(z) > 2 else (unit[0], unit[-1])
    return t / np.maximum(np.abs(t), 1e-12)


def clamped(u: np.ndarray, z: np.ndarray, v0: complex, v1: complex, t: np.ndarray) -> np.ndarray:
    """The cubic spline (curvature continuous) through the few complex places `z` at parameters `u`, with the
    derivatives v0 and v1 at its ends, read at `t`. Hermite form; the derivatives between solve de Boor's tridiagonal
    system (A Practical Guide to Splines, ch. IV)."""
    h = u[1:] - u[:-1]
    m, n = np.zeros(len(u), complex), len(u) - 2
    m[0], m[-1] = v0, v1
    if n > 0:
        slope, a = (z[1:] - z[:-1]) / h, np.zeros((n, n))
        a.flat[:: n + 1], a.flat[n :: n + 1] = 2 * (h[:-1] + h[1:]), h[2:]
        a.flat[1 :: n + 1] = h[:-2]
        b = 3 * (h[1:] * slope[:-1] + h[:-1] * slope[1:])
        b[0] -= h[1] * v0
        b[-1] -= h[-2] * v1
        m[1:-1] = np.linalg.solve(a, b)
    k = np.minimum(np.maximum(np.searchsorted(u, t, side="right") - 1, 0), len(h) - 1)
    g = h[k]
    x = (t - u[k]) / g
    y = 1 - x
    return z[k] * y * y * (1 + 2 * x) + z[k + 1] * x * x * (3 - 2 * x) + g * x * y * (m[k] * y - m[k + 1] * x)


@lru_cache(maxsize=1024)
def counted(n: int) -> np.ndarray:
    """The numbers below n, kept, so not to be written to."""
    out = np.arange(n, dtype=float)
    out.setflags(write=False)
    return out


def up_to(stop: float, n: int) -> np.ndarray:
    """`numpy.linspace(0, stop, n)` for n of 2 or more, to the last bit, without its many questions."""
    step = stop / (n - 1)
    out = counted(n) * step if step else counted(n) / (n - 1) * stop
    out[-1] = stop
    return out


@lru_cache(maxsize=1024)
def shares(n: int) -> np.ndarray:
    """`numpy.linspace(0, 1, n)`, kept, so not to be written to."""
    out = np.linspace(0.0, 1.0, n)
    out.setflags(write=False)
    return out


def length_of(z: np.ndarray) -> float:
    """Length of a path along its vertices."""
    return float(np.abs(z[1:] - z[:-1]).sum())


def even(z: np.ndarray, n: int) -> np.ndarray:
    """The same path with n points evenly spaced by arc length."""
    s = np.zeros(len(z))
    np.abs(z[1:] - z[:-1]).cumsum(out=s[1:])
    t = up_to(s[-1], n)
    out = np.empty(n, complex)
    out.real, out.imag = np.interp(t, s, z.real), np.interp(t, s, z.imag)
    return out


@lru_cache(maxsize=256)
def _bell(sigma: float) -> np.ndarray:
    """The weights of `scipy.ndimage.gaussian_filter1d`."""
    x = np.arange(-int(4.0 * sigma + 0.5), int(4.0 * sigma + 0.5) + 1)
    bell = np.exp(-0.5 / (sigma * sigma) * x**2)
    return bell / bell.sum()


def smoothed(z: np.ndarray, sigma: float, mode: str = "nearest") -> np.ndarray:
    """A real or complex row (n,) smoothed over so many places: `scipy.ndimage.gaussian_filter1d` to the last bit, which
    makes its weights anew each time and takes a complex row in two."""
    if not np.iscomplexobj(z):
        return correlate1d(z, _bell(float(sigma)), mode=mode)
    out = np.empty(len(z), complex)
    parts = correlate1d(np.stack([z.real, z.imag]), _bell(float(sigma)), mode=mode)
    out.real, out.imag = parts
    return out


@lru_cache(maxsize=1024)
def _spread(n: int, m: int) -> np.ndarray:
    """m of the numbers below n, evenly spread from the first to the last."""
    out = np.linspace(0, n - 1, m).round().astype(int)
    out.setflags(write=False)
    return out


@dataclass(frozen=True)
class Form:
    """A unit curve of a family. `z` (n,) complex, evenly spaced; `length` of it in units of r;
    `turn_rad` how far it turns in all; `probe` indices of points that are tested first."""

    name: str
    z: np.ndarray
    length: float
    turn_rad: float
    probe: np.ndarray

    def cut(self, m: int) -> tuple[np.ndarray, np.ndarray]:
        """m of the points from end to end, with their share of the length."""
        k = _spread(len(self.z), m)
        return self.z[k], k / (len(self.z) - 1)

    def cut_tangents(self, m: int) -> np.ndarray:
        """The unit tangents at the points of `cut`."""
        return self.tangents()[_spread(len(self.z), m)]

    def tangents(self) -> np.ndarray:
        """Unit tangents (n,) complex."""
        return unit_tangents(self.z)


@lru_cache(maxsize=256)
def scroll(turn_deg: int, keep: float, lead: float, n: int = 480) -> Form:
    """A scroll: a clothoid lead-in of `lead` radii, then a log spiral that turns `turn_deg` in
    all and keeps the share `keep` of its radius with each full turn."""
    shrink = -np.log(keep) / (2 * np.pi)
    if lead > 0:
        k0 = 0.12
        head = clothoid_arc(lead, k0, 1.0, 160)
        bent = lead * (k0 + 1) / 2
        tail = log_spiral_arc(shrink, max(np.radians(turn_deg) - bent, 0.2), 400)
        z = np.concatenate([head, head[-1] + np.exp(1j * bent) * tail[1:]])
    else:
        z = log_spiral_arc(shrink, np.radians(turn_deg), 500)
    length = float(np.abs(np.diff(z)).sum())
    z = _even_smooth(z, n)
    far = np.linspace(n // 6, n - 1, 7).round().astype(int)
    return Form(f"scroll-{turn_deg}-{keep}-{lead}", z, length, float(np.radians(turn_deg)), far)


@lru_cache(maxsize=64)
def frond(turn_deg: int, bend_share: float = 0.5, n: int = 160) -> Form:
    """The spine of a leaf: unit length, curvature growing from near 0, turning `turn_deg` in all."""
    a = np.radians(turn_deg)
    low = 2 * a * (1 - bend_share) * 0.6
    z = _even_smooth(clothoid_arc(1.0, low, 2 * a - low, 120), n)
    return Form(f"frond-{turn_deg}", z, 1.0, float(a), np.linspace(n // 4, n - 1, 6).round().astype(int))
