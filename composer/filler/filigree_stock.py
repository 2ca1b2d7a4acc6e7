"""The scrolls on offer: for every size the one that winds as far as its own coils allow."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from composer.filler.filigree_curves import Form, scroll
from composer.filler.filigree_fit import Stock
from composer.filler.filigree_grow import Nib

SIZES_MM = tuple(round(24.0 * 0.9**n, 2) for n in range(24))
LEADS = (0.0, 0.7, 1.5)
LONG_LEADS = (3.0, 5.0)
LONG_LEAD_SIZE_MM = 4.6
KEEP = 0.46
"""Share of its radius that a scroll keeps with each turn."""


def ball_mm(r: float, k: float) -> float:
    """Radius of the ball in which a scroll of size r ends, at line factor k."""
    return float(np.clip(0.14 * r, 0.65, 1.9) * max(k, 0.6))


@lru_cache(maxsize=512)
def longest_scroll(r: float, lead: float, nib: Nib, k: float, gap_mm: float) -> Form:
    """The scroll of size r that turns as far as its own coils and its ball leave a line gap
    (by bisection: the further it winds, the closer they come)."""
    low, high = 0, 30
    while high - low > 1:
        mid = (low + high) // 2
        if own_gap_mm(scroll(250 + 15 * mid, KEEP, lead), r, nib, ball_mm(r, k)) < gap_mm - 0.1:
            high = mid
        else:
            low = mid
    return scroll(250 + 15 * low, KEEP, lead)


def own_gap_mm(form: Form, r: float, nib: Nib, ball: float) -> float:
    """The narrowest gap that a scroll leaves: coil to coil, ball to coil, ball to the parent,
    which runs along y = 0."""
    z, t = form.cut(72)
    z = z * r
    half = nib.profile(np.array(max(nib.share * r, nib.least)), np.array(r), t)
    tangent = form.cut_tangents(72)
    heading = np.unwrap(np.angle(tangent))
    eye = z[-1] + 1j * tangent[-1] * (ball - half[-1])
    coil = np.abs(z[:, None] - z[None, :]) - half[:, None] - half[None, :]
    coil[np.abs(heading[:, None] - heading[None, :]) < np.pi] = 99.0
    before = heading < heading[-1] - np.radians(130)
    ball_gap = (np.abs(z - eye) - half)[before].min() - ball
    return float(min(coil.min(), ball_gap, eye.imag - ball - half[0]))


@lru_cache(maxsize=64)
def scroll_stock(least_mm: float, largest_mm: float, nib: Nib, k: float, gap_mm: float) -> Stock:
    """Every scroll between two sizes, with the lead-ins."""
    sizes = [r for r in SIZES_MM if least_mm <= r <= largest_mm]
    if not sizes:
        return Stock([scroll(300, KEEP, 0.0)], [np.zeros(0)])
    every = [(r, lead) for lead in LEADS for r in sizes]
    every += [(r, lead) for lead in LONG_LEADS for r in sizes if r <= LONG_LEAD_SIZE_MM]
    return Stock([longest_scroll(r, lead, nib, k, gap_mm) for r, lead in every], [np.array([r]) for r, _ in every],
                 [ball_mm(r, k) for r, _ in every], nib.tip)
