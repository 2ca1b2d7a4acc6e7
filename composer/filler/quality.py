"""How good a filler is as ornament, in figures that noise does not reach.

Cover and evenness do not tell ornament from noise, so strokes are read back from the ink
(`skeleton`) and looked at as an artist would: do lines run on into one another, do they end in a
point or a ball or behind something, are there large, middle and small, does it hang together.
`standing` is the one figure by which kinds and baselines are ranked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import END_KINDS, Drawing
from composer.filler.check import findings
from composer.filler.clip import visible
from composer.filler.ends import classed, ink_of, seen_of
from composer.filler.filigree_room import Room
from composer.filler.ground import Ground
from composer.filler.skeleton import StrokeEnd, Strokes, ends_of, strokes_of
from composer.plan.model import Hand

REACH_MM = 5.0
TONE_MM = 7.0
"""Over what length tone is taken together."""
TONES = {"light": 0.2, "mid": 0.45, "dark": 0.7, "black": 1.0, "line": 1.0}


@dataclass(frozen=True)
class Quality:
    """Measures of one filler on one ground.

    `reach`: share of the open skin within 5 mm of ink. `void_cv`: spread over mean of the void
    radii. `loose` parts and narrow `slots` (narrower than the line gap) in 10 cm2 of skin. `joints`
    where strokes meet, `smooth` the share of them in which every limb runs on into another, `crossed`
    the share in which strokes run through each other. `ends` by class: tip, ball, tucked, bare.
    `stubs`: of the bare ones, those cut off at the edge of the skin. `widths`: how many times wider
    the widest strokes (95 in 100) are than the finest (10 in 100). `tones`: spread of tone from place to place.
    `flow_deg`: mean angle between strokes and flow. `feature_mm` finest ink and `gap_mm` the line gap
    that is kept (mm, in steps of 0.2 up to 3). `symmetry_off`: share of the ink without mirror image
    (nan where no symmetry is claimed). `crossings_of_rings`: rings that cross themselves.
    """

    reach: float
    void_cv: float
    widest_void_mm: float
    loose: float
    slots: float
    joints: int
    smooth: float
    crossed: float
    ends: dict[str, int]
    stubs: int
    widths: float
    tones: float
    flow_deg: float
    feature_mm: float
    gap_mm: float
    symmetry_off: float
    crossings_of_rings: int

    @property
    def well_ended(self) -> float:
        """Share of the ends that are a tip, a ball or tucked; 1 where there are none (dots)."""
        n = sum(self.ends.values())
        return 1.0 - self.ends["bare"] / n if n else 1.0


STANDS = {
    "gap": "lines stand clear of one another",
    "whole": "it hangs together",
    "ended": "strokes end in a tip, a ball or tucked, none cut off",
    "sizes": "wide and fine strokes",
    "voids": "white of different sizes, neither hatch nor holes",
    "tones": "darker and lighter places",
}
"""What `standing` is made of, in words."""
FLOOR = 0.02


def shares(q: Quality) -> dict[str, float]:
    """How far a filler has each trait of ornament, 0..1 (see STANDS). The scales come from the first
    run over every kind and three plain fills; they were set once, for all kinds alike."""
    return {
        "gap": float(np.exp(-q.slots / 5.0)),
        "whole": 1.0 / (1.0 + q.loose / 10.0),
        "ended": q.well_ended * float(np.exp(-q.stubs / 5.0)),
        "sizes": float(np.clip(np.log2(max(q.widths, 1.0)) / 2.0, 0.0, 1.0)),
        "voids": float(np.clip(min((q.void_cv - 0.1) / 0.25, (1.0 - q.void_cv) / 0.45), 0.0, 1.0)),
        "tones": float(np.clip(q.tones / 0.1, 0.0, 1.0)),
    }


def standing(q: Quality) -> float:
    """One figure, 0..1: the geometric mean of the traits, so that none makes up for another that is
    missing. Noise lacks one at least; ornament has some of each."""
    each = np.maximum(list(shares(q).values()), FLOOR)
    return float(np.exp(np.log(each).mean()))


def quality(drawing: Drawing, ground: Ground, hand: Hand, shown: Ground | None = None) -> Quality | None:
    """The measures of a drawing (unclipped, as kinds give it); None when nothing of it is seen. `shown`: the ground
    with all the skin on which it comes into view (`finish.in_view`), where that is more than is to be filled: strokes
    end there."""
    seen = visible(drawing, ground.front, ground.skin_break_mm, 0.9 * hand.fine_mm, ground.line_gap_mm)
    ink, free = (shapely.make_valid(g) for g in (seen.ink("line", "black"), ground.free))
    ink = shapely.intersection(ink, free)
    if ink.is_empty or ink.area < 0.2:
        return None
    per = 1000.0 / ground.free.area
    lines = replace(seen, layers=tuple(la for la in seen.layers if la.role in ("line", "black")))
    bad = findings(lines, ground, hand)
    strokes = strokes_of(ink, needle_mm=hand.fine_mm)
    ends, stubs = _ends(strokes.ends, drawing, ground) if shown is None else _ends_on(shown, drawing, hand)
    void_cv, widest, reach = _voids(ink, ground)
    rules = [f.rule for f in bad]
    n = len(strokes.joints)
    wide = np.percentile(strokes.width, [10, 95]) if len(strokes.width) else np.ones(2)
    return Quality(
        reach, void_cv, widest, len(shapely.get_parts(ink)) * per, rules.count("line gap") * per, n,
        sum(j.smooth for j in strokes.joints) / n if n else 0.0,
        sum(j.crossed for j in strokes.joints) / n if n else 0.0,
        ends, stubs, float(wide[1] / max(wide[0], 1e-6)), _tones(seen, ground), flow_off(strokes, ground),
        _feature(ink), _gap(lines, ground, hand), symmetry_off(drawing, ground), rules.count("valid"))


def _ends(ends: Sequence[StrokeEnd], drawing: Drawing, ground: Ground) -> tuple[dict[str, int], int]:
    """Ends by class, and how many of the bare ones are cut off at the edge of the skin."""
    how, cut = classed(ends, drawing, ground)
    return {k: how.count(k) for k in END_KINDS}, sum(cut)


def _ends_on(shown: Ground, drawing: Drawing, hand: Hand) -> tuple[dict[str, int], int]:
    return _ends(ends_of(ink_of(seen_of(drawing, shown, hand), shown), needle_mm=hand.fine_mm), drawing, shown)


def _voids(ink: BaseGeometry, ground: Ground) -> tuple[float, float, float]:
    """Spread over mean of the void radii, the widest void (mm across), the share within 5 mm of ink."""
    room, over = Room(ground.free, 0.6), Room(ink, 0.6, ground.free.bounds)
    inside, away = room.wall > 0, -over.wall
    void = np.where(inside, np.minimum(room.wall, away), -1.0)
    radii = void[(void >= ndimage.maximum_filter(void, size=7)) & (void > 0.8)]
    cv = float(radii.std() / radii.mean()) if len(radii) > 1 else 0.0
    return cv, float(2 * void.max()), float((away[inside] <= REACH_MM).mean())


def _tones(seen: Drawing, ground: Ground) -> float:
    """Spread of tone (0 skin, 1 black) from place to place, each the mean over about 7 mm."""
    room = Room(ground.free, 0.5)
    inside = room.wall > 0
    tone = np.zeros(room.shape)
    for la in seen.layers:
        if la.rings:
            tone = np.maximum(tone, TONES[la.role] * (Room(la.area, 0.5, ground.free.bounds).wall > 0))
    s = TONE_MM / 0.5 / 2.5
    whole = ndimage.gaussian_filter(inside.astype(float), s)
    mean = ndimage.gaussian_filter(tone * inside, s) / np.maximum(whole, 1e-6)
    return float(mean[inside].std())


def flow_off(strokes: Strokes, ground: Ground) -> float:
    """Mean angle (degrees, 0..90) between the strokes and the flow; 45 for strokes without a direction."""
    told = np.isfinite(strokes.way)
    if not told.any():
        return 45.0
    off = strokes.way[told] - ground.flow(strokes.at[told])
    return float(np.degrees(np.abs((off + np.pi / 2) % np.pi - np.pi / 2).mean()))


def _feature(ink: BaseGeometry) -> float:
    """The finest ink, mm in steps of 0.1 up to 3: the width at which an opening begins to lose more than
    the rounding of ends."""
    low, high = 1, 30
    while low < high:
        mid = (low + high) // 2
        width = 0.1 * mid
        kept = shapely.buffer(shapely.buffer(ink, -width / 2, quad_segs=3), 0.56 * width, quad_segs=4)
        lost = shapely.get_parts(shapely.difference(ink, kept))
        if (shapely.area(lost) > 0.5 * width * width).any():
            high = mid
        else:
            low = mid + 1
    return round(0.1 * low, 1)


def _gap(lines: Drawing, ground: Ground, hand: Hand) -> float:
    """The line gap that the drawing keeps apart from its declared joints, mm in steps of 0.2."""
    low, high = 0, 15
    while low < high:
        mid = (low + high + 1) // 2
        if any(f.rule == "line gap" for f in findings(lines, replace(ground, line_gap_mm=0.2 * mid), hand)):
            high = mid - 1
        else:
            low = mid
    return round(0.2 * low, 1)


def symmetry_off(drawing: Drawing, ground: Ground) -> float:
    """Share of the ink without its mirror image, about the axis that the drawing notes or the ground
    asks for; nan where there is none."""
    mirror: dict[str, Any] | None = drawing.notes.get("mirror")
    if mirror is None and ground.symmetry_deg is None:
        return float("nan")
    x, y = mirror["at"] if mirror else (0.0, 0.0)
    a = 2 * np.radians(float(mirror["deg"] if mirror else ground.symmetry_deg or 0.0))
    turn = np.array([[np.cos(a), np.sin(a)], [np.sin(a), -np.cos(a)]])
    ink = drawing.ink("line", "black")
    image = shapely.transform(ink, lambda p: (p - (x, y)) @ turn.T + (x, y))
    return float(shapely.symmetric_difference(ink, image).area / max(2 * ink.area, 1e-9))
