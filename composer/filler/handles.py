"""What can be pulled of a filler on the sheet, and where its grips lie; what comes of it is a `composer.plan.shape`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.ndimage import gaussian_filter1d
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import resample
from composer.filler.beside import moved_since
from composer.filler.cloud_lay import Field
from composer.filler.fabric_plan import MOST_MM, MOST_TURN
from composer.filler.kinds import every_kind
from composer.filler.lay_ground import Site
from composer.filler.proposals import ground_for
from composer.filler.shaped import hold_place, now, tied
from composer.plan.errors import StepError
from composer.plan.model import Plan, Recipe, Settings
from composer.plan.scene import Laid, Scene, matrix
from composer.plan.shape import Hold, Place, Shape, shape_from, shape_of

if TYPE_CHECKING:
    from composer.compose.gaps import Survey

BRIDGES_MM = (0.5, 4.0, 9.0, 16.0, 26.0, 34.0)
"""Half the widths of pieces that the one edge of several gaps runs over."""
NEAR_MM = 0.6
"""An end within so much of where it is tied was not pulled."""
HALF_MM = 85.0
"""A line that background runs along is offered so far to either side of the ground's middle."""
BY_HAND_MM = 3.0
BETWEEN = 3
"""Every so many places of a line are a grip."""


@dataclass(frozen=True)
class Handles:
    """`kinds`: what can be pulled (see `composer.filler.kinds.HANDLES`). `line`: places of the line, (u, s), one for a
    centre, and which of them are grips; `held`: whether its ends are tied to a piece. `edge`: the outline of the
    ground, (u, s), and which of its places are grips. `note`: a sentence where something can't be pulled, or ''.
    `pulled`: whether something was."""

    kinds: tuple[str, ...] = ()
    line: tuple[Place, ...] = ()
    line_grips: tuple[int, ...] = ()
    held: tuple[bool, bool] = (False, False)
    edge: tuple[Place, ...] = ()
    edge_grips: tuple[int, ...] = ()
    note: str = ""
    pulled: bool = False


def handles_of(laid: Laid, plan: Plan, survey: Survey, settings: Settings) -> Handles:
    """What can be pulled of a filler as it lies. Raises ValueError with a sentence when its ground is gone."""
    def ground(recipe: Recipe, shape: Shape, way: str) -> Site:
        return ground_for(survey.scene, survey, recipe.goal, recipe.kind, settings, shape=shape, way=way)

    return grips_of(laid, plan, survey.scene, ground)


def grips_of(laid: Laid, plan: Plan, scene: Scene, ground: Callable[[Recipe, Shape, str], Site]) -> Handles:
    """The same; `ground` is the site of a recipe with that shape and way."""
    piece, recipe = laid.piece, laid.piece.recipe
    if recipe is None or recipe.fixed or piece.locked or recipe.kind not in every_kind():
        return Handles()
    if piece.flip or (piece.twin_of and piece.linked):
        return Handles(note="It is a mirrored twin; pull the filler that it mirrors, and it follows.")
    way = str(recipe.params.get("way", ""))
    kinds = every_kind()[recipe.kind].handles_of(way)
    shape = now(scene, shape_of(recipe))
    site = ground(recipe, shape, way)
    by = np.zeros(2)
    if shape == Shape() and not moved_since(plan, piece):   # moved by hand: it is pulled from where it lies
        by = np.array([piece.u - site.u, piece.s_mm - site.s_mm])
        by[0] -= np.round(by[0]) if scene.limb.closed else 0.0
        by = by if np.hypot(by[0] * float(scene.limb.girth(piece.s_mm)), by[1]) > BY_HAND_MM else np.zeros(2)
    edge, grips, note = _edge(site, shape, scene.limb.closed) if "edge" in kinds else ((), (), "")
    if not edge:
        kinds = tuple(k for k in kinds if k != "edge")
    line: tuple[Place, ...] = shape.spine
    held = (shape.holds[0] is not None, shape.holds[1] is not None)
    if not line and "path" in kinds:
        line, ends = _drawn(laid, scene, site)
        held = (ends[0], ends[1])
    elif not line and "stream" in kinds:
        line = _shifted(_skin(site, _stream(site)), by)
    elif not line and "centre" in kinds:
        line = _shifted(_skin(site, _centre(laid, site)), by)
    if piece.turn_deg or piece.scale != 1.0:
        note = "It was turned or sized by hand; pulled, it is drawn anew as its ground wants it."
    marks = tuple(range(0, len(line), BETWEEN)) if len(line) % BETWEEN == 1 else tuple(range(len(line)))
    return Handles(kinds, line, marks, held, edge if shape.edge else _shifted(edge, by), grips, note, shape != Shape())


