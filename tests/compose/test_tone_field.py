"""The field of tone: no seam, falls off at lines and cuffs, keeps apart from its neighbours."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skin_cases import ARM, TUBE, box, disc, put

from composer.art.drawing import Drawing, Layer
from composer.compose.tone_contrast import APART, on_skin_of
from composer.compose.tone_field import HOLD_MM, ToneField, larger_side, tone_field
from composer.plan.extents import EdgeLine, Extent
from composer.plan.model import Hand, Settings
from composer.plan.scene import Laid, Scene
from composer.plan.shade_lines import Shade, ShadeLine

sys.path.insert(0, str(Path(__file__).parents[1] / "body"))
from panel_cases import places, typical

ROUND = ShadeLine("a", ((0.1, 150.0), (0.5, 175.0), (0.9, 152.0)), 1, 40.0)


def field(limb: object = ARM, *lines: ShadeLine, laid: tuple[Laid, ...] = (), cuff: float = 0.0, dark: float = 0.5,
          sleeve: Extent | None = None, contrast: bool = True) -> ToneField:
    scene = Scene(limb, -0.5, laid, shade=Shade(tuple(lines), cuff, contrast), sleeve=sleeve)
    return tone_field(scene, Settings(hand=Hand(dark=dark)))


def spread(n: int = 3000, seed: int = 3) -> np.ndarray:
    return np.random.default_rng(seed).uniform((-1.5, 0), (1.5, 490), (n, 2))


def grey(share: float, size: float = 60.0) -> Drawing:
    """A disc of which about so much is black, in rings alike all over."""
    rings = [disc(r) for r in np.linspace(size / 2, 1.0, 24)]
    black = [x for r, wide in zip(rings, [size / 48] * 24, strict=True)
             for x in (r, r * (1 - share * wide / np.hypot(*r[0])))]
    return Drawing((disc(size / 2),), (Layer("black", tuple(black)),))


@pytest.mark.parametrize("line", [
    ROUND, replace(ROUND, side=-1), replace(ROUND, points=tuple(reversed(ROUND.points))),
    ShadeLine("up", ((0.2, 60.0), (0.3, 400.0)), 1, 30.0), ShadeLine("over", ((0.1, 200.0), (1.2, 230.0)), -1, 30.0),
    ShadeLine("loop", ((0.1, 200.0), (0.3, 200.0), (0.3, 300.0), (0.1, 300.0), (0.1, 205.0)), 1, 20.0)])
def test_there_is_no_seam_and_no_jump(line: ShadeLine) -> None:
    f, us = field(ARM, line, cuff=26.0), spread()
    for turns in (1.0, -3.0):
        assert np.abs(f.tone(np.add(us, (turns, 0.0))) - f.tone(us)).max() < 1e-9
    for step in ((0.1 / 200, 0.0), (0.0, 0.1)):    # 0.1 mm further the tone is nearly the same, all over
        assert np.abs(f.open(us + step) - f.open(us)).max() < 0.1 * 2 * 1.5 / line.fall_mm
    assert f.tone(us).min() >= 0 and f.tone(us).max() <= 0.5 + 1e-12


def test_across_a_line_tone_falls_steadily_from_full_to_nothing() -> None:
    f = field(ARM, ROUND)
    for u in np.linspace(0, 1, 9):
        up = f.open(np.column_stack([np.full(400, u), np.linspace(5, 485, 400)]))
        assert (np.diff(up) >= -1e-9).all() and up[0] == 0 and up[-1] == 1
    (reach, fall), = f.reaches
    on = np.interp(np.linspace(0.1, 0.9, 50), [p[0] for p in ROUND.points], [p[1] for p in ROUND.points])
    at = np.column_stack([np.linspace(0.1, 0.9, 50), on])
    assert np.abs(reach.depth_mm(at)).max() < 0.2 and f.open(at).max() < 1e-3
    assert (f.open(np.add(at, (0.0, 1.5 * fall))) == 1).all() and (f.open(at - (0.0, 1.0)) == 0).all()


def test_the_other_side_and_the_other_way_of_drawing_change_places() -> None:
    us = spread()
    swapped, back = (field(ARM, x).reaches[0][0] for x in (
        replace(ROUND, side=-1), replace(ROUND, points=tuple(reversed(ROUND.points)))))
    here = field(ARM, ROUND).reaches[0][0]
    assert (here.inside(us) != swapped.inside(us)).all()
    assert np.abs(here.depth_mm(us) + swapped.depth_mm(us)).max() < 1e-9
    near = np.abs(here.depth_mm(us)) > 25   # carried on round the back from the other end, the line lies otherwise
    assert (here.inside(us) != back.inside(us))[near].all()


def test_depth_is_true_on_a_cylinder() -> None:
    slope = 0.5
    points = tuple((u, 120 + 260 * u * slope) for u in (0.0, 0.2, 0.4))
    reach = field(TUBE, ShadeLine("s", points, 1, 30.0)).reaches[0][0]
    a = np.array([(0.1, 120 + 26 * slope), (0.25, 120 + 65 * slope), (0.3, 120 + 78 * slope)])
    for d in (-30.0, -4.0, 6.0, 25.0):
        off = d * np.array([-slope, 1.0]) / np.hypot(1, slope) / (260, 1)
        assert reach.depth_mm(a + off) == pytest.approx([d] * 3, abs=0.05)


def test_a_line_along_the_limb_shades_the_half_turn_beside_it() -> None:
    f = field(TUBE, ShadeLine("up", ((0.2, 60.0), (0.2, 340.0)), -1, 30.0))    # drawn upwards: its right
    at = np.column_stack([np.array([0.1, 0.19, 0.21, 0.45, 0.69, 0.71, 0.9]), np.full(7, 200.0)])
    assert f.open(at) == pytest.approx([0, 0, 0.0227, 1, 0.0227, 0, 0], abs=2e-3)
    assert f.open(np.add(at, (0.0, 150.0))) == pytest.approx(f.open(at)), "carried on to both ends"


def test_lines_on_chest_and_back_go_on_to_the_edges() -> None:
    panel = typical("chest")
    us = places(panel, 400)
    level = ShadeLine("low", ((-0.05, 90.0), (0.06, 90.0)), 1, 40.0)
    f = field(panel, level, cuff=26.0)
    assert (f.open(us)[us[:, 1] < 89] == 0).all() and (f.open(us)[us[:, 1] > 140] == 1).all()
    assert (f.tone(us)[us[:, 1] > 140] == 0.5).all(), "chest and back have no cuffs"
    upright = field(panel, ShadeLine("mid", ((0.0, 60.0), (0.0, 120.0)), 1, 40.0))
    assert (upright.open(us)[us[:, 0] > 0.002] == 0).all() and (upright.open(us)[us[:, 0] < -0.07] == 1).all()
    assert larger_side(panel, level) == 1


def test_cuffs_fall_off_over_the_length_that_was_set() -> None:
    us = np.column_stack([np.full(5, 0.3), [0.0, 13.0, 26.0, 200.0, 477.0]])
    assert field(ARM, cuff=26.0).tone(us) == pytest.approx([0, 0.25, 0.5, 0.5, 0.25])
    assert field(ARM, cuff=0.0).tone(us) == pytest.approx([0.5] * 5)


def test_edges_of_a_sleeve_count_as_they_are_formed() -> None:
    sleeve = Extent(EdgeLine("", 100.0, "fading", 40.0), EdgeLine("", 400.0, "wavy", 20.0))
    f = field(ARM, cuff=30.0, sleeve=sleeve)
    us = np.column_stack([np.full(4, 0.0), [99.0, 120.0, 250.0, 385.0]])
    assert f.open(us) == pytest.approx([0, 0.5, 1, 1]) and f.tone(us) == pytest.approx([0, 0.25, 0.5, 0.25])
    wave = f.cuff(np.column_stack([np.linspace(0, 1, 200, endpoint=False), np.full(200, 385.0)]))
    assert np.ptp(wave) > 0.3


@pytest.mark.parametrize("share", [0.0, 0.15, 0.35, 0.6, 1.0])
@pytest.mark.parametrize("dark", [0.15, 0.5, 0.9])
def test_beside_a_piece_the_bound_is_kept(share: float, dark: float) -> None:
    laid = put(ARM, "post", grey(share), 0.0, 250.0)
    f, skin = field(ARM, laid=(laid,), dark=dark), on_skin_of(Settings().skin)
    beside, far = laid.patch.to_skin(disc(30 + HOLD_MM - 0.2)), laid.patch.to_skin(disc(60))
    piece = f.lights["post"]
    apart = skin.lightness(f.tone(beside)) - piece
    assert np.abs(apart).min() >= APART - 0.05
    assert f.tone(far) == pytest.approx(np.full(len(far), dark))
    own = float(skin.lightness(dark))
    if abs(own - piece) < APART and 0 <= skin.tone(piece + np.copysign(APART, own - piece)) <= 1:
        assert (np.sign(apart) == (1 if piece <= own else -1)).all(), "lighter beside a dark one, darker beside a light"
    off = field(ARM, laid=(laid,), dark=dark, contrast=False)
    assert (off.tone(beside) == dark).all()


@settings(max_examples=80, deadline=None)
@given(st.floats(0, 1), st.floats(5, 95), st.sampled_from(["#f3dfcc", "#c68d5e", "#5a3a26", "#201512"]))
def test_the_bound_is_kept_wherever_skin_and_ink_leave_room(tone: float, piece: float, colour: str) -> None:
    skin = on_skin_of(colour)
    new = skin.beside(tone, piece)
    gap = abs(float(skin.lightness(new)) - piece)
    best = max(abs(float(skin.lightness(t)) - piece) for t in (0.0, 1.0))
    assert 0 <= new <= 1
    assert gap >= min(skin.apart, best) - 1e-6
    if abs(float(skin.lightness(tone)) - piece) >= skin.apart:
        assert new == tone


def test_shading_starts_from_where_there_is_more_skin() -> None:
    low, high = (ShadeLine("x", ((0.0, s), (0.5, s)), 1, 40.0) for s in (100.0, 420.0))
    assert (larger_side(ARM, low), larger_side(ARM, high)) == (1, -1)
    assert larger_side(ARM, ShadeLine("x", ((0.0, 300.0), (0.5, 300.0)), 1, 40.0), (replace(low, id="y"),)) == 1


def test_pieces_of_no_ink_and_fillers_are_no_fault() -> None:
    bare = put(ARM, "bare", Drawing(box(40, 40).silhouette, ()), 0.1, 200.0)
    assert np.isfinite(field(ARM, laid=(bare,)).tone(spread())).all()
