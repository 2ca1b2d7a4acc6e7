"""A limb as triangles: a grid of skin points, and two soft ends that carry no art."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.body.limb import Limb
from composer.views.surface import Embeds, Surface


@dataclass(frozen=True)
class Mesh:
    """Triangles of skin. `us` (n, 2) turns and mm, `xyz` and `normals` (n, 3) mm, `faces` (m, 3)
    counter-clockwise seen from outside. The grid is row by row from the far end up, `columns`
    points a row, first and last at the same place (u = u0 and u0 + 1), so a texture meets itself."""

    us: np.ndarray
    xyz: np.ndarray
    normals: np.ndarray
    faces: np.ndarray
    columns: int


@dataclass(frozen=True)
class End:
    """A soft end: `xyz`, `normals` (n, 3), `faces` (m, 3), and `fade` (n,) from 0 at the skin to 1
    where the shape is closed."""

    xyz: np.ndarray
    normals: np.ndarray
    faces: np.ndarray
    fade: np.ndarray


def mesh(limb: Limb, part: str = "", posed: Embeds | None = None, around: int = 96, along: int = 100,
         u0: float = -0.5) -> Mesh:
    """The limb's skin from end to end in `around` by `along` cells, relaxed or as `posed`."""
    surface = Surface(limb, part, posed)
    rows = along + 1
    u = np.linspace(u0, u0 + 1.0, around + 1)
    s = np.linspace(limb.s_min, limb.s_max, rows)
    us = np.column_stack([np.tile(u, rows), np.repeat(s, around + 1)])
    return Mesh(us, surface.xyz(us), surface.normals(us), _grid_faces(rows, around + 1), around + 1)


def ends(limb: Limb, part: str = "", posed: Embeds | None = None, around: int = 96) -> tuple[End, End]:
    """The far and the near end: the far one rounds off shortly, the near one as a shoulder does."""
    surface = Surface(limb, part, posed)
    inward = -np.sign(surface.outer_u) if part.endswith("arm") else 0.0
    far = _dome(surface, limb.s_min, -1.0, 0.95, np.array([0.0, 0.0]), around)
    near = _dome(surface, limb.s_max, 1.0, 0.80, np.array([inward * 14.0, 0.0]), around)
    return far, near


def _dome(surface: Surface, s: float, up: float, height: float, drift: np.ndarray, around: int) -> End:
    """Rings that close over an end. `height` is in shares of the mean radius, `drift` moves the
    closing point sideways, mm. The first rings go on in the skin's own direction."""
    limb = surface.limb
    u = np.linspace(-0.5, 0.5, around + 1)
    rim = surface.xyz(np.column_stack([u, np.full(len(u), s)]))
    middle, inside = surface.centre(np.array([s, s - up * 4.0]))
    axis = (middle - inside) / np.linalg.norm(middle - inside)
    radius = float(limb.girth(s)) / (2 * np.pi)
    h = height * radius
    grow = up * float(limb.slope(s - up * 1e-6)) / (2 * np.pi)
    a = np.linspace(0, np.pi / 2, 15)
    rings = []
    for t in a:
        size = np.cos(t) + grow * h / radius * np.sin(t) * np.cos(t) ** 4
        shift = axis * h * np.sin(t)
        shift[:2] += drift * (1 - np.cos(t)) ** 1.5
        rings.append(middle + (rim - middle) * size + shift)
    xyz = np.concatenate(rings)
    faces = _grid_faces(len(a), around + 1)
    if up < 0:
        faces = faces[:, ::-1]
    normals = _smooth(xyz, faces, around + 1)
    normals[: around + 1] = surface.normals(np.column_stack([u, np.full(len(u), s)]))
    return End(xyz, normals, faces, np.repeat(np.sin(a), around + 1))


def _grid_faces(rows: int, columns: int) -> np.ndarray:
    """Two triangles for each cell, counter-clockwise where columns grow to the right and rows up."""
    a = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    return np.concatenate([np.column_stack([a, a + 1, a + columns + 1]),
                           np.column_stack([a, a + columns + 1, a + columns])])


def _smooth(xyz: np.ndarray, faces: np.ndarray, columns: int) -> np.ndarray:
    """Vertex normals weighted by area, the two sides of the grid's seam alike."""
    p, q, r = (xyz[faces[:, i]] for i in range(3))
    flat = np.cross(q - p, r - p)
    out = np.zeros_like(xyz)
    for i in range(3):
        np.add.at(out, faces[:, i], flat)
    out[::columns] += out[columns - 1::columns]
    out[columns - 1::columns] = out[::columns]
    out[-columns:] = out[-columns:].sum(axis=0)
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-12)
