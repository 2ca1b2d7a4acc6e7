"""Paper on chest and back against an as-rigid-as-possible flattening; tapes against geodesics; sizes.

Sources: libigl (ARAP after Liu et al. 2008); potpourri3d (edge-flip geodesics, Sharp and Crane 2020);
ANSUR II (US Army anthropometric survey, 2012, open data), 1st percentile of women to 99th of men.
"""

from __future__ import annotations

import sys
from pathlib import Path

import igl
import numpy as np
import potpourri3d as pp3d
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "body"))
from panel_cases import places, typical

from composer.body.panel import Panel
from composer.body.patch import lay_patch
from composer.body.yoke_fields import PANEL_TYPICAL_MM, PANELS
from composer.body.yoke_fit import fit_trunk
from composer.body.yoke_tape import tape


def grid(radius: float, n: int = 41) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (m, 2) of a disc and its triangles."""
    x = np.linspace(-radius, radius, n)
    xy = np.stack(np.meshgrid(x, x), axis=-1).reshape(-1, 2)
    i, j = np.meshgrid(np.arange(n - 1), np.arange(n - 1), indexing="ij")
    a = i * n + j
    faces = np.concatenate([np.stack([a, a + 1, a + n + 1], -1).reshape(-1, 3),
                            np.stack([a, a + n + 1, a + n], -1).reshape(-1, 3)])
    keep = np.hypot(*xy.T) <= radius * 1.001
    faces = faces[keep[faces].all(axis=1)]
    used = np.unique(faces)
    return xy[used], np.searchsorted(used, faces)


def as_rigid_as_possible(space: np.ndarray, faces: np.ndarray, start: np.ndarray) -> np.ndarray:
    data = igl.ARAPData()
    data.max_iter = 200
    pinned = np.array([int(np.hypot(*start.T).argmin())], dtype=np.int32)
    igl.arap_precomputation(space, faces.astype(np.int64), 2, pinned, data)
    return igl.arap_solve(start[pinned], data, start.copy())


def apart(a: np.ndarray, b: np.ndarray) -> float:
    """Largest distance, mm, after the best rigid motion."""
    a, b = a - a.mean(axis=0), b - b.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    return float(np.hypot(*(a @ (u @ np.diag([1, np.sign(np.linalg.det(u @ vt))]) @ vt) - b).T).max())


@pytest.mark.parametrize("part", PANELS)
@pytest.mark.parametrize(("size", "most"), [(60.0, 0.5), (120.0, 1.5), (180.0, 3.0)])
def test_rigid_paper_lies_as_flattened_skin(part: str, size: float, most: float) -> None:
    panel: Panel = typical(part)
    xy, faces = grid(size / 2)
    spots = places(panel, 6, size / 2 + 2)
    assert len(spots)
    for u, s in spots:
        patch = lay_patch(panel, u, s, size / 2, size / 2, size / 2)
        flat = as_rigid_as_possible(panel.embed(patch.to_skin(xy)), faces, xy)
        assert apart(flat, xy) < most


@pytest.mark.parametrize("part", PANELS)
def test_taut_tapes_are_geodesics(part: str) -> None:
    m = PANEL_TYPICAL_MM[part]
    trunk, v_top, sides = fit_trunk(part, m)
    p, v = np.linspace(-30, 245, 111), np.linspace(-30, trunk.over_mm + 25, 131)
    pv = np.stack(np.meshgrid(p, v), axis=-1).reshape(-1, 2)
    n = len(p)
    a = (np.arange(len(v) - 1)[:, None] * n + np.arange(n - 1)).ravel()
    faces = np.concatenate([np.stack([a, a + 1, a + n + 1], 1), np.stack([a, a + n + 1, a + n], 1)])
    flip = pp3d.EdgeFlipGeodesicSolver(trunk.embed(pv), faces)
    left = sides["left"]
    for start, end in ((np.array([0.0, v_top]), left.acromion), (left.acromion, left.crease)):
        i, j = (int(np.hypot(*(pv - x).T).argmin()) for x in (start, end))
        path = flip.find_geodesic_path(i, j)
        true = np.linalg.norm(np.diff(path, axis=0), axis=1).sum()
        assert tape(trunk, pv[i], pv[j]) == pytest.approx(true, abs=0.3)


@pytest.mark.parametrize("part", PANELS)
def test_the_typical_trunk_stands_within_the_survey(part: str) -> None:
    trunk, _, _ = fit_trunk(part, PANEL_TYPICAL_MM[part])
    assert 322 < 2 * trunk.acromion_mm < 463       # biacromial breadth
    assert 71 < trunk.rise_mm < 142                # acromial height less axilla height
    assert 190 < 2 * trunk.half_depth_mm < 321     # chest depth
    assert 232 < 2 * trunk.half_breadth_mm < 336   # chest breadth
