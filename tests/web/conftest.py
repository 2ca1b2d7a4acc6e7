"""The app over a store of its own, without a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from shutil import copytree

import pytest
from starlette.testclient import TestClient

from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.store.store import Store
from web.app import create_app
from web.thrift import Thrift


@pytest.fixture(scope="session", autouse=True)
def untidied() -> Iterator[None]:
    """Memory of the test process is not collected after each answer, which takes an eighth of these tests' time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("web.app.Thrift", lambda app: Thrift(app, tidy=lambda: None))
        yield


@pytest.fixture(scope="session")
def shelved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Data folder without plans in which the house's motifs are on the shelf, for tests to copy."""
    store = Store(tmp_path_factory.mktemp("shelved") / "data")
    store.shelf()
    store.close()
    return store.folder


@pytest.fixture
def store(tmp_path: Path, shelved: Path) -> Iterator[Store]:
    made = Store(copytree(shelved, tmp_path / "data"))
    yield made
    made.close()


@pytest.fixture
def client(store: Store) -> TestClient:
    """Not entered as a context, so the shelf is only read by tests that want it."""
    return TestClient(create_app(store=store), raise_server_exceptions=False)


@pytest.fixture
def plan_id(store: Store) -> str:
    """A plan with the left arm taped."""
    pid = store.create("Harbour study")
    store.commit(pid, {"do": "measure", "part": "left_arm", "measures": dict(TYPICAL_MM)})
    return pid


@pytest.fixture
def shoulders(store: Store) -> str:
    """A plan with both arms and the chest taped."""
    pid = store.create("Both shoulders")
    for part, mm in (("left_arm", TYPICAL_MM), ("right_arm", TYPICAL_MM), ("chest", PANEL_TYPICAL_MM["chest"])):
        store.commit(pid, {"do": "measure", "part": part, "measures": dict(mm)})
    return pid
