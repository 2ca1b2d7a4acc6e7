"""Flow as the artist wants it: strokes, rings, a spiral; and the points at which it has no direction."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from skin_cases import ARM, TUBE, box, put, random_scene

from composer.compose.chart import chart_of
from composer.compose.flow import Flow, flow_of
from composer.compose.gaps import resurvey, survey
from composer.compose.whirls import whirls
from composer.plan.currents import Currents, currents_of
from composer.plan.errors import StepError
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Part, Plan
from composer.plan.scene import Scene
from composer.plan.steps import apply

MEASURES = {"wrist": 170.0, "forearm": 270.0, "elbow": 255.0, "upper_arm": 300.0, "armpit": 320.0, "deltoid": 340.0,
            "wrist_to_forearm": 180.0, "forearm_to_elbow": 60.0, "elbow_to_upper_arm": 110.0,
            "upper_arm_to_armpit": 60.0, "armpit_to_deltoid": 70.0}


def deg(flow: Flow, u: float, s: float) -> float:
    return float(np.degrees(flow.angle(np.array([[u, s]]))[0]) % 180)


def apart(a: float, b: float) -> float:
    return abs((a - b + 90) % 180 - 90)


def test_the_flow_keeps_to_a_stroke_and_lets_go_of_it_far_off() -> None:
    post = put(TUBE, "post", box(20, 90), 0.5, 200.0)
    stroke = ((0.3, 200.0), (0.6, 200.0))
    bare, drawn = (flow_of(Scene(TUBE, -0.5, (post,), c)) for c in (Currents(), Currents((stroke,))))
    assert apart(deg(bare, 0.45, 200), 90) < 6
    assert all(apart(deg(drawn, u, 200), 0) < 6 for u in (0.32, 0.4, 0.45, 0.5, 0.58))
    assert apart(deg(drawn, 0.45, 290), deg(bare, 0.45, 290)) < 3
    turned = flow_of(Scene(TUBE, -0.5, (post,), Currents((tuple((u + 1, s) for u, s in stroke),))))
    us = np.random.default_rng(1).uniform((0, 0), (1, 400), (200, 2))
    assert np.abs(turned.angle(us) - drawn.angle(us)).max() < 1e-5


def test_a_slanting_stroke_turns_the_flow_by_its_own_angle() -> None:
    stroke = ((0.0, 100.0), (0.2, 100.0 + 0.2 * 260 * np.tan(np.radians(30))))
    flow = flow_of(Scene(TUBE, -0.5, (), Currents((stroke,))))
    assert deg(flow, 0.1, stroke[1][1] / 2 + 50) == pytest.approx(30, abs=4)


def test_a_spiral_leans_everything_alike_and_rings_lie_round_the_joint() -> None:
    spiral = flow_of(Scene(TUBE, -0.5, (), Currents(spiral_deg=25)))
    assert all(deg(spiral, u, s) == pytest.approx(115) for u, s in ((0.1, 20), (0.7, 390)))
    rings = flow_of(Scene(ARM, -0.5, (), Currents(rings=True)))
    assert apart(deg(rings, 0.3, 250), 0) < 15 < apart(deg(rings, 0.3, 450), 0)


def test_gaps_stay_and_ties_are_asked_again_when_the_flow_changes() -> None:
    scene = random_scene(np.random.default_rng(4), 14, 40, 80)
    before = survey(scene)
    changed = replace(scene, currents=Currents(spiral_deg=60))
    after, whole = resurvey(before, changed), survey(changed)
    assert [g.key for g in after.gaps] == [g.key for g in before.gaps]
    assert [(t.a, t.b, t.strength) for t in after.ties] == [(t.a, t.b, t.strength) for t in whole.ties]
    assert [t.strength for t in after.ties] != [t.strength for t in before.ties]
    assert [g.flow_deg for g in after.gaps] != [g.flow_deg for g in before.gaps]


def radial(index: float) -> Flow:
    """A flow with one whirl of that index in the middle of the tube's front, by many short strokes round it."""
    a = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    r = np.repeat([6.0, 10.0, 14.0, 18.0, 22.0, 26.0], 40)
    at = np.column_stack([0.5 + r * np.cos(a) / 260, 200 + r * np.sin(a)])
    want = 2 * index * a + 0.4
    line = 50 * np.column_stack([np.cos(want), np.sin(want)])
    return Flow(chart_of(TUBE), (0.0,), (0.0,), at, line, np.full(len(at), 5.0))


@pytest.mark.parametrize("index", [0.5, -0.5, 1.0])
def test_a_known_whirl_is_found_where_it_is(index: float) -> None:
    scene = Scene(TUBE, -0.5, ())
    near = [w for w in whirls(scene, radial(index)) if np.hypot((w.u - 0.5) * 260, w.s_mm - 200) < 22]
    assert sum(w.index for w in near) == pytest.approx(index)


def test_a_quiet_flow_has_no_whirl_and_they_add_up_to_the_turning_at_the_borders() -> None:
    assert whirls(Scene(TUBE, -0.5, ()), flow_of(Scene(TUBE, -0.5, ()))) == []
    scene = random_scene(np.random.default_rng(9), 12, 40, 80)
    flow = flow_of(scene)

    def turning(s: float) -> float:
        a = 2 * flow.angle(np.column_stack([np.linspace(0, 1, 2001), np.full(2001, s)]))
        d = np.diff(a)
        return float((d - 2 * np.pi * np.rint(d / (2 * np.pi))).sum() / (4 * np.pi))

    want = turning(scene.limb.s_min) - turning(scene.limb.s_max)
    assert sum(w.index for w in whirls(scene, flow)) == pytest.approx(want, abs=1e-6)


def plan() -> Plan:
    return Plan("estuary", "Estuary", (Part("left_arm", MEASURES), Part("chest", {})))


def test_strokes_are_kept_counted_and_taken_back() -> None:
    one = apply(plan(), {"do": "currents", "part": "left_arm", "add": [[0.1, 50], [0.2, 80]], "spiral_deg": 12})
    two = apply(one, {"do": "currents", "part": "left_arm", "add": [[0.3, 50], [0.2, 90]], "rings": True})
    kept = currents_of(plan_from_json(plan_to_json(replace(two, parts=two.parts[:1]))).part("left_arm"))
    assert (len(kept.strokes), kept.rings, kept.spiral_deg) == (2, True, 12.0)
    less = apply(two, {"do": "currents", "part": "left_arm", "remove": 0})
    assert currents_of(less.part("left_arm")).strokes == (((0.3, 50.0), (0.2, 90.0)),)
    none = apply(less, {"do": "currents", "part": "left_arm", "clear": True})
    assert none.part("left_arm").extra == {}


@pytest.mark.parametrize(("step", "words"), [
    ({"add": [[0.1, 50]]}, "2 to 40 points"), ({"add": [[0.1, float("inf")], [0, 1]]}, "no place on skin"),
    ({"add": "here"}, "could not be read"), ({"remove": 3}, "no longer there"), ({"spiral_deg": 90}, "-75 to 75"),
    ({"spiral_deg": "steep"}, "number of degrees")])
def test_what_cannot_be_used_is_said(step: dict, words: str) -> None:
    with pytest.raises(StepError, match=words):
        apply(plan(), {"do": "currents", "part": "left_arm", **step})


def test_chest_and_back_have_no_rings() -> None:
    with pytest.raises(StepError, match="no joint"):
        apply(plan(), {"do": "currents", "part": "chest", "rings": True})
