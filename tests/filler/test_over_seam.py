"""Fillers over the seam between arm and chest: one gap, one drawing, one piece of the plan on both parts."""

from __future__ import annotations

import sys
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
import shapely
from drawn_once import ONCE

sys.path.insert(0, str(Path(__file__).parents[1] / "plan"))
from test_joins_in_plans import GALLERY, place
from test_joins_in_plans import plan as taped

from composer.art.drawing import Drawing, Layer
from composer.compose.gaps import survey
from composer.compose.over_seam import REACH_MM, RIGHT_MM, Joined, SeamGap, join_surveys, stretches
from composer.compose.planned import planned
from composer.filler.fabric_plan import theme
from composer.filler.ground import Wish
from composer.filler.over_seam import gap_of, goal_of, propose_over, rebuild_over, tie_in_joined
from composer.filler.seen import visible_laid
from composer.plan.form import piece_to_json, plan_from_json, plan_to_json
from composer.plan.model import Piece, Plan
from composer.plan.over_joins import joins_in, scene_with_neighbours, seen_on
from composer.plan.steps import apply
from composer.plan.twins import surface_of
from composer.sheets.wide_art import wide_art, wide_of

PARTS = ("chest", "left_arm", "right_arm")
FRONT = "left armhole, front"


def joined(plan: Plan, gallery: dict[str, Drawing] = GALLERY) -> Joined:
    surveys = {p: survey(planned(plan, p, scene_with_neighbours(plan, p, gallery), True)) for p in PARTS}
    return join_surveys(joins_in(plan), surveys)


@lru_cache(maxsize=1)
def both_sides() -> tuple[Plan, Joined]:
    """A buoy on the chest and one on the arm, either side of the left armhole."""
    plan = apply(taped(), place("inner", "chest", 0.115, 235.0, scale=0.5))
    plan = apply(plan, place("outer", "left_arm", 0.12, 455.0, scale=0.5))
    return plan, joined(plan)


def test_a_seam_is_taken_in_stretches_for_which_paper_is_right() -> None:
    plan = taped()
    for join in (d["join"] for *_, d in joins_in(plan).edges(data=True)):
        rows = stretches(join, join.a.part)
        assert rows and all(s.carried.mismatch_mm <= RIGHT_MM for s in rows)
        assert all(a.high <= b.low + 1e-9 for a, b in pairwise(rows))
        assert sum(s.high - s.low for s in rows) > 0.85
        spots = np.random.default_rng(2).uniform(-30, 30, (20, 2))
        assert np.allclose(rows[0].back(rows[0].carried.to_paper(spots)), spots)


def test_gaps_over_the_seam_join_those_of_both_sides_in_one_graph() -> None:
    _, found = both_sides()
    mine = [g for g in found.gaps if g.join == FRONT]
    assert mine and {g.join for g in found.gaps} == {FRONT, "right armhole, front"}
    g = found.graph
    for gap in mine:
        assert {p for p, _ in gap.of} == {"chest", "left_arm"} == {p for p, _ in gap.halves}
        over = {b for _, b, d in g.edges(gap.key, data=True) if d["kind"] == "over"}
        assert over == {k for _, k in gap.of} and 0 < gap.shared_mm <= 61
        assert gap.free.area == pytest.approx(gap.gap.area_mm2) and 8 < gap.gap.widest_mm <= 2 * REACH_MM + 4
        assert not shapely.intersects(gap.front, gap.free)
    assert nx.has_path(g, "inner", "outer") and "left_arm/border:near" in g and "right_arm/border:near" in g
    alone = nx.compose_all([s.graph for s in found.surveys.values()])
    assert not nx.has_path(nx.Graph(alone.edge_subgraph(
        [e for e in alone.edges(keys=True) if "border:" not in str(e[0]) + str(e[1])])), "inner", "outer")


