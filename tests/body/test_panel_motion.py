"""Chest and back in motion: at rest nothing moves, fields are alike on both sides, smooth, and where they should be."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from panel_cases import SOME, places, trunks, typical

from composer.body.motion import WHEN, folding, is_known, poses_of, strain, ways_of, worst
from composer.body.panel_mirror import mirror_panel_points
from composer.body.yoke import build_panel
from composer.body.zones import zone_at, zones_of

PARTS = ("chest", "upper_back")


@settings(SOME, max_examples=6)
@given(data=st.data(), part=st.sampled_from(PARTS))
def test_both_sides_move_alike_and_nothing_tears(data: st.DataObject, part: str) -> None:
    panel = build_panel(part, data.draw(trunks(part)))
    us = places(panel, 150)
    near = us + np.array([0.5 / panel.turn_mm, 0.5])
    for pose in poses_of(part):
        here = strain(panel, part, us, pose)
        assert np.isfinite(here).all() and here.shape == (len(us), 2)
        assert np.abs(here).max() <= 0.54
        assert np.abs(strain(panel, part, mirror_panel_points(panel, us), pose) - here).max() < 1e-6
        assert np.abs(strain(panel, part, near, pose) - here).max() < 0.02      # 0.7 mm on
    assert not strain(panel, part, us, "relaxed").any()


def test_the_worst_is_the_furthest_from_rest_in_each_direction() -> None:
    for part in PARTS:
        panel = typical(part)
        us = places(panel, 200)
        every = np.stack([strain(panel, part, us, p) for p in poses_of(part)])
        found = worst(panel, part, us)
        assert np.array_equal(np.abs(found.strain), np.abs(every).max(axis=0))
        assert np.array_equal(found.strain, np.take_along_axis(every, found.pose[None], axis=0)[0])
        assert np.array_equal(found.folds, np.any([folding(panel, part, us, p) for p in poses_of(part)], axis=0))


@pytest.mark.parametrize(("part", "pose", "zone", "column", "sign"), [
    ("chest", "arm raised", "armpit_edge", 0, 1), ("chest", "arm raised", "shoulder_front", 0, 1),
    ("chest", "breathed in", "ribs", 1, 1), ("chest", "flexed", "chest_upper", 1, -1),
    ("upper_back", "arm raised", "armpit_edge", 1, 1), ("upper_back", "arm raised", "shoulder_blade", 1, 1),
    ("upper_back", "blades together", "between_blades", 1, -1), ("upper_back", "breathed in", "below_blade", 1, 1)])
def test_skin_moves_where_it_should(part: str, pose: str, zone: str, column: int, sign: int) -> None:
    panel = typical(part)
    us = places(panel, 1500)
    names = np.array(zone_at(zones_of(part, panel), us))
    here = strain(panel, part, us[np.char.startswith(names, zone)], pose)[:, column]
    assert sign * here.mean() > 0.01
    assert np.abs(here).max() == pytest.approx((sign * here).max())


def test_skin_creases_between_the_blades_and_beside_the_shoulder_point() -> None:
    back = typical("upper_back")
    us = places(back, 3000)
    names = np.array(zone_at(zones_of("upper_back", back), us))
    drawn = folding(back, "upper_back", us, "blades together")
    assert drawn.any() and set(names[drawn]) <= {"between_blades_left", "between_blades_right", "spine"}
    raised = folding(back, "upper_back", us, "arm raised")
    assert raised.any() and all(n.startswith(("shoulder_top", "shoulder_blade")) for n in set(names[raised]))
    assert not folding(back, "upper_back", us, "breathed in").any()


def test_an_arm_raised_half_stretches_half_as_much() -> None:
    back = typical("upper_back")
    us = places(back, 50)
    half = strain(back, "upper_back", us, "arm raised", bend_deg={"shoulder": 90})
    assert np.allclose(2 * half, strain(back, "upper_back", us, "arm raised"))
    for deg in (-1, 200, float("nan"), True, "high"):
        with pytest.raises(ValueError, match="can't be raised by"):
            strain(back, "upper_back", us, "arm raised", bend_deg={"shoulder": deg})  # type: ignore[dict-item]


def test_poses_are_named_and_no_others_known() -> None:
    for part in ("left_arm", "right_leg", *PARTS):
        assert poses_of(part)[0] == "relaxed" and set(poses_of(part)) <= WHEN.keys() and len(ways_of(part)) == 2
    assert is_known(typical("chest"), "chest")
    with pytest.raises(ValueError, match="'bent' is no pose of the chest; use relaxed, flexed"):
        strain(typical("chest"), "chest", np.zeros((1, 2)), "bent")
