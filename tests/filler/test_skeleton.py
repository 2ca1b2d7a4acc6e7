"""Strokes read back from ink, on shapes whose joints, ends and widths are known by construction."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon

from composer.filler.skeleton import CELL_MM, strokes_of


def bar(a: tuple[float, float], b: tuple[float, float], width: float = 1.0) -> Polygon:
    return LineString([a, b]).buffer(width / 2)


def turned(shape: shapely.Geometry, deg: float) -> shapely.Geometry:
    return shapely.affinity.rotate(shape, deg, origin=(3, 1))


@pytest.mark.parametrize("deg", [0.0, 17.0, 45.0, 71.0])
@pytest.mark.parametrize("width", [0.6, 1.0, 1.8])
def test_a_bar_has_its_width_its_direction_and_two_blunt_ends(deg: float, width: float) -> None:
    s = strokes_of(turned(bar((0, 0), (20, 0), width), deg))
    assert abs(np.median(s.width) - width) < 1.1 * CELL_MM
    told = s.way[np.isfinite(s.way)]
    off = np.degrees(np.abs((told - np.radians(deg) + np.pi / 2) % np.pi - np.pi / 2))
    assert len(told) > 40 and np.median(off) < 3.0
    assert [e.how for e in s.ends] == ["blunt", "blunt"] and s.joints == ()


@pytest.mark.parametrize("deg", [0.0, 30.0, 65.0])
def test_a_wedge_ends_in_a_tip_and_a_knob_in_a_ball(deg: float) -> None:
    wedge = strokes_of(turned(Polygon([(0, -0.9), (0, 0.9), (20, 0)]), deg))
    assert sorted(e.how for e in wedge.ends) == ["blunt", "tip"]
    knob = strokes_of(turned(bar((0, 0), (20, 0), 0.8).union(Point(20, 0).buffer(1.3)), deg))
    assert sorted(e.how for e in knob.ends) == ["ball", "blunt"]


@pytest.mark.parametrize("deg", [0.0, 25.0, 50.0])
def test_a_t_a_cross_and_a_fork(deg: float) -> None:
    stem = bar((0, 0), (20, 0))
    t = strokes_of(turned(stem.union(bar((10, 0), (10, 9))), deg)).joints
    assert [j.limbs for j in t] == [3] and t[0].off_deg > 70 and not t[0].smooth
    x = strokes_of(turned(stem.union(bar((10, -9), (10, 9))), deg)).joints
    assert [j.crossed for j in x] == [True] and not x[0].smooth


@pytest.mark.parametrize("radius", [5.0, 8.0, 12.0])
def test_an_arc_that_leaves_tangentially_is_smooth(radius: float) -> None:
    """A circle touches its tangent at 0 degrees, wherever the ink of the two comes apart."""
    a = np.linspace(0, 1.5, 40)
    arc = LineString(np.column_stack([8 + radius * np.sin(a), radius * (1 - np.cos(a))])).buffer(0.4)
    joints = strokes_of(bar((0, 0), (24, 0), 0.9).union(arc)).joints
    assert len(joints) == 1 and joints[0].smooth
    mirrored = shapely.transform(arc, lambda p: p * (1.0, -1.0))
    both = strokes_of(shapely.union_all([bar((0, 0), (24, 0), 0.9), arc, mirrored])).joints
    assert both and not any(j.crossed for j in both)


def test_dots_and_nothing() -> None:
    dot = strokes_of(Point(0, 0).buffer(1.0))
    assert dot.ends == () and dot.joints == () and abs(dot.width.max() - 2.0) < 2 * CELL_MM
    none = strokes_of(Polygon())
    assert len(none.at) == 0 and none.ends == ()


def test_the_centre_line_is_that_of_scikit_image() -> None:
    """The same mask thinned by scikit-image's medial axis lies within a cell or two."""
    from skimage.morphology import medial_axis

    from composer.filler.filigree_room import Room

    shape = LineString([(0, 0), (12, 3), (22, -4)]).buffer(0.7)
    room = Room(shape, CELL_MM)
    rows, cols = np.nonzero(medial_axis(room.wall > 0))
    other = np.column_stack([room.grid[rows, cols].real, room.grid[rows, cols].imag])
    ours = strokes_of(shape).at
    far = np.hypot(*(ours[:, None] - other[None]).transpose(2, 0, 1)).min(axis=1)
    assert far.max() < 2.5 * CELL_MM


