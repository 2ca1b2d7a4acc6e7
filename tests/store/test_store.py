"""What is kept stays: history over restarts, two windows, damaged files."""

from __future__ import annotations

import gzip
import json
import sys
import threading

import numpy as np
import pytest

from composer.art.colour_notes import noted_areas
from composer.art.drawing import Drawing, Layer
from composer.art.errors import ArtError
from composer.art.svg_read import ReadArt
from composer.body.measures import TYPICAL_MM
from composer.plan.errors import PlanError, StepError
from composer.store.bundle import pack, unpack
from composer.store.store import Store

RING = np.array([(-20.0, -30.0), (25.0, -20.0), (10.0, 35.0)])
DRAWING = Drawing((RING,), (Layer("black", (RING * 0.5,)),))
SVG = (b'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
       b'<path d="M5 5L55 8L50 50Z"/></svg>')


@pytest.fixture
def store(tmp_path):
    made = Store(tmp_path / "data")
    yield made
    made.close()


@pytest.fixture
def plan_id(store: Store) -> str:
    plan = store.create("Estuary")
    store.commit(plan, {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    place(store, plan, "a")
    return plan


def place(store: Store, plan_id: str, name: str, u: float = 0.1):
    return store.commit(plan_id, {"do": "place", "piece": {
        "id": name, "part": "left_arm", "art": store.keep_drawing(DRAWING), "title": name, "u": u, "s_mm": 120.0}})


def test_undo_and_redo_survive_a_restart(store: Store, plan_id: str) -> None:
    store.commit(plan_id, {"do": "change", "pieces": [{"id": "a", "u": 0.3}]})
    store.undo(plan_id)
    store.close()
    again = Store(store.folder)
    kept = again.load(plan_id)
    assert kept.plan.piece("a").u == 0.1
    assert (kept.undo_label, kept.redo_label) == ("place a", "move a")
    assert again.redo(plan_id).plan.piece("a").u == 0.3
    again.undo(plan_id)
    again.undo(plan_id)
    assert again.load(plan_id).plan.pieces == ()
    again.close()


def test_a_new_step_after_undo_starts_a_new_branch(store: Store, plan_id: str) -> None:
    store.undo(plan_id)
    kept = place(store, plan_id, "b")
    assert not kept.can_redo and [p.id for p in kept.plan.pieces] == ["b"]


def test_nothing_to_undo_is_said(store: Store) -> None:
    plan = store.create("Empty")
    with pytest.raises(StepError, match="nothing left to undo"):
        store.undo(plan)
    with pytest.raises(StepError, match="nothing to redo"):
        store.redo(plan)


def test_a_refused_step_changes_nothing(store: Store, plan_id: str) -> None:
    before = store.load(plan_id)
    with pytest.raises(StepError):
        store.commit(plan_id, {"do": "change", "pieces": [{"id": "a", "u": 0.2}, {"id": "gone", "u": 0.1}]})
    assert store.load(plan_id) == before


def test_a_drawing_that_is_not_kept_is_refused(store: Store, plan_id: str) -> None:
    with pytest.raises(StepError, match="not in the store"):
        store.commit(plan_id, {"do": "place", "piece": {"id": "x", "part": "left_arm", "art": "0" * 64, "title": "x",
                                                        "u": 0.0, "s_mm": 1.0}})


def test_many_windows_lose_no_edit(store: Store, plan_id: str) -> None:
    """Eight threads write at once; every one of their pieces is there in the end."""
    failed: list[BaseException] = []

    def work(n: int) -> None:
        try:
            for k in range(5):
                place(store, plan_id, f"w{n}_{k}", u=n / 20)
        except BaseException as err:
            failed.append(err)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(8)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert not failed
    kept = store.load(plan_id)
    assert len(kept.plan.pieces) == 41
    assert kept.revision == store.revision(plan_id) == 43


def test_removed_plan_can_be_restored(store: Store, plan_id: str) -> None:
    store.remove(plan_id)
    assert store.plans() == []
    with pytest.raises(PlanError, match="may have been deleted"):
        store.load(plan_id)
    store.restore(plan_id)
    assert [p.id for p in store.plans()] == [plan_id]


def test_export_and_import_bring_the_art_along(store: Store, plan_id: str, tmp_path) -> None:
    data = store.export_plan(plan_id)
    other = Store(tmp_path / "other")
    new = other.import_plan(data)
    assert other.load(new).plan == store.load(plan_id).plan
    assert other.gallery[DRAWING.digest].digest == DRAWING.digest
    again = other.import_plan(data)
    assert again != new and len(other.plans()) == 2
    other.close()


def test_same_plan_same_file(store: Store, plan_id: str) -> None:
    assert store.export_plan(plan_id) == store.export_plan(plan_id)


@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 0.95, 0.999])
def test_a_file_cut_short_is_told(store: Store, plan_id: str, share: float) -> None:
    packed = store.export_plan(plan_id)
    plain = gzip.decompress(packed)
    for data in (packed, plain):
        with pytest.raises(PlanError, match="cut short|cannot be unpacked|not a plan file"):
            store.import_plan(data[: int(len(data) * share)])
    assert len(store.plans()) == 1


