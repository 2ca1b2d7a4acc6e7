"""Fillers follow the field of tone: nothing beyond a shade line, washes that step and give out, lines that thin out."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
import shapely
from test_proposals import SETTINGS, world

from composer.art.drawing import Drawing, Layer
from composer.art.on_skin import STRENGTH
from composer.body.patch import Patch
from composer.compose.gaps import Survey, resurvey
from composer.filler.fabric import tie_in
from composer.filler.graded import CRUMB_MM, graded
from composer.filler.ground import Wish
from composer.filler.kinds import KINDS
from composer.filler.proposals import Proposal, gap_at, generator, propose, rebuild
from composer.filler.shaded import field_of, outdated
from composer.filler.tone_grid import SHUT, STEP_MM, ToneGrid
from composer.plan.model import Hand, Piece
from composer.plan.scene import Scene, lay
from composer.plan.shade_lines import Shade, ShadeLine

HAND = Hand()


@lru_cache(maxsize=8)
def with_line(*lines: ShadeLine) -> tuple[Scene, Survey]:
    scene, found = world()
    scene = replace(scene, shade=Shade(lines))
    return scene, resurvey(found, scene)


def through(gap_number: int, fall: float = 30.0, side: int = 1) -> ShadeLine:
    """A level line through the middle of a gap."""
    gap = world()[1].gaps[gap_number]
    u, s = gap.centre
    return ShadeLine("x", ((u - 0.3, s), (u, s), (u + 0.3, s)), side, fall)


@lru_cache(maxsize=20)
def halved(kind: str) -> tuple[Scene, list[Proposal]]:
    scene, found = with_line(through(0, 30.0))
    goal = {"gap": [list(found.gaps[0].centre)]}
    return scene, propose(scene, found, goal, [kind], HAND, Wish(), 3, 2, SETTINGS)


def on_skin(scene: Scene, p: Proposal) -> tuple[np.ndarray, Patch]:
    """Places on skin of all ink, as the piece will lie."""
    piece = Piece("f", "left_arm", p.drawing.digest, p.title, p.u, p.s_mm, recipe=p.recipe)
    laid = lay(scene.limb, piece, p.drawing)
    return laid.patch.to_skin(np.concatenate([r for la in p.drawing.layers for r in la.rings])), laid.patch


@pytest.mark.parametrize("kind", [k for k in KINDS if k not in ("band", "rope")])
def test_nothing_lies_beyond_a_shade_line(kind: str) -> None:
    scene, got = halved(kind)
    assert got, "something is drawn on the shaded side"
    (reach, _), = field_of(scene, SETTINGS).reaches
    for p in got:
        us, _ = on_skin(scene, p)
        assert reach.depth_mm(us).min() > -1.0, "but for the chart's own error"
        scene_, found = with_line(through(0, 30.0))
        assert rebuild(p.recipe, scene_, found, SETTINGS).drawing.digest == p.drawing.digest


@pytest.mark.parametrize("kind", ["cloud", "wind", "filigree", "stipple"])
def test_there_is_less_and_less_ink_towards_the_line(kind: str) -> None:
    scene, got = halved(kind)
    _, found = with_line()
    field = field_of(scene, SETTINGS)
    goal = {"gap": [list(found.gaps[0].centre)]}
    plain = propose(found.scene, found, goal, [kind], HAND, Wish(), 3, 2, SETTINGS)

    def ink(rows: list[Proposal], near: float, far: float) -> float:
        total = 0.0
        for p in rows:
            _, patch = on_skin(scene, p)
            x0, y0, x1, y1 = p.drawing.outline.bounds
            x, y = (g.ravel() for g in np.meshgrid(np.arange(x0, x1, 0.7), np.arange(y0, y1, 0.7)))
            depth = field.reaches[0][0].depth_mm(patch.to_skin(np.column_stack([x, y])))
            at = (depth > near) & (depth < far)
            total += sum(shapely.contains_xy(la.area, x[at], y[at]).sum() * STRENGTH.get(la.role, 1.0)
                         for la in p.drawing.layers)
        return total

    for near, far, most in ((0.0, 7.0, 0.25), (7.0, 15.0, 0.9)):
        assert ink(got, near, far) < most * max(ink(plain, near, far), 1.0)


def level_grid(wide: float = 60.0, high: float = 80.0, darkest: float = 0.5) -> ToneGrid:
    """Open fully above y = 40, nothing below 0, with a straight edge."""
    y, x = np.arange(-20, high, STEP_MM), np.arange(-wide, wide, STEP_MM)
    t = np.clip(y / 40, 0, 1)
    open_ = np.repeat((t * t * (3 - 2 * t))[:, None], len(x), axis=1)
    return ToneGrid(float(x[0]), float(y[0]), darkest * open_, open_, open_, np.zeros(open_.shape), darkest)


def bars() -> Drawing:
    """Upright bars of one outline's width with a wash between them."""
    rings = tuple(np.array([(x, -15), (x + 1.0, -15), (x + 1.0, 70), (x, 70)], float) for x in range(-40, 41, 8))
    sheet = np.array([(-45, -15), (45, -15), (45, 70), (-45, 70)], float)
    return Drawing((sheet,), (Layer("mid", (sheet,)), Layer("line", rings)))


