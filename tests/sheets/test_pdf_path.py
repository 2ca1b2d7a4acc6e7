"""Path text against ISO 32000-1 as PDFium and qpdf read it, and against Douglas and Peucker's promise."""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np
import pikepdf
import pypdfium2
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.pdfgen.canvas import Canvas

from composer.sheets.paper import POINT_MM, Frame
from composer.sheets.pdf_file import end_form, new_pdf
from composer.sheets.pdf_path import UNIT_MM, fill_rings, path_text
from composer.sheets.unrolled import thinned

NUMBER = st.integers(0, 10**6)


@settings(deadline=None)
@given(st.lists(st.lists(st.tuples(NUMBER, NUMBER), min_size=1, max_size=6), min_size=1, max_size=5))
def test_path_text_says_every_number_and_moves_once_a_ring(rings) -> None:
    text = path_text(np.array([p for r in rings for p in r]), np.array([len(r) for r in rings]))
    assert text == "".join(f"{x} {y} {'l' if i else 'm'}\n" for r in rings for i, (x, y) in enumerate(r))


def page_with(rings: list[np.ndarray], scale: float = 1.0) -> bytes:
    canvas, out = new_pdf(Frame(100, 80), "one shape")
    canvas.translate(50 / POINT_MM, 40 / POINT_MM)
    canvas.scale(1 / scale, 1 / scale)
    fill_rings(canvas, rings, 0.0, scale)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


@pytest.mark.parametrize("scale", [1.0, 3.5])
def test_rings_are_filled_even_odd_where_they_are(scale: float) -> None:
    """Area of ink on the raster against shapely's, a hole in it, coordinates on both sides of the origin."""
    t = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    star = np.column_stack([np.cos(t), np.sin(t)]) * (22 + 6 * np.cos(5 * t))[:, None] * scale
    hole = star * 0.4 + (1.0, -2.0)
    grey = np.squeeze(pypdfium2.PdfDocument(page_with([star, hole], scale))[0].render(
        scale=600 / 72, grayscale=True).to_numpy())
    px = 25.4 / 600
    shape = shapely.Polygon(star / scale, [hole / scale])
    assert ((255 - grey) / 255).sum() * px**2 == pytest.approx(shape.area, rel=1e-3)
    rows, columns = np.nonzero(grey < 128)
    middle = np.array([columns.mean() * px - 50, 80 - rows.mean() * px - 40])
    assert middle == pytest.approx(np.array(shape.centroid.coords[0]), abs=0.05)


@pytest.mark.parametrize("words", ["plain", "Möwe"])
def test_a_form_that_is_pressed_beside_the_page_is_the_form_that_reportlab_writes(words: str) -> None:
    def made(end: Callable[[Canvas], None]) -> bytes:
        canvas, out = new_pdf(Frame(100, 80), "one form")
        canvas.beginForm("part", 0, 0, 200, 200)
        fill_rings(canvas, [np.array([[0.0, 0.0], [30.0, 0.0], [10.0, 20.0]])], 0.4)
        canvas.drawString(20, 20, words)
        end(canvas)
        canvas.doForm("part")
        canvas.showPage()
        canvas.save()
        return out.getvalue()

    assert made(lambda canvas: end_form(canvas, "part")) == made(lambda canvas: canvas.endForm())


def test_vertices_lie_on_the_grid_within_half_a_unit() -> None:
    """The numbers in the file, through the map that stands before them, are the points that went in."""
    rng = np.random.default_rng(5)
    rings = [rng.uniform(-400, 400, (50, 2)), rng.uniform(-400, 400, (7, 2))]
    pdf = pikepdf.open(io.BytesIO(page_with(rings)))
    maps, points = [np.eye(3)], []
    for operands, operator in pikepdf.parse_content_stream(pdf.pages[0]):
        v = [float(x) for x in operands] if str(operator) in ("cm", "m", "l") else []
        if str(operator) == "cm":
            maps[-1] = np.array([[v[0], v[1], 0], [v[2], v[3], 0], [v[4], v[5], 1]]) @ maps[-1]
        elif str(operator) == "q":
            maps.append(maps[-1])
        elif str(operator) == "Q":
            maps.pop()
        elif v:
            points.append((np.array([*v, 1]) @ maps[-1])[:2] * POINT_MM - (50, 40))
    assert len(points) == 57
    assert np.abs(np.array(points) - np.concatenate(rings)).max() < UNIT_MM / 2 + 2e-4


def test_viewers_are_told_not_to_scale() -> None:
    pdf = pikepdf.open(io.BytesIO(page_with([np.array([(0.0, 0.0), (9.0, 0.0), (0.0, 9.0)])])))
    assert str(pdf.Root.ViewerPreferences.PrintScaling) == "/None"


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 2**32 - 1), st.floats(0.01, 2.0), st.just(0.0) | st.floats(0.5, 5.0))
def test_thinned_rings_stray_no_further_and_have_no_long_edges(seed: int, tolerance: float, most: float) -> None:
    rng = np.random.default_rng(seed)
    rings = [rng.uniform(-30, 30, (n, 2)) for n in rng.integers(1, 40, 4)]
    kept = thinned(rings, tolerance, most)
    whole = [r for r in rings if len(r) >= 3]
    assert len(kept) <= len(whole)
    lines = [shapely.LinearRing(r) for r in whole]
    for r in kept:
        ring = shapely.LinearRing(r)
        assert min(shapely.hausdorff_distance(ring, at, densify=0.25) for at in lines) <= tolerance + 1e-9
        if most > 0:
            assert np.hypot(*np.diff(np.vstack([r, r[:1]]), axis=0).T).max() <= most + 1e-9
