"""The process beside the server: starts by itself, ends by itself, and nothing that happens there is more than a
sentence here."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from composer.art.errors import ArtError
from composer.art.picture_wish import PictureWish
from composer.art.raster_read import Picture, pack
from web.picture_worker import LOST, Beside

sys.path.insert(0, str(Path(__file__).parents[1] / "art"))
from estuary_pictures import gull, on_paper

KEPT = pack(Picture(on_paper(*gull(240, 180)), None, None, "JPEG"))


@pytest.fixture
def beside():
    made = Beside(idle_s=30)
    yield made
    made.close()


def test_a_picture_is_sent_once_and_worked_on(beside: Beside) -> None:
    sent = []

    def give():
        sent.append(1)
        return KEPT

    wish = beside.ask("first", "a", give)
    drawn, holds = beside.ask("draw", "a", give, wish=wish, quick=False)
    assert wish.method == "background" and drawn.art.drawing.points > 50 and holds.sentences
    body, kind = beside.ask("shown", "a", give, side=100)
    assert kind == "image/jpeg" and body[:3] == b"\xff\xd8\xff" and len(sent) == 1
    beside.ask("first", "b", give)
    assert len(sent) == 2


def test_a_sentence_comes_back(beside: Beside) -> None:
    with pytest.raises(ArtError, match="no see-through parts"):
        beside.ask("draw", "a", lambda: KEPT, wish=PictureWish("alpha"), quick=True)
    with pytest.raises(ArtError, match="no longer kept"):
        def gone():
            raise ArtError("This picture is no longer kept; bring it in again.")
        beside.ask("first", "c", gone)
    assert beside.ask("first", "a", lambda: KEPT).method == "background", "and it goes on"


def test_a_fault_there_is_a_sentence_here(beside: Beside, caplog: pytest.LogCaptureFixture) -> None:
    with pytest.raises(ArtError) as err:
        beside.ask("draw", "a", lambda: KEPT, wish="no wish", quick=True)
    assert str(err.value) == LOST and "AttributeError" in caplog.text


def test_it_is_started_again_when_it_was_killed(beside: Beside) -> None:
    beside.warm()
    os.kill(beside._process.pid, signal.SIGKILL)
    beside._process.wait()
    assert beside.ask("first", "a", lambda: KEPT).method == "background"
    process = beside._process
    threading.Timer(0.3, process.kill).start()
    ended = 0
    for k in range(40):  # killed at work, or between two pieces of work
        try:
            beside.ask("draw", "a", lambda: KEPT, wish=PictureWish("frame", tolerance=k / 100), quick=False)
        except ArtError as err:
            assert str(err) == LOST
            ended += 1
        if beside._process is not process:
            break
    assert ended <= 1 and beside._process is not process
    assert beside.ask("first", "a", lambda: KEPT).method == "background"


def test_it_ends_when_no_one_asks() -> None:
    beside = Beside(idle_s=0.2)
    beside.ask("first", "a", lambda: KEPT)
    until = time.monotonic() + 20
    while beside._process is not None and time.monotonic() < until:
        time.sleep(0.05)
    assert beside._process is None
    assert np.isfinite(beside.ask("draw", "a", lambda: KEPT, wish=PictureWish("frame"), quick=True)[0].mm_a_px)
    beside.close()


def test_several_ask_at_once(beside: Beside) -> None:
    found: list[str] = []
    ways = [threading.Thread(target=lambda d=d: found.append(beside.ask("first", d, lambda: KEPT).method))
            for d in "abcabc"]
    for w in ways:
        w.start()
    for w in ways:
        w.join()
    assert found == ["background"] * 6
