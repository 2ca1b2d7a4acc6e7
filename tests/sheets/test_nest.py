"""Nesting: nothing touches, and against a published instance whose best height is known."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from composer.sheets.nest import nest

C1P1 = ((2, 12), (7, 12), (8, 6), (3, 6), (3, 5), (5, 5), (3, 12), (3, 7), (5, 7), (2, 6), (3, 2), (4, 2), (3, 4),
        (4, 4), (9, 2), (11, 2))
"""Hopper and Turton 2001 (EJOR 128, 34-57), category C1, problem 1: sixteen rectangles that fill a strip of width
20 to height 20 exactly. Sizes from memory; that their areas add up to 400 is checked."""


def test_published_instance_within_a_tenth_of_its_best_height() -> None:
    assert sum(w * h for w, h in C1P1) == 400
    forms = [shapely.box(0, 0, w, h) for w, h in C1P1]
    placed, wide = nest(forms, 20.02, 60.0, 0.0, (0, 90), 0.1)
    assert not wide and len(placed) == 16
    put = [p.put(forms[p.index]) for p in placed]
    assert all(a.intersection(b).area < 1e-9 for a, b in combinations(put, 2))
    assert all(g.bounds[0] >= -1e-9 and g.bounds[2] <= 20.02 for g in put)
    height = -min(g.bounds[1] for g in put)
    assert 20.0 <= height <= 22.0


@settings(max_examples=15, deadline=None)
@example([(10.0, 10.0, 1.0), (10.0, 10.0, 5.0), (10.0, 19.0, 0.0), (36.0, 60.0, 0.0), (63.0, 72.0, 1.0)])
@given(st.lists(st.tuples(st.floats(10, 90), st.floats(10, 90), st.floats(0, 360)), min_size=1, max_size=9))
def test_papers_lie_apart_and_on_the_page(sizes: list[tuple[float, float, float]]) -> None:
    forms = [shapely.affinity.rotate(shapely.Point(30, -12).buffer(0.5).union(
        shapely.Polygon([(0, 0), (w, 0), (0, h)])).convex_hull, t, origin=(0, 0)) for w, h, t in sizes]
    placed, wide = nest(forms, 185.0, 262.0, 4.0)
    assert sorted([p.index for p in placed] + wide) == list(range(len(forms)))
    for page in {p.page for p in placed}:
        put = [p.put(forms[p.index]) for p in placed if p.page == page]
        assert all(a.distance(b) >= 4.0 - 1e-6 for a, b in combinations(put, 2))
        for g in put:
            x0, y0, x1, y1 = g.bounds
            assert x0 >= 0 and x1 <= 185 and y1 <= 0 and y0 >= -262


def test_hollows_are_used() -> None:
    """An L and the block that fits into its corner share a page that their boxes would not."""
    corner = shapely.Polygon([(0, 0), (100, 0), (100, 30), (30, 30), (30, 100), (0, 100)])
    placed, wide = nest([corner, shapely.box(0, 0, 60, 60)], 110.0, 112.0, 4.0)
    assert not wide and {p.page for p in placed} == {0}


def test_what_no_page_holds_is_named_and_an_empty_page_refused() -> None:
    placed, wide = nest([shapely.box(0, 0, 500, 500), shapely.box(0, 0, 20, 20)], 180.0, 250.0)
    assert wide == [0] and [p.index for p in placed] == [1]
    with pytest.raises(ValueError, match="leaves no room"):
        nest([shapely.box(0, 0, 5, 5)], 1.0, 1.0)


def test_same_papers_same_places() -> None:
    forms = [shapely.box(0, 0, 10 + 7 * i, 25) for i in range(6)]
    assert nest(forms, 180, 250) == nest(forms, 180, 250)
    assert np.isfinite([p.x for p in nest(forms, 180, 250)[0]]).all()
