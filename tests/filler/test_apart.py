"""Strokes of what stands behind keep apart from what stands before it."""

import numpy as np
import shapely
from shapely.geometry import box

from composer.filler.apart import kept_apart, lost_along, thin_where_bare, without_crumbs
from composer.filler.cloud_lines import Line, Pen

PEN = Pen(0.84, 0.6, 0.5, 2.75, 0.38)
FRONT = box(-20, -20, 20, 0)
FAR = shapely.LineString([(-90, 90), (90, 90)])


def line(a: tuple[float, float], b: tuple[float, float], start: str = "tip", end: str = "tip") -> Line:
    path = np.linspace(a, b, 60)
    return Line(path, np.full(60, 0.8), start, end, 0)


def test_a_stroke_beside_the_edge_of_what_is_before_it_is_lost_and_one_that_comes_out_from_behind_it_is_not() -> None:
    shapely.prepare(FRONT)
    assert lost_along([line((-15, 1.5), (15, 1.5))], FRONT, 2.9) == []
    out = line((0, -5), (0, 20))
    assert lost_along([out], FRONT, 2.9) == [out]
    (part,) = lost_along([line((-15, 1.0), (15, 8.0))], FRONT, 2.9)
    assert shapely.distance(FRONT, shapely.LineString(part.path)) > 2.5
    assert part.start == "tip" and part.width[0] < 0.2 and part.width[-1] == 0.8


def test_a_stroke_goes_under_a_line_but_thins_out_where_there_is_none() -> None:
    shapely.prepare(FRONT)
    edge = shapely.LineString([(-20, 0), (20, 0)])
    under = line((0, 15), (0, -8), "tip", "tucked")
    assert thin_where_bare([under], FRONT, [edge]) == [under]
    shown = thin_where_bare([under], FRONT, [FAR])[0]
    assert shown.end == "tip" and shown.path[-1, 1] > 0.0 and shown.width[-1] < 0.2


def test_what_is_left_comes_to_tips_clear_of_the_edge_of_the_skin_and_crumbs_go() -> None:
    rim = shapely.LineString([(10, -40), (10, 40)])
    (kept,) = kept_apart([line((-12, 8), (9.8, 8)), line((-2, 20), (1, 20))], FRONT, [], rim, PEN)
    assert kept.path[-1, 0] < 10 - 1.2 and kept.width[-1] < 0.5
    shapely.prepare(FRONT)
    assert without_crumbs([line((0, -30), (0, 3))], box(-5, -40, 5, 0), 4.0) == []
