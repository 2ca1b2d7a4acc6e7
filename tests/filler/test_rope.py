"""Rope and chain on the gap shapes: the kit, the way they take, strands, links, knots, over and under."""

import numpy as np
import pytest
import shapely
from scipy.ndimage import distance_transform_edt
from skimage.morphology import medial_axis

from benchmarks.gap_shapes import shapes
from composer.filler.chain_links import Links
from composer.filler.cloud import pen_of
from composer.filler.filigree_room import room_of
from composer.filler.ground import Ground, Wish
from composer.filler.rope import STYLES, draw
from composer.filler.rope_cross import passages
from composer.filler.rope_knot import LOOP, OVERHAND, knotted, levels_of
from composer.filler.rope_path import STEP_MM, hidden, runs_through
from composer.filler.rope_strands import STRANDS, Rope
from composer.filler.testkit import faults, kind
from composer.plan.model import Hand

GROUNDS = shapes()
PEN = pen_of(Hand(), Wish(), 2.0)
LINE = np.column_stack([np.arange(0.0, 90.0, STEP_MM), np.zeros(225)])


@pytest.mark.parametrize("way", list(STYLES))
def test_every_way_passes_the_kit_on_all_gap_shapes(way: str) -> None:
    assert faults("rope", GROUNDS, ways=(way,)) == []


def roomy() -> Ground:
    free = shapely.box(-80, -45, 80, 45)
    return Ground(free, free.buffer(20), shapely.Polygon(), 2.0, 2.0, lambda xy: np.zeros(len(xy)))


@pytest.mark.parametrize("name", ["crescent", "channel", "thin_crooked"])
def test_without_sway_a_rope_keeps_near_the_medial_axis(name: str) -> None:
    ground = GROUNDS[name]
    run = runs_through(ground, Wish(density=0.0), 2.5, 0.0, 7.0, np.random.default_rng(1))[0]
    x0, y0, x1, y1 = ground.free.bounds
    gx, gy = np.meshgrid(np.arange(x0, x1, 0.5), np.arange(y0, y1, 0.5))
    inside = shapely.contains_xy(ground.free, gx, gy)
    skeleton, wide = medial_axis(inside, return_distance=True)  # scikit-image
    off = distance_transform_edt(~(skeleton & (wide > 6))) * 0.5  # its main branches
    i, j = np.round((run.z.imag - y0) / 0.5).astype(int), np.round((run.z.real - x0) / 0.5).astype(int)
    ok = (i >= 0) & (i < off.shape[0]) & (j >= 0) & (j < off.shape[1])
    middle = ok & (np.arange(len(run.z)) > 0.2 * len(run.z)) & (np.arange(len(run.z)) < 0.8 * len(run.z))
    assert off[i[middle], j[middle]].mean() < 3.0


@pytest.mark.parametrize("name", list(GROUNDS))
def test_ropes_keep_clear_bend_gently_and_end_hidden(name: str) -> None:
    ground, half, bend = GROUNDS[name], 2.5, 7.0
    runs = runs_through(ground, Wish(density=1.0), half, 0.8, bend, np.random.default_rng(1))
    wide = 2 * room_of(ground).wall.max()
    assert runs or wide < 18
    cover = hidden(ground.front, ground.skin_break_mm)
    for run in runs:
        d, dd = np.gradient(run.z), np.gradient(np.gradient(run.z))
        radius = np.abs(d) ** 3 / np.maximum(np.abs((np.conj(d) * dd).imag), 1e-12)
        assert radius[4:-4].min() > 0.95 * bend
        for end, tucked in zip(run.z[[0, -1]], run.tucked, strict=True):
            disc = shapely.Point(end.real, end.imag).buffer(half)
            assert cover.covers(disc) if tucked else ground.free.covers(disc)
    lines = [shapely.LineString(np.column_stack([r.z.real, r.z.imag])) for r in runs]
    for i, a in enumerate(lines):
        assert all(a.distance(b) > 2 * half + ground.line_gap_mm for b in lines[:i])


