"""Where a path crosses itself."""

from __future__ import annotations

import numpy as np


def passages(path: np.ndarray) -> np.ndarray:
    """Indices (float, rising) along a path (n, 2) at which it passes a crossing with itself: two for each."""
    a, d = path[:-1], np.diff(path, axis=0)
    i, j = np.triu_indices(len(d), 3)
    near = np.abs(a[i] - a[j]).max(axis=1) < 2.5 * np.abs(d).max() + 1e-9
    i, j = i[near], j[near]
    den = d[i, 0] * d[j, 1] - d[i, 1] * d[j, 0]
    ok = np.abs(den) > 1e-12
    i, j, den = i[ok], j[ok], den[ok]
    w = a[j] - a[i]
    t = (w[:, 0] * d[j, 1] - w[:, 1] * d[j, 0]) / den
    u = (w[:, 0] * d[i, 1] - w[:, 1] * d[i, 0]) / den
    hit = (t >= 0) & (t < 1) & (u >= 0) & (u < 1)
    return np.sort(np.concatenate([i[hit] + t[hit], j[hit] + u[hit]]))
