"""Best place on chest and upper back against shapely (GEOS): what trying everything finds, and never a collision."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "compose"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "body"))
from panel_cases import UNEVEN, typical
from panel_place import apart_mm, brute_force, lay_at, over_edge_mm, panel_scene
from skin_cases import blob

from composer.body.yoke import build_panel
from composer.compose.best_place import best_places
from composer.compose.best_place_check import Pose
from composer.compose.best_place_room import make_room

CHEST = typical("chest")
TURNS = (0.0, 25.0)


def pose(p: object) -> Pose:
    return Pose(p.u, p.s_mm, p.turn_deg, p.scale, p.flip)  # type: ignore[attr-defined]


@pytest.mark.parametrize("part,seed", [("chest", 1), ("upper_back", 2)])
def test_small_cases_equal_brute_force(part: str, seed: int) -> None:
    """The same places in the same order with the same scores."""
    rng = np.random.default_rng(seed)
    panel = typical(part)
    scene = panel_scene(rng, panel, part, 7, 60, 100)
    art = blob(rng, 50, 1.4)
    side = {"facing": "left" if seed % 2 else "none", "upright_deg": 0}
    few = {"sizes": 2, "step_mm": 46.0, "turns": (0.0, 30.0)}
    every, tries = brute_force(scene, part, art, side, (36.0, 60.0), 5, skin_break_mm=2.0, **few)  # type: ignore[arg-type]
    found = best_places(scene, None, art, side, (36.0, 60.0), 5, part=part, **few)  # type: ignore[arg-type]
    assert tries > 200
    assert len(found) == len(every) > 0
    for mine, (score, there) in zip(found, every, strict=True):
        assert mine.score == pytest.approx(score, abs=1e-12)
        assert pose(mine) == there


def test_no_proposal_collides_or_lies_over_the_edge_on_20_random_chests() -> None:
    """Even and uneven chests with 3 to 12 pieces, some overlapping, some over the edge; measured in each piece's own
    patch. 0.05 mm for the 1.2 mm steps along outlines."""
    rng = np.random.default_rng(2026)
    uneven = build_panel("chest", UNEVEN)
    held = 0
    for n in range(20):
        panel = uneven if n % 4 == 3 else CHEST
        scene = panel_scene(rng, panel, "chest", int(rng.integers(3, 13)), 30, 90, float(rng.uniform(-8, 8)))
        art = blob(rng, 60, float(rng.uniform(0.6, 1.8)))
        for p in best_places(scene, None, art, {"facing": "left", "upright_deg": 0}, (30.0, 110.0), 5, sizes=4,
                             step_mm=12.0, turns=TURNS, part="chest"):
            laid = lay_at(panel, "chest", art, pose(p))
            assert apart_mm(laid, list(scene.laid)) >= 2.0 - 0.05
            assert over_edge_mm(panel, laid) == 0
            assert p.clear_mm >= 2.0 and p.readings.over == ()
            assert p.readings.mark("break").level == ""
            held += 1
    assert held > 80


def test_what_room_proposes_on_a_chest_is_clear() -> None:
    rng = np.random.default_rng(5)
    scene = panel_scene(rng, CHEST, "chest", 9, 40, 80, -8.0)
    ways = 0
    for x in scene.laid:
        room, p = make_room(scene, x.piece.id), x.piece
        others = [o for o in scene.laid if o is not x]
        assert room.sentences
        back = np.linalg.inv(np.column_stack([[np.cos(a := np.radians(p.turn_deg)), np.sin(a)],
                                              [-np.sin(a), np.cos(a)]]))
        art = x.flat.moved(np.column_stack([back, [0.0, 0.0]]))
        options = [Pose(*room.to, p.turn_deg, 1.0, False)] if room.to else []
        options += [Pose(p.u, p.s_mm, p.turn_deg + room.turn_deg, 1.0, False)] if room.turn_deg else []
        options += [Pose(p.u, p.s_mm, p.turn_deg, room.scale, False)] if room.scale else []
        for o in options:
            laid = lay_at(CHEST, "chest", art, o)
            assert apart_mm(laid, others) >= 2.0 - 0.05
            assert over_edge_mm(CHEST, laid) == 0
            ways += 1
    assert ways >= 9
