"""Printed stencils, measured on the raster of the PDF itself, as a ruler would."""

from __future__ import annotations

import io
import subprocess
from dataclasses import replace

import numpy as np
import pikepdf
import pypdfium2
import pytest
from demo_case import DEMO, GALLERY
from PIL import Image
from scipy import ndimage

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.sheets.calibrate import Correction, calibration_page, calibration_pdf, corrected, lengths
from composer.sheets.leaf_strokes import GROUPS
from composer.sheets.page_pdf import pages_pdf
from composer.sheets.page_svg import page_svg
from composer.sheets.paper import PAPERS
from composer.sheets.slits import prepare
from composer.sheets.stencil import stencil
from composer.sheets.stencil_pages import Print, Ready, stencil_pages, stencil_pdf
from composer.sheets.stencil_png import stencil_png
from composer.sheets.strokes import Block, Page, Words, combined

DPI = 400
PX_MM = DPI / 25.4
BAR = np.array([(-100.0, -4.0), (100.0, -4.0), (100.0, 4.0), (-100.0, 4.0)])
WEDGE = np.array([(-20.0, -30.0), (30.0, -30.0), (-20.0, 30.0)])


def one(ring: np.ndarray, s: float = 300.0, turn: float = 0.0) -> Ready:
    """A plain form as a stencil of its own on an arm."""
    art = Drawing((ring,), (Layer("line", (ring,)),))
    plan = apply(Plan("p", "Estuary: sketch Ł"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    plan = apply(plan, {"do": "place", "piece": {"id": "a", "part": "left_arm", "art": art.digest, "title": "Bar",
                                                 "u": 0.0, "s_mm": s, "turn_deg": turn}})
    st = stencil(plan, ["a"], {art.digest: art}, date="25 November 2026")
    return Ready(st, prepare(st, way="whole"))


def demo(*names: str) -> list[Ready]:
    return [Ready(st, prepare(st)) for st in (stencil(DEMO, [n], GALLERY) for n in names)]


def raster(pdf: bytes, page: int = 0) -> np.ndarray:
    """Grey picture of a page, row 0 at the top."""
    return np.squeeze(pypdfium2.PdfDocument(pdf)[page].render(scale=DPI / 72, grayscale=True).to_numpy())


def forms(grey: np.ndarray) -> tuple[np.ndarray, tuple[float, float]]:
    """The largest black form of a page (pixels, cut out) and its width and height, mm."""
    marks, n = ndimage.label(grey < 100)
    big = 1 + int(np.argmax(np.bincount(marks.ravel(), minlength=n + 1)[1:]))
    rows, columns = ndimage.find_objects(marks)[big - 1]
    part = marks[rows, columns] == big
    return part, (part.shape[1] / PX_MM, part.shape[0] / PX_MM)


def longest_run(line: np.ndarray) -> float:
    """The longest dark stretch of a row of pixels, mm."""
    d = np.diff(np.concatenate([[0], (line < 128).astype(int), [0]]))
    return float((np.flatnonzero(d == -1) - np.flatnonzero(d == 1)).max(initial=0) / PX_MM)


def rules(grey: np.ndarray) -> tuple[float, float]:
    """Lengths of the longest thin lines across and along a page, mm."""
    return max(map(longest_run, grey)), max(map(longest_run, grey.T))


@pytest.mark.parametrize("turn", [0.0, 90.0])
def test_200_mm_are_200_mm_to_a_fifth_of_a_mm(turn: float) -> None:
    paper = "A3"
    _, size = forms(raster(stencil_pdf([one(BAR, 250.0, turn)], Print(paper))))
    assert max(size) == pytest.approx(200.0, abs=0.2)


@pytest.mark.parametrize("paper", PAPERS)
def test_pages_have_their_papers_size_and_rules_of_100_mm_both_ways(paper: str) -> None:
    pdf = stencil_pdf(demo("demo12"), Print(paper))
    size = np.array(pypdfium2.PdfDocument(pdf)[0].get_size()) * 25.4 / 72
    assert size == pytest.approx(PAPERS[paper], abs=0.01)
    for run in rules(raster(pdf)):
        assert run == pytest.approx(100.2, abs=0.2)      # a line's width more than from tick to tick


@pytest.mark.parametrize(("across", "along"), [(0.992, 1.006), (1.004, 0.995)])
def test_what_a_printer_gets_wrong_is_taken_back(across: float, along: float) -> None:
    """A printer that stretches and shrinks, played by a map of the page: its calibration page is measured on the
    raster, the lengths typed back to a tenth of a mm, and the next print is right to 0.2 mm over 200 mm."""

    def printed(pages: list[Page]) -> bytes:
        wrong = np.array([[across, 0.0, 1.0], [0.0, along, -0.7]])
        return pages_pdf([Page(p.width, p.height, tuple(Block(b.things, combined(wrong, b.matrix)) for b in p.blocks))
                          for p in pages], "printed")

    measured = [round(v - 0.2, 1) for v in rules(raster(printed([calibration_page("A3")])))]
    fix = corrected("  Office   printer ", "A3", *measured)
    assert fix.printer == "Office printer"
    for turn in (0.0, 90.0):
        _, size = forms(raster(printed(stencil_pages([one(BAR, 250.0, turn)], Print("A3", correction=fix)))))
        assert max(size) == pytest.approx(200.0, abs=0.2)
    _, size = forms(raster(printed(stencil_pages([one(BAR, 250.0)], Print("A3")))))
    assert abs(max(size) - 200) > 0.6


def test_calibration_page_is_as_long_as_it_says() -> None:
    assert rules(raster(calibration_pdf("A4"))) == pytest.approx((180.2, 250.2), abs=0.15)
    assert lengths("A4") == (180.0, 250.0)


def test_a_corrected_page_says_so_and_nothing_leaves_it() -> None:
    fix = Correction("Office", 1.01, 1.02)
    for page in stencil_pages(demo("demo2", "demo6", "demo11", "demo13"), Print("A4", correction=fix)):
        words = [t.text for b in page.blocks for t in b.things if isinstance(t, Words)]
        assert any("Corrected for Office: +1.00% across" in w for w in words)
        for b in page.blocks:
            for t in b.things:
                if isinstance(t, Words):
                    x, y = b.matrix[:, :2] @ (t.x, t.y) + b.matrix[:, 2]
                    assert 3 < x < page.width - 3 and 2 < y < page.height - 3


def test_mirrored_read_back_from_its_raster_is_the_mirror_image() -> None:
    one_, two = (forms(raster(stencil_pdf([one(WEDGE)], Print("A4", m))))[0] for m in (False, True))
    h, w = (min(f.shape[k] for f in (one_, two)) for k in (0, 1))
    a, b = one_[:h, :w], two[:, ::-1][:h, :w]
    assert (a != b).mean() < 0.01 and (a != b[:, ::-1]).mean() > 0.2


def test_the_page_says_which_paper_it_needs() -> None:
    for m, says in ((False, "hectograph paper"), (True, "stencil ink")):
        words = [t.text for b in stencil_pages(demo("demo12"), Print("A4", m))[0].blocks for t in b.things
                 if isinstance(t, Words)]
        assert sum(says in w for w in words) == 1
        assert any("1:1, " + ("ink side up" if m else "this side up") in w for w in words)
        assert any("Keep clear of moles" in w or "moles" in w for w in words)


def test_small_ones_share_a_page_and_large_ones_run_over_several() -> None:
    assert len(stencil_pages(demo("demo6", "demo11", "demo12", "demo13"), Print("A4"))) == 1
    big = replace(DEMO, pieces=(replace(DEMO.piece("demo1"), scale=1.4, s_mm=200.0),))
    st = stencil(big, ["demo1"], GALLERY)
    pages = stencil_pages([Ready(st, prepare(st, way="whole"))], Print("A4"))
    assert len(pages) == 2 and all(any(b.clip for b in p.blocks) for p in pages)
    assert len(stencil_pages([Ready(st, prepare(st, way="whole"))], Print("A3"))) == 1


def test_a_roll_is_as_long_as_what_lies_on_it() -> None:
    pages = stencil_pages(demo("demo2", "demo6", "demo11"), Print(roll_mm=210))
    assert len(pages) == 1 and pages[0].width == 210 and 150 < pages[0].height < 500
    with pytest.raises(ValueError, match="too narrow for 'Heron"):
        stencil_pages(demo("demo2"), Print(roll_mm=90))
    with pytest.raises(ValueError, match="80 to 1200 mm"):
        stencil_pages(demo("demo2"), Print(roll_mm=20))


def test_layers_can_be_switched_and_are_named_for_people() -> None:
    with pikepdf.open(io.BytesIO(stencil_pdf(demo("demo14")))) as pdf:
        names = {str(g.Name) for g in pdf.Root.OCProperties.OCGs}
        assert {GROUPS["line-work"], GROUPS["registration"], GROUPS["paper-edge"]} <= names
        body = pdf.pages[0].Contents.read_bytes()
        assert body.count(b"BDC") == body.count(b"EMC") > 4
        assert str(pdf.Root.ViewerPreferences.PrintScaling) == "/None"
        assert set(pdf.pages[0].Resources.Properties.keys()) == {f"/{n}" for n in GROUPS if GROUPS[n] in names}


def test_the_same_stencils_the_same_bytes() -> None:
    assert stencil_pdf(demo("demo12")) == stencil_pdf(demo("demo12"))


def test_the_svg_of_a_page_is_the_page(tmp_path) -> None:  # type: ignore[no-untyped-def]
    """Both drawn by renderers that share nothing (PDFium; librsvg by its own command): the ink agrees."""
    page = stencil_pages(demo("demo6"), Print("A4"))[0]
    (tmp_path / "p.svg").write_text(page_svg(page, "page"))
    subprocess.run(["rsvg-convert", "-d", "300", "-p", "300", "-b", "white", "-o", str(tmp_path / "p.png"),
                    str(tmp_path / "p.svg")], check=True)
    theirs = np.asarray(Image.open(tmp_path / "p.png").convert("L")) < 100
    ours = np.squeeze(pypdfium2.PdfDocument(pages_pdf([page], "p"))[0].render(
        scale=300 / 72, grayscale=True).to_numpy()) < 100
    h, w = min(ours.shape[0], theirs.shape[0]), min(ours.shape[1], theirs.shape[1])
    top = round(0.85 * h)        # above the words, whose fonts differ
    a, b = ours[:top, 260:w], theirs[:top, 260:w]
    assert (a & b).sum() / (a | b).sum() > 0.9


def test_png_has_alpha_its_resolution_and_its_size() -> None:
    ready = demo("demo12")[0]
    leaf = ready.cut.leaves[0]
    picture = Image.open(io.BytesIO(stencil_png(ready, leaf, 254)))
    assert picture.mode == "LA" and picture.info["dpi"] == pytest.approx((254, 254), abs=0.1)
    assert np.array(picture.size) == pytest.approx((np.array(leaf.size_mm) + 4) * 10, abs=1.5)
    alpha = np.asarray(picture)[:, :, 1]
    assert alpha.max() == 255 and (alpha == 0).mean() > 0.5
    assert (alpha > 200).sum() / 100 == pytest.approx(leaf.art.lines.area, rel=0.25)
    back = np.asarray(Image.open(io.BytesIO(stencil_png(ready, leaf, 254, mirrored=True))))[:, ::-1, 1]
    assert (np.abs(back.astype(int) - alpha) > 128).mean() < 0.01
    with pytest.raises(ValueError, match="choose 72 to 1200"):
        stencil_png(ready, leaf, 5000)
    with pytest.raises(ValueError, match="million pixels"):
        stencil_png(demo("demo1")[0], demo("demo1")[0].cut.leaves[0], 1200)


def test_bad_wishes_are_told() -> None:
    with pytest.raises(ValueError, match="no paper called 'A9'"):
        stencil_pages(demo("demo12"), Print("A9"))
    with pytest.raises(ValueError, match="Choose at least one piece"):
        stencil_pages([], Print())
    with pytest.raises(ValueError, match="fits the page to its margins"):
        corrected("Office", "A4", 171.0, 250.0)
    with pytest.raises(ValueError, match="Give the printer a name"):
        corrected("  ", "A4", 180.0, 250.0)
    with pytest.raises(ValueError, match="length along the page is missing"):
        corrected("Office", "A4", 180.0, float("nan"))
