"""How dark background may be beside a piece, so that the two stand apart: a bound in CIE L*.

A piece reads as the mean light of its tones (`composer.art.tone_shares`) on the client's skin, background of tone t as
skin of which the share DARKEST * t is ink:

    L(t) = L*((1 - DARKEST t) Y_skin + DARKEST t Y_ink)          L_piece = L*(sum of share times Y of the step)

Where |L(t) - L_piece| is less than `apart` (APART, or on a skin that leaves less room the share ROOM of L(0) - L(1)), t
is moved to the nearest tone at which it is that: lighter beside a piece darker than the background, else darker; the
other way where skin or ink leave no room for it. Light of small areas side by side adds up as luminance does; the
colours of the steps are the house's own (`composer.art.on_skin`). How far t moves decides on washes and dots and on how
much solid black a filler carries there (`composer.filler.solid_black`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from composer.art.lightness import lightness_of, luminance, luminance_of
from composer.art.on_skin import CLEAR, INK, STRENGTH, steps_on_skin

APART = CLEAR
"""L* by which background stands apart from a piece beside it: what is seen at once across a room."""
ROOM = 0.45
"""Of what lies between bare skin and the darkest background so much at most is asked for (our own rule)."""
DARKEST = STRENGTH["dark"]
"""Share of ink in background of tone 1: an even dark wash (our own scale)."""


@dataclass(frozen=True)
class OnSkin:
    """Luminances, 0..1, of the client's skin, of black ink, and of every step on this skin."""

    skin: float
    ink: float
    steps: Mapping[str, float]

    @property
    def apart(self) -> float:
        """L* by which background stands apart from a piece on this skin."""
        return min(APART, ROOM * float(self.lightness(0.0) - self.lightness(1.0)))

    def lightness(self, tone: np.ndarray | float) -> np.ndarray:
        """CIE L* of background of a tone 0..1."""
        a = DARKEST * np.asarray(tone, float)
        return lightness_of((1 - a) * self.skin + a * self.ink)

    def tone(self, lightness: float) -> float:
        """The tone at which background has this L*; below 0 or above 1 where none has."""
        return float((self.skin - luminance_of(lightness)) / (DARKEST * (self.skin - self.ink)))

    def piece(self, shares: Mapping[str, float]) -> float:
        """CIE L* of a piece of these shares by tone (they add up to 1)."""
        return float(lightness_of(sum(v * self.steps[k] for k, v in shares.items())))

    def beside(self, tone: float, piece: float) -> float:
        """The tone nearest to `tone` that stands `apart` from a piece of that L*; the best there is where none does."""
        own, apart = float(self.lightness(tone)), self.apart
        if abs(own - piece) >= apart - 1e-9:
            return tone
        first = 1.0 if piece <= own else -1.0
        for way in (first, -first):
            t = self.tone(piece + way * apart) if 0 <= piece + way * apart <= 100 else -1.0
            if 0.0 <= t <= 1.0:
                return t
        return max((0.0, 1.0), key=lambda t: abs(float(self.lightness(t)) - piece))


def on_skin_of(colour: str) -> OnSkin:
    """For a skin given as '#rrggbb'. A skin as dark as ink counts as a little lighter, so that tones differ at all."""
    rgb = (int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16))
    bare, ink = (float(luminance(np.array(c, np.uint8))) for c in (rgb, INK))
    bare = max(bare, ink + 0.005)
    steps = {s.step: float(luminance(np.array(s.rgb, np.uint8))) for s in steps_on_skin(rgb)}
    return OnSkin(bare, ink, {**steps, "open": bare})
