"""Distances on skin against exact geodesics on a triangle mesh.

Source: potpourri3d (bindings of geometry-central), edge-flip geodesics (Sharp and Crane, "You
Can Find Geodesic Paths in Triangle Meshes by Just Flipping Edges", 2020). A mesh is a little
shorter than the surface it stands on; the finest edges here are 1.5 mm.
"""

from __future__ import annotations

import numpy as np
import potpourri3d as pp3d
import pytest

from composer.body.limb import Level, Limb
from composer.body.measures import TYPICAL_MM, build_limb
from composer.body.metric import distance

NU, NS = 200, 240


def solver(limb: Limb) -> pp3d.EdgeFlipGeodesicSolver:
    s = np.linspace(limb.s_min, limb.s_max, NS)
    grid = np.column_stack([np.tile(np.arange(NU) / NU, NS), np.repeat(s, NU)])
    i, j = np.meshgrid(np.arange(NS - 1), np.arange(NU), indexing="ij")
    a, b = i * NU + j, i * NU + (j + 1) % NU
    faces = np.concatenate([np.stack([a, b, a + NU], axis=-1).reshape(-1, 3),
                            np.stack([b, b + NU, a + NU], axis=-1).reshape(-1, 3)])
    return pp3d.EdgeFlipGeodesicSolver(limb.embed(grid), faces)


def pairs(limb: Limb, longest_mm: float, n: int = 60) -> list[tuple[int, int, int, int]]:
    """Grid places (row, column) of two ends each, up to `longest_mm` apart; some across the seam."""
    rng = np.random.default_rng(11)
    out = []
    while len(out) < n:
        i, j = int(rng.integers(0, NS)), int(rng.integers(0, NU))
        angle, far = rng.uniform(0, 2 * np.pi), rng.uniform(8, longest_mm)
        i2 = i + round(far * np.sin(angle) / (limb.s_max / (NS - 1)))
        j2 = j + round(far * np.cos(angle) / float(limb.girth(limb.s_max * i / NS)) * NU)
        if 0 <= i2 < NS and (i, j) != (i2, j2 % NU):
            out.append((i, j, i2, j2 % NU))
    return out


def misses(limb: Limb, longest_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Difference (ours - geodesic) and geodesic length, mm."""
    flip = solver(limb)
    s = np.linspace(limb.s_min, limb.s_max, NS)
    ours, true = [], []
    for i, j, i2, j2 in pairs(limb, longest_mm):
        path = flip.find_geodesic_path(i * NU + j, i2 * NU + j2)
        true.append(np.hypot.reduce(np.diff(path, axis=0), axis=1).sum())
        ours.append(float(distance(limb, np.array([j / NU, s[i]]), np.array([j2 / NU, s[i2]]))[0]))
    return np.array(ours) - np.array(true), np.array(true)


def as_circles(limb: Limb) -> Limb:
    return Limb(tuple(Level(lv.name, lv.s_mm, lv.girth_mm, 1.0) for lv in limb.levels))


@pytest.mark.parametrize(("longest", "worst"), [(25.0, 0.02), (60.0, 0.1), (150.0, 0.5)])
def test_on_round_sections(longest: float, worst: float) -> None:
    miss, _ = misses(as_circles(build_limb("left_arm", TYPICAL_MM)), longest)
    assert np.abs(miss).max() < worst


@pytest.mark.parametrize(("longest", "worst"), [(25.0, 0.5), (60.0, 1.1)])
def test_on_elliptic_sections(longest: float, worst: float) -> None:
    miss, _ = misses(build_limb("left_arm", TYPICAL_MM), longest)
    assert np.abs(miss).max() < worst


def test_on_a_cylinder_the_mesh_agrees() -> None:
    miss, true = misses(Limb((Level("a", 0, 300, 1.0), Level("b", 360, 300, 1.0))), 100.0)
    assert np.abs(miss / true).max() < 2e-4
