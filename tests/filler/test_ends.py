"""Ends that are bare are found on the ink, drawn out to points, and what stays bare is never shown."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, Layer
from composer.filler import end_mend, finish
from composer.filler.end_mend import drawn_out, mirrored
from composer.filler.ends import bare_ends, ink_of, seen_of
from composer.filler.finish import broken, finished
from composer.filler.ground import Ground, Wish
from composer.filler.kinds import kind
from composer.filler.skeleton import ends_of, strokes_of
from composer.plan.model import Hand

HAND, WISH, KIND = Hand(), Wish(), kind("rope")     # a kind that keeps to its gap
FIELD = box(-40, -30, 40, 30)
GROUND = Ground(FIELD, FIELD, Polygon(), 2.0, 2.0, lambda xy: np.zeros(len(xy)))


def drawing(ink: BaseGeometry, **notes: object) -> Drawing:
    return Drawing.of(shapely.buffer(ink, 0.1), (Layer.of("line", ink),), (), notes)


def stroke(*at: tuple[float, float], width: float = 1.2) -> BaseGeometry:
    return LineString(at).buffer(width / 2, cap_style="flat")


def tapered(*at: tuple[float, float], width: float = 1.2) -> BaseGeometry:
    """A stroke with a tip at its first place and a straight cut at its last."""
    line = LineString(at)
    t = np.linspace(0.0, 1.0, 40)
    p = np.array([line.interpolate(v, normalized=True).coords[0] for v in t])
    way = np.gradient(p, axis=0)
    side = np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(*way.T)[:, None]
    half = (0.2 + (width / 2 - 0.2) * np.minimum(1.0, 3 * t))[:, None]
    return Polygon(np.vstack([p + half * side, (p - half * side)[::-1]]))


def bare(d: Drawing, ground: Ground = GROUND) -> list[tuple[float, float]]:
    return [(e.x, e.y) for e in bare_ends(ink_of(seen_of(d, ground, HAND), ground), d, ground, HAND)]


BOW = tuple((12 * np.sin(a), 12 * np.cos(a)) for a in np.linspace(0.2, 2.4, 30))
LEAF = Polygon([(-7, 0.3), (-5, 1.1), (0, 1.5), (3, 1.2), (4.1, 0), (3, -1.2), (0, -1.5), (-5, -1.1), (-7, -0.3)])


@pytest.mark.parametrize("ink", [
    tapered((-14, 0), (14, 3)), tapered(*BOW), tapered((-14, 0), (14, 3), width=2.4), LEAF], ids=[
    "straight", "bent", "wide", "blunt leaf"])
def test_a_bare_end_is_drawn_out_to_a_point_and_no_ink_is_added(ink: BaseGeometry) -> None:
    before = drawing(ink)
    assert bare(before)
    after, bad = finished(before, KIND, GROUND, HAND, WISH)
    assert bad == [] and bare(after) == []
    left = after.ink("line")
    assert shapely.difference(left, shapely.buffer(ink, 0.01)).is_empty
    assert shapely.hausdorff_distance(left.convex_hull, ink.convex_hull) < 1.3, "about as long as it was"
    assert left.area > 0.75 * ink.area
    assert {e.how for e in strokes_of(left, needle_mm=HAND.fine_mm).ends} == {"tip"}


def test_what_ends_well_stays_as_it_is() -> None:
    goes_on = drawing(tapered((-14, 0), (60, 0)))           # out over the edge: tucked
    tips = drawing(shapely.union(tapered((-14, 8), (0, 8)), tapered((13.9, 8), (0, 8))))
    ball = drawing(shapely.union(tapered((-14, 0), (9, 0), width=1.0), Point(9, 0).buffer(1.4)))
    for d in (goes_on, tips, ball):
        assert bare(d) == []
        d = finish.rounded(d)
        assert finished(d, KIND, GROUND, HAND, WISH)[0].digest == d.digest


def test_what_goes_on_behind_a_piece_is_tucked_and_what_stops_before_it_is_not() -> None:
    post = box(10, -30, 20, 30)
    ground = Ground(shapely.difference(FIELD, shapely.buffer(post, 2.03)), FIELD, post, 2.0, 2.0, GROUND.flow)
    assert bare(drawing(tapered((-14, 0), (15, 0))), ground) == []
    assert len(bare(drawing(tapered((-14, 0), (4, 0))), ground)) == 1


def test_a_bit_that_can_not_end_well_is_left_out_and_a_spur_is_shaved_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(end_mend, "WAYS", ())
    line = shapely.union(tapered((-14, 0), (0, 0)), tapered((14, 0), (-0.1, 0)))
    bit = drawing(shapely.union(line, box(0, 6, 1.0, 9.4)))
    assert bare(bit)
    after, bad = finished(bit, KIND, GROUND, HAND, WISH)
    assert bad == [] and shapely.get_num_geometries(after.ink("line")) == 1
    spur = drawing(shapely.union(line, box(-0.5, 0, 0.5, 3.0)))
    ink = spur.ink("line")
    ends = bare_ends(ink, spur, GROUND, HAND)
    assert len(ends) == 1
    monkeypatch.setattr(end_mend, "widths", lambda *args: [])       # the corners beside its root are no matter here
    after = drawn_out(spur, ink, ends, GROUND, HAND).ink("line")
    assert shapely.hausdorff_distance(after, line) < 0.2


def test_both_halves_of_a_mirrored_drawing_are_drawn_out_alike() -> None:
    axis = {"at": [0.0, 0.0], "deg": 90.0}
    one = tapered((-14, 0), (-4, 5))
    both = drawing(shapely.union(one, mirrored(one, (0.0, 0.0), 90.0)), mirror=axis)
    after, bad = finished(both, KIND, GROUND, HAND, WISH)
    ink = after.ink("line")
    assert bad == [] and bare(after) == []
    assert shapely.symmetric_difference(ink, mirrored(ink, (0.0, 0.0), 90.0)).area < 0.02
    assert ink.area < 0.97 * both.ink("line").area


def test_what_stays_bare_is_a_broken_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    cut = finish.rounded(drawing(tapered((-14, 0), (14, 3))))
    assert [f.rule for f in broken(cut, KIND, GROUND, HAND, WISH)] == ["end"]
    monkeypatch.setattr(end_mend, "_taken_off", lambda *args: None)
    after, bad = finished(cut, KIND, GROUND, HAND, WISH)
    assert after.digest == cut.digest and [f.rule for f in bad] == ["end"]
    assert np.hypot(bad[0].x - 14, bad[0].y - 3) < 1.5, "and it says where"


def test_nothing_else_is_taken_off_near_an_end() -> None:
    """A line that runs beside the end, at the line gap, stays as it was."""
    beside = stroke((-14, 3.3), (34, 3.3))
    d = drawing(shapely.union(tapered((-14, 0), (6, 0)), beside))
    ink = ink_of(seen_of(d, GROUND, HAND), GROUND)
    ends = [e for e in bare_ends(ink, d, GROUND, HAND) if abs(e.y) < 1]
    after = drawn_out(d, ink, ends, GROUND, HAND).ink("line")
    assert len(ends) == 1 and shapely.covers(shapely.buffer(after, 0.01), beside)


def test_the_ends_alone_are_those_of_the_strokes() -> None:
    ink = shapely.union_all([stroke((-14, 0), (14, 3)), tapered(*BOW), LEAF])
    assert ends_of(ink, needle_mm=HAND.fine_mm) == list(strokes_of(ink, needle_mm=HAND.fine_mm).ends)
    right = ends_of(ink, needle_mm=HAND.fine_mm, of_note=lambda xy: xy[:, 0] > 0)
    assert right == [e for e in strokes_of(ink, needle_mm=HAND.fine_mm).ends if e.x > 0]