def test_tampered_art_is_told(store: Store, plan_id: str) -> None:
    value = json.loads(gzip.decompress(store.export_plan(plan_id)))
    digest = next(iter(value["art"]))
    value["art"][digest]["silhouette"][0][0] += 5
    with pytest.raises(PlanError, match="was changed after it was saved"):
        store.import_plan(json.dumps(value).encode())
    value["art"][digest] = {"silhouette": "x"}
    with pytest.raises(PlanError, match="is damaged"):
        store.import_plan(json.dumps(value).encode())
    del value["art"]
    with pytest.raises(PlanError, match="lacks the drawing"):
        Store(store.folder.parent / "empty").import_plan(json.dumps(value).encode())


@pytest.mark.parametrize("data", [b"", b"\x00\x01", b"[]", b"{}", b"null", b"\xff\xfe", b'"x"', b"[" * 100_000,
                                  b'{"format": "sleevewright-plan", "version": "1"}'])
def test_other_files_are_told(store: Store, data: bytes) -> None:
    with pytest.raises(PlanError):
        store.import_plan(data)


@pytest.mark.parametrize(("change", "words"), [
    ({"version": 2.0}, "newer release"), ({"title": "\ud800"}, "half a character"), ({"x": 10**5000}, "number"),
    ({"x": json.loads("[" * 400 + "]" * 400)}, "nests too deep")])
def test_a_plan_that_no_release_wrote_is_told(store: Store, plan_id: str, change: dict, words: str) -> None:
    sys.set_int_max_str_digits(0)
    data = json.loads(gzip.decompress(store.export_plan(plan_id)))
    text = json.dumps({**data, **change})
    sys.set_int_max_str_digits(4300)
    with pytest.raises(PlanError, match=words):
        unpack(text.encode())


@pytest.mark.parametrize("value", [10**400, 1e30, "x", None, {}])
def test_art_with_a_point_that_is_none_is_told(store: Store, plan_id: str, value: object) -> None:
    data = json.loads(gzip.decompress(store.export_plan(plan_id)))
    next(iter(data["art"].values()))["silhouette"][0][0] = value
    with pytest.raises(PlanError, match="damaged"):
        unpack(json.dumps(data).encode())


def test_pack_and_unpack_are_inverse(store: Store, plan_id: str) -> None:
    plan, art = unpack(pack(store.load(plan_id).plan, store.gallery))
    assert plan == store.load(plan_id).plan
    assert set(art) == {DRAWING.digest}


def test_own_motif_comes_and_goes(store: Store) -> None:
    motif = store.add_motif(SVG, "../../harbour wall<b>.svg")
    assert motif.title == "harbour wallb"
    assert store.shelf()[0] == motif
    assert motif.width_mm == pytest.approx(50, abs=0.1)
    assert store.motif(motif.id).digest in store.gallery
    store.remove_motif(motif.id)
    assert motif.id not in [m.id for m in store.shelf()]
    with pytest.raises(ArtError, match="Only your own"):
        store.remove_motif("heron")


def test_house_motifs_are_read_once(store: Store, monkeypatch) -> None:
    first = store.shelf()
    assert len(first) >= 16
    monkeypatch.setattr("composer.store.motifs.read_house", lambda path: pytest.fail(f"{path} was read again"))
    assert Store(store.folder).shelf() == first


def test_a_folder_that_cannot_be_made_is_told(tmp_path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(PlanError, match="cannot be made"):
        Store(tmp_path / "file" / "data")


def test_colours_once_noted_beside_a_motif_are_found_in_its_drawing(store: Store, plan_id: str) -> None:
    motif = store.add_drawn(ReadArt(DRAWING, {}, ()), "Buoy", {"colour_areas": {"red": [(0.4 * RING).tolist()]}})
    store.commit(plan_id, {"do": "place", "piece": {"id": "buoy", "part": "left_arm", "art": motif.digest,
                                                    "title": "Buoy", "u": 0.3, "s_mm": 200.0}})
    for _ in range(2):      # once handed over it stays so
        store.close()
        store = Store(store.folder)
        art = store.gallery[store.load(plan_id).plan.piece("buoy").art]
        assert np.allclose(noted_areas(art.notes)["red"], [0.4 * RING])
        assert "colour_areas" not in store.motif(motif.id).side and store.motif(motif.id).title == "Buoy"
    _, drawings = unpack(store.export_plan(plan_id))
    assert drawings[motif.digest].notes == art.notes
    store.close()
