"""Stencil papers against exact geodesics on a triangle mesh of the limb, of chest and of back.

Source: potpourri3d (bindings of geometry-central), edge-flip geodesics (Sharp and Crane, "You Can Find
Geodesic Paths in Triangle Meshes by Just Flipping Edges", 2020). A block of 200 mm along the arm is
stencilled, cut until straight lines over each paper are said to be right to 0.8 mm, and lines between
mesh points of one paper are held against the geodesics between them.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import potpourri3d as pp3d
import pytest
import shapely
from test_body_geodesic import NS, NU, as_circles, solver

from composer.art.drawing import Drawing
from composer.body.limb import Level, Limb
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.sheets import stencil as stencil_module
from composer.sheets.slits import Cut, Limits, prepare
from composer.sheets.stencil import Stencil

ARM = build_limb("left_arm", TYPICAL_MM)


def block(width: float, height: float, s: float, limb: Limb, monkeypatch: pytest.MonkeyPatch) -> Stencil:
    """A bare block on an arm with this skin."""
    box = shapely.segmentize(shapely.box(-width / 2, -height / 2, width / 2, height / 2), 2.0)
    art = Drawing((np.asarray(box.exterior.coords)[:-1],), ())
    monkeypatch.setattr(stencil_module, "surface_of", lambda plan, part: limb)
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    plan = apply(plan, {"do": "place", "piece": {"id": "b", "part": "left_arm", "art": art.digest, "title": "Block",
                                                 "u": 0.0, "s_mm": s}})
    return stencil_module.stencil(plan, ["b"], {art.digest: art})


def missed(paper: np.ndarray, on: np.ndarray, flip, rng: np.random.Generator, pairs: int, least_mm: float,
           fit: Callable[[int, int], bool] = lambda i, j: True) -> float:
    """Largest |line on paper - geodesic|, mm, over random pairs on the rim of one paper that are `fit` for it and at
    least `least_mm` apart. `paper` (n, 2) are places of the mesh's vertices `on` (n,)."""
    hull = shapely.convex_hull(shapely.multipoints(paper))
    rim = np.unique(shapely.STRtree(shapely.points(paper)).query_nearest(
        shapely.points(np.asarray(shapely.segmentize(hull, 12.0).exterior.coords)))[1])
    most = 0.0
    for _ in range(pairs):
        i, j = rng.choice(rim, 2, replace=False)
        far = float(np.hypot(*(paper[i] - paper[j])))
        if far >= least_mm and fit(i, j):
            path = flip.find_geodesic_path(int(on[i]), int(on[j]))
            most = max(most, abs(far - float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())))
    return most


def worst_miss(stencil: Stencil, cut: Cut, flip, least_mm: float, pairs: int = 40) -> float:
    """Largest |line on paper - geodesic|, mm, over pairs at least `least_mm` apart on one paper."""
    limb, rng = stencil.limb, np.random.default_rng(3)
    s = np.linspace(limb.s_min, limb.s_max, NS)
    grid = np.column_stack([np.tile(np.arange(NU) / NU, NS), np.repeat(s, NU)])
    unrolled = np.column_stack([(grid[:, 0] + 0.5) % 1 - 0.5, grid[:, 1]])
    flat = stencil.chart.to_flat(unrolled)
    most = 0.0
    for cell in cut.cells:
        on = np.flatnonzero(shapely.contains_xy(shapely.intersection(cell.region, stencil.body), *flat.T)
                            & (np.abs(unrolled[:, 0]) < 0.4))
        chart = cell.paper or stencil.chart
        paper = chart.to_flat(unrolled[on])
        u = unrolled[on, 0]
        # pairs that have no shorter way behind
        most = max(most, missed(paper, on, flip, rng, pairs, least_mm, lambda i, j, u=u: abs(u[i] - u[j]) < 0.3))
    return most


@pytest.mark.parametrize(("s", "way"), [(120.0, "split"), (120.0, "slits"), (250.0, "split"), (370.0, "slits")])
@pytest.mark.parametrize("limb", [as_circles(ARM), ARM], ids=["round", "elliptic"])
def test_a_200_mm_piece_is_right_to_1_mm_on_the_arm(limb: Limb, s: float, way: str,
                                                    monkeypatch: pytest.MonkeyPatch) -> None:
    st = block(110.0, 200.0, s, limb, monkeypatch)
    cut = prepare(st, Limits(error_mm=0.8), way)
    assert cut.way == way and cut.error_mm <= 0.8
    assert worst_miss(st, cut, solver(limb), 25.0) < 1.0


def test_what_is_said_of_an_uncut_paper_is_what_the_geodesics_say(monkeypatch: pytest.MonkeyPatch) -> None:
    limb = as_circles(ARM)
    st = block(110.0, 200.0, 120.0, limb, monkeypatch)
    cut = prepare(st, way="whole")
    seen = worst_miss(st, cut, solver(limb), 25.0, 150)
    assert 0.5 * cut.error_mm < seen < 1.1 * cut.error_mm + 0.2


