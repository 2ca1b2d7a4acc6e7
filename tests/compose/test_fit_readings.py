"""Fit of pieces: each number against geometry that can be worked out by hand, each sentence against its number."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from skin_cases import TUBE, blob, box, disc, drawing, put, random_scene

from composer.art.drawing import Drawing, Layer
from composer.body.distort import stretches
from composer.body.flex import worst
from composer.body.kinds import fields_of
from composer.body.limb import Level, Limb
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.motion import worst as trunk_worst
from composer.body.yoke import build_panel
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.body.zones import zones_of
from composer.compose import fit_near
from composer.compose.fit_limits import LimitError, Limits, limits_from, limits_of
from composer.compose.fit_lines import measure_gaps
from composer.compose.fit_near import clearances
from composer.compose.fit_readings import NAMES, PieceFit, fit_part, fit_piece
from composer.compose.fit_seen import looks, looks_word, tilt
from composer.compose.neighbours import near_pieces
from composer.plan.model import Piece, Settings
from composer.plan.scene import Scene, lay
from composer.views.seen import best_view

ARM = build_limb("left_arm", dict(TYPICAL_MM))
RIGHT = build_limb("right_arm", dict(TYPICAL_MM))


def _on(limb: Limb, art: Drawing, u: float, s: float, part: str = "left_arm", **more: object) -> Scene:
    return Scene(limb, -0.5, (lay(limb, Piece("a", part, art.digest, "Heron", u, s, **more), art),))


def _bars(gap_mm: float, long_mm: float = 40.0) -> Drawing:
    """Two black bars, 5 mm wide, side by side."""
    def bar(x: float) -> np.ndarray:
        return np.array([(x, 0), (x + 5, 0), (x + 5, long_mm), (x, long_mm)], float)

    outline = np.array([(-1, -1), (11 + gap_mm, -1), (11 + gap_mm, long_mm + 1), (-1, long_mm + 1)], float)
    return Drawing((outline,), (Layer("black", (bar(0), bar(5 + gap_mm))),))


def test_every_reading_is_there_with_a_sentence() -> None:
    for fit in fit_part(random_scene(np.random.default_rng(2), 12, 30, 80, limb=ARM)):
        assert tuple(m.name for m in fit.marks) == NAMES
        assert all(m.sentence.endswith(".") and not m.sentence[0].islower() for m in fit.marks)
        assert len(fit.warnings) == sum(bool(m.level) for m in fit.marks)


def test_stretch_is_that_of_the_paper_and_says_how_the_stencil_lies() -> None:
    assert fit_piece(_on(TUBE, drawing(disc(40)), 0.3, 200), "a").mark("stretch").value == pytest.approx(0, abs=1e-9)
    for size, s in ((30, 150), (80, 260), (90, 440)):
        scene = _on(ARM, drawing(disc(size)), 0.1, s)
        fit = fit_piece(scene, "a")
        laid = scene.laid[0]
        xy = np.concatenate([fit.facts.samples.inner, fit.facts.samples.edge])
        us = laid.patch.to_skin(xy)
        both = stretches(ARM, laid.patch, xy[(us[:, 1] >= ARM.s_min) & (us[:, 1] <= ARM.s_max)])
        assert fit.facts.stretch[0] == pytest.approx(both.min(), abs=0.004)
        assert fit.facts.stretch[1] == pytest.approx(both.max(), abs=0.004)
        worst_ = max(both.max() - 1, 1 - both.min())
        flat = fit.mark("flat")
        assert flat.level == ("" if worst_ < 0.05 else "warn" if worst_ < 0.10 else "strong")
        assert ("slit" in flat.sentence or "freehand" in flat.sentence) == (worst_ >= 0.10)


def test_flex_is_the_worst_of_the_poses_and_the_ditch_is_told() -> None:
    elbow = next(lv.s_mm for lv in ARM.levels if lv.name == "elbow")
    point, ditch = (fit_piece(_on(ARM, drawing(disc(20)), u, elbow), "a") for u in (0.5, 0.0))
    at = np.array([(0.5, elbow)])
    assert point.mark("flex").value == pytest.approx(float(np.abs(worst(ARM, "arm", at).strain).max()), rel=0.03)
    assert point.mark("flex").level == "strong" and "when bent" in point.mark("flex").sentence
    assert ditch.facts.fold_share > 0.9 and "folds in a bend" in ditch.mark("flex").sentence


@pytest.mark.parametrize(("part", "limb"), [("left_arm", ARM), ("right_arm", RIGHT)])
def test_share_seen_agrees_with_the_views(part: str, limb: Limb) -> None:
    """`composer.views.seen` is held against cast rays elsewhere; here areas by points, there by polygons."""
    rng = np.random.default_rng(8)
    for _ in range(12):
        scene = _on(limb, blob(rng, 130), float(rng.uniform(-1, 1)), float(rng.uniform(100, 380)), part)
        facts = fit_piece(scene, "a").facts
        there = best_view(limb, part, scene.laid[0])
        assert facts.seen is not None
        assert np.abs(np.array(facts.seen) - list(there.shares.values())).max() < 0.04
        assert facts.seen[facts.view] == pytest.approx(there.share, abs=0.04)


def test_a_piece_round_half_the_limb_is_half_seen_from_either_side() -> None:
    fit = fit_piece(_on(TUBE, box(130, 40), 0.125, 200), "a")
    assert fit.facts.seen == pytest.approx((0.75, 0.75, 0.25, 0.25), abs=0.03)
    all_round = fit_piece(_on(TUBE, box(255, 40), 0.125, 200), "a").mark("seen")
    assert all_round.value == pytest.approx(0.5, abs=0.03) and all_round.level


def test_tilt_knows_the_upright_of_the_motif_and_the_flip() -> None:
    assert tilt(10, 0, False) == 10
    assert tilt(30, 30, False) == 0
    assert tilt(-30, 30, True) == 0                          # turned over, its upright turns over too
    assert tilt(350, 0, False) == -10 and tilt(180, 0, False) == 180 and tilt(-180, 0, False) == 180
    head = fit_piece(_on(TUBE, box(20, 40), 0, 200, turn_deg=180.0), "a").mark("tilt")
    assert head.level == "strong" and "on its head" in head.sentence
    lean = fit_piece(_on(TUBE, box(20, 40), 0, 200, turn_deg=-30.0), "a").mark("tilt")
    assert lean.level == "warn" and "30 degrees to the right" in lean.sentence


@pytest.mark.parametrize(("part", "u", "facing", "flip", "word"), [
    ("left_arm", 0.0, "left", False, "towards the centre line"), ("left_arm", 0.0, "right", False, "away from"),
    ("right_arm", 0.0, "left", False, "away from"), ("right_arm", 0.0, "left", True, "towards the centre line"),
    ("left_arm", 0.25, "left", False, "forward"), ("right_arm", -0.25, "right", False, "forward"),
    ("left_arm", 0.5, "right", False, "towards the centre line"), ("right_leg", -0.25, "left", False, "backward"),
])
def test_facing_knows_left_from_right(part: str, u: float, facing: str, flip: bool, word: str) -> None:
    """Seen from the front the left arm hangs on the viewer's right: what looks left there looks to the middle."""
    found = looks(ARM, part, u, facing, flip, 0.0)
    assert found is not None and word in looks_word(*found)
    turned = looks(ARM, part, u, facing, flip, 180.0)         # on its head it looks the other way
    assert turned == pytest.approx(tuple(-v for v in found))
    assert looks(ARM, part, u, facing, flip, 90.0) is None


