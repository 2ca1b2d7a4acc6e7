"""Clouds and wind: differing, deterministic, within the rules on the twelve gap shapes."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "benchmarks"))

from gap_shapes import shapes  # noqa: E402

from composer.body.patch import Patch  # noqa: E402
from composer.filler import cloud, wind  # noqa: E402
from composer.filler.check import findings  # noqa: E402
from composer.filler.clip import visible  # noqa: E402
from composer.filler.closing import closed  # noqa: E402
from composer.filler.cloud_crest import RHYTHM, Shape, chain, crest  # noqa: E402
from composer.filler.cloud_lay import Field  # noqa: E402
from composer.filler.cloud_lines import Pen, bank_lines, inwards  # noqa: E402
from composer.filler.cloud_stage import stage_of, widened  # noqa: E402
from composer.filler.ground import Ground, Wish  # noqa: E402
from composer.filler.lay_ground import Calm  # noqa: E402
from composer.filler.proposals import generator  # noqa: E402
from composer.filler.quality import quality  # noqa: E402
from composer.filler.wind import streamlines  # noqa: E402
from composer.plan.model import Hand  # noqa: E402

GROUNDS = shapes()
HAND, PLAIN = Hand(), Wish()


def seen(name: str, style: str, seed: int, wish: Wish = PLAIN) -> tuple[object, Ground]:
    ground = GROUNDS[name]
    art = cloud.draw(ground, HAND, wish, np.random.default_rng(seed), style)
    assert art is not None
    return visible(art, ground.front, ground.skin_break_mm, 0.9 * HAND.fine_mm, ground.line_gap_mm), ground


@pytest.mark.parametrize("name", ["wide_pocket", "triangle", "big_field"])
@pytest.mark.parametrize("style", list(cloud.STYLES))
def test_some_seed_soon_keeps_every_hard_rule(name: str, style: str) -> None:
    for seed in range(4):
        art, ground = seen(name, style, seed)
        lines = replace(art, layers=tuple(la for la in art.layers if la.role == "line"))
        if not findings(lines, widened(ground, stage_of(ground, Wish())), HAND):
            return
    pytest.fail("four seeds in a row broke a hard rule")


@pytest.mark.parametrize(("name", "style"), [("hourglass", "tall"), ("wide_pocket", "tall"), ("ring_remnant", "bank")])
def test_lines_that_all_but_touch_are_joined_so_that_no_end_is_bare(name: str, style: str) -> None:
    ground = GROUNDS[name]
    art = cloud.draw(ground, HAND, PLAIN, generator(1, "cloud", style, 0), style)
    assert art is not None
    q = quality(art, ground, HAND)
    assert q is not None and q.ends["bare"] == 0 and sum(q.ends.values()) > 10


@pytest.mark.parametrize("name", list(GROUNDS))
@pytest.mark.parametrize("style", ["bank", "tall"])
def test_a_cloud_covers_the_gap(name: str, style: str) -> None:
    """The house's own bar: .88 of the open skin. No seed lies far below it, the middle one not at all."""
    cover = []
    for seed in (1, 2, 3):
        art, ground = seen(name, style, seed)
        cover.append(shapely.intersection(art.outline, ground.free).area / ground.free.area)
    assert np.median(cover) >= 0.88
    assert min(cover) >= 0.8


def test_styles_and_seeds_differ_and_the_same_seed_is_the_same_in_another_process() -> None:
    ground = GROUNDS["wide_pocket"]
    art = {s: cloud.draw(ground, HAND, Wish(), np.random.default_rng(7), s).digest for s in cloud.STYLES}
    assert len(set(art.values())) == len(cloud.STYLES)
    assert cloud.draw(ground, HAND, Wish(), np.random.default_rng(8), "bank").digest != art["bank"]
    code = ("import sys; sys.path[:0] = [%r, %r]\nimport numpy as np\nfrom gap_shapes import shapes\n"
            "from composer.filler import cloud\nfrom composer.filler.ground import Wish\n"
            "from composer.plan.model import Hand\n"
            "print(cloud.draw(shapes()['wide_pocket'], Hand(), Wish(), np.random.default_rng(7), 'bank').digest)")
    other = subprocess.run([sys.executable, "-c", code % (str(ROOT), str(ROOT / "benchmarks"))], capture_output=True,
                           text=True, check=True)
    assert other.stdout.strip() == art["bank"]


