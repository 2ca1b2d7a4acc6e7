"""Tone steps, their marks on a stencil, and what they keep on skin."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from coloraide import Color
from estuary_pictures import gull, on_paper

from composer.art.on_skin import INK, SEEN, STRENGTH, said, steps_on_skin
from composer.art.pixels import polygons
from composer.art.raster_read import Picture
from composer.art.silhouette import by_background, by_frame
from composer.art.tones import STEPS, ToneWish, guided, posterise, tone_levels
from web.paint import ink


def bars(*greys: int) -> Picture:
    """Upright bars of these greys, 100 pixels wide each."""
    row = np.repeat(np.array(greys, np.uint8), 100)
    return Picture(np.repeat(np.repeat(row[None, :, None], 300, 0), 3, 2), None, None, "PNG")


def test_bars_fall_into_their_steps() -> None:
    """Five greys with L* 5, 30, 50, 72, 97 (CIE 15) are black, dark, mid, light and open; edges within a pixel."""
    picture = bars(15, 71, 119, 177, 246)
    tones = posterise(picture, by_frame(picture).area, ToneWish(simple=0.2))
    for i, step in enumerate(STEPS):
        assert tones.shares[step] == pytest.approx(0.2, abs=0.01), step
        assert tones.areas[step].bounds == pytest.approx((100 * i, 0, 100 * (i + 1), 300), abs=2), step
    assert tones.shares["open"] == pytest.approx(0.2, abs=0.01)


def test_steps_never_overlap_and_add_up() -> None:
    rgb, cover = gull(640, 480)
    picture = Picture(on_paper(rgb, cover), None, None, "JPEG")
    area = by_background(picture).area
    for wish in (ToneWish(), ToneWish(thirds=1.0), ToneWish(lift=0.1, simple=0.0), ToneWish(steps=("black", "mid"))):
        tones = posterise(picture, area, wish)
        assert sum(tones.shares.values()) == pytest.approx(1, abs=2e-3)
        parts = [tones.areas[s] for s in STEPS]
        joined = shapely.union_all(parts)
        assert joined.area == pytest.approx(sum(p.area for p in parts), rel=1e-6)
        assert joined.difference(area.buffer(0.01)).area < 1e-6
        assert all(p.is_valid for p in parts)
        assert all(parts[i].is_empty for i, s in enumerate(STEPS) if s not in wish.steps)


def test_lift_and_thirds() -> None:
    ramp = np.linspace(0.05, 0.95, 5000)
    dark, usual, light = (tone_levels(ramp, ToneWish(lift=v)) for v in (0.1, 0.5, 0.9))
    assert (light < usual).all() and (usual < dark).all() and (np.diff(usual) > 0).all()
    skewed = ramp**3
    levels = tone_levels(skewed, ToneWish(thirds=1.0))
    assert (skewed < levels[1]).mean() == pytest.approx(1 / 3, abs=0.01)
    assert (skewed < levels[3]).mean() == pytest.approx(2 / 3, abs=0.01)
    flat = tone_levels(np.full(100, 0.9), ToneWish())
    assert (flat < 0.9).all(), "one light tone stays open"


def test_small_patches_go_to_what_lies_round_them() -> None:
    picture = bars(245, 245, 245)
    rgb = picture.rgb.copy()
    rng = np.random.default_rng(2)
    for x, y in rng.integers(10, 290, (40, 2)):
        rgb[y:y + 3, x:x + 3] = 20
    rgb[100:200, 100:200] = 20
    spotted = Picture(rgb, None, None, "PNG")
    black = posterise(spotted, by_frame(spotted).area, ToneWish(simple=0.6)).areas["black"]
    assert len(polygons(black)) == 1 and black.area == pytest.approx(100 * 100, rel=0.06)


def test_the_guided_filter_keeps_edges_and_loses_grain() -> None:
    light = np.full((80, 120), 0.3, np.float32)
    light[:, 60:] = 0.8
    grain = light + np.random.default_rng(3).normal(0, 0.03, light.shape).astype(np.float32)
    out = guided(grain, 5, 0.06)
    assert out[20:60, 10:50].std() < 0.5 * grain[20:60, 10:50].std()
    assert out[40, 63] - out[40, 56] > 0.8 * 0.5


@pytest.mark.parametrize("skin", [(243, 223, 204), (198, 140, 100), (90, 56, 37)])
def test_contrast_on_skin_against_a_colour_library(skin: tuple[int, int, int]) -> None:
    """L* (CIE 15) and contrast (WCAG 2.2) of the mixed colours by coloraide."""
    bare = Color("srgb", [v / 255 for v in skin])
    last = bare.convert("lab-d65")["lightness"]
    steps = {s.step: s for s in steps_on_skin(skin)}
    for name in ("light", "mid", "dark", "black"):
        colour = Color("srgb", [v / 255 for v in steps[name].rgb])
        level = colour.convert("lab-d65")["lightness"]
        assert steps[name].drop == pytest.approx(bare.convert("lab-d65")["lightness"] - level, abs=0.05)
        assert steps[name].from_next == pytest.approx(last - level, abs=0.05) and steps[name].from_next > 0
        assert steps[name].ratio == pytest.approx(bare.contrast(colour, method="wcag21"), rel=3e-3)
        last = level


def test_the_sentence_knows_the_skin() -> None:
    assert "only softly" in said(steps_on_skin((243, 223, 204)), STEPS)
    assert "clear" in said(steps_on_skin((243, 223, 204)), ("black", "dark"))
    dark = steps_on_skin((90, 56, 37))
    assert "hardly" in said(dark, STEPS) and f"{SEEN:.0f} L*" in said(dark, STEPS)
    assert "even black" in said(steps_on_skin((58, 36, 27)), STEPS)


def test_painted_as_the_desk_paints() -> None:
    assert "#{:02x}{:02x}{:02x}".format(*INK) == ink.INK
    assert {s: v for s, v in STRENGTH.items() if s != "black"} == ink.TONES
