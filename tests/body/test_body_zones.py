"""Zones: they tile every limb, know left from right, and can be changed for a client."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from limb_cases import FEW, arms, legs
from shapely.geometry import Polygon

from composer.body.correspond import carry_points
from composer.body.kinds import KINDS, LIMB_PARTS, kind_of
from composer.body.limb import Limb
from composer.body.measures import build_limb
from composer.body.zone_table import SCALES, TABLES
from composer.body.zones import ZoneError, ZoneMap, zone_at, zones_of

SOME = settings(FEW, max_examples=20)
EITHER = st.one_of(st.tuples(st.just("arm"), arms()), st.tuples(st.just("leg"), legs()))


def typical(part: str) -> ZoneMap:
    return zones_of(part, build_limb(part, kind_of(part).typical_mm))


def shape(zones: ZoneMap, i: int) -> shapely.Geometry:
    """Zone `i` in (u, s) with u counted as 300 mm a turn, repeated over three turns."""
    one: shapely.Geometry = Polygon()
    for r in zones.rings(i):
        one = shapely.symmetric_difference(one, Polygon(r * (300, 1)))
    return shapely.union_all([shapely.transform(one, lambda p, k=k: p + np.array([300.0 * k, 0])) for k in (-1, 0, 1)])


@SOME
@given(which=EITHER, side=st.sampled_from(["left", "right"]), seed=st.integers(0, 999), turn=st.integers(-2, 2))
def test_zones_tile_the_limb_without_holes_or_overlaps(which: tuple[str, Limb], side: str, seed: int,
                                                         turn: int) -> None:
    kind, limb = which
    zones = zones_of(f"{side}_{kind}", limb)
    whole = sum(zones.area_mm2(i) for i in range(len(zones.zones)))
    assert whole == pytest.approx(limb.area_mm2(), rel=1e-9)
    rng = np.random.default_rng(seed)
    us = np.column_stack([rng.uniform(-0.5, 0.5, 300), rng.uniform(limb.s_min, limb.s_max, 300)])
    at = zones.at(us)
    assert at.min() >= 0                                              # no holes
    shapes = [shape(zones, i) for i in range(len(zones.zones))]
    within = np.array([shapely.contains_xy(g, us[:, 0] * 300, us[:, 1]) for g in shapes])
    clear = np.array([shapely.distance(g.boundary, shapely.points(us * (300, 1))) for g in shapes]).min(axis=0) > 1e-6
    assert np.all(within.sum(axis=0)[clear] == 1)                       # drawn once each
    assert np.array_equal(within.argmax(axis=0)[clear], at[clear])      # and where they are found
    assert np.array_equal(zones.at(us + (turn, 0.0)), at)               # noqa: RUF005  (no seam)


def test_ends_and_borders_belong_somewhere() -> None:
    for part in LIMB_PARTS:
        zones = typical(part)
        u = np.linspace(-1, 1, 81)
        for s in (zones.limb.s_min, zones.limb.s_max, -40.0, 5000.0, *(lv.s_mm for lv in zones.limb.levels)):
            assert zones.at(np.column_stack([u, np.full(81, s)])).min() >= 0
        assert len(zones.at(np.empty((0, 2)))) == 0


@pytest.mark.parametrize("kind", ["arm", "leg"])
def test_left_and_right_are_mirror_images(kind: str) -> None:
    left, right = typical(f"left_{kind}"), typical(f"right_{kind}")
    rng = np.random.default_rng(2)
    us = np.column_stack([rng.uniform(-1, 1, 500), rng.uniform(0, left.limb.s_max, 500)])
    assert zone_at(left, us) == zone_at(right, carry_points(left.limb, right.limb, us))
    for i in range(len(left.zones)):
        assert left.area_mm2(i) == pytest.approx(right.area_mm2(i), rel=1e-9)


@pytest.mark.parametrize(("part", "u", "level", "name"), [
    ("left_arm", 0.25, "fullest upper arm", "upper_arm_outer"),
    ("right_arm", -0.25, "fullest upper arm", "upper_arm_outer"),
    ("left_arm", -0.25, "fullest upper arm", "upper_arm_inner"), ("left_arm", 0.0, "elbow", "ditch"),
    ("left_arm", 0.5, "elbow", "elbow"), ("right_arm", -0.5, "elbow", "elbow"),
    ("left_arm", 0.0, "wrist", "wrist_front"),
    ("left_arm", -0.36, "wrist", "wrist_bone"), ("right_arm", 0.36, "wrist", "wrist_bone"),
    ("left_arm", 0.25, "cap", "cap"), ("left_arm", 0.0, "fullest forearm", "forearm_front"),
    ("left_leg", 0.0, "knee", "knee_cap"), ("left_leg", 0.5, "knee", "knee_hollow"),
    ("right_leg", 0.05, "fullest calf", "shin"), ("left_leg", -0.05, "fullest calf", "shin"),
    ("left_leg", 0.25, "mid thigh", "thigh_outer"), ("right_leg", 0.25, "mid thigh", "thigh_inner"),
    ("left_leg", 0.25, "hip", "hip_bone"), ("left_leg", 0.5, "fullest calf", "calf"),
    ("left_leg", 0.27, "ankle", "ankle_outer"), ("left_leg", -0.2, "hip", "groin")])
def test_landmarks_lie_in_the_zone_that_bears_their_name(part: str, u: float, level: str, name: str) -> None:
    zones = typical(part)
    s = next(lv.s_mm for lv in zones.limb.levels if lv.name == level)
    assert zone_at(zones, np.array([[u, s]])) == [name]


def test_bone_is_where_it_lies_under_the_skin() -> None:
    boned = {z.name for part in ("left_arm", "left_leg") for z in typical(part).zones if z.over_bone}
    assert boned == {"elbow", "wrist_bone", "shin", "knee_cap", "ankle_outer", "ankle_inner", "hip_bone"}
    leg = typical("left_leg")
    knee = next(lv.s_mm for lv in leg.limb.levels if lv.name == "knee")
    assert leg.over_bone(np.array([[0.0, knee], [0.5, knee]])).tolist() == [True, False]


def test_scales_keep_the_order_of_common_practice() -> None:
    """Elbow, ditch, armpit, knee hollow high; outer sides low (common practice, no published source)."""
    for part in ("left_arm", "left_leg"):
        zones = {z.name: z for z in typical(part).zones}
        for z in zones.values():
            assert all(0 <= getattr(z, n) <= 10 for n in SCALES) and "no published source" in z.source
        high = {"elbow", "ditch", "armpit"} if part == "left_arm" else {"knee_hollow", "groin", "knee_cap"}
        low = {"upper_arm_outer", "forearm_outer"} if part == "left_arm" else {"thigh_outer", "lower_leg_outer"}
        assert min(zones[n].pain for n in high) > 2 * max(zones[n].pain for n in low)


def test_a_clients_own_figures() -> None:
    limb = build_limb("left_arm", kind_of("arm").typical_mm)
    zones = zones_of("left_arm", limb, {"ditch": {"pain": 4, "visibility": 9.5}})
    plain = typical("left_arm")
    i = zones.named("ditch")
    assert (zones.zones[i].pain, zones.zones[i].movement, zones.zones[i].edited) == (4.0, 9, ("pain", "visibility"))
    assert [z for k, z in enumerate(zones.zones) if k != i] == [z for k, z in enumerate(plain.zones) if k != i]
    us = np.array([[0.0, limb.levels[2].s_mm]])
    assert (zones.scale(us, "pain")[0], plain.scale(us, "pain")[0]) == (4.0, 8.0)


@pytest.mark.parametrize(("overrides", "says"), [
    ({"tail": {"pain": 1}}, "no zone of the left arm"), ({"ditch": {"itch": 1}}, "no scale"),
    ({"ditch": {"pain": 11}}, "runs from 0 to 10"), ({"ditch": {"pain": float("nan")}}, "runs from 0"),
    ({"ditch": {"pain": "high"}}, "runs from 0"), ({"ditch": {"pain": True}}, "runs from 0"),
    ({"ditch": 3}, "by scale")])
def test_figures_that_cannot_be_are_refused(overrides: dict, says: str) -> None:
    with pytest.raises(ZoneError, match=says):
        zones_of("left_arm", build_limb("left_arm", kind_of("arm").typical_mm), overrides)


def test_names_and_words() -> None:
    zones = typical("left_arm")
    with pytest.raises(ZoneError, match="no scale of a zone"):
        zones.scale(np.zeros((1, 2)), "itch")
    with pytest.raises(ZoneError, match="no zone here"):
        zones.named("tail")
    for kind in KINDS:
        boxes, ovals = TABLES[kind]
        names = [x.zone.name for x in (*boxes, *ovals)]
        labels = [x.zone.label for x in (*boxes, *ovals)]
        assert len(set(names)) == len(names) and len(set(labels)) == len(labels)
        m = typical(f"left_{kind}")
        for i in range(len(names)):
            assert zone_at(m, np.array([m.label_at(i)])) == [names[i]]


@SOME
@given(which=EITHER)
def test_ovals_stay_apart(which: tuple[str, Limb]) -> None:
    zones = zones_of(f"left_{which[0]}", which[1])
    shapes = [shape(zones, i) for i in range(len(zones.boxes), len(zones.zones))]
    for i, a in enumerate(shapes):
        assert not a.is_empty and all(shapely.intersection(a, b).area < 1e-9 for b in shapes[:i])
