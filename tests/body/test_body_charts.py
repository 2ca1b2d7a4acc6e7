"""Invariants of patch, wrap and sheet (DESIGN section 3)."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from limb_cases import FEW, arms, cones, cylinder, oval, round_limb, spots
from shapely.geometry import Polygon

from composer.body.distort import past_the_ends, stretches, stretches_in_space, worst, wrap_stretches
from composer.body.limb import Level, Limb
from composer.body.metric import distance
from composer.body.patch import Patch, lay_patch, lay_patch_under, level_weights
from composer.body.sheet import unroll
from composer.body.wrap import Wrap


def on(limb: Limb, share: float) -> float:
    return limb.s_min + share * (limb.s_max - limb.s_min)


@FEW
@given(limb=arms(), u=st.floats(-2, 2), at=st.floats(0.05, 0.95), half=st.floats(4, 110))
def test_patch_then_inverse_is_the_identity(limb: Limb, u: float, at: float, half: float) -> None:
    patch = lay_patch(limb, u, on(limb, at), half, half)
    xy = spots(0.45 * float(limb.girth(on(limb, at))), half)
    back = patch.to_flat(patch.to_skin(xy))
    assert np.abs(back - xy).max() < 1e-9


@FEW
@given(b=st.sampled_from([0.0, 1e-9, -1e-7, 1e-5, -0.3, 0.8]), c1=st.floats(90, 500))
def test_patch_is_stable_through_the_cylinder(b: float, c1: float) -> None:
    patch, plain = Patch(0.2, 100.0, c1, b), Patch(0.2, 100.0, c1, 0.0)
    xy = spots(0.4 * c1, 50)
    assert np.abs(patch.to_flat(patch.to_skin(xy)) - xy).max() < 1e-9
    if abs(b) < 1e-6:
        gap = np.abs(patch.to_skin(xy) - plain.to_skin(xy)) * (c1, 1.0)
        assert gap.max() < 60 * abs(b) * 0.5 * c1 + 1e-9


@FEW
@given(limb=cones(), at=st.floats(0.2, 0.8), half=st.floats(10, 60))
def test_exact_on_cones_and_cylinders(limb: Limb, at: float, half: float) -> None:
    s0 = on(limb, at)
    patch = lay_patch(limb, 0.1, s0, half, half)
    assert patch.c1_mm == pytest.approx(float(limb.girth(s0)), abs=1e-8)
    assert patch.b == pytest.approx(float(limb.slope(s0)), abs=1e-8)
    xy = spots(0.4 * patch.c1_mm, 25)
    us = patch.to_skin(xy)
    inside = (us[:, 1] > limb.s_min + 1) & (us[:, 1] < limb.s_max - 1)
    xy, us = xy[inside], us[inside]
    # flat lengths against the local metric's own closed form, which knows nothing of the patch
    flat = np.hypot(*(xy[1:] - xy[:-1]).T)
    assert np.abs(distance(limb, us[1:], us[:-1], nearest_turn=False) - flat).max() < 1e-8
    assert np.abs(stretches(limb, patch, xy) - 1).max() < 1e-8
    assert np.abs(stretches_in_space(limb, patch, xy) - 1).max() < 1e-5


@FEW
@given(limb=arms(), at=st.floats(0.15, 0.85), half=st.floats(10, 60))
def test_strain_meter_equals_singular_values_on_round_limbs(limb: Limb, at: float, half: float) -> None:
    limb = round_limb(limb)
    patch = lay_patch(limb, -0.2, on(limb, at), half, half)
    xy = spots(0.3 * patch.c1_mm, half)
    us = patch.to_skin(xy)
    # differences that straddle a level see the kink of PCHIP's second derivative there
    keep = np.abs(us[:, 1:] - [lv.s_mm for lv in limb.levels]).min(axis=1) > 0.1
    keep &= (us[:, 1] > limb.s_min + 1) & (us[:, 1] < limb.s_max - 1)
    xy, us = xy[keep], us[keep]
    told, measured = stretches(limb, patch, xy), stretches_in_space(limb, patch, xy)
    assert np.abs(told - measured).max() < 2e-5
    meter = patch.strain(limb, us[:, 1])
    assert np.abs(np.abs(meter) - np.abs(measured - 1).max(axis=1)).max() < 2e-5


@FEW
@given(limb=arms(), at=st.floats(0.3, 0.6))
def test_wrap_shear_equals_singular_values_on_round_limbs(limb: Limb, at: float) -> None:
    limb = round_limb(limb)
    wrap = Wrap(limb, 0.3, on(limb, at))
    xy = spots(100, 40)
    # at a level the girth bends at once, which differences blur by as much as their step is long
    assert np.abs(wrap_stretches(wrap, xy) - stretches_in_space(limb, wrap, xy, 0.001)).max() < 2e-5
    assert np.abs(wrap.to_flat(wrap.to_skin(xy)) - xy).max() < 1e-9


@FEW
@given(limb=arms(), at=st.floats(0.2, 0.8), width=st.floats(60, 400), repeats=st.integers(1, 6))
def test_a_band_closes_at_every_height(limb: Limb, at: float, width: float, repeats: int) -> None:
    wrap = Wrap(limb, 0.25, on(limb, at))
    y = np.linspace(-20, 20, 9)
    turns = [wrap.to_skin(wrap.close(np.column_stack([np.full(9, x), y]), width, repeats))
             for x in (0.0, width * repeats)]
    assert np.abs(turns[1] - turns[0] - (1.0, 0.0)).max() < 1e-12
    ring = wrap.edge(20, 20)
    right, left = ring[: len(ring) // 2], ring[len(ring) // 2:][::-1]
    gap = wrap.to_skin(right) - wrap.to_skin(left)
    assert np.abs(gap - (1.0, 0.0)).max() < 1e-12
    assert Polygon(ring).exterior.is_ccw
    lo, hi = wrap.stretch_to_close(width, 20, 20, repeats)
    assert lo <= float(limb.girth(wrap.s0_mm)) / (width * repeats) <= hi


@pytest.mark.parametrize("width", [0.0, -5.0, float("nan")])
def test_a_band_without_width_is_refused(width: float) -> None:
    with pytest.raises(ValueError, match="more than 0 mm"):
        Wrap(cylinder(), 0, 100).close(spots(10, 10), width)


@FEW
@given(limb=arms(), seam=st.floats(-1.5, 1.5), shift=st.integers(-2, 2))
def test_moving_the_seam_changes_nothing_on_skin(limb: Limb, seam: float, shift: int) -> None:
    patch = lay_patch(limb, 0.4, on(limb, 0.5), 30, 30)
    piece = patch.to_skin(oval(60, 30))
    areas = []
    for cut in (seam, -0.5):
        sheet = unroll(limb, cut)
        assert np.abs(sheet.to_skin(sheet.to_flat(piece)) - piece).max() < 1e-9
        strip = shapely.box(cut, limb.s_min, cut + 1, limb.s_max)
        shown = [Polygon(c).intersection(strip) for c in sheet.copies(piece + (shift, 0.0))]   # noqa: RUF005
        areas.append(sum(p.area for p in shown))
    assert areas[0] == pytest.approx(areas[1], rel=1e-9) and areas[0] == pytest.approx(Polygon(piece).area, rel=1e-9)


def test_worst_says_how_bad_and_where() -> None:
    limb = round_limb(Limb(cylinder().levels))
    assert worst(limb, lay_patch(limb, 0, 200, 40, 40), oval(30, 40)).level == ""
    narrow = Patch(0.0, 200.0, 280.0, 0.0)
    told = worst(limb, narrow, oval(30, 40))
    assert told.level == "warn" and told.stretch == pytest.approx(300 / 280 - 1) and "pull apart" in told.sentence
    told = worst(limb, Patch(0.0, 200.0, 350.0, 0.0), oval(30, 40))
    assert told.level == "strong" and told.stretch == pytest.approx(300 / 350 - 1) and "freehand" in told.sentence
    beyond = worst(limb, Patch(0.0, 200.0, 50.0, 1.0), np.array([[0.0, 0.0], [0.0, -49.0], [0.0, -51.0]]))
    assert np.isfinite(beyond.stretch)     # a point past the tip comes out on the far side, strained, not broken
    assert beyond.level == "strong"


def test_past_the_ends_is_told() -> None:
    limb = cylinder(300, 400)
    inside, over = np.array([[0.0, 0.0], [0.1, 400.0]]), np.array([[0.0, -12.0], [0.1, 420.0]])
    assert past_the_ends(limb, inside) == ""
    assert "1.2 cm past the a and 2.0 cm past the b" in past_the_ends(limb, over)
    assert "0.79 in past the b" in past_the_ends(limb, over[1:], "in")


def test_a_patch_nowhere_is_refused() -> None:
    with pytest.raises(ValueError, match="finite place"):
        lay_patch(cylinder(), float("nan"), 100, 10, 10)


@FEW
@given(limb=arms(), s0=st.floats(-3000, 4000), half=st.floats(0, 400))
def test_an_anchor_far_off_the_limb_still_has_a_sound_patch(limb: Limb, s0: float, half: float) -> None:
    patch = lay_patch(limb, 0.0, s0, half, half)
    assert patch.c1_mm >= 0.2 * float(limb.girth(s0))
    assert np.isfinite(patch.to_skin(oval(40, 40))).all()


@FEW
@given(limb=cones(), at=st.floats(0.2, 0.8), wide=st.floats(0.2, 1.5), turn=st.floats(0, 180))
def test_paper_fitted_under_an_outline_is_exact_on_cones(limb: Limb, at: float, wide: float, turn: float) -> None:
    s0, a = on(limb, at), np.radians(turn)
    ring = oval(40 * wide, 40) @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    patch = lay_patch_under(limb, 0.1, s0, [ring])
    inside = s0 + ring[:, 1]
    if inside.min() > limb.s_min + 5 and inside.max() < limb.s_max - 5:
        assert patch.c1_mm == pytest.approx(float(limb.girth(s0)), abs=1e-8)
        assert patch.b == pytest.approx(float(limb.slope(s0)), abs=1e-8)
    assert np.abs(patch.to_flat(patch.to_skin(ring)) - ring).max() < 1e-9


def test_levels_of_an_outline_count_by_the_square_of_its_width() -> None:
    diamond = np.array([[7.0, -30.0], [37.0, 20.0], [7.0, 70.0], [-23.0, 20.0]])
    hole = np.array([[5.0, 10.0], [10.0, 10.0], [10.0, 30.0]])
    y, weight = level_weights([diamond, hole])
    wide = 60.0 * (1 - np.abs(y - 20.0) / 50.0)
    assert weight - weight.min() == pytest.approx(wide**2 - wide.min() ** 2, rel=1e-9)
    assert np.sqrt(weight.min() - wide.min() ** 2) == pytest.approx(0.5 * wide.max())
    right = np.array([[3.0, 0.0], [3.0, 60.0], [40.0, 60.0], [40.0, 80.0]])
    bar = np.concatenate([right, right[::-1] * (-1.0, 1.0)])
    y, weight = level_weights([bar])
    assert weight[y > 60].min() > 4 * weight[y < 60].max()


def test_paper_is_fitted_where_the_piece_is_wide() -> None:
    """A pear, wide above, on a limb that swells: its cone is right above, and less so where it is narrow."""
    limb = Limb(tuple(Level(str(s), float(s), float(c)) for s, c in ((0, 200), (100, 210), (200, 280), (300, 300))))
    pear = np.array([[-8.0, -80.0], [8.0, -80.0], [50.0, 50.0], [40.0, 80.0], [-40.0, 80.0], [-50.0, 50.0]])
    even, fitted = lay_patch(limb, 0, 150, 80, 80), lay_patch_under(limb, 0, 150, [pear])
    above, below = np.array([190.0, 215.0]), np.array([75.0, 85.0])
    assert np.abs(fitted.strain(limb, above)).max() < np.abs(even.strain(limb, above)).max()
    assert np.abs(fitted.strain(limb, below)).max() > np.abs(even.strain(limb, below)).max()


@FEW
@given(limb=arms(), s0=st.floats(-300, 900), size=st.floats(1, 200))
def test_paper_of_any_outline_anywhere_is_sound(limb: Limb, s0: float, size: float) -> None:
    patch = lay_patch_under(limb, 0.0, s0, [oval(size, size) + np.array([0.0, size / 3])])
    assert np.isfinite([patch.c1_mm, patch.b]).all() and patch.c1_mm >= 0.2 * float(limb.girth(s0))