def test_corners_of_a_patch_and_of_a_knot_are_no_ends_but_short_strokes_and_stubs_have_theirs() -> None:
    square = Polygon([(0, 0), (3, 0), (3, 3), (0, 3)])
    half_round = Point(0, 0).buffer(2.2).intersection(Polygon([(-3, 0), (3, 0), (3, 3), (-3, 3)]))
    assert not strokes_of(square).ends and not strokes_of(half_round).ends
    assert [e.how for e in strokes_of(bar((0, 0), (6, 0), 2.0)).ends] == ["blunt", "blunt"]
    knot = LineString([(-10, 0), (10, 0)]).buffer(0.4, cap_style="flat")
    cornered = knot.union(Polygon([(-1.2, 0), (1.2, 0), (1.2, 1.2), (-1.2, 1.2)]))
    inner = [e for e in strokes_of(cornered).ends if abs(e.x) < 5]
    assert not inner, "a knot's corners"
    stub = knot.union(bar((0, 0), (0, 2.6), 0.8))
    assert [e.how for e in strokes_of(stub).ends if abs(e.x) < 5] == ["blunt"], "a stub on a stroke"


@pytest.mark.parametrize("deg", [0.0, 25.0, 50.0])
def test_the_point_in_which_two_strokes_run_together_is_a_tip_but_not_a_stub_on_a_stem(deg: float) -> None:
    """A leaf's tip: two edges meet at 30 degrees, and what is narrower than the line gap between them is filled."""
    edges = [bar((0, 0), (20 * np.cos(a), 20 * np.sin(a)), 0.5) for a in (np.radians(15), np.radians(-15))]
    filled = Polygon([(0, 0), (4, 4 * np.tan(np.radians(15))), (4, -4 * np.tan(np.radians(15)))])
    point = [e for e in strokes_of(turned(shapely.union_all([*edges, filled]), deg)).ends
             if shapely.affinity.rotate(Point(e.x, e.y), -deg, origin=(3, 1)).x < 3]
    assert [e.how for e in point] == ["tip"]
    stem = bar((0, -12), (0, 12), 1.6).union(bar((0, 0), (3.0, 0), 0.6))
    stub = [e for e in strokes_of(turned(stem, deg)).ends
            if shapely.affinity.rotate(Point(e.x, e.y), -deg, origin=(3, 1)).x > 2]
    assert [e.how for e in stub] == ["blunt"]


@pytest.mark.parametrize("deg", [0.0, 20.0, 45.0])
def test_a_small_star_has_four_tips_and_a_square_of_strokes_none(deg: float) -> None:
    """Points 2 mm long on a heart 1.2 mm wide; and a plus of even strokes, whose four ends are blunt."""
    a = np.radians(np.arange(0, 360, 45.0))
    r = np.where(np.arange(8) % 2 == 0, 2.6, 0.75)[:, None]
    star = Polygon(np.column_stack([np.cos(a), np.sin(a)]) * r)
    assert [e.how for e in strokes_of(turned(star, deg)).ends] == ["tip"] * 4
    plus = shapely.union_all([LineString(p).buffer(0.5, cap_style="flat")
                              for p in ([(-4, 0), (4, 0)], [(0, -4), (0, 4)])])
    assert {e.how for e in strokes_of(turned(plus, deg)).ends} == {"blunt"}


@pytest.mark.parametrize("deg", [0.0, 13.0, 31.0, 45.0, 58.0, 77.0])
@pytest.mark.parametrize("width", [0.9, 1.3, 1.8])
def test_a_straight_cut_is_blunt_a_chisel_and_a_short_spindle_have_tips(deg: float, width: float) -> None:
    """The thinning of a straight cut runs into its corner and gets thin there, which is no tip. A stroke drawn out
    over twice its width is one, and so are both ends of a spindle five times as long as wide."""
    cut = LineString([(0, 0), (15, 0)]).buffer(width / 2, cap_style="flat")
    ends = strokes_of(turned(cut, deg)).ends      # of a wide one both corners may be read
    assert len(ends) >= 2 and {e.how for e in ends} == {"blunt"}
    h = width / 2
    drawn_out = Polygon([(0, -h), (0, h), (15, h), (15 + 2 * width, 0.12), (15 + 2 * width, -0.12), (15, -h)])
    assert sorted({e.how for e in strokes_of(turned(drawn_out, deg)).ends}) == ["blunt", "tip"]
    x = np.linspace(0, 1, 20)
    half = 0.15 + h * np.sin(np.pi * x)
    long = 5 * width * x
    spindle = Polygon(np.vstack([np.column_stack([long, half]), np.column_stack([long, -half])[::-1]]))
    assert [e.how for e in strokes_of(turned(spindle, deg)).ends] == ["tip", "tip"]


