"""Candidates for gaps and ties, and making them again."""

from __future__ import annotations

import pickle
import sys
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))

from fillers import sleeve

from composer.art.drawing import Drawing
from composer.compose.gaps import Survey, survey
from composer.filler import proposals
from composer.filler.clip import in_front, visible
from composer.filler.finish import broken
from composer.filler.ground import Wish
from composer.filler.kinds import KINDS, kind
from composer.filler.lay_ground import calmed, mean_axis, site
from composer.filler.proposals import Proposal, gap_at, gaps_of, ground_for, jobs_for, propose, rebuild
from composer.plan.model import Hand, Piece, Settings
from composer.plan.scene import Scene, lay

SETTINGS = Settings()


@lru_cache(maxsize=1)
def world() -> tuple[Scene, Survey]:
    scene = sleeve(9, 4)
    return scene, survey(scene)


def goal_of(number: int) -> dict[str, object]:
    return {"gap": [list(world()[1].gaps[number].centre)]}


@lru_cache(maxsize=4)
def clouds(seed: int = 1) -> list[Proposal]:
    scene, found = world()
    return propose(scene, found, goal_of(4), ["cloud"], Hand(), Wish(), seed)


def test_three_differing_clouds_that_keep_the_rules() -> None:
    got = clouds()
    assert len(got) == 3 and len({p.drawing.digest for p in got}) == 3
    assert len({p.title for p in got}) == 3
    place = ground_for(*world(), goal_of(4), "cloud", SETTINGS)
    for p in got:
        assert broken(p.drawing, kind("cloud"), place.ground, Hand(), Wish()) == []


def test_the_same_seed_gives_the_same_and_another_gives_another() -> None:
    scene, found = world()
    again = propose(scene, found, goal_of(4), ["cloud"], Hand(), Wish(), 1)
    assert [p.drawing.digest for p in again] == [p.drawing.digest for p in clouds()]
    assert {p.drawing.digest for p in clouds(2)}.isdisjoint(p.drawing.digest for p in clouds())


def test_a_recipe_makes_the_same_drawing_again_and_reseeding_another() -> None:
    scene, found = world()
    p = clouds()[0]
    assert rebuild(p.recipe, scene, found, SETTINGS).drawing.digest == p.drawing.digest
    assert rebuild(p.recipe, scene, found, SETTINGS, seed=5).drawing.digest != p.drawing.digest
    heavier = rebuild(p.recipe, scene, found, SETTINGS, wish=Wish(weight=1.5))
    assert heavier.drawing.ink("line").area > 1.1 * p.drawing.ink("line").area


def test_the_recipe_is_plain_words_and_numbers() -> None:
    recipe = clouds()[0].recipe
    numbers = recipe.params["tone"]
    assert all(isinstance(v, str | int | float) for k, v in recipe.params.items() if k != "tone")
    assert len(numbers) % 3 == 0 and all(isinstance(v, float) for v in numbers)
    assert recipe.goal == goal_of(4)


def test_on_skin_a_candidate_keeps_clear_of_every_piece() -> None:
    scene, _ = world()
    p = clouds()[0]
    piece = Piece("f", "left_arm", p.drawing.digest, p.title, p.u, p.s_mm, depth=-1, recipe=p.recipe)
    laid = lay(scene.limb, piece, p.drawing)
    front = in_front(scene, laid, scene.laid)
    seen = visible(laid.flat, front, 2.0, 0.36, 2.0)
    assert seen.outline.distance(front) >= 1.98


def test_jobs_can_be_sent_to_another_process() -> None:
    scene, found = world()
    job = jobs_for(scene, found, goal_of(0), "cloud", Hand(), Wish(), 1, 3, SETTINGS)[0]
    other = pickle.loads(pickle.dumps(job))
    assert other.site is not job.site and other.site is pickle.loads(pickle.dumps(replace(job, seed=9))).site
    xy = np.array([[1.0, 2.0], [-5.0, 9.0]])
    assert np.array_equal(other.site.ground.flow(xy), job.site.ground.flow(xy))
    assert other.site.ground.free.equals(job.site.ground.free)


