"""Small things on the gap shapes: the kit, even places without a pattern, sizes, the flow, whole forms."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy.stats import qmc
from shapely.geometry import Polygon, box

from benchmarks.gap_shapes import shapes
from composer.filler.cloud import pen_of
from composer.filler.ground import Ground, Wish
from composer.filler.scatter import STYLES, draw, strewn
from composer.filler.scatter_forms import curled, glint, moon, petal
from composer.filler.testkit import drawn, faults, kind
from composer.plan.model import Hand

GROUNDS = shapes()
PEN = pen_of(Hand(), Wish(), 2.0)


def field(side: float, angle: float = 0.0) -> Ground:
    free = box(-side / 2, -side / 2, side / 2, side / 2)
    return Ground(free, free.buffer(20), Polygon(), 2.0, 2.0, lambda xy: np.full(len(xy), angle))


@pytest.mark.parametrize("way", list(STYLES))
def test_every_way_passes_the_kit_on_all_gap_shapes(way: str) -> None:
    assert faults("scatter", GROUNDS, ways=(way,)) == []


def low_power(places: np.ndarray, side: float) -> float:
    """Mean power of points (n, 2) at wavelengths longer than 1.7 times their mean distance; 1 for points
    thrown at random, since their periodogram is flat (Ulichney, 'Dithering with blue noise', 1988)."""
    inner = places[np.abs(places).max(axis=1) < side / 2 - 4]
    most = int(side / (1.7 * side / np.sqrt(len(inner))))
    k = np.arange(-most, most + 1)
    kx, ky = np.meshgrid(k, k)
    ring = np.hypot(kx, ky)
    use = (ring > 1.5) & (ring < most)
    waves = 2 * np.pi / (side - 8) * np.column_stack([kx[use], ky[use]])
    return float((np.abs(np.exp(1j * inner @ waves.T).sum(axis=0)) ** 2 / len(inner)).mean())


@pytest.mark.parametrize("way", list(STYLES))
def test_places_are_blue_noise_like_scipys_poisson_disc(way: str) -> None:
    side, power, discs, thrown = 240.0, [], [], []
    for seed in (1, 2):
        rng = np.random.default_rng(seed)
        made = strewn(field(side), Wish(), STYLES[way], PEN, rng)
        places = np.array([(z.real, z.imag) for _, z, _ in made])
        power.append(low_power(places, side))
        radius = 0.72 / np.sqrt(len(places))
        discs.append(low_power((qmc.PoissonDisk(2, radius=radius, rng=seed).random(len(places)) - 0.5) * side, side))
        thrown.append(low_power(rng.uniform(-side / 2, side / 2, (len(places), 2)), side))
    assert np.mean(thrown) > 0.8 and np.mean(discs) < 0.35  # what the measure says of the two known sets
    assert np.mean(power) < 0.5 * np.mean(thrown)


@pytest.mark.parametrize("way", list(STYLES))
def test_few_are_large_and_many_small(way: str) -> None:
    made = strewn(GROUNDS["big_field"], Wish(), STYLES[way], PEN, np.random.default_rng(1))
    size = np.sort([np.abs(b.spine - b.spine.mean()).max() + b.half.max() for b, _, _ in made])[::-1]
    assert size[0] > 5 * size[-1]
    assert (size > 0.7 * size[0]).sum() < 0.3 * len(size) and (size < 0.3 * size[0]).sum() > 0.25 * len(size)


@pytest.mark.parametrize("way", list(STYLES))
def test_everything_lies_whole_in_open_skin_and_apart(way: str) -> None:
    for name in ("ell", "ring_remnant", "cuff_strip"):
        ground = GROUNDS[name]
        made = drawn(kind("scatter"), way, ground, 1)
        parts = shapely.get_parts(made.ink("line", "black"))
        assert shapely.covers(ground.free, parts).all()
        assert made.ink().distance(ground.front) >= ground.skin_break_mm
        bodies = [b.laid(z, t).body for b, z, t in strewn(ground, Wish(), STYLES[way], PEN, np.random.default_rng(1))]
        a, b = shapely.STRtree(bodies).query(bodies, predicate="dwithin", distance=1.2)
        assert np.all(a == b)


def test_stars_are_turned_with_the_flow() -> None:
    for angle in (0.3, 1.2):
        made = strewn(field(160, angle), Wish(), STYLES["night"], PEN, np.random.default_rng(3))
        long = []
        for b, z, t in made:
            if len(b.spine) == 11:  # the glints
                ring = np.asarray(b.laid(z, t).body.exterior.coords) @ (1, 1j) - z
                tip = ring[np.argmax(np.abs(ring))]
                long.append((np.angle(tip) - angle + np.pi / 2) % np.pi - np.pi / 2)
        assert len(long) > 8 and np.abs(long).max() < 0.3


def test_fullness_and_size_are_heeded_and_a_cuff_thins_out() -> None:
    ground = GROUNDS["big_field"]
    n = [len(strewn(ground, Wish(density=d, size=s), STYLES["night"], PEN, np.random.default_rng(1)))
         for d, s in ((0.2, 1.0), (0.6, 1.0), (1.0, 1.0), (0.6, 1.6))]
    assert n[0] < n[1] < n[2] and n[3] < n[1]
    wall = box(-90, -60, 90, 90).difference(box(-62, -60, 62, 62))
    cuff = replace(field(120), edge=box(-80, -61, 80, -60), front=wall)
    ratio = []
    for fade in (0, 60):
        made = strewn(cuff, Wish(fade_mm=fade), STYLES["petals"], PEN, np.random.default_rng(1))
        y, area = np.array([(z.imag, b.body.area) for b, z, _ in made]).T
        ratio.append(area[y < -30].sum() / area[y > 30].sum())
    assert ratio[0] > 0.7 and 0 < ratio[1] < 0.3, "large ones give way first, small ones run out last"


def test_forms_have_solid_black_and_open_skin() -> None:
    rng = np.random.default_rng(1)
    for form in (moon, petal):
        bit = form(9.0, PEN, rng)
        black = shapely.union_all(bit.black)
        assert 0.05 < black.area / bit.body.area < 0.45
        assert {role for role, _ in bit.wash} == {"light", "mid"}
    star = glint(7.0, PEN, rng)
    assert star.black[0].equals(star.body)
    assert star.body.area < 0.3 * np.pi * 49, "slender points, not a blob"
    side = curled(4.0, PEN, rng)
    assert len(side.lines) == 1 and side.lines[0].width.max() > 2 * side.lines[0].width[0]


def test_the_smallest_ground_gets_nothing_rather_than_one_thing() -> None:
    assert draw(field(5.0), Hand(), Wish(), np.random.default_rng(1)) is None
