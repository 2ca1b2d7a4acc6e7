"""Gaps between lines are measured once for a drawing and found again by its content."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from composer.art.drawing import Drawing, Layer
from composer.compose import fit_lines
from composer.store.store import Store
from web import gap_files
from web.gap_files import GapFiles


def bars(gap: float) -> Drawing:
    """Two black bars, 40 mm long, with a gap between them."""
    def bar(y: float) -> np.ndarray:
        return np.array([[-20.0, y], [20.0, y], [20.0, y + 4], [-20.0, y + 4]])
    frame = np.array([[-25.0, -25.0], [25.0, -25.0], [25.0, 25.0], [-25.0, 25.0]])
    return Drawing((frame,), (Layer("line", (bar(0.0), bar(4.0 + gap))),))


@pytest.fixture(autouse=True)
def nothing_known() -> None:
    fit_lines._known.clear()


def test_measured_once_and_found_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    art = bars(1.2)
    GapFiles(tmp_path / "gaps").ready(art.digest, {art.digest: art})
    first = fit_lines._known[(art.digest, 1)]
    assert first.narrowest(1.0, 5.0) == pytest.approx(1.2, abs=0.01)
    fit_lines._known.clear()
    monkeypatch.setattr(gap_files, "measure_gaps", lambda drawing: pytest.fail("measured again"))
    GapFiles(tmp_path / "gaps").ready(art.digest, {art.digest: art})
    again = fit_lines._known[(art.digest, 1)]
    assert again.width == pytest.approx(first.width, abs=1e-5) and again.whole_mm == first.whole_mm
    assert np.array_equal(again.length, first.length)


@pytest.mark.parametrize("cut", [0, 11, 200])
def test_a_file_that_cannot_be_read_is_measured_anew(tmp_path: Path, cut: int) -> None:
    art = bars(2.0)
    files = GapFiles(tmp_path)
    files.ready(art.digest, {art.digest: art})
    files._path(art.digest).write_bytes(files._path(art.digest).read_bytes()[:cut])
    fit_lines._known.clear()
    files.ready(art.digest, {art.digest: art})
    assert fit_lines._known[(art.digest, 1)].narrowest(1.0, 5.0) == pytest.approx(2.0, abs=0.01)


def test_a_folder_that_cannot_be_written_stops_nothing(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file where the folder should be")
    art = bars(1.0)
    GapFiles(tmp_path / "taken").ready(art.digest, {art.digest: art})
    assert fit_lines.remembered(art.digest, art)


def test_the_shelf_is_measured_beside_and_one_fault_stops_nothing(store: Store,
                                                                  monkeypatch: pytest.MonkeyPatch) -> None:
    arts = {a.digest: a for a in (bars(1.0), bars(1.5), bars(2.5))}
    names = list(arts)
    made: list[str] = []

    def measure(drawing: Drawing) -> fit_lines.LineGaps:
        made.append(drawing.digest)
        if drawing.digest == names[1]:
            raise ValueError("an odd outline")
        return fit_lines.measure_gaps(drawing)

    monkeypatch.setattr(gap_files, "measure_gaps", measure)
    GapFiles(store.folder / "line-gaps").measure(names, arts)
    assert made == names
    assert [fit_lines.remembered(n, arts[n]) for n in names] == [True, False, True]
    assert len(list((store.folder / "line-gaps").iterdir())) == 2
