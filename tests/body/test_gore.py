"""Gores against exact developments and against the polyconic projection."""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Proj

from composer.body.gore import Gore, gore_on, tangent_patch
from composer.body.limb import Level, Limb
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.patch import lay_patch

CONE = Limb((Level("a", 0, 180), Level("b", 300, 330)))
ARM = build_limb("left_arm", TYPICAL_MM)


def places(limb: Limb, half_turn: float = 0.2) -> np.ndarray:
    u, s = np.meshgrid(np.linspace(-half_turn, half_turn, 21), np.linspace(limb.s_min + 5, limb.s_max - 5, 40))
    return np.column_stack([u.ravel(), s.ravel()])


@pytest.mark.parametrize("u", [0.0, 0.13, -0.2])
def test_on_a_cone_every_gore_is_the_paper_cone_itself(u: float) -> None:
    """Slits in paper on a cone open by nothing: the exact development of a frustum (sheet-metal handbooks)."""
    paper = lay_patch(CONE, 0.05, 140.0, 120.0, 120.0)
    gore = gore_on(CONE, tangent_patch(CONE, 0.05, 140.0), u)
    us = places(CONE)
    assert np.abs(gore.to_flat(us) - paper.to_flat(us)).max() < 1e-8
    assert np.abs(gore.stretches(us) - 1).max() < 1e-6


def test_on_a_sphere_it_is_the_polyconic_projection() -> None:
    """PROJ's `poly` on a sphere of 63.7 mm, over the band that a limb can describe (|C'| < 2 pi)."""
    r = 63.7
    s = np.linspace(-60, 60, 241)
    ball = Limb(tuple(Level(f"l{i}", float(v), float(2 * np.pi * r * np.cos(v / r))) for i, v in enumerate(s)))
    us = np.column_stack([np.linspace(-0.15, 0.15, 31), np.linspace(-40, 40, 31)])
    proj = Proj(proj="poly", R=r, lat_0=0, lon_0=0)
    theirs = np.column_stack(proj(us[:, 0] * 360, np.degrees(us[:, 1] / r)))
    ours = Gore(ball, 0.0, 0.0).to_flat(us)
    assert np.abs(ours - theirs).max() < 0.02  # the levels' girths are interpolated


def test_gores_of_a_spine_meet_along_it_and_part_beyond() -> None:
    spine = tangent_patch(ARM, 0.0, 300.0)
    a, b = gore_on(ARM, spine, -0.1), gore_on(ARM, spine, 0.1)
    along = np.column_stack([np.linspace(-0.2, 0.2, 17), np.full(17, 300.0)])
    assert np.abs(a.to_flat(along) - b.to_flat(along)).max() < 1e-9
    assert np.abs(a.to_flat(along) - spine.to_flat(along)).max() < 1e-9
    edge = np.array([[0.0, 190.0]])
    assert np.hypot(*(a.to_flat(edge) - b.to_flat(edge))[0]) > 1.0


def test_stretch_grows_with_the_square_of_the_width() -> None:
    """Off the middle line paper is stretched along by K x^2 / 2 (Snyder 1987, chapter 18, for the sphere)."""
    gore = Gore(ARM, 0.0, 260.0)
    c = float(ARM.girth(250.0))
    curve = -(float(ARM.slope(250.5)) - float(ARM.slope(249.5))) / c
    for x in (10.0, 20.0):
        most = np.abs(gore.stretches(np.array([[x / c, 250.0]])) - 1).max()
        assert most == pytest.approx(abs(curve) * x * x / 2, rel=0.15)


def test_back_from_paper_is_the_identity() -> None:
    gore = gore_on(ARM, tangent_patch(ARM, 0.1, 300.0), -0.05)
    us = places(ARM, 0.1)
    assert np.abs((gore.to_skin(gore.to_flat(us)) - us) * (300.0, 1.0)).max() < 1e-7