def test_every_wish_changes_the_drawing_in_its_sense() -> None:
    ground = GROUNDS["big_field"]

    def drawn(**wish: float) -> object:
        return cloud.draw(ground, HAND, Wish(**wish), np.random.default_rng(3), "bank")

    def ink(art: object) -> float:
        return art.ink("line").intersection(ground.free).area

    assert ink(drawn(weight=1.4)) > 1.15 * ink(drawn())
    small, large = (len(shapely.get_parts(drawn(size=s).ink("mid"))) for s in (0.6, 1.5))
    assert small > large
    loose, full = (drawn(density=d).outline.intersection(ground.free).area for d in (0.1, 1.0))
    assert full > loose
    tucked = [shapely.intersection(drawn(tuck_mm=t).outline, ground.front).area for t in (1.0, 14.0)]
    assert tucked[1] > tucked[0]


def test_fade_thins_what_lies_near_the_cuff() -> None:
    ground = GROUNDS["cuff_strip"]
    near = shapely.intersection(shapely.buffer(ground.edge, 10), ground.free)
    art = [cloud.draw(ground, HAND, Wish(fade_mm=f), np.random.default_rng(5), "bank") for f in (0.0, 40.0)]
    share = [shapely.intersection(a.outline, near).area for a in art]
    assert share[1] < share[0]


PEN = Pen(0.84, 0.6, 0.4, 2.75, 0.38)
BANKS = [Shape(90, 28, 8), Shape(120, 22, 6), Shape(70, 34, 9, 0.4, 0.74), Shape(60, 13, 4, 0.18, 0.42)]


@pytest.mark.parametrize("seed", range(6))
def test_lobes_keep_the_rhythm_and_overlap_along_the_crest(seed: int) -> None:
    shape = Shape(400.0, 60.0, 10.0)
    lobes = np.array(chain(shape, 2.0, np.random.default_rng(seed)))
    x, _, r = lobes[1:].T
    near = np.array([shape.height(v) for v in x - 0.5 * r])
    share = r / (10.0 * (0.5 + 0.5 * near / 60.0))
    fits = [np.abs(share / np.array([RHYTHM[(k + i) % len(RHYTHM)] for i in range(len(share))]) - 1).max()
            for k in range(len(RHYTHM))]
    assert len(lobes) > 12 and min(fits) < 0.2 < np.median(fits)
    apart = np.hypot(*np.diff(lobes[:, :2], axis=0).T) / (lobes[1:, 2] + lobes[:-1, 2])
    assert np.all((apart > 0.75) & (apart < 0.95))


@pytest.mark.parametrize("shape", BANKS)
def test_a_bank_is_one_area_with_a_crest_at_its_nose_and_a_hollow_tail(shape: Shape) -> None:
    for seed in range(4):
        bank = crest(shape, 2.2, np.random.default_rng(seed))
        area = shapely.Polygon(bank.ring)
        assert area.is_valid and len(bank.lobes) > 2
        assert 0.1 < bank.ring[np.argmax(bank.ring[:, 1]), 0] / shape.length_mm < 0.6
        chord = np.linspace(bank.tail[0], bank.tail[-1], 9)[1:-1]
        assert np.all(np.interp(chord[:, 0], *bank.tail.T) < chord[:, 1])
        assert all(area.buffer(0.5).covers(shapely.LineString(line.path)) for line in bank_lines(bank, PEN))


