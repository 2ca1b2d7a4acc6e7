"""Strokes that go behind another form of the same drawing: held by its ink, or run out to a tip."""

import numpy as np
import pytest
import shapely

from composer.filler.behind import run_out
from composer.filler.cloud import pen_of
from composer.filler.cloud_lines import Line
from composer.filler.ground import Wish
from composer.filler.masses import Mass
from composer.plan.model import Hand

PEN = pen_of(Hand(), Wish(), 2.0)
X = np.linspace(0, 40, 81)
STROKE = Line(np.column_stack([X, 0 * X]), np.full(81, PEN.outline_mm), "tucked", "tucked", 0)
BODY = shapely.box(0, -3, 40, 3)
FRONT = shapely.box(20, -10, 60, 10)


def behind(front: Mass, halo_mm: float) -> list[Line]:
    back = Mass(BODY, [STROKE])
    front.halo_mm = halo_mm
    return run_out([back, front], PEN)[0].lines


def test_a_stroke_cut_by_the_skin_that_a_form_keeps_clear_runs_out_to_a_tip_before_it() -> None:
    (line,) = behind(Mass(FRONT), 2.5)
    assert line.start == "tucked" and line.end == "tip"
    # the skin kept clear begins at 17.5; of the 4 mm in which the stroke thins out, the needle can't draw the last half
    assert 15.2 < line.path[-1, 0] <= 17.5 and line.width[-1] <= 1.2 * PEN.least_mm
    assert line.width[len(line.width) // 2] > 0.9 * PEN.outline_mm


def test_a_stroke_that_runs_up_to_ink_in_front_is_held_by_it() -> None:
    edge = Line(np.array([[20.0, -10.0], [20.0, 10.0]]), np.full(2, 0.8), "tucked", "tucked", 0)
    (line,) = behind(Mass(FRONT, [edge]), 0.0)
    assert line.end == "tucked" and line.path[-1, 0] >= 20.0 and line.width.min() == PEN.outline_mm
    (loose,) = behind(Mass(FRONT), 0.0)
    assert loose.end == "tip" and loose.width[-1] <= 1.2 * PEN.least_mm


def test_what_is_hidden_whole_is_gone_and_so_is_a_form_of_which_too_little_is_seen() -> None:
    assert behind(Mass(shapely.box(-5, -10, 60, 10)), 0.0) == []
    back, front = Mass(BODY, [STROKE], least_seen=0.6), Mass(FRONT)
    assert run_out([back, front], PEN) == [front]
    assert run_out([], PEN) == []


def test_an_outline_laid_in_stretches_runs_out_where_one_of_them_ends_just_before_the_cut() -> None:
    """The second stretch begins so near to the skin that is kept clear that nothing of it would be worth drawing."""
    at = int(np.flatnonzero(X >= 17.0)[0])
    parts = [Line(STROKE.path[:at + 1], STROKE.width[:at + 1], "tucked", "tucked", 0),
             Line(STROKE.path[at:], STROKE.width[at:], "tucked", "tucked", 0)]
    front = Mass(FRONT)
    front.halo_mm = 2.5
    (line,) = run_out([Mass(BODY, parts), front], PEN)[0].lines
    assert line.path[0, 0] == 0.0 and line.end == "tip" and line.width[-1] <= 1.2 * PEN.least_mm
    clear = Mass(shapely.box(50, -10, 60, 10))
    assert run_out([Mass(BODY, list(parts)), clear], PEN)[0].lines == parts     # not cut, so left in stretches


def test_a_ring_in_stretches_is_one_stroke_from_where_it_comes_out_to_where_it_goes_under() -> None:
    turn = np.linspace(0, 2 * np.pi, 81)
    ring = 10 * np.column_stack([np.cos(turn), np.sin(turn)])
    ring[-1] = ring[0]
    parts = [Line(ring[a : a + 21], np.full(21, 0.8), "tucked", "tucked", 0) for a in (0, 20, 40, 60)]
    (line,) = run_out([Mass(shapely.Polygon(ring), parts), Mass(shapely.box(-20, 7, 20, 20))], PEN)[0].lines
    assert (line.start, line.end) == ("tip", "tip") and line.path[:, 1].min() < -9.9
    assert (line.path[[0, -1], 1] > 4.0).all()


@pytest.mark.parametrize("wide", [1.6, 3.0])
def test_a_bar_that_goes_behind_a_form_narrows_to_a_needle_whatever_its_width(wide: float) -> None:
    bar = shapely.box(0, -wide / 2, 26, wide / 2)
    black = run_out([Mass(BODY, [], [bar]), Mass(FRONT)], PEN, slim_mm=4.5)[0].black[0]
    assert black.bounds[2] <= 20.0 and shapely.box(0, -wide / 2, 15, wide / 2).difference(black).area < 0.2
    assert shapely.intersection(black, shapely.LineString([(19.9, -5), (19.9, 5)])).length < 1.1 * PEN.least_mm
