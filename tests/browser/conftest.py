"""A browser for the whole run, a desk of its own for each test."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from shutil import copytree

import pytest
from desk_server import FLAGS, Served, chromium, demo, empty_arm, with_chest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from composer.store.store import Store


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as p:
        found = p.chromium.launch(executable_path=chromium(), args=FLAGS)
        yield found
        found.close()


expect.set_options(timeout=30_000)   # a state that is waited for comes; how soon is for benchmarks


def _open(browser: Browser, **more: object) -> Page:
    context = browser.new_context(viewport={"width": 1440, "height": 900}, **more)  # type: ignore[arg-type]
    page = context.new_page()
    page.set_default_timeout(60_000)
    return page


def _faults(page: Page) -> list[str]:
    """Script errors and 5xx answers, gathered as they come."""
    found: list[str] = []
    page.on("pageerror", lambda e: found.append(str(e)))
    page.on("response", lambda r: found.append(f"{r.status} {r.url}") if r.status >= 500 else None)
    return found


def _stocked(kept: Path, make: Callable[[Store], str]) -> str:
    """Puts a plan into a store of its own, with the house's motifs on the shelf, and shuts it, for tests to copy; gives
    the plan's id."""
    store = Store(kept)
    plan_id = make(store)
    store.shelf()
    store.close()
    return plan_id


@pytest.fixture(scope="session")
def demo_data(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Data folder with the demo before anything is tied in, and the plan's id."""
    kept = tmp_path_factory.mktemp("demo") / "data"
    return kept, _stocked(kept, demo)


@pytest.fixture(scope="session")
def bare_data(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Data folder with an arm that has nothing on it, and the plan's id."""
    kept = tmp_path_factory.mktemp("bare") / "data"
    return kept, _stocked(kept, empty_arm)


@pytest.fixture(scope="session")
def yoke_data(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Data folder with the demo, a chest and one drawing on it, and the plan's id."""
    kept = tmp_path_factory.mktemp("yoke") / "data"
    return kept, _stocked(kept, with_chest)


@pytest.fixture
def served(tmp_path: Path, demo_data: tuple[Path, str]) -> Iterator[Served]:
    """The demo before anything is tied in."""
    with Served(copytree(demo_data[0], tmp_path / "data"), lambda _: demo_data[1]) as s:
        yield s


@pytest.fixture
def yoke(tmp_path: Path, yoke_data: tuple[Path, str]) -> Iterator[Served]:
    """The demo with a chest and one drawing on it."""
    with Served(copytree(yoke_data[0], tmp_path / "data"), lambda _: yoke_data[1]) as s:
        yield s


@pytest.fixture
def bare(tmp_path: Path, bare_data: tuple[Path, str]) -> Iterator[Served]:
    """An arm with nothing on it."""
    with Served(copytree(bare_data[0], tmp_path / "data"), lambda _: bare_data[1]) as s:
        yield s


def _served_first(request: pytest.FixtureRequest) -> None:
    """The server of a test outlives its page."""
    for name in ("served", "bare", "yoke"):
        if name in request.fixturenames:
            request.getfixturevalue(name)


@pytest.fixture
def page(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    _served_first(request)
    made = _open(browser)
    faults = _faults(made)
    yield made
    made.context.close()
    assert faults == []


@pytest.fixture
def touch(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page on a device with a touch screen."""
    _served_first(request)
    made = _open(browser, has_touch=True)
    faults = _faults(made)
    yield made
    made.context.close()
    assert faults == []