def test_a_tie_runs_over_the_seam_from_piece_to_piece() -> None:
    plan, found = both_sides()
    tie = next(t for t in found.ties if {t.tie.a, t.tie.b} == {"inner", "outer"})
    assert [p for p, _ in tie.ways] == ["chest", "left_arm"] and found.gap(tie.seam) is not None
    assert "over the left armhole, front" in tie.tie.reason and 6 <= tie.tie.clearance_mm <= 70
    chest, arm = surface_of(plan, "chest"), surface_of(plan, "left_arm")
    ends = chest.embed(tie.ways[0][1]), arm.embed(tie.ways[1][1])
    lengths = sum(float(np.linalg.norm(np.diff(e, axis=0))) for e in ends)
    assert lengths == pytest.approx(tie.tie.clearance_mm, abs=6.0)   # chords, and what paper folds at the seam
    edges = (found.graph.get_edge_data("inner", "outer") or {}).values()
    assert any(d.get("over") and d["gap"] == tie.seam for d in edges)


def filled(kind: str = "cloud") -> tuple[Plan, dict[str, Drawing], Piece, SeamGap]:
    plan, found = both_sides()
    gap = max((g for g in found.gaps if g.join == FRONT), key=lambda g: g.gap.area_mm2)
    made = propose_over(found, gap, [kind], plan.settings.hand, Wish(), 4, 2, plan.settings)
    assert made and len({m.drawing.digest for m in made}) == len(made)
    piece = Piece("tied", "chest", made[0].drawing.digest, made[0].title, made[0].u, made[0].s_mm,
                  recipe=made[0].recipe)
    data = piece_to_json(piece)
    del data["depth"]
    return (apply(plan, {"do": "place", "piece": data}), {**GALLERY, piece.art: made[0].drawing}, piece, gap)


@pytest.mark.parametrize("kind", ["cloud", "filigree"])
def test_one_filler_is_one_piece_on_both_parts(kind: str) -> None:
    plan, gallery, piece, gap = filled(kind)
    assert plan_from_json(plan_to_json(plan)) == plan
    on_arm, on_chest = seen_on(plan, "left_arm", gallery), seen_on(plan, "chest", gallery)
    lean = on_arm.leaning["tied"]
    # the paper hangs on the arm exactly as it did when it was drawn, whatever its own outline is
    assert lean.carried.share == pytest.approx(gap.stretch.share, abs=1e-5)
    assert np.abs(lean.carried.matrix - gap.stretch.carried.matrix).max() < 0.35   # its own patch covers its own extent
    for seen in (on_arm, on_chest):
        shown = visible_laid(seen.scene, plan.settings, ["tied"])["tied"]
        laid = seen.scene.of("tied")
        for other in (x for x in seen.scene.laid if x.piece.id in ("inner", "outer")):
            flat = [laid.patch.to_flat(r - np.array([np.round(r[:, 0].mean() - laid.patch.u0)
                                                    if seen is on_arm else 0.0, 0.0])) for r in other.rings]
            near = min(shapely.distance(shapely.Polygon(r), shown.ink("line", "black")) for r in flat)
            assert near >= plan.settings.skin_break_mm - 0.25
    moved = apply(plan, {"do": "change", "pieces": [{"id": "tied", "u": piece.u - 0.004}]})
    again = seen_on(moved, "left_arm", gallery).leaning.get("tied")
    assert again is None or again.carried.share != lean.carried.share   # moved by hand it hangs by its own outline


def test_the_same_recipe_gives_the_same_bytes_and_a_gap_that_is_gone_is_said() -> None:
    plan, _, piece, gap = filled()
    _, found = both_sides()
    assert piece.recipe is not None and piece.recipe.goal == goal_of(gap)
    assert rebuild_over(piece.recipe, found, plan.settings).drawing.digest == piece.art
    assert gap_of(found, goal_of(gap)).key == gap.key
    with pytest.raises(ValueError, match="no open skin over this seam"):
        gap_of(found, {"seam": "left side", "share": 0.2, "at": [0, 0]})


