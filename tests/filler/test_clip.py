"""Clipping: the skin break is kept as measured by shapely's own distance, and no slivers stay."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.body.limb import Level, Limb
from composer.filler.clip import LIGHT_MM, in_front, margin, visible
from composer.filler.closing import shut
from composer.filler.seen import visible_laid
from composer.plan.model import Piece, Recipe, Settings
from composer.plan.scene import Scene, lay


def drawing_of(shape: shapely.Geometry, ink: shapely.Geometry, ends: tuple[End, ...] = ()) -> Drawing:
    return Drawing(geometry_to_rings(shape), (Layer("line", geometry_to_rings(ink)),), ends)


@pytest.mark.parametrize("gap", [1.5, 2.0, 2.5])
@given(r=st.floats(0.3, 60), seed=st.integers(0, 99))
@settings(max_examples=25, deadline=None)
def test_break_is_kept_to_the_hundredth(gap: float, r: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    front = Point(*rng.uniform(-20, 20, 2)).buffer(r, quad_segs=12)
    edge = np.array(margin(front, gap).exterior.coords)
    near = shapely.distance(front, shapely.points(edge))
    mids = shapely.distance(front, shapely.points((edge + np.roll(edge, -1, axis=0))[:-1] / 2))
    assert min(near.min(), mids.min()) >= gap - 0.01
    assert near.max() <= gap + 3 * LIGHT_MM


def test_lines_end_tucked_at_an_even_break() -> None:
    lines = [LineString([(-40, y), (40, y)]).buffer(0.4) for y in range(-20, 21, 5)]
    art = drawing_of(box(-40, -25, 40, 25), shapely.union_all(lines), (End(0, 0, "tip"), End(-40, 0, "tip")))
    front = Point(0, 0).buffer(12)
    seen = visible(art, front, 2.0)
    assert seen.ink().distance(front) >= 1.98
    assert seen.outline.distance(front) >= 1.98
    tucked = [e for e in seen.ends if e.how == "tucked"]
    assert tucked and all(abs(front.distance(Point(e.x, e.y)) - 2.0) < 0.12 for e in tucked)
    assert End(-40, 0, "tip") in seen.ends and End(0, 0, "tip") not in seen.ends


def test_no_sliver_and_no_crumb_stays() -> None:
    beside = LineString([(-10, 12.05), (10, 12.05)]).buffer(0.35)
    art = drawing_of(box(-40, -25, 40, 25), beside)
    seen = visible(art, box(-30, -10, 30, 10), 2.0, least_mm=0.3)
    for part in shapely.get_parts(seen.ink()):
        assert not part.buffer(-0.14).is_empty
    grazing = drawing_of(box(-40, -25, 40, 25), LineString([(-10, 11.8), (10, 11.8)]).buffer(0.35))
    assert visible(grazing, box(-30, -10, 30, 10), 2.0, least_mm=0.4).ink().is_empty


def test_only_a_place_where_a_slot_may_be_open_is_mended() -> None:
    front = box(-40, -30, 40, 0)
    strokes = [LineString([(x, -10), (x + 8, 30)]).buffer(0.4) for x in range(-30, 30, 6)]
    art = drawing_of(box(-40, -20, 60, 40), shapely.union_all(strokes))
    ink = visible(art, front, 2.0, 0.36, 2.0).ink()
    assert shapely.difference(ink, art.ink().buffer(0.01)).area < 1e-3, "corners of cut strokes are left as they are"
    # a fork whose black crotch is cut to a sliver: what was filled before is filled again, no thinner than a needle
    fork = shapely.union_all([LineString([(0, -6), (x, 20)]).buffer(0.4) for x in (-2.2, 2.2)])
    black = fork.buffer(1.06).buffer(-1.06)
    left = visible(drawing_of(box(-40, -20, 40, 40), black), front, 2.0, 0.36, 2.0).ink()
    assert shapely.difference(left.buffer(0.98).buffer(-0.98), left.buffer(0.02)).area < 0.05
    assert shapely.difference(left, left.buffer(-0.16).buffer(0.2)).area < 0.02


def test_what_is_clear_is_passed_on_untouched() -> None:
    art = drawing_of(box(0, 0, 10, 10), box(1, 1, 9, 2))
    assert visible(art, box(30, 0, 40, 10), 2.0) is art


def scene_of(limb: Limb, pieces: list[tuple[Piece, Drawing]]) -> Scene:
    return Scene(limb, -0.5, tuple(lay(limb, p, d) for p, d in pieces))


def bar(width: float, height: float) -> Drawing:
    return drawing_of(box(-width / 2, -height / 2, width / 2, height / 2), box(-width / 2, -1, width / 2, 1))


@pytest.mark.parametrize("u", [0.0, 0.35, 0.6, 0.93, -0.39])
def test_clips_across_the_seam_and_one_turn_away(u: float) -> None:
    limb = Limb((Level("far", 0, 200), Level("near", 400, 320)))
    filler = Piece("f", "left_arm", "x", "Cloud", 0.0, 200.0, recipe=Recipe("cloud", 1))
    piece = Piece("p", "left_arm", "y", "Crab", u, 200.0, depth=3)
    scene = scene_of(limb, [(filler, bar(0.85 * 260, 60)), (piece, bar(40, 40))])
    seen = visible_laid(scene, Settings())["f"]
    laid = scene.of("p")
    where = laid.patch.to_skin(np.array([[0.0, 0.0]]))
    patch = scene.of("f").patch
    hits = 0
    for turn in (-2, -1, 0, 1, 2):
        x, y = patch.to_flat(where + np.array([turn, 0.0]))[0]
        if scene.of("f").flat.outline.contains(Point(x, y)):
            hits += 1
            assert not seen.outline.intersects(Point(x, y).buffer(15))
    assert hits >= 1


def test_planned_piece_behind_another_is_clipped_and_pieces_hide_fillers_whatever_their_depth() -> None:
    limb = Limb((Level("far", 0, 260), Level("near", 400, 260)))
    back = Piece("a", "left_arm", "x", "Gull", 0.0, 200.0, depth=1)
    front = Piece("b", "left_arm", "y", "Crab", 0.05, 205.0, depth=2)
    filler = Piece("c", "left_arm", "z", "Cloud", 0.0, 200.0, depth=9, recipe=Recipe("cloud", 1))
    scene = scene_of(limb, [(back, bar(60, 30)), (front, bar(30, 30)), (filler, bar(120, 80))])
    seen = visible_laid(scene, Settings())
    hidden_by = in_front(scene, scene.of("a"), [scene.of("b")])
    assert seen["a"].outline.distance(hidden_by) >= 1.98
    assert seen["b"].digest == scene.of("b").flat.digest
    both = in_front(scene, scene.of("c"), [scene.of("a"), scene.of("b")])
    assert seen["c"].outline.distance(both) >= 1.98


def test_ink_that_lies_wholly_hidden_leaves_no_end() -> None:
    """The edge of what hides it never crosses the ink: nothing is cut, so nothing is tucked."""
    art = drawing_of(box(-10, -10, 30, 10), Point(0, 0).buffer(2))
    assert visible(art, Point(0, 0).buffer(6), 2.0).ends == ()


def test_ink_that_comes_out_of_being_shut_crossing_itself_is_mended() -> None:
    ink = shapely.from_wkt(
        "MULTIPOLYGON (((-57.26624220910969 -55.7329987191567, -63.29511541507502 -59.44993649062664, "
        "-59.98 -57.406092262673326, -59.98 -57.23002493102632, -57.30812718393906 -55.61904362053837, "
        "-57.26624220910969 -55.7329987191567)), "
        "((-67.17293003212505 -61.63181999161134, -66.96620928527794 -61.500202449864275, -64.54758442036953 -60.02, "
        "-64.17617149713949 -60.02, -63.29973487675573 -59.45285464003299, -67.0949194730303 -61.90873254829855, "
        "-67.17293003212505 -61.63181999161134)))")
    grown = shut(ink, 1.02)
    assert shapely.is_valid(grown)
    assert shapely.union(ink, grown).area >= ink.area   # raised by GEOS before
