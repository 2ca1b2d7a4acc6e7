"""Drawing in processes beside: the same results in order, stopped at will, done here when a process is lost."""

from __future__ import annotations

import os
import signal
import time
from concurrent.futures import BrokenExecutor
from pathlib import Path

import pytest

from web.drawers import Drawers


def lost(n: int) -> int:
    """Takes its process down, unless it is the one that asked."""
    if n == 2 and os.environ.get("DRAWERS_TEST") != str(os.getpid()):
        os._exit(3)
    return n * n


@pytest.fixture()
def drawers() -> Drawers:
    made = Drawers(idle_s=60.0)
    yield made
    made.shutdown()


def test_results_come_in_order_from_other_processes(drawers: Drawers) -> None:
    assert list(drawers.map(pow, [3, 2, 1], [2, 2, 2])) == [9, 4, 1]
    assert drawers.submit(os.getpid).result() != os.getpid()


def test_once_they_are_started_they_are_ready(drawers: Drawers) -> None:
    assert not drawers.ready
    drawers.start()
    assert drawers.ready and drawers.free


def test_what_a_lost_process_had_is_done_here(drawers: Drawers, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DRAWERS_TEST", str(os.getpid()))
    assert list(drawers.map(lost, range(5))) == [0, 1, 4, 9, 16]
    assert list(drawers.map(lost, [7])) == [49]


def test_processes_lost_while_none_is_asked_are_started_again(drawers: Drawers) -> None:
    assert not drawers.ready
    drawers.warm()
    pid = drawers.submit(os.getpid).result()
    assert drawers.ready
    os.kill(pid, signal.SIGTERM)
    with pytest.raises(BrokenExecutor):
        drawers._pool.submit(time.sleep, 60).result(30)
    assert list(drawers.map(abs, [-3])) == [3]
    assert drawers.submit(os.getpid).result() not in (pid, os.getpid())


def note(path: str, n: int) -> int:
    time.sleep(0.05)
    with open(path, "a") as file:
        file.write(f"{n}\n")
    return n


def test_what_is_not_asked_for_any_more_is_not_begun(drawers: Drawers, tmp_path: Path) -> None:
    path = tmp_path / "done"
    rows = drawers.map(note, [str(path)] * 60, range(60))
    next(rows)
    rows.close()
    list(drawers.map(abs, [1]))
    assert 1 <= len(path.read_text().split()) < 30


def test_they_end_when_nothing_comes() -> None:
    drawers = Drawers(idle_s=0.05)
    list(drawers.map(abs, [1]))
    until = time.monotonic() + 20.0
    while drawers.running and time.monotonic() < until:
        time.sleep(0.02)
    assert not drawers.running
    assert list(drawers.map(abs, [-2])) == [2]
    drawers.shutdown()
