"""Best place against shapely (GEOS): what trying everything finds, and never a collision.

Independent of the search: collisions are tested on the outlines themselves by shapely.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "compose"))
from brute_place import brute_force, clear_by_shapely, near, shapes_of
from skin_cases import blob, random_scene

from composer.body.measures import TYPICAL_MM, build_limb
from composer.compose.best_place import best_places
from composer.compose.best_place_check import Pose
from composer.plan.model import Piece
from composer.plan.scene import lay

ARM = build_limb("left_arm", dict(TYPICAL_MM))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_small_cases_equal_brute_force(seed: int) -> None:
    """The same places in the same order with the same scores, on some 500 to 2,000 tries."""
    rng = np.random.default_rng(seed)
    scene = random_scene(rng, 8, 60, 100, limb=ARM)
    art = blob(rng, 50, 1.4)
    side = {"facing": "left" if seed % 2 else "none", "upright_deg": 0}
    few = {"sizes": 2, "step_mm": 36.0, "turns": (0.0, 30.0)}
    every, tries = brute_force(scene, art, side, (36.0, 60.0), 5, **few)
    found = best_places(scene, None, art, side, (36.0, 60.0), 5, part="left_arm", **few)
    assert tries > 400
    assert len(found) == len(every) > 0
    for mine, (score, pose) in zip(found, every, strict=True):
        assert mine.score == pytest.approx(score, abs=1e-12)
        assert near(Pose(mine.u, mine.s_mm, mine.turn_deg, mine.scale, mine.flip), pose)


def test_no_proposal_ever_collides_on_200_random_plans() -> None:
    """200 plans of 3 to 12 pieces, some overlapping; every proposal is held against every outline by shapely."""
    rng = np.random.default_rng(2024)
    held = 0
    for _ in range(200):
        scene = random_scene(rng, int(rng.integers(3, 13)), 30, 90, float(rng.uniform(-8, 8)), limb=ARM)
        art = blob(rng, 60, float(rng.uniform(0.6, 1.8)))
        shapes = shapes_of(scene)
        for p in best_places(scene, None, art, {"facing": "left", "upright_deg": 0}, (30.0, 90.0), 2, sizes=3,
                             step_mm=20.0, turns=(0.0, 25.0), part="left_arm"):
            piece = Piece("x", "left_arm", art.digest, "x", p.u, p.s_mm, p.turn_deg, p.scale, p.flip)
            assert clear_by_shapely(ARM, shapes, lay(ARM, piece, art), 2.0 - 0.05)
            assert p.clear_mm >= 2.0
            held += 1
    assert held > 250
