"""Geometric band: the kit, whole tiles, and that it closes across the seam for any girth."""

import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from benchmarks.gap_shapes import shapes
from composer.art.drawing import Drawing
from composer.body.limb import Level, Limb
from composer.body.patch import Patch, lay_patch
from composer.body.wrap import Wrap
from composer.compose.gaps import Gap, survey
from composer.filler.band import draw, height
from composer.filler.band_rows import row_at, runs_of
from composer.filler.band_tiles import TILES
from composer.filler.cloud import pen_of
from composer.filler.finish import finished
from composer.filler.ground import Place, Wish
from composer.filler.kinds import kind
from composer.filler.lay_ground import Site, site
from composer.filler.testkit import faults
from composer.plan.model import Hand, Piece, Recipe, Settings
from composer.plan.scene import Laid, Scene, lay

GROUNDS = shapes()
FEW = settings(max_examples=12, deadline=None, phases=(Phase.explicit, Phase.reuse, Phase.generate))


@pytest.mark.parametrize("way", list(TILES))
def test_every_way_passes_the_kit_on_all_gap_shapes(way: str) -> None:
    assert faults("band", GROUNDS, ways=(way,)) == []


@st.composite
def limbs(draw_: st.DrawFn) -> Limb:
    """Girths as wrists to thighs have them, tapering either way."""
    girths = [draw_(st.floats(140, 620))]
    for _ in range(3):
        girths.append(girths[-1] * draw_(st.floats(0.86, 1.16)))
    return Limb(tuple(Level(f"level {k}", 90.0 * k, g, draw_(st.floats(0.7, 1.0))) for k, g in enumerate(girths)))


def ring_site(limb: Limb, low: float, high: float) -> Site:
    """The ground of a bare gap that goes right round between two levels."""
    u = np.linspace(-0.52, 0.52, 80)
    ring = np.vstack([np.column_stack([u, np.full(80, low)]), np.column_stack([u[::-1], np.full(80, high)])])
    gap = Gap("ring", 1, (ring,), 0.0, high - low, (0.0, (low + high) / 2), (), 0.0, 0.0)
    bare = Scene(limb, 0.0, ())
    return site(bare, survey(Scene(SMALL, 0.0, ()), 2.0), [gap], Settings())


SMALL = Limb((Level("low", 0.0, 200.0, 0.9), Level("high", 60.0, 210.0, 0.9)))
"""Only to have a flow at hand; the bands do not ask for it."""


def worn(limb: Limb, made: Drawing, where: Site) -> Laid:
    """A band as it is laid once it is kept: a filler, on the patch that it was drawn in."""
    return lay(limb, Piece("b", "left_arm", made.digest, "Band", where.u, where.s_mm, recipe=Recipe("band", 1)), made)


