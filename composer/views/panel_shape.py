"""Chest or back to be looked at: triangles up to its edges, and where the parts it meets stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from composer.body.joins import join_parts
from composer.body.panel import Panel
from composer.body.surface import Surface as Skin
from composer.plan.scene import Laid
from composer.views.surface import Surface

VIEWS = {"front": 0.0, "outer": 0.25, "inner": -0.25}
"""Standpoints from which a panel shows: straight at it and from both sides; u as for a limb, in turns round it."""


@dataclass(frozen=True)
class PanelMesh:
    """A grid over the panel's sheet, row by row from below. `xyz`, `normals` (n, 3) at the grid's own places;
    `rim_xyz`, `rim_normals` and `uv` (n, 2) (0..1 over the grid) the same with places just outside moved onto the
    edges, `us` (n, 2), so that the cells to draw, `inside` (m,), end there."""

    columns: int
    rows: int
    u0: float
    turns: float
    xyz: np.ndarray
    normals: np.ndarray
    rim_xyz: np.ndarray
    rim_normals: np.ndarray
    uv: np.ndarray
    inside: np.ndarray
    us: np.ndarray


def panel_mesh(panel: Panel, columns: int, rows: int) -> PanelMesh:
    """The panel in `columns` by `rows` cells over its sheet's rectangle."""
    half = float(np.abs(panel.outline[:, 0]).max())
    u, s = np.linspace(-half, half, columns + 1), np.linspace(panel.s_min, panel.s_max, rows + 1)
    us = np.column_stack([np.tile(u, rows + 1), np.repeat(s, columns + 1)])
    inside = panel.inside(us)
    rim = panel.form.exterior
    near = shapely.get_coordinates(shapely.line_interpolate_point(
        rim, shapely.line_locate_point(rim, shapely.points(panel.to_mm(us)))))
    held = np.where(inside[:, None], us, panel.from_mm(near))
    cells = inside.reshape(rows + 1, columns + 1)
    drawn = cells[:-1, :-1] | cells[1:, :-1] | cells[:-1, 1:] | cells[1:, 1:]
    surface = Surface(panel, "")
    uv = (held - (-half, panel.s_min)) / (2 * half, panel.s_max - panel.s_min)
    return PanelMesh(columns + 1, rows + 1, -half, 2 * half, panel.embed(us), surface.normals(us), panel.embed(held),
                     surface.normals(held), uv, drawn.ravel(), held)


def shares_seen(panel: Panel, laid: Laid) -> dict[str, float]:
    """Share (0..1) of a piece's skin that faces each of VIEWS from far off, by the skin's normals at places 4 mm apart
    (what hides behind another bit of the trunk is not looked for)."""
    form = laid.flat.outline
    x0, y0, x1, y1 = form.bounds
    xy = np.stack(np.meshgrid(np.arange(x0 + 2, x1, 4.0), np.arange(y0 + 2, y1, 4.0)), axis=-1).reshape(-1, 2)
    xy = xy[shapely.contains_xy(form, xy[:, 0], xy[:, 1])]
    us = laid.patch.to_skin(xy) if len(xy) else np.zeros((0, 2))
    us = us[panel.inside(us)] if len(us) else us
    if not len(us):
        return dict.fromkeys(VIEWS, 0.0)
    n = Surface(panel, "").normals(us)
    turn = {name: 2 * np.pi * u for name, u in VIEWS.items()}
    return {name: float((n @ np.array([np.sin(a), -np.cos(a), 0.0]) > 0).mean()) for name, a in turn.items()}


@dataclass(frozen=True)
class Beside:
    """Where another part stands beside a panel: turned half round or not, then moved by `shift` (3,) mm from where
    it is by itself."""

    part: str
    turned: bool
    shift: np.ndarray


def parts_beside(part: str, surfaces: Mapping[str, Skin]) -> tuple[Beside, ...]:
    """The parts that the panel `part` meets, each put where the middle of its edge lies on the middle of the panel's
    (of an armhole its upper half; edges of two parts never meet everywhere)."""
    spots: dict[str, list[np.ndarray]] = {}
    for a, b, data in join_parts(surfaces).edges(part, data=True) if part in surfaces else ():
        other = b if a == part else a
        mine, theirs = data["join"].sides(part)
        upper = slice(0, len(mine.us) // 2) if other.endswith("arm") else slice(None)
        way = _way(part, other)
        there = Surface(theirs.surface, other).xyz(theirs.us) * way
        spots.setdefault(other, []).append((mine.surface.embed(mine.us) - there)[upper].mean(axis=0))
    return tuple(Beside(name, bool(_way(part, name)[0] < 0), np.mean(rows, axis=0)) for name, rows in spots.items())


def _way(part: str, other: str) -> np.ndarray:
    """Every part looks towards -y by itself: the other panel stands back to back, and arms go with the body."""
    turned = part == "upper_back" if other.endswith("arm") else True
    return np.array([-1.0, -1.0, 1.0]) if turned else np.ones(3)
