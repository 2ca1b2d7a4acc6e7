"""How near pieces lie to each other on skin, and how much of one lies under another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.body.metric import area
from composer.body.patch import lay_patch
from composer.body.surface import Surface
from composer.compose.thresholds import NEAR_MM
from composer.plan.scene import Laid


@dataclass(frozen=True)
class Near:
    """A neighbour: its id, clearance in mm (0 when they overlap), skin shared in mm2."""

    id: str
    clearance_mm: float
    overlap_mm2: float


def on_skin(laid: Laid) -> BaseGeometry:
    """The silhouette on skin, a geometry in (u, s mm), u unwrapped."""
    flat = shapely.segmentize(laid.flat.outline, 3.0)
    return shapely.make_valid(shapely.transform(flat, laid.patch.to_skin))


def near_pieces(limb: Surface, laid: Laid, others: list[Laid]) -> list[Near]:
    """Pieces within NEAR_MM of this one, nearest first. A distance is measured in a patch laid where
    the two come nearest, all round the limb; overlaps by the girth at each level."""
    mine = on_skin(laid)
    out = []
    for other in others:
        theirs = on_skin(other)
        near = [(d, k) for k in _turns(limb, mine, theirs)
                if (d := _clearance(limb, mine, _shifted(theirs, k))) <= NEAR_MM]
        if near:
            shared = sum(area(limb, shapely.intersection(mine, _shifted(theirs, k))) for d, k in near if d == 0)
            out.append(Near(other.piece.id, min(near)[0], float(shared)))
    return sorted(out, key=lambda n: (n.clearance_mm, -n.overlap_mm2, n.id))


def _shifted(shape: BaseGeometry, k: int) -> BaseGeometry:
    return shapely.transform(shape, lambda p: p + np.array([k, 0.0])) if k else shape


def _turns(limb: Surface, a: BaseGeometry, b: BaseGeometry) -> range:
    """Whole turns to add to b that may bring it within NEAR_MM of a."""
    (a0, s0, a1, s1), (b0, r0, b1, r1) = a.bounds, b.bounds
    if r0 > s1 + NEAR_MM or r1 < s0 - NEAR_MM:
        return range(0)
    reach = NEAR_MM / float(np.min(limb.girth(np.linspace(min(s0, r0), max(s1, r1), 9))))
    return range(int(np.ceil(a0 - reach - b1)), int(np.floor(a1 + reach - b0)) + 1)


def _clearance(limb: Surface, a: BaseGeometry, b: BaseGeometry) -> float:
    """Least distance, mm: found in (u, s), measured in a patch at the place found, then again there."""
    if shapely.intersects(a, b):
        return 0.0
    mid_s = (max(a.bounds[1], b.bounds[1]) + min(a.bounds[3], b.bounds[3])) / 2
    c = float(limb.girth(mid_s))
    stretched = [shapely.transform(g, lambda p: p * np.array([c, 1.0])) for g in (a, b)]
    at = shapely.get_coordinates(shapely.shortest_line(*stretched)).mean(axis=0) / np.array([c, 1.0])
    d = 0.0
    for _ in range(2):
        patch = lay_patch(limb, float(at[0]), float(at[1]), 15.0, 15.0, 15.0)
        line = shapely.get_coordinates(shapely.shortest_line(
            shapely.transform(a, patch.to_flat), shapely.transform(b, patch.to_flat)))
        d = float(np.hypot(*(line[1] - line[0])))
        at = patch.to_skin(line.mean(axis=0)[None])[0]
    return d