def test_facing_away_is_only_a_hint() -> None:
    scene = _on(ARM, box(40, 60), 0.0, 150)
    away = fit_piece(scene, "a", sides={"a": {"facing": "right"}}).mark("facing")
    assert away.level == "warn" and "flipped, it would look towards the centre line" in away.sentence
    assert not fit_piece(scene, "a", sides={"a": {"facing": "left"}}).mark("facing").level


def test_joints_and_bone() -> None:
    elbow = next(lv.s_mm for lv in ARM.levels if lv.name == "elbow")
    over = fit_piece(_on(ARM, box(30, 60), 0.5, elbow - 10), "a")
    assert over.mark("joints").value == pytest.approx(20, abs=1.5) and "elbow" in over.mark("joints").sentence
    by_zone = zones_of("left_arm", ARM).over_bone(np.array(over.facts.samples.inner @ np.diag([1 / 270, 1.0])
                                                           + (0.5, elbow - 10)))
    assert over.mark("bone").value == pytest.approx(float(by_zone.mean()), abs=0.05)
    assert "elbow point" in over.mark("bone").sentence
    clear = fit_piece(_on(ARM, box(30, 60), 0.25, 120), "a")
    assert (clear.mark("joints").value, clear.mark("bone").value) == (0.0, 0.0)


@pytest.mark.parametrize(("gap", "level"), [(1.8, ""), (1.3, "warn"), (0.8, "strong")])
@pytest.mark.parametrize("scale", [1.0, 0.5])
def test_line_gap_of_two_bars(gap: float, level: str, scale: float) -> None:
    mark = fit_piece(_on(TUBE, _bars(gap / scale, 40 / scale), 0, 100, scale=scale), "a").mark("lines")
    assert mark.value == pytest.approx(gap, abs=0.02)
    assert mark.level == level