@pytest.mark.parametrize("deg", [0.0, 25.0, 50.0, 80.0])
def test_what_thins_out_to_the_needle_is_a_tip_and_what_is_as_fine_all_along_is_not(deg: float) -> None:
    """A hook 2.6 mm long that leaves a stem and falls from 1.1 mm to a needle of 0.4; beside it stubs of one width, and
    a stroke of the needle's own width."""
    a = np.linspace(0, 1.3, 24)
    path = 2.2 * np.column_stack([np.sin(a), 1 - np.cos(a)])
    half = np.interp(a, [0, 1.1, 1.3], [0.55, 0.2, 0.2])
    side = np.column_stack([-np.sin(a), np.cos(a)]) * half[:, None]
    hook = Polygon(np.vstack([path + side, (path - side)[::-1]])).buffer(0)
    stem = bar((0, -8), (0, 8), 1.0)

    def tips(shape: shapely.Geometry) -> list[str]:
        found = strokes_of(turned(shape, deg), needle_mm=0.4).ends
        return [e.how for e in found if shapely.affinity.rotate(Point(e.x, e.y), -deg, origin=(3, 1)).x > 1.0]

    assert tips(stem.union(hook)) == ["tip"]
    for long, width in ((3.6, 0.4), (3.2, 0.5), (3.6, 0.5), (2.8, 0.8), (3.2, 0.8), (3.6, 0.8)):
        stub = stem.union(bar((0, 0), (long, 0), width))
        filled = stub.buffer(1.0, quad_segs=8).buffer(-1.0, quad_segs=8)     # its crevices, which widen its root
        assert tips(filled) == ["blunt"], (long, width)
    assert tips(bar((2, 0), (16, 0), 0.5)) == ["blunt", "blunt"]


@pytest.mark.parametrize("deg", [0.0, 33.0])
def test_the_ink_of_a_wide_stroke_goes_on_beyond_its_centre_line(deg: float) -> None:
    for width in (1.0, 3.0):
        cut = LineString([(0, 0), (20, 0)]).buffer(width / 2, cap_style="flat")
        for e in strokes_of(turned(cut, deg)).ends:
            p = shapely.affinity.rotate(Point(e.x, e.y), -deg, origin=(3, 1))
            assert min(p.x, 20 - p.x) + 0.15 >= e.ahead_mm >= 0.6 * min(p.x, 20 - p.x)


@pytest.mark.parametrize("deg", [0.0, 21.0, 45.0, 68.0])
def test_a_long_wedge_cut_off_at_the_needles_width_has_a_tip(deg: float) -> None:
    """From 0.9 mm to a needle of 0.4 over 9 mm, cut square there; cut where it is 0.8 wide its end is bare."""
    def wedge(till: float) -> Polygon:
        half = 0.5 * np.interp(till, [0, 9], [0.9, 0.4])
        return Polygon([(-6, -0.45), (0, -0.45), (till, -half), (till, half), (0, 0.45), (-6, 0.45)])

    for till, how in ((9.0, "tip"), (1.8, "blunt")):
        ends = [e.how for e in strokes_of(turned(wedge(till), deg), needle_mm=0.4).ends
                if shapely.affinity.rotate(Point(e.x, e.y), -deg, origin=(3, 1)).x > till - 2]
        assert ends and set(ends) == {how}, till


@pytest.mark.parametrize("width", [0.4, 0.46, 0.5, 0.6])
def test_a_slanting_stroke_is_not_lost_in_the_thinning(width: float) -> None:
    """Zhang and Suen's thinning loses strokes at 45 degrees that are two cells wide, wherever the raster lies."""
    corner = shapely.box(-5.03, -5.03, -3, -3)      # the raster begins here
    for shift in np.linspace(0.0, 0.2, 6):
        stroke = LineString([(shift, 0), (30 + shift, 30)]).buffer(width / 2, cap_style="flat")
        s = strokes_of(shapely.union(stroke, corner))
        assert len([e for e in s.ends if e.x > -2]) == 2
        assert np.diff(np.sort(s.at[s.at[:, 0] > -2][:, 0])).max() < 0.5
