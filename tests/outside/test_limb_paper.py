"""Rigid paper on arm and leg against an as-rigid-as-possible flattening of the very skin that it covers.

Source: libigl (ARAP after Liu et al. 2008, 'A Local/Global Approach to Mesh Parameterization'). The limbs are those on
which the patch chart was tried before it was built (synthetic, ends of a sphere at the cap).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from test_yoke_paper import apart, as_rigid_as_possible, grid

from composer.body.limb import Level, Limb
from composer.body.patch import Patch, lay_patch_under

CAP = tuple((490.0 + t, 400.0 * float(np.cos(t / 63.7))) for t in (14.0, 28.0, 42.0, 56.0, 70.0))
ARM = Limb(tuple(Level(f"{s:.0f}", s, girth, float(np.interp(s, [0, 490], [1.40, 0.88]))) for s, girth in (
    (0.0, 170.0), (60.0, 190.0), (190.0, 280.0), (250.0, 265.0), (370.0, 330.0), (430.0, 350.0), (490.0, 400.0), *CAP)))
LEG = Limb(tuple(Level(f"{s:.0f}", s, girth) for s, girth in (
    (0.0, 225.0), (60.0, 235.0), (270.0, 380.0), (350.0, 345.0), (400.0, 390.0), (570.0, 530.0), (740.0, 600.0))))
PLACES = [(ARM, 120.0, 3.0), (ARM, 250.0, 5.0), (ARM, 370.0, 3.0), (ARM, 430.0, 3.0),
          (LEG, 150.0, 3.0), (LEG, 350.0, 5.0), (LEG, 600.0, 3.0)]
"""Limb, level, and the house's own bar in mm: 3 off the joints, 5 at elbow (250) and knee (350)."""
ROUND = np.column_stack([f(np.linspace(0, 2 * np.pi, 120, endpoint=False)) for f in (np.cos, np.sin)]) * 100.0


def off(limb: Limb, patch: Patch, xy: np.ndarray, faces: np.ndarray) -> float:
    """How far paper lies from the flattened skin that it covers, mm."""
    return apart(as_rigid_as_possible(limb.embed(patch.to_skin(xy)), faces, xy), xy)


def best_of_all(limb: Limb, patch: Patch, xy: np.ndarray, faces: np.ndarray) -> float:
    """What the best of all cones at this anchor is off, mm, by simplex search (Nelder and Mead 1965) from ours."""
    def tried(v: np.ndarray) -> float:
        return off(limb, Patch(patch.u0, patch.s0_mm, v[0] * patch.c1_mm, patch.b + v[1]), xy, faces)

    return float(minimize(tried, [1.0, 0.0], method="Nelder-Mead", options={
        "initial_simplex": [[1, 0], [1.02, 0], [1, 0.05]], "maxfev": 50, "xatol": 1e-3, "fatol": 0.02}).fun)


@pytest.mark.parametrize("wide", [0.6, 1.0])
@pytest.mark.parametrize(("limb", "s_mm", "most"), PLACES)
def test_a_rigid_piece_of_200_mm_lies_as_flattened_skin(limb: Limb, s_mm: float, most: float, wide: float) -> None:
    """A round piece of 200 mm, and one of 200 by 120 mm, as tall motifs are; in front, outside, behind and, where an
    elliptic section makes the skin run aslant, between them."""
    xy, faces = grid(100.0)
    xy = xy * (wide, 1.0)
    for u in (0.0, 0.2, 0.35, 0.5):
        assert off(limb, lay_patch_under(limb, u, s_mm, [ROUND * (wide, 1.0)]), xy, faces) < most


@pytest.mark.parametrize(("limb", "s_mm", "most"), PLACES)
def test_no_other_cone_fits_a_round_piece_much_better(limb: Limb, s_mm: float, most: float) -> None:
    xy, faces = grid(100.0, 25)
    patch = lay_patch_under(limb, 0.2, s_mm, [ROUND])
    best = best_of_all(limb, patch, xy, faces)
    assert 0.2 < best < most
    assert off(limb, patch, xy, faces) < best + 0.8


@pytest.mark.parametrize(("limb", "s_mm", "most"), [(ARM, 120.0, 3.6), (ARM, 250.0, 5.0), (ARM, 370.0, 3.0),
                                                    (ARM, 430.0, 6.1), (LEG, 150.0, 3.0), (LEG, 350.0, 7.4),
                                                    (LEG, 600.0, 3.0)])
def test_a_square_of_200_mm_lies_as_well_as_paper_can(limb: Limb, s_mm: float, most: float) -> None:
    """Its corners reach 141 mm: the bars (3 mm, 5 at the joints) are kept but on the forearm (3.4), below the cap (6.0)
    and at the knee (7.3), where the best of all cones is 3.3, 5.6 and 6.8 mm off."""
    x = np.linspace(-1.0, 1.0, 25)
    xy = np.stack(np.meshgrid(x, x), axis=-1).reshape(-1, 2) * 100.0
    a = (np.arange(24)[:, None] * 25 + np.arange(24)).ravel()
    faces = np.concatenate([np.column_stack([a, a + 1, a + 26]), np.column_stack([a, a + 26, a + 25])])
    square = np.array([[-100.0, -100.0], [100.0, -100.0], [100.0, 100.0], [-100.0, 100.0]])
    for u in (0.0, 0.25, 0.35):
        patch = lay_patch_under(limb, u, s_mm, [square])
        assert off(limb, patch, xy, faces) < most
