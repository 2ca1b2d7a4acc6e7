"""A stroke of the brush: the open skin under it, and what is drawn there."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon
from test_proposals import world

from composer.art.drawing import Drawing, Layer
from composer.body.limb import Level, Limb
from composer.compose.gaps import Survey, survey
from composer.filler.ground import Wish
from composer.filler.painted import painted_gaps
from composer.filler.proposals import propose, rebuild
from composer.plan.model import Hand, Piece, Settings
from composer.plan.scene import Laid, Scene, lay

TUBE = Limb((Level("wrist", 0, 260), Level("deltoid", 400, 260)))


def box(name: str, w: float, h: float, u: float, s: float) -> Laid:
    ring = np.array([[-w, -h], [w, -h], [w, h], [-w, h]]) / 2
    art = Drawing((ring,), (Layer("line", (ring,)),))
    return lay(TUBE, Piece(name, "left_arm", art.digest, name, u, s), art)


def found(*laid: Laid) -> Survey:
    return survey(Scene(TUBE, -0.5, laid))


POST = box("post", 20, 120, 0.25, 200.0)


def test_a_stroke_over_bare_skin_is_its_own_band() -> None:
    gap, = painted_gaps(found(POST), {"brush": [[-0.25, 150], [-0.25, 250]], "width_mm": 30})
    assert gap.area_mm2 == pytest.approx(100 * 30 + np.pi * 15**2, rel=0.01)
    assert gap.widest_mm == pytest.approx(30, rel=0.03) and gap.neighbours == ()


def test_a_stroke_behind_a_piece_is_open_on_both_sides_of_it_by_the_skin_break() -> None:
    gaps = painted_gaps(found(POST), {"brush": [[0.05, 200], [0.45, 200]], "width_mm": 30})
    assert len(gaps) == 2 and all(g.neighbours == ("post",) for g in gaps)
    want = (0.4 * 260 - 24) / 2 * 30 + np.pi * 15**2 / 2
    assert [g.area_mm2 for g in gaps] == pytest.approx([want, want], rel=0.02)
    post = Polygon(np.array([[-10, -60], [10, -60], [10, 60], [-10, 60]]))
    for g in gaps:
        flat = (g.rings[0] - (0.25, 200)) * (260, 1)
        assert 2.0 <= shapely.distance(post, Polygon(flat)) < 2.2


def test_over_the_seam_nothing_changes() -> None:
    f = found(POST)
    here = painted_gaps(f, {"brush": [[0.05, 200], [0.45, 230]], "width_mm": 22})
    there = painted_gaps(f, {"brush": [[1.05, 200], [1.45, 230]], "width_mm": 22})
    assert [g.area_mm2 for g in there] == pytest.approx([g.area_mm2 for g in here], abs=1e-6)
    assert np.allclose([g.centre for g in there], np.add([g.centre for g in here], (1.0, 0.0)), atol=1e-3)


def test_beyond_the_cuff_there_is_no_skin() -> None:
    gap, = painted_gaps(found(POST), {"brush": [[-0.25, 5], [-0.1, 5]], "width_mm": 30})
    assert gap.rings[0][:, 1].min() >= -1e-6


@pytest.mark.parametrize(("goal", "words"), [
    ({"brush": [[0.25, 200]], "width_mm": 10}, "no open skin"),
    ({"brush": [[0, 10], [0, 390]], "width_mm": 20}, "Paint it in two"),
    ({"brush": [[0, 10]], "width_mm": 2}, "6 to 120 mm"),
    ({"brush": [[0, float("nan")]], "width_mm": 20}, "paint it again"),
    ({"brush": [], "width_mm": 20}, "paint it again"),
    ({"brush": "here", "width_mm": 20}, "paint it again"),
])
def test_what_cannot_be_filled_is_said(goal: dict, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        painted_gaps(found(POST), goal)


def test_a_stroke_gets_candidates_that_can_be_drawn_again() -> None:
    scene, seen = world()
    g = max(seen.gaps, key=lambda g: g.widest_mm)
    goal = {"brush": [[g.centre[0] - 0.05, g.centre[1]], [g.centre[0] + 0.05, g.centre[1] + 10]], "width_mm": 40}
    made = propose(scene, seen, goal, ["wind"], Hand(), Wish(), 2)
    assert made and made[0].recipe.goal == goal
    again = rebuild(made[0].recipe, scene, seen, Settings(skin_break_mm=seen.skin_break_mm))
    assert again.drawing.digest == made[0].drawing.digest
