"""The printed sheet: measured on the raster of the PDF itself, as a ruler would."""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pikepdf
import pypdfium2
import pytest

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.sheets.layout import layout_pdf
from composer.sheets.names import names_on
from composer.sheets.paper import PAPERS, both_ways, frame
from composer.sheets.sheet_art import sheet_art
from composer.sheets.svg import layout_svg
from composer.sheets.tiles import OVERLAP_MM, tile

BAR = np.array([(-60.0, -4.0), (60.0, -4.0), (60.0, 4.0), (-60.0, 4.0)])
WEDGE = np.array([(-20.0, -30.0), (30.0, -30.0), (-20.0, 30.0)])
ART = {d.digest: d for d in (Drawing((r,), (Layer("black", (r,)),)) for r in (BAR, WEDGE))}
DPI = 300
PX_MM = DPI / 25.4


def plan_with(*places: tuple[int, float, float, float], right: bool = False) -> Plan:
    plan = apply(Plan("p", "Estuary: sketch Ł"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    if right:
        plan = apply(plan, {"do": "measure", "part": "right_arm", "measures": TYPICAL_MM})
    digests = list(ART)
    for n, (which, u, s, turn) in enumerate(places):
        plan = apply(plan, {"do": "place", "piece": {"id": f"p{n}", "part": "left_arm", "art": digests[which],
                                                     "title": f"Bar {n}", "u": u, "s_mm": s, "turn_deg": turn}})
    return plan


def raster(pdf: bytes, page: int) -> np.ndarray:
    """Grey picture of a page, row 0 at the top, 300 dpi."""
    return np.squeeze(pypdfium2.PdfDocument(pdf)[page].render(scale=DPI / 72, grayscale=True).to_numpy())


def dark_runs(line: np.ndarray) -> list[tuple[float, float]]:
    """Dark stretches along a row of pixels, mm."""
    d = np.diff(np.concatenate([[0], (line < 128).astype(int), [0]]))
    return [(a / PX_MM, b / PX_MM) for a, b in zip(np.flatnonzero(d == 1), np.flatnonzero(d == -1), strict=True)]


@pytest.mark.parametrize("paper", PAPERS)
def test_check_rules_measure_100_mm_both_ways_on_every_page(paper: str) -> None:
    pdf = layout_pdf(plan_with((0, 0.0, 200.0, 0.0)), ART, paper=paper)
    doc = pypdfium2.PdfDocument(pdf)
    assert len(doc) >= 3
    for n in range(len(doc)):
        assert sorted(np.array(doc[n].get_size()) * 25.4 / 72) == pytest.approx(sorted(PAPERS[paper]), abs=0.01)
    for n in range(2, len(doc)):
        page = both_ways(paper)[doc[n].get_width() > doc[n].get_height()]
        grey = raster(pdf, n)
        row = grey[round((page.height - 19.0) * PX_MM) - 1 : round((page.height - 19.0) * PX_MM) + 2].min(axis=0)
        across = max((b - a, a) for a, b in dark_runs(row))
        column = grey[:, round(9.0 * PX_MM) - 1 : round(9.0 * PX_MM) + 2].min(axis=1)
        along = max((b - a, a) for a, b in dark_runs(column))
        assert across[0] == pytest.approx(100.2, abs=0.2)  # the rule's end ticks add half a line width each side
        assert along[0] == pytest.approx(100.2, abs=0.2)


def test_a_120_mm_bar_is_120_mm_over_two_pages() -> None:
    """A bar printed across an overlap measures right when its two pages are laid on their crosses."""
    plan = plan_with((0, 0.0, 200.0, 0.0))
    art = sheet_art(plan, "left_arm", ART)
    tiling = tile(art.border, frame("A4"))
    pdf = layout_pdf(plan, ART)
    page = frame("A4")
    seen: list[np.ndarray] = []
    for t in tiling.tiles:
        grey = raster(pdf, 1 + t.number)
        rows, columns = np.nonzero(grey < 60)
        x, y = columns / PX_MM, page.height - rows / PX_MM
        inside = (x > page.left + 0.5) & (x < page.left + page.window[0] - 0.5)
        inside &= (y > page.bottom + 0.5) & (y < page.bottom + page.window[1] - 0.5)
        seen.append(np.column_stack([x - page.left + t.x, y - page.bottom + t.y])[inside])
    points = np.concatenate(seen)
    ring = max(art.pieces[0].silhouette, key=len)
    near = (points > ring.min(axis=0) - 1).all(axis=1) & (points < ring.max(axis=0) + 1).all(axis=1)
    size = np.ptp(points[near], axis=0)
    assert size == pytest.approx(np.ptp(ring, axis=0), abs=0.2)
    assert size[0] == pytest.approx(120, abs=120 * 0.06)  # the sheet itself stretches a little off its best-fit levels


def test_mirrored_is_the_mirror_image() -> None:
    plan = plan_with((1, -0.2, 350.0, 0.0))
    plain, mirrored = (layout_pdf(plan, ART, ["left_arm"], "A3", m) for m in (False, True))
    n = len(pypdfium2.PdfDocument(plain))
    assert n == len(pypdfium2.PdfDocument(mirrored))
    ink = {}
    for name, pdf in (("plain", plain), ("mirrored", mirrored)):
        grey = [raster(pdf, i) for i in range(2, n)]
        best = max(grey, key=lambda g: (g[:, round(20 * PX_MM):] < 60).sum())
        best = best[round(9 * PX_MM): -round(28 * PX_MM), round(20 * PX_MM): -round(9 * PX_MM)] < 60
        tall = best.sum(axis=0)
        wedge = np.flatnonzero(tall > 10 * PX_MM)
        ink[name] = np.argmax(tall) - (wedge.min() + wedge.max()) / 2
    assert ink["plain"] < -15 * PX_MM and ink["mirrored"] > 15 * PX_MM  # the upright side is left, then right


def test_fonts_are_embedded_print_scaling_is_off_and_art_is_vector() -> None:
    pdf = pikepdf.open(io.BytesIO(layout_pdf(plan_with((0, 0.1, 150.0, 20.0)), ART)))
    assert str(pdf.Root.ViewerPreferences.PrintScaling) == "/None"
    fonts = images = 0
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/FontDescriptor":
            assert "/FontFile2" in thing
            fonts += 1
        if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == "/Image":
            images += 1
    assert fonts >= 2 and images == 0


def test_same_plan_same_bytes() -> None:
    plan = plan_with((0, 0.1, 150.0, 20.0))
    assert layout_pdf(plan, ART) == layout_pdf(plan, ART)


def test_only_used_parts_are_printed_unless_asked() -> None:
    plan = plan_with((0, 0.1, 150.0, 0.0), right=True)
    few, all_ = (len(pypdfium2.PdfDocument(layout_pdf(plan, ART, p))) for p in (None, ["left_arm", "right_arm"]))
    assert few < all_


def test_every_bit_of_the_sheet_is_on_some_page_and_crosses_on_each() -> None:
    border = sheet_art(plan_with(), "left_arm", ART).border
    for paper in PAPERS:
        tiling = tile(border, frame(paper))
        w, h = tiling.frame.window
        for x, y in border:
            assert any(t.x <= x <= t.x + w and t.y <= y <= t.y + h for t in tiling.tiles)
        for t in tiling.tiles:
            inside = (tiling.marks > (t.x, t.y)).all(axis=1) & (tiling.marks < (t.x + w, t.y + h)).all(axis=1)
            assert inside.sum() == 4
        xs = sorted({round(t.x, 6) for t in tiling.tiles})
        assert all(b - a == pytest.approx(w - OVERLAP_MM) for a, b in pairwise(xs))


@pytest.mark.parametrize("paper", PAPERS)
def test_names_of_levels_stand_whole_on_some_page_and_are_cut_on_none(paper: str) -> None:
    """Read back by PDFium: every letter of every name lies within the cut edge of its page."""
    plan = plan_with((0, 0.0, 200.0, 0.0))
    art = sheet_art(plan, "left_arm", ART)
    wanted = {name for name, *_ in (*art.levels, *art.axes)}
    doc, seen = pypdfium2.PdfDocument(layout_pdf(plan, ART, paper=paper)), set()
    for n in range(2, len(doc)):
        page = both_ways(paper)[doc[n].get_width() > doc[n].get_height()]
        text = doc[n].get_textpage()
        for name in wanted:
            found = text.search(name, match_case=True, match_whole_word=True)
            while at := found.get_next():
                box = np.array([text.get_charbox(k) for k in range(at[0], sum(at))]) * 25.4 / 72
                if box[:, 1].min() < page.bottom - 1.0:
                    continue    # the page's own label below the art
                seen.add(name)
                assert box[:, 0].min() >= page.left and box[:, 2].max() <= page.left + page.window[0]
                assert box[:, 1].min() >= page.bottom and box[:, 3].max() <= page.bottom + page.window[1]
    assert seen == wanted


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_name_that_no_page_holds_gives_way_to_the_edge(mirrored: bool) -> None:
    art = sheet_art(plan_with(), "left_arm", ART)
    tiling = tile(art.border * ((-1, 1) if mirrored else (1, 1)), frame("A4"))
    t, w = tiling.tiles[0], tiling.frame.window[0]
    x = t.x + w - 4.0 if not mirrored else -(t.x + 4.0)
    line = np.array([[x - 50.0, t.y + 100.0], [x, t.y + 100.0]])
    alone = replace(tiling, tiles=(t,))
    lone = replace(art, levels=(("a long name of a level", 0.0, line),), axes=())
    (name,) = names_on(lone, alone, t, mirrored)
    assert name.moved and name.width > 20
    assert tiling.frame.left <= name.x and name.x + name.width <= tiling.frame.left + w
    inside = replace(lone, levels=(("short", 0.0, line - (40.0, 0.0)),))
    assert [n.moved for n in names_on(inside, alone, t, mirrored)] == [False]


def test_bad_wishes_are_told() -> None:
    with pytest.raises(ValueError, match="no paper called 'A9'"):
        layout_pdf(plan_with(), ART, paper="A9")
    with pytest.raises(ValueError, match="measure an arm first"):
        layout_pdf(Plan("p", "Empty"), ART)
    with pytest.raises(KeyError, match="no part 'right_arm'"):
        layout_pdf(plan_with(), ART, ["right_arm"])


def test_where_a_sleeve_ends_is_printed() -> None:
    plan = plan_with((0, 0.0, 300.0, 0.0))
    assert b"sleeve-edges" not in layout_svg(plan, "left_arm", ART)
    half = apply(plan, {"do": "extent", "part": "left_arm", "set": {"preset": "half", "from": {"form": "wavy"}}})
    art = sheet_art(half, "left_arm", ART)
    assert len(art.sleeve) == 1                      # its upper edge is the end of the sheet
    us = art.sheet.to_skin(art.sleeve[0])
    level = next(s for name, s, _ in art.levels if name == "elbow") + 35.0
    assert us[:, 1].mean() == pytest.approx(level, abs=0.5) and np.ptp(us[:, 1]) == pytest.approx(12.0, abs=0.2)
    assert b"sleeve-edges" in layout_svg(half, "left_arm", ART)
    words = pypdfium2.PdfDocument(layout_pdf(half, ART))[0].get_textpage().get_text_range()
    assert "the sleeve ends here" in words.replace("\r\n", " ")
