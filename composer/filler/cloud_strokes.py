"""The outlines of many banks of cloud at once, as arrays: the strokes that `cloud_lines.contour` draws of each.

For sketches, which lay hundreds of lobes and look at none of them singly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from composer.filler.cloud_crest import Crest, arc_steps
from composer.filler.cloud_ink import rings_along
from composer.filler.cloud_lines import (
    HOLLOW,
    LEAST_RUN_MM,
    SOFT,
    WHISKER_DEG,
    Pen,
    fall,
    foot_widths,
    lobe_ways,
    whisker_steps,
)


@dataclass(frozen=True)
class Strokes:
    """Strokes one after the other: places `path` (n, 2), `width` (n,) in mm there, how many places each has (`count`
    (k,)) and the number of its bank (`owner` (k,))."""

    path: np.ndarray
    width: np.ndarray
    count: np.ndarray
    owner: np.ndarray

    @property
    def bank(self) -> np.ndarray:
        """The number of the bank (n,) at each place."""
        return np.repeat(self.owner, self.count)

    def at(self, path: np.ndarray) -> Strokes:
        """The same strokes with their places moved."""
        return replace(self, path=path)

    def without(self, hidden: np.ndarray) -> Strokes:
        """The stretches of strokes that are not hidden (n,), each as far as the first place that is; those that are
        hardly longer than wide are left away (see `cloud_lines.runs`)."""
        line = np.repeat(np.arange(len(self.count)), self.count)
        seen = ~hidden
        fresh = np.concatenate([[True], line[1:] != line[:-1]])
        last = np.append(fresh[1:], True)
        begin = np.flatnonzero(seen & (fresh | np.concatenate([[True], hidden[:-1]])))
        end = np.flatnonzero(seen & (last | np.append(hidden[1:], True)))
        begin, end = begin - ~fresh[begin], end + ~last[end]
        far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.path, axis=0).T))])
        long = far[end] - far[begin] > LEAST_RUN_MM
        begin, count = begin[long], (end - begin + 1)[long]
        at = ragged(count) + np.repeat(begin, count)
        return Strokes(self.path[at], self.width[at], count, self.owner[line[begin]])

    def ribbons(self, least_mm: float) -> np.ndarray:
        """The strokes as polygons (k,), nowhere thinner than `least_mm`, not mended (see `cloud_ink.ribbon_rings`)."""
        return rings_along(self.path, np.maximum(self.width, least_mm), self.count) if len(self.count) \
            else np.zeros(0, object)


def ragged(count: np.ndarray) -> np.ndarray:
    """0, 1, 2 and so on up to each count, one after the other."""
    return np.arange(int(count.sum())) - np.repeat(np.cumsum(count) - count, count)


def contours(banks: Sequence[Crest], pen: Pen) -> Strokes:
    """The contours of banks, each in its own coordinates."""
    rows, sizes, owner = [], [], []
    for b, bank in enumerate(banks):
        for (x, h, r), (start, end), (most, before, curled, _) in zip(bank.lobes, bank.arcs, lobe_ways(bank, pen),
                                                                      strict=True):
            swing, rate = fall(r, most, pen.pitch_mm, curled) if most else (0.0, 0.0)
            rows.append((x, h, r, start, end, swing, rate))
            sizes.append((whisker_steps(r) - 1 if before else 0, arc_steps(r, start - end),
                          arc_steps(r, 0.8 * swing) - 1 if swing else 0))
            owner.append(b)
    lobes = _lobes(np.array(rows), np.array(sizes), pen)
    feet = [path for bank in banks for path in (bank.tail, bank.under[::-1])]
    many = np.array([len(path) for path in feet])
    share = ragged(many) / np.repeat(many - 1, many)
    return Strokes(np.concatenate([lobes[0], *feet]), np.concatenate([lobes[1], foot_widths(share, pen)]),
                   np.concatenate([np.array(sizes).sum(axis=1), many]),
                   np.concatenate([owner, np.repeat(np.arange(len(banks)), 2)]))


def _lobes(rows: np.ndarray, sizes: np.ndarray, pen: Pen) -> tuple[np.ndarray, np.ndarray]:
    """Places (n, 2) and widths (n,) along lobes: what `cloud_lines.lobe` draws of each. `rows` (k, 7): middle, radius,
    angles between which it lies open, how far it swings inwards and how fast it falls in; `sizes` (k, 3): places on its
    other side, on its circle and inwards."""
    part = np.repeat(np.arange(sizes.size), sizes.ravel())
    k, of, kind = ragged(sizes.ravel()), part // 3, part % 3
    x, h, r, start, end, swing, rate = (column[of] for column in rows.T)
    size = sizes.ravel()[part]
    angle = start + (end - start) * k / np.maximum(size - 1, 1)
    radius, width = r.copy(), np.ones(len(k))
    at = kind == 0
    back = 1.0 - k[at] / size[at]
    angle[at] = start[at] + math.radians(WHISKER_DEG) * back
    radius[at], width[at] = r[at] * (1 - 0.12 * back ** 2), 1 - 0.8 * back
    at = kind == 2
    share = (k[at] + 1) / size[at]
    past = swing[at] * share
    angle[at] = end[at] - past
    radius[at] = np.maximum(r[at] - rate[at] * past * past / (past + SOFT), HOLLOW * pen.pitch_mm)
    width[at] = np.interp(share, [0, 0.5, 1], [1, 0.8, 0.25])
    return np.column_stack([x + radius * np.cos(angle), h + radius * np.sin(angle)]), pen.outline_mm * width


def covered(path: np.ndarray, bank: np.ndarray, bodies: np.ndarray) -> np.ndarray:
    """Which places (n, 2), each of a bank by number (n,), lie behind one of the `bodies` (m,), prepared areas, of the
    banks before theirs."""
    out = np.zeros(len(path), bool)
    low, high = np.split(shapely.bounds(bodies), 2, axis=1)
    for j in range(1, len(bodies)):
        about = (bank < j) & ~out & (path > low[j]).all(axis=1) & (path < high[j]).all(axis=1)
        out[about] = shapely.contains_xy(bodies[j], path[about, 0], path[about, 1])
    return out
