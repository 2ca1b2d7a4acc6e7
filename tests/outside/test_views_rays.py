"""Views against rays: trimesh (general-purpose mesh library, MIT) casts them at our mesh.

Which pixel a skin point falls on, whether it is seen, and what share of a piece is seen, each by
sending rays instead of our formulas.
"""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from composer.art.drawing import Drawing, Layer
from composer.body.fields import TYPICAL_MM
from composer.body.measures import build_limb
from composer.plan.model import Piece
from composer.plan.scene import lay
from composer.views.camera import NAMES, frame, view_u
from composer.views.mesh import mesh
from composer.views.seen import visible, visible_share
from composer.views.surface import Surface

LIMB = build_limb("left_arm", TYPICAL_MM)
SURFACE = Surface(LIMB, "left_arm")
MESH = mesh(LIMB, "left_arm", around=128, along=110)
SOLID = trimesh.Trimesh(MESH.xyz, MESH.faces, process=False)
FINE = mesh(LIMB, "left_arm", around=320, along=140)
FINE_SOLID = trimesh.Trimesh(FINE.xyz, FINE.faces, process=False)
VIEWS = (*NAMES, "front outer")
NEAR_MM = 0.6
"""A point is seen when the first skin a ray from the eye meets is that point, give or take this
much along the ray: facets lie within 0.006 mm of the skin, which near the edge is as much as that."""


def reached(camera, us: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
    """Which skin points (n, 2) a ray from the eye through their pixel meets first."""
    xyz = SURFACE.xyz(us)
    origins, directions = camera.rays(camera.project(xyz))
    at, ray, _ = FINE_SOLID.ray.intersects_location(origins, directions, multiple_hits=False)
    out = np.zeros(len(us), bool)
    out[ray] = np.linalg.norm(at - xyz[ray], axis=1) < NEAR_MM
    return out


def where_hit(origins: np.ndarray, directions: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """First hits: which rays hit, and (u, s) there by barycentric weights."""
    at, ray, face = SOLID.ray.intersects_location(origins, directions, multiple_hits=False)
    weights = trimesh.triangles.points_to_barycentric(SOLID.triangles[face], at)
    return ray, np.einsum("ij,ijk->ik", weights, MESH.us[MESH.faces[face]])


@pytest.mark.parametrize("distance", [None, 2400.0])
@pytest.mark.parametrize("name", NAMES)
def test_pixels_lie_where_rays_through_them_meet_the_skin(name: str, distance: float | None) -> None:
    camera = frame(SURFACE, view_u("left_arm", name), (900, 1400), distance_mm=distance)
    rng = np.random.default_rng(7)
    us = np.column_stack([camera.u + rng.uniform(-0.21, 0.21, 120), rng.uniform(5, LIMB.s_max - 5, 120)])
    px = camera.project(SURFACE.xyz(us))
    ray, hit = where_hit(*camera.rays(px))
    assert len(ray) == 120
    back = camera.project(SURFACE.xyz(hit))
    assert np.abs(back - px[ray]).max() < 1.0    # the same pixel
    du = (hit[:, 0] - us[ray, 0] + 0.5) % 1.0 - 0.5
    assert np.abs(du * LIMB.girth(us[ray, 1])).max() < 1.2 and np.abs(hit[:, 1] - us[ray, 1]).max() < 1.2   # mm


@pytest.mark.parametrize("distance", [None, 2400.0])
def test_points_are_seen_when_no_skin_stands_before_them(distance: float | None) -> None:
    rng = np.random.default_rng(11)
    us = np.column_stack([rng.uniform(0, 1, 400), rng.uniform(6, LIMB.s_max - 6, 400)])
    wrong = 0
    for name in VIEWS:
        camera = frame(SURFACE, view_u("left_arm", name), (900, 1400), distance_mm=distance)
        wrong += (visible(SURFACE, us, camera) != reached(camera, us)).sum()
    assert wrong / (len(VIEWS) * len(us)) < 0.01


@pytest.mark.parametrize(("u", "s", "wide", "high"), [
    (0.05, 300.0, 90.0, 60.0), (0.24, 180.0, 120.0, 80.0), (-0.42, 400.0, 140.0, 70.0), (0.6, 90.0, 60.0, 110.0)])
def test_share_of_a_piece_seen_is_the_share_of_rays_that_reach_it(u: float, s: float, wide: float, high: float) -> None:
    a = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    ring = np.column_stack([wide / 2 * np.cos(a), high / 2 * np.sin(a)])
    oval = Drawing((ring,), (Layer("black", (ring,)),))
    laid = lay(LIMB, Piece("p", "left_arm", "a", "Oval", u, s, turn_deg=25.0), oval)
    side = (np.arange(44) + 0.5) / 44 - 0.5
    flat = np.column_stack([np.tile(side, 44), np.repeat(side, 44)]) * (wide, high)
    flat = flat[((flat / (wide / 2, high / 2)) ** 2).sum(axis=1) < 1]
    t = np.radians(25.0)
    flat = flat @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
    us = laid.patch.to_skin(flat)
    # flat area is skin area but for the cone's misfit: weigh by it
    weight = LIMB.girth(us[:, 1]) / (laid.patch.c1_mm + laid.patch.b * (us[:, 1] - laid.patch.s0_mm))
    for name in VIEWS:
        camera = frame(SURFACE, view_u("left_arm", name), (900, 1400))
        seen = (weight * reached(camera, us)).sum() / weight.sum()
        assert visible_share(LIMB, laid, camera.u) == pytest.approx(seen, abs=0.01)
