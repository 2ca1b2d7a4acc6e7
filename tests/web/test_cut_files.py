"""Cuts kept in files: the same drawing back, found by content, bounded, and a damaged file is no harm."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import numpy as np
import pytest
import shapely

from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.body.limb import Level, Limb
from composer.filler import seen
from composer.filler.seen import visible_laid
from composer.plan.model import Piece, Recipe, Settings
from composer.plan.scene import Scene, lay
from web import cut_files
from web.cut_files import CutFiles


def scene(u: float) -> Scene:
    def bar(w: float, h: float) -> Drawing:
        ink = shapely.union_all([shapely.box(-w / 2, y, w / 2, y + 1.0) for y in np.arange(-h / 2, h / 2 - 1, 4.0)])
        return Drawing(geometry_to_rings(shapely.box(-w / 2, -h / 2, w / 2, h / 2)),
                       (Layer("line", geometry_to_rings(ink)),))
    limb = Limb((Level("far", 0, 240), Level("near", 400, 300)))
    back = Piece("f", "left_arm", "x", "Bars", 0.0, 200.0, recipe=Recipe("wind", 1))
    front = Piece("p", "left_arm", "y", "Crab", u, 205.0)
    return Scene(limb, -0.5, (lay(limb, back, bar(90, 60)), lay(limb, front, bar(30, 26))))


def forget() -> None:
    """As in a process that has just started."""
    for name in ("_shown", "_seen_of", "_fronts", "_known"):
        old = getattr(seen, name)
        setattr(seen, name, type(old)(old.room, old._weigh, old._least))


def test_a_cut_comes_back_from_its_file(tmp_path: Path) -> None:
    here, files = scene(0.07), CutFiles(tmp_path / "cuts")
    made = visible_laid(here, Settings())
    files.keep(here, Settings(), made)
    forget()
    assert files.recall(here, Settings()) == 2 and files.recall(here, Settings()) == 0
    assert visible_laid(here, Settings())["p"] is here.of("p").flat
    again = visible_laid(here, Settings())["f"]
    assert again.digest == made["f"].digest and again.ends == made["f"].ends and again is not made["f"]
    assert all(np.array_equal(a, b) for x, y in zip(again.layers, made["f"].layers, strict=True)
               for a, b in zip(x.rings, y.rings, strict=True))


def test_what_lies_otherwise_is_another_file(tmp_path: Path) -> None:
    files = CutFiles(tmp_path / "cuts")
    files.keep(scene(0.07), Settings(), visible_laid(scene(0.07), Settings()))
    forget()
    assert files.recall(scene(0.08), Settings()) == 0
    assert files.recall(scene(0.07), Settings(skin_break_mm=2.5)) == 0


def test_a_damaged_file_is_cut_anew(tmp_path: Path) -> None:
    here, files = scene(0.05), CutFiles(tmp_path / "cuts")
    made = visible_laid(here, Settings())
    files.keep(here, Settings(), made)
    for path in (tmp_path / "cuts").iterdir():
        path.write_bytes(path.read_bytes()[:200])
    forget()
    assert files.recall(here, Settings()) == 0
    assert visible_laid(here, Settings())["f"].digest == made["f"].digest


@pytest.mark.parametrize("room, left", [(10**9, 12), (1, 0)])
def test_the_folder_is_bounded(tmp_path: Path, room: int, left: int) -> None:
    files = CutFiles(tmp_path / "cuts", room)
    for u in np.linspace(0.0, 0.1, 6):
        files.keep(scene(float(u)), Settings(), visible_laid(scene(float(u)), Settings()))
    assert len(list((tmp_path / "cuts").iterdir())) == left


class Beside:
    """Stands for the processes that draw: what they get and give goes through pickle, as there."""

    free = ready = True

    def __init__(self) -> None:
        self.shares: list[list[str]] = []

    def map(self, fn: Callable[..., object], *columns: Iterable[object]) -> Iterator[object]:
        for row in zip(*columns, strict=True):
            self.shares.append(row[-1])
            yield pickle.loads(pickle.dumps(fn(*pickle.loads(pickle.dumps(row)))))


def test_much_is_cut_in_other_processes_and_only_the_drawings_come_back(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cut_files, "MUCH", 10)
    here, files, beside = scene(0.07), CutFiles(tmp_path / "cuts"), Beside()
    forget()
    files.cut(here, Settings(), beside)
    assert sorted(i for ids in beside.shares for i in ids) == ["f", "p"] and len(beside.shares) == 2
    again = {x.piece.id: seen.recalled(here, x, Settings()) for x in here.laid}
    assert visible_laid(here, Settings()) == again
    forget()
    made = visible_laid(here, Settings())
    assert all(again[k].digest == made[k].digest for k in made)
    files.cut(here, Settings(), beside)
    assert len(beside.shares) == 2, "what is known is not cut again"


def test_much_is_cut_here_where_the_processes_are_still_to_be_started(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cut_files, "MUCH", 10)
    here, files, asleep = scene(0.07), CutFiles(tmp_path / "cuts"), Beside()
    asleep.ready = False
    forget()
    files.cut(here, Settings(), asleep)
    assert not asleep.shares and not len(seen._known)
    again = {x.piece.id: seen.recalled(here, x, Settings()) for x in here.laid}
    forget()
    assert {k: d.digest for k, d in again.items()} == {k: d.digest for k, d in visible_laid(here, Settings()).items()}


def test_what_other_processes_could_not_keep_is_cut_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cut_files, "MUCH", 10)
    (tmp_path / "cuts").write_text("no folder")
    forget()
    here = scene(0.07)
    CutFiles(tmp_path / "cuts").cut(here, Settings(), Beside())
    assert all(seen.recalled(here, x, Settings()) is not None for x in here.laid)
