"""A tall motif's stencil, unasked, against exact geodesics: an oval of 200 by 120 mm on the arm and below the cap.

Source: potpourri3d (edge-flip geodesics, Sharp and Crane 2020), on the synthetic arm of the design's figures.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import potpourri3d as pp3d
import pytest
import shapely
from test_body_geodesic import as_circles, solver
from test_limb_paper import ARM, ROUND
from test_stencil_geodesic import worst_miss

from composer.art.drawing import Drawing
from composer.body.limb import Limb
from composer.body.measures import TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.steps import apply
from composer.sheets import stencil as stencil_module
from composer.sheets.slits import Limits, prepare


@pytest.mark.parametrize("limb", [as_circles(ARM), ARM], ids=["round", "elliptic"])
def test_unasked_a_tall_oval_is_right_to_1_mm_up_to_the_cap(limb: Limb, monkeypatch: pytest.MonkeyPatch) -> None:
    """Forearm, elbow, upper arm, and 430 mm, from where it runs 40 mm onto the cap."""
    art, flip = Drawing((np.multiply(ROUND, (0.6, 1.0)),), ()), solver(limb)
    monkeypatch.setattr(stencil_module, "surface_of", lambda plan, part: limb)
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    for s in (120.0, 250.0, 370.0, 430.0):
        piece = {"id": "b", "part": "left_arm", "art": art.digest, "title": "Oval", "u": 0.0, "s_mm": s}
        st = stencil_module.stencil(apply(plan, {"do": "place", "piece": piece}), ["b"], {art.digest: art})
        assert max(st.size_mm) > 199.0
        cut = prepare(st, Limits.of({}))
        assert len(cut.cells) > 1 and cut.freehand_mm2 == 0
        assert worst_miss(st, cut, flip, 25.0) < 1.0 and cut.error_mm < 1.0


def half_mesh(limb: Limb) -> tuple[np.ndarray, pp3d.EdgeFlipGeodesicSolver]:
    """Places (n, 2) of a mesh of the limb's front, and geodesics on it: none of them can go round behind."""
    u, s = np.linspace(-0.38, 0.38, 180), np.linspace(limb.s_min, limb.s_max, 240)
    us = np.stack(np.meshgrid(u, s), axis=-1).reshape(-1, 2)
    a = (np.arange(239)[:, None] * 180 + np.arange(179)).ravel()
    faces = np.concatenate([np.stack([a, a + 1, a + 180], 1), np.stack([a + 1, a + 181, a + 180], 1)])
    return us, pp3d.EdgeFlipGeodesicSolver(limb.embed(us), faces)


@pytest.mark.parametrize("s", [120.0, 250.0])
def test_what_is_told_of_the_papers_is_what_lines_right_across_them_are_off(s: float, monkeypatch: pytest.MonkeyPatch
                                                                             ) -> None:
    """Between the corners of each paper (to 1.5 mm), 15 mm or more apart: never more than is told, but for the
    mesh (0.03 mm), nor much less."""
    limb, art = as_circles(ARM), Drawing((np.multiply(ROUND, (0.6, 1.0)),), ())
    monkeypatch.setattr(stencil_module, "surface_of", lambda plan, part: limb)
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    piece = {"id": "b", "part": "left_arm", "art": art.digest, "title": "Oval", "u": 0.0, "s_mm": s}
    st = stencil_module.stencil(apply(plan, {"do": "place", "piece": piece}), ["b"], {art.digest: art})
    cut, (us, flip) = prepare(st, Limits.of({})), half_mesh(limb)
    flat, most = st.chart.to_flat(us), 0.0
    for cell in cut.cells:
        on = np.flatnonzero(shapely.contains_xy(shapely.intersection(cell.region, st.body), *flat.T))
        paper = cell.paper.to_flat(us[on])
        corners = shapely.get_coordinates(shapely.simplify(shapely.convex_hull(shapely.multipoints(paper)), 1.5))
        rim = [int(np.hypot(*(paper - at).T).argmin()) for at in corners[1:]]
        for i, j in combinations(rim, 2):
            far = float(np.hypot(*(paper[i] - paper[j])))
            if far >= 15.0:
                way = np.diff(flip.find_geodesic_path(int(on[i]), int(on[j])), axis=0)
                most = max(most, abs(far - float(np.linalg.norm(way, axis=1).sum())))
    assert cut.error_mm - 0.2 < most < cut.error_mm + 0.03
