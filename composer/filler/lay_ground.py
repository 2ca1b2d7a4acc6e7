"""From gaps on skin to the flat ground of one filler: its chart, open skin, what lies in front, flow."""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import geometry_to_rings
from composer.body.kept_skin import OpenLimb
from composer.body.panel import Panel
from composer.body.patch import Patch, lay_patch
from composer.body.surface import Surface
from composer.compose.rim import band as edge_band
from composer.filler.beside import marks
from composer.filler.clip import silhouettes
from composer.filler.ground import Ground, Place, Port
from composer.filler.one_turn import one_turn, settled
from composer.kept import Kept
from composer.plan.model import Settings
from composer.plan.scene import Laid, Scene

if TYPE_CHECKING:
    from composer.compose.flow import Flow
    from composer.compose.gaps import Gap, Survey

RIM_MM = 1.5
AHEAD_MM = 45.0
"""How far about its gaps a ground knows what lies in front."""
BRIDGE_MM = 34.0
"""Half the width of a piece that background of one filler runs on behind."""
PORT_MM, SURELY = 8.0, 0.97
"""A tie meets a neighbour within so much of the open skin. What lies nearer than that share of it lies within a growth
of the skin by it, whose chords fall short by a fiftieth."""
SITES = 32
"""So many sites that came from another process are kept."""


@dataclass(frozen=True)
class Site:
    """Where a filler goes: the anchor on skin (u turns, s mm), its chart and the flat ground. `beside`: how each main
    piece lies that bounds it (see `composer.filler.beside`). `tones`: a few places on its open skin with the tone there
    (see `composer.filler.shaded`)."""

    u: float
    s_mm: float
    patch: Patch
    ground: Ground
    beside: str = ""
    tones: tuple[float, ...] = ()

    def __reduce__(self) -> tuple[Callable[..., Site], tuple[bytes, bytes]]:
        held = pickle.dumps(tuple(getattr(self, f.name) for f in fields(self)), 5)
        return _received, (hashlib.sha256(held).digest(), held)


_came: Kept[Site] = Kept(SITES, lambda _: 1)


def _received(name: bytes, held: bytes) -> Site:
    """A site in another process: the same object as often as it is sent, so that what was worked out for its ground is
    known when it is drawn on again."""
    return _came.once(name, lambda: Site(*pickle.loads(held)))


def gathered(gaps: Sequence[Gap]) -> list[float]:
    """Whole turns to add to each gap's u so that the gaps lie next to each other: each joins the
    ones before it where it is nearest (the first stays)."""
    turns, middle, weight = [0.0], gaps[0].centre[0], gaps[0].area_mm2
    for g in gaps[1:]:
        t = float(np.round(middle - g.centre[0]))
        turns.append(t)
        middle = (middle * weight + (g.centre[0] + t) * g.area_mm2) / (weight + g.area_mm2)
        weight += g.area_mm2
    return turns