def test_line_gap_is_the_least_distance_of_shapely() -> None:
    """Independent check: shapely's distance between two wavy strokes that face each other."""
    t = np.linspace(0, 60, 200)
    low = np.column_stack([t, 1.5 * np.sin(t / 7)])
    for gap in (0.7, 1.6, 2.6):
        a = shapely.LineString(low).buffer(0.5)
        b = shapely.LineString(low + np.array([0, gap + 1.0])).buffer(0.5)
        rings = tuple(np.asarray(g.exterior.coords)[:-1] for g in (a, b))
        found = measure_gaps(drawing(*rings)).narrowest(1.0, 2.0)
        assert found == pytest.approx(shapely.distance(a, b), abs=0.06)
    assert measure_gaps(drawing(disc(10))).narrowest(1.0, 2.0) is None


def test_narrow_gaps_are_no_trouble_in_a_drawing_that_is_not_below_its_natural_size() -> None:
    scene = _on(TUBE, _bars(0.4, 40.0), 0, 100)
    size = max(fit_piece(scene, "a").facts.samples.size)
    levels = {low: fit_piece(scene, "a", sides={"a": {"min_mm": low, "max_mm": 3 * size}}).mark("lines")
              for low in (0.9 * size, 1.1 * size)}
    assert fit_piece(scene, "a").mark("lines").level == "strong" == levels[1.1 * size].level
    assert levels[0.9 * size].level == "warn" and "seen as tone" in levels[0.9 * size].sentence
    assert levels[0.9 * size].value == levels[1.1 * size].value


def test_a_corner_where_lines_meet_is_no_gap() -> None:
    a = np.radians(35)
    vee = np.array([(0, 0), (40, 0), (40, -3), (-8, -3), (40 * np.cos(a) - 3, 40 * np.sin(a) + 3),
                    (40 * np.cos(a), 40 * np.sin(a))])
    assert measure_gaps(drawing(vee)).narrowest(1.0, 2.0) is None


def test_clearances_agree_with_patches_laid_at_the_place() -> None:
    rng = np.random.default_rng(12)
    for apart in (4.0, -6.0):
        scene = random_scene(rng, 14, 30, 70, apart, limb=ARM)
        mine = {(p.a, p.b): p.clearance_mm for p in clearances(ARM, scene.laid, 20.0)}
        for i, x in enumerate(scene.laid):
            for n in near_pieces(ARM, x, [y for y in scene.laid if y is not x]):
                j = next(k for k, y in enumerate(scene.laid) if y.piece.id == n.id)
                if i < j and n.clearance_mm <= 19:
                    assert mine[i, j] == pytest.approx(n.clearance_mm, abs=0.06)


@pytest.mark.parametrize("seed", range(4))
def test_each_piece_s_nearest_and_all_overlaps_are_those_of_all_pairs(seed: int) -> None:
    scene = random_scene(np.random.default_rng(seed), 24 + 5 * seed, 15, 75, -25.0, limb=ARM)

    def told(nearest: bool) -> list[tuple[list[int], tuple[float, int] | None]]:
        fit_near._pairs.clear()
        near: list[list[tuple[float, int]]] = [[] for _ in scene.laid]
        for p in clearances(ARM, scene.laid, 60.0, nearest=nearest):
            near[p.a].append((p.clearance_mm, p.b))
            near[p.b].append((p.clearance_mm, p.a))
        return [([j for d, j in sorted(n) if d == 0], min((x for x in n if x[0] > 0), default=None)) for n in near]

    every = told(False)
    assert told(True) == every and any(over for over, _ in every) and any(n for _, n in every)


@pytest.mark.parametrize("reach", [3.0, 60.0])
@pytest.mark.parametrize("turn", [0.0, 1.0, -2.0])
def test_one_piece_deep_inside_another_overlaps_it(reach: float, turn: float) -> None:
    big, small = put(TUBE, "a", box(90, 90), 0.2, 200), put(TUBE, "b", box(6, 6), 0.2 + turn, 200)
    both = drawing(disc(5) + np.array([0, 60]), disc(4) - np.array([0, 60]))
    island = put(TUBE, "c", both, 0.2 + turn, 260)
    for pair in ((big, small), (small, big), (big, island), (island, big)):
        assert [p.clearance_mm for p in clearances(TUBE, pair, reach)] == [0.0]


def test_break_size_and_what_lies_in_front() -> None:
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", box(60, 40), 0, 200, title="Crab"),
                               put(TUBE, "b", box(60, 40), 61.2 / 260, 200, title="Buoy"),
                               put(TUBE, "c", box(30, 30), 0, 225, depth=2, title="Tern")))
    crab = fit_piece(scene, "a", sides={"a": {"min_mm": 100, "max_mm": 140}})
    assert crab.nearest == ("b", pytest.approx(1.2, abs=0.01)) and crab.over == ("c",)
    assert crab.mark("break").level == "warn" and "behind the tern" in crab.mark("break").sentence
    assert crab.mark("size").level == "strong" and "below" in crab.mark("size").sentence
    assert crab.level == "strong"


