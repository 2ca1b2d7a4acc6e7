"""Measures of ornament against hand-made cases, and that they tell house kinds from plain fills."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from benchmarks.gap_shapes import shapes
from benchmarks.plain_fills import PLAIN, hatch, scatter
from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.filler.ground import Ground, Wish
from composer.filler.kinds import KINDS
from composer.filler.quality import STANDS, Quality, quality, shares, standing, symmetry_off
from composer.plan.model import Hand

FREE, PIECE = box(-30, -20, 30, 20), box(-30, 22.05, 30, 50)


def level(xy: np.ndarray) -> np.ndarray:
    return np.zeros(len(xy))


GROUND = Ground(FREE, box(-40, -30, 40, 50), PIECE, 2.0, 2.0, level)


def inked(shape: shapely.Geometry, notes: dict | None = None) -> Drawing:
    rings = tuple(geometry_to_rings(shape))
    return Drawing(rings, (Layer("line", rings),), (), notes or {})


def bar(a: tuple[float, float], b: tuple[float, float], width: float = 1.0) -> Polygon:
    return LineString([a, b]).buffer(width / 2)


def of(shape: shapely.Geometry) -> Quality:
    got = quality(inked(shape), GROUND, Hand())
    assert got is not None
    return got


def test_an_end_that_goes_on_behind_a_piece_is_tucked_and_one_cut_at_the_edge_a_stub() -> None:
    behind = of(bar((0, 0), (0, 28)))
    assert behind.ends["tucked"] == 1 and behind.ends["bare"] == 1 and behind.stubs == 0
    stub = of(shapely.intersection(bar((0, 0), (0, 28)), FREE))
    assert stub.ends["tucked"] == 0 and stub.stubs == 1
    assert stub.well_ended == 0.0 and behind.well_ended == 0.5


@pytest.mark.parametrize(("path", "cut"), [
    ([(0, 18.8), (24, 19.3)], 0), ([(0, 0), (14, 19.5)], 1), ([(0, 0), (14, 20)], 1)])
def test_a_bare_end_that_only_passes_by_the_edge_is_not_cut_off_there(path: list[tuple[int, float]],
                                                                       cut: int) -> None:
    """The edge lies at y 20: a stroke beside it, one that ends just before it and one that ends at it."""
    got = of(shapely.intersection(LineString(path).buffer(0.4, cap_style="flat"), FREE))
    assert got.ends["bare"] == 2 and got.stubs == cut


@pytest.mark.parametrize("width", [1.0, 2.4, 3.4])
def test_a_wide_stroke_is_tucked_or_a_stub_as_a_fine_one_is(width: float) -> None:
    long = LineString([(0, 0), (0, 28)]).buffer(width / 2, cap_style="flat")
    behind, stub = of(long), of(shapely.intersection(long, FREE))
    assert (behind.ends["tucked"], behind.stubs) == (1, 0)
    assert stub.ends["tucked"] == 0 and stub.stubs >= 1 and stub.well_ended == 0.0
    short = of(LineString([(0, 0), (0, 18.6)]).buffer(width / 2, cap_style="flat"))     # 1.4 mm before the edge
    assert short.ends["tucked"] == 0 and short.stubs == 0 and short.ends["bare"] >= 2


def test_slots_gap_and_finest_ink() -> None:
    pair = of(shapely.union_all([bar((-20, 0), (20, 0)), bar((-20, 2.4), (20, 2.4))]))
    assert pair.slots > 0 and 1.2 <= pair.gap_mm <= 1.4
    clear = of(shapely.union_all([bar((-20, 0), (20, 0)), bar((-20, 3.6), (20, 3.6))]))
    assert clear.slots == 0 and 2.4 <= clear.gap_mm <= 2.6
    assert abs(of(bar((-20, 0), (20, 0), 0.6)).feature_mm - 0.6) <= 0.11
    assert abs(of(bar((-20, 0), (20, 0), 1.4)).feature_mm - 1.4) <= 0.11


def test_flow_and_sizes() -> None:
    assert of(bar((-20, 0), (20, 0))).flow_deg < 3
    assert abs(of(bar((-15, -15), (15, 15))).flow_deg - 45) < 3
    assert of(bar((0, -15), (0, 15))).flow_deg > 87
    one = of(shapely.union_all([bar((-20, y), (20, y)) for y in (-8, 0, 8)]))
    two = of(shapely.union_all([bar((-20, -8), (20, -8), 0.5), bar((-20, 0), (20, 0), 2.0), bar((-20, 8), (20, 8))]))
    assert one.widths < 1.3 and two.widths > 3.0


def test_reach_of_a_line_is_that_of_its_buffer() -> None:
    line = bar((-20, 0), (20, 0))
    exact = shapely.intersection(line.buffer(5.0, quad_segs=32), FREE).area / FREE.area
    assert abs(of(line).reach - exact) < 0.02


def test_symmetry() -> None:
    even = shapely.union_all([bar((-20, -5), (-3, 5)), bar((20, -5), (3, 5))])
    asked = replace(GROUND, symmetry_deg=90.0)
    assert symmetry_off(inked(even), asked) < 1e-6
    assert abs(symmetry_off(inked(bar((3, -5), (20, 5))), asked) - 1.0) < 1e-6
    noted = inked(shapely.affinity.translate(even, 4, 1), {"mirror": {"at": [4.0, 1.0], "deg": 90.0}})
    assert symmetry_off(noted, GROUND) < 1e-6
    assert np.isnan(symmetry_off(inked(even), GROUND))


def test_nothing_seen_gives_nothing() -> None:
    assert quality(inked(Point(0, 40).buffer(3)), GROUND, Hand()) is None


def test_standing_is_nought_to_one_and_falls_with_every_trait() -> None:
    good = Quality(1.0, 0.45, 8.0, 1.0, 0.0, 10, 0.7, 0.0, {"tip": 9, "ball": 5, "tucked": 3, "bare": 0}, 0, 4.0, 0.12,
                   20.0, 0.4, 2.0, float("nan"), 0)
    assert set(shares(good)) == set(STANDS) and 0.9 < standing(good) <= 1.0
    for worse in ({"void_cv": 0.12}, {"loose": 60.0}, {"slots": 30.0}, {"stubs": 12}, {"widths": 1.05},
                  {"tones": 0.005},
                  {"ends": {"tip": 1, "ball": 0, "tucked": 0, "bare": 30}}):
        assert standing(replace(good, **worse)) < 0.75 * standing(good)


@pytest.mark.parametrize("name", ["wide_pocket", "channel"])
def test_scrollwork_clouds_and_mist_stand_above_plain_fills(name: str) -> None:
    ground = shapes()[name]
    plain = [standing(quality(f(ground, Hand(), np.random.default_rng(2)), ground, Hand())) for f in PLAIN.values()]
    for kind in ("filigree", "cloud", "stipple"):
        made = KINDS[kind].ways[0].draw(ground, Hand(), Wish(), np.random.default_rng(2))
        assert standing(quality(made, ground, Hand())) > max(plain), kind


def test_what_gives_plain_fills_away() -> None:
    ground = shapes()["big_field"]
    lines, dots = (quality(f(ground, Hand(), np.random.default_rng(1)), ground, Hand()) for f in (hatch, scatter))
    assert lines.stubs > 10 and lines.widths < 1.4 and lines.void_cv < 0.2
    assert dots.loose > 40 and dots.widths < 1.4
