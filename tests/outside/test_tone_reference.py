"""Tone beside a piece and the fall across a line, against a colour library and a spline of another library."""

from __future__ import annotations

import numpy as np
import pytest
from coloraide import Color
from scipy.interpolate import CubicHermiteSpline

from composer.art.on_skin import INK
from composer.compose.tone_contrast import APART, DARKEST, ROOM, on_skin_of
from composer.compose.tone_field import ease

SKINS = ("#f3dfcc", "#c68d5e", "#7a4f33", "#4a2f20")


@pytest.mark.parametrize("colour", SKINS)
def test_lightness_of_background_is_cie_lab_of_light_mixed_as_light(colour: str) -> None:
    """CIE 15 L* (D65) of skin and ink mixed in XYZ, as coloraide (an independent implementation) has it."""
    ink, bare = Color("srgb", [v / 255 for v in INK]), Color(colour)
    skin = on_skin_of(colour)
    for tone in (0.0, 0.2, 0.5, 1.0):
        mixed = bare.mix(ink, DARKEST * tone, space="xyz-d65")
        assert float(skin.lightness(tone)) == pytest.approx(mixed.convert("lab-d65")["lightness"], abs=0.05)


@pytest.mark.parametrize("colour", SKINS[:3])
def test_the_bound_is_a_true_difference_of_lightness(colour: str) -> None:
    ink, bare, skin = Color("srgb", [v / 255 for v in INK]), Color(colour), on_skin_of(colour)
    light, dark = (bare.mix(ink, a, space="xyz-d65").convert("lab-d65")["lightness"] for a in (0.0, DARKEST))
    apart, kept = min(APART, ROOM * (light - dark)), 0
    for tone, share in ((0.5, 0.35), (0.4, 0.1), (0.8, 0.4), (0.7, 0.3)):
        piece = bare.mix(ink, share, space="xyz-d65").convert("lab-d65")["lightness"]
        new = skin.beside(tone, piece)
        seen = bare.mix(ink, DARKEST * new, space="xyz-d65").convert("lab-d65")["lightness"]
        if 0 < new < 1:
            assert abs(seen - piece) >= apart - 0.1
            kept += 1
    assert kept >= 3, "else nothing was compared"


def test_the_fall_is_the_hermite_cubic_with_level_ends() -> None:
    cubic = CubicHermiteSpline([0, 1], [0, 1], [0, 0])
    x = np.linspace(0, 1, 101)
    assert np.abs(ease(x) - cubic(x)).max() < 1e-12
    assert ease(np.array([-2.0, 3.0])).tolist() == [0.0, 1.0]
