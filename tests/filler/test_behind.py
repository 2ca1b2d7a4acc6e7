"""Strokes that go behind another form of the same drawing: held by its ink, or run out to a tip."""

import numpy as np
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
