"""One bank of cloud, drawn straight: a crest of lobes from the nose on, a hollow tail, open skin within.

Bank coordinates are mm: x from the nose (0) to the tip of the tail, h above the underside.
`composer.filler.cloud_lay` bends the bank along the flow, `composer.filler.cloud_lines` is the pen's way over it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

RHYTHM = (1.0, 0.62, 0.86, 0.5, 0.94, 0.7, 0.56)
"""Sizes of neighbouring lobes: large, small, medium (common practice, no published source)."""
APART = 0.86
"""Two lobes stand so far apart, in the sum of their radii: a crevice half as deep as a lobe is wide."""
END_DEG = 38.0
"""The last lobe is left for the tail at this angle."""


@dataclass(frozen=True)
class Shape:
    """What a bank is like. Lengths in mm; `lobe_mm` the largest lobe's radius; `head` is the share of the length over
    which it rises to full height; `puffs` the share that bears lobes, the rest is tail."""

    length_mm: float
    thick_mm: float
    lobe_mm: float
    head: float = 0.3
    puffs: float = 0.66

    def height(self, x: float) -> float:
        """Height of the crest at x, without its lobes: round at the nose, a swell or two, falling to the tail."""
        t, head = x / self.length_mm, self.head
        t = 0.0 if t < 0.0 else 1.0 if t > 1.0 else t
        high = self.thick_mm * (math.sin(0.5 * math.pi * (t / head)) ** 0.8 if t < head
                                else (1.0 - (t - head) / (1.0 - head)) ** 1.35)
        return high * (1.0 + 0.1 * math.sin(3.2 * math.pi * t + 1.0))


@dataclass(frozen=True)
class Crest:
    """The outline of a bank. `lobes` (m, 3): x, h, radius from the nose on; `arcs` (m, 2): the angles (radians) between
    which each lies open, clockwise; `tail` (n, 2) from the last lobe to the tip, `under` (k, 2) from there back to the
    nose."""

    shape: Shape
    lobes: list[tuple[float, float, float]]
    arcs: list[tuple[float, float]]
    tail: np.ndarray
    under: np.ndarray

    @cached_property
    def ring(self) -> np.ndarray:
        """The outline as a ring (n, 2)."""
        return np.concatenate([self._crown(), self.tail, self.under[1:-1]])

    def _crown(self) -> np.ndarray:
        """Points (n, 2) along the open stretches of all lobes, each without its last one."""
        steps = np.array([arc_steps(r, start - end) for (_, _, r), (start, end) in zip(self.lobes, self.arcs,
                                                                                      strict=True)]) - 1
        k = np.arange(int(steps.sum())) - np.repeat(np.cumsum(steps) - steps, steps)
        (x, h, r), (start, end) = np.array(self.lobes).T, np.array(self.arcs).T
        rows = np.stack([x, h, r, start, (end - start) / steps])
        x, h, r, start, step = np.repeat(rows, steps, axis=1)
        a = k * step + start
        return np.column_stack([x + r * np.cos(a), h + r * np.sin(a)])

    def roof(self, x: np.ndarray) -> np.ndarray:
        """How high it is to the tail, or to the lower side of the lobes, at x (n,)."""
        out = np.interp(x, self.tail[:, 0], self.tail[:, 1], left=np.inf)
        for at, h, r in self.lobes:
            near = np.abs(x - at) < r
            out[near] = np.minimum(out[near], h - np.sqrt(r * r - (x[near] - at) ** 2))
        return out

    def foot(self) -> np.ndarray:
        """Ring (n, 2) of the low part of the body, where the bank lies in its own shade."""
        low = self.under[::-1][: int(0.86 * len(self.under))]
        swell = 0.3 * self.shape.thick_mm * np.sin(np.pi * np.linspace(0.02, 0.98, len(low)) ** 0.75)
        top = np.minimum(low[:, 1] + swell, np.interp(low[:, 0], self.tail[:, 0], self.tail[:, 1], left=np.inf))
        return np.concatenate([low, np.column_stack([low[::-1, 0], top[::-1]])])


def crest(shape: Shape, least_mm: float, rng: np.random.Generator) -> Crest:
    """A bank of this shape with lobes in the rhythm, none of a radius below `least_mm`."""
    lobes = chain(shape, least_mm, rng)
    meet = [crevice(a, b) for a, b in pairwise(lobes)]
    starts = [math.radians(268), *(b for _, b in meet)]
    ends = [*(a for a, _ in meet), math.radians(END_DEG)]
    arcs = [(start, min(end, start - 0.2)) for start, end in zip(starts, ends, strict=True)]
    x, h, r = lobes[-1]
    a = arcs[-1][1]
    tail = _tail(np.array([x + r * math.cos(a), h + r * math.sin(a)]), a, max(shape.length_mm, x + 2.5 * r))
    t = np.linspace(0, 1, max(16, int(shape.length_mm / 4)))
    sag = 0.06 * shape.thick_mm * np.sin(np.pi * t) * (0.4 * np.cos(3 * np.pi * t) - 0.6)
    under = np.column_stack([tail[-1, 0] + (lobes[0][0] - tail[-1, 0]) * t, sag])
    return Crest(shape, lobes, arcs, tail, under)


def chain(shape: Shape, least_mm: float, rng: np.random.Generator) -> list[tuple[float, float, float]]:
    """Lobes (x, h, radius) along the crest from the nose on, in the rhythm, smaller where the bank is low."""
    height, big = shape.height, max(shape.lobe_mm, 1.2 * least_mm)
    r = max(min(0.25 * shape.thick_mm, 0.95 * big), least_mm)
    out = [(r, r, r)]
    phase = int(rng.integers(0, len(RHYTHM)))
    while len(out) < 60:
        x0, h0, before = out[-1]
        near = height(x0 + 1.2 * before)
        wish = big * RHYTHM[(phase + len(out)) % len(RHYTHM)] * rng.uniform(0.85, 1.15)
        r = max(min(wish * (0.5 + 0.5 * near / shape.thick_mm), 0.52 * near), least_mm)
        far = APART * rng.uniform(0.93, 1.07) * (r + before)
        low, high, low_mm = 0.2 * far, far, 0.35 * r
        for _ in range(9):     # to a five hundredth of what they stand apart
            mid = (low + high) / 2
            h = height(x0 + mid) - r
            if math.hypot(mid, (h if h > low_mm else low_mm) - h0) < far:
                low = mid
            else:
                high = mid
        x = x0 + high
        if x > shape.puffs * shape.length_mm or near < 1.5 * least_mm:
            break
        out.append((x, max(height(x) - r, low_mm), r))
    return out


def _tail(start: np.ndarray, angle: float, tip_mm: float) -> np.ndarray:
    """From the last lobe, left at `angle`, in a hollow sweep (n, 2) to the tip: a cubic Bezier curve."""
    end = np.array([tip_mm, 0.0])
    far = float(np.hypot(*(end - start)))
    one = start + 0.28 * far * np.array([math.sin(angle), -math.cos(angle)])
    one[1] = max(one[1], 0.25 * start[1])
    two = end - np.array([0.5, -0.012]) * far
    t = np.linspace(0, 1, max(14, int(far / 2)))[:, None]
    return start * (1 - t) ** 3 + 3 * one * t * (1 - t) ** 2 + 3 * two * t * t * (1 - t) + end * t ** 3


def arc_steps(r: float, angle: float) -> int:
    """Vertices for an arc so that its chords fall at most 0.04 mm short."""
    return max(8, math.ceil(abs(angle) / math.sqrt(0.32 / r)))


def crevice(a: tuple[float, float, float], b: tuple[float, float, float]) -> tuple[float, float]:
    """Angles (radians) on two circles (x, h, r) that overlap, of their crossing to the left as one goes from a to b."""
    d = math.hypot(b[0] - a[0], b[1] - a[1])
    base = math.atan2(b[1] - a[1], b[0] - a[0])
    on_a, on_b = (math.acos(min(max((r * r + d * d - q * q) / (2 * r * d), -1.0), 1.0))
                  for r, q in ((a[2], b[2]), (b[2], a[2])))
    return base + on_a, base + math.pi - on_b