def pulled(scene: Scene, kept: Shape, what: str, places: Sequence[Sequence[float]], kinds: Sequence[str]) -> Shape:
    """The shape after a pull: `what` is 'line' (with all its places) or 'edge' (the whole ring); places (u, s). Ends of
    a path let go on a main piece are tied to it. Raises StepError with a sentence."""
    if what == "edge" and "edge" in kinds:
        return replace(kept, edge=shape_from({"edge": places}).edge)
    if what != "line" or not {"path", "stream", "centre"} & set(kinds):
        raise StepError("This filler has nothing of that kind to pull; choose it again.")
    spine = list(shape_from({"spine": places}).spine)
    if len(spine) < (1 if "centre" in kinds else 2):
        raise StepError("What was pulled could not be read; pull it again.")
    holds: list[Hold | None] = [None, None]
    if "path" in kinds:
        old = now(scene, kept)
        for k in (0, 1):
            hold = old.holds[k] if old.spine and _near(scene, spine[-k], old.spine[-k]) else tied(scene, *spine[-k])
            at = hold_place(scene, hold) if hold is not None else None
            if at is not None:
                holds[k], spine[-k] = hold, (at[0] + round(spine[-k][0] - at[0]), at[1])
    return replace(kept, spine=tuple(spine), holds=(holds[0], holds[1]))


def _near(scene: Scene, a: Place, b: Place) -> bool:
    du = a[0] - b[0]
    return bool(np.hypot((du - round(du)) * scene.limb.girth(a[1]), a[1] - b[1]) < NEAR_MM)


def _skin(site: Site, xy: np.ndarray) -> tuple[Place, ...]:
    return tuple((float(u), float(s)) for u, s in site.patch.to_skin(xy))


def _shifted(places: tuple[Place, ...], by: np.ndarray) -> tuple[Place, ...]:
    return tuple((u + float(by[0]), s + float(by[1])) for u, s in places) if by.any() else places


def gripped(line: np.ndarray) -> np.ndarray:
    """A line (n, 2) mm as few places at even distances, both its ends among them: every third is a grip, three to
    five of them, the longer the line the more."""
    long = float(np.hypot(*np.diff(line, axis=0).T).sum())
    n = 3 if long < 55 else 4 if long < 95 else 5
    fine = resample(line, max(long / 200, 0.05))
    return fine[np.round(np.linspace(0, len(fine) - 1, BETWEEN * (n - 1) + 1)).astype(int)]


def _stream(site: Site) -> np.ndarray:
    """Grips on the line of the flow through the widest part of the open skin."""
    ground = site.ground
    biggest = max(shapely.get_parts(ground.free), key=lambda g: g.area)
    start = np.array([shapely.maximum_inscribed_circle(biggest, tolerance=1.0).coords[0]])
    field = Field(ground, ground.free)
    back, on = field.trace(start, -1.0, HALF_MM, 45.0)[0], field.trace(start, 1.0, HALF_MM, 45.0)[0]
    line = np.vstack([back[:0:-1], on])
    inside = np.flatnonzero(shapely.contains_xy(shapely.buffer(ground.free, 1.0), line[:, 0], line[:, 1]))
    line = line[inside[0] : inside[-1] + 1] if len(inside) > 4 else line
    trim = len(line) // 12
    return gripped(line[trim : len(line) - trim])