def test_lines_thin_out_to_the_needle_and_leave_no_crumbs() -> None:
    made = graded(bars(), level_grid(), HAND, 2.0, generator(1, "x", "y", 0))
    line = made.ink("line")
    widths = [line.intersection(shapely.box(-1, y, 2, y + 0.05)).area / 0.05 for y in np.arange(0.0, 60.0, 1.0)]
    shown = [w for w in widths if w > 0]
    assert widths[:6] == [0] * 6 and widths[20] > 0 and widths[-1] == pytest.approx(1.0)
    assert (np.diff(shown) > -0.05).all(), "never thicker towards the line, but for what tidying rounds"
    assert min(shown) >= 0.85 * HAND.fine_mm and min(shown) < 1.4 * HAND.fine_mm
    for part in shapely.get_parts(line):
        x0, y0, x1, y1 = part.bounds
        assert np.hypot(x1 - x0, y1 - y0) > CRUMB_MM
        assert y0 > 3.0


def test_washes_step_down_and_give_out_in_dots() -> None:
    made = graded(bars(), level_grid(), HAND, 2.0, generator(1, "x", "y", 0))
    assert [la.role for la in made.layers] == ["light", "mid", "dark", "line"]
    mid, light = made.ink("mid"), made.ink("light")
    assert mid.bounds[1] > light.bounds[1] > 5.0
    dots = np.array([r.mean(axis=0) for la in made.layers if la.role == "dark" for r in la.rings])
    assert len(dots) > 60 and dots[:, 1].min() > 0 and dots[:, 1].min() < light.bounds[1] - 3
    dense = np.histogram(dots[:, 1], [3, 8, 13, 17])[0]
    assert dense[0] < dense[1] < dense[2] * 1.3, "wider apart towards the line"


def test_an_even_field_changes_nothing() -> None:
    grid = level_grid()
    one = np.ones(grid.open.shape)
    art = bars()
    assert graded(art, replace(grid, tone=0.5 * one, open=one, falls=one), HAND, 2.0, generator(1, "x", "y", 0)) is art


def test_a_gap_beyond_the_line_is_refused_in_words_and_left_bare_by_a_theme() -> None:
    scene, found = world()
    gap = min(found.gaps, key=lambda g: g.centre[1])
    high = max(r[:, 1].max() for r in gap.rings)
    line = ShadeLine("x", ((0.0, high + 2.0), (0.4, high + 2.0)), 1, 40.0)
    scene, found = with_line(line)
    with pytest.raises(ValueError, match="beyond a shade line"):
        propose(scene, found, {"gap": [list(gap.centre)]}, ["cloud"], HAND, Wish(), 1, 1, SETTINGS)
    made = tie_in(scene, found, "gale", HAND, Wish(), 3, settings=SETTINGS)
    (reach, _), = field_of(scene, SETTINGS).reaches
    assert made
    for p in made:
        us, _ = on_skin(scene, p)
        assert reach.depth_mm(us).min() > -1.0
        for u, s in p.recipe.goal.get("gap", ()):
            assert gap_at(found, u, s) != gap


def test_a_filler_says_when_its_tone_has_changed() -> None:
    scene, found = world()
    goal = {"gap": [list(found.gaps[0].centre)]}
    made = propose(scene, found, goal, ["wind"], HAND, Wish(), 3, 1, SETTINGS)[0]
    assert not outdated(made.recipe, field_of(scene, SETTINGS))
    lined, again = with_line(through(0))
    assert outdated(made.recipe, field_of(lined, SETTINGS))
    new = rebuild(made.recipe, lined, again, SETTINGS)
    assert not outdated(new.recipe, field_of(lined, SETTINGS)) and outdated(new.recipe, field_of(scene, SETTINGS))
    far, _ = with_line(ShadeLine("y", ((0.0, 6.0), (0.5, 6.0)), 1, 5.0))
    if found.gaps[0].centre[1] > 150:
        assert not outdated(made.recipe, field_of(far, SETTINGS)), "a line far off does not concern it"


def test_a_darker_wish_is_darker_and_kept_in_the_recipe() -> None:
    scene, found = world()
    goal = {"gap": [list(found.gaps[0].centre)]}
    pale, dark = (propose(scene, found, goal, ["cloud"], HAND, Wish(dark=d), 3, 1, SETTINGS)[0] for d in (0.4, 1.8))
    assert dark.recipe.params["dark"] == 1.8

    def tone(p: Proposal) -> float:
        return sum(p.drawing.ink(r).area * STRENGTH[r] for r in ("light", "mid", "dark"))

    assert tone(dark) > 1.2 * tone(pale)


def test_the_grid_reads_between_its_nodes_and_outlines_what_it_holds() -> None:
    grid = level_grid()
    at = np.array([[0.0, 20.0], [5.0, 60.0], [3.0, -10.0]])
    assert grid.at(grid.open, at) == pytest.approx([0.5, 1, 0], abs=0.02)
    half = grid.area(grid.open, 0.5)
    assert half.bounds[1] == pytest.approx(20.0, abs=0.3) and half.contains(shapely.Point(0, 50))
    assert not grid.area(grid.open, SHUT).contains(shapely.Point(0, 1.0))
