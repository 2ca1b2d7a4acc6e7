"""A feather's geometry along its shaft: vanes of two widths, barbs that slant forward, where barbs part.

Feather coordinates: x in mm along the shaft from the foot, q in mm to the left of it. A barb leaves the
shaft forward, on the whole by SLANT mm for each mm away from it, and bends on towards the tip.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length, normals
from composer.filler.masses import filled

SLANT = 0.95
BEND = 0.2
"""By how much flatter a barb leaves the shaft; a quarter of the width away from it it has come out at SLANT."""
QUILL = 0.15
"""Share of the length that is bare quill."""
NARROW = 0.36
"""The narrow vane's share of the width."""


@dataclass(frozen=True)
class Shaft:
    """`path` (n, 2) mm, close-set, from the foot to the tip; `wide` mm across at the fullest; `lead` +1 or -1: the
    side of the narrow vane."""

    path: np.ndarray
    wide: float
    lead: float

    @cached_property
    def _laid(self) -> tuple[np.ndarray, np.ndarray]:
        return arc_length(self.path), normals(self.path)

    @property
    def long(self) -> float:
        """Length, mm."""
        return float(self._laid[0][-1])

    def at(self, x: np.ndarray, q: np.ndarray) -> np.ndarray:
        """Feather coordinates to the chart; beyond the tip straight on."""
        s, n = self._laid
        x, q = np.asarray(x, float), np.asarray(q, float)
        p = np.column_stack([np.interp(x, s, self.path[:, k]) for k in (0, 1)])
        m = np.column_stack([np.interp(x, s, n[:, k]) for k in (0, 1)])
        m /= np.maximum(np.hypot(m[:, 0], m[:, 1]), 1e-9)[:, None]
        over = np.where(x > s[-1], x - s[-1], np.minimum(x, 0.0))
        return p + m * q[:, None] + np.column_stack([m[:, 1], -m[:, 0]]) * over[:, None]

    def half(self, x: np.ndarray, side: float) -> np.ndarray:
        """Width of the vane on a side (+1 left) at x: fullest beyond the middle, round at the tip."""
        t = np.clip((np.asarray(x, float) / self.long - QUILL) / (1 - QUILL), 0, 1)
        low, high = (0.5, 0.5) if side == self.lead else (0.72, 0.42)
        fullest = (low / (low + high)) ** low * (high / (low + high)) ** high
        return self.wide * (NARROW if side == self.lead else 1 - NARROW) * t**low * (1 - t) ** high / fullest

    def cover(self, spread: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
        """Discs that cover it, `spread` times as wide as its vanes: places (n,) complex down the middle of the
        vanes, radii in mm."""
        x = np.linspace(0, self.long, 22)
        left, right = self.half(x, 1.0), self.half(x, -1.0)
        p = self.at(x, (left - right) / 2)
        return p[:, 0] + 1j * p[:, 1], np.maximum(spread * (left + right) / 2, 0.6) + 0.4

    def vane(self) -> BaseGeometry:
        """The outline of both vanes."""
        x = np.linspace(QUILL * self.long, self.long, 60)
        left, right = self.at(x, self.half(x, 1.0)), self.at(x, -self.half(x, -1.0))
        return filled(np.vstack([left, right[::-1]]))

    def along(self, x0: float | np.ndarray, q: np.ndarray) -> np.ndarray:
        """x of a barb that leaves the shaft at x0, at distances q >= 0 from it."""
        return x0 + SLANT * q * (1 - BEND + BEND * q / (0.27 * self.wide))

    def barb(self, x0: float | np.ndarray, side: float, q: np.ndarray) -> np.ndarray:
        """Places along a barb that leaves the shaft at x0, at distances q >= 0 from it."""
        return self.at(self.along(x0, q), side * q)

    def reach(self, x0: float, side: float) -> float:
        """At what distance from the shaft a barb meets the edge of its vane."""
        q = np.linspace(0, self.wide, 80)
        out = np.flatnonzero(q >= self.half(self.along(x0, q), side))
        return float(q[out[1]] if len(out) > 1 and out[0] == 0 else q[out[0]]) if len(out) else self.wide

    def split(self, x0: float, side: float, open_mm: float, deep: float) -> BaseGeometry:
        """A wedge out of the vane where barbs have parted, `open_mm` along the shaft at its mouth; `deep` share of
        the vane."""
        edge = self.reach(x0, side)
        t = np.linspace(0, 1.4, 12)
        q = edge * (1 - deep + deep * t)
        near, far = self.barb(x0, side, q), self.barb(x0 + open_mm * t, side, q)
        return filled(np.vstack([near, far[::-1]]))

    def beyond(self, x0: float, teeth: int, rough: float) -> BaseGeometry:
        """All of the feather beyond barbs that leave the shaft near x0, its edge running back along the barbs in
        points, long ones beside the shaft."""
        out = []
        for side in (1.0, -1.0):
            q = np.linspace(0, self.wide, 2 * teeth + 1)
            low = np.where(np.arange(2 * teeth + 1) % 2, 0.0, 1.0) * rough * (1.0 - 0.6 * q / self.wide)
            out.append(self.at(x0 + 0.6 * SLANT * q - low, side * np.maximum(q - 0.5 * low, 0.0)))
        tip = self.at(np.array([self.long + 8.0] * 2), np.array([-1.4, 1.4]) * self.wide)
        return filled(np.vstack([out[0][::-1], out[1][1:], tip]))

    def bar(self, x0: float, thick: float) -> BaseGeometry:
        """A cross band of the feather, parallel to its barbs, narrower towards the shaft."""
        out = []
        for k in (0.0, 1.0):
            q = np.linspace(0, self.wide, 10)
            x = x0 + k * thick + 0.62 * SLANT * q + (k - 0.5) * 0.5 * thick * (q / self.wide - 0.35)
            out.append(np.vstack([self.at(x, q)[::-1], self.at(x, -q)[1:]]))
        return filled(np.vstack([out[0], out[1][::-1]]))
