"""The demo's wide sheet: filigree over both shoulders and into the chest, mirrored, clear of what lies in front."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from composer.art.drawing import Drawing
from composer.demo import bare_demo, house_shelf
from composer.demo_yoke import lay_chest, lay_scrolls, unlocked
from composer.filler.seen import visible_laid
from composer.plan.model import Plan
from composer.plan.over_joins import scene_with_neighbours
from composer.plan.twins import twin_deviation
from composer.sheets.wide_art import wide_art


@pytest.fixture(scope="module")
def demo() -> tuple[Plan, dict[str, Drawing]]:
    """The demo without the background of the left arm."""
    plan, gallery = bare_demo()
    return lay_scrolls(lay_chest(plan, gallery, house_shelf()), gallery), gallery


def test_filigree_lies_on_both_shoulders_and_both_sides_of_the_chest(demo: tuple[Plan, dict[str, Drawing]]) -> None:
    plan, _ = demo
    scrolls = [p for p in plan.pieces if p.id.startswith("scroll-")]
    assert {p.part for p in scrolls} == {"left_arm", "right_arm", "chest"} and len(scrolls) >= 8
    for p in scrolls:
        if p.twin_of:
            origin = plan.piece(p.twin_of)
            assert p.linked and p.art == origin.art and p.flip != origin.flip and p.recipe == origin.recipe
            assert np.sign(p.u) == -np.sign(origin.u) or abs(origin.u) > 0.49
    assert not any(p.locked for p in unlocked(plan).pieces if p.id.startswith("scroll-"))


def test_twins_on_the_fuller_side_stray_by_little_and_say_why(demo: tuple[Plan, dict[str, Drawing]]) -> None:
    plan, gallery = demo
    for name in ("chest2-twin", "demo1-twin"):
        told = twin_deviation(plan, plan.piece(name), gallery)
        assert 0.05 < told.largest_mm < 5.0, told.sentence
        assert "side lies" in told.sentence or "other limb" in told.sentence


def test_filigree_keeps_the_skin_break_on_both_sides(demo: tuple[Plan, dict[str, Drawing]]) -> None:
    plan, gallery = demo
    here = scene_with_neighbours(plan, "chest", gallery)
    seen = visible_laid(here, plan.settings)
    mains = [x for x in here.laid if not x.piece.is_filler]
    for x in here.laid:
        if x.piece.is_filler:
            ink = seen[x.piece.id].ink("line", "black")
            for main in mains:
                there = shapely.transform(main.flat.outline, lambda p, a=main, b=x: b.patch.to_flat(a.patch.to_skin(p)))
                assert shapely.distance(ink, there) > plan.settings.skin_break_mm - 0.35


def test_the_wide_sheet_has_all_of_it(demo: tuple[Plan, dict[str, Drawing]]) -> None:
    plan, gallery = demo
    art = wide_art(plan, "shoulders", gallery)
    shown = {p.piece.id for p in art.pieces}
    assert {p.id for p in plan.pieces if p.id.startswith(("scroll-", "chest"))} <= shown
    form = shapely.Polygon(art.border)
    assert form.is_valid and form.area > 150_000
