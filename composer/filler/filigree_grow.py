"""The strokes of filigree, where branches may leave them, and how wide they are drawn.

Branches leave a stem tangentially on its outer side and turn the other way."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.ndimage import maximum_filter1d, uniform_filter1d

from composer.filler.filigree_curves import unit_tangents

STEP_MM = 0.4
AHEAD = 19
"""So many vertices ahead an arm must not bend towards a branch."""


@dataclass
class Stroke:
    """One stroke of filigree. `z` (n,) complex centre line in mm, `half` (n,) half widths, `what`
    'stem', 'scroll', 'curl', 'tendril' or 'leaf', `side` +1 turns left, -1 right, `level` of
    branching, `parent` and `joint` (index on the parent's centre line), `end` how it finishes,
    `ball` radius in mm or 0, `root` how it starts if it has no parent, `tuck` mm behind neighbours, `bare`
    vertices at its end from which nothing grows, `eye` the side to which its ball is drawn in where that is not
    `side`."""

    z: np.ndarray
    half: np.ndarray
    what: str
    side: int
    level: int
    parent: int = -1
    joint: int = 0
    end: str = "tip"
    ball: float = 0.0
    root: str = ""
    tuck: float = 0.0
    bare: int = 0
    eye: int = 0

    @cached_property
    def tangent(self) -> np.ndarray:
        """Unit tangents (n,) complex."""
        return unit_tangents(self.z)

    @property
    def ball_at(self) -> complex:
        """Centre of the ball at the end: drawn in towards the hollow side."""
        return complex(self.z[-1] + 1j * (self.eye or self.side) * self.tangent[-1] * (self.ball - self.half[-1]))

    def joint_span(self, joint: int, back: int = 4, ahead: int = 45) -> slice:
        """The stretch of the centre line at which a fork's crotch can lie."""
        return slice(max(0, joint - back), min(len(self.z), joint + ahead))


@dataclass
class Sites:
    """Places where a branch may leave: `at`, `heading` (unit), `half` of the parent there, `side`
    it turns to, `owner` index of the stroke, `index` on its centre line, `level` of the parent."""

    at: np.ndarray
    heading: np.ndarray
    half: np.ndarray
    side: np.ndarray
    owner: np.ndarray
    index: np.ndarray
    level: np.ndarray

    @staticmethod
    def none() -> Sites:
        z, f, i = np.zeros(0, complex), np.zeros(0), np.zeros(0, int)
        return Sites(z, z, f, i, i, i, i)

    def plus(self, other: Sites) -> Sites:
        return Sites(*(np.concatenate([getattr(self, k), getattr(other, k)])
                       for k in ("at", "heading", "half", "side", "owner", "index", "level")))

    def take(self, which: np.ndarray) -> Sites:
        """Some of the sites."""
        return Sites(*(getattr(self, k)[which]
                       for k in ("at", "heading", "half", "side", "owner", "index", "level")))

    @staticmethod
    def all(parts: list[Sites]) -> Sites:
        """The sites of several strokes in one."""
        return Sites(*(np.concatenate([getattr(p, k) for p in parts])
                       for k in ("at", "heading", "half", "side", "owner", "index", "level")))


def sites_of(stroke: Stroke, number: int, every_mm: float = 1.3, skip_mm: float = 2.5) -> Sites:
    """The places along one stroke: all along a stem, on the outer side; of a scroll its first
    three quarters of a turn."""
    z, t = stroke.z, stroke.tangent
    turn, run = np.zeros(len(z)), np.zeros(len(z))
    turn[1:] = np.angle(t[1:] / t[:-1])
    np.abs(z[1:] - z[:-1]).cumsum(out=run[1:])
    step = max(1, round(float(every_mm / (run[-1] / max(len(z) - 1, 1)))))
    idx = np.arange(0, len(z), step)
    idx = idx[(run[idx] > skip_mm) & (run[idx] < run[-1] - 1.5)]
    if stroke.what == "stem":
        # where the stem goes behind a neighbour nothing grows
        idx = idx[(run[idx] > (stroke.tuck + 4.0 if stroke.root == "tucked" else 1.5))
                  & (run[-1] - run[idx] > (stroke.tuck + 4.0 if stroke.end == "tucked" else 1.5))
                  & (idx < len(z) - (stroke.bare if not stroke.eye else _wound(turn, stroke.bare)))]
    else:
        idx = idx[run[idx] > stroke.tuck + 3.0] if stroke.tuck else idx
        bent = np.abs(turn.cumsum())
        idx = idx[bent[idx] < np.radians(300 if stroke.what == "scroll" else 150)]
        return _at(stroke, number, idx, -stroke.side)
    bend = uniform_filter1d(turn, 9, mode="nearest") / (run[-1] / max(len(z) - 1, 1))
    out = []
    for side in (1, -1):
        most = bend * side
        if stroke.parent >= 0:
            # an arm that bends towards the branch a little further on would close the fork again
            most = maximum_filter1d(most, AHEAD, origin=-(AHEAD // 2), mode="nearest")
        out.append(_at(stroke, number, idx[most[idx] < 0.06], side))
    return out[0].plus(out[1])


def _at(stroke: Stroke, number: int, idx: np.ndarray, side: int) -> Sites:
    """The places at these vertices of a stroke from which branches turn to that side."""
    n = len(idx)
    return Sites(stroke.z[idx], stroke.tangent[idx], stroke.half[idx], np.full(n, side), np.full(n, number), idx,
                 np.full(n, stroke.level))


def _wound(turn: np.ndarray, bare: int) -> int:
    """How many vertices at the end of an arm that ends in a scroll lie beyond its first 300 degrees."""
    bent = np.abs(np.cumsum(turn[len(turn) - bare :]))
    return int((bent > np.radians(300)).sum())


@dataclass(frozen=True)
class Nib:
    """How wide branches are drawn, mm: half width `share` of the size at the start but at least
    `least`; swollen by `belly`; `tip` half width at the end. With `leaf` above 0 the body is a
    leaf whose half width swells to that share of its length."""

    share: float
    least: float
    tip: float
    belly: float = 1.3
    leaf: float = 0.0

    def start(self, r: np.ndarray, parent_half: np.ndarray) -> np.ndarray:
        """Half width at the start: by the size, never wider than the parent there."""
        return np.minimum(np.maximum(self.share * r, self.least), parent_half)

    def profile(self, start: np.ndarray, r: np.ndarray, t: np.ndarray) -> np.ndarray:
        """Half widths along t in [0, 1] (broadcast): swells, then tapers, without a kink."""
        if self.leaf > 0:
            return comma_half(t, start, self.leaf * r, self.tip)
        swell = 1 + (self.belly - 1) * np.sin(np.pi * np.clip(t / 0.68, 0, 1)) ** 1.2
        fall = 1 - np.clip((t - 0.1) / 0.9, 0, 1) ** 1.15
        return np.maximum(self.tip + (start * swell - self.tip) * fall, self.tip)


def comma_half(t: np.ndarray, start: np.ndarray | float, belly: np.ndarray | float, tip: float,
               peak: float = 0.4) -> np.ndarray:
    """Half widths of a comma at t in [0, 1]: from `start`, swelling to `belly` at `peak`, to a needle `tip`."""
    up = np.sin(np.clip(t / peak, 0, 1) * np.pi / 2) ** 1.5
    x = np.clip((t - peak) / (1 - peak), 0, 1)
    down = (1 - x) * (1 + 0.75 * x - 0.35 * x * x)
    return np.maximum(np.where(t < peak, start + (belly - start) * up, tip + (belly - tip) * down), tip)
