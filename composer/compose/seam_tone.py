"""The field of tone over a seam between two parts: at each place that of the part under it.

A line that stops background at the seam on one side only does not cut the drawing off there: on the other side tone
rises again from what is let at the seam, over RISE_MM. Contrast knows no seam: a piece on either side keeps its halo on
both.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import LineString

from composer.body.surface import Surface
from composer.compose.over_seam import Stretch, middle_of, sides_of
from composer.compose.tone_field import FADE_MM, ToneField, ease

RISE_MM = FADE_MM
"""As far as contrast to a piece is given up over (`tone_field.FADE_MM`)."""


@dataclass(frozen=True, eq=False)
class SeamTone:
    """The fields of the `home` part and of the `other` over the paper of a stretch. Places are skin (n, 2) of (u, s) as
    the paper lies at home, which runs on over the edge there; else as `composer.compose.tone_field.ToneField`."""

    stretch: Stretch
    home: ToneField
    other: ToneField

    @property
    def limb(self) -> Surface:
        """The home part's skin."""
        return self.home.limb

    @property
    def hand_dark(self) -> float:
        """The hand's darkness, 0..1."""
        return self.home.hand_dark

    def tone(self, us: np.ndarray, share: float = 1.0) -> np.ndarray:
        """Tone (n,); the base is the hand's darkness times `share`."""
        return self.before_falls(us, share) * self.open(us) * self.cuff(us)

    def open(self, us: np.ndarray) -> np.ndarray:
        """How much background is let (n,)."""
        return self._by_side(us, lambda field, at: field.open(at))

    def cuff(self, us: np.ndarray) -> np.ndarray:
        """How much of its tone background keeps (n,) towards the sleeve's edges."""
        return self._by_side(us, lambda field, at: field.cuff(at))

    def before_falls(self, us: np.ndarray, share: float = 1.0) -> np.ndarray:
        """Tone (n,) before it falls off: of the two sides the one that is farther from the base."""
        us = np.asarray(us, float)
        base = float(np.clip(self.home.hand_dark * share, 0.0, 1.0))
        here = self.home.before_falls(us, share)
        there = self.other.before_falls(self._beyond(us), share)
        return np.where(np.abs(here - base) >= np.abs(there - base), here, there)

    def _by_side(self, us: np.ndarray, value: Callable[[ToneField, np.ndarray], np.ndarray]) -> np.ndarray:
        us = np.asarray(us, float)
        xy = self.stretch.patch.to_flat(us)
        points, near = shapely.points(xy), self._sides[0]
        at_home = shapely.intersects(near, points)
        foot = shapely.get_coordinates(shapely.line_interpolate_point(
            self.seam, shapely.line_locate_point(self.seam, points)))
        rise = ease(shapely.distance(self.seam, points) / RISE_MM)
        foot_us, out = self.stretch.patch.to_skin(foot), np.ones(len(us))
        for field, mine, own, edge in ((self.home, at_home, us, self._beyond(foot_us)),
                                       (self.other, ~at_home, self._beyond(us), foot_us)):
            if mine.any():
                next_to = self.other if field is self.home else self.home
                let = value(next_to, edge[mine])
                out[mine] = np.minimum(value(field, own[mine]), let + (1.0 - let) * rise[mine])
        return out

    def _beyond(self, us: np.ndarray) -> np.ndarray:
        """The same places in (u, s) of the other part."""
        return self.stretch.carried.to_skin(self.stretch.patch.to_flat(us))

    @cached_property
    def seam(self) -> LineString:
        """The middle of the seam on the paper."""
        return LineString(middle_of(self.stretch))

    @cached_property
    def _sides(self) -> tuple[shapely.Polygon, shapely.Polygon]:
        return sides_of(self.stretch)