@pytest.mark.parametrize("name", ["bank", "scroll"])
def test_both_shoulders_and_chest_are_tied_in_as_one_theme_with_the_crescent(name: str) -> None:
    plan, found = both_sides()
    low = {p.part: p.s_from_mm for p in wide_of(plan, "shoulders").parts if p.limb.closed}
    if name == "scroll":    # one to a gap: those by the armholes will do
        low = {"left_arm": 400.0, "right_arm": 400.0, "chest": 160.0}
    told: list[float] = []
    made = tie_in_joined(found, name, plan.settings.hand, Wish(), 3, told.append, plan.settings, low, ONCE)
    assert told[-1] == 1.0 and {p for p, _ in made} == set(PARTS)
    kinds = {z.kind for z in theme(name).zones}
    assert {m.kind for _, m in made} <= kinds
    seams = [m for _, m in made if "seam" in m.recipe.goal]
    assert len(seams) >= 4 and min(m.depth for m in seams) > max(
        m.depth for _, m in made if "seam" not in m.recipe.goal)
    gallery, pieces = dict(GALLERY), []
    for n, (part, m) in enumerate(made):
        gallery[m.drawing.digest] = m.drawing
        pieces.append(piece_to_json(Piece(f"b{n}", part, m.drawing.digest, m.title, m.u, m.s_mm, depth=m.depth,
                                          recipe=m.recipe)))
    tied = apply(plan, {"do": "tie_in", "pieces": pieces})
    wide, art = wide_of(tied, "shoulders"), wide_art(tied, "shoulders", gallery)
    ids = [p.piece.id for p in art.pieces]
    assert len(ids) == len(set(ids))
    form = shapely.union_all([shapely.make_valid(shapely.Polygon(r)) for p in art.pieces for r in p.silhouette])
    limb = surface_of(plan, "left_arm")
    u = np.linspace(0.13, 0.33, 21)
    rows = [np.column_stack([u, np.full(len(u), limb.s_max + d)]) for d in (4.0, 12.0, 20.0)]
    spots = shapely.points(wide.part("left_arm").to_wide(np.concatenate(rows)))
    share = float(shapely.dwithin(shapely.buffer(form, 0), spots, 5.0).mean())   # within 5 mm reads as filled
    assert share > 0.85, share


def test_no_skin_is_shown_twice_on_the_wide_sheet() -> None:
    plan, _ = both_sides()
    wide = wide_of(plan, "shoulders")
    for a in wide.parts:
        for b in wide.parts:
            assert a is b or shapely.intersection(a.strip, b.strip).area < 1e-6
    shown = shapely.union_all([shapely.Polygon(p.shown) for p in wide.parts])
    every = shapely.union_all([shapely.make_valid(shapely.Polygon(p.edge)) for p in wide.parts])
    assert shapely.difference(every, shown).area < 0.02 * every.area   # nor left out but where sheets stand apart
    for p in wide.parts[1:]:
        assert wide.part_at(np.asarray(shapely.point_on_surface(shapely.Polygon(p.shown)).coords)[0]) is p


def test_a_piece_over_the_seam_prints_once_half_on_each_part() -> None:
    ring = np.array([[-25.0, -15.0], [25.0, -15.0], [25.0, 15.0], [-25.0, 15.0]])
    bar = Drawing((ring,), (Layer("black", (ring,)),))
    plan = taped()
    join = joins_in(plan)["chest"]["left_arm"][FRONT]["join"]
    u, s = join.sides("chest")[0].at(0.2)[0]
    plan = apply(plan, {"do": "place", "piece": {"id": "bar", "part": "chest", "art": bar.digest, "title": "Bar",
                                                 "u": float(u), "s_mm": float(s)}})
    (on,) = wide_art(plan, "shoulders", {bar.digest: bar}).pieces
    wide = wide_of(plan, "shoulders")
    shape = shapely.union_all([shapely.make_valid(shapely.Polygon(r)) for r in on.silhouette])
    halves = [shapely.intersection(shape, wide.part(p).strip).area for p in ("chest", "left_arm")]
    assert min(halves) > 0.25 * bar.outline.area and sum(halves) == pytest.approx(bar.outline.area, rel=0.06)
