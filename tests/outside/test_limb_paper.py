"""Rigid paper on arm and leg against an as-rigid-as-possible flattening of the very skin that it covers.

Source: libigl (ARAP after Liu et al. 2008, 'A Local/Global Approach to Mesh Parameterization'). The limbs are those on
which the patch chart was tried before it was built (synthetic, ends of a sphere at the cap).
"""

from __future__ import annotations

import numpy as np
import pytest
from test_yoke_paper import apart, as_rigid_as_possible, grid

from composer.body.limb import Level, Limb
from composer.body.patch import lay_patch

CAP = tuple((490.0 + t, 400.0 * float(np.cos(t / 63.7))) for t in (14.0, 28.0, 42.0, 56.0, 70.0))
ARM = Limb(tuple(Level(f"{s:.0f}", s, girth, float(np.interp(s, [0, 490], [1.40, 0.88]))) for s, girth in (
    (0.0, 170.0), (60.0, 190.0), (190.0, 280.0), (250.0, 265.0), (370.0, 330.0), (430.0, 350.0), (490.0, 400.0), *CAP)))
LEG = Limb(tuple(Level(f"{s:.0f}", s, girth) for s, girth in (
    (0.0, 225.0), (60.0, 235.0), (270.0, 380.0), (350.0, 345.0), (400.0, 390.0), (570.0, 530.0), (740.0, 600.0))))


WIDE = 0.6
"""The piece is 200 mm long and 120 wide, as tall motifs are."""


@pytest.mark.parametrize(("limb", "s_mm", "most"), [
    (ARM, 120.0, 3.0), (ARM, 250.0, 5.0), (ARM, 370.0, 3.0), (LEG, 150.0, 3.0), (LEG, 350.0, 5.0), (LEG, 600.0, 3.0)])
def test_a_rigid_piece_of_200_mm_lies_as_flattened_skin(limb: Limb, s_mm: float, most: float) -> None:
    """The house's own bar: 3 mm off the joints, 5 mm at elbow (250) and knee (350). Nearer to the cap it
    is missed: 3.35 mm at 430."""
    patch = lay_patch(limb, 0.2, s_mm, 100.0, 100.0)
    xy, faces = grid(100.0)
    xy = xy * (WIDE, 1.0)
    assert apart(as_rigid_as_possible(limb.embed(patch.to_skin(xy)), faces, xy), xy) < most
