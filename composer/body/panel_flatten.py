"""A curved panel laid flat with as little stretch as can be: polynomials fitted as rigid as possible.

Energy and alternation (nearest rotation at every sample, then one linear least-squares fit) are
those of L. Liu et al., "A Local/Global Approach to Mesh Parameterization", 2008; here the flat
place is a polynomial of the surface's own coordinates instead of one unknown per vertex, so the
map is smooth, mirror-symmetric by construction, and the same on every machine.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

DEGREE = 9
ROUNDS = 60


@dataclass(frozen=True)
class Flattening:
    """Polynomials (p, v) -> (x, y), both in mm; p and v are divided by `scale` first. x is odd in p,
    y is even, so the midline p = 0 stays straight. `powers` of each basis, `coef` of each."""

    scale: tuple[float, float]
    x_powers: np.ndarray
    y_powers: np.ndarray
    x_coef: np.ndarray
    y_coef: np.ndarray

    def to_flat(self, pv: np.ndarray) -> np.ndarray:
        """Own coordinates (n, 2) of the surface to flat mm (n, 2)."""
        z = np.asarray(pv, float) / self.scale
        return np.column_stack([basis(z, self.x_powers) @ self.x_coef, basis(z, self.y_powers) @ self.y_coef])

    def jacobian(self, pv: np.ndarray) -> np.ndarray:
        """d(flat) / d(p, v), (n, 2, 2)."""
        z = np.asarray(pv, float) / self.scale
        rows = [
            [slope(z, powers, k) @ coef / self.scale[k] for k in (0, 1)]
            for powers, coef in ((self.x_powers, self.x_coef), (self.y_powers, self.y_coef))
        ]
        return np.array(rows).transpose(2, 0, 1)

    def from_flat(self, xy: np.ndarray, start: np.ndarray, rounds: int = 30) -> np.ndarray:
        """Inverse by Newton from `start` (n, 2), steps kept short; to about 1e-10 mm inside the fit."""
        pv = np.array(start, float)
        for _ in range(rounds):
            miss = xy - self.to_flat(pv)
            if np.abs(miss).max() < 1e-11:
                break
            step = np.linalg.solve(self.jacobian(pv), miss[:, :, None])[:, :, 0]
            pv += np.clip(step, -40.0, 40.0)
        return pv


def flatten(
    metric: Callable[[np.ndarray], np.ndarray],
    pv: np.ndarray,
    weight: np.ndarray,
    degree: int = DEGREE,
    rounds: int = ROUNDS,
) -> Flattening:
    """The flattening of a surface whose metric (n, 2, 2) in its own coordinates `metric` gives, over
    sample places `pv` (n, 2) that stand for `weight` (n,) of its area. p = 0 is the midline and
    goes to x = 0, running up; (0, 0) goes to the origin. Left and right are taken for alike.
    """
    pv = np.asarray(pv, float)
    scale = (float(np.abs(pv[:, 0]).max()), float(np.abs(pv[:, 1]).max()))
    z = pv / scale
    xp = np.array([(i, j) for i in range(1, degree + 1, 2) for j in range(degree + 1 - i)])
    yp = np.array([(i, j) for i in range(0, degree + 1, 2) for j in range(degree + 1 - i) if i + j > 0])
    # columns of `frame`: two unit vectors square to each other on the surface, in (p, v)
    low = np.linalg.cholesky(metric(pv))
    frame = np.linalg.inv(low).transpose(0, 2, 1)
    root = np.sqrt(weight / weight.sum())
    systems, sizes = [], []
    for powers in (xp, yp):
        grad = np.stack([slope(z, powers, k) / scale[k] for k in (0, 1)], axis=1)
        rows = np.einsum("nkb,nkc->ncb", grad, frame) * root[:, None, None]
        a = rows.reshape(-1, len(powers))
        size = np.sqrt((a * a).sum(axis=0))
        systems.append(np.linalg.qr(a / size))
        sizes.append(size)
    turn = rotation(low.transpose(0, 2, 1))
    coefs = [np.zeros(0), np.zeros(0)]
    for _ in range(rounds):
        before = turn
        jac = np.empty((len(pv), 2, 2))
        for k, (q, r) in enumerate(systems):
            right = (turn[:, k, :] * root[:, None]).ravel()
            c = solve_triangular(r, q.T @ right)
            coefs[k] = c / sizes[k]
            jac[:, k, :] = (q @ (r @ c)).reshape(-1, 2) / root[:, None]
        turn = rotation(jac)
        if np.abs(turn - before).max() < 1e-6:
            break
    return Flattening(scale, xp, yp, coefs[0], coefs[1])


def rotation(j: np.ndarray) -> np.ndarray:
    """Nearest rotations (n, 2, 2), closed form for two dimensions."""
    a, b = j[:, 0, 0] + j[:, 1, 1], j[:, 1, 0] - j[:, 0, 1]
    n = np.hypot(a, b)
    out = np.empty((len(j), 2, 2))
    out[:, 0, 0] = out[:, 1, 1] = a / n
    out[:, 1, 0] = b / n
    out[:, 0, 1] = -out[:, 1, 0]
    return out


def principal(jac: np.ndarray, metric: np.ndarray) -> np.ndarray:
    """Principal stretches (n, 2), larger first, of paper -> skin, from d(paper) / d(sheet) and the skin's metric in the
    sheet, (n, 2, 2) each: the roots of the eigenvalues of the metric on paper, closed form for two dimensions."""
    det = jac[:, 0, 0] * jac[:, 1, 1] - jac[:, 0, 1] * jac[:, 1, 0]
    down = np.empty_like(jac)
    down[:, 0, 0], down[:, 1, 1], down[:, 0, 1], down[:, 1, 0] = (
        jac[:, 1, 1], jac[:, 0, 0], -jac[:, 0, 1], -jac[:, 1, 0])
    down /= det[:, None, None]
    m = np.swapaxes(down, 1, 2) @ metric @ down
    half, off = (m[:, 0, 0] + m[:, 1, 1]) / 2, np.hypot((m[:, 0, 0] - m[:, 1, 1]) / 2, m[:, 0, 1])
    return np.sqrt(np.maximum(np.column_stack([half + off, half - off]), 0.0))


def basis(z: np.ndarray, powers: np.ndarray) -> np.ndarray:
    top = int(powers.max(initial=0))
    rise = np.ones((2, top + 1, len(z)))
    for k in range(1, top + 1):
        rise[:, k] = rise[:, k - 1] * z.T
    return (rise[0, powers[:, 0]] * rise[1, powers[:, 1]]).T


def slope(z: np.ndarray, powers: np.ndarray, axis: int) -> np.ndarray:
    """Derivative of the basis by one scaled coordinate, (n, k)."""
    less = powers.copy()
    less[:, axis] = np.maximum(less[:, axis] - 1, 0)
    return basis(z, less) * powers[:, axis]
