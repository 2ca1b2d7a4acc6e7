"""How dark each filler of a whole part is to be: the zone plan's darkness, falling off away from what the eye goes to.

    share = zone * (1 - FALL * ease((far - NEAR_MM) / (FAR_MM - NEAR_MM)))

zone   the darkness of the theme's zone, as a share of the hand's
far    mm in space from the middle of the filler's gaps, by their area, to the nearest focal piece
ease   the cubic with level ends (`compose.tone_field.ease`)

Focal pieces are the main pieces of at least FOCAL of the largest one's area. Background is deepest round them and gives
way towards what matters less; zones that lie next to each other stay at least APART apart, so that each reads as one
mass against its neighbour (common practice, no published source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import cKDTree

from composer.compose.tone_field import ease

if TYPE_CHECKING:
    from composer.compose.gaps import Gap
    from composer.filler.fabric_plan import Cluster, Zone
    from composer.plan.scene import Laid, Scene

FOCAL = 0.6
NEAR_MM, FAR_MM = 30.0, 150.0
FALL = 0.3
APART = 0.15
LEAST, MOST, STEP = 0.4, 1.8, 0.05
"""What the artist can set for one filler ('Darkness', times the hand's), and its steps."""


def focal_pieces(scene: Scene) -> list[Laid]:
    """The main pieces that the eye goes to: the largest, and those nearly as large."""
    mains = [x for x in scene.laid if not x.piece.is_filler]
    size = [shapely.area(x.flat.outline) for x in mains]
    return [x for x, a in zip(mains, size, strict=True) if a >= FOCAL * max(size)]


def darkened(scene: Scene, parts: Sequence[Cluster], zones: Sequence[Zone]) -> list[Cluster]:
    """The clusters of a zone plan, the zone of each as dark as it is to be drawn."""
    far = _far(scene, [p.gaps for p in parts])
    fall = 1.0 - FALL * ease((far - NEAR_MM) / (FAR_MM - NEAR_MM))
    of = np.array([zones.index(p.zone) for p in parts])
    weight = np.array([sum(g.area_mm2 for g in p.gaps) for p in parts])
    shift, before = np.zeros(len(zones)), None
    for k in np.unique(of):
        mean = zones[k].dark * float(np.average(fall[of == k], weights=weight[of == k]))
        if before is not None and abs(mean - before[1]) < APART:
            lighter = zones[k].dark < zones[before[0]].dark or (zones[k].dark == zones[before[0]].dark and
                                                                mean <= before[1])
            shift[k] = before[1] + (-APART if lighter else APART) - mean
        before = (k, mean + shift[k])
    dark = np.array([p.zone.dark for p in parts]) * fall + shift[of]
    dark = np.round(np.clip(dark, LEAST, MOST) / STEP) * STEP
    return [replace(p, zone=replace(p.zone, dark=round(float(d), 2))) for p, d in zip(parts, dark, strict=True)]


def _far(scene: Scene, groups: Sequence[Sequence[Gap]]) -> np.ndarray:
    """How far the middle of each group of gaps lies from the nearest focal piece, mm (n,); 0 where there is none."""
    focal = focal_pieces(scene)
    if not focal or not groups:
        return np.zeros(len(groups))
    rim = cKDTree(scene.limb.embed(np.concatenate([r for x in focal for r in x.rings])))
    out = []
    for gaps in groups:
        us = np.array([g.centre for g in gaps])
        far = rim.query(scene.limb.embed(us))[0]
        out.append(float(np.average(far, weights=[g.area_mm2 for g in gaps])))
    return np.array(out)
