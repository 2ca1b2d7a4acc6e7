"""The command line: what it writes, what it reports, and its exit codes."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import pypdfium2
import pytest

from composer.cli import main
from composer.demo import bare_demo
from composer.plan.extents import extent_of, extent_to_json, preset
from composer.plan.form import plan_to_json
from composer.plan.scene import lay
from composer.plan.steps import apply
from composer.plan.twins import surface_of
from composer.store.files import read_plan_file, write_plan_file

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def plan_file(tmp_path_factory) -> Path:
    """Three main pieces on the left arm, both arms taped."""
    plan, gallery = bare_demo()
    plan = apply(plan, {"do": "remove", "ids": [p.id for p in plan.pieces[3:]]})
    path = tmp_path_factory.mktemp("plans") / "small.sleeve"
    write_plan_file(path, plan, gallery)
    return path


def test_demo_writes_a_plan_that_reads_back_and_never_over_another(tmp_path: Path, capsys) -> None:
    folder = tmp_path / "new" / "folder"
    assert main(["demo", str(folder), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    plan, gallery = read_plan_file(report["plan"])
    assert len(plan.pieces) == report["pieces"] and any(p.is_filler for p in plan.pieces)
    assert {p.art for p in plan.pieces} <= set(gallery)
    was = Path(report["plan"]).read_bytes()
    assert main(["demo", str(folder)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert Path(report["plan"]).read_bytes() == was


def test_check_reports_in_words_and_json(plan_file: Path, capsys) -> None:
    code = main(["check", str(plan_file)])
    words = capsys.readouterr().out
    assert words.startswith("Estuary sleeve: 2 parts, 3 pieces")
    assert main(["check", str(plan_file), "--json"]) == code
    report = json.loads(capsys.readouterr().out)
    assert code == int(bool(report["findings"]))


def test_check_finds_what_hangs_over_the_cuff(plan_file: Path, tmp_path: Path, capsys) -> None:
    plan, gallery = read_plan_file(plan_file)
    plan = apply(plan, {"do": "change", "pieces": [{"id": plan.pieces[0].id, "s_mm": 10.0}]})
    write_plan_file(tmp_path / "over.sleeve", plan, gallery)
    assert main(["check", str(tmp_path / "over.sleeve")]) == 1
    assert "wrist" in capsys.readouterr().out


def test_gaps_lists_gaps_and_ties(plan_file: Path, capsys) -> None:
    assert main(["gaps", str(plan_file), "--part", "left_arm", "--json"]) == 0
    (report,) = json.loads(capsys.readouterr().out)
    assert report["part"] == "left_arm" and report["gaps"]
    assert all(g["area_cm2"] > 0 and g["widest_mm"] > 0 for g in report["gaps"])
    assert all(t["reason"].endswith(".") for t in report["ties"])
    assert main(["gaps", str(plan_file), "--part", "left_arm"]) == 0
    assert "widest circle" in capsys.readouterr().out


def test_tie_writes_a_plan_that_is_the_same_for_the_same_seed(plan_file: Path, tmp_path: Path, capsys) -> None:
    arts = []
    for name in ("a", "b"):
        out = tmp_path / f"{name}.sleeve"
        args = ["tie", str(plan_file), "--part", "left_arm", "--theme", "scroll", "--seed", "4", "-o", str(out),
                "--quiet"]
        assert main(args) == 0
        plan, _ = read_plan_file(out)
        fillers = [p for p in plan.pieces if p.is_filler]
        assert fillers and all(p.recipe and p.recipe.seed == fillers[0].recipe.seed for p in fillers)
        arts.append([(p.art, p.u, p.s_mm) for p in fillers])
    assert arts[0] == arts[1]
    assert main(["tie", str(plan_file), "--theme", "fog", "-o", str(tmp_path / "c.sleeve"), "--quiet"]) == 2
    assert "no theme 'fog'" in capsys.readouterr().err
    assert not (tmp_path / "c.sleeve").exists()


def test_gaps_and_background_keep_to_the_sleeve(plan_file: Path, tmp_path: Path, capsys) -> None:
    """A half sleeve: no gap and no background below its edge, 35 mm above the elbow."""
    plan, gallery = read_plan_file(plan_file)
    half = extent_to_json(preset("left_arm", "half"))
    plan = apply(plan, {"do": "extent", "part": "left_arm", "set": half})
    write_plan_file(tmp_path / "half.sleeve", plan, gallery)
    limb = surface_of(plan, "left_arm")
    edge = extent_of(plan.part("left_arm")).far.s_mm(limb)
    areas = {}
    for name, path in (("half", tmp_path / "half.sleeve"), ("whole", plan_file)):
        assert main(["gaps", str(path), "--json", "--part", "left_arm"]) == 0
        report = json.loads(capsys.readouterr().out)
        areas[name] = sum(g["area_cm2"] for g in report[0]["gaps"])
        below = [g for g in report[0]["gaps"] if g["s_mm"] < edge]
        assert bool(below) == (name == "whole")
    assert 0.2 * areas["whole"] < areas["half"] < 0.7 * areas["whole"]
    out = tmp_path / "half_tied.sleeve"
    assert main(["tie", str(tmp_path / "half.sleeve"), "--out", str(out), "--part", "left_arm"]) == 0
    tied, drawings = read_plan_file(out)
    fillers = [p for p in tied.on("left_arm") if p.is_filler]
    assert fillers
    low = min(r[:, 1].min() for p in fillers for r in lay(limb, p, drawings[p.art]).rings)
    assert low > edge - 2.5


def test_mirror_reports_the_deviation(plan_file: Path, tmp_path: Path, capsys) -> None:
    out = tmp_path / "both.sleeve"
    assert main(["mirror", str(plan_file), "-o", str(out), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    plan, _ = read_plan_file(out)
    assert len(report) == 3 == len(plan.on("right_arm"))
    assert all(0 < r["largest_mm"] < 25 and "mm" in r["sentence"] for r in report)
    assert main(["mirror", str(out), "-o", str(out)]) == 0
    assert "nothing left to mirror" in capsys.readouterr().out


def test_sheet_writes_pdf_and_svg(plan_file: Path, tmp_path: Path, capsys) -> None:
    pdf = tmp_path / "layout.pdf"
    assert main(["sheet", str(plan_file), "-o", str(pdf), "--paper", "A3", "--quiet"]) == 0
    assert len(pypdfium2.PdfDocument(pdf)) >= 3
    svg = tmp_path / "layout.svg"
    assert main(["sheet", str(plan_file), "-o", str(svg), "--part", "left_arm"]) == 0
    assert svg.read_bytes().startswith(b"<?xml")
    assert main(["sheet", str(plan_file), "-o", str(pdf), "--paper", "A9", "--quiet"]) == 2
    assert "no paper called 'A9'" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["check", "gaps", "sheet"])
def test_bad_files_end_with_2_and_a_sentence(command: str, plan_file: Path, tmp_path: Path, capsys) -> None:
    more = ["-o", str(tmp_path / "x.pdf")] if command == "sheet" else []
    cut = tmp_path / "cut.sleeve"
    cut.write_bytes(plan_file.read_bytes()[:2000])
    for path, words in ((cut, "cut short"), (tmp_path / "none.sleeve", "cannot be read"), (tmp_path, "cannot be read")):
        assert main([command, str(path), *more]) == 2
        said = capsys.readouterr().err
        assert words in said and said.startswith("sleevewright: ") and "Traceback" not in said


def test_a_sheet_goes_into_a_kind_of_file_that_is_named(plan_file: Path, tmp_path: Path, capsys) -> None:
    assert main(["sheet", str(plan_file), "-o", str(tmp_path / "sheet.txt")]) == 2
    assert "end it with .pdf" in capsys.readouterr().err and not list(tmp_path.iterdir())


def test_odd_names_of_files_and_parts_named_twice(plan_file: Path, tmp_path: Path, capsys) -> None:
    twice = ["--part", "right_arm", "--part", "right_arm", "--quiet"]
    assert main(["sheet", str(plan_file), "-o", str(tmp_path / "x.pdf"), *twice]) == 0
    other = tmp_path / "words.txt"
    other.write_text("x")
    for args, words in ((["check", "\0"], "cannot be read"), (["check", str(other)], "not a plan file"),
                        (["mirror", str(plan_file), "--from", "left_leg", "-o", ""], "Name the file"),
                        (["demo", str(other)], "cannot be written")):
        assert main(args) == 2
        assert words in capsys.readouterr().err


def test_newer_plan_is_refused_in_words(plan_file: Path, tmp_path: Path, capsys) -> None:
    newer = tmp_path / "newer.sleeve"
    newer.write_text(json.dumps({**plan_to_json(read_plan_file(plan_file)[0]), "version": 99}))
    assert main(["check", str(newer)]) == 2
    assert "newer release" in capsys.readouterr().err


def test_help_of_every_command(capsys) -> None:
    for name in ("serve", "demo", "check", "gaps", "tie", "mirror", "sheet"):
        with pytest.raises(SystemExit) as ended:
            main([name, "--help"])
        assert ended.value.code == 0
        assert name in capsys.readouterr().out
    assert main([]) == 2


def test_wrong_words_end_with_2() -> None:
    for args in (["fly"], ["tie", "x"], ["mirror", "x", "--from", "tail", "-o", "y"]):
        with pytest.raises(SystemExit) as ended:
            main(args)
        assert ended.value.code == 2


ROOMS = {"kept": -1, "json_in": -1, "body": 0, "art": 0, "plan": 1, "compose": 2, "filler": 3, "views": 3.5,
         "sheets": 4, "store": 4}


def test_arrows_between_the_rooms_run_one_way() -> None:
    """composer never imports web; inside it imports run downwards only (DEVELOPERS.md)."""
    wrong = []
    for path in (ROOT / "composer").rglob("*.py"):
        room = path.relative_to(ROOT / "composer").parts[0]
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = [node.module] if isinstance(node, ast.ImportFrom) and node.module else (
                [a.name for a in node.names] if isinstance(node, ast.Import) else [])
            for name in names:
                head = name.split(".")
                if head[0] == "web":
                    wrong.append(f"{path.name} imports {name}")
                if head[0] == "composer" and room in ROOMS and len(head) > 1:
                    goal = head[1]
                    down = ROOMS.get(goal, 9) < ROOMS[room] or goal == room
                    if room == "store":
                        down = goal in ("store", "plan", "art", "kept", "json_in")
                    if not down:
                        wrong.append(f"{path.relative_to(ROOT)} imports {name}")
    assert not wrong