def site(scene: Scene, survey: Survey, gaps: Sequence[Gap], settings: Settings, over: Sequence[Laid] = (),
         ports: bool = True) -> Site:
    """The ground for one filler over one or several gaps that lie near each other.

    `over`: fillers that stay in front of the new one (locked, or laid before it). `ports`: whether
    to look for the places where ties meet neighbours. Raises ValueError when no gap is given.
    """
    if not gaps:
        raise ValueError("There is no gap to fill here; choose a gap or a tie on the sheet.")
    turns = gathered(gaps)
    rings = [[r + np.array([t, 0.0]) for r in g.rings] for g, t in zip(gaps, turns, strict=True)]
    us = np.concatenate([r[0] for r in rings])
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    u, s = round(float(u0 + u1) / 2, 4), round(float(s0 + s1) / 2, 1)
    patch = lay_patch(scene.limb, u, s, s - s0, s1 - s, float(np.hypot((u1 - u0) * scene.limb.girth(s), s1 - s0)) / 2)
    free = shapely.union_all([_flat(patch, r) for r in rings])
    if scene.limb.closed and u1 - u0 > 1.0:
        free = one_turn(free, patch)
        own = settled(scene.limb, patch, list(geometry_to_rings(free)))
        free, patch = shapely.transform(free, lambda p, old=patch: own.to_flat(old.to_skin(p))), own
    mains = [x for x in scene.laid if not x.piece.is_filler]
    region, edge = _region(scene.limb, patch, free, len(gaps) > 1)
    x0, y0, x1, y1 = free.bounds
    ahead = (x0 - AHEAD_MM, y0 - AHEAD_MM, x1 + AHEAD_MM, y1 + AHEAD_MM)
    about = shapely.box(*ahead)
    shapes = np.array([*silhouettes(scene.limb, patch, mains, (u0, u1), (s0, s1), 60.0), Polygon()], dtype=object)
    cut = ~shapely.covered_by(shapes, about)
    shapes[cut] = shapely.intersection(shapes[cut], about)
    front = shapely.union_all(shapes)
    if over:
        hide = shapely.union_all(silhouettes(scene.limb, patch, over, (u0, u1), (s0, s1), 60.0) or [Polygon()])
        front, free = shapely.union(front, hide), shapely.difference(free, shapely.buffer(hide, settings.skin_break_mm))
    near = front_parts(scene, patch, gaps, mains, (u0, u1), (s0, s1)) if ports else []
    ground = Ground(free, region, front, settings.skin_break_mm, settings.line_gap_mm, ChartFlow(patch, survey.flow),
                    ports_of(near, free), edge, place=Place(scene.limb, patch) if scene.limb.closed else None)
    return Site(u, s, patch, ground, marks(scene, {n for g in gaps for n in g.neighbours}))


def _flat(patch: Patch, rings: Sequence[np.ndarray]) -> BaseGeometry:
    flat = [patch.to_flat(r) for r in rings]
    poly = Polygon(flat[0], flat[1:])
    return poly if poly.is_valid else shapely.make_valid(poly)


def _region(limb: Surface, patch: Patch, free: BaseGeometry, bridge: bool) -> tuple[BaseGeometry, BaseGeometry]:
    """All skin that the background may run over, and the cuffs that bound it, in the chart; on chest and back
    the edges bound it all round."""
    free = shapely.simplify(free, 0.5)
    wide = shapely.buffer(free, BRIDGE_MM if bridge else 50.0, quad_segs=3)
    if bridge:
        shut = shapely.buffer(wide, -BRIDGE_MM * 0.3, quad_segs=3)
        wide = shapely.union(shut, shapely.buffer(free, 50.0, quad_segs=3))
    if isinstance(limb, Panel):
        beyond, rim = (shapely.make_valid(shapely.transform(edge_band(limb, mm), patch.to_flat))
                       for mm in (60.0, RIM_MM))
        return shapely.difference(wide, beyond), shapely.intersection(rim, wide)
    ends = (limb.s_min, limb.s_max)
    skin = patch.to_skin(np.asarray(wide.envelope.exterior.coords))
    u = np.linspace(skin[:, 0].min() - 0.05, skin[:, 0].max() + 0.05, 48)

    def band(a: float, b: float) -> BaseGeometry:
        low, high = np.column_stack([u, np.full(48, a)]), np.column_stack([u[::-1], np.full(48, b)])
        return shapely.make_valid(Polygon(patch.to_flat(np.vstack([low, high]))))

    region = wide
    cuffs = []
    for a, b in ((ends[0] - 60, ends[0]), (ends[1], ends[1] + 60)):
        beyond = band(a, b)
        if isinstance(limb, OpenLimb) and (line := limb.near if b > ends[1] else limb.far):
            off, strip = (shapely.make_valid(shapely.transform(
                (limb.above if b > ends[1] else limb.below)(float(u[0]), float(u[-1]), mm), patch.to_flat))
                for mm in (0.0, 1.5))
            if shapely.intersects(off, wide):
                region = shapely.difference(region, off)
                if not (limb.runs_on and line is limb.near):      # there skin goes on beyond it
                    cuffs.append(strip)
            continue
        if shapely.intersects(beyond, wide):
            region = shapely.difference(region, beyond)
            cuffs.append(band(a + 58.5, b) if b == ends[0] else band(a, b - 58.5))
    return region, shapely.union_all(cuffs) if cuffs else Polygon()


