"""Best place and make room on cases that can be worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from skin_cases import TUBE, blob, box, drawing, put, random_scene

from composer.body.measures import TYPICAL_MM, build_limb
from composer.compose.best_place import NoPlace, best_places, why_none
from composer.compose.best_place_check import Pose, checker
from composer.compose.best_place_room import make_room
from composer.compose.best_place_score import NAMES, WEIGHTS
from composer.compose.extent import within
from composer.compose.gaps import survey
from composer.plan.extents import preset
from composer.plan.scene import Scene, lay

ARM = build_limb("left_arm", dict(TYPICAL_MM))
SIDE = {"title": "Heron", "min_mm": 40, "max_mm": 90, "facing": "left", "upright_deg": 0}
WALL = drawing(np.array([(-130, -60), (129.9, -60), (129.9, 60), (-130, 60)], float))
"""Nearly all round the tube."""


def test_five_that_differ_each_with_its_readings_and_reasons() -> None:
    scene = random_scene(np.random.default_rng(11), 10, 40, 80, limb=ARM)
    found = survey(scene)
    places = best_places(scene, found, blob(np.random.default_rng(1), 60, 1.5), SIDE)
    assert len(places) == 5
    assert [p.score for p in places] == sorted((p.score for p in places), reverse=True)
    assert sum(WEIGHTS.values()) == pytest.approx(1)
    for p in places:
        assert p.score == pytest.approx(1 - sum(WEIGHTS[n] * p.losses[n] for n in NAMES))
        assert p.clear_mm >= 2 and p.readings.over == ()
        assert p.scale * 90 > 40
        assert p.sentence.endswith(".") and ": " in p.sentence and f"{p.clear_mm:.1f} mm clear" in p.sentence
        if p.gap:
            assert p.sentence.startswith(f"Gap {p.gap}, ")
    assert any(p.gap for p in places)
    for i, a in enumerate(places):
        for b in places[:i]:
            du = (a.u - b.u + 0.5) % 1 - 0.5
            assert np.hypot(du * float(ARM.girth((a.s_mm + b.s_mm) / 2)), a.s_mm - b.s_mm) >= 29


def test_the_only_room_is_found_and_the_largest_size_for_it() -> None:
    """Two bands leave 80 mm of a cylinder free: with 2 mm to either side a square of 76 mm fits, no larger."""
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", WALL, 0, 60), put(TUBE, "b", WALL, 0, 260), put(TUBE, "c", WALL, 0, 345)))
    side = {"title": "Crab", "min_mm": 30, "max_mm": 200, "facing": "none", "upright_deg": 0}
    (first, *_) = best_places(scene, None, box(76, 76), side, (30.0, 76.0), 1, step_mm=4.0)
    assert (first.s_mm, first.scale, first.turn_deg) == (pytest.approx(160, abs=1.5), pytest.approx(1), 0)
    assert best_places(scene, None, box(78, 78), side, (78.0, 78.0), 1, step_mm=1.0, turns=(0.0,)) == []
    said = why_none(scene, box(90, 90), {**side, "min_mm": 90})
    assert "no clear place for it at 9.0 cm or more" in said
    assert 70 <= 10 * float(said.split("room is about ")[1].split(" cm")[0]) <= 76


def test_a_motif_looks_and_stands_the_usual_way_where_there_is_room() -> None:
    for part, limb in (("left_arm", ARM), ("right_arm", build_limb("right_arm", dict(TYPICAL_MM)))):
        for p in best_places(Scene(limb, -0.5, ()), None, box(40, 80), {**SIDE, "upright_deg": 20}, part=part,
                             step_mm=14.0):
            assert p.turn_deg == (-20 if p.flip else 20)
            assert p.readings.mark("facing").level == "" and p.readings.mark("tilt").value == 0


def test_the_sleeve_and_the_span_are_kept() -> None:
    scene = random_scene(np.random.default_rng(5), 6, 40, 70, limb=ARM)
    half = preset("left_arm", "half")
    low, high = half.span(ARM)
    art = box(40, 40)
    for places in (best_places(within(scene, half), None, art, SIDE),
                   best_places(scene, None, art, SIDE, span=(low, high))):
        assert places
        for p in places:
            assert low - 0.1 <= p.readings.facts.span[0] and p.readings.facts.span[1] <= high + 0.1


def test_turning_everything_round_turns_the_places_with_it() -> None:
    """On a cylinder seen from nowhere in particular: the same clear widths, a quarter turn on."""
    rng = np.random.default_rng(7)
    arts = [blob(rng, 70) for _ in range(6)]
    at = [(float(rng.uniform(0, 1)), float(rng.uniform(40, 360))) for _ in arts]
    scenes = [Scene(TUBE, -0.5, tuple(put(TUBE, f"p{i}", a, u + t, s) for i, (a, (u, s)) in
                                      enumerate(zip(arts, at, strict=True)))) for t in (0.0, 0.25)]
    side = {**SIDE, "facing": "none"}
    one, two = (best_places(s, None, box(50, 50), side, step_mm=260 / 48) for s in scenes)
    assert [p.score for p in one] == pytest.approx([p.score for p in two], abs=1e-9)


@pytest.mark.parametrize("bad", [(90.0, 40.0), (0.0, 40.0), (float("nan"), 40.0)])
def test_a_size_that_cannot_be_is_refused(bad: tuple[float, float]) -> None:
    with pytest.raises(NoPlace, match="from a smaller to a larger"):
        best_places(Scene(TUBE, -0.5, ()), None, box(20, 20), SIDE, bad)


def test_room_by_size_shift_and_turn_on_a_cylinder() -> None:
    """A bar of 20 x 70 mm between two bands 60 mm apart: shrunk to 56 / 70, or laid flat, or moved out of them."""
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", WALL, 0, 70), put(TUBE, "b", box(259.9, 20), 0, 200),
                               put(TUBE, "x", box(20, 70), 0.2, 160, title="Eel")))
    room = make_room(scene, "x", side={"min_mm": 60})
    assert not room.fits and room.clear_mm < 0
    assert room.scale == pytest.approx(0.80, abs=0.011)
    # turned by t the bar stands 70 cos t + 20 sin t tall: 56 or less from 55.6 degrees on
    assert abs(room.turn_deg or 0) == 56
    assert any("80% of its size" in s or "79% of its size" in s for s in room.sentences)
    assert any("below its natural 6.0 cm" in s for s in room.sentences)
    assert room.shift_mm is not None and room.to is not None
    assert 210 + 2 + 35 <= room.to[1] <= 210 + 2 + 35 + 3


def test_what_room_proposes_is_clear_and_no_less_would_do() -> None:
    rng = np.random.default_rng(3)
    scene = random_scene(rng, 12, 40, 70, apart_mm=-4, limb=ARM)
    found = 0
    for x in scene.laid:
        room = make_room(scene, x.piece.id)
        assert room.sentences and all(s.endswith(".") for s in room.sentences)
        p = x.piece
        back = x.flat.moved(np.column_stack([_undo(p.turn_deg), [0.0, 0.0]]))
        look = checker(scene, back, 2.0, without=p.id)
        here = Pose(p.u, p.s_mm, p.turn_deg, p.scale, p.flip)
        assert room.fits == look.clear(here)
        if not room.fits and room.scale:
            assert look.clear(replace(here, scale=room.scale))
            assert not look.clear(replace(here, scale=room.scale + 0.02))
            found += 1
        if room.turn_deg:
            assert look.clear(replace(here, turn_deg=p.turn_deg + room.turn_deg))
        if room.to:
            assert look.clear(replace(here, u=room.to[0], s_mm=room.to[1]))
    assert found > 2


def _undo(turn_deg: float) -> np.ndarray:
    a = np.radians(-turn_deg)
    return np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])


def test_a_piece_that_fits_says_how_far_it_may_grow() -> None:
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", WALL, 0, 60), put(TUBE, "b", WALL, 0, 260.5),
                               put(TUBE, "x", box(40, 40), 0.2, 160.25, title="Crab")))
    room = make_room(scene, "x")
    assert room.fits and room.clear_mm == pytest.approx(20.25, abs=0.05)
    assert room.scale == pytest.approx(76 / 40, abs=0.02)
    assert "The crab fits where it is; it could grow to 190%" in room.sentences[0]
    with pytest.raises(KeyError, match="no piece 'zzz'"):
        make_room(scene, "zzz")


def test_no_room_at_all_is_said() -> None:
    under = Scene(TUBE, -0.5, (put(TUBE, "a", WALL, 0, 100), put(TUBE, "b", WALL, 0, 222), put(TUBE, "c", WALL, 0, 340),
                               put(TUBE, "x", box(40, 40), 0.2, 160, title="Crab")))
    room = make_room(under, "x")
    assert (room.scale, room.turn_deg, room.to) == (None, None, None)
    assert "does not fit here" in room.sentences[0] and "let it lie behind" in room.sentences[0]


def test_lay_and_the_checker_agree() -> None:
    art = blob(np.random.default_rng(2), 70)
    scene = random_scene(np.random.default_rng(2), 5, 40, 60, limb=ARM)
    pose = Pose(0.3, 200.0, 17.0, 0.9, True)
    mine = checker(scene, art, 2.0).laid(pose)
    there = lay(ARM, replace(scene.laid[0].piece, u=0.3, s_mm=200.0, turn_deg=17.0, scale=0.9, flip=True), art)
    assert mine.patch == there.patch
    assert all(map(np.array_equal, mine.rings, there.rings))
