"""How tones are marked on a stencil: blacks outlined, shade borders dotted, highlights dashed."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely

from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.sheets.stencil_art import DOT_EVERY_MM, DOT_MM, OPEN, art_of, dots


def toned() -> Drawing:
    """A round buoy: black core, rings of dark, mid and light, and a highlight left open in the middle of the dark."""
    def rings(a: float, b: float) -> tuple[np.ndarray, ...]:
        middle = shapely.Point(0, 0)
        return geometry_to_rings(middle.buffer(a, 32).difference(middle.buffer(b, 32)) if b else middle.buffer(a, 32))
    glint = shapely.Point(8, 0).buffer(1.6, 16)
    dark = shapely.Point(0, 0).buffer(12, 32).difference(shapely.Point(0, 0).buffer(5, 32)).difference(glint)
    return Drawing(geometry_to_rings(shapely.Point(0, 0).buffer(30, 32)), (
        Layer("light", rings(24, 18)), Layer("mid", rings(18, 12)), Layer("dark", geometry_to_rings(dark)),
        Layer("black", rings(5, 0))))


def test_marks_by_step() -> None:
    art = art_of([toned()])
    by = dict(art.borders)
    rim = shapely.get_coordinates(art.blacks)
    assert np.hypot(*rim.T) == pytest.approx(5, abs=0.3) and len(art.crosses) == 1
    every = []
    for step, radius in (("dark", 12), ("mid", 18), ("light", 24)):
        here = dots(by[step], DOT_EVERY_MM[step])
        every.append(here)
        rim = here[np.abs(np.hypot(*here.T) - radius) < 0.1]
        assert len(rim) == pytest.approx(2 * np.pi * radius / DOT_EVERY_MM[step], abs=2), step
        apart = np.sort(np.hypot(*(rim[:, None] - rim[None]).transpose(2, 0, 1)), axis=1)[:, 1]
        assert apart == pytest.approx(DOT_EVERY_MM[step], rel=0.05)
    all_of_them = np.concatenate(every)
    gaps = np.sort(np.hypot(*(all_of_them[:, None] - all_of_them[None]).transpose(2, 0, 1)), axis=1)[:, 1]
    assert gaps.min() > DOT_MM, "no border is marked twice"
    (glint,) = shapely.get_parts(by[OPEN])
    assert glint.length == pytest.approx(2 * np.pi * 1.6, rel=0.05)
    assert np.hypot(*(shapely.get_coordinates(glint) - (8, 0)).T) == pytest.approx(1.6, abs=0.1)


def test_bare_skin_between_lines_is_no_highlight() -> None:
    """Cells of line work, and open skin along the rim, need no mark."""
    rim, hole = shapely.box(0, 0, 30, 30), shapely.box(8, 8, 22, 22)
    lined = Layer("line", geometry_to_rings(rim.boundary.buffer(0.4).union(hole.boundary.buffer(0.4))))
    shade = Layer("mid", geometry_to_rings(shapely.box(1, 1, 7, 7)))
    assert OPEN not in dict(art_of([Drawing(geometry_to_rings(rim), (shade, lined))]).borders)


def test_spacings_are_told_apart() -> None:
    steps = sorted(DOT_EVERY_MM.values())
    assert steps[0] > 2 * DOT_MM and all(b / a > 1.4 for a, b in pairwise(steps))


def test_plain_drawings_carry_no_marks() -> None:
    art = art_of([Drawing(geometry_to_rings(shapely.box(0, 0, 30, 30)), ())])
    assert art.blacks.is_empty and art.borders == () and art.names == () and len(art.crosses) == 0
