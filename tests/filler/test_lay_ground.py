"""What is asked of a ground in few steps, against the plain way that takes many."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy.ndimage import gaussian_filter1d
from scipy.sparse.csgraph import dijkstra

from composer.filler.closing import all_in_one, in_one
from composer.filler.filigree_curves import smoothed
from composer.filler.filigree_room import Room
from composer.filler.filigree_stem import lattice
from composer.filler.ground import Ground, Port
from composer.filler.lay_ground import PORT_MM, ports_of
from composer.filler.lightning_bolt import between
from composer.filler.tone_grid import STEP_MM, darkest_beside


def blob(rng: np.random.Generator, x: float, y: float, r: float) -> shapely.Polygon:
    a = np.linspace(0, 2 * np.pi, 40)[:-1]
    far = r * (1 + 0.25 * np.sin(3 * a + rng.uniform(0, 6)))
    return shapely.Polygon(np.column_stack([x + far * np.cos(a), y + far * np.sin(a)]))


def test_a_tie_meets_a_neighbour_where_its_outline_beside_the_open_skin_looks_into_it() -> None:
    """The plain way: of a neighbour's outline within PORT_MM of the open skin the place nearest to its heart. A hook
    that comes near the heart from behind, away from the open skin, is not it."""
    rng = np.random.default_rng(5)
    free = blob(rng, 0.0, 0.0, 20.0)
    heart = shapely.Point(shapely.maximum_inscribed_circle(free, tolerance=2.0).coords[0])
    about = shapely.buffer(free, PORT_MM, quad_segs=4)
    shapes = [blob(rng, 34 * np.cos(a), 34 * np.sin(a), 9.0) for a in np.arange(0, 6.2, 0.6)]
    shapes += [shapely.difference(shapely.box(-60, 20, 60, 60), shapely.buffer(free, 12.0)), shapely.box(70, 0, 80, 9)]
    hook = shapely.union_all([shapely.box(-9, -70, -6, -30), shapely.box(-9, -33, 40, -30),
                              shapely.box(36, -33, 40, 9)])
    shapes += [shapely.difference(hook, shapely.buffer(free, 3.0))]
    named = [(str(k), s) for k, s in enumerate(shapes)]
    got = {p.owner: p for p in ports_of(named, free)}
    met = 0
    for name, shape in named:
        rim = shapely.intersection(shape.boundary, about)
        if shapely.distance(shape, free) > PORT_MM or rim.is_empty:
            assert name not in got
            continue
        at = shapely.get_point(shapely.shortest_line(rim, heart), 0)
        assert (got[name].x, got[name].y) == pytest.approx((at.x, at.y), abs=0.0011)
        met += 1
    assert met > 6 and len(got) == met < len(shapes)
    assert ports_of([], free) == ports_of(named, shapely.Polygon()) == ()


def test_the_darkest_place_beside_open_skin_is_the_darkest_of_all_that_lie_there() -> None:
    rng = np.random.default_rng(2)
    free = shapely.MultiPolygon([blob(rng, 0.0, 0.0, 14.0), blob(rng, 60.0, 5.0, 6.0)])
    x, y = (v.ravel() for v in np.meshgrid(np.arange(-40, 90, STEP_MM), np.arange(-40, 40, STEP_MM)))
    near = shapely.dwithin(free, shapely.points(x, y), STEP_MM)
    for tone in (rng.random(len(x)), np.hypot(x, y) / 200, np.full(len(x), 0.5), np.where(near, 0.0, 0.9),
                 np.where(near, -0.1, 0.9), np.zeros(len(x))):
        assert darkest_beside(free, x, y, tone) == max(float(tone[near].max()), 0.0)


def test_rows_are_smoothed_as_scipy_does() -> None:
    rng = np.random.default_rng(1)
    for n, sigma in ((9, 1.5), (60, 4.125), (200, 6)):
        z = rng.normal(size=n) + 1j * rng.normal(size=n)
        for mode in ("nearest", "reflect"):
            plain = gaussian_filter1d(z.real, sigma, mode=mode) + 1j * gaussian_filter1d(z.imag, sigma, mode=mode)
            assert np.array_equal(smoothed(z, sigma, mode), plain)
            assert np.array_equal(smoothed(z.real, sigma, mode), plain.real)


def test_one_place_is_read_as_numpy_reads_many() -> None:
    rng = np.random.default_rng(4)
    x, y = np.cumsum(rng.uniform(0.1, 2.0, 30)), rng.normal(size=30)
    read = between(x, y)
    for where in [*x.tolist(), *rng.uniform(x[0] - 3, x[-1] + 3, 200).tolist()]:
        assert read(where) == np.interp(where, x, y)


def test_grounds_are_told_apart_by_every_field() -> None:
    flow, box = np.zeros_like, shapely.box(0, 0, 9, 9)
    one = Ground(box, shapely.box(-1, -1, 9, 9), shapely.Polygon(), 2.0, 1.5, flow)
    again = replace(one, free=shapely.box(0, 0, 9, 9), region=shapely.box(-1, -1, 9, 9))
    assert one == again and hash(one) == hash(again) and one != "ground"
    others = [replace(one, **{name: value}) for name, value in (
        ("free", shapely.box(0, 0, 9, 8)), ("region", box), ("front", box), ("edge", box), ("skin_break_mm", 2.5),
        ("line_gap_mm", 1.0), ("flow", np.ones_like), ("ports", (Port(1.0, 2.0, 3.0, "a"),)), ("symmetry_deg", 90.0),
        ("spine", ((1.0, 2.0),)), ("ends", (Port(1.0, 2.0, 3.0, "a"),)))]
    assert all(one != other for other in others) and len({one, again, *others}) == 12


def test_a_way_that_was_searched_before_is_the_same_again() -> None:
    room = Room(shapely.difference(shapely.box(0, 0, 60, 40), shapely.box(20, 0, 26, 30)), 0.8)
    kept = lattice(room, None)
    ends = [3 + 3j, 55 + 4j, 8 + 35j]
    ways = {(a, b): kept.ways_to(b)(a) for b in ends for a in ends if a != b}
    for (a, b), way in ways.items():
        fresh = lattice(room, None)
        assert np.array_equal(way, fresh.ways_to(b)(a)) and abs(way[0] - a) < 1e-9 and abs(way[-1] - b) < 1e-9
    far, _ = dijkstra(kept._cost, indices=int(np.argmin(np.abs(kept.z - ends[0]))), return_predecessors=True)
    assert np.isfinite(far).all() and ways[ends[0], ends[1]].imag.max() > 30     # over the wall, not through it


def test_areas_are_put_together_by_number_as_one_by_one() -> None:
    line = shapely.LineString([(0, 0), (4, 0)])
    areas = np.array([shapely.box(0, 0, 1, 1), shapely.GeometryCollection([line, shapely.box(2, 0, 3, 1)]),
                      shapely.MultiPolygon([shapely.box(5, 0, 6, 1), shapely.box(7, 0, 8, 1)]), line,
                      shapely.Polygon()], object)
    of = np.array([2, 0, 2, 1, 0])
    got = all_in_one(areas, of, 4)
    for k in range(4):
        assert sorted(p.wkt for p in got[k].geoms) == sorted(p.wkt for p in in_one(areas[of == k]).geoms)
    assert got[1].is_empty and got[3].is_empty and len(got[2].geoms) == 3
