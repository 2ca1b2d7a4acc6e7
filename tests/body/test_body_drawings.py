"""The tape drawings: well-formed, each its own, with the tape at the level asked for."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from composer.body import arm_sketch, leg_sketch, trunk_sketch
from composer.body.fields import FIELDS, Field
from composer.body.kinds import ARM, LEG, fields_of
from composer.body.sketch import INK, PENCIL, WASH
from composer.body.tape_drawing import tape_svg
from composer.body.yoke_fields import PANELS

LEVEL_ENDS = arm_sketch.LEVEL_ENDS | leg_sketch.LEVEL_ENDS
BOTH = ARM.fields + LEG.fields
SVG = "{http://www.w3.org/2000/svg}"


def points(data: str) -> np.ndarray:
    """All points of relative path data, in drawing units."""
    out = []
    for start, rest in re.findall(r"M(-?\d+ -?\d+)l([^Mz]*)", data):
        at = np.array([float(v) for v in start.split()])
        steps = np.array([float(v) for v in re.findall(r"-?\d+", rest)]).reshape(-1, 2)
        out.append(np.vstack([at, at + np.cumsum(steps, axis=0)]))
    return np.concatenate(out) / 10


@pytest.mark.parametrize("field", BOTH, ids=lambda f: f.name)
def test_tape_lies_at_its_level(field: Field) -> None:
    root = ElementTree.fromstring(tape_svg(field.name))
    assert root.get("viewBox") == "0 0 2400 3200" and field.where in root.find(f"{SVG}title").text
    paths = root.findall(f"{SVG}path")
    colours = {p.get("fill") for p in paths} | {p.get("stroke") for p in paths}
    assert {INK, PENCIL, WASH} <= colours
    every = np.concatenate([points(p.get("d")) for p in paths])
    assert every.min() >= 0 and np.all(every.max(axis=0) <= (240, 320))
    tape = points([p for p in paths if p.get("fill") == WASH][-1].get("d"))
    if field.kind == "girth":
        outer, inner = (np.array(e) for e in LEVEL_ENDS[field.level])
        middle, size = (outer + inner) / 2, np.hypot(*(outer - inner))
        assert np.hypot(*(tape.mean(axis=0) - middle)) < 0.2 * size
        assert np.ptp(tape[:, 0]) > 0.8 * abs(outer[0] - inner[0])
    else:
        for level in (field.from_level, field.level):
            assert np.hypot(*(tape - LEVEL_ENDS[level][0]).T).min() < 9


def test_drawings_differ_and_stay_the_same() -> None:
    drawn = [tape_svg(f.name) for f in BOTH]
    assert len(set(drawn)) == len(BOTH)
    again = tape_svg.__wrapped__(FIELDS[0].name)
    assert again == drawn[0]
    assert list(arm_sketch.LEVEL_ENDS) == list(ARM.levels) and list(leg_sketch.LEVEL_ENDS) == list(LEG.levels)


def test_no_drawing_for_an_unknown_measure() -> None:
    with pytest.raises(KeyError, match="no measure of an arm"):
        tape_svg("tail")
    with pytest.raises(KeyError, match="no measure of a leg"):
        tape_svg("wrist", "left_leg")
    assert tape_svg("calf", "left_leg") == tape_svg("calf")


TRUNK = [(part, f) for part in PANELS for f in fields_of(part)]


@pytest.mark.parametrize(("part", "field"), TRUNK, ids=lambda v: getattr(v, "name", v))
def test_tape_of_chest_and_back_lies_on_the_side_it_names(part: str, field: Field) -> None:
    root = ElementTree.fromstring(tape_svg(field.name, part))
    assert field.where in root.find(f"{SVG}title").text
    paths = root.findall(f"{SVG}path")
    every = np.concatenate([points(p.get("d")) for p in paths])
    assert every.min() >= 0 and np.all(every.max(axis=0) <= (240, 320))
    tape = points([p for p in paths if p.get("fill") == WASH][0 if field.name == "fullness" else -1].get("d"))
    if field.kind == "girth":
        a, b = (np.array(e) for e in trunk_sketch.LEVEL_ENDS[field.level])
        assert np.hypot(*(tape.mean(axis=0) - (a + b) / 2)) < 0.2 * (b - a)[0] and np.ptp(tape[:, 0]) > 0.8 * (b - a)[0]
        return
    ends = trunk_sketch.run_of(field.name, part == "upper_back")
    assert bool(ends) == (field.name != "fullness")
    for end in ends[:1] + ends[-1:]:
        assert np.hypot(*(tape - end).T).min() < 6
    side = field.name.rpartition("_")[2]
    if side in ("left", "right"):   # the client's left is at the viewer's right in front, at the left behind
        right = (side == "left") == (part == "chest")
        assert np.mean((tape[:, 0] > 120) == right) > 0.9


def test_a_measure_of_the_arm_is_none_of_the_chest() -> None:
    with pytest.raises(KeyError, match="no measure of a chest"):
        tape_svg("wrist", "chest")
    assert len({tape_svg(f.name, part) for part, f in TRUNK}) == len(TRUNK)
