"""The first start of the desk."""

from __future__ import annotations

from pathlib import Path

import pytest

from composer.demo import bare_demo
from composer.store.store import Store
from web.serve import add_demo_in, free_port


def test_the_demo_is_put_in_by_a_process_that_opens_the_folder_itself(tmp_path: Path,
                                                                      monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("composer.demo.demo_plan", bare_demo)
    plan_id = add_demo_in(tmp_path)
    store = Store(tmp_path)
    try:
        plan = store.load(plan_id).plan
        assert plan.pieces and all(store.gallery[p.art].layers for p in plan.pieces)
    finally:
        store.close()


def test_a_port_that_cannot_be_is_refused_in_words() -> None:
    with pytest.raises(ValueError, match="70000 is no port; use a number from 1024 to 65535"):
        free_port(70000)
