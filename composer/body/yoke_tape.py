"""A taut tape on the trunk: the shortest way between two places, and its length."""

from __future__ import annotations

import numpy as np

from composer.body.yoke_shape import Trunk

PIECES = 24


def taut(trunk: Trunk, a: np.ndarray, b: np.ndarray, rounds: int = 25) -> np.ndarray:
    """The shortest line on the trunk from `a` to `b` (own coordinates), (25, 2), by Gauss-Newton on the
    energy of its pieces."""
    line = a + (b - a) * np.linspace(0, 1, PIECES + 1)[:, None]
    h, n = 0.05, PIECES - 1
    was = np.inf
    for _ in range(rounds):
        nudged = np.concatenate(
            [line, *(line[1:-1] + np.multiply(s, e) for e in ((h, 0.0), (0.0, h)) for s in (1, -1))]
        )
        space = trunk.embed(nudged)
        x = space[: n + 2]
        moves = space[n + 2 :].reshape(2, 2, n, 3)
        slope = (moves[:, 0] - moves[:, 1]) / (2 * h)
        gap = np.diff(x, axis=0)
        size = float(np.sqrt((gap * gap).sum(axis=1)).sum())
        if abs(was - size) < 1e-9:
            break
        was = size
        jac = np.zeros((n + 1, 3, 2, n))
        k = np.arange(n)
        jac[k, :, :, k] = slope.transpose(1, 2, 0)
        jac[k + 1, :, :, k] = -slope.transpose(1, 2, 0)
        step = np.linalg.lstsq(jac.reshape(3 * (n + 1), 2 * n), -gap.ravel(), rcond=None)[0]
        line[1:-1] += np.clip(step.reshape(2, n).T, -15.0, 15.0)
    return line


def length(trunk: Trunk, line: np.ndarray) -> float:
    """Length in space, mm, of a line through own coordinates (n, 2)."""
    return float(np.sqrt((np.diff(trunk.embed(line), axis=0) ** 2).sum(axis=1)).sum())


def tape(trunk: Trunk, a: np.ndarray, b: np.ndarray) -> float:
    """Length of the taut tape from `a` to `b`, mm."""
    return length(trunk, taut(trunk, np.asarray(a, float), np.asarray(b, float)))