def _drawn(laid: Laid, scene: Scene, site: Site) -> tuple[tuple[Place, ...], list[bool]]:
    """Grips on the line that a path was drawn along, as noted by its kind, from where it comes out of one piece to
    where it goes behind another; else on the flow's line. And whether its ends are tied."""
    notes = laid.flat.notes
    noted = notes.get("path") or notes.get("spine") or next(iter(notes.get("spines", ())), ())
    line = np.array(noted, float).reshape(-1, 2)
    if len(line) < 2:
        return _skin(site, _stream(site)), [False, False]
    line = resample((np.column_stack([line, np.ones(len(line))]) @ matrix(laid.piece).T), 1.0)
    long = len(line)
    sigma = 1.0 if "path" in notes else min(8.0, long / 10)   # bolts and stems swing about the way that is meant
    soft = np.column_stack([gaussian_filter1d(c, sigma, mode="nearest") for c in line.T])
    soft[[0, -1]] = line[[0, -1]]
    skin = laid.patch.to_skin(soft)
    mains = [x for x in scene.laid if not x.piece.is_filler]
    seen = np.ones(len(skin), bool)
    for other in mains:
        at = other.patch.to_flat(other.patch.near(skin))
        seen &= ~shapely.contains_xy(other.flat.outline, at[:, 0], at[:, 1])
    if seen.sum() > 4:   # a tail may come out again beyond a slight piece: the longest stretch is meant
        runs = np.flatnonzero(np.diff(np.concatenate([[0], seen.astype(int), [0]]))).reshape(-1, 2)
        first, last = max(runs, key=lambda r: r[1] - r[0])
        soft = soft[first:last]
    places = [(float(u), float(s)) for u, s in laid.patch.to_skin(gripped(soft))]
    held = []
    for k in (0, -1):
        hold = tied(scene, *places[k])
        at = hold_place(scene, hold) if hold is not None else None
        held.append(at is not None)
        if at is not None:
            places[k] = (at[0] + round(places[k][0] - at[0]), at[1])
    return tuple(places), held


def _centre(laid: Laid, site: Site) -> np.ndarray:
    """Where rays come from, as noted by their kind; else the middle of the ground."""
    noted = laid.flat.notes.get("centre")
    if noted is None:
        c = site.ground.free.centroid
        return np.array([[c.x, c.y]])
    own = matrix(laid.piece) @ (float(noted[0]), float(noted[1]), 1.0)
    return site.patch.to_flat(site.patch.near(laid.patch.to_skin(own[None])))


def _edge(site: Site, shape: Shape, closed: bool) -> tuple[tuple[Place, ...], tuple[int, ...], str]:
    """The outline of the ground with its grips, or a sentence where it has none that could be pulled."""
    if shape.edge:
        flat = site.patch.to_flat(np.array(shape.edge))
        return shape.edge, _spread(flat), ""
    area = one_area(site.ground.free)
    if area is None:
        return (), (), "Its ground lies in gaps far apart, so its edge can't be pulled; paint its ground instead."
    ring = _ring(area)
    skin = _skin(site, ring)
    u, s = np.ptp(np.array(skin), axis=0)
    if (closed and u > MOST_TURN) or s > MOST_MM:
        return (), (), "Its ground is too long for one outline, so its edge can't be pulled; paint its ground instead."
    return skin, _spread(ring), ""


def one_area(free: BaseGeometry) -> Polygon | None:
    """Open skin, and the pieces between its parts, as one area without holes; None where the parts lie too far
    apart."""
    for far in BRIDGES_MM:
        shut = shapely.buffer(shapely.buffer(free, far, quad_segs=4), -far, quad_segs=4)
        parts = [p for p in shapely.get_parts(shut) if p.geom_type == "Polygon" and p.area > 1.0]
        if len(parts) == 1:
            return Polygon(parts[0].exterior)
    return None


def _ring(area: Polygon, most: int = 110) -> np.ndarray:
    """Its outline (n, 2) with no long edges, `most` places or fewer."""
    tolerance = 0.25
    while True:
        rim = shapely.simplify(area.exterior, tolerance)
        ring = np.asarray(shapely.segmentize(rim, max(area.length / 60, 3.0)).coords)[:-1]
        if len(ring) <= most:
            return ring if Polygon(ring).is_valid else np.asarray(area.convex_hull.exterior.coords)[:-1]
        tolerance *= 1.5


def _spread(ring: np.ndarray) -> tuple[int, ...]:
    """Which places of a ring (n, 2) mm are grips: six to ten at even distances along it."""
    step = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    far = np.concatenate([[0.0], np.cumsum(step)[:-1]])
    n = int(np.clip(round(step.sum() / 34.0), 6, 10))
    wanted = (np.arange(n) + 0.5) / n * step.sum()
    return tuple(sorted({int(np.abs(far - w).argmin()) for w in wanted}))

