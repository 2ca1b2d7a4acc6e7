"""Both sides alike: letters that lie on the same skin, and places as two tapes give them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from demo_case import DEMO, GALLERY

from composer.art.colour_notes import noted
from composer.body.correspond import carry_points
from composer.body.limb import Level, Limb
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.plan.errors import StepError
from composer.plan.steps import apply
from composer.plan.twins import surface_of
from composer.sheets.leaf_strokes import leaf_strokes
from composer.sheets.slits import Limits, prepare
from composer.sheets.stencil_twins import cut_alike, measure_page, pair, papers_of, where
from composer.sheets.strokes import Words


@pytest.mark.parametrize("name", ["demo2", "demo5", "demo9"])
def test_letters_lie_on_answering_skin(name: str) -> None:
    p = pair(DEMO, name, GALLERY)
    assert [k for k, _, _ in p.here.points] == ["A", "B", "C", "D"] == [k for k, _, _ in p.there.points]
    assert (p.here.part, p.there.part) == ("left_arm", "right_arm")
    here = p.here.chart.to_skin(np.array([v[1:] for v in p.here.points]))
    there = p.there.chart.to_skin(np.array([v[1:] for v in p.there.points]))
    off = (there - carry_points(p.here.limb, p.there.limb, here)) * (300.0, 1.0)
    assert np.hypot(*off.T).max() < 3.0     # rigid twins deviate by a mm or two, which the sentence says
    for s in (p.here, p.there):
        for _, x, y in s.points:
            assert s.body.distance(shapely.Point(x, y)) > 2.0
    assert "mirror image" in p.sentence


def test_on_equal_arms_both_sides_read_the_same() -> None:
    plan = apply(DEMO, {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    plan = apply(plan, {"do": "measure", "part": "right_arm", "measures": TYPICAL_MM})
    assert all(q.here == q.there for q in pair(plan, "demo5", GALLERY).points)


def test_places_in_words_on_a_cylinder() -> None:
    """On a limb of 400 mm all round, a tenth of a turn is 40 mm of tape."""
    limb = Limb((Level("wrist", 0, 400), Level("elbow", 200, 400)))
    assert where(limb, "left_arm", np.array([0.1, 170.0]), "mm") == (
        "30 mm below the elbow, 40 mm round from the front line towards the outer line")
    assert where(limb, "right_arm", np.array([-0.1, 170.0]), "mm") == (
        "30 mm below the elbow, 40 mm round from the front line towards the outer line")
    assert where(limb, "left_arm", np.array([0.5, 200.0]), "mm") == "at the elbow, on the back line"


def test_the_letters_are_printed_on_the_papers_and_listed() -> None:
    p = pair(DEMO, "demo5", GALLERY)
    for s in (p.here, p.there):
        words = [t.text for t in leaf_strokes(prepare(s).leaves[0], s.title) if isinstance(t, Words)]
        assert {"A", "B", "C", "D"} <= set(words)
    pages = measure_page([p] * 6)
    said = [t.text for page in pages for b in page.blocks for t in b.things if isinstance(t, Words)]
    assert len(pages) > 1 and said.count("A") == 6 and all(0 < t.y < 297 for page in pages for b in page.blocks
                                                         for t in b.things if isinstance(t, Words))


def test_without_the_other_arms_measures_it_is_told() -> None:
    one = replace(DEMO, parts=DEMO.parts[:1])
    with pytest.raises(StepError, match="has no measures yet"):
        pair(one, "demo5", GALLERY)


def test_both_sides_are_parted_over_their_armholes_with_the_letters_on_the_arms() -> None:
    plan = DEMO
    for part, mm in (("left_arm", TYPICAL_MM), ("right_arm", TYPICAL_MM), ("chest", PANEL_TYPICAL_MM["chest"])):
        plan = apply(plan, {"do": "measure", "part": part, "measures": dict(mm)})
    name = next(p.id for p in plan.pieces if p.part == "left_arm" and not p.is_filler)
    limb = surface_of(plan, "left_arm")
    assert isinstance(limb, Limb)
    plan = apply(plan, {"do": "change", "pieces": [{"id": name, "u": 0.1, "s_mm": limb.s_max + 4.0, "turn_deg": 0.0}]})
    whole, two = pair(plan, name, GALLERY), pair(plan, name, GALLERY, apart_mm=1.0)
    assert whole.beyond == ((), ())
    got = papers_of(two)
    assert [s for _, s in got] == ["left", "chest, left", "right", "chest, right"]
    assert [s.part for s, _ in got] == ["left_arm", "chest", "right_arm", "chest"]
    left, on_chest, right, beyond = (s for s, _ in got)
    for own, far, before in ((left, on_chest, whole.here), (right, beyond, whole.there)):
        assert own.body.area < before.body.area - 20 and far.body.area > 20
        assert {t.label for t in far.ticks} and {t.label for t in far.ticks} <= {t.label for t in own.ticks}
        assert own.points and not far.points
        assert all(own.outline.buffer(0.1).covers(shapely.Point(x, y)) for _, x, y in own.points)
    assert far.body.area == pytest.approx(on_chest.body.area, rel=0.02)     # equal arms on an even chest


def test_both_sides_are_cut_in_the_same_way() -> None:
    """The heron's left paper, 8% larger, is off by 1.7 mm and would stay whole, its right one by 2.1."""
    heron, gallery = DEMO.piece("demo2"), GALLERY
    plan = DEMO.with_piece(replace(heron, scale=1.08 * heron.scale))
    two = pair(plan, "demo2", gallery)
    alone = [prepare(s, Limits.of({})).way for s in (two.here, two.there)]
    assert alone[0] == "whole" != alone[1], alone
    (_, left, side), (_, right, other) = cut_alike(two, Limits.of({}))
    assert (side, other) == ("left", "right") and left.way == right.way != "whole"
    assert left.error_mm < 1.0 and left.uncut_mm == pytest.approx(prepare(two.here, Limits.of({})).error_mm)


def test_named_colours_stand_on_both_papers() -> None:
    ring = np.array([[-90.0, -90.0], [3.0, -90.0], [3.0, 90.0], [-90.0, 90.0]])
    art = DEMO.piece("demo5").art
    two = pair(DEMO, "demo5", {**GALLERY, art: replace(GALLERY[art], notes=noted({"red": (ring,)}))})
    for side in (two.here, two.there):
        border = dict(side.art.borders)["red"]
        assert border.length > 2 and side.body.buffer(0.1).covers(border)
    left, right = (dict(s.art.borders)["red"].length for s in (two.here, two.there))
    assert left == pytest.approx(right, rel=0.02)
