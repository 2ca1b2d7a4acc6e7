"""The limb as a shape: the mesh meets itself, keeps the taped girths, and is closed softly."""

from __future__ import annotations

import numpy as np
import pytest

from composer.body.fields import TYPICAL_MM
from composer.body.flex import POSES, posed_limb
from composer.body.leg_fields import LEG_TYPICAL_MM
from composer.body.measures import build_limb
from composer.views.camera import EIGHT, frame, view_u
from composer.views.mesh import ends, mesh
from composer.views.surface import Surface

ARM = build_limb("left_arm", TYPICAL_MM)
LEG = build_limb("right_leg", LEG_TYPICAL_MM)


def test_the_mesh_meets_itself_at_the_cut_and_keeps_every_taped_girth() -> None:
    m = mesh(ARM, "left_arm", around=192, along=98)
    grid = m.xyz.reshape(-1, m.columns, 3)
    assert grid[:, 0] == pytest.approx(grid[:, -1], abs=1e-9)
    assert m.us.reshape(-1, m.columns, 2)[:, -1, 0] == pytest.approx(0.5)
    loops = np.linalg.norm(np.diff(grid, axis=1), axis=2).sum(axis=1)
    s = m.us.reshape(-1, m.columns, 2)[:, 0, 1]
    assert loops == pytest.approx(ARM.girth(s), rel=2e-4)
    assert np.ptp(grid[:, :, 2], axis=1).max() < 1e-9   # relaxed sections lie level


def test_the_hang_changes_lengths_along_the_skin_by_less_than_a_percent_and_a_half() -> None:
    for limb, part in ((ARM, "left_arm"), (ARM, "right_arm"), (LEG, "right_leg")):
        s = np.linspace(limb.s_min, limb.s_max, 400)
        for u in np.linspace(0, 1, 12, endpoint=False):
            line = np.column_stack([np.full(400, u), s])
            hung = np.linalg.norm(np.diff(Surface(limb, part).xyz(line), axis=0), axis=1).sum()
            straight = np.linalg.norm(np.diff(limb.embed(line), axis=0), axis=1).sum()
            assert hung == pytest.approx(straight, rel=0.015)
            assert hung != pytest.approx(straight, rel=1e-5)


def test_left_and_right_hang_as_mirror_images() -> None:
    us = np.column_stack([np.linspace(-0.5, 0.5, 40), np.linspace(0, ARM.s_max, 40)])
    left = Surface(ARM, "left_arm").xyz(us)
    right = Surface(ARM, "right_arm").xyz(us * (-1, 1))
    assert left == pytest.approx(right * (-1, 1, 1), abs=1e-9)


@pytest.mark.parametrize(("limb", "part", "pose"), [
    *((ARM, "left_arm", p) for p in POSES["arm"]), *((LEG, "right_leg", p) for p in POSES["leg"])])
def test_normals_look_outwards_and_faces_turn_the_same_way(limb, part: str, pose: str) -> None:  # type: ignore[no-untyped-def]
    posed = None if pose == "relaxed" else posed_limb(limb, pose, part)
    m = mesh(limb, part, posed, around=48, along=60)
    p, q, r = (m.xyz[m.faces[:, i]] for i in range(3))
    flat = np.cross(q - p, r - p)
    assert np.linalg.norm(m.normals, axis=1) == pytest.approx(1.0)
    turned = np.einsum("ij,ij->i", flat, m.normals[m.faces[:, 0]])
    assert (turned > 0).mean() > 0.995   # where a bent limb folds, a few triangles may turn over
    middles = Surface(limb, part, posed).centre(m.us[:, 1])
    assert (np.einsum("ij,ij->i", m.normals, m.xyz - middles) > 0).all()


def test_soft_ends_go_on_from_the_skin_and_close() -> None:
    surface = Surface(ARM, "left_arm")
    for end, s, up in zip(ends(ARM, "left_arm"), (ARM.s_min, ARM.s_max), (-1, 1), strict=True):
        n = (end.fade == 0).sum()
        rim = surface.xyz(np.column_stack([np.linspace(-0.5, 0.5, n), np.full(n, s)]))
        assert end.xyz[:n] == pytest.approx(rim, abs=1e-9)
        assert np.ptp(end.xyz[-n:], axis=0).max() < 1e-6
        assert (end.xyz[-1, 2] - rim[0, 2]) * up > 15


def test_outer_is_the_side_away_from_the_body_on_both_sides() -> None:
    assert view_u("left_arm", "outer") == 0.25 and view_u("right_leg", "outer") == -0.25
    assert view_u("left_arm", "front inner") == -0.125
    assert {view_u("right_arm", n) % 1.0 for n in EIGHT} == {i / 8 for i in range(8)}
    with pytest.raises(ValueError, match="no view called 'top'"):
        view_u("left_arm", "top")


def test_the_whole_limb_is_on_the_picture_and_the_mirror_turns_it_over() -> None:
    surface = Surface(ARM, "left_arm")
    for distance in (None, 2400.0):
        for name in EIGHT:
            camera = frame(surface, view_u("left_arm", name), (600, 900), distance_mm=distance)
            px = camera.project(mesh(ARM, "left_arm").xyz)
            assert (px >= 0).all() and (px <= (600, 900)).all()
            over = frame(surface, view_u("left_arm", name), (600, 900), distance_mm=distance, mirror=True)
            assert over.project(mesh(ARM, "left_arm").xyz) == pytest.approx(px * (-1, 1) + (600, 0))
