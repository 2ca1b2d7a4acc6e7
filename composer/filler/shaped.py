"""What the artist pulled of a filler (`composer.plan.shape`), made ground: skin to fill, flow, ends.

A kind knows nothing of grips. A pulled edge gives other open skin, a pulled line another flow and the line itself
(`Ground.spine`), tied ends two ports (`Ground.ends`). An end that is tied to a piece lies where the piece lies now.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.patch import Patch, lay_patch
from composer.filler.fabric_plan import MOST_MM, MOST_TURN
from composer.filler.filigree_curves import even
from composer.filler.filigree_room import room_of
from composer.filler.ground import Ground, Port
from composer.filler.open_skin import open_skin
from composer.plan.scene import Laid, Scene, matrix
from composer.plan.shape import Hold, Place, Shape

if TYPE_CHECKING:
    from composer.compose.gaps import Gap, Survey
    from composer.filler.lay_ground import Site

PATH_MM = 14.0
"""Skin to either side of a pulled path that may be drawn on."""
HELD_MM = 6.0
"""An end let go within so much of a piece is tied to it."""
SAY, REACH_MM = 6.0, 40.0
"""Say of a pulled line in the flow on the line itself, against the rest at 1, and how far it reaches."""
STEP_MM = 2.0
LEAD_MM, CLEAR_MM = 7.0, 3.4
"""A path runs straight out of a piece so far, and keeps so far off the edges of the open skin."""
SLANT_DEG = 50.0
"""No end comes out of a piece more aslant than this."""


def smooth(points: np.ndarray, step_mm: float = STEP_MM) -> np.ndarray:
    """The line through grips (n, 2) mm, (m, 2) `step_mm` apart: a natural cubic spline over the lengths of its
    chords, so that it has no kink; the page draws the same (`web/static/js/handles.js`)."""
    points = np.asarray(points, float)
    keep = np.concatenate([[True], np.hypot(*np.diff(points, axis=0).T) > 1e-6]) if len(points) > 1 else [True]
    points = points[np.asarray(keep)]
    if len(points) < 2:
        return points
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    n = max(8, int(np.ceil(at[-1] / step_mm)) + 1)
    if len(points) == 2:
        return points[0] + (points[1] - points[0]) * np.linspace(0, 1, n)[:, None]
    return CubicSpline(at, points, bc_type="natural")(np.linspace(0, at[-1], n))


def now(scene: Scene, shape: Shape) -> Shape:
    """The shape with its tied ends where their pieces lie now."""
    return shape.moved(lambda hold: hold_place(scene, hold))


def hold_place(scene: Scene, hold: Hold) -> Place | None:
    """Where on skin (u, s) an end is tied; None when the piece is no longer there, or only reaches in from the next
    part."""
    laid = next((x for x in scene.laid if x.piece.id == hold.on and x.home is None), None)
    if laid is None:
        return None
    (u, s), = laid.patch.to_skin((matrix(laid.piece) @ (hold.x, hold.y, 1.0))[None])
    return float(u), float(s)


def tied(scene: Scene, u: float, s_mm: float) -> Hold | None:
    """The main piece that an end let go at this place is tied to, at the nearest place of its outline; None on open
    skin."""
    best: tuple[float, Laid, np.ndarray] | None = None
    for laid in scene.laid:
        if laid.piece.is_filler or laid.home is not None:
            continue
        at = Point(laid.patch.to_flat(laid.patch.near(np.array([[u, s_mm]])))[0])
        outline = laid.flat.outline
        far = 0.0 if shapely.contains(outline, at) else float(shapely.distance(outline, at))
        if far <= HELD_MM and (best is None or far < best[0]):
            on = np.asarray(shapely.shortest_line(outline.boundary, at).coords[0])
            best = far, laid, on
    if best is None:
        return None
    m = matrix(best[1].piece)
    x, y = np.linalg.solve(m[:, :2], best[2] - m[:, 2])
    return Hold(best[1].piece.id, float(x), float(y))


def pulled_gaps(survey: Survey, shape: Shape, usual: Callable[[], list[Gap]], path: bool) -> list[Gap]:
    """The open skin that a pulled filler fills: that within its edge, else the `usual`; of a `path` also what lies
    along it. Raises ValueError with the sentence to show when none is left."""
    if shape.edge:
        ring = np.array(shape.edge)
        gaps = _open(survey, ring, lambda patch: _filled(patch.to_flat(ring)), 1.0)
        if not gaps:
            raise ValueError("Within this edge there is no open skin; pull it out over skin that no piece covers.")
    elif path and len(shape.spine) > 1:
        try:
            gaps = usual()
        except ValueError:   # the gap is gone; the path alone says where
            gaps = []
    else:
        return usual()
    if path and len(shape.spine) > 1:
        line = np.array(shape.spine)
        gaps = gaps + _open(survey, line, lambda p: LineString(smooth(p.to_flat(line))).buffer(PATH_MM), PATH_MM)
        if not gaps:
            raise ValueError("Along this line there is no open skin; pull it out between the pieces.")
    return gaps


def _open(survey: Survey, at: np.ndarray, area: Callable[[Patch], BaseGeometry], pad_mm: float) -> list[Gap]:
    limb = survey.scene.limb
    (u0, s0), (u1, s1) = at.min(axis=0), at.max(axis=0)
    if (limb.closed and u1 - u0 > MOST_TURN) or s1 - s0 > MOST_MM:
        raise ValueError(f"That is too wide for one drawing: {MOST_MM:.0f} mm along the limb and {MOST_TURN:.0%} of "
                         "the way round it at most. Pull it less far.")
    half = float(s1 - s0) / 2 + pad_mm
    wide = float(np.hypot((u1 - u0) * limb.girth((s0 + s1) / 2), s1 - s0)) / 2 + pad_mm
    patch = lay_patch(limb, float(u0 + u1) / 2, float(s0 + s1) / 2, half, half, wide)
    return open_skin(survey, patch, area(patch), (float(u0), float(u1)), (float(s0), float(s1)), pad_mm + 8.0)


def _filled(ring: np.ndarray) -> BaseGeometry:
    area = Polygon(ring)
    return area if area.is_valid else shapely.make_valid(area)


@dataclass(frozen=True)
class Along:
    """A flow that runs along a line (points of the chart, mm) near it, and as before far off."""

    flow: Callable[[np.ndarray], np.ndarray]
    line: tuple[Place, ...]

    @cached_property
    def _ways(self) -> tuple[cKDTree, np.ndarray]:
        at = np.array(self.line)
        d = np.gradient(at, axis=0)
        return cKDTree(at), np.arctan2(d[:, 1], d[:, 0])

    def __call__(self, xy: np.ndarray) -> np.ndarray:
        tree, way = self._ways
        far, i = tree.query(np.asarray(xy, float))
        a, b, w = self.flow(xy), way[i], SAY * np.exp(-0.5 * (far / REACH_MM) ** 2)
        return 0.5 * np.arctan2(np.sin(2 * a) + w * np.sin(2 * b), np.cos(2 * a) + w * np.cos(2 * b))


def led(site: Site, shape: Shape, handles: tuple[str, ...]) -> Site:
    """The site with the line and the ends that were pulled, as far as its kind has such handles."""
    wanted = {"path", "stream"} & set(handles) if len(shape.spine) > 1 else {"centre"} & set(handles)
    if not shape.spine or not wanted:
        return site
    patch, ground = site.patch, site.ground
    skin = np.array(shape.spine)
    if ground.place is not None:   # on a limb a turn further is the same place
        skin[:, 0] -= np.round(skin[:, 0].mean() - patch.u0)
    line = smooth(patch.to_flat(skin))
    if "path" in handles:
        ends = (_end(ground, line, shape.holds[0]), _end(ground, line[::-1], shape.holds[1]))
        line = eased(ground, line, ends)
        ground = replace(ground, ends=ends)
    points = tuple((round(float(x), 3), round(float(y), 3)) for x, y in line)
    ground = replace(ground, spine=points)
    if len(points) > 1:
        ground = replace(ground, flow=Along(ground.flow, points))
    return replace(site, ground=ground)


def eased(ground: Ground, line: np.ndarray, ends: tuple[Port, Port]) -> np.ndarray:
    """A pulled path (n, 2) mm moved off the edges of the open skin that it comes too near to, and led straight out
    of the pieces that it is tied to; a millimetre or two as a rule, so that there is room to draw it."""
    room = room_of(ground)
    z = np.array(line) @ (1, 1j)
    z = even(z, max(12, int(np.abs(np.diff(z)).sum()) + 1))
    run = np.arange(len(z)) * float(np.abs(np.diff(z)).mean())
    loose = np.ones(len(z))
    for back, port in enumerate(ends):
        s = run if not back else run[-1] - run
        if port.owner:
            out = complex(port.x, port.y) + np.exp(1j * np.radians(port.out_deg)) * s
            share = np.clip(1.5 - s / LEAD_MM, 0.0, 1.0)
            z, loose = z + share * (out - z), loose * (1.0 - share)
    for _ in range(24):
        wall = room.look_wall(z)
        if (wall > CLEAR_MM - 0.3)[loose > 0.9].all():
            break
        e = 0.9
        grad = (room.look_wall(z + e) - room.look_wall(z - e)
                + 1j * (room.look_wall(z + 1j * e) - room.look_wall(z - 1j * e))) / (2 * e)
        by = np.clip(CLEAR_MM - wall, 0.0, 1.2) * grad / np.maximum(np.abs(grad), 0.4) * loose
        z = z + gaussian_filter1d(by.real, 2.5, mode="nearest") + 1j * gaussian_filter1d(by.imag, 2.5, mode="nearest")
    soft = gaussian_filter1d(z.real, 2.0, mode="nearest") + 1j * gaussian_filter1d(z.imag, 2.0, mode="nearest")
    soft[[0, -1]] = z[[0, -1]]
    return np.column_stack([soft.real, soft.imag])


def _end(ground: Ground, line: np.ndarray, hold: Hold | None) -> Port:
    """The end at which a line (n, 2) begins: on the outline of its piece, square to it rather than aslant."""
    at, on = line[0], line[min(4, len(line) - 1)]
    ahead = float(np.arctan2(*(on - at)[::-1]))
    if hold is None or ground.front.is_empty:
        return Port(round(float(at[0]), 3), round(float(at[1]), 3), round(np.degrees(ahead), 2), "")
    at = np.asarray(shapely.shortest_line(ground.front.boundary, Point(at)).coords[0])
    out, most = _outward(ground.front, at), np.radians(SLANT_DEG)
    off = float(np.clip((ahead - out + np.pi) % (2 * np.pi) - np.pi, -most, most))
    return Port(round(float(at[0]), 3), round(float(at[1]), 3), round(np.degrees(out + off), 2), hold.on)


def _outward(front: BaseGeometry, at: np.ndarray, far_mm: float = 3.0) -> float:
    """Direction (radians) that leads out of what lies in front at a place of its outline."""
    turns = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    spots = at + far_mm * np.column_stack([np.cos(turns), np.sin(turns)])
    free = ~shapely.contains_xy(front, spots[:, 0], spots[:, 1])
    z = (np.exp(1j * turns) * free).sum()
    return float(np.angle(z)) if abs(z) > 1e-6 else 0.0
