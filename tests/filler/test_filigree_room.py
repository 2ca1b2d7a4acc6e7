"""The raster of distances against shapely."""

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from benchmarks.gap_shapes import shapes
from composer.filler.filigree_room import Room, room_of


def test_wall_distance_agrees_with_shapely() -> None:
    for name, ground in shapes().items():
        room = Room(ground.free)
        rng = np.random.default_rng(1)
        x0, y0, x1, y1 = ground.free.bounds
        p = rng.uniform((x0, y0), (x1, y1), (800, 2))
        wall, _ = room.look(p[:, 0] + 1j * p[:, 1])
        inside = shapely.contains_xy(ground.free, p)
        true = shapely.distance(ground.free.boundary, shapely.points(p)) * np.where(inside, 1, -1)
        near = np.abs(true) < 4
        assert np.abs(wall - true)[near].mean() < 0.05, name
        assert np.abs(wall - true)[near].max() < 0.55, name


def test_stamped_ink_agrees_with_shapely() -> None:
    room = Room(Polygon([(0, 0), (50, 0), (50, 30), (0, 30)]), 0.7)
    t = np.linspace(0, 1, 60)
    z = 10 + 25 * t + 1j * (15 + 6 * np.sin(4 * t))
    room.stamp(z, np.full(60, 0.8))
    ink = LineString(np.column_stack([z.real, z.imag])).buffer(0.8, quad_segs=16)
    p = np.random.default_rng(2).uniform((5, 6), (42, 26), (500, 2))
    d = shapely.distance(ink, shapely.points(p))
    got = room.look_ink(p[:, 0] + 1j * p[:, 1])
    outside = (d > 0.5) & (d < 6.5)
    assert np.abs(got - d)[outside].max() < 0.12


def test_open_edges_keep_half_a_line_gap() -> None:
    ground = shapes()["channel"]
    room = room_of(ground)
    x0, _, x1, _ = ground.free.bounds
    wall, _ = room.look(np.array([x1 - 0.5 + 3j, x0 + 0.5]))
    assert np.all(wall < 0)
    assert Room(ground.free).look(np.array([x1 - 0.5 + 3j]))[0][0] > 0


def test_a_copy_without_ink_shares_the_wall() -> None:
    room = Room(Polygon([(0, 0), (20, 0), (20, 20), (0, 20)]))
    other = room.bare()
    other.stamp(np.array([10 + 10j]), np.array([1.0]))
    assert room.ink.min() > 50 and other.ink.min() < 1
    assert other.wall is room.wall


def test_a_first_sieve_reads_the_nearest_cell() -> None:
    room = Room(Polygon([(0, 0), (50, 0), (50, 30), (0, 30)]), 0.7)
    room.stamp(np.array([20 + 12j]), np.array([2.0]))
    p = np.random.default_rng(3).uniform((-30, -30), (90, 60), (400, 2))
    z = p[:, 0] + 1j * p[:, 1]
    near = np.abs(room.grid.ravel() - z[:, None]).argmin(axis=1)
    wall, ink = room.peek(z)
    assert np.array_equal(wall, room.wall.ravel()[near]) and np.array_equal(ink, room.ink.ravel()[near])
    assert np.array_equal(room.inside(z), wall > 0)
