"""The test kit must find what is wrong: kinds broken on purpose, and kinds of another package."""

import os
import textwrap
from importlib.metadata import EntryPoint
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler import kinds
from composer.filler.kinds import Kind, Way
from composer.filler.testkit import faults, plain_grounds


def bar(ground: object, x: float, width: float, how: str, notes: dict) -> Drawing:
    rings = geometry_to_rings(LineString([(x, -5), (x, 5)]).buffer(width / 2))
    return Drawing(rings, (Layer("line", rings),), (End(x, 5.0, how),), notes)


def kind_of(draw: object) -> Kind:
    return Kind("sleet", "Sleet", (Way("one", "Sleet", draw),), False, 5.0)


@pytest.mark.parametrize(("x", "width", "how", "notes", "said"), [
    (20.0, 1.0, "tip", {}, None),
    (20.0, 1.0, "bare", {}, "bare"),
    (20.0, 0.2, "tip", {}, "finest line"),
    (300.0, 1.0, "tip", {}, "out of the free skin"),
    (20.0, 1.0, "tip", {"bad": {1, 2}}, "JSON"),
])
def test_broken_rules_are_said(monkeypatch: pytest.MonkeyPatch, x: float, width: float, how: str, notes: dict,
                               said: str | None) -> None:
    sleet = kind_of(lambda g, h, w, rng: bar(g, x, width, how, notes))
    monkeypatch.setitem(kinds.KINDS, "sleet", sleet)
    monkeypatch.setattr("composer.filler.testkit._elsewhere", lambda *a: __import__(
        "composer.filler.testkit", fromlist=["digest_of"]).digest_of(*a))
    found = faults("sleet", {"field": plain_grounds()["field"]})
    assert (found == []) if said is None else any(said in f for f in found)


def test_unsteady_kinds_and_false_mirrors_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    loose = np.random.default_rng()
    sleet = kind_of(lambda g, h, w, rng: bar(g, 17.0 + loose.uniform(0, 5), 1.0, "tip", {}))
    monkeypatch.setitem(kinds.KINDS, "sleet", sleet)
    found = faults("sleet", {"field": plain_grounds()["field"]}, mirrors="one")
    assert any("two different drawings" in f for f in found)
    assert any("no mirror image" in f for f in found)


def test_nothing_drawn_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(kinds.KINDS, "sleet", kind_of(lambda g, h, w, rng: None))
    assert any("nothing was drawn" in f for f in faults("sleet"))


SLEET = kind_of(lambda g, h, w, rng: bar(g, 20.0, 1.0, "tip", {}))


def test_a_kind_of_another_package_is_found_and_the_house_wins(monkeypatch: pytest.MonkeyPatch) -> None:
    here = f"{__name__}:SLEET"
    entries = [EntryPoint("sleet", here, kinds.GROUP), EntryPoint("gone", "no.such.module:KIND", kinds.GROUP)]
    monkeypatch.setattr(kinds, "entry_points", lambda group: entries if group == "sleevewright.fillers" else [])
    kinds.brought.cache_clear()
    try:
        assert kinds.kind("sleet") is SLEET
        assert list(kinds.every_kind())[-1] == "sleet" and "gone" not in kinds.every_kind()
        with pytest.raises(ValueError, match="no filler called 'hail'.*sleet"):
            kinds.kind("hail")
    finally:
        kinds.brought.cache_clear()


def test_the_example_in_the_documents_passes(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    code = textwrap.dedent(text[text.index("      # sleet.py"):text.index("  Its test: `from")])
    (tmp_path / "sleet.py").write_text(code, encoding="utf-8")
    info = tmp_path / "sleet-0.1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: sleet\nVersion: 0.1\n", encoding="utf-8")
    (info / "entry_points.txt").write_text("[sleevewright.fillers]\nsleet = sleet:KIND\n", encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    # the kit draws in another process too, which has to find the package as well
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path), str(Path(__file__).parents[2])]))
    kinds.brought.cache_clear()
    try:
        assert faults("sleet") == []
    finally:
        kinds.brought.cache_clear()
