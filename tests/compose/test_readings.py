"""Readings: the numbers are those of the geometry, and the sentences follow from the numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from skin_cases import ARM, TUBE, blob, box, disc, drawing, put, random_scene

from composer.body.limb import Limb
from composer.body.yoke import build_panel
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.compose.balance import read_part
from composer.compose.readings import read_piece, read_pieces
from composer.plan.model import Piece, Recipe
from composer.plan.scene import Scene, lay


def test_size_and_nearest_on_a_cylinder() -> None:
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", box(60, 40), 0.45, 200, title="Crab"),
                               put(TUBE, "b", box(30, 40), 0.45 + (45 + 7.5) / 260 - 1, 200, title="Buoy")))
    one = read_piece(scene, "a", 2.0)
    assert (one.width_mm, one.height_mm) == (pytest.approx(60), pytest.approx(40))
    assert one.area_mm2 == pytest.approx(2400, rel=1e-3)
    assert one.nearest is not None and one.nearest.id == "b"
    assert one.nearest.clearance_mm == pytest.approx(7.5, abs=0.01)
    assert one.stretch == pytest.approx(0, abs=1e-6)
    assert not one.warnings
    assert "The crab is 6.0 cm wide and 4.0 cm tall" in one.sentence
    assert "the buoy is nearest, 7.5 mm away" in one.sentence


def test_too_near_is_a_warning_and_an_overlap_is_only_said() -> None:
    near = Scene(TUBE, -0.5, (put(TUBE, "a", box(60, 40), 0, 200), put(TUBE, "b", box(60, 40), 61.2 / 260, 200)))
    assert any("within 1.2 mm" in w and "skin break of 2.0 mm" in w for w in read_piece(near, "a").warnings)
    over = Scene(TUBE, -0.5, (put(TUBE, "a", box(60, 40), 0, 200), put(TUBE, "b", box(60, 40), 50 / 260, 200, depth=1)))
    back, front = read_pieces(over)
    assert not back.warnings and not front.warnings
    assert back.overlaps[0].overlap_mm2 == pytest.approx(400, rel=1e-3)
    assert "it lies behind the b over 4.0 cm², 17% of it hidden" in back.sentence
    assert "it lies in front of the a over 4.0 cm²" in front.sentence


def test_stretch_off_the_end_range_and_elbow() -> None:
    art = drawing(disc(70))
    scene = Scene(ARM, -0.5, (put(ARM, "a", art, 0.0, 30, title="Moon"), put(ARM, "b", art, 0.5, 252, title="Rose"),
                              put(ARM, "c", art, 0.3, 470, title="Sail")))
    moon, rose, sail = read_pieces(scene, ranges={"a": (40, 90), "b": (100, 180)})
    assert moon.beyond_mm == (pytest.approx(40, abs=4), 0.0)
    assert any("beyond the wrist cuff" in w for w in moon.warnings)
    assert any("above its natural 4.0 cm to 9.0 cm" in w for w in moon.warnings)
    assert rose.crosses == ("elbow",)
    assert any("runs over the elbow" in w for w in rose.warnings)
    assert sail.beyond_mm[1] > 30
    assert any("beyond the shoulder edge" in w for w in sail.warnings)
    for r in (moon, rose, sail):
        said = [w for w in r.warnings if w.startswith("Paper")]
        assert bool(said) == (abs(r.stretch) >= 0.05)
        assert all(("slits" in w) == (abs(r.stretch) >= 0.10) for w in said)


def test_a_piece_wider_than_the_limb_says_so() -> None:
    wide = Scene(TUBE, -0.5, (put(TUBE, "a", box(280, 40), 0, 200, title="Serpent"),))
    assert any("wider than the limb is round" in w for w in read_piece(wide, "a").warnings)


def test_fillers_have_no_reading_and_a_missing_piece_is_named() -> None:
    x = put(TUBE, "f", box(20, 20), 0, 200)
    scene = Scene(TUBE, -0.5, (replace(x, piece=replace(x.piece, recipe=Recipe("cloud", 1))),))
    assert read_pieces(scene) == ()
    with pytest.raises(KeyError, match="no piece 'zzz'"):
        read_piece(scene, "zzz")


def test_cover_and_tones() -> None:
    one, two = put(TUBE, "a", box(100, 100), 0.49, 100), put(TUBE, "b", box(100, 100), 0.49, 300, depth=1)
    levels = (TUBE.levels[0], replace(TUBE.levels[0], name="elbow", s_mm=200.0), TUBE.levels[1])
    scene = Scene(Limb(levels), -0.5, (one, two))
    part = read_part(scene, {"a": {"black": 0.6, "open": 0.4}, "b": {"light": 0.2, "open": 0.8}})
    assert part.cover == pytest.approx(20000 / (260 * 400), rel=1e-3)
    assert part.tones["black"] == pytest.approx(0.3, rel=1e-3)
    assert sum(part.tones.values()) == pytest.approx(1)
    assert (part.lower["black"], part.upper["black"]) == (pytest.approx(0.6), 0.0)
    assert any("60% of the pieces below the elbow and 0% above it: the lower half looks heavier" in s
               for s in part.sentences)
    on_top = read_part(Scene(TUBE, -0.5, (one, replace(two, **vars(put(TUBE, "b", box(100, 100), 0.49, 100))))), {})
    assert on_top.cover == pytest.approx(10000 / (260 * 400), rel=1e-3)
    assert read_part(Scene(TUBE, -0.5, ())).cover == 0
    with pytest.raises(ValueError, match="share of black in piece 'a'"):
        read_part(scene, {"a": {"black": float("nan")}})


@pytest.mark.parametrize("turn", [0.0, 0.31, -1.7])
def test_readings_do_not_know_the_seam(turn: float) -> None:
    rng = np.random.default_rng(3)
    arts = [blob(rng, 60) for _ in range(8)]
    places = [(rng.uniform(0, 1), rng.uniform(40, 450)) for _ in arts]
    here, there = (Scene(ARM, seam, tuple(put(ARM, f"p{k}", a, u + t, s) for k, (a, (u, s)) in
                                          enumerate(zip(arts, places, strict=True))))
                   for seam, t in ((-0.5, 0.0), (0.2, turn)))
    for a, b in zip(read_pieces(here), read_pieces(there), strict=True):
        assert a.warnings == b.warnings
        assert a.area_mm2 == pytest.approx(b.area_mm2)
        if a.nearest:
            assert b.nearest is not None and a.nearest.id == b.nearest.id
            assert a.nearest.clearance_mm == pytest.approx(b.nearest.clearance_mm, abs=0.02)
    assert read_part(here).cover == pytest.approx(read_part(there).cover, rel=1e-4)


def test_a_crowded_plan_reads_without_fault() -> None:
    found = read_pieces(random_scene(np.random.default_rng(5), 30, 40, 80, apart_mm=-10))
    assert len(found) == 30
    assert all(r.sentence.endswith(".") and r.area_mm2 >= 0 for r in found)


def test_what_reaches_past_the_ends_of_chest_and_back_is_told() -> None:
    for part in ("chest", "upper_back"):
        panel = build_panel(part, PANEL_TYPICAL_MM[part])
        art = box(60, 80)
        low, high = (lay(panel, Piece(n, part, art.digest, n, 0.0, s), art)
                     for n, s in (("moon", panel.s_min), ("sail", panel.s_max)))
        moon, sail = read_pieces(Scene(panel, -0.5, (low, high)))
        assert any("beyond the lower edge" in w for w in moon.warnings)
        assert any("beyond the top of the neck and shoulders" in w for w in sail.warnings)
