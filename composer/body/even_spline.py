"""Cubic splines over an even grid, looked up fast for many places at once.

The same spline as one that interpolates with "not a knot" ends (de Boor, "A Practical Guide to Splines", 2001,
chapter IV), written in B-splines on even knots, so that a look-up is sixteen weights found without any search.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.ndimage import map_coordinates


@dataclass(frozen=True, eq=False)
class EvenSpline:
    """Over x from `low[0]` and y from `low[1]` in steps of `step`; `coef` (nx + 2, ny + 2), real or complex."""

    low: tuple[float, float]
    step: tuple[float, float]
    coef: np.ndarray

    def __call__(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Values (n,) at places within the grid."""
        at = np.stack([(v - a) / h + 1 for v, a, h in zip((x, y), self.low, self.step, strict=True)])
        return map_coordinates(self.coef, at, order=3, prefilter=False, mode="nearest")


def even_spline(x: np.ndarray, y: np.ndarray, values: np.ndarray) -> EvenSpline:
    """The spline through `values` (nx, ny) over even grid lines `x` and `y`, at least four each."""
    parts = [_solver(len(x)) @ part @ _solver(len(y)).T for part in ([values.real, values.imag] if
                                                                     np.iscomplexobj(values) else [values])]
    coef = parts[0] + 1j * parts[1] if len(parts) == 2 else parts[0]
    return EvenSpline((float(x[0]), float(y[0])), (float(x[-1] - x[0]) / (len(x) - 1),
                                                   float(y[-1] - y[0]) / (len(y) - 1)), coef)


@lru_cache(maxsize=64)
def _solver(n: int) -> np.ndarray:
    """(n + 2, n): from values at n even places to coefficients. The third derivative runs on through the second
    place from either end: "not a knot"."""
    a = np.zeros((n + 2, n + 2))
    a[np.arange(n), np.arange(n)] = a[np.arange(n), np.arange(n) + 2] = 1 / 6
    a[np.arange(n), np.arange(n) + 1] = 4 / 6
    a[n, :5] = a[n + 1, -5:] = 1, -4, 6, -4, 1
    return np.linalg.inv(a)[:, :n]
