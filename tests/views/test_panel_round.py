"""Chest and back to be looked at: triangles up to the edges, shares seen, arms at their armholes."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh

sys.path.insert(0, str(Path(__file__).parents[1] / "body"))
from panel_cases import body, typical

from composer.art.drawing import Drawing, Layer
from composer.plan.model import Piece
from composer.plan.scene import lay
from composer.views.panel_shape import VIEWS, panel_mesh, parts_beside, shares_seen
from composer.views.surface import Surface
from composer.views.unwrap import layout

_T = np.linspace(0, 2 * np.pi, 60, endpoint=False)
RING = np.column_stack([25 * np.cos(_T), 25 * np.sin(_T)])
DISC = Drawing((RING,), (Layer("line", (RING,)),), (), {})


@pytest.mark.parametrize("part", ["chest", "upper_back"])
def test_the_mesh_is_the_panel_up_to_its_edges(part: str) -> None:
    panel = typical(part)
    m = panel_mesh(panel, 64, 42)
    a = (np.arange(m.rows - 1)[:, None] * m.columns + np.arange(m.columns - 1)).ravel()[m.inside]
    faces = np.concatenate([np.column_stack([a, a + 1, a + m.columns + 1]),
                            np.column_stack([a, a + m.columns + 1, a + m.columns])])
    shape = trimesh.Trimesh(m.rim_xyz, faces, process=False)
    assert shape.area == pytest.approx(panel.skin_area_mm2(), rel=0.01)
    us = m.uv * (m.turns, panel.s_max - panel.s_min) + (m.u0, panel.s_min)
    assert panel.within_mm(us[np.unique(faces)]).min() > -1e-6
    assert np.abs(panel.embed(us) - m.rim_xyz).max() < 1e-9
    out = np.einsum("ij,ij->i", shape.face_normals, m.rim_normals[faces].mean(axis=1))
    lost = shape.area_faces[out < 0.8].sum()
    assert lost < 0.002 * shape.area, "but for crumbs at the edges every triangle looks out of the skin"


def test_pieces_show_from_where_they_face_by_ray_casting() -> None:
    """Against trimesh's ray casting on the same triangles."""
    panel = typical("chest")
    m = panel_mesh(panel, 96, 64)
    a = (np.arange(m.rows - 1)[:, None] * m.columns + np.arange(m.columns - 1)).ravel()[m.inside]
    faces = np.concatenate([np.column_stack([a, a + 1, a + m.columns + 1]),
                            np.column_stack([a, a + m.columns + 1, a + m.columns])])
    shape = trimesh.Trimesh(m.rim_xyz, faces, process=False)
    for u, s in ((0.0, 150.0), (0.12, 200.0), (0.2, 80.0)):
        laid = lay(panel, Piece("p", "chest", DISC.digest, "p", u, s), DISC)
        told = shares_seen(panel, laid)
        xy = np.stack(np.meshgrid(np.arange(-22, 23, 5.0), np.arange(-22, 23, 5.0)), axis=-1).reshape(-1, 2)
        us = laid.patch.to_skin(xy[np.hypot(*xy.T) < 24])
        us = us[panel.inside(us)]
        spots, normals = panel.embed(us), Surface(panel, "").normals(us)
        for name, turn in VIEWS.items():
            toward = np.array([np.sin(2 * np.pi * turn), -np.cos(2 * np.pi * turn), 0.0])
            ways = np.tile(toward, (len(us), 1))
            free = ~shape.ray.intersects_any(spots + 0.5 * normals, ways) & (normals @ toward > 0)
            assert told[name] == pytest.approx(free.mean(), abs=0.08), (u, s, name)


def test_arms_hang_at_the_armholes_of_chest_and_back() -> None:
    parts = body()
    for main, sign in (("chest", 1), ("upper_back", -1)):
        rows = {b.part: b for b in parts_beside(main, parts)}
        assert set(rows) == {"left_arm", "right_arm", *({"chest", "upper_back"} - {main})}
        left, right = rows["left_arm"].shift, rows["right_arm"].shift
        assert np.sign(left[0]) == sign and right == pytest.approx(left * (-1, 1, 1), abs=0.5)
        other = rows["upper_back" if main == "chest" else "chest"]
        assert other.turned and abs(other.shift[0]) < 0.5


def test_the_picture_of_a_panel_spans_its_edges() -> None:
    panel = typical("chest")
    lay_ = layout(panel)
    assert lay_.least_px_mm >= 9.0
    at = lay_.place(panel.outline)
    assert at.min() > -1e-9 and at[:, 0].max() == pytest.approx(lay_.columns) and at[:, 1].max() <= lay_.rows + 1e-9
