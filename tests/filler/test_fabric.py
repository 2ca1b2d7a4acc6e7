"""The zone plan and the tie-in of a whole sleeve."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from test_proposals import world

from composer.body.selfmeet import self_meeting
from composer.demo import as_piece
from composer.filler.fabric import accent_gaps, tie_in
from composer.filler.fabric_plan import MOST_MM, MOST_TURN, THEMES, Zone, clusters, plan_zones, theme
from composer.filler.ground import Wish
from composer.filler.held import holds
from composer.filler.kinds import kind
from composer.filler.painted import painted_gaps
from composer.filler.proposals import Proposal, gap_at, gaps_of, rebuild
from composer.plan.model import Hand, Piece, Settings
from composer.plan.scene import Scene, lay


@lru_cache(maxsize=1)
def tied() -> list[Proposal]:
    scene, found = world()
    return tie_in(scene, found, "gale", Hand(), Wish(), 3)


@pytest.mark.parametrize("name", list(THEMES))
def test_every_gap_is_in_exactly_one_cluster_that_a_chart_can_hold(name: str) -> None:
    _, found = world()
    parts = plan_zones(found, found.gaps, theme(name).zones, 0.2)
    keys = [g.key for p in parts for g in p.gaps]
    assert sorted(keys) == sorted(g.key for g in found.gaps)
    for p in parts:
        if len(p.gaps) > 1:
            s = np.concatenate([g.rings[0][:, 1] for g in p.gaps])
            assert np.ptp(s) <= MOST_MM


def test_clusters_stay_within_a_turn() -> None:
    scene, found = world()
    for group in clusters(scene.limb, list(found.gaps)):
        if len(group) > 1:
            lo, hi = np.inf, -np.inf
            middle = group[0].centre[0]
            for g in group:
                u = g.rings[0][:, 0] + np.round(middle - g.centre[0])
                lo, hi = min(lo, u.min()), max(hi, u.max())
                middle = (lo + hi) / 2
            assert hi - lo <= MOST_TURN + 1e-9


def test_themes_use_few_kinds_and_reach_the_top() -> None:
    for the in THEMES.values():
        assert len({z.kind for z in the.zones} | ({the.accent} - {None})) <= 3
        assert all(z.way in {w.name for w in kind(z.kind).ways} for z in the.zones)
        assert not the.accent or (the.accent_way or kind(the.accent).ways[0].name) in {
            w.name for w in kind(the.accent).ways}
        assert the.zones[-1].until == 1.0
        assert [z.until for z in the.zones] == sorted(z.until for z in the.zones)


def test_a_tie_in_covers_nearly_every_gap_with_differing_depths_below_the_pieces() -> None:
    scene, found = world()
    got = tied()
    depths = [p.depth for p in got]
    assert len(set(depths)) == len(depths) and depths == sorted(depths)
    assert max(depths) < min(x.piece.depth for x in scene.laid)
    covered = {gap_at(found, *m).key for p in got for m in p.recipe.goal["gap"]}
    area = sum(g.area_mm2 for g in found.gaps if g.key in covered)
    assert area >= 0.9 * sum(g.area_mm2 for g in found.gaps)


def test_the_same_seed_ties_in_the_same() -> None:
    scene, found = world()
    again = tie_in(scene, found, "gale", Hand(), Wish(), 3)
    assert [p.drawing.digest for p in again] == [p.drawing.digest for p in tied()]


def test_progress_can_stop_it_and_what_is_ready_is_kept() -> None:
    scene, found = world()
    told: list[float] = []

    def stop(share: float) -> bool:
        told.append(share)
        return len(told) < 2

    got = tie_in(scene, found, "gale", Hand(), Wish(), 3, progress=stop)
    assert len(told) == 2 and 0 < told[0] < told[1] < 1
    assert 1 <= len(got) <= 2


def test_gaps_under_a_locked_filler_are_left_alone() -> None:
    scene, found = world()
    p = next(p for p in tied() if len(p.recipe.goal["gap"]) > 1)
    piece = Piece("kept", "left_arm", p.drawing.digest, p.title, p.u, p.s_mm, depth=p.depth, locked=True,
                  recipe=p.recipe)
    laid = lay(scene.limb, piece, p.drawing)
    held = {g.key for g in found.gaps if holds([laid], g)}
    assert held
    more = Scene(scene.limb, scene.seam_u, (laid, *scene.laid))
    some = [g for g in found.gaps if g.key not in held][::4]        # enough to be tied in beside what is held
    of = tuple(g for g in found.gaps if g.key in held or g in some)
    got = tie_in(more, replace(found, scene=more, gaps=of), "gale", Hand(), Wish(), 3)
    covered = {gap_at(found, *m).key for q in got for m in q.recipe.goal["gap"]}
    assert covered and not covered & held


def test_accents_go_to_the_strongest_ties_between_pieces() -> None:
    _, found = world()
    got = accent_gaps(found, found.gaps, theme("storm"))
    assert len(got) <= 1
    for ends in got.values():
        assert not any(e.startswith("border") for e in ends)


def test_an_unknown_theme_is_said_in_words() -> None:
    scene, found = world()
    with pytest.raises(ValueError, match="no theme called 'fog'"):
        tie_in(scene, found, "fog", Hand(), Wish(), 1)


def test_what_drifts_is_gathered_over_several_gaps_and_the_rest_is_not() -> None:
    _, found = world()
    for name in ("cloud", "wind", "waves", "smoke", "stipple"):
        parts = plan_zones(found, found.gaps, (Zone(1.0, name, "any"),), 0.2)
        assert len(parts) < 0.6 * len(found.gaps)
    for name in ("rocks", "leaves", "filigree", "feathers"):
        assert all(len(p.gaps) == 1 for p in plan_zones(found, found.gaps, (Zone(1.0, name, "any"),), 0.2))


def test_water_lies_low_under_mist_under_wind() -> None:
    the = theme("water")
    assert [z.kind for z in the.zones] == ["waves", "stipple", "wind"]
    assert the.zones[0].front > the.zones[1].front > the.zones[2].front, "what is low lies in front"


@pytest.mark.parametrize("name", ["water", "smoke", "grove"])
def test_the_newer_themes_cover_nearly_every_gap(name: str) -> None:
    scene, found = world()
    got = tie_in(scene, found, name, Hand(), Wish(), 3)
    covered = {g.key for p in got for g in gaps_of(found, p.recipe.goal)}
    assert sum(g.area_mm2 for g in found.gaps if g.key in covered) >= 0.9 * sum(g.area_mm2 for g in found.gaps)
    assert max(p.depth for p in got) < min(x.piece.depth for x in scene.laid)


def test_rings_go_right_round_before_the_mist_and_are_made_again_from_their_recipe() -> None:
    scene, found = world()
    got = tie_in(scene, found, "rings", Hand(), Wish(), 3)
    bands = [p for p in got if p.kind == "band"]
    assert len(bands) >= 2 and min(p.depth for p in bands) > max(p.depth for p in got if p.kind == "stipple")
    for p in bands:
        laid = lay(scene.limb, as_piece(p, "left_arm", "ring"), p.drawing)
        assert self_meeting(scene.limb, laid.patch, laid.flat.silhouette).overlap_mm2 < 1.0
    round_ = [p for p in bands if np.ptp(np.concatenate([
        r[:, 0] for r in lay(scene.limb, as_piece(p, "left_arm", "ring"), p.drawing).rings])) > 0.999]
    assert round_
    again = rebuild(round_[0].recipe, scene, found, Settings())
    assert again.drawing.digest == round_[0].drawing.digest


def test_only_a_stroke_that_says_so_may_go_right_round() -> None:
    _, found = world()
    goal = theme("rings").rings[0].goal(found.scene.limb)
    assert painted_gaps(found, goal)
    with pytest.raises(ValueError, match="Paint it in two"):
        painted_gaps(found, {k: v for k, v in goal.items() if k != "closes"})
    half = {**goal, "brush": [[0.94 * u, s] for u, s in goal["brush"]]}
    with pytest.raises(ValueError, match="Paint it in two"):
        painted_gaps(found, half)
