"""What is said of papers over a seam, against exact geodesics on a mesh of the part they lie on.

Source: potpourri3d (bindings of geometry-central), edge-flip geodesics (Sharp and Crane, "You Can Find
Geodesic Paths in Triangle Meshes by Just Flipping Edges", 2020), between all places 6 mm apart round the paper.
Arms have round sections here: what an elliptic one makes of a paper is in test_stencil_geodesic.
"""

from __future__ import annotations

import sys
from itertools import combinations
from pathlib import Path

import numpy as np
import potpourri3d as pp3d
import pytest
import shapely
from test_body_geodesic import NS, NU, as_circles, solver

from composer.body.limb import Limb
from composer.sheets.cut_model import places
from composer.sheets.slits import Limits, prepare
from composer.sheets.stencil import Stencil

sys.path.insert(0, str(Path(__file__).parents[1] / "sheets"))
from test_over_join import CASES, over

STEP_MM = 1.0


def true_error(st: Stencil) -> float:
    """Largest |line on paper - geodesic|, mm, over one paper, between mesh points nearest to its rim."""
    hull = shapely.convex_hull(shapely.multipoints(st.chart.to_flat(places(st))))
    rim = shapely.points(np.asarray(shapely.segmentize(hull, 6.0).exterior.coords)[:-1])
    us, flip = mesh(st, hull)
    paper = st.chart.to_flat(us)
    on = np.unique(shapely.STRtree(shapely.points(paper)).query_nearest(rim)[1])
    most = 0.0
    for i, j in combinations(on, 2):
        far = float(np.hypot(*(paper[i] - paper[j])))
        if far >= 15.0:
            path = flip.find_geodesic_path(int(i), int(j))
            most = max(most, abs(far - float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())))
    return most


def mesh(st: Stencil, hull: shapely.Geometry) -> tuple[np.ndarray, pp3d.EdgeFlipGeodesicSolver]:
    """Places (n, 2) of a mesh of the skin under a paper and beyond, and its geodesics."""
    limb = st.limb
    if isinstance(limb, Limb):
        us = np.column_stack([np.tile(np.arange(NU) / NU, NS), np.repeat(np.linspace(limb.s_min, limb.s_max, NS), NU)])
        us[:, 0] += np.round(st.chart.u0 - us[:, 0])
        return us, solver(as_circles(limb))
    x0, y0, x1, y1 = shapely.transform(shapely.buffer(hull, 8.0), lambda p: limb.to_mm(st.chart.to_skin(p))).bounds
    x, y = np.arange(x0, x1, STEP_MM), np.arange(y0, y1, STEP_MM)
    us = limb.from_mm(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2))
    n = len(x)
    a = (np.arange(len(y) - 1)[:, None] * n + np.arange(n - 1)).ravel()
    faces = np.concatenate([np.stack([a, a + 1, a + n + 1], 1), np.stack([a, a + n + 1, a + n], 1)])
    return us, pp3d.EdgeFlipGeodesicSolver(limb.embed(us), faces)


@pytest.mark.parametrize(("part", "x", "s"), [c[:3] for c in CASES])
def test_what_is_said_of_a_paper_over_a_seam_is_what_the_geodesics_say(part: str, x: float, s: float) -> None:
    for st in over(part, x, s)[2]:
        cut = prepare(st, Limits.of({}))
        assert cut.way == "whole"
        assert cut.error_mm == pytest.approx(true_error(st), abs=0.08)
