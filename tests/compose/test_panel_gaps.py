"""Gaps and ties on chest and back: within the edges, clear of pieces, no turn round, neighbours over the joins."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import shapely

sys.path.insert(0, str(Path(__file__).parents[1] / "body"))
from panel_cases import UNEVEN, typical

from composer.art.drawing import Drawing, Layer
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.compose.chart import chart_of
from composer.compose.gaps import Survey, resurvey, survey
from composer.filler.kinds import Wish
from composer.filler.lay_ground import site
from composer.filler.proposals import propose
from composer.plan.model import Hand, Plan, Settings
from composer.plan.over_joins import scene_with_neighbours, seen_on
from composer.plan.scene import Scene
from composer.plan.steps import apply

_T = np.linspace(0, 2 * np.pi, 48, endpoint=False)
RING = np.column_stack([24 * np.cos(_T), 34 * np.sin(_T)]) * (1 + 0.15 * np.cos(3 * _T))[:, None]
BUOY = Drawing((RING,), (Layer("black", (RING * 0.9,)),), (), {})
GALLERY = {BUOY.digest: BUOY}


def placed(spots: list[tuple[str, float, float]], chest: dict[str, float] = PANEL_TYPICAL_MM["chest"]) -> Plan:
    plan = Plan("estuary", "Estuary")
    for part, m in (("left_arm", TYPICAL_MM), ("right_arm", TYPICAL_MM), ("chest", chest)):
        plan = apply(plan, {"do": "measure", "part": part, "measures": m})
    for n, (part, u, s) in enumerate(spots):
        plan = apply(plan, {"do": "place", "piece": {"id": f"b{n}", "part": part, "art": BUOY.digest,
                                                     "title": f"Buoy {n}", "u": u, "s_mm": s, "turn_deg": 17.0 * n}})
    return plan


CHEST = [("chest", 0.11, 180.0), ("chest", -0.12, 150.0), ("chest", 0.02, 70.0), ("chest", 0.16, 285.0)]


def scene(spots: list[tuple[str, float, float]], **more: dict[str, float]) -> Scene:
    return scene_with_neighbours(placed(spots, **more), "chest", GALLERY)


def told(found: Survey) -> list[tuple]:
    gaps = [(g.key, g.neighbours, g.area_mm2, g.widest_mm) for g in found.gaps]
    return [*gaps, *((t.a, t.b, t.gaps, t.clearance_mm, t.strength, t.reason) for t in found.ties),
            sorted((*sorted((a, b)), d["kind"]) for a, b, d in found.graph.edges(data=True))]


@pytest.mark.parametrize("chest", [PANEL_TYPICAL_MM["chest"], UNEVEN], ids=["even", "uneven"])
def test_gaps_lie_within_the_edges_and_clear_of_pieces(chest: dict[str, float]) -> None:
    here = scene(CHEST, chest=chest)
    found = survey(here)
    panel = here.limb
    assert len(found.gaps) > 5
    rims = [(x.patch, shapely.segmentize(shapely.LinearRing(r), 0.5)) for x in here.laid for r in x.flat.silhouette]
    pieces = panel.embed(np.concatenate([patch.to_skin(shapely.get_coordinates(r)) for patch, r in rims]))
    for g in found.gaps:
        ring = np.concatenate(g.rings)
        assert np.abs(ring[:, 0]).max() < 0.35 and abs(g.centre[0]) < 0.35
        assert panel.within_mm(ring).min() > -0.1
        space = panel.embed(ring)
        apart = np.sqrt(((space[:, None] - pieces[None]) ** 2).sum(axis=2)).min()
        assert apart > 1.9   # a chord of skin in space is a little shorter than the tape


def test_gap_areas_are_true_skin() -> None:
    # against the surface in space: flat triangles of about 4 mm
    here = scene(CHEST)
    for g in survey(here).gaps[:4]:
        form = shapely.Polygon(here.limb.to_mm(g.rings[0]), [here.limb.to_mm(r) for r in g.rings[1:]])
        x0, y0, x1, y1 = form.bounds
        grid = np.stack(np.meshgrid(np.arange(x0, x1, 4.0), np.arange(y0, y1, 4.0)), axis=-1).reshape(-1, 2)
        spots = [shapely.get_coordinates(shapely.segmentize(form, 4.0)), grid[shapely.contains_xy(form, *grid.T)]]
        cut = [t for t in shapely.get_parts(shapely.delaunay_triangles(shapely.multipoints(np.concatenate(spots))))
               if form.contains(t.representative_point())]
        xyz = here.limb.embed(here.limb.from_mm(np.concatenate([np.asarray(t.exterior.coords)[:3] for t in cut])))
        a, b, c = xyz.reshape(-1, 3, 3).transpose(1, 0, 2)
        area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()
        assert g.area_mm2 == pytest.approx(area, rel=0.005)


def test_a_move_brings_what_a_full_survey_finds() -> None:
    found = survey(scene(CHEST))
    for u, s in ((0.10, 186.0), (0.01, 250.0), (0.2, 240.0)):
        now = scene([("chest", u, s), *CHEST[1:]])
        found = resurvey(found, now)
        assert told(found) == told(survey(now))


def test_an_empty_chest_is_all_gap() -> None:
    found = survey(scene([]))
    panel = typical("chest")
    assert sum(g.area_mm2 for g in found.gaps) == pytest.approx(panel.skin_area_mm2(), rel=0.01)
    edges = {n for g in found.gaps for n in g.neighbours}
    assert {"border:lower", "border:neck_left", "border:armhole_right", "border:side_left"} <= edges and not found.ties


def test_edges_are_named_and_a_piece_that_runs_over_one_needs_no_tie_to_it() -> None:
    found = survey(scene([("chest", 0.165, 215.0), ("chest", 0.0, 60.0), ("left_arm", 0.02, 480.0)]))
    ties = {(t.a, t.b): t.reason for t in found.ties}
    assert ("b1", "border:lower") in ties and "finishes that edge" in ties["b1", "border:lower"]
    assert not any(a == "b2" and b.startswith("border:") for a, b in ties)


def test_what_leans_in_over_the_armhole_takes_up_skin_and_is_tied() -> None:
    spots = [("chest", 0.1, 235.0), ("left_arm", -0.03, 470.0)]
    seen = seen_on(placed(spots), "chest", GALLERY)
    assert set(seen.leaning) == {"b1"} and seen.leaning["b1"].home == "left_arm"
    with_it, without = survey(seen.scene), survey(scene(spots[:1]))
    assert any("b1" in g.neighbours for g in with_it.gaps)
    assert sum(g.area_mm2 for g in with_it.gaps) < sum(g.area_mm2 for g in without.gaps) - 500
    assert any({t.a, t.b} == {"b0", "b1"} for t in with_it.ties)


def test_widths_are_measured_on_skin_not_on_the_sheet() -> None:
    here = scene(CHEST)
    panel, chart = here.limb, chart_of(here.limb)
    a, b = np.array([[0.2, 120.0]]), np.array([[0.205, 130.0]])
    line = np.linspace(a[0], b[0], 200)
    true = np.linalg.norm(np.diff(panel.embed(line), axis=0), axis=1).sum()
    assert chart.distance(a, b)[0] == pytest.approx(true, rel=2e-3)
    for t in survey(here).ties:
        if not t.b.startswith("border"):
            way = np.linspace(t.from_port, t.to_port, 100)
            true = np.linalg.norm(np.diff(panel.embed(way), axis=0), axis=1).sum()
            assert t.clearance_mm == pytest.approx(true, rel=0.01)


def test_fillers_keep_within_the_edges() -> None:
    here = scene(CHEST)
    found = survey(here)
    for g in found.gaps[:2]:
        place = site(here, found, [g], Settings())
        outside = here.limb.within_mm(place.patch.to_skin(shapely.get_coordinates(place.ground.region)))
        assert outside.min() > -1.0
        for p in propose(here, found, {"gap": [list(g.centre)]}, ["filigree"], Hand(), Wish(), 3, count=1):
            laid = here.limb.lay_patch(p.u, p.s_mm, 80.0)
            ink = laid.to_skin(np.concatenate([r for la in p.drawing.layers for r in la.rings]))
            assert here.limb.within_mm(ink).min() > -1.0