def test_a_strands_edge_is_a_helix_seen_from_the_side() -> None:
    rope = Rope(LINE, STEP_MM, 3.5, PEN.pitch_mm, 1.0, -1.0)
    x, n = rope.edge_of(20.0)
    lay = STRANDS * rope.strand_mm
    n_max = 3.5 / np.sin(np.radians(78))
    assert np.allclose(n, n_max * np.sin(2 * np.pi * (x - 20) / lay), atol=1e-9)
    # two neighbouring edges stand as far apart as the line gap asks, measured square to them
    other = np.column_stack(rope.edge_of(20.0 + rope.strand_mm))
    middle = shapely.Point(20.0, 0.0)
    assert middle.distance(shapely.LineString(other)) > PEN.pitch_mm


def test_both_ways_of_laying_mirror_each_other() -> None:
    right, left = (Rope(LINE, STEP_MM, 3.5, PEN.pitch_mm, h, -1.0) for h in (1.0, -1.0))
    a, b = np.column_stack(right.edge_of(30.0)), np.column_stack(left.edge_of(30.0))
    assert np.allclose(a[:, 0] - 30, 30 - b[:, 0]) and np.allclose(a[:, 1], b[:, 1])


def test_crossings_are_found_where_they_are() -> None:
    t = np.linspace(0, 2 * np.pi, 400)
    eight = np.column_stack([10 * np.sin(t + 0.5), 6 * np.sin(2 * t + 1.0)])  # crosses itself at the origin
    at = passages(eight)
    assert len(at) == 2
    for k in at:
        i = int(k)
        p = eight[i] + (k - i) * (eight[i + 1] - eight[i])
        assert np.hypot(*p) < 0.05
    assert len(passages(LINE)) == 0


@pytest.mark.parametrize(("form", "crossings"), [(OVERHAND, 3), (LOOP, 1)])
def test_knots_cross_themselves_over_and_under_by_turns(form: np.ndarray, crossings: int) -> None:
    """The overhand knot is the trefoil cut open: three crossings, alternating (Rolfsen, 'Knots and links', 1976)."""
    from composer.art.brush import spline

    path = spline(form * 8.0, step_mm=0.4)
    at = passages(path)
    assert len(at) == 2 * crossings
    level = levels_of(path)[at.astype(int)]
    assert np.all(level[1:] != level[:-1])
    # at every crossing one of the two passages lies over
    p = np.array([path[int(k)] for k in at])
    pair = [int(np.argsort(np.hypot(*(p - q).T))[1]) for q in p]
    assert all(level[i] != level[j] for i, j in enumerate(pair))


def test_a_knot_fits_its_room_or_the_rope_is_wrapped() -> None:
    room = room_of(roomy())
    path = np.column_stack([np.arange(-70, 70, STEP_MM), np.zeros(350)])
    made, levels, wrap = knotted(path, 2.6, room, 1.0)
    assert wrap is None and len(passages(made)) == 6 and set(levels) == {0.0, 1.0}
    tight = Ground(shapely.box(-80, -7, 80, 7), shapely.box(-90, -20, 90, 20), shapely.Polygon(), 2.0, 2.0,
                   lambda xy: np.zeros(len(xy)))
    same, levels, wrap = knotted(path, 2.6, room_of(tight), 1.0)
    assert same is path and not levels.any() and 20 < wrap < 120


def test_links_hang_in_each_other() -> None:
    links = Links(3.3, 17.0, 9.8, -1.0)
    masses = links.laid(LINE, PEN, (True, True), False)
    flat = [m for m in masses if m.body.interiors]
    edge = [m for m in masses if not m.body.interiors]
    assert len(flat) == len(edge) + 1, "it begins and ends in a flat link"
    eyes = [shapely.Polygon(m.body.interiors[0]) for m in flat]
    for e in edge:
        # each edge link reaches into two eyes, over the wires between
        assert sum(e.body.intersects(eye) for eye in eyes) == 2
        assert sum(e.body.intersects(f.body) for f in flat) == 2
    assert masses.index(edge[0]) > masses.index(flat[-1])


def test_size_and_fullness_are_heeded() -> None:
    ground = GROUNDS["big_field"]
    width = [draw(ground, Hand(), Wish(size=s), np.random.default_rng(1), "laid").outline.area for s in (0.6, 1.0)]
    assert width[0] < width[1]
    runs = [len(runs_through(ground, Wish(density=d), 3.0, 0.5, 8.0, np.random.default_rng(1))) for d in (0.0, 1.0)]
    assert runs[0] == 1 < runs[1]


def test_kinds_ways_are_three_and_it_does_not_drift() -> None:
    assert len(kind("rope").ways) == 3 and not kind("rope").drifts
