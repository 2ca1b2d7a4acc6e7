"""A taut tape on the trunk: the shortest way between two places, and its length."""

from __future__ import annotations

import numpy as np
from scipy.linalg import solveh_banded

from composer.body.yoke_shape import Trunk

PIECES = 24
STEP_MM = 0.05
"""How far apart slopes are taken."""


def taut(trunk: Trunk, a: np.ndarray, b: np.ndarray, start: np.ndarray | None = None, rounds: int = 25) -> np.ndarray:
    """The shortest line on the trunk from `a` to `b` (own coordinates), (25, 2), by Gauss-Newton on the
    energy of its pieces, from a line near by (`start`, moved to the ends) or from the straight one."""
    line = carried(start, a, b) if start is not None else a + (b - a) * np.linspace(0, 1, PIECES + 1)[:, None]
    was = np.inf
    for _ in range(rounds):
        x, slope = _slopes(trunk, line)
        gap = np.diff(x, axis=0)
        size = float(np.sqrt((gap * gap).sum(axis=1)).sum())
        if abs(was - size) < 1e-9:
            break
        was = size
        line[1:-1] += np.clip(_step(slope, gap), -15.0, 15.0)
    return line


def _slopes(trunk: Trunk, line: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places in space (n + 2, 3) of a line and d(space) / d(own coordinates), (n, 3, 2), between its ends."""
    inner, off = line[1:-1], np.diag([STEP_MM, STEP_MM])
    space = trunk.embed(np.concatenate([line, *(inner + s * e for e in off for s in (1, -1))]))
    moved = space[len(line) :].reshape(2, 2, len(inner), 3)
    return space[: len(line)], ((moved[:, 0] - moved[:, 1]) / (2 * STEP_MM)).transpose(1, 2, 0)


def _step(slope: np.ndarray, gap: np.ndarray) -> np.ndarray:
    """How to move the inner places (n, 2) so that the sum of squares of the gaps (n + 1, 3) gets least, taking the
    slopes (n, 3, 2) for constant: normal equations with two by two blocks in three diagonals."""
    n = len(slope)
    own = 2 * np.einsum("nki,nkj->nij", slope, slope)
    next_ = -np.einsum("nki,nkj->nij", slope[:-1], slope[1:])
    band = np.zeros((4, 2 * n))     # row 3 the diagonal, above it what lies 1, 2 and 3 to the right
    band[3] = np.stack([own[:, 0, 0], own[:, 1, 1]], axis=1).ravel()
    band[2, 1::2], band[2, 2::2] = own[:, 0, 1], next_[:, 1, 0]
    band[1, 2:] = np.stack([next_[:, 0, 0], next_[:, 1, 1]], axis=1).ravel()
    band[0, 3::2] = next_[:, 0, 1]
    pull = np.einsum("nki,nk->ni", slope, gap[1:] - gap[:-1])
    return solveh_banded(band, pull.ravel(), overwrite_ab=True, overwrite_b=True, check_finite=False).reshape(n, 2)


def carried(line: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """A line moved so that it runs from `a` to `b`."""
    t = np.linspace(0, 1, len(line))[:, None]
    return line + (a - line[0]) * (1 - t) + (b - line[-1]) * t


def length(trunk: Trunk, line: np.ndarray) -> float:
    """Length in space, mm, of a line through own coordinates (n, 2)."""
    return float(np.sqrt((np.diff(trunk.embed(line), axis=0) ** 2).sum(axis=1)).sum())


def tape(trunk: Trunk, a: np.ndarray, b: np.ndarray) -> float:
    """Length of the taut tape from `a` to `b`, mm."""
    return length(trunk, taut(trunk, np.asarray(a, float), np.asarray(b, float)))
