"""Tips come from something wider than the needle: what is cut away, what swells, what stays."""

from dataclasses import replace

import numpy as np
import shapely

from composer.filler.cloud import pen_of
from composer.filler.cloud_ink import ribbons
from composer.filler.cloud_lines import Line
from composer.filler.ground import Wish
from composer.filler.points import DRAWN, clear_tips, loose_ends_thinned, out_of_slivers, pointed, spaced
from composer.filler.skeleton import strokes_of
from composer.plan.model import Hand

PEN = pen_of(Hand(), Wish(), 2.0)
LEAST = DRAWN * PEN.least_mm


def line(long: float, width: np.ndarray | float, start: str = "tip", end: str = "tip") -> Line:
    x = np.linspace(0, long, 60)
    return Line(np.column_stack([x, 0.1 * np.sin(x)]), np.broadcast_to(width, 60).astype(float), start, end, 0)


def test_a_stroke_reckoned_down_to_nothing_ends_where_the_needle_can_go_no_finer() -> None:
    drawn = pointed([line(30.0, np.linspace(1.2, 0.1, 60), "tucked")], PEN)[0]
    assert abs(drawn.path[-1, 0] - 30.0 * (1.2 - LEAST) / 1.1) < 0.6 and drawn.path[0, 0] == 0


def test_what_ends_blunt_in_ink_ends_in_a_tip() -> None:
    """Read back from the ink by the thinning (scikit-image), which knows nothing of what a stroke says of itself."""
    for width in (0.42, 0.6, 1.4, np.linspace(1.6, 0.05, 60)):
        one = line(24.0, width)
        ends = [e.how for e in strokes_of(ribbons(pointed([one], PEN), LEAST)[0]).ends]
        assert ends == ["tip", "tip"]
    assert "blunt" in [e.how for e in strokes_of(ribbons([line(24.0, 0.42)], LEAST)[0]).ends]


def test_tucked_ends_and_balls_stay_as_they_are() -> None:
    for how in ("tucked", "ball"):
        one = line(20.0, 0.8, how, how)
        assert pointed([one], PEN) == [one]
    one = pointed([line(20.0, 0.8, "tucked", "tip")], PEN)[0]
    assert one.width[0] == 0.8


def test_a_crumb_is_left_away() -> None:
    assert pointed([line(2.0, 0.5)], PEN) == []


def test_a_hand_that_does_not_taper_lets_fine_strokes_keep_their_width() -> None:
    pen = pen_of(Hand(taper=0.0), Wish(), 2.0)
    one = pointed([line(24.0, 0.9)], pen)[0]
    assert one.width.max() == 0.9


def test_an_end_whose_stroke_was_cut_away_thins_out_and_one_that_hangs_on_something_stays() -> None:
    a, b = line(20.0, 0.8, "tucked", "tucked"), line(20.0, 0.8, "tucked", "tucked")
    b = replace(b, path=b.path[::-1] * (0.0, 1.0) + (0.0, 0.2) + np.linspace(0, 15, 60)[:, None] * (0.0, 1.0))
    got = loose_ends_thinned([a, b], [], shapely.Point(20.0, 0.1 * np.sin(20.0)).buffer(1.0), 3.0)
    assert (got[0].start, got[0].end) == ("tucked", "tucked")       # on b, and behind what hides it
    assert (got[1].start, got[1].end) == ("tucked", "tip")
    assert got[1].width[-1] < 0.2 * b.width[-1] and got[1].width[0] == b.width[0]


def test_tips_end_clear_of_the_edge_and_short_loose_strokes_there_go() -> None:
    edge = shapely.LineString([(-20, 10), (20, 10)])
    up = Line(np.column_stack([np.zeros(40), np.linspace(-10, 9.6, 40)]), np.full(40, 0.8), "tucked", "tip", 0)
    crumb = Line(np.column_stack([np.full(20, 4.0), np.linspace(5.2, 9.6, 20)]), np.full(20, 0.8), "tip", "tip", 0)
    got = clear_tips([up, crumb], edge)
    assert len(got) == 1 and 1.3 <= 10 - got[0].path[-1, 1] < 3.0


def test_loose_strokes_stop_short_of_what_they_would_close_up_with() -> None:
    held = line(40.0, 0.8, "tucked", "tip")
    slant = line(40.0, 0.8)
    slant = replace(slant, path=np.column_stack([slant.path[:, 0], slant.path[:, 0] * 0.5 - 10.0]))
    got = spaced([slant, held], 2.6)
    cut, same = got[:-1], got[-1]
    assert same is held and len(cut) == 2
    for p in cut:
        assert p.start == p.end == "tip"
        assert shapely.distance(shapely.linestrings(held.path), shapely.linestrings(p.path)) > 2.0


def test_nothing_is_inked_where_hardly_any_of_a_form_shows() -> None:
    """A form of which a wedge shows beside what covers it: strokes stay where the wedge is wide."""
    cover, left = shapely.box(-10, -10, 60, 0), shapely.Polygon([(0, 0), (40, 0), (40, 12)])
    shapely.prepare(cover)
    x = np.linspace(1.0, 39.0, 80)
    one = Line(np.column_stack([x, 0.15 * x]), np.full(80, 0.8), "tucked", "tucked", 0)
    below = Line(np.column_stack([x, np.full(80, -4.0)]), np.full(80, 0.8), "tucked", "tucked", 0)
    got = out_of_slivers([one, below], left, cover, 3.0)
    assert len(got) == 2 and got[1] is below, "what lies under the cover is none of its business"
    assert got[0].start == "tip" and got[0].end == "tucked" and got[0].width[0] < 0.2
    wide = 0.3 * got[0].path[0, 0]
    assert 1.0 < wide < 3.5
