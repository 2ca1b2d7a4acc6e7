"""Cones and cylinders against the sheet-metal pattern for a frustum.

Source: radial-line development as taught in sheet-metal pattern drafting, formula from memory:
for end diameters D > d and slant height L the outer radius is R = L D / (D - d), the inner one
R - L, and the sector opens to 180 D / R degrees. A cylinder unrolls to pi D by its height.
"""

from __future__ import annotations

import numpy as np
import pytest

from composer.body.limb import Level, Limb
from composer.body.metric import distance
from composer.body.sheet import unroll


def frustum(d_mm: float, big_mm: float, slant_mm: float) -> Limb:
    return Limb((Level("a", 0.0, np.pi * d_mm), Level("b", slant_mm, np.pi * big_mm)))


@pytest.mark.parametrize(("d", "big", "slant"), [(50, 90, 250), (55, 98.7, 267.9), (80, 82, 300), (30, 120, 150)])
def test_sheet_of_a_cone_is_the_handbook_sector(d: float, big: float, slant: float) -> None:
    outer = slant * big / (big - d)
    inner, sector = outer - slant, np.radians(180 * big / outer)
    sheet = unroll(frustum(d, big, slant), seam_u=-0.5)
    ring = sheet.border()
    apex = np.array([0.0, -(inner + slant / 2)])     # below the middle of the sheet, on its axis
    radius = np.hypot(*(ring - apex).T)
    angle = np.arctan2(ring[:, 0], ring[:, 1] - apex[1])
    on_edge = np.minimum(np.abs(radius - inner), np.abs(radius - outer)) < 1e-7
    on_cut = np.abs(np.abs(angle) - sector / 2) < 1e-9
    assert np.all(on_edge | on_cut)
    assert np.ptp(radius) == pytest.approx(slant, abs=1e-7) and np.ptp(angle) == pytest.approx(sector, abs=1e-9)


def test_mean_forearm_opens_to_its_sector() -> None:
    # Means of ANSUR II men (2012): wrist 175.92, forearm 310.06, radiale-stylion 267.88 mm; by the
    # formula above 360 (310.06 - 175.92) / (2 pi 267.88) = 28.69 degrees.
    limb = Limb((Level("wrist", 0, 175.92), Level("forearm", 267.88, 310.06)))
    assert np.degrees(unroll(limb).patch.b) == pytest.approx(28.69, abs=0.005)


def test_a_cylinder_unrolls_to_a_rectangle() -> None:
    ring = unroll(frustum(100, 100, 300)).border()
    assert np.ptp(ring[:, 0]) == pytest.approx(100 * np.pi, abs=1e-9)
    assert np.ptp(ring[:, 1]) == pytest.approx(300, abs=1e-9)
    x, y = np.abs(ring[:, 0]), np.abs(ring[:, 1])
    assert np.all(np.isclose(x, 50 * np.pi) | np.isclose(y, 150))


def test_shortest_way_on_a_cone_is_the_chord_of_the_sector() -> None:
    # Law of cosines in the developed sector of a cone 30 -> 120 mm over 150 mm of slant.
    inner, per_turn = 150 * 30 / (120 - 30), np.pi * (120 - 30) / 150
    r1, r2, turn = inner + 20, inner + 130, per_turn * 0.4
    chord = np.sqrt(r1**2 + r2**2 - 2 * r1 * r2 * np.cos(turn))
    told = distance(frustum(30, 120, 150), np.array([0.8, 20]), np.array([1.2, 130]))
    assert told[0] == pytest.approx(chord, abs=1e-8)
