"""What becomes of paper, or of skin laid flat, that is strained: where its points go.

Skin laid flat as rigidly as can be moves by a displacement w whose symmetric gradient comes nearest to its strain
(least squares over the piece: linear elasticity, as in any textbook). w is sought as a polynomial over the outline,
less the rigid motion in it.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

ROWS, ACROSS, DEGREE, CORRECTIONS = 9, 9, 7, 2
_ROWS, _HEAVY = np.polynomial.legendre.leggauss(ROWS)
_NODES, _WEIGHT = np.polynomial.legendre.leggauss(ACROSS)
LEVELS = (1 + np.interp(np.arange(2 * ROWS + 3) / 2, np.arange(ROWS + 2), [-1 + 1e-6, *_ROWS, 1 - 1e-6])) / 2
"""Shares of a piece's height: both ends, Gauss's levels (every other one from the third), and half way between."""


def root_of(m: np.ndarray) -> np.ndarray:
    """Roots of symmetric positive matrices (n, 2, 2): (m + root of its determinant) / their trace."""
    root = np.sqrt(np.maximum(m[:, 0, 0] * m[:, 1, 1] - m[:, 0, 1] ** 2, 1e-12))
    trace = np.sqrt(m[:, 0, 0] + m[:, 1, 1] + 2 * root)
    return (m + root[:, None, None] * np.eye(2)) / trace[:, None, None]


@lru_cache(maxsize=128)
def paper_of(y: bytes, left: bytes, right: bytes) -> StrainedPaper:
    """The paper of an outline in units of its reach: levels as by LEVELS, what it reaches to left and right there, as
    bytes of floats (kept)."""
    return StrainedPaper(*(np.frombuffer(v) for v in (y, left, right)))


@lru_cache(maxsize=1)
def _powers() -> np.ndarray:
    return np.array([(k - j, j) for k in range(1, DEGREE + 1) for j in range(k + 1)])


class StrainedPaper:
    """A piece in units of its reach: points `at` (m, 2), of which the first `spread` lie all over it and stand for
    shares `area` of it, the rest on its rim; and what strain makes of them."""

    def __init__(self, y: np.ndarray, left: np.ndarray, right: np.ndarray) -> None:
        middle, half = (left + right) / 2, (right - left) / 2
        some = slice(2, 2 * ROWS + 1, 2)
        inner = np.column_stack([(middle[some, None] + half[some, None] * _NODES).ravel(), np.repeat(y[some], ACROSS)])
        self.at = np.concatenate([inner, np.column_stack([left, y]), np.column_stack([right, y])])
        self.spread = n = len(inner)
        area = (half[some, None] * _HEAVY[:, None] * _WEIGHT).ravel()
        self.area = area / area.sum()
        i, j = _powers().T
        x, y = (np.vander(v, DEGREE + 1, increasing=True) for v in self.at.T)
        self.rise = x[:, i] * y[:, j]
        self.by_x = i * x[:n, np.maximum(i - 1, 0)] * y[:n, j]
        self.by_y = j * x[:n, i] * y[:n, np.maximum(j - 1, 0)]
        self._root = np.sqrt(self.area)[:, None]
        by_x, by_y, none = self._root * self.by_x, self._root * self.by_y, np.zeros_like(self.by_x)
        rows = np.concatenate([np.hstack([by_x, none]), np.hstack([none, by_y]),
                               np.hstack([by_y, by_x]) * np.sqrt(0.5)])
        square = rows.T @ rows
        square[np.diag_indices_from(square)] += 1e-9 * np.trace(square) / len(square)
        self._solve = np.linalg.solve(square, rows.T)

    def _coef(self, *strains: np.ndarray) -> np.ndarray:
        """Coefficients (terms, 2, k) of the displacements whose strain is nearest to each of k (n, 2, 2)."""
        e = np.stack(strains, axis=3)
        told = np.concatenate([self._root * v for v in (e[:, 0, 0], e[:, 1, 1], np.sqrt(2.0) * e[:, 0, 1])])
        return (self._solve @ told).reshape(2, -1, len(strains)).transpose(1, 0, 2)

    def bends(self, *strains: np.ndarray) -> np.ndarray:
        """Displacements (m, k), x + iy, for small strains (n, 2, 2), less their rigid motion."""
        coef = self._coef(*strains)
        return self._settled(self.rise @ coef[:, 0] + 1j * (self.rise @ coef[:, 1]))

    def moved(self, skin: np.ndarray) -> np.ndarray:
        """Displacement (m, 1), x + iy, of skin that is laid flat as rigidly as can be, where it is longer than paper by
        `skin` (n, 2, 2), less its rigid motion. Strain that a turn makes is put right again, CORRECTIONS times."""
        back = np.linalg.inv(skin)
        coef = self._coef(skin - np.eye(2))[:, :, 0]
        for _ in range(CORRECTIONS):
            grown = np.eye(2) + np.stack([self.by_x @ coef, self.by_y @ coef], axis=2)
            lies = grown @ back
            coef = coef - self._coef(root_of(np.einsum("nki,nkj->nij", lies, lies)) - np.eye(2))[:, :, 0]
        return self._settled((self.rise @ coef @ np.array([1.0, 1j]))[:, None])

    def _settled(self, w: np.ndarray) -> np.ndarray:
        n = self.spread
        w = w - self.area @ w[:n]
        arm = (self.at - self.area @ self.at[:n]) @ np.array([1.0, 1j])
        turn = (self.area * arm[:n].conj() @ w[:n]).imag / (self.area @ np.abs(arm[:n]) ** 2)
        return w - 1j * arm[:, None] * turn
