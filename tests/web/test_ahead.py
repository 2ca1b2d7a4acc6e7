"""What a print needs is made ready while nothing else is asked for, and after a start for the last plan."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

import pytest

from composer.compose.best_place import best_places
from composer.compose.best_place_panel_field import _edge_mm, _paper, spots_on
from composer.demo import bare_demo
from composer.filler import seen
from composer.filler.seen import visible_laid
from composer.plan.model import Settings
from composer.store.store import Store
from tests.web.test_cut_files import forget, scene
from web import cut_files
from web.ahead import Ahead, cut_ahead, know_ahead, wake
from web.cut_files import CutFiles
from web.desk import Desk

FIRST = (_paper, spots_on, _edge_mm)
"""What a first search on a panel would wait for."""


def threads() -> list[threading.Thread]:
    return [t for t in threading.enumerate() if t.name == "ahead"]


def ended(ahead: Ahead) -> None:
    ahead.end()
    for thread in threads():
        thread.join(5.0)
        assert not thread.is_alive()


def test_what_was_asked_for_last_is_made_ready_once_nothing_more_is() -> None:
    made: list[tuple[str, str]] = []
    done = threading.Event()

    def work(plan_id: str, part: str) -> None:
        made.append((plan_id, part))
        done.set()

    ahead = Ahead(work, quiet_s=0.05)
    ahead.asked("a", "left_arm")            # it was not told to begin yet
    ahead.begin()
    ahead.asked("b", "left_arm")
    ahead.asked("b", "right_arm")
    assert done.wait(5.0)
    ended(ahead)
    assert made == [("b", "right_arm")]


def test_nothing_is_begun_after_the_end_and_a_fault_stops_nothing() -> None:
    begun = threading.Semaphore(0)

    def fails(*_: object) -> None:
        begun.release()
        raise RuntimeError

    ahead = Ahead(fails, quiet_s=0.01)
    ahead.begin()
    for _ in range(2):
        ahead.asked("a", "left_arm")
        assert begun.acquire(timeout=5.0)
    ended(ahead)
    ahead.asked("a", "left_arm")
    assert not threads()
    waiting = Ahead(fails, quiet_s=600.0)
    waiting.begin()
    waiting.asked("a", "left_arm")
    ended(waiting)
    assert not begun.acquire(timeout=0)


class Here:
    """Stands for the processes that draw."""

    free, ready, count = True, False, 0

    def start(self) -> None:
        """They answer at once."""

    def submit(self, work: Callable[..., object], *row: object) -> Future[object]:
        self.count += 1
        done: Future[object] = Future()
        done.set_result(work(*row))
        return done


def test_cuts_are_kept_in_files_by_one_process_and_only_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here, files, drawers = scene(0.07), CutFiles(tmp_path / "cuts"), Here()
    forget()
    assert files.ahead(here, Settings(), drawers) and not drawers.count     # so little is cut when it is asked for
    monkeypatch.setattr(cut_files, "MUCH", 20)
    assert files.ahead(here, Settings(), drawers) and drawers.count == 1
    made = visible_laid(here, Settings())["f"]
    forget()
    assert files.ahead(here, Settings(), drawers) and drawers.count == 1
    assert files.recall(here, Settings()) == 1
    assert seen.recalled(here, here.of("f"), Settings()).digest == made.digest
    drawers.free = False
    assert not files.ahead(scene(0.08), Settings(), drawers) and drawers.count == 1
    forget()


def test_who_prints_goes_before_what_is_cut_ahead(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cut_files, "MUCH", 20)
    here, files, drawers = scene(0.07), CutFiles(tmp_path / "cuts"), Here()
    forget()
    monkeypatch.setattr(files, "_cut", lambda *_: files.ahead(here, Settings(), drawers))
    monkeypatch.setattr(files, "_turn", threading.RLock())      # so that it can be asked for amid a print
    files.cut(here, Settings(), drawers)
    assert not drawers.count and not files._waiting
    forget()


def test_who_prints_while_the_processes_start_does_not_wait_for_them(tmp_path: Path,
                                                                     monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cut_files, "MUCH", 20)
    here, files, drawers, printed = scene(0.07), CutFiles(tmp_path / "cuts"), Here(), []

    def start() -> None:
        assert not files._turn.locked()
        files.cut(here, Settings(), drawers)
        printed.append(seen.recalled(here, here.of("f"), Settings()))

    monkeypatch.setattr(drawers, "start", start)
    forget()
    assert files.ahead(here, Settings(), drawers) and printed[0] is not None
    assert not drawers.count                            # what was printed is not cut once more
    forget()


def test_the_last_plan_lies_ready_after_a_start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = Store(tmp_path)
    desk = Desk(store)
    cut = []
    monkeypatch.setattr(desk.cuts, "ahead", lambda here, *_: cut.append({x.piece.id for x in here.laid}))
    try:
        wake(desk)                                          # nothing is there yet
        plan, gallery = bare_demo()
        for drawing in gallery.values():
            store.keep_drawing(drawing)
        pid = store.adopt(plan)
        wake(desk)
        assert desk.peek(("view", pid, store.load(pid).revision, "left_arm")) is not None
        assert cut == [{p.id for p in plan.on("left_arm")}]
        cut_ahead(desk, "gone", "left_arm")
        cut_ahead(desk, pid, "shoulders")
    finally:
        store.close()


@pytest.mark.parametrize("place", ["chest", "shoulders"])
def test_the_first_search_on_a_chest_finds_its_paper_known(store: Store, shoulders: str, place: str) -> None:
    """How paper lies takes most of a first search; it is worked out while the hand rests, for the wide sheet too."""
    moth = next(m for m in store.shelf() if m.id == "moth")
    desk = Desk(store)
    desk.soon.begin()
    for memo in FIRST:
        memo.cache_clear()
    know_ahead(desk, shoulders, place)
    known = [memo.cache_info().misses for memo in FIRST]
    assert known == [5, 1, 1]
    view = desk.view(store.load(shoulders).plan, store.load(shoulders).revision, "chest")
    found = best_places(view.scene, None, store.gallery[moth.digest], moth.side, part="chest", step_mm=30.0)
    assert found and [memo.cache_info().misses for memo in FIRST] == known


def test_paper_is_left_as_soon_as_something_is_asked_for(store: Store, shoulders: str) -> None:
    desk = Desk(store)
    _paper.cache_clear()
    know_ahead(desk, shoulders, "chest")        # the desk is not open yet
    know_ahead(desk, shoulders, "upper_back")   # not taped
    know_ahead(desk, "gone", "chest")
    assert _paper.cache_info().misses == 0
