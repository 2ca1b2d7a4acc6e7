"""The board of a part: shares that can be worked out by hand, and the sentences that follow from them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from skin_cases import TUBE, box, put, random_scene

from composer.body.kinds import fields_of
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.yoke import build_panel
from composer.compose.balance import read_part
from composer.compose.board import board
from composer.compose.gaps import survey
from composer.plan.extents import EdgeLine, Extent
from composer.plan.model import Recipe
from composer.plan.scene import Scene

ARM = build_limb("left_arm", dict(TYPICAL_MM))
INK = {"black": 0.6, "mid": 0.1, "open": 0.3}
WASH = {"light": 0.5, "open": 0.5}


def test_shares_by_side_on_a_cylinder() -> None:
    """A piece on the front quarter and one at the back: front and back see one each, the sides half of both."""
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", box(65, 100), 0.0, 200), put(TUBE, "b", box(65, 100), 0.5, 200)))
    got = board(scene, {"a": INK, "b": WASH})
    whole = 260 * 400
    assert got.area_mm2 == pytest.approx(whole, rel=1e-6)
    assert got.whole.pieces == pytest.approx(13000 / whole, rel=0.02)
    assert got.whole.pieces + got.whole.background + got.whole.bare == pytest.approx(1)
    assert got.whole.tones["black"] == pytest.approx(0.3, abs=0.005)
    assert got.views["front"].tones["black"] == pytest.approx(0.6, abs=0.01)
    assert got.views["back"].tones["black"] == 0
    assert got.views["outer"].tones["black"] == pytest.approx(0.3, abs=0.02)
    assert any("The front is the heaviest (60% black and dark), the back the lightest (0%)" in s
               for s in got.sentences)


def test_cover_and_tones_agree_with_the_exact_reading() -> None:
    scene = random_scene(np.random.default_rng(3), 16, 40, 80, apart_mm=-8, limb=ARM)
    tones = {x.piece.id: (INK if i % 2 else WASH) for i, x in enumerate(scene.laid)}
    exact, got = read_part(scene, tones), board(scene, tones)
    assert got.whole.pieces == pytest.approx(exact.cover, abs=0.004)
    for tone, share in exact.tones.items():
        assert got.whole.tones[tone] == pytest.approx(share, abs=0.01)


def test_background_counts_where_it_shows() -> None:
    front, back = put(TUBE, "a", box(50, 50), 0.0, 200), put(TUBE, "f", box(100, 50), 0.0, 200)
    back = replace(back, piece=replace(back.piece, recipe=Recipe("cloud", 1)))
    got = board(Scene(TUBE, -0.5, (back, front)))
    assert got.whole.background == pytest.approx(2500 / (260 * 400), rel=0.04)
    assert got.whole.pieces == pytest.approx(2500 / (260 * 400), rel=0.04)


def test_focus_rivals_and_bare_sides() -> None:
    big, alike, low = put(TUBE, "a", box(80, 80), 0.0, 100, title="Heron"), \
        put(TUBE, "b", box(80, 76), 0.0, 300, title="Crab"), put(TUBE, "c", box(20, 20), 0.25, 200, title="Moth")
    sides = {"a": {"focal": True}, "b": {"focal": True}, "c": {"focal": False}}
    got = board(Scene(TUBE, -0.5, (big, alike, low)), sides=sides)
    assert got.focus["front"].pieces == ("a", "b")
    assert got.focus["back"].pieces == ()
    assert any("the heron and the crab show alike in size and compete" in s for s in got.sentences)
    assert any("No main piece shows on the outer side, the back and the inner side" in s for s in got.sentences)


def test_flow_and_contrast() -> None:
    scene = random_scene(np.random.default_rng(9), 14, 40, 70, limb=ARM)
    found = survey(scene)
    got = board(scene, {x.piece.id: INK for x in scene.laid}, survey=found)
    weights = np.array([t.strength for t in found.ties])
    assert got.flow == pytest.approx(float((weights * [t.agree for t in found.ties]).sum() / weights.sum()))
    assert got.contrast == 0 and all("hardly differ" in s for s in got.sentences if s.startswith("Neighbours"))
    pair = Scene(TUBE, -0.5, (put(TUBE, "a", box(50, 50), 0.0, 200), put(TUBE, "b", box(50, 50), 60 / 260, 200)))
    two = board(pair, {"a": INK, "b": WASH})
    assert [(c.a, c.b) for c in two.contrasts] == [("a", "b")]
    assert two.contrasts[0].apart == pytest.approx(0.6) and two.contrasts[0].clearance_mm == pytest.approx(10, abs=0.05)
    assert any("each stands out" in s for s in two.sentences)


def test_the_sleeve_bounds_what_is_looked_at() -> None:
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", box(60, 100), 0.0, 100),))
    got = board(scene, extent=Extent(EdgeLine("", 100.0), EdgeLine("", 300.0, "fading", 40.0)))
    assert got.area_mm2 == pytest.approx(260 * 180, rel=0.01)
    assert got.whole.pieces == pytest.approx(3000 / (260 * 180), rel=0.04)


def test_an_empty_part_and_the_chest() -> None:
    bare = board(Scene(TUBE, -0.5, ()))
    assert (bare.whole.bare, bare.flow, bare.contrast) == (pytest.approx(1.0), None, None)
    assert bare.sentences == ("Pieces take up 0% of the 1040 cm² of skin, background 0%, 100% is bare.",)
    chest = build_panel("chest", {f.name: (f.usual_low_mm + f.usual_high_mm) / 2 for f in fields_of("chest")})
    laid = put(chest, "a", box(60, 60), 0.0, (chest.s_min + chest.s_max) / 2)  # type: ignore[arg-type]
    got = board(Scene(chest, -0.5, (laid,)), {"a": INK}, part="chest")  # type: ignore[arg-type]
    assert list(got.views) == ["front", "left side", "right side"]
    assert got.views["front"].pieces == pytest.approx(got.whole.pieces, rel=0.1)
    assert got.whole.pieces == pytest.approx(3600 / chest.area_mm2(), rel=0.1)


def test_a_share_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="share of black in piece 'a'"):
        board(Scene(TUBE, -0.5, (put(TUBE, "a", box(60, 60), 0, 200),)), {"a": {"black": float("nan")}})
