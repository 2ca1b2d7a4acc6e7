"""Dots against SciPy's Poisson-disc sampler, and their spectrum against what blue noise means.

References: scipy.stats.qmc.PoissonDisk (after Bridson, 'Fast Poisson disk sampling in arbitrary
dimensions', 2007); radially averaged power spectrum after Ulichney, 'Dithering with blue noise' (1988): next to
nothing at low frequencies, a peak at the principal frequency, about 1 beyond.
"""

from itertools import pairwise

import numpy as np
from scipy.spatial import cKDTree
from scipy.stats import qmc

from composer.filler.dots import poisson_dots

SIDE, R = 100.0, 2.0


def ours(seed: int) -> np.ndarray:
    dots = poisson_dots((0, 0, SIDE, SIDE), lambda p: np.full(len(p), R), np.random.default_rng(seed))
    return dots[((dots > 0) & (dots < SIDE)).all(axis=1)]


def theirs(seed: int) -> np.ndarray:
    return qmc.PoissonDisk(d=2, radius=R / SIDE, rng=np.random.default_rng(seed)).fill_space() * SIDE


def spectrum(dots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Radially averaged power by frequency (1/mm), 1 for white noise."""
    k = np.arange(-90, 91)
    wave = np.exp(-2j * np.pi * np.outer(k / SIDE, dots[:, 0])) @ np.exp(-2j * np.pi * np.outer(dots[:, 1], k / SIDE))
    power = np.abs(wave) ** 2 / len(dots)
    ring = np.hypot(*np.meshgrid(k, k))
    bins = np.arange(2, 90, 4)
    return (bins[:-1] + 2) / SIDE, np.array([power[(ring >= a) & (ring < b)].mean()
                                             for a, b in pairwise(bins)])


def test_no_two_dots_are_nearer_than_the_spacing() -> None:
    for seed in (1, 2):
        assert cKDTree(ours(seed)).query(ours(seed), k=2)[0][:, 1].min() >= R - 1e-9


def test_as_many_dots_as_scipys_sampler_sets() -> None:
    mine, known = len(ours(1)), len(theirs(1))
    assert abs(mine / known - 1) < 0.1, (mine, known)


def test_the_spectrum_is_that_of_blue_noise() -> None:
    f, mine = spectrum(ours(1))
    _, known = spectrum(theirs(1))
    _, white = spectrum(np.random.default_rng(1).uniform(0, SIDE, (1800, 2)))
    low = f < 0.45 / R
    assert mine[low].mean() < 0.2 < 0.7 < white[low].mean()
    assert mine[low].mean() < known[low].mean() + 0.1
    peak = f[np.argmax(mine)]
    assert abs(peak - f[np.argmax(known)]) <= 0.06 and 0.8 / R < peak < 1.3 / R
    assert mine.max() > 1.3
