"""Background keeps to a sleeve's wavy edge, but for crevices beside a piece that are closed up to their mouth."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

sys.path.insert(0, str(Path(__file__).parents[1] / "compose"))
from skin_cases import random_scene

from composer.body.measures import TYPICAL_MM, build_limb
from composer.compose.extent import edge_at, within
from composer.compose.gaps import survey
from composer.filler.ground import Wish
from composer.filler.lay_ground import site
from composer.filler.proposals import propose
from composer.plan.extents import EdgeLine, Extent
from composer.plan.model import Settings

ARM = build_limb("left_arm", dict(TYPICAL_MM))
SLEEVE = Extent(EdgeLine("", 120.0, "wavy", 24.0), EdgeLine("", 420.0, "wavy", 16.0))


@pytest.mark.parametrize("kind", ["cloud", "filigree", "lightning", "rocks"])
def test_ink_that_is_seen_keeps_to_the_waves(kind: str) -> None:
    settings = Settings()
    scene = random_scene(np.random.default_rng(4), 10, 40, 80, limb=ARM)
    cut = within(replace(scene, sleeve=SLEEVE), SLEEVE)
    found = survey(cut)
    for border, edge, sign in (("border:near", SLEEVE.near, 1.0), ("border:far", SLEEVE.far, -1.0)):
        gap = next(g for g in found.gaps if border in g.neighbours)
        goal = {"gap": [[round(gap.centre[0], 5), round(gap.centre[1], 2)]]}
        made = propose(cut, found, goal, [kind], settings.hand, Wish(), 3, 1, settings)
        place = site(cut, found, [gap], settings)
        hidden = shapely.buffer(place.ground.front, settings.skin_break_mm + 0.1)
        ink = shapely.union_all([shapely.make_valid(shapely.Polygon(r)) for la in made[0].drawing.layers
                                 for r in la.rings])
        seen = shapely.segmentize(shapely.difference(ink, hidden), 0.5)
        beyond = shapely.difference(seen, shapely.buffer(place.ground.region, 0.2))
        us = place.patch.to_skin(shapely.get_coordinates(seen))
        over = sign * (us[:, 1] - edge_at(ARM, edge, us[:, 0]))
        assert seen.area > 100 and over.max() > -12.0     # it comes up to the edge
        assert beyond.area < 5.0 and over.max() < settings.line_gap_mm + 1.0
