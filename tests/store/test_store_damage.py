"""A studio's file that is damaged, locked, full or of another release is told in words, and loses nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import event

from composer.body.measures import TYPICAL_MM
from composer.plan.errors import PlanError, StepError
from composer.store import tables
from composer.store.errors import DrawingError, StoreError
from composer.store.gallery import MISSING, STAND_IN_MM
from composer.store.store import Store

SQUARE = (b'<svg xmlns="http://www.w3.org/2000/svg" width="50mm" viewBox="0 0 50 50">'
          b'<rect width="40" height="40"/></svg>')


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A store with one plan, closed again."""
    store = Store(tmp_path)
    pid = store.create("Harbour study")
    store.commit(pid, {"do": "measure", "part": "left_arm", "measures": dict(TYPICAL_MM)})
    store.close()
    return tmp_path


def file_of(folder: Path) -> Path:
    return folder / "sleevewright.sqlite"


def sql(folder: Path, *lines: str) -> None:
    with sqlite3.connect(file_of(folder)) as c:
        for line in lines:
            c.execute(line)
    c.close()


def half(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


@pytest.mark.parametrize(("harm", "words"), [
    (lambda p: p.write_bytes(b"this is no database" * 200), "no database"), (half, "is damaged"),
    (lambda p: (p.unlink(), p.mkdir()), "can't be opened")])
def test_a_file_that_is_none_is_told(folder: Path, harm: Callable[[Path], object], words: str) -> None:
    harm(file_of(folder))
    with pytest.raises(StoreError, match=words) as told:
        Store(folder)
    assert "sleevewright.sqlite" in str(told.value)


def test_a_file_of_a_newer_release_is_left_as_it_is(folder: Path) -> None:
    sql(folder, f"PRAGMA user_version={tables.LAYOUT + 1}")
    before = file_of(folder).read_bytes()
    with pytest.raises(StoreError, match="newer release"):
        Store(folder)
    assert file_of(folder).read_bytes() == before


def test_a_file_of_an_older_release_gains_what_it_lacks(folder: Path) -> None:
    sql(folder, "DROP TABLE printers", "DROP TABLE pictures", "PRAGMA user_version=0")
    store = Store(folder)
    assert store.printers.all() == [] and len(store.plans()) == 1
    store.close()


def test_a_locked_file_is_told_and_nothing_is_changed(folder: Path, monkeypatch) -> None:
    make = tables.create_engine
    monkeypatch.setattr(tables, "create_engine", lambda url, **_: make(url, connect_args={"timeout": 0.05}))
    store = Store(folder)
    pid = store.plans()[0].id
    other = sqlite3.connect(file_of(folder), isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(StoreError, match="in use by another program"):
        store.commit(pid, {"do": "rename", "title": "Second"})
    other.execute("ROLLBACK")
    other.close()
    assert store.commit(pid, {"do": "rename", "title": "Second"}).plan.title == "Second"
    store.close()


def test_a_full_disk_is_told_and_nothing_is_lost(folder: Path) -> None:
    store = Store(folder)
    pid = store.plans()[0].id

    @event.listens_for(store.engine, "begin")
    def _full(c) -> None:
        c.exec_driver_sql(f"PRAGMA max_page_count={c.exec_driver_sql('PRAGMA page_count').scalar()}")

    with pytest.raises(StoreError, match="disk is full"):
        for n in range(400):
            store.commit(pid, {"do": "rename", "title": f"Take {n}"})
    assert store.load(pid).plan.title == (f"Take {n - 1}" if n else "Harbour study")
    store.close()


def test_a_damaged_state_hides_no_other_plan_and_is_taken_back(folder: Path) -> None:
    store = Store(folder)
    pid, other = store.plans()[0].id, store.create("Second")
    for title in ("Third", "Fourth"):
        store.commit(pid, {"do": "rename", "title": title})
    with pytest.raises(StepError, match="can be read as it is"):
        store.take_back(pid)
    sql(folder, f"UPDATE steps SET state=x'00ff' WHERE plan_id='{pid}' AND number IN (2, 3)")
    rows = {r.id: r for r in store.plans()}
    assert rows[pid].damaged and not rows[other].damaged
    with pytest.raises(StoreError, match="damaged"):
        store.load(pid)
    assert store.take_back(pid).plan.title == "Harbour study"
    assert store.load(pid).plan.parts and not any(r.damaged for r in store.plans())
    store.close()


def test_a_lost_step_is_taken_back_too(folder: Path) -> None:
    store = Store(folder)
    pid = store.plans()[0].id
    sql(folder, f"DELETE FROM steps WHERE plan_id='{pid}' AND number=1")
    assert store.plans()[0].damaged
    assert store.take_back(pid).plan.parts == ()
    store.close()


def test_a_damaged_drawing_is_told_and_mended_when_it_comes_again(folder: Path) -> None:
    store = Store(folder)
    digest = store.add_motif(SQUARE, "quay.svg").digest
    store.close()
    sql(folder, f"UPDATE drawings SET data=x'00' WHERE digest='{digest}'")
    store = Store(folder)
    with pytest.raises(DrawingError, match="damaged"):
        store.gallery[digest]
    store.add_motif(SQUARE, "quay.svg")
    store.close()
    store = Store(folder)
    assert store.gallery[digest].digest == digest
    store.close()


def test_what_stands_in_for_a_damaged_drawing_is_seen_and_never_given_out(folder: Path) -> None:
    store = Store(folder)
    motif, pid = store.add_motif(SQUARE, "quay.svg"), store.plans()[0].id
    store.commit(pid, {"do": "place", "piece": {"id": "q", "part": "left_arm", "art": motif.digest, "title": "Quay",
                                                "u": 0.0, "s_mm": 150.0}})
    whole = store.export_plan(pid)
    store.close()
    sql(folder, f"UPDATE drawings SET data=x'00' WHERE digest='{motif.digest}'")
    store = Store(folder)
    box = store.shown[motif.digest]
    assert "damaged" in box.notes[MISSING] and box.outline.is_valid
    x0, y0, x1, y1 = box.outline.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((motif.width_mm, motif.height_mm))
    lost = store.shown["0" * 64]
    assert lost.outline.area == STAND_IN_MM**2 and "not in the store" in lost.notes[MISSING]
    with pytest.raises(DrawingError, match="damaged"):
        store.export_plan(pid)
    told: list[bool] = []
    store.gallery.mended = lambda: told.append(True)
    store.import_plan(whole)
    assert told == [True] and MISSING not in store.shown[motif.digest].notes
    store.close()


def test_a_damaged_side_file_leaves_the_shelf_open(folder: Path) -> None:
    store = Store(folder)
    motif = store.add_motif(SQUARE, "quay.svg")
    sql(folder, f"UPDATE motifs SET side='{{' WHERE id='{motif.id}'")
    found = next(m for m in store.shelf() if m.id == motif.id)
    assert found.side["min_mm"] == pytest.approx(24) and "damaged" in found.side["notes"][0]
    store.close()


def test_what_a_state_lacks_is_no_plan(folder: Path) -> None:
    store = Store(folder)
    with pytest.raises(PlanError, match="not in the store"):
        store.take_back("nope")
    store.close()
