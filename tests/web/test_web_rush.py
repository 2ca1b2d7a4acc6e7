"""Work beside the page waits while something is asked for."""

from __future__ import annotations

import threading
import time
from pathlib import Path

from starlette.testclient import TestClient

from composer.store.store import Store
from tests.web.test_web_gap_files import bars
from web.app import create_app
from web.gap_files import GapFiles
from web.rush import Rush


def test_quiet_at_once_when_nothing_was_asked_for() -> None:
    began = time.monotonic()
    assert Rush().wait_quiet(5.0, 5.0)
    assert time.monotonic() - began < 2.0


def test_not_quiet_while_something_is_answered_nor_just_after() -> None:
    rush = Rush()
    rush.begun()
    assert not rush.wait_quiet(0.01, 0.05)
    rush.ended()
    assert not rush.wait_quiet(5.0, 0.05)
    assert rush.wait_quiet(0.1, 5.0)


def test_an_answer_wakes_who_waits() -> None:
    rush = Rush()
    rush.begun()
    heard: list[bool] = []
    waiting = threading.Thread(target=lambda: heard.append(rush.wait_quiet(0.05, 30.0)))
    waiting.start()
    time.sleep(0.05)
    assert not heard
    rush.ended()
    waiting.join(10.0)
    assert heard == [True]


def test_drawings_wait_their_turn_and_the_end_is_heard(tmp_path: Path) -> None:
    rush = Rush()
    files = GapFiles(tmp_path / "gaps", rush)
    art = bars(1.2)
    rush.begun()
    work = threading.Thread(target=lambda: files.measure([art.digest], {art.digest: art}))
    work.start()
    time.sleep(0.3)
    assert not (tmp_path / "gaps").exists(), "measured in the middle of an answer"
    rush.ended()
    work.join(20.0)
    assert len(list((tmp_path / "gaps").glob("*.npz"))) == 1

    rush.begun()
    other = bars(1.7)
    work = threading.Thread(target=lambda: files.measure([other.digest], {other.digest: other}))
    work.start()
    files.ending.set()
    work.join(5.0)
    assert not work.is_alive() and len(list((tmp_path / "gaps").glob("*.npz"))) == 1


def test_every_request_is_counted_and_none_stays(tmp_path: Path) -> None:
    app = create_app(store=Store(tmp_path))
    with TestClient(app, base_url="http://127.0.0.1") as client:
        rush = app.state.desk.rush
        assert client.get("/no-such-page").status_code == 404
        assert rush._last > 0 and rush._busy == 0
