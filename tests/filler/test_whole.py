"""Choosing a whole background: options that differ, bettered by more rounds, stopped at any time."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from drawn_once import ONCE
from test_proposals import world

from composer.filler.ground import Wish
from composer.filler.weigh import figures, place_of, seen
from composer.filler.whole import APART, Whole, compose_whole
from composer.plan.model import Hand, Piece
from composer.plan.scene import Scene, lay


@lru_cache(maxsize=4)
def chosen(rounds: int) -> tuple[Whole, ...]:
    scene, found = world()
    return tuple(compose_whole(scene, found, ["gale", "fair"], Hand(), Wish(), 3, rounds, pool=ONCE))


def test_options_are_whole_sorted_and_told_apart() -> None:
    out = chosen(0)
    assert {w.theme.name for w in out} == {"gale", "fair"}
    assert [w.figures["total"] for w in out] == sorted((w.figures["total"] for w in out), reverse=True)
    for w in out:
        assert w.figures["reach"] > 0.6 and len({p.depth for p in w.proposals}) == len(w.proposals)
        assert all(not p.findings for p in w.proposals)


def test_more_rounds_never_make_a_theme_worse() -> None:
    before = {w.theme.name: w.figures["total"] for w in chosen(0)}
    after = {w.theme.name: w.figures["total"] for w in chosen(1)}
    assert all(after[n] >= before[n] for n in after)
    assert any(after[n] > before[n] for n in after)


def test_the_figures_are_those_of_what_is_handed_out() -> None:
    scene, found = world()
    place = place_of(scene, found)
    best = chosen(0)[0]
    laid = [lay(scene.limb, Piece("f", "left_arm", p.drawing.digest, p.title, p.u, p.s_mm, recipe=p.recipe), p.drawing)
            for p in best.proposals]
    again = figures(place, [seen(place, x, lambda xy: np.zeros(len(xy))) for x in laid])
    for name in ("reach", "closed", "balance", "variety", "void_cv"):
        assert again[name] == pytest.approx(best.figures[name], abs=1e-3)


def test_stopped_early_it_hands_out_what_is_there() -> None:
    scene, found = world()
    shares: list[float] = []

    def stop(share: float) -> bool:
        shares.append(share)
        return len(shares) < 2

    out = compose_whole(scene, found, ["gale", "fair"], Hand(), Wish(), 3, 1, pool=ONCE, progress=stop)
    assert len(shares) == 2 and len(out) == 1 and 1 <= len(out[0].proposals) <= 2


def test_the_first_whole_one_is_handed_over_and_time_decides_on_rounds_alone() -> None:
    scene, found = world()
    told: list[Whole] = []
    asked: list[int] = []

    def more(r: int) -> bool:
        asked.append(r)
        return r < 1

    out = compose_whole(scene, found, ["gale", "fair"], Hand(), Wish(), 3, 4, pool=ONCE, more=more, first=told.append)
    assert asked == [0, 1] and len(told) == 1 and told[0].theme.name == "gale"
    names = [[p.drawing.digest for p in w.proposals] for w in out]
    assert names == [[p.drawing.digest for p in w.proposals] for w in chosen(1)]
    first = next(w for w in chosen(0) if w.theme.name == "gale")
    assert [p.drawing.digest for p in told[0].proposals] == [p.drawing.digest for p in first.proposals]


def test_a_must_is_carried() -> None:
    scene, found = world()
    ties = [t for t in found.ties if t.gaps and not t.b.startswith("border")]
    musts = [(t.b, t.a) for t in ties[:2]]
    out = compose_whole(scene, found, ["fair"], Hand(), Wish(), 5, 0, musts)
    assert out[0].figures["musts"] >= 0.6


def test_locked_background_stays_and_all_locked_is_said() -> None:
    scene, found = world()
    laid = [lay(scene.limb, Piece(f"k{i}", "left_arm", p.drawing.digest, p.title, p.u, p.s_mm, recipe=p.recipe,
                                  locked=True, depth=p.depth), p.drawing) for i, p in enumerate(chosen(0)[0].proposals)]
    full = replace(scene, laid=(*laid, *scene.laid))
    assert isinstance(full, Scene)
    try:
        out = compose_whole(full, found, ["gale"], Hand(), Wish(), 3, 0)
    except ValueError as err:
        assert "no open gap" in str(err)
    else:
        held = sum(len(w.proposals) for w in out)
        assert held < len(chosen(0)[0].proposals)


def test_unknown_themes_are_named() -> None:
    scene, found = world()
    with pytest.raises(ValueError, match="There is no theme called 'hail'"):
        compose_whole(scene, found, ["hail"], Hand(), Wish(), 1)
    assert 0 < APART < 1
