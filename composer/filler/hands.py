"""Hands to choose from: sets of needles and habits, and what line a round grouping of needles leaves.

The packing is exact: the smallest circle round n equal circles (Graham, Lubachevsky, Nurmela and
Ostergard, 'Dense packings of congruent circles in a circle', 1998). It bounds the line from above; that a
tight liner leaves about four fifths of it is common practice, no published source, and from memory, so
the widths are for the artist to calibrate on a client's skin. Needle sizes 8, 10 and 12 are 0.25, 0.30
and 0.35 mm across (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from composer.plan.model import Hand

PACKED = {1: 1.0, 3: 1 + 2 / np.sqrt(3), 5: 1 + np.sqrt(2 * (1 + 1 / np.sqrt(5))), 7: 3.0,
          9: 1 + np.sqrt(2 * (2 + np.sqrt(2))), 11: 1 + 1 / np.sin(np.pi / 9), 14: 4.328}
"""Diameter of the smallest circle round so many needles, in needle diameters."""
TIGHT = 0.8
"""Share of that circle that a tight round liner leaves as line. Common practice, no published source."""
NEEDLES_MM = (0.25, 0.30, 0.35)
CALIBRATE = ("Line widths by grouping are common practice, not a standard: makers differ and lines widen as they heal. "
             "Try yours and put in what they leave.")


@dataclass(frozen=True)
class Grouping:
    """A round grouping: so many needles of this diameter."""

    count: int
    needle_mm: float

    @property
    def line_mm(self) -> float:
        """The line that it leaves, mm, rounded to 0.01."""
        return round(TIGHT * float(PACKED[self.count]) * self.needle_mm, 2)

    @property
    def name(self) -> str:
        """As artists say it."""
        what = "single needle" if self.count == 1 else f"{self.count} round"
        return f"{what}, {self.needle_mm:.2f} mm needles" if self.count > 1 else f"{what}, {self.needle_mm:.2f} mm"


GROUPINGS = tuple(Grouping(n, d) for n in PACKED for d in NEEDLES_MM)


def nearest(width_mm: float) -> Grouping:
    """The grouping whose line comes nearest to a width in mm; of equals the one with fewer needles."""
    return min(GROUPINGS, key=lambda g: (round(abs(g.line_mm - width_mm), 4), g.count))


@dataclass(frozen=True)
class Preset:
    """A hand by name: `about` says it in one sentence; the groupings of outline, line and fine line."""

    name: str
    title: str
    about: str
    outline: Grouping
    line: Grouping
    fine: Grouping
    habits: Hand

    @property
    def hand(self) -> Hand:
        """The hand with the widths its needles leave."""
        return replace(self.habits, outline_mm=self.outline.line_mm, line_mm=self.line.line_mm,
                       fine_mm=self.fine.line_mm)


PRESETS: dict[str, Preset] = {p.name: p for p in (
    Preset("even", "Fine and even", "Thin lines that keep their width, soft corners, little black.",
           Grouping(5, 0.30), Grouping(3, 0.30), Grouping(3, 0.25),
           Hand(taper=0.45, dark=0.3, wobble=0.0, corner=0.35, density=0.55)),
    Preset("clean", "Clean and swelling", "Three clear weights, long tapers, black where it carries.",
           Grouping(9, 0.35), Grouping(5, 0.30), Grouping(3, 0.25),
           Hand(taper=0.8, dark=0.5, wobble=0.0, corner=0.0, density=0.5)),
    Preset("bold", "Bold shop", "Heavy lines that read from across the street, much black, open skin between.",
           Grouping(14, 0.35), Grouping(9, 0.30), Grouping(5, 0.30),
           Hand(taper=0.3, dark=0.9, wobble=0.0, corner=0.15, density=0.4)),
    Preset("wash", "Soft wash", "Light lines that run out to nothing, round corners, shade in grey.",
           Grouping(5, 0.30), Grouping(3, 0.35), Grouping(3, 0.25),
           Hand(taper=1.0, dark=0.75, wobble=0.15, corner=0.8, density=0.6)),
    Preset("chart", "Old sea chart", "Middling lines that shake a little, sharp corners, hollow rather than black.",
           Grouping(7, 0.30), Grouping(3, 0.35), Grouping(3, 0.25),
           Hand(taper=0.6, dark=0.2, wobble=0.7, corner=0.0, density=0.5)),
)}
"""Every preset by name."""


def preset(name: str) -> Preset:
    """The preset of that name. Raises ValueError with the sentence to show."""
    if name not in PRESETS:
        known = ", ".join(p.title for p in PRESETS.values())
        raise ValueError(f"There is no hand called '{name[:40]}'; choose {known}.")
    return PRESETS[name]


def preset_of(hand: Hand) -> Preset | None:
    """The preset that a hand is (line widths within 0.06 mm, so that the usual hand is one), or None when
    it is the artist's own."""
    widths = ("outline_mm", "line_mm", "fine_mm")
    for p in PRESETS.values():
        near = all(abs(getattr(p.hand, w) - getattr(hand, w)) < 0.06 for w in widths)
        if near and replace(hand, **{w: getattr(p.hand, w) for w in widths}) == p.hand:
            return p
    return None
