"""Whole backgrounds over parts that meet: arms, chest and seams searched as one, with ties over a seam as musts."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from drawn_once import ONCE, DrawnOnce
from test_over_seam import FRONT, PARTS, both_sides

from composer.compose.over_seam import SeamGap
from composer.filler.ground import Wish
from composer.filler.held import REACH_MM
from composer.filler.weigh import MUST, carried, figures, seen
from composer.filler.whole_joined import JoinedPlace, JoinedSlot, JoinedWhole, compose_joined
from composer.plan.model import Hand, Piece, Settings
from composer.plan.scene import lay
from composer.sheets.wide_art import wide_of

LOW = {"left_arm": 300.0, "right_arm": 300.0}


def found(rounds: int = 0, **more: object) -> list[JoinedWhole]:
    plan, joined = both_sides()
    low = {p.part: p.s_from_mm for p in wide_of(plan, "shoulders").parts if p.limb.closed}
    return compose_joined(joined, ["bank"], Hand(), Wish(), 3, rounds, [("inner", "outer")], plan.settings, low,
                          **{"pool": ONCE, **more})   # type: ignore[arg-type]


def test_one_background_holds_arms_chest_and_seams_and_carries_a_must_over_the_armhole() -> None:
    told: list[float] = []
    firsts: list[JoinedWhole] = []
    (whole,) = found(progress=told.append, first=firsts.append)
    assert {p for p, _ in whole.fillers} == set(PARTS) and told[-1] == 1.0 and firsts == [whole]
    over = [p for part, p in whole.fillers if "seam" in p.recipe.goal]
    assert {p.recipe.goal["seam"] for p in over} == {FRONT, "right armhole, front"}
    depths = [p.depth for _, p in whole.fillers]
    assert depths == sorted(depths) and min(p.depth for p in over) > max(
        p.depth for _, p in whole.fillers if "seam" not in p.recipe.goal)
    assert whole.figures["reach"] > 0.9 and whole.figures["musts"] > 0.6
    again = found(pool=DrawnOnce())[0]
    assert [p.drawing.digest for _, p in again.fillers] == [p.drawing.digest for _, p in whole.fillers]


def test_stopped_it_hands_out_what_it_has() -> None:
    (part,) = found(progress=lambda share: share < 0.2)
    assert 0 < len(part.fillers) < 12


def test_a_filler_over_the_seam_is_weighed_on_both_sides_and_any_other_on_its_own() -> None:
    _, joined = both_sides()
    (whole,) = found()
    place = JoinedPlace(joined, Settings(), LOW)
    ends = np.cumsum([len(p.us) for p in place.parts.values()])
    assert ends[-1] == len(place.whole.us) and len(set(place.whole.sector.tolist())) <= 18
    gaps = {g.stretch.share: g for g in joined.gaps}
    for part, prop in whole.fillers:
        over = next((g for g in gaps.values() if g.join == prop.recipe.goal.get("seam")
                     and abs(g.stretch.share - prop.recipe.goal["share"]) < 1e-4), None)
        far = place.weighed(slot_of(part, over), prop).far
        near = {name for name, at in zip(place.parts, np.split(far, ends[:-1]), strict=True) if (at <= REACH_MM).any()}
        assert near == ({part} if over is None else {part, over.stretch.carried.part}), prop.title
    one = next(p for part, p in whole.fillers if part == "chest" and "seam" not in p.recipe.goal)
    chest = place.parts["chest"]
    piece = Piece("x", "chest", "", "", one.u, one.s_mm, recipe=one.recipe)
    alone = seen(chest, lay(joined.surveys["chest"].scene.limb, piece, one.drawing), still)
    at = list(place.parts).index("chest")
    mine = place.weighed(slot_of("chest", None), one).far[([0, *ends][at]) : ends[at]]
    assert mine == pytest.approx(alone.far)


def still(xy: np.ndarray) -> np.ndarray:
    """A flow that runs to the right everywhere."""
    return np.zeros(len(xy))


def slot_of(part: str, over: SeamGap | None) -> JoinedSlot:
    """A slot as the search has it."""
    job = SimpleNamespace(site=SimpleNamespace(ground=SimpleNamespace(flow=still)))
    return JoinedSlot(job, {}, 0, part=part, over=over)   # type: ignore[arg-type]


def test_a_must_over_the_seam_that_nothing_carries_costs_its_share() -> None:
    _, joined = both_sides()
    tie = next(t for t in joined.ties if {t.tie.a, t.tie.b} == {"inner", "outer"})
    place = JoinedPlace(joined, Settings(), LOW)
    place.whole.ways[tie.tie] = np.concatenate([
        joined.surveys[p].scene.limb.embed(np.linspace(*us, 7)) + place.shift(p) for p, us in tie.ways])
    bare = np.full(len(place.whole.us), np.inf)
    assert carried(place.whole, bare, tie.tie) == 0.0 and carried(place.whole, np.zeros(len(bare)), tie.tie) == 1.0
    off = figures(place.whole, [])["total"] - figures(place.whole, [], [tie.tie])["total"]
    assert off == pytest.approx(MUST, abs=1e-3)
