"""A piece so wide that it meets itself behind the limb.

The outline is held against its own copy one whole turn further: on skin a shift of u by one, on
paper a turn about the tip of the patch's cone (a shift by the girth on a cylinder).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import Polygon

from composer.body.metric import area
from composer.body.patch import Patch
from composer.body.units import format_area

if TYPE_CHECKING:
    from composer.body.surface import Surface


@dataclass(frozen=True)
class SelfMeeting:
    """How a piece stands to itself round the limb.

    `overlap_mm2` skin that it would cover twice; `space_mm` the clear space between its two
    sides (0 where they meet); `share` its widest reach in turns; `sentence` '' when all is well.
    """

    overlap_mm2: float
    space_mm: float
    share: float
    sentence: str

    @property
    def meets(self) -> bool:
        return self.overlap_mm2 > 0


def self_meeting(limb: Surface, patch: Patch, rings: Sequence[np.ndarray], skin_break_mm: float = 2.0,
                 unit: str = "cm") -> SelfMeeting:
    """Hold an outline (even-odd rings (n, 2) in the patch chart, mm) against itself a turn on.

    Overlap is measured on skin, the space in the chart, where lengths are true. `unit`: of the sentence.
    """
    skin = [patch.to_skin(_dense(r)) for r in rings if len(r) >= 3]
    if not skin:
        return SelfMeeting(0.0, float("inf"), 0.0, "")
    u = np.concatenate([r[:, 0] for r in skin])
    share = float(u.max() - u.min())
    here = _shape(skin)
    overlap, space = 0.0, float("inf")
    for k in range(1, int(np.ceil(share)) + 1):
        there = shapely.transform(here, lambda p, k=k: p + np.array([k, 0.0]))
        both = shapely.intersection(here, there)
        overlap += area(limb, both)
    if overlap == 0.0:
        flat = _shape([patch.to_flat(r) for r in skin])
        turned = _shape([patch.to_flat(r + np.array([1.0, 0.0])) for r in skin])
        space = float(shapely.distance(flat, turned))
    else:
        space = 0.0
    return SelfMeeting(overlap, space, share, _say(overlap, space, share, skin_break_mm, unit))


def _say(overlap: float, space: float, share: float, skin_break: float, unit: str) -> str:
    if overlap > 0:
        return (f"The piece is wider than the limb is round ({share:.2f} turns) and covers itself on "
                f"{format_area(overlap, unit)}; make it smaller, turn it, or use it as a band that closes.")
    if space < skin_break:
        return (f"The two sides of the piece come within {space:.1f} mm of each other behind the limb "
                f"(skin break {skin_break:.1f} mm); make it a little smaller.")
    return ""


def _dense(ring: np.ndarray, step_mm: float = 3.0) -> np.ndarray:
    """The ring with points at most `step_mm` apart, so that straight edges bend as the limb does."""
    ring = np.asarray(ring, float)
    after = np.roll(ring, -1, axis=0)
    n = np.maximum(1, np.ceil(np.hypot(*(after - ring).T) / step_mm)).astype(int)
    return np.concatenate([p + (q - p) * np.linspace(0, 1, k, endpoint=False)[:, None]
                           for p, q, k in zip(ring, after, n, strict=True)])


def _shape(rings: Sequence[np.ndarray]) -> shapely.Geometry:
    """Even-odd rings as one valid shape."""
    out: shapely.Geometry = Polygon()
    for r in rings:
        out = shapely.symmetric_difference(out, shapely.make_valid(Polygon(r)))
    return out