def test_on_the_cap_of_the_shoulder_slits_do_what_one_paper_cannot(monkeypatch: pytest.MonkeyPatch) -> None:
    """An arm that ends in a ball of 63.7 mm (`facts/geometry.md` of the design): 100 mm right on the cap. One paper
    is off by several mm; slit, its strips are right to 1 mm."""
    arm = [(0, 170), (60, 190), (190, 280), (250, 265), (370, 330), (430, 350), (490, 400)]
    ball = [(490 + d, 2 * np.pi * 63.7 * np.cos(d / 63.7)) for d in range(5, 75, 5)]
    limb = Limb(tuple(Level(f"l{i}", float(s), float(c)) for i, (s, c) in enumerate(arm + ball)))
    flip = solver(limb)
    st = block(100.0, 100.0, 490.0, limb, monkeypatch)
    whole, slit = prepare(st, way="whole"), prepare(st, Limits(error_mm=1.0), "slits")
    assert abs(whole.stretch) > 0.10 and whole.freehand_mm2 > 100 and "marked freehand" in whole.sentence
    assert abs(slit.stretch) < 0.05 and slit.freehand_mm2 == 0
    assert worst_miss(st, whole, flip, 25.0) > 5.0
    assert worst_miss(st, slit, flip, 25.0) < 1.0


def panel_block(part: str, width: float, height: float, x: float, s: float) -> Stencil:
    """A bare block on the typical chest or back."""
    box = shapely.segmentize(shapely.box(-width / 2, -height / 2, width / 2, height / 2), 2.0)
    art = Drawing((np.asarray(box.exterior.coords)[:-1],), ())
    measures = PANEL_TYPICAL_MM[part]
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": part, "measures": measures})
    plan = apply(plan, {"do": "place", "piece": {"id": "b", "part": part, "art": art.digest, "title": "Block",
                                                 "u": x / measures["chest_girth"], "s_mm": s}})
    return stencil_module.stencil(plan, ["b"], {art.digest: art})


def panel_miss(stencil: Stencil, cut: Cut, step: float = 3.0, pairs: int = 30) -> float:
    """Largest |line on paper - geodesic|, mm, over pairs 25 mm apart or more on one paper of a panel, by edge-flip
    geodesics on a mesh of the panel of `step` mm."""
    panel, rng = stencil.limb, np.random.default_rng(4)
    x0, y0, x1, y1 = shapely.transform(shapely.segmentize(stencil.outline, 4.0),
                                       lambda p: panel.to_mm(stencil.chart.to_skin(p))).bounds
    x, y = np.arange(x0 - 30, x1 + 30, step), np.arange(y0 - 30, y1 + 30, step)
    us = panel.from_mm(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2))
    n = len(x)
    a = (np.arange(len(y) - 1)[:, None] * n + np.arange(n - 1)).ravel()
    faces = np.concatenate([np.stack([a, a + 1, a + n + 1], 1), np.stack([a, a + n + 1, a + n], 1)])
    flip = pp3d.EdgeFlipGeodesicSolver(panel.embed(us), faces)
    flat = stencil.chart.to_flat(us)
    most = 0.0
    for cell in cut.cells:
        on = np.flatnonzero(shapely.contains_xy(shapely.intersection(cell.region, stencil.body), *flat.T))
        paper = (cell.paper or stencil.chart).to_flat(us[on])
        most = max(most, missed(paper, on, flip, rng, pairs, 25.0))
    return most


@pytest.mark.parametrize("way", ["slits", "split"])
@pytest.mark.parametrize(("part", "width", "height", "x", "s"), [
    ("chest", 110.0, 200.0, 70.0, 150.0), ("chest", 200.0, 110.0, 0.0, 150.0), ("chest", 200.0, 200.0, 0.0, 160.0),
    ("upper_back", 110.0, 200.0, 70.0, 150.0), ("upper_back", 200.0, 200.0, 0.0, 160.0)])
def test_a_200_mm_piece_is_right_to_1_mm_on_chest_and_back(part: str, width: float, height: float, x: float, s: float,
                                                           way: str) -> None:
    """Of one paper what is said is what the geodesics say; cut, it is right to 1 mm."""
    st = panel_block(part, width, height, x, s)
    whole, cut = prepare(st, way="whole"), prepare(st, Limits(error_mm=0.8), way)
    assert cut.way == way and cut.error_mm <= 0.8 and cut.opens_mm < 0.5
    before, after = panel_miss(st, whole), panel_miss(st, cut)
    assert 0.4 * whole.error_mm < before < 1.1 * whole.error_mm + 0.2
    assert before > 2.0 and after < 1.0


def test_unasked_a_250_mm_piece_on_the_chest_is_right_to_1_mm_with_nine_slits() -> None:
    st = panel_block("chest", 250.0, 200.0, 0.0, 165.0)
    cut = prepare(st, Limits.of({}))
    assert cut.way == "slits" and len(cut.cells) == 11
    assert panel_miss(st, cut) < 1.0