@pytest.mark.parametrize("r", [5.5, 7.0, 12.0])
def test_a_curl_stays_in_its_lobe_and_clear_of_itself(r: float) -> None:
    """The lobe lies open over 190 degrees; where the curl comes round under it a line gap of 2 mm is left."""
    past, radius = inwards(r, np.radians(330), PEN.pitch_mm, True)
    assert np.all(np.diff(radius) <= 0) and radius[0] <= r
    under = past > np.radians(360 - 190)
    assert under.any() and np.all(r - radius[under] - PEN.outline_mm >= 2.0)


def test_closing_leaves_no_slot_and_nothing_thin() -> None:
    rng = np.random.default_rng(4)
    lines = [shapely.LineString(rng.uniform(0, 40, (2, 2))).buffer(0.3) for _ in range(25)]
    ink = closed(shapely.union_all(lines), 2.0, 0.38)
    shut = ink.buffer(0.97, quad_segs=16).buffer(-0.97, quad_segs=16)
    assert all(p.area < 0.05 for p in shapely.get_parts(shut.difference(ink.buffer(0.03))))
    core = ink.buffer(-0.17).buffer(0.19)
    assert all(p.area < 0.05 for p in shapely.get_parts(ink.difference(core)))


def circling(xy: np.ndarray) -> np.ndarray:
    return np.arctan2(xy[:, 1] + 90, xy[:, 0]) + np.pi / 2


def test_few_streamlines_are_traced_like_many() -> None:
    ground = replace(GROUNDS["big_field"], flow=circling)
    field = Field(ground, ground.free)
    x0, y0, x1, y1 = ground.free.bounds
    starts = np.random.default_rng(4).uniform((x0, y0), (x1, y1), (40, 2))
    way = np.where(np.arange(40) % 2, 1.0, -1.0)[:, None]
    many = field.trace(starts, way, 60.0, 14.0)
    few = [field.trace(starts[i : i + 5], way[i : i + 5], 60.0, 14.0) for i in range(0, 40, 5)]
    assert np.abs(many - np.concatenate(few)).max() < 1e-8


def test_streamlines_of_a_circling_flow_are_circles() -> None:
    """A field whose streamlines are known: circles about (0, -90)."""
    area = shapely.box(-30, -30, 30, 30)
    ground = Ground(area, area, shapely.Polygon(), 2.0, 2.0, circling)
    lines = streamlines(Field(ground, area), stage_of(ground, Wish()), ground, 8.0, 60.0, np.random.default_rng(0))
    assert len(lines) >= 5
    for line in lines:
        far = np.hypot(line[:, 0], line[:, 1] + 90)
        assert np.ptp(far) < 0.02 * far.mean()


def test_streamlines_keep_their_distance_and_the_longest_come_first() -> None:
    ground = GROUNDS["big_field"]
    field, stage = Field(ground, ground.free), stage_of(ground, Wish())
    lines = streamlines(field, stage, ground, 9.0, 120.0, np.random.default_rng(0))
    shapes_ = [shapely.LineString(x) for x in lines]
    assert min(a.distance(b) for i, a in enumerate(shapes_) for b in shapes_[:i]) > 9.0 - 3.0 / 2
    assert shapes_[0].length >= np.median([s.length for s in shapes_])


def test_wind_has_all_heads_one_way() -> None:
    ground = GROUNDS["big_field"]
    art = wind.draw(ground, HAND, Wish(), np.random.default_rng(1), "bars")
    assert art is not None and {e.how for e in art.ends} == {"tip"}


def test_calm_turns_the_whole_field_by_one_angle() -> None:
    patch = Patch(0.0, 100.0, 250.0, 0.2)
    steep = np.radians(80.0)

    def flow(xy: np.ndarray) -> np.ndarray:
        return steep + 0.004 * xy[:, 0]

    calm = Calm(flow, steep)
    xy = patch.to_flat(np.column_stack([np.linspace(-0.2, 0.2, 9), np.full(9, 110.0)]))
    off = calm(xy) - 0.7 * (flow(xy) - steep)
    assert np.allclose(off, np.radians(34.0))