def test_thresholds_are_the_plans_own() -> None:
    art = box(60, 40)
    scene = Scene(TUBE, -0.5, (put(TUBE, "a", art, 0, 200, turn_deg=15.0),))
    strict = limits_of(Settings(extra={"thresholds": {"tilt_warn_deg": 10, "tilt_strong_deg": 12}}))
    assert (fit_piece(scene, "a").mark("tilt").level, fit_piece(scene, "a", limits=strict).mark("tilt").level) == \
        ("", "strong")
    assert limits_from(None) == Limits() == limits_of(Settings())
    for data, words in (({"colour": 1}, "no threshold 'colour'"), ({"stretch_warn": "x"}, "runs from 0 to 1"),
                        ({"stretch_warn": 0.5}, "must not be above"), ([1], "by name")):
        with pytest.raises(LimitError, match=words):
            limits_from(data)  # type: ignore[arg-type]


def test_what_is_kept_is_what_is_measured_anew() -> None:
    """A moved piece is measured anew, the client's own figures too; the rest is looked up unchanged."""
    scene = random_scene(np.random.default_rng(6), 6, 40, 60, limb=ARM)
    before = fit_part(scene)
    assert [f.marks for f in fit_part(scene)] == [f.marks for f in before]
    art = scene.laid[0].flat
    there = lay(ARM, replace(scene.laid[0].piece, art=art.digest, s_mm=251.0, u=0.5, turn_deg=0.0), art)
    after = fit_part(replace(scene, laid=(there, *scene.laid[1:])))
    assert after[0].facts.middle != before[0].facts.middle
    swollen = fit_part(scene, flexed_mm={"upper_arm": 1.2 * TYPICAL_MM["upper_arm"]})
    assert any(a.facts.flex != b.facts.flex for a, b in zip(swollen, before, strict=True))


def test_a_chest_is_read_with_sides_poses_and_bone() -> None:
    chest = build_panel("chest", {f.name: (f.usual_low_mm + f.usual_high_mm) / 2 for f in fields_of("chest")})
    scene = _on(chest, box(50, 60), 0.1, (chest.s_min + chest.s_max) / 2, "chest")  # type: ignore[arg-type]
    fit = fit_piece(scene, "a", sides={"a": {"facing": "left"}})
    assert fit.facts.seen[0] == 1.0 and "best side, the front." in fit.mark("seen").sentence
    us = np.array([fit.facts.middle])
    assert max(map(abs, fit.facts.flex or ())) >= np.abs(trunk_worst(chest, "chest", us).strain).max()
    assert fit.facts.bone_share == 0.0 and "clear of bone" in fit.mark("bone").sentence
    assert "towards the centre line" in fit.mark("facing").sentence
    assert abs(fit.mark("stretch").value or 0) < 0.1


def test_on_a_chest_bone_the_armpit_and_the_armhole_are_told() -> None:
    chest = build_panel("chest", PANEL_TYPICAL_MM["chest"])

    def fit_at(u: float, s_mm: float, size: float = 40.0) -> PieceFit:
        return fit_piece(_on(chest, box(size, size), u, s_mm, "chest"), "a")  # type: ignore[arg-type]

    ribs = fit_at(0.19, 45.0).mark("bone")
    assert ribs.value == 1.0 and ribs.level == "strong" and "left side, over the ribs" in ribs.sentence
    breastbone = fit_at(0.0, 170.0, 80.0).mark("bone")      # 40 mm wide, a quarter of the way to the crease
    assert breastbone.value == pytest.approx(0.5, abs=0.06) and "(breastbone)" in breastbone.sentence
    fold = fit_at(-0.165, 145.0, 30.0).mark("flex")
    assert fold.value == pytest.approx(0.35, abs=0.02) and fold.level == "strong"
    assert "with the arm raised (at the right armpit edge, front)" in fold.sentence
    over = fit_at(0.175, 220.0, 50.0).mark("joints")
    assert over.level == "warn" and "left armhole" in over.sentence
    assert over.value == pytest.approx(20.0, abs=8.0)      # its right edge lies about so far past the armhole's rim
    assert fit_at(0.1, 180.0).mark("joints").value == 0.0


def test_a_limb_without_its_landmarks_and_an_empty_part_are_read_too() -> None:
    bare = Limb((Level("wrist", 0, 200), Level("top", 300, 250)))
    assert fit_piece(_on(bare, box(40, 40), 0, 100), "a").facts.flex is None
    assert fit_part(Scene(ARM, -0.5, ())) == ()
    with pytest.raises(KeyError, match="no piece 'zzz'"):
        fit_piece(_on(ARM, box(40, 40), 0, 100), "zzz")
