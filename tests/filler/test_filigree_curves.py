"""Curves of filigree against closed forms and the Fresnel integrals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline
from scipy.special import fresnel

from composer.filler.filigree_curves import (
    clamped,
    clothoid_arc,
    even,
    frond,
    log_spiral_arc,
    scroll,
    shares,
    up_to,
)


def test_clothoid_is_the_fresnel_integral() -> None:
    # Abramowitz and Stegun 7.3.1-7.3.2: S and C with pi/2 t^2; curvature grows by pi a unit length there
    z = clothoid_arc(1.7, 0.0, np.pi * 1.7, 60)
    s, c = fresnel(np.linspace(0, 1.7, 60))
    assert np.abs(z - (c + 1j * s)).max() < 1e-6


@given(st.floats(0.2, 0.9), st.floats(1.0, 12.0))
@settings(max_examples=40, deadline=None)
def test_log_spiral_keeps_its_angle_to_the_pole(keep: float, turn: float) -> None:
    # a logarithmic spiral about its pole: r = r0 exp(-b theta), the angle to the radius constant (equiangular)
    shrink = -np.log(keep) / (2 * np.pi)
    z = log_spiral_arc(shrink, turn, 400)
    pole = -1 / (1j - shrink)
    r, theta = np.abs(z - pole), np.unwrap(np.angle(z - pole))
    assert np.allclose(r, r[0] * np.exp(-shrink * (theta - theta[0])), rtol=1e-9)
    assert r[-1] / r[0] == pytest.approx(keep ** (turn / (2 * np.pi)), rel=1e-9)


def test_log_spiral_starts_with_radius_one_and_has_to_tighten() -> None:
    z = log_spiral_arc(0.1, 0.02, 3)
    a, b, c = z
    radius = abs(a - b) * abs(b - c) * abs(c - a) / (2 * abs(((b - a) * np.conj(c - a)).imag))
    assert radius == pytest.approx(1.0, abs=0.01)
    with pytest.raises(ValueError, match="tighten"):
        log_spiral_arc(0.0, 1.0, 5)


@given(st.integers(250, 700), st.floats(0.3, 0.7), st.sampled_from([0.0, 0.7, 1.5, 3.0]))
@settings(max_examples=40, deadline=None)
def test_growing_curvature_stays_in_the_osculating_circle(turn: int, keep: float, lead: float) -> None:
    # Kneser's nesting theorem (1912): the arc beyond a point lies inside the osculating circle there
    form = scroll(turn, keep, lead, 400)
    z, t = form.z, form.tangents()
    curv = np.angle(t[1:] / t[:-1]) / np.abs(np.diff(z))
    for k in (150, 220, 300):
        rho = 1 / curv[k - 3 : k + 4].mean()
        centre = z[k] + 1j * t[k] * rho
        assert np.abs(z[k:] - centre).max() <= rho * 1.02
    assert np.all(np.diff(curv[5:-5]) > -0.02 * curv[5:-6])


def test_even_spacing_and_the_turn_of_a_frond() -> None:
    z = even(np.array([0, 3, 3 + 4j]), 8)
    assert np.allclose(np.abs(np.diff(z)), 1.0)
    form = frond(95)
    t = form.tangents()
    assert np.degrees(np.angle(t[-1] / t[0])) == pytest.approx(95, abs=6)
    assert np.abs(np.diff(form.z)).sum() == pytest.approx(1.0, abs=0.01)


@given(st.integers(2, 9), st.integers(0, 10**6))
@settings(max_examples=40, deadline=None)
def test_the_clamped_spline_is_that_of_scipy(n: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    z, u = rng.normal(size=n) + 1j * rng.normal(size=n), np.cumsum(rng.uniform(0.4, 3.0, n))
    u -= u[0]
    t = np.linspace(0, u[-1], 50)
    p = CubicSpline(u, np.column_stack([z.real, z.imag]), bc_type=((1, (1.0, 2.0)), (1, (-1.0, 0.5))))(t)
    assert np.allclose(clamped(u, z, 1 + 2j, -1 + 0.5j, t), p[:, 0] + 1j * p[:, 1], atol=1e-9)


@given(st.floats(0.0, 900.0), st.integers(2, 700))
@settings(max_examples=60, deadline=None)
def test_even_numbers_are_those_of_numpy_to_the_last_bit(stop: float, n: int) -> None:
    # drawings are made again from recipes: the same bytes as with numpy.linspace
    assert np.array_equal(up_to(stop, n), np.linspace(0, stop, n))
    assert np.array_equal(shares(n), np.linspace(0, 1, n))
