"""Mist in dots on the gap shapes: the kit, tone, distances, sizes."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy.spatial import cKDTree

from benchmarks.gap_shapes import shapes
from composer.filler import stipple
from composer.filler.dots import dot_rings, poisson_dots
from composer.filler.ground import Ground, Wish
from composer.filler.kinds import kind
from composer.filler.testkit import drawn, faults
from composer.plan.model import Hand

GROUNDS = shapes()


@pytest.mark.parametrize("way", list(stipple.STYLES))
def test_every_way_passes_the_kit_on_the_gap_shapes(way: str) -> None:
    assert faults("stipple", {k: GROUNDS[k] for k in ("wide_pocket", "crescent", "cuff_strip")}, ways=(way,)) == []


def test_graded_dots_keep_the_mean_of_their_spacings() -> None:
    def spacing(xy: np.ndarray) -> np.ndarray:
        return np.where(xy[:, 0] < 90, 1.0 + 0.03 * xy[:, 0], np.inf)

    dots = poisson_dots((0, 0, 100, 40), spacing, np.random.default_rng(2))
    r = spacing(dots)
    assert np.isfinite(r).all()
    pairs = cKDTree(dots).query_pairs(4.0, output_type="ndarray")  # every pair, not only the nearest
    far = np.hypot(*(dots[pairs[:, 0]] - dots[pairs[:, 1]]).T)
    assert (far - (r[pairs[:, 0]] + r[pairs[:, 1]]) / 2).min() >= -1e-9
    # as good as maximal: next to no place is left where one more dot would fit
    probe = np.random.default_rng(3).uniform((0, 0), (88, 40), (4000, 2))
    d, i = cKDTree(dots).query(probe, k=6)
    fits = (d >= (spacing(probe)[:, None] + r[i]) / 2).all(axis=1)
    assert fits.mean() < 0.01


def test_tone_falls_off_from_dark_to_nothing() -> None:
    ground = replace(GROUNDS["big_field"], flow=lambda xy: np.zeros(len(xy)))
    made = drawn(kind("stipple"), "fall", ground, 1)
    at = np.concatenate([[r.mean(axis=0) for r in la.rings] for la in made.layers])
    y0, y1 = ground.free.bounds[1], ground.free.bounds[3]
    thirds = np.histogram(at[:, 1], bins=[y0, y0 + (y1 - y0) / 3, y1 - (y1 - y0) / 3, y1])[0]
    assert max(thirds[0], thirds[2]) > 2.5 * min(thirds[0], thirds[2])


@pytest.mark.parametrize("way", list(stipple.STYLES))
def test_mist_fades_towards_an_edge_where_no_piece_stands(way: str) -> None:
    """Skin parted from the next gap's along a line, pieces far off on its other side."""
    free = shapely.box(0, 0, 140, 90)
    ground = Ground(free, shapely.box(-10, -10, 150, 100), shapely.box(-90, -60, -40, 150), 2.0, 2.0,
                    lambda xy: np.zeros(len(xy)))
    made = [stipple.draw(ground, Hand(), Wish(), np.random.default_rng(seed), way) for seed in range(3)]
    at = np.concatenate([[r.mean(axis=0) for r in la.rings] for m in made if m for la in m.layers])
    inside = ground.free.buffer(8.0, join_style="mitre").exterior
    far = shapely.distance(inside, shapely.points(at))
    rim, heart = (far < 6).sum() / (156 * 106 - 144 * 94), ((far > 30) & (far < 36)).sum() / (96 * 46 - 84 * 34)
    assert rim < 0.3 * heart


def test_bold_dots_keep_the_line_gap_and_all_lie_clear_of_pieces() -> None:
    ground = GROUNDS["wide_pocket"]
    made = drawn(kind("stipple"), "halo", ground, 1)
    bold = shapely.polygons([np.vstack([r, r[:1]]) for r in made.layers[1].rings])
    tree = shapely.STRtree(bold)
    a, b = tree.query(bold, predicate="dwithin", distance=ground.line_gap_mm - 0.01)
    assert np.all(a == b)
    assert made.ink().distance(ground.front) >= ground.skin_break_mm
    area = min(shapely.Polygon(r).area for r in made.layers[0].rings)
    assert 2 * np.sqrt(area / np.pi) >= Hand().fine_mm


def test_darker_hands_and_fuller_wishes_set_more_dots() -> None:
    ground = GROUNDS["wide_pocket"]
    n = [stipple.draw(ground, Hand(dark=d), Wish(density=w), np.random.default_rng(1)).notes["dots"]
         for d, w in ((0.1, 0.6), (0.5, 0.6), (0.9, 0.6), (0.5, 0.2), (0.5, 0.9))]
    assert n[0] < n[1] < n[2] and n[3] < n[1] < n[4]


def test_a_dot_has_the_area_of_its_disc() -> None:
    ring = dot_rings(np.array([[3.0, 4.0]]), np.array([0.5]))[0]
    assert shapely.Polygon(ring).area == pytest.approx(np.pi * 0.25, rel=0.01)