def test_a_gap_is_found_by_a_mark_one_turn_away() -> None:
    _, found = world()
    g = found.gaps[2]
    assert gap_at(found, g.centre[0] + 3, g.centre[1]) is g


def test_a_ground_measures_what_the_gap_measures() -> None:
    """Area in the fitted cone against the gap's own area on skin (1 part in 25)."""
    scene, found = world()
    for g in found.gaps[:8]:
        assert site(scene, found, [g], SETTINGS).ground.free.area == pytest.approx(g.area_mm2, rel=0.04)


def test_free_skin_is_clear_of_pieces_and_ports_lie_on_neighbours() -> None:
    scene, found = world()
    for g in found.gaps[:6]:
        ground = site(scene, found, [g], SETTINGS).ground
        assert shapely.distance(ground.free, ground.front) >= 1.8
        for port in ground.ports:
            assert port.owner in g.neighbours
            assert shapely.distance(shapely.Point(port.x, port.y), ground.front) < 0.2


def test_one_ground_over_two_gaps_bridges_the_piece_between() -> None:
    scene, found = world()
    a = found.gaps[0]
    b = min((g for g in found.gaps[1:] if set(g.neighbours) & set(a.neighbours)),
            key=lambda g: abs((g.centre[0] - a.centre[0] + 0.5) % 1 - 0.5) * 260 + abs(g.centre[1] - a.centre[1]))
    ground = site(scene, found, [a, b], SETTINGS).ground
    assert ground.free.area == pytest.approx(a.area_mm2 + b.area_mm2, rel=0.06)
    assert ground.region.area > 1.2 * ground.free.area
    assert shapely.intersection(ground.region, ground.front).area > 100


def test_neighbouring_grounds_agree_on_the_calmed_direction() -> None:
    scene, found = world()
    axis = mean_axis(found)
    places = [site(scene, found, [g], SETTINGS) for g in found.gaps[:5]]
    skin = np.array([[0.1, 250.0], [0.4, 180.0]])
    angles = []
    for p in places:
        us = skin.copy()
        us[:, 0] += np.round(p.u - us[:, 0])
        a = calmed(p.ground, axis).flow(p.patch.to_flat(us))
        angles.append(a - 0.7 * np.radians([p.patch.turn_at(u) for u in us[:, 0]]))
    spread = np.ptp(np.array(angles) % np.pi, axis=0)
    assert np.all(np.minimum(spread, np.pi - spread) < np.radians(0.5))


@pytest.mark.parametrize("goal", [{"gap": [[0.0, 99999.0]]}, {"tie": ["x", "y"]}, {}])
def test_a_goal_that_is_gone_is_said_in_words(goal: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="no open gap"):
        gaps_of(world()[1], goal)


def test_unknown_kinds_and_ways_are_said_in_words() -> None:
    with pytest.raises(ValueError, match="no filler called 'fog'"):
        kind("fog")
    with pytest.raises(ValueError, match="cannot be drawn as 'square'"):
        kind("cloud").way("square")


def test_every_kind_offers_three_ways() -> None:
    assert all(len(k.ways) >= 3 and len({w.title for w in k.ways}) == len(k.ways) for k in KINDS.values())


def test_a_try_that_cannot_be_cut_is_no_candidate_and_the_next_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[int] = []

    def failing_once(*args: Any) -> Drawing | None:
        calls.append(1)
        if len(calls) == 1:
            raise shapely.GEOSException("TopologyException: side location conflict")
        return drawn(*args)

    drawn = proposals.in_hand
    monkeypatch.setattr(proposals, "in_hand", failing_once)
    job = jobs_for(*world(), goal_of(4), "cloud", Hand(), Wish(), 1, 3, SETTINGS)[0]
    made = proposals.make(job)
    assert made is not None and made.tried == len(calls) - 1 >= 1
