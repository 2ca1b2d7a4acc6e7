"""The zone plan and the tie-in of a whole sleeve."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from test_proposals import world

from composer.filler.fabric import accent_gaps, tie_in
from composer.filler.fabric_plan import MOST_MM, MOST_TURN, THEMES, clusters, plan_zones, theme
from composer.filler.ground import Wish
from composer.filler.held import holds
from composer.filler.proposals import Proposal, gap_at
from composer.plan.model import Hand, Piece
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
    got = tie_in(more, replace(found, scene=more), "gale", Hand(), Wish(), 3)
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
