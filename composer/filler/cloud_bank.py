"""One bank of cloud, drawn straight: nose on the left, tail tapering to the right, puffs on top.

Bank coordinates are mm: x from the nose (0) to the tip of the tail, h above the underside.
`composer.filler.cloud_lay` bends the bank along the flow.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass

import numpy as np

RHYTHM = (1.0, 0.6, 0.82, 0.52, 0.92, 0.68)
"""Sizes of neighbouring lobes: large, small, medium (common practice, no published source)."""


@dataclass(frozen=True)
class Shape:
    """What a bank is like. Lengths in mm; `heap` rows of puffs stand before each other; `head`
    is the share of the length that rises to full height; `puffs` the share that bears lobes, the
    rest is tail, and `front` the same for the rows in front; `lobe_mm` the largest lobe's radius."""

    length_mm: float
    thick_mm: float
    lobe_mm: float
    heap: int = 2
    head: float = 0.3
    puffs: float = 0.66
    front: float = 0.3


@dataclass(frozen=True)
class Row:
    """A chain of lobes with the body under it and its tail.

    `lobes` (m, 3): x, h, radius; `rank` (m,): 0 stands in front; `top` (n, 2): upper edge of the
    body from nose to tip, ascending in x.
    """

    lobes: np.ndarray
    rank: np.ndarray
    top: np.ndarray

    def height(self, x: np.ndarray) -> np.ndarray:
        """Height of the body's upper edge at x; below everything outside the row."""
        return np.interp(x, self.top[:, 0], self.top[:, 1], left=-1e6, right=-1e6)

    def hides(self, p: np.ndarray, grow_mm: float = 0.0) -> np.ndarray:
        """Which of the points (n, 2) lie under this row: in its body or in one of its lobes."""
        under = p[:, 1] < self.height(p[:, 0]) + grow_mm
        if len(self.lobes):
            far = np.hypot(p[:, None, 0] - self.lobes[:, 0], p[:, None, 1] - self.lobes[:, 1])
            under |= (far < self.lobes[:, 2] + grow_mm).any(axis=1)
        return under

    def outline(self) -> np.ndarray:
        """Ring (n, 2) of the body: upper edge and the straight underside."""
        x = np.linspace(self.top[-1, 0], self.top[0, 0], max(6, int((self.top[-1, 0] - self.top[0, 0]) / 5)))
        return np.vstack([self.top, np.column_stack([x, np.full(len(x), -0.01)])])


def envelope(length: float, thick: float, head: float, rng: np.random.Generator) -> np.ndarray:
    """Upper edge (n, 2): round at the nose, a hump or two, then a long hollow tail to a tip."""
    t = np.linspace(0, 1, max(40, int(length / 2)))
    rise = np.sqrt(np.clip(1 - (1 - np.minimum(t / head, 1)) ** 2, 0, 1))
    q = np.clip((t - head) / (1 - head), 0, 1)
    fall = 0.5 * (1 + np.cos(np.pi * q ** 0.85)) * (1 - 0.45 * q) + 0.02 * (1 - q)
    hump = 1 + 0.12 * np.sin(2 * np.pi * (t * rng.uniform(1.2, 1.8) + rng.uniform(0, 1)))
    return np.column_stack([t * length, thick * rise * fall * hump])


def chain(top: np.ndarray, lobe_mm: float, least_mm: float, until: float, phase: int,
          rng: np.random.Generator) -> np.ndarray:
    """Lobes (m, 3) along an upper edge, in the rhythm, smaller where the bank is thin."""
    step = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(top, axis=0).T))]).tolist()
    xs, hs = top[:, 0].tolist(), top[:, 1].tolist()
    crest, far = max(hs), until * xs[-1]
    out: list[tuple[float, float, float]] = []
    along, i = 0.0, phase
    while along < step[-1]:
        k = bisect_right(step, along) - 1
        share = (along - step[k]) / (step[k + 1] - step[k])
        x = xs[k] + share * (xs[k + 1] - xs[k])
        if x > far:
            break
        near = max(hs[bisect_left(xs, x - lobe_mm) : bisect_right(xs, x + lobe_mm)])
        most = min(0.58 * near, lobe_mm * (0.55 + 0.45 * near / crest) * RHYTHM[i % 6] * rng.uniform(0.92, 1.08))
        if most < least_mm and near < 1.7 * least_mm:
            break
        r = max(most, least_mm)
        j = min(max(bisect_left(step, along), 1), len(xs) - 2)
        tx, th = xs[j + 1] - xs[j - 1], hs[j + 1] - hs[j - 1]
        off = r * 0.82 / max(math.hypot(tx, th), 1e-9)
        out.append((x + th * off, max(hs[k] + share * (hs[k + 1] - hs[k]) - tx * off, 0.72 * r), r))
        i += 1
        along += 0.78 * (r + max(min(lobe_mm * RHYTHM[i % 6], 0.56 * near), least_mm))
    return np.array(out).reshape(-1, 3)


def rows(shape: Shape, least_mm: float, rng: np.random.Generator) -> list[Row]:
    """The rows of a bank from back (the crest) to front (low in the head)."""
    out = []
    for k in range(shape.heap):
        share = 1 - k / shape.heap
        length = shape.length_mm * (1 - 0.16 * k)
        top = envelope(length, shape.thick_mm * share, shape.head * (1 + 0.25 * k), rng)
        top[:, 0] -= 0.16 * k * shape.thick_mm / shape.heap
        until = shape.puffs if k == 0 else shape.front
        lobes = chain(top - (top[0, 0], 0), shape.lobe_mm * (1 - 0.12 * k), least_mm, until,
                      2 * int(rng.integers(0, 3)), rng)
        if len(lobes):
            lobes[:, 0] += top[0, 0]
        rank = np.empty(len(lobes), int)
        rank[np.argsort(-lobes[:, 2], kind="stable")] = np.arange(len(lobes))
        edge = top.copy()
        if len(lobes):
            last, r = lobes[-1, 0], lobes[-1, 2]
            rising = np.clip(1 - (edge[:, 0] - last) / (1.5 * r), 0, 1)
            edge[:, 1] -= np.interp(edge[:, 0], lobes[:, 0], lobes[:, 2]) * 0.7 * rising
        edge[:, 1] = np.maximum(edge[:, 1], 0.0)
        out.append(Row(lobes, rank, edge))
    return out
