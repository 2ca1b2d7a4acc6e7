"""Skin of both parts round a seam, in the paper that hangs over it: what there is, what was pulled out of it, what lies
there.

Places are (u, s) of the part where the paper hangs, run on beyond its edge as the paper runs on, so that a line or an
edge that was pulled over the seam is one row of places.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.kept_skin import OpenLimb
from composer.body.panel import Panel
from composer.body.patch import Patch
from composer.compose.over_seam import REACH_MM, Joined, SeamGap, Stretch, laid_in_paper, middle_of, sides_of
from composer.filler.open_skin import LEAST_MM2
from composer.filler.shaped import PATH_MM, smooth
from composer.plan.scene import Laid, Scene
from composer.plan.shape import Place, Shape

FAR_MM, ALONG_MM = 60.0, 15.0
"""So far to either side of a seam, and beyond the ends of the stretch for which its paper is right, ground can be
pulled."""


def skin_round(joined: Joined, s: Stretch) -> BaseGeometry:
    """Skin of both parts round the stretch, in its paper."""
    near = shapely.buffer(LineString(s.line), 110.0)
    here, far = joined.surveys[s.home].scene.limb, joined.surveys[s.carried.part].scene.limb
    rows = [_flat(here, s.patch.to_flat, s.at), _flat(far, s.from_other, (s.carried.patch.u0, s.carried.patch.s0_mm))]
    crack = shapely.make_valid(Polygon(np.concatenate([s.line, s.other_line[::-1]])))
    seam = shapely.buffer(shapely.union(crack, LineString(s.line)), 1.6)
    return shapely.intersection(shapely.union_all([*rows, seam]), near)


def _flat(limb: Any, to_paper: Callable[[np.ndarray], np.ndarray], at: tuple[float, float]) -> BaseGeometry:
    """A part's skin within 120 mm of a place, in paper."""
    if isinstance(limb, Panel):
        disc = shapely.Point(*limb.to_mm(np.array([at]))[0]).buffer(120.0)
        skin = shapely.transform(shapely.segmentize(shapely.intersection(limb.form, disc), 4.0), limb.from_mm)
    else:
        half = min(0.4, 120.0 / float(limb.girth(at[1])))
        u = np.linspace(at[0] - half, at[0] + half, 41)
        top = limb.near_at(u) if isinstance(limb, OpenLimb) else np.full(len(u), limb.s_max)
        low = np.maximum(limb.far_at(u) if isinstance(limb, OpenLimb) else limb.s_min, np.full(len(u), at[1] - 120.0))
        skin = shapely.make_valid(shapely.segmentize(
            Polygon(np.concatenate([np.column_stack([u, low]), np.column_stack([u, top])[::-1]])), 4.0))
    return shapely.make_valid(shapely.transform(skin, to_paper))


def pulled_free(joined: Joined, gap: SeamGap, shape: Shape, path: bool) -> BaseGeometry:
    """The open skin that a pulled filler over a seam fills, in its paper: that within its edge, else that of the gap;
    of a `path` also what lies along it. Raises ValueError with the sentence to show when none is left."""
    s = gap.stretch
    rows: list[BaseGeometry] = [] if shape.edge else [gap.free]
    if shape.edge:
        rows.append(_open(joined, gap, shapely.make_valid(Polygon(s.patch.to_flat(np.array(shape.edge))))))
        if rows[0].is_empty:
            raise ValueError("Within this edge there is no open skin that paper over this seam could lie on; pull it "
                             f"out over bare skin, up to {FAR_MM:.0f} mm to either side of the seam.")
    if path and len(shape.spine) > 1:
        line = LineString(smooth(s.patch.to_flat(np.array(shape.spine))))
        rows.append(_open(joined, gap, shapely.buffer(line, PATH_MM)))
    return shapely.union_all(rows)


def _open(joined: Joined, gap: SeamGap, area: BaseGeometry) -> BaseGeometry:
    """What of an area in the paper is skin that no piece covers, and near enough to the seam."""
    s, home = gap.stretch, joined.surveys[gap.stretch.home]
    line = middle_of(s)[1:-1]
    ahead = [end + (end - back) / np.hypot(*(end - back)) * ALONG_MM for end, back in (line[[0, 3]], line[[-1, -4]])]
    window = shapely.buffer(LineString([ahead[0], *line, ahead[1]]), FAR_MM, cap_style="flat")
    open_ = shapely.intersection(shapely.intersection(area, window), skin_round(joined, s))
    open_ = shapely.difference(open_, shapely.buffer(gap.front, home.skin_break_mm))
    parts = [g for g in shapely.get_parts(open_) if g.geom_type == "Polygon" and g.area >= LEAST_MM2]
    return shapely.union_all(parts) if parts else Polygon()


@dataclass(frozen=True, eq=False)
class OverPatch:
    """A chart of the other part that takes and gives places of the part where the paper hangs."""

    own: Patch
    stretch: Stretch

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """As a patch does, by way of the paper."""
        return self.stretch.patch.to_skin(self.stretch.from_other(self._beside(self.own.to_skin(xy))))

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """As a patch does, by way of the paper."""
        there = self.stretch.carried.to_skin(self.stretch.patch.to_flat(us))
        return self.own.to_flat(self.own.near(there))

    def near(self, us: np.ndarray) -> np.ndarray:
        """The same points: the part where the paper hangs has no turns to take off."""
        return np.array(us, float)

    def _beside(self, us: np.ndarray) -> np.ndarray:
        return self.stretch.carried.patch.near(us)


def seam_scene(joined: Joined, s: Stretch) -> Scene:
    """The scene of the part where the paper hangs, with the main pieces of the other part near the seam as the paper
    has them: what ends of a pulled line can be tied to."""
    here, there = joined.surveys[s.home].scene, joined.surveys[s.carried.part].scene
    reach = shapely.buffer(LineString(s.line), REACH_MM + FAR_MM)
    over: list[Laid] = []
    for x in there.laid:
        shape = None if x.piece.is_filler or x.home is not None else laid_in_paper(s, x, True)
        if shape is not None and shapely.intersects(shape, reach):
            over.append(replace(x, patch=cast(Patch, OverPatch(x.patch, s))))
    return replace(here, laid=(*(x for x in here.laid if x.home is None), *over))


def by_part(s: Stretch, places: tuple[Place, ...]) -> list[tuple[str, float, float]]:
    """Places as they lie on the part under them: (part, u, s)."""
    if not places:
        return []
    xy = s.patch.to_flat(np.array(places))
    mine = shapely.contains_xy(sides_of(s)[0], xy[:, 0], xy[:, 1])
    there = s.carried.to_skin(xy)
    return [(s.home, *place) if at_home else (s.carried.part, float(u), float(v))
            for place, at_home, (u, v) in zip(places, mine.tolist(), there, strict=True)]


def at_home(s: Stretch, part: str, u: float, s_mm: float) -> Place:
    """A place of either part as one of the part where the paper hangs."""
    if part == s.home:
        return u, s_mm
    (out,) = s.patch.to_skin(s.from_other(s.carried.patch.near(np.array([[u, s_mm]]))))
    return float(out[0]), float(out[1])