@dataclass(frozen=True)
class ChartFlow:
    """The flow in a chart: the direction on skin, turned as the chart is turned there (radians)."""

    patch: Patch
    flow: Flow

    def __call__(self, xy: np.ndarray) -> np.ndarray:
        us = self.patch.to_skin(np.asarray(xy, float))
        return self.flow.angle(us) - self.patch.b * (us[:, 0] - self.patch.u0)


def front_parts(scene: Scene, patch: Patch, gaps: Sequence[Gap], mains: Sequence[Laid], u: tuple[float, float],
                s: tuple[float, float]) -> list[tuple[str, BaseGeometry]]:
    """Outlines of the gaps' neighbours in the chart, by id."""
    named = sorted({n for g in gaps for n in g.neighbours})
    out = []
    for name in named:
        for shape in silhouettes(scene.limb, patch, [x for x in mains if x.piece.id == name], u, s):
            out.append((name, shape))
    return out


def ports_of(parts: Sequence[tuple[str, BaseGeometry]], free: BaseGeometry) -> tuple[Port, ...]:
    """One place on each neighbour's outline where a tie meets it: the point that looks into the
    widest part of the open skin, for neighbours that come within PORT_MM of it."""
    shapely.prepare(free)
    near = [(name, shape) for name, shape in parts
            if not shape.is_empty and shapely.dwithin(free, shape, PORT_MM)] if not free.is_empty else []
    if not near:
        return ()
    biggest = max(shapely.get_parts(free), key=lambda g: g.area)
    heart = Point(shapely.maximum_inscribed_circle(biggest, tolerance=2.0).coords[0])
    about: BaseGeometry | None = None
    out = []
    for name, shape in near:
        a = shapely.shortest_line(shape.boundary, heart)
        if not shapely.dwithin(free, shapely.get_point(a, 0), SURELY * PORT_MM):    # dear, and hardly ever needed
            about = about or shapely.buffer(free, PORT_MM, quad_segs=4)
            rim = shapely.intersection(shape.boundary, about)
            if rim.is_empty:
                continue
            a = shapely.shortest_line(rim, heart)
        (x, y), (x1, y1) = np.asarray(a.coords)
        deg = float(np.degrees(np.arctan2(y1 - y, x1 - x)))
        out.append(Port(round(float(x), 3), round(float(y), 3), round(deg, 2), name))
    return tuple(out)


def mean_axis(survey: Survey) -> float:
    """Mean direction of the flow over the gaps, radians in (-pi/2, pi/2], weighted by their area."""
    if not survey.gaps:
        return np.pi / 2
    a = np.radians([g.flow_deg for g in survey.gaps])
    w = np.array([g.area_mm2 for g in survey.gaps])
    return 0.5 * float(np.arctan2((w * np.sin(2 * a)).sum(), (w * np.cos(2 * a)).sum()))


CALM_DEG, KEEP = 34.0, 0.7


@dataclass(frozen=True)
class Calm:
    """A flow laid lower: turned by one angle everywhere, its own bends kept by KEEP."""

    flow: Callable[[np.ndarray], np.ndarray]
    axis: float

    def __call__(self, xy: np.ndarray) -> np.ndarray:
        off = self.flow(xy) - self.axis
        level = float(np.clip(self.axis, -np.radians(CALM_DEG), np.radians(CALM_DEG)))
        return level + KEEP * (off - np.round(off / np.pi) * np.pi)


def calmed(ground: Ground, axis: float) -> Ground:
    """The ground with its flow laid lower, for what drifts with the air: on a hanging arm banks of
    cloud climb round the limb instead of standing on end. `axis` is the limb's mean direction
    (radians, see `mean_axis`), so that neighbouring fillers agree."""
    return replace(ground, flow=Calm(ground.flow, axis))
