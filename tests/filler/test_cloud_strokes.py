"""Outlines of many banks at once are those that are drawn one by one."""

from __future__ import annotations

import math

import numpy as np
import shapely

from composer.filler.cloud_crest import Shape, crest
from composer.filler.cloud_ink import Bank, ribbon_rings
from composer.filler.cloud_lay import Spine, bent
from composer.filler.cloud_lines import Pen, contour, runs
from composer.filler.cloud_sketch import sketched
from composer.filler.cloud_stage import Stage
from composer.filler.cloud_strokes import Strokes, contours, covered
from composer.plan.model import Hand

PEN = Pen(0.66, 0.45, 0.3, 2.6, 0.29)


def banks(seed: int = 3) -> list:
    rng = np.random.default_rng(seed)
    return [crest(Shape(float(rng.uniform(2, 5)) * thick, thick, 0.3 * thick), 2.0, rng)
            for thick in rng.uniform(9, 30, 7)]


def test_contours_are_those_of_each_bank() -> None:
    many = banks()
    got = contours(many, PEN)
    paths, widths = (np.split(v, np.cumsum(got.count)[:-1]) for v in (got.path, got.width))
    curled = 0
    for b, bank in enumerate(many):
        lines = contour(bank, PEN)
        mine = np.flatnonzero(got.owner == b)
        assert len(mine) == len(lines)
        for k, line in zip(mine, lines, strict=True):
            assert np.abs(paths[k] - line.path).max() < 1e-9 and np.abs(widths[k] - line.width).max() < 1e-9
            curled += math.dist(line.path[0], line.path[-1]) < 0.3 * np.hypot(*np.diff(line.path, axis=0).T).sum()
    assert curled > 3


def test_what_is_hidden_is_cut_as_each_stroke_is() -> None:
    got = contours(banks(), PEN)
    hidden = np.sin(0.9 * got.path[:, 0] + got.bank) > 0.2
    lines = [run for path, width, gone in zip(*(np.split(v, np.cumsum(got.count)[:-1])
                                                for v in (got.path, got.width, hidden)), strict=True)
             for run in runs(path, width, gone, 0, "tip", "tip")]
    left = got.without(hidden)
    assert len(lines) == len(left.count) > 20 and len(left.owner) == len(lines)
    assert np.array_equal(left.path, np.concatenate([line.path for line in lines]))
    assert shapely.equals_exact(left.ribbons(0.3), ribbon_rings(lines, 0.3), 1e-9).all()
    nothing = got.without(np.ones(len(got.path), bool))
    assert len(nothing.count) == len(nothing.ribbons(0.3)) == 0


def test_banks_are_bent_each_along_its_own_spine() -> None:
    x = np.arange(30) * 3.0 - 12.0
    spines = [Spine(np.column_stack([x, 0.01 * k * x * x]), np.tile([0.0, 1.0], (30 - k, 1)), 9.0) for k in range(2)]
    spines[1] = Spine(spines[1].points[1:], spines[1].normals, 6.0)
    of = np.array([0, 1, 1, 0])
    xh = np.array([[1.0, 2.0], [5.0, 3.0], [40.0, 1.0], [200.0, 2.0]])
    got = bent(spines, of, xh)
    assert np.allclose(got, [spines[k].bend(p[None])[0] for k, p in zip(of, xh, strict=True)], atol=1e-12)


def test_only_banks_before_ones_own_cover() -> None:
    bodies = np.array([shapely.box(0, 0, 9, 9), shapely.box(5, 5, 14, 14), shapely.box(8, 0, 14, 6)], object)
    path = np.array([[6.0, 6.0], [6.0, 6.0], [8.5, 5.5], [8.5, 5.5], [8.5, 5.5], [2.0, 2.0]])
    bank = np.array([0, 1, 0, 1, 2, 0])
    assert covered(path, bank, bodies).tolist() == [True, False, True, True, False, False]


def test_no_stroke_is_lost_where_nothing_is_hidden() -> None:
    path = np.array([[0.0, 0.0], [4.0, 0.0], [9.0, 0.0], [0.0, 1.0], [1.0, 1.0], [0.0, 2.0], [5.0, 2.0]])
    strokes = Strokes(path, np.ones(7), np.array([3, 2, 2]), np.array([0, 1, 2]))
    left = strokes.without(np.zeros(7, bool))
    assert left.count.tolist() == [3, 2] and left.owner.tolist() == [0, 2]      # 1 mm is too short for a stroke
    ends = strokes.without(np.array([False, True, True, False, False, False, True]))
    assert ends.count.tolist() == [2, 2] and ends.owner.tolist() == [0, 2]


def test_one_bank_has_no_shade_and_one_out_of_sight_no_sketch() -> None:
    x = np.arange(60) * 3.0 - 12.0
    room = shapely.box(-5, -5, 90, 60)
    stage, one = Stage(room, room, room), crest(Shape(70.0, 20.0, 6.0), 2.0, np.random.default_rng(1))
    near, behind, far = (Bank(Spine(np.column_stack([x, np.full(60, y)]), np.tile([0.0, 1.0], (60, 1)), 12.0), one)
                         for y in (0.0, 9.0, 500.0))
    alone = sketched([near], stage, PEN, Hand())
    assert alone is not None and [la.role for la in alone.layers] == ["line"]
    both = sketched([behind, far, near], stage, PEN, Hand())
    assert both is not None and [la.role for la in both.layers] == ["mid", "line"]
    assert not shapely.intersects(both.layers[0].area, shapely.buffer(near.outline, -0.3))
    assert sketched([far], stage, PEN, Hand()) is None and sketched([], stage, PEN, Hand()) is None
