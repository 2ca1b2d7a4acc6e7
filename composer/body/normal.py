"""The multivariate normal: what is known of some variables says about the others.

Conditional distribution of a partitioned normal (T. W. Anderson, An Introduction to Multivariate
Statistical Analysis, theorem 2.5.1; also Mardia, Kent and Bibby, Multivariate Analysis, 1979,
theorem 3.2.4): mean m1 + S12 S22^-1 (x2 - m2), covariance S11 - S12 S22^-1 S21.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri  # the normal's own; scipy.stats takes 16 MB to load


@dataclass(frozen=True, eq=False)
class Normal:
    """A normal over named variables: `mean` (n,), `cov` (n, n), in the units of the variables."""

    names: tuple[str, ...]
    mean: np.ndarray
    cov: np.ndarray

    def _at(self, names: list[str]) -> np.ndarray:
        return np.array([self.names.index(n) for n in names], dtype=int)

    def given(self, known: dict[str, float]) -> tuple[Normal, float]:
        """The normal of all other variables given the known ones, and the log density of those.

        The density is what weighs one population against another. Raises ValueError when a name
        is not among the variables (by `tuple.index`).
        """
        rest = [n for n in self.names if n not in known]
        if not known:
            return self, 0.0
        a, b = self._at(rest), self._at(list(known))
        off = np.array(list(known.values())) - self.mean[b]
        factor = cho_factor(self.cov[np.ix_(b, b)])
        pull = cho_solve(factor, off)
        cross = self.cov[np.ix_(a, b)]
        density = -0.5 * (off @ pull + len(b) * np.log(2 * np.pi)) - np.log(np.diag(factor[0])).sum()
        cov = self.cov[np.ix_(a, a)] - cross @ cho_solve(factor, cross.T)
        return Normal(tuple(rest), self.mean[a] + cross @ pull, cov), float(density)

    def marginal(self, name: str) -> tuple[float, float]:
        """Mean and SD of one variable."""
        i = self.names.index(name)
        return float(self.mean[i]), float(np.sqrt(max(self.cov[i, i], 0.0)))


def mixture_range(parts: list[tuple[float, float, float]], share: float = 0.9) -> tuple[float, float, float]:
    """Mean and central range of a mixture of normals, parts being (weight, mean, sd), weights adding to 1.

    The range leaves (1 - share) / 2 on either side; its ends are roots of the mixture's own
    distribution function, so it is right for two humps too.
    """
    mean = sum(w * m for w, m, _ in parts)
    parts = [(w, m, max(s, 1e-9)) for w, m, s in parts if w > 1e-12]
    if len(parts) == 1:
        half = float(ndtri(0.5 + share / 2)) * parts[0][2]
        return mean, parts[0][1] - half, parts[0][1] + half
    lo, hi = min(m - 9 * s for _, m, s in parts), max(m + 9 * s for _, m, s in parts)

    def end(q: float) -> float:
        return float(brentq(lambda x: sum(w * ndtr((x - m) / s) for w, m, s in parts) - q, lo, hi, xtol=1e-6))

    return mean, end((1 - share) / 2), end((1 + share) / 2)
