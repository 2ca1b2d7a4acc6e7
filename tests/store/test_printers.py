"""Printers' corrections in the studio's file, also in one from before there were any."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from composer.store.store import Store


def test_a_correction_is_kept_changed_and_forgotten(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.printers.keep("Office", 1.002, 0.998)
    store.printers.keep("Studio", 1.0, 1.001)
    store.printers.keep("Office", 1.003, 0.997)
    store.close()
    again = Store(tmp_path)
    assert [p.name for p in again.printers.all()] == ["Office", "Studio"]
    office = again.printers.named("Office")
    assert office is not None and (office.across, office.along) == (1.003, 0.997)
    again.printers.forget("Office")
    again.printers.forget("nobody's")
    assert again.printers.named("Office") is None and len(again.printers.all()) == 1
    again.close()


def test_an_older_file_keeps_its_plans_and_gains_the_table(tmp_path: Path) -> None:
    store = Store(tmp_path)
    pid = store.create("Harbour study")
    store.close()
    with sqlite3.connect(tmp_path / "sleevewright.sqlite") as c:
        c.execute("DROP TABLE printers")
    again = Store(tmp_path)
    assert again.load(pid).plan.title == "Harbour study"
    assert again.printers.all() == []
    again.printers.keep("Office", 1.001, 1.0)
    assert len(again.printers.all()) == 1
    again.close()
