"""Even-odd areas from rings, held against the rule's own definition: a place is inside when a ray from it crosses the
rings an odd number of times (the 'evenodd' fill rule of SVG 1.1, section 11.3)."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.art.nesting import rings_to_geometry


def inside(rings: list[np.ndarray], at: np.ndarray) -> np.ndarray:
    """Which places (n, 2) are inside, ray by ray."""
    odd = np.zeros(len(at), bool)
    for r in rings:
        for (x0, y0), (x1, y1) in zip(r, np.roll(r, -1, axis=0), strict=True):
            if y0 != y1:
                level = (y0 <= at[:, 1]) != (y1 <= at[:, 1])
                odd ^= level & (x0 + (at[:, 1] - y0) * (x1 - x0) / (y1 - y0) > at[:, 0])
    return odd


def agrees(rings: list[np.ndarray], seed: int = 0) -> None:
    area = rings_to_geometry(rings)
    assert area.is_valid
    whole = np.concatenate(rings)
    at = np.random.default_rng(seed).uniform(whole.min(axis=0) - 1, whole.max(axis=0) + 1, (1500, 2))
    assert (shapely.intersects_xy(area, *at.T) == inside(rings, at)).all()


@given(seed=st.integers(0, 10**6), count=st.integers(1, 12), room=st.sampled_from([5, 9, 30]))
@settings(max_examples=150, deadline=None)
def test_rings_on_a_grid_that_touch_cross_and_repeat(seed: int, count: int, room: int) -> None:
    """On so few places rings share vertices and edges, lie on one another and cross themselves."""
    rng = np.random.default_rng(seed)
    rings = [rng.integers(0, room, (int(rng.integers(3, 8)), 2)).astype(float) for _ in range(count)]
    agrees(rings + rings[: count // 4], seed)


@given(seed=st.integers(0, 10**6))
@settings(max_examples=60, deadline=None)
def test_nested_boxes_with_knots_among_the_holes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rings = []
    for x in range(0, 40, 10):
        for inset in range(int(rng.integers(1, 5))):
            low, high = np.array([x, 0]) + inset, np.array([x + 9, 9]) - inset
            rings.append(np.array([low, [high[0], low[1]], high, [low[0], high[1]]], float))
    for _ in range(int(rng.integers(0, 4))):     # knots: bows, pairs that meet at two places
        at = rng.integers(1, 30, 2) + 0.5
        rings.append(at + np.array([[0, 0], [2, 2], [2, 0], [0, 2]]) * rng.uniform(0.3, 1.0))
        rings.append(at + np.array([[0, 0], [1, 1], [2, 0], [1, 0.4]]) * rng.uniform(0.3, 1.0))
    agrees([rings[i] for i in rng.permutation(len(rings))], seed)


def test_holes_that_meet_twice_leave_what_they_enclose() -> None:
    outer = np.array([[0, 0], [10, 0], [10, 10], [0, 10]], float)
    left = np.array([[2, 2], [5, 2], [5, 3], [3, 3], [3, 6], [5, 6], [5, 7], [2, 7]], float)
    right = np.array([[5, 2.5], [8, 2], [8, 7], [5, 6.5], [7, 6], [7, 3]], float)
    area = rings_to_geometry([outer, left, right])
    assert area.is_valid and len(shapely.get_parts(area)) == 2
    agrees([outer, left, right])


@pytest.mark.parametrize("rings", [[], [np.zeros((2, 2))], [np.zeros((4, 2)), np.zeros((3, 2))],
                                   [np.array([[0, 0], [1, 0], [2, 0.0]])] * 3])
def test_rings_without_area_give_none(rings: list[np.ndarray]) -> None:
    assert rings_to_geometry(rings).area == 0


def test_rings_without_an_area_are_no_ink() -> None:
    there_and_back = np.array([[0.0, 0.0], [5.0, 0.0], [9.0, 0.0], [5.0, 0.0]])
    assert rings_to_geometry([there_and_back]).is_empty
    assert rings_to_geometry([there_and_back, there_and_back + np.array([0.0, 1.0])]).is_empty
    square = np.array([[20.0, 0.0], [24.0, 0.0], [24.0, 4.0], [20.0, 4.0]])
    assert rings_to_geometry([there_and_back, square]).area == 16.0
