"""How long the needle is at work on a drawing, roughly: so much line and so much of each tone, at an hour's pace.

The paces are from memory, no published source, with wiping and stretching in them; setting up, the stencil and breaks
are not. They differ from hand to hand by half and more, so a range is given, and the artist's own pace can be set
(`fit_limits.Limits.own_pace`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from composer.art.drawing import Drawing

LINE_MM_H = 2200.0
MM2_H = {"black": 3000.0, "dark": 4000.0, "mid": 5000.0, "light": 6500.0, "colour": 2500.0}
"""Colour is packed more slowly than black, since it has to stay even (common practice, no published source)."""
LOW, HIGH = 0.7, 1.5
"""The range about what is reckoned."""


@dataclass(frozen=True)
class Work:
    """`line_mm` of line, and mm2 by tone ('black' without the lines, 'colour' what is packed with any colour)."""

    line_mm: float
    mm2: Mapping[str, float]

    @property
    def hours(self) -> float:
        """At the usual pace."""
        return self.line_mm / LINE_MM_H + sum(self.mm2.get(t, 0.0) / pace for t, pace in MM2_H.items())

    def larger(self, scale: float) -> Work:
        """The same drawing so many times as large."""
        return Work(self.line_mm * scale, {t: a * scale**2 for t, a in self.mm2.items()})


def work_of(drawing: Drawing, tones: Mapping[str, float], colours: Mapping[str, float] | None = None) -> Work:
    """The work in a drawing with these shares of tones. A stroke's length is half the way round it.

    `colours`: shares of the silhouette by colour name, to be packed. Blacks and dark shades go in first all the same;
    mid and light tones are made by the colour itself where it is, taken as spread evenly (common practice, no
    published source)."""
    inked = [la for la in drawing.layers if la.role == "line"]
    rings = [r for la in inked for r in la.rings if len(r) > 2]
    way = sum(float(np.hypot(*(np.roll(r, -1, axis=0) - r).T).sum()) for r in rings)
    whole = drawing.outline.area
    mm2 = {t: float(tones.get(t, 0.0)) * whole for t in MM2_H}
    coloured = min(1.0, sum(map(_share, (colours or {}).values())))
    mm2 |= {"colour": coloured * whole, "mid": (1 - coloured) * mm2["mid"], "light": (1 - coloured) * mm2["light"]}
    mm2["black"] = max(0.0, mm2["black"] - sum(la.area.area for la in inked))
    return Work(way / 2, mm2)


def _share(value: object) -> float:
    """A share out of a side file, 0 where it is none."""
    good = isinstance(value, int | float) and not isinstance(value, bool) and 0 < value <= 1
    return float(value) if good else 0.0


def hours_said(hours: float, pace: float = 1.0) -> str:
    """'about 2 to 4 hours' for hours at the usual pace; `pace`: the artist's own, as a share of it."""
    low, high = (_round(hours * k / pace) for k in (LOW, HIGH))
    if high < 0.75:
        return "about half an hour"
    if low == high:
        return f"about {high:g} hour{'' if high == 1 else 's'}"
    return f"about {low:g} to {high:g} hour{'' if high == 1 else 's'}"


def _round(hours: float) -> float:
    """To halves of an hour below 10, to hours above."""
    step = 0.5 if hours < 10 else 1.0
    return max(0.5, math.floor(hours / step + 0.5) * step)
