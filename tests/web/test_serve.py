"""The first start of the desk."""

from __future__ import annotations

import _thread
import argparse
import multiprocessing
import signal
import threading
from functools import cache
from pathlib import Path

import pytest

from composer.demo import bare_demo
from composer.store.store import Store
from web import serve
from web.serve import add_demo_in, demo_beside, free_port


def start(folder: Path, no_demo: bool = False) -> None:
    serve.run(argparse.Namespace(port=0, data=folder, no_demo=no_demo))


@pytest.fixture
def composed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The desk is never opened, and the demo is composed here and bare; gives what was done to compose it."""
    done: list[str] = []

    def here(folder: Path) -> bool:
        done.append("composed")
        add_demo_in(folder)
        return True

    monkeypatch.setattr("composer.demo.demo_plan", cache(bare_demo))
    monkeypatch.setattr("uvicorn.run", lambda app, **_: app.state.desk.store.close())
    monkeypatch.setattr(serve, "demo_beside", here)
    return done


def test_the_demo_is_put_in_by_a_process_that_opens_the_folder_itself(tmp_path: Path, composed: list[str]) -> None:
    start(tmp_path)
    store = Store(tmp_path)
    try:
        (row,) = store.plans()
        plan = store.load(row.id).plan
        assert plan.pieces and all(store.gallery[p.art].layers for p in plan.pieces)
        store.remove(row.id)
    finally:
        store.close()
    start(tmp_path)
    assert composed == ["composed"], "a demo that was removed does not come back"


def test_a_first_start_that_was_stopped_is_made_up_for_by_the_next(tmp_path: Path, composed: list[str],
                                                                   monkeypatch: pytest.MonkeyPatch,
                                                                   capsys: pytest.CaptureFixture[str]) -> None:
    def stopped(folder: Path) -> bool:
        raise KeyboardInterrupt

    with monkeypatch.context() as first:
        first.setattr(serve, "demo_beside", stopped)
        with pytest.raises(KeyboardInterrupt):
            start(tmp_path)
        first.setattr(serve, "demo_beside", lambda folder: False)
        start(tmp_path)
    assert "could not be composed; the next start tries again" in capsys.readouterr().out
    start(tmp_path, no_demo=True)
    assert composed == []
    start(tmp_path)
    add_demo_in(tmp_path)               # what an earlier start left behind comes to its end after all
    store = Store(tmp_path)
    assert composed == ["composed"] and [row.title for row in store.plans()] == ["Estuary sleeve"]
    store.close()


def test_ctrl_c_ends_the_process_that_composes_and_leaves_an_unused_store(tmp_path: Path) -> None:
    was = signal.signal(signal.SIGINT, signal.default_int_handler)    # ignored where tests run in the background
    try:
        threading.Timer(0.7, _thread.interrupt_main).start()
        with pytest.raises(KeyboardInterrupt):
            demo_beside(tmp_path)
    finally:
        signal.signal(signal.SIGINT, was)
    assert multiprocessing.active_children() == []
    store = Store(tmp_path)
    assert store.unused()
    store.close()


def test_a_port_that_cannot_be_is_refused_in_words() -> None:
    with pytest.raises(ValueError, match="70000 is no port; use a number from 1024 to 65535"):
        free_port(70000)
