"""Tones of a drawing, against areas known by hand and against what the reader of drawings measured by shapely."""

from __future__ import annotations

import numpy as np
import pytest

from composer.art.drawing import Drawing, Layer
from composer.art.tone_shares import tones_of
from composer.demo import house_shelf


def square(side: float, x: float = 0.0) -> np.ndarray:
    return np.array([[-side, -side], [side, -side], [side, side], [-side, side]]) / 2 + (x, 0.0)


def test_known_squares() -> None:
    art = Drawing((square(100.0),), (Layer("mid", (square(60.0),)), Layer("line", (square(60.0), square(40.0)))))
    got = tones_of(art)
    assert sum(got.values()) == pytest.approx(1.0)
    assert got["black"] == pytest.approx(0.20, abs=0.012) and got["mid"] == pytest.approx(0.16, abs=0.012)
    assert got["open"] == pytest.approx(0.64, abs=0.012) and got["dark"] == 0


def test_nothing_drawn_is_open_skin() -> None:
    assert tones_of(Drawing((square(50.0),), ()))["open"] == 1.0
    assert tones_of(Drawing((np.zeros((3, 2)),), ()))["open"] == 1.0


@pytest.mark.parametrize("name", ["heron", "moth", "eel_anchor"])
def test_the_houses_motifs_as_their_side_files_have_them(name: str) -> None:
    motif, art = house_shelf()[name]
    got = tones_of(art)
    for tone, share in motif.side["tones"].items():
        assert got[tone] == pytest.approx(share, abs=0.02), tone
