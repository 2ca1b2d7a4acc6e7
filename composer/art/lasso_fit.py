"""A rough line round a subject, drawn in to its edge.

Colours outside the line are the ground's, colours inside that are rare there the subject's (histograms in Lab,
learned again from each result, as in Rother, Kolmogorov and Blake 2004). Where colour alone does not say, the
random walker of Grady 2006 (scikit-image) decides from the sure pixels round about.
"""

from __future__ import annotations

import warnings

import numpy as np
from scipy import ndimage

from composer.art.pixels import settled_edge, stretched

WALK_PIXELS = 90_000
_BINS = (20, 16, 16)
_LOW, _SPAN = np.array([0.0, -60.0, -60.0]), np.array([100.0, 120.0, 120.0])
SURE = 2.2
"""Logarithm of how many times likelier one side must be before a pixel is sure."""


DEPTH_ODDS, DEPTH = 2.5, 0.06
"""What lies this share of the size within the line is likelier the subject by this much (logarithm): whoever draws a
line round something stays near it."""


def fit_inside(colour: np.ndarray, inside: np.ndarray, holes: bool,
               marks: np.ndarray | None = None) -> np.ndarray | None:
    """Field (h, w) 0..1, above a half where the subject is. `colour` (h, w, 3) Lab, `inside` (h, w) bool: within
    the line; `marks` (h, w) int: 1 where it was marked as subject, -1 as ground. None where nothing inside differs
    from outside."""
    step = max(1, int(np.ceil((inside.size / WALK_PIXELS) ** 0.5)))
    small = _shrunk(ndimage.gaussian_filter(colour, (step / 2, step / 2, 0)), step)
    within = _shrunk(inside, step)
    said = np.zeros(within.shape, int) if marks is None else _shrunk(_spread(marks, step), step)
    odds, differs = _odds(small, within, said)
    if differs < 0.02:
        return None
    field = _walk(small, odds, within, holes, said)
    fine = stretched(field, inside.shape)
    band = np.abs(fine - 0.5) < 0.49
    band = ndimage.binary_dilation(band, iterations=step)
    return settled_edge(colour, fine, band, 1.6 * step) if step > 1 else ndimage.gaussian_filter(fine, 0.8)


def _spread(marks: np.ndarray, step: int) -> np.ndarray:
    """Marks made wide enough to be met when only every `step`th pixel is looked at."""
    return ndimage.maximum_filter(marks, step + 1) + ndimage.minimum_filter(marks, step + 1)


def _shrunk(a: np.ndarray, step: int) -> np.ndarray:
    return a[step // 2 :: step, step // 2 :: step]


def _cell(colour: np.ndarray) -> np.ndarray:
    cell = ((colour - _LOW) / _SPAN * _BINS).astype(int)
    cell = np.clip(cell, 0, np.array(_BINS) - 1)
    return np.ravel_multi_index(tuple(np.moveaxis(cell, -1, 0)), _BINS)


def _histogram(cell: np.ndarray) -> np.ndarray:
    count = np.bincount(cell, minlength=int(np.prod(_BINS))).reshape(_BINS).astype(float)
    count = ndimage.gaussian_filter(count, 0.7)
    return count.ravel() / max(count.sum(), 1e-9)


def _odds(colour: np.ndarray, within: np.ndarray, said: np.ndarray) -> tuple[np.ndarray, float]:
    """Logarithm of how many times likelier a pixel is in the subject than on the ground, and the share of what is
    inside the line whose colour alone says so."""
    cell = _cell(colour)
    depth = ndimage.distance_transform_edt(within) / (DEPTH * max(within.shape))
    prior = DEPTH_ODDS * np.clip(depth, 0, 1.5) - 0.5
    ground = ~within
    subject = within.copy()
    odds = colours = np.zeros(within.shape)
    for _ in range(5):
        a, b = _histogram(cell[subject]), _histogram(cell[ground])
        colours = (np.log(a + 1e-5) - np.log(b + 1e-5))[cell]
        odds = colours + prior
        soft = ndimage.gaussian_filter(odds, 1.0)
        subject = (within & (soft > 0) & (said >= 0)) | (said > 0)
        if not subject.any():
            break
        ground = ((~within | (soft < -SURE)) & (said <= 0)) | (said < 0)
    return ndimage.gaussian_filter(odds, 0.8), float((colours[within] > 1).mean())


def _walk(colour: np.ndarray, odds: np.ndarray, within: np.ndarray, holes: bool,
          said: np.ndarray) -> np.ndarray:
    from skimage.segmentation import random_walker

    unit = max(1, round(0.012 * max(within.shape)))
    deep = ndimage.binary_erosion(within, iterations=unit)
    subject = ndimage.binary_opening((odds > SURE) & deep)
    ground = ~ndimage.binary_dilation(within, iterations=2) | (ndimage.binary_opening(odds < -SURE, iterations=1))
    if not holes:
        label, n = ndimage.label(ground)
        out = np.unique(label[~within])
        ground = np.isin(label, out[out > 0]) if n else ground
    subject, ground = (subject & ~ground & (said >= 0)) | (said > 0), (ground & (said <= 0)) | (said < 0)
    labels = np.zeros(within.shape, int)
    labels[ground], labels[subject] = 1, 2
    data = np.dstack([colour / (20.0, 12.0, 12.0), 0.35 * np.clip(odds, -5, 5)])
    if not (labels == 0).any():
        return subject.astype(np.float32)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # says that a chance lies outside 0..1 by the solver's tolerance
        chance = random_walker(data, labels, beta=120, mode="cg_j", tol=1e-3, channel_axis=-1, return_full_prob=True)
    field = np.clip(chance[1], 0, 1).astype(np.float32)
    if not holes:
        field = np.where(ndimage.binary_fill_holes(field > 0.5), np.maximum(field, 0.5 + 1e-3), field)
    return field
