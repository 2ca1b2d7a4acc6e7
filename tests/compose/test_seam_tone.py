"""Tone over the seam between arm and chest: at each place that of the part under it."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

sys.path += [str(Path(__file__).parents[1] / room) for room in ("plan", "filler")]
from test_joins_in_plans import BUOY, RING, place
from test_joins_in_plans import plan as taped
from test_over_seam import FRONT, both_sides, joined

from composer.art.drawing import Drawing, Layer
from composer.compose.over_seam import Joined, SeamGap, sides_of
from composer.compose.seam_tone import RISE_MM
from composer.filler.ground import Wish
from composer.filler.over_seam import propose_over, seam_tone, shaded_site
from composer.filler.shaded import field_of, outdated
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.plan.twins import surface_of

DARK = 0.3


def gap_in(found: Joined) -> SeamGap:
    return max((g for g in found.gaps if g.join == FRONT), key=lambda g: g.gap.area_mm2)


def turn_mm(plan: Plan) -> float:
    """A turn of the chest."""
    return float(surface_of(plan, "chest").girth(200.0))


def lined(plan: Plan, gap: SeamGap, in_from_seam_mm: float, fall_mm: float = 10.0) -> Plan:
    """The plan with background on the chest shaded up to an upright line so far within the seam's anchor."""
    u = gap.stretch.at[0] - in_from_seam_mm / turn_mm(plan)
    line = {"id": "a", "points": [[u, 40.0], [u, 330.0]], "side": 1, "fall_mm": fall_mm}
    return apply(plan, {"do": "shade", "part": "chest", "add": line})


def grid(gap: SeamGap) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places over the gap's paper: (n, 2) mm, (n, 2) of skin at home, whether each is at home."""
    x0, y0, x1, y1 = gap.free.bounds
    xy = np.stack(np.meshgrid(np.linspace(x0, x1, 24), np.linspace(y0, y1, 24)), -1).reshape(-1, 2)
    near, _ = sides_of(gap.stretch)
    return xy, gap.stretch.patch.to_skin(xy), shapely.contains_xy(near, xy[:, 0], xy[:, 1])


def test_without_lines_the_tone_is_that_of_both_parts_pieces() -> None:
    light = Drawing(BUOY.silhouette, (Layer("line", (RING, RING * 0.97)),))
    plan = apply(taped(), place("inner", "chest", 0.135, 235.0, scale=0.5, art=light.digest))
    plan = apply(plan, place("outer", "left_arm", 0.12, 455.0, scale=0.5, art=light.digest))
    found = joined(plan, {light.digest: light})
    gap, settings = gap_in(found), replace(plan.settings, hand=replace(plan.settings.hand, dark=DARK))
    both = seam_tone(found, gap.stretch, settings)
    xy, us, _ = grid(gap)
    assert both.open(us).min() == both.cuff(us).min() == 1.0
    home, other = (field_of(found.surveys[p].scene, settings) for p in ("chest", "left_arm"))
    here, there = home.tone(us), other.before_falls(gap.stretch.carried.to_skin(xy))
    tone = both.tone(us)
    assert np.all((np.abs(tone - here) < 1e-9) | (np.abs(tone - there) < 1e-9))
    assert np.all(np.abs(tone - DARK) >= np.maximum(np.abs(here - DARK), np.abs(there - DARK)) - 1e-9)
    assert np.ptp(here) > 0.05 and np.ptp(there) > 0.05       # each side's buoy has its halo


def test_a_line_on_the_chest_stops_it_there_and_the_arm_rises_from_the_seam() -> None:
    plan, found = both_sides()
    plan = lined(plan, gap_in(found), 14.0)
    found = joined(plan)
    gap = gap_in(found)
    field, home = seam_tone(found, gap.stretch, plan.settings), field_of(found.surveys["chest"].scene, plan.settings)
    xy, us, at_home = grid(gap)
    assert np.allclose(field.open(us)[at_home], home.open(us)[at_home], atol=1e-9)   # the arm has no line
    assert (home.open(us)[at_home] == 0).any() and (home.open(us)[at_home] > 0.9).any()
    far = shapely.distance(field.seam, shapely.points(xy))
    assert np.all(field.open(us)[~at_home & (far >= RISE_MM)] == 1.0)
    seam = np.asarray(field.seam.coords)
    d = seam[-1] - seam[0]
    off = 0.02 * np.array([-d[1], d[0]]) / np.hypot(*d)
    rows = [field.open(gap.stretch.patch.to_skin(seam[2:-2] + k * off)) for k in (-1, 1)]
    assert np.abs(rows[0] - rows[1]).max() < 0.02       # no step at the seam


def test_a_filler_over_the_seam_keeps_to_the_line_and_remembers_its_tone() -> None:
    plan, found = both_sides()
    before = propose_over(found, gap_in(found), ["cloud"], plan.settings.hand, Wish(), 4, 1, plan.settings)[0]
    shaded = lined(plan, gap_in(found), 14.0)
    after = joined(shaded)
    gap = gap_in(after)
    field = seam_tone(after, gap.stretch, shaded.settings)
    assert outdated(before.recipe, field) and not outdated(before.recipe, seam_tone(found, gap.stretch, plan.settings))
    made = propose_over(after, gap, ["cloud"], plan.settings.hand, Wish(), 4, 1, shaded.settings)
    assert made and not outdated(made[0].recipe, field)
    ink = np.concatenate([r for la in made[0].drawing.layers for r in la.rings])
    was = np.concatenate([r for la in before.drawing.layers for r in la.rings])
    let = [field.open(gap.stretch.patch.to_skin(xy)) for xy in (ink, was)]
    assert let[0].min() > 0.0 and (let[1] == 0).sum() > 50
    place = shaded_site(after, gap, "cloud", shaded.settings, 1.0)
    assert place.ground.tone is not None and place.ground.free.area < gap.free.area - 100


def test_a_gap_wholly_beyond_a_line_is_left_bare_with_a_sentence() -> None:
    plan, found = both_sides()
    plan = lined(plan, gap_in(found), 120.0)
    line = {"id": "b", "points": [[-0.5, 200.0], [0.0, 200.0], [0.45, 200.0]], "side": -1, "fall_mm": 10.0}
    found = joined(apply(plan, {"do": "shade", "part": "left_arm", "add": line}))
    with pytest.raises(ValueError, match="beyond a shade line"):
        propose_over(found, gap_in(found), ["cloud"], plan.settings.hand, Wish(), 4, 1, plan.settings)
