"""Rings at a level of a field, against another implementation: scikit-image's `find_contours`."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage
from skimage.measure import find_contours

from composer.art.level_rings import level_rings


def lone(ring: np.ndarray) -> np.ndarray:
    """The ring begun at its least point and run so that the smaller neighbour comes next."""
    ring = np.roll(ring, -np.lexsort((ring[:, 1], ring[:, 0]))[0], axis=0)
    return ring if tuple(ring[1]) < tuple(ring[-1]) else np.vstack([ring[:1], ring[:0:-1]])


@pytest.mark.parametrize("seed", range(6))
def test_as_another_implementation_reads_them(seed: int) -> None:
    rng = np.random.default_rng(seed)
    field = ndimage.gaussian_filter(rng.normal(size=rng.integers(3, 90, 2)), 0.3 * seed).astype(np.float32)
    level = float(np.quantile(field, 0.4 + 0.05 * seed)) + 1e-9
    field = np.pad(field, 1, constant_values=float(field.min()) - 1)
    points, sizes = level_rings(field, level)
    mine = sorted((lone(r) for r in np.split(points, np.cumsum(sizes)[:-1])), key=lambda r: r[0].tolist())
    theirs = sorted((lone(r[:-1]) for r in find_contours(field, level)), key=lambda r: r[0].tolist())
    assert [len(r) for r in mine] == [len(r) for r in theirs] and len(mine) > 0
    assert max(np.abs(a - b).max() for a, b in zip(mine, theirs, strict=True)) < 1e-6


def test_nothing_above_the_level_has_no_rings() -> None:
    points, sizes = level_rings(np.zeros((4, 5)), 0.5)
    assert points.shape == (0, 2) and len(sizes) == 0
