"""Skin that is planned where parts meet: the chest as far as a sleeve runs in, an arm as far as the trunk."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import shapely

sys.path.insert(0, str(Path(__file__).parents[1] / "plan"))
from test_joins_in_plans import GALLERY, place
from test_joins_in_plans import plan as taped

from composer.body.joins import armhole
from composer.body.kept_skin import KeptPanel, OpenLimb, keep_to
from composer.body.limb import Limb
from composer.compose.gaps import Gap, Survey, survey
from composer.compose.into_chest import area_mm2, sleeve_on
from composer.compose.planned import planned
from composer.plan.extents import EdgeLine, Extent
from composer.plan.model import Plan
from composer.plan.over_joins import scene_with_neighbours
from composer.plan.steps import apply
from composer.plan.twins import surface_of

INTO = Extent(EdgeLine("wrist", 20.0), EdgeLine("cap"), "into_chest", 110.0)
"""The preset."""


def found(plan: Plan, part: str, joined: bool = False) -> Survey:
    return survey(planned(plan, part, scene_with_neighbours(plan, part, GALLERY), joined))


def shape(gap: Gap) -> shapely.Polygon:
    return shapely.make_valid(shapely.Polygon(gap.rings[0], gap.rings[1:]))


@pytest.mark.parametrize("arms", [("left_arm",), ("left_arm", "right_arm")])
def test_gaps_of_the_chest_keep_to_the_sleeves_that_run_into_it(arms: tuple[str, ...]) -> None:
    plan = apply(taped(), place("buoy", "chest", 0.15, 200.0))
    whole = found(plan, "chest")
    for arm in arms:
        plan = apply(plan, {"do": "extent", "part": arm, "set": {"preset": "into_chest"}})
    cut, panel = found(plan, "chest"), surface_of(plan, "chest")
    sleeves = shapely.union_all([sleeve_on(panel, arm, INTO) for arm in arms])
    assert all(shapely.difference(shape(g), shapely.buffer(sleeves, 0.002)).area < 1e-6 for g in cut.gaps)
    skin = sum(area_mm2(panel, arm, INTO) for arm in arms)
    laid = shapely.intersection(shapely.union_all([shapely.Polygon(r) for r in cut.scene.laid[0].rings]), sleeves)
    open_ = skin - panel.skin_area_mm2(np.asarray(laid.exterior.coords))
    assert 0.85 * open_ < sum(g.area_mm2 for g in cut.gaps) < open_ < sum(g.area_mm2 for g in whole.gaps)
    edges = {n for g in cut.gaps for n in g.neighbours if n.startswith("border:sleeve")}
    assert edges == {f"border:sleeve_{arm.split('_')[0]}" for arm in arms}
    assert all(n in cut.graph for n in edges)
    back = apply(plan, {"do": "extent", "part": arms[0], "set": {"chest_mm": 0.0}})
    assert (sum(g.area_mm2 for g in found(back, "chest").gaps) > sum(g.area_mm2 for g in cut.gaps)) == (len(arms) == 1)


def test_kept_skin_lays_paper_as_the_whole_part_does() -> None:
    panel = surface_of(taped(), "chest")
    assert keep_to(panel, panel.form) is panel
    cut = keep_to(panel, shapely.transform(sleeve_on(panel, "left_arm", INTO), panel.to_mm))
    assert isinstance(cut, KeptPanel) and cut != panel
    a, b = panel.lay_patch(0.18, 250.0, 40.0), cut.lay_patch(0.18, 250.0, 40.0)
    spots = np.random.default_rng(3).uniform(-30, 30, (50, 2))
    assert np.array_equal(a.to_skin(spots), b.to_skin(spots))


@pytest.mark.parametrize("part", ["left_arm", "right_arm"])
def test_an_arm_beside_the_trunk_is_open_up_to_the_armhole(part: str) -> None:
    plan = apply(taped(), place("buoy", part, 0.24 if part == "left_arm" else -0.24, 380.0))
    alone, limb = found(plan, part), surface_of(plan, part)
    whole = found(plan, part, joined=True)
    assert type(alone.scene.limb) is Limb and isinstance(whole.scene.limb, OpenLimb)
    top = whole.scene.limb
    line = np.concatenate(list(armhole(part, limb).values()))
    assert top.near_at(line[:, 0]) == pytest.approx(line[:, 1], abs=0.15)
    for g in whole.gaps:
        assert (g.rings[0][:, 1] <= top.near_at(g.rings[0][:, 0]) + 0.6).all()
    outer = 0.25 if part == "left_arm" else -0.25
    crescent = np.array([[outer + d, limb.s_max + 15.0] for d in (-0.06, 0.0, 0.06)])

    def covered(s: Survey) -> int:
        turned = [np.vstack([crescent + np.array([k, 0.0]) for k in (-1, 0, 1)])] * len(s.gaps)
        return sum(int(shapely.contains_xy(shape(g), *xy.T).sum()) for g, xy in zip(s.gaps, turned, strict=True))

    assert covered(alone) == 0 and covered(whole) == 3
    girths = np.linspace(limb.s_min, limb.s_max, 300)
    assert top.girth(girths) == pytest.approx(limb.girth(girths), abs=0.15)


def test_a_sleeve_into_the_chest_takes_its_arm_over_the_shoulder_and_a_half_sleeve_does_not() -> None:
    plan = taped()
    into = apply(plan, {"do": "extent", "part": "left_arm", "set": {"preset": "into_chest"}})
    limb = found(into, "left_arm").scene.limb
    assert isinstance(limb, OpenLimb) and limb.s_min == 20.0
    short = apply(plan, {"do": "extent", "part": "left_arm", "set": {"preset": "forearm"}})
    assert not isinstance(found(short, "left_arm", joined=True).scene.limb, OpenLimb)
    bare = found(into, "left_arm")
    u = np.linspace(-0.5, 0.5, 400)
    inside = float((limb.area_below(limb.near_at(u)) - limb.area_below(20.0)).mean())
    assert sum(g.area_mm2 for g in bare.gaps) == pytest.approx(inside, rel=0.15)
