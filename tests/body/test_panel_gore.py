"""Strips on a panel: true along their middle line, joined along one level, and back again."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from panel_cases import SOME, trunks, typical
from scipy.interpolate import RectBivariateSpline

from composer.body.even_spline import even_spline
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.panel_patch import lay_panel_patch_over
from composer.body.strips import strips_over
from composer.body.yoke import build_panel


@SOME
@given(m=trunks("upper_back"), at=st.floats(-60, 60), width=st.floats(60, 160))
def test_a_strip_keeps_every_length_along_its_middle_and_meets_its_neighbours(m: dict[str, float], at: float,
                                                                             width: float) -> None:
    panel = build_panel("upper_back", m)
    low, high = panel.from_mm(np.array([[at - width / 2, 90.0], [at + width / 2, 210.0]]))
    strip = strips_over(panel, np.array([low, high]))
    edges = np.linspace(low[0], high[0], 4)
    strips = [strip(float(a + b) / 2) for a, b in pairwise(edges)]
    s = np.linspace(low[1], high[1], 25)
    for g in strips:
        assert np.abs(g.stretches(np.column_stack([np.full(25, g.u0), s])) - 1).max() < 1e-3
    spine = np.column_stack([np.linspace(low[0], high[0], 30), np.full(30, (low[1] + high[1]) / 2)])
    for g in strips[1:]:
        assert np.abs(g.to_flat(spine) - strips[0].to_flat(spine)).max() < 1e-3
    # the shared level has its own true length
    assert np.hypot(*np.diff(strips[0].to_flat(spine), axis=0).T).sum() == pytest.approx(panel.length(spine), abs=0.1)


def test_back_again_and_straight_on_past_the_field() -> None:
    panel = typical("chest")
    us = panel.from_mm(np.random.default_rng(2).uniform((-40, 120), (60, 220), (300, 2)))
    g = strips_over(panel, us)(0.02)
    assert np.abs(panel.to_mm(g.to_skin(g.to_flat(us)) - us)).max() < 1e-6
    far = panel.from_mm(np.array([[200.0, 170.0], [-150.0, 60.0]]))
    assert np.isfinite(g.to_flat(far)).all()


def test_on_a_limb_strips_are_the_gores() -> None:
    limb = build_limb("left_arm", TYPICAL_MM)
    us = np.array([[0.0, 100.0], [0.3, 220.0]])
    g = strips_over(limb, us)(0.1)
    assert np.abs(g.stretches(np.column_stack([np.full(20, 0.1), np.linspace(100, 220, 20)])) - 1).max() < 1e-6


def test_paper_fitted_to_a_band_fits_it_better_than_paper_for_the_disc_round_it() -> None:
    panel = typical("chest")
    x, y = np.meshgrid(np.linspace(-90, 90, 40), np.linspace(120, 170, 12))
    us = panel.from_mm(np.column_stack([x.ravel(), y.ravel()]))
    own = lay_panel_patch_over(panel, us)
    disc = panel.lay_patch(0.0, 145.0, 95.0)
    off = [np.square(p.stretches(panel, p.to_flat(us)) - 1).mean() for p in (own, disc)]   # what both are fitted by
    assert off[0] < 0.8 * off[1]
    with pytest.raises(ValueError, match="so small a place"):
        lay_panel_patch_over(panel, us[:5])


def test_the_even_spline_is_the_interpolating_one() -> None:
    """Against scipy's own bicubic (FITPACK, "not a knot" ends)."""
    rng = np.random.default_rng(4)
    x, y = np.linspace(-3.0, 40.0, 17), np.linspace(5.0, 9.0, 6)
    values = rng.normal(size=(17, 6)) + 1j * rng.normal(size=(17, 6))
    px, py = rng.uniform(-3, 40, 400), rng.uniform(5, 9, 400)
    px[:4], py[:4] = (-3, 40, -3, 40), (5, 5, 9, 9)
    for part, got in ((values.real, even_spline(x, y, values)(px, py).real), (values.imag, even_spline(
            x, y, values.imag)(px, py))):
        assert np.abs(got - RectBivariateSpline(x, y, part).ev(px, py)).max() < 1e-11


def test_closed_form_stretches_are_the_singular_values() -> None:
    panel = typical("chest")
    us = panel.from_mm(np.random.default_rng(5).uniform((-60, 100), (60, 200), (50, 2)))
    paper = panel.lay_patch(0.0, 150.0, 80.0)
    off = (us - (paper.u0, paper.s0_mm)) * (paper.c1_mm, 1.0) / paper.reach_mm
    down = np.linalg.inv(paper._slope(off) / paper.reach_mm)
    sigma = np.linalg.svd(panel.tangents(us) @ down, compute_uv=False)
    assert np.abs(paper.stretches(panel, paper.to_flat(us)) - sigma).max() < 1e-9
