"""The `stencil` command: what it writes, says and refuses."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from shapely.geometry import Polygon

from composer.art.colour_notes import noted
from composer.cli import main
from composer.demo import bare_demo
from composer.plan.steps import apply
from composer.sheets.stencil_back import read_back
from composer.stencil_command import kept_whole
from composer.store.files import read_plan_file, write_plan_file


@pytest.fixture(scope="module")
def plan_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four main pieces on the left arm (one of them healed), both arms taped."""
    plan, gallery = bare_demo()
    plan = apply(plan, {"do": "remove", "ids": [p.id for p in plan.pieces[4:]]})
    path = tmp_path_factory.mktemp("plans") / "small.sleeve"
    write_plan_file(path, plan, gallery)
    return path


def test_the_work_of_a_sitting_is_asked_for_by_its_number(plan_file: Path, tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    plan, gallery = read_plan_file(str(plan_file))
    plan = apply(plan, {"do": "change", "pieces": [{"id": i, "sitting": 2} for i in ("demo1", "demo2", "demo4")]})
    path, out = tmp_path / "sat.sleeve", tmp_path / "s.pdf"
    write_plan_file(path, plan, gallery)
    assert main(["stencil", str(path), "-o", str(out), "--sitting", "2", "--json", "--quiet"]) == 0
    told = json.loads(capsys.readouterr().out)["stencils"]      # demo1 is healed
    assert [r["pieces"] for r in told] == [["demo2"], ["demo4"]]
    assert main(["stencil", str(path), "-o", str(out), "--sitting", "3"]) != 0
    assert "Nothing planned is in sitting 3; there is work in 2." in capsys.readouterr().err
    assert main(["stencil", str(plan_file), "-o", str(out), "--sitting", "1"]) != 0
    assert "no piece has a sitting yet" in capsys.readouterr().err


def test_planned_pieces_go_on_a_pdf(plan_file: Path, tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    out = tmp_path / "s.pdf"
    assert main(["stencil", str(plan_file), "-o", str(out), "--paper", "letter", "--json", "--quiet"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert [r["pieces"] for r in report["stencils"]] == [["demo2"], ["demo3"], ["demo4"]]
    assert all(r["sentence"].startswith("Lies flat") and r["error_mm"] < 2.5 for r in report["stencils"])
    text = "".join(p.get_textpage().get_text_range() for p in pypdfium2.PdfDocument(out.read_bytes()))
    assert "Heron on the mud bank" in text and "hectograph" in text and "Light on the outer reef" not in text


def test_colours_named_in_a_plan_file_stand_on_the_paper(plan_file: Path, tmp_path: Path) -> None:
    plan, gallery = read_plan_file(str(plan_file))
    art, out, path = plan.piece("demo3").art, tmp_path / "c.pdf", tmp_path / "coloured.sleeve"
    ring = 2 * np.concatenate(gallery[art].silhouette).max() * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
    write_plan_file(path, plan, {**gallery, art: replace(gallery[art], notes=noted({"olive": (ring,)}))})

    def words() -> str:
        assert main(["stencil", str(path), "--piece", "demo3", "-o", str(out), "--quiet", *more]) == 0
        return "".join(p.get_textpage().get_text_range() for p in pypdfium2.PdfDocument(out.read_bytes()))

    more: list[str] = []
    assert "olive" in words()
    more.append("--no-shades")
    assert "olive" not in words()


def test_twins_come_with_points_to_tape(plan_file: Path, tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    out = tmp_path / "t.pdf"
    assert main(["stencil", str(plan_file), "--piece", "demo3", "--twins", "--mirrored", "-o", str(out)]) == 0
    text = [p.get_textpage().get_text_range() for p in pypdfium2.PdfDocument(out.read_bytes())]
    assert "right arm" in "".join(text[:-1]) and "tape these points first" in text[-1]
    assert capsys.readouterr().out.count("Lies flat") == 2


def test_working_svg_comes_back(plan_file: Path, tmp_path: Path) -> None:
    out = tmp_path / "w.svg"
    assert main(["stencil", str(plan_file), "--piece", "demo4", "-o", str(out)]) == 0
    plan, gallery = read_plan_file(plan_file)
    assert read_back(out.read_bytes(), plan, gallery).piece.id == "demo4"


def test_png_roll_together_and_calibration(plan_file: Path, tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    assert main(["stencil", str(plan_file), "--piece", "demo4", "--dpi", "150", "-o", str(tmp_path / "a.png")]) == 0
    assert Image.open(io.BytesIO((tmp_path / "a.png").read_bytes())).mode == "LA"
    assert main(["stencil", str(plan_file), "--piece", "demo3", "--piece", "demo4", "--together", "--way", "whole",
                 "--roll", "300", "-o", str(tmp_path / "b.pdf")]) == 0
    assert len(pypdfium2.PdfDocument((tmp_path / "b.pdf").read_bytes())) == 1
    assert main(["stencil", str(plan_file), "--calibration", "-o", str(tmp_path / "c.pdf")]) == 0
    assert "--measured" in capsys.readouterr().out
    assert main(["stencil", str(plan_file), "--piece", "demo4", "--measured", "179.4", "250.5", "-o",
                 str(tmp_path / "d.pdf")]) == 0
    text = pypdfium2.PdfDocument((tmp_path / "d.pdf").read_bytes())[0].get_textpage().get_text_range()
    assert "Corrected for this printer" in text


@pytest.mark.parametrize(("more", "says"), [
    (["--piece", "nobody", "-o", "x.pdf"], "no piece 'nobody'"),
    (["-o", "x.svg"], "holds one stencil"),
    (["--piece", "demo4", "-o", "x.doc"], "should end in"),
    (["--part", "right_arm", "-o", "x.pdf"], "no planned piece"),
    (["--measured", "120", "250", "-o", "x.pdf"], "fits the page to its margins")])
def test_bad_wishes_are_told(plan_file: Path, tmp_path: Path, monkeypatch, capsys, more, says) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    assert main(["stencil", str(plan_file), *more]) == 2
    assert says in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_motifs_that_must_not_be_cut_are_known() -> None:
    plan, _ = bare_demo()
    kept = {plan.piece(i).motif: said for i, said in kept_whole(plan).items()}
    assert kept["pilots_daughter"] is True and "lighthouse" not in kept
    (head,) = kept["heron"]
    assert Polygon(head).area > 100     # its face alone