def at_seam(limb: Limb, made: Drawing, where: Site, beside_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Whether there is ink, by level, a hair's breadth on either side of the seam of the piece as it is laid."""
    laid = worn(limb, made, where)
    ink, s = made.ink("line"), np.linspace(where.s_mm - 40, where.s_mm + 40, 1600)
    out = []
    for side in (-1.0, 1.0):
        u = where.u + side * (0.5 - beside_mm / limb.girth(where.s_mm))
        xy = laid.patch.to_flat(np.column_stack([np.full(len(s), u), s]))
        out.append(shapely.contains_xy(ink, xy[:, 0], xy[:, 1]))
    return out[0], out[1]


@FEW
@given(limb=limbs(), at=st.floats(60, 210), way=st.sampled_from(sorted(TILES)), seed=st.integers(0, 99))
def test_a_band_right_round_closes_across_the_seam_for_any_girth(limb: Limb, at: float, way: str, seed: int) -> None:
    where = ring_site(limb, at - 16, at + 16)
    made = draw(where.ground, Hand(), Wish(), np.random.default_rng(seed), way)
    assert made is not None
    made, bad = finished(made, kind("band"), where.ground, Hand(), Wish())
    assert bad == []
    left, right = at_seam(limb, made, where, 0.03)
    assert left.any() and not left.all()
    # 0.05 mm steps along the limb: what differs is less than two of them at each edge of ink
    edges = int(np.abs(np.diff(left.astype(int))).sum())
    assert (left != right).sum() <= 2 * edges
    # it ends at the seam and runs over it nowhere
    reach = np.concatenate([worn(limb, made, where).patch.to_skin(r)[:, 0] for r in made.silhouette])
    assert reach.max() - reach.min() == pytest.approx(1.0, abs=2e-4)


@FEW
@given(limb=limbs(), at=st.floats(40, 230), wide=st.floats(7, 20), u0=st.floats(-1, 1))
def test_a_row_is_the_wrap_chart_closed_with_a_whole_number_of_tiles(limb: Limb, at: float, wide: float,
                                                                     u0: float) -> None:
    """Against `composer.body.wrap`, the chart of bands that must close."""
    patch = lay_patch(limb, u0, at, 12, 12)
    row = row_at(Place(limb, patch), False, at, wide)
    assert row.count == round(row.count) and abs(row.wide_mm - wide) < 0.5 * wide
    assert row.count * row.wide_mm == pytest.approx(float(limb.girth(at)), abs=1e-9)
    start = np.floor(u0 * row.count) / row.count
    xq = np.array([(x, q) for x in np.linspace(0, 0.4 * row.count * row.wide_mm, 7) for q in (-6.0, 0.0, 6.0)])
    wrap = Wrap(limb, start, at)
    there = wrap.to_skin(wrap.close(xq, row.wide_mm, row.count))
    here = patch.to_skin(row.flat(xq + np.array([start * row.count * row.wide_mm, 0.0])))
    assert np.abs((here - there) * (float(limb.girth(at)), 1.0)).max() < 1e-6
    # one turn on: the same place, `count` tiles further
    on = patch.to_skin(row.flat(np.array([[start * row.count * row.wide_mm, 0.0]])))
    off = patch.to_skin(row.flat(np.array([[(start * row.count - row.count) * row.wide_mm, 0.0]])))
    assert np.abs(on - off - (1.0, 0.0)).max() < 1e-9


def test_in_an_ordinary_gap_runs_stop_at_whole_tiles() -> None:
    limb = Limb((Level("low", 0.0, 240.0, 0.9), Level("high", 200.0, 280.0, 0.9)))
    patch = lay_patch(limb, 0.1, 100.0, 20, 20)
    free = box(-37, -12, 44, 12)
    row = row_at(Place(limb, patch), False, 100.0, 11.0)
    (run,) = runs_of(row, 14.0, free, free)
    cell = row.laid(box(run.first * row.wide_mm, -7, (run.last + 1) * row.wide_mm, 7))
    assert free.covers(cell) and not run.shut and run.open_ == (True, True)
    more = row.laid(box((run.first - 1) * row.wide_mm, -7, (run.last + 2) * row.wide_mm, 7))
    assert not free.covers(more) and more.area - cell.area == pytest.approx(2 * 14 * row.wide_mm, rel=0.02)
    left = patch.to_skin(row.flat(np.array([[run.first * row.wide_mm, 0.0]])))[0, 0] * row.count
    assert abs(left - round(left)) < 1e-6


def test_two_gaps_on_one_level_are_cut_from_one_tiling() -> None:
    limb = Limb((Level("low", 0.0, 240.0, 0.9), Level("high", 200.0, 280.0, 0.9)))
    places = []
    for u0 in (0.05, 0.47):
        row = row_at(Place(limb, lay_patch(limb, u0, 100.0, 20, 20)), False, 100.0, 11.0)
        free = box(-30, -12, 30, 12)
        (run,) = runs_of(row, 14.0, free, free)
        places.append((run.first / row.count, row.count))
    (a, n), (b, m) = places
    assert n == m and abs((b - a) * n - round((b - a) * n)) < 1e-9


@pytest.mark.parametrize("name", sorted(TILES))
def test_tiles_fit_edge_to_edge_and_keep_the_line_gap(name: str) -> None:
    tile = TILES[name]
    ink = tile.ink(tile.wide_mm, 1.0, 2.0)
    two = shapely.union(ink, shapely.transform(ink, lambda p: p + np.array([tile.wide_mm, 0.0])))
    slots = two.buffer(0.98, quad_segs=12).buffer(-0.98, quad_segs=12).difference(two.buffer(0.02))
    # corners that the closing rounds off are no slots: none is longer than the gap
    assert all(p.length < 7 for p in shapely.get_parts(slots))
    cut = [shapely.intersection(ink, box(x, -9, x + 0.01, 9)).area for x in (0.0, tile.wide_mm - 0.01)]
    assert cut[0] == pytest.approx(cut[1], rel=0.02)


def test_a_light_hand_draws_outlines_and_size_is_heeded() -> None:
    ground = GROUNDS["big_field"]
    area = [draw(ground, Hand(dark=d), Wish(), np.random.default_rng(1), "stepped").ink("line").area
            for d in (0.0, 0.6)]
    assert area[0] < 0.85 * area[1]
    pen = pen_of(Hand(), Wish(), 2.0)
    assert height(TILES["lozenge"], 1.5, True, pen) > height(TILES["lozenge"], 1.0, True, pen)
    rows = [len(draw(ground, Hand(), Wish(density=d), np.random.default_rng(1), "lozenge").silhouette)
            for d in (0.2, 1.0)]
    assert rows[0] < rows[1]


def test_a_chart_off_a_limb_has_no_place_and_a_band_still_comes() -> None:
    assert GROUNDS["channel"].place is None and isinstance(Patch(0, 0, 1, 0), Patch)
    assert draw(GROUNDS["channel"], Hand(), Wish(), np.random.default_rng(1), "scallop") is not None


def test_short_runs_do_not_lie_about_like_bricks_and_open_ends_come_to_points() -> None:
    from composer.filler.band import frame, no_bricks
    from composer.filler.band_rows import Row, Run
    from composer.filler.cloud_lines import Pen

    row = Row(None, False, 0.0, 11.0, 0)

    def run(tiles: int, open_: tuple[bool, bool]) -> Run:
        return Run(row, 0, tiles - 1, False, open_, 100.0 * tiles)

    long, brick, tucked = run(9, (True, True)), run(3, (True, True)), run(4, (False, False))
    assert no_bricks([long, brick, tucked]) == [long, tucked]
    assert no_bricks([brick]) == [brick] and no_bricks([]) == []
    parts = frame(0.0, 99.0, 11.0, (12.0, 18.0), True, (False, True), Pen(0.84, 0.6, 0.5, 2.75, 0.38))
    ends = [p.bounds[2] for p in parts]
    assert max(ends) <= 99.0 + 1e-6 and len(parts) == 5, "two rules, a spike, the rule round it and its point drawn out"
    pen = Pen(0.84, 0.6, 0.5, 2.75, 0.38)
    cut = [shapely.intersection(p, box(98.9, -20, 99.0, 20)).area / 0.1 for p in parts if p.bounds[2] > 98.95]
    assert len(cut) == 1 and cut[0] < 1.35 * 1.12 * pen.least_mm, "it comes to the needle"
    for rule in frame(0.0, 60.0, 11.0, (12.0, 18.0), True, (False, False), pen, (True, False)):
        left, right = (shapely.intersection(rule, box(x, -20, x + 0.1, 20)).area / 0.1 for x in (0.0, 59.9))
        assert left < 1.2 * 1.12 * pen.least_mm < 0.7 * right


@pytest.mark.parametrize("way", list(TILES))
def test_in_a_crooked_gap_a_band_holds_back_and_elsewhere_it_takes_up_a_fifth(way: str) -> None:
    """A straight band of two tiles in a long crooked gap is a short arrow."""
    assert draw(GROUNDS["thin_crooked"], Hand(), Wish(), np.random.default_rng(1), way) is None
    for name in ("crescent", "channel", "ell", "tall_leaf"):
        made = draw(GROUNDS[name], Hand(), Wish(), np.random.default_rng(1), way)
        assert made is not None
        assert shapely.intersection(made.outline, GROUNDS[name].free).area > 0.2 * GROUNDS[name].free.area, name
