"""What colours see-through paints make where they lie over each other, and over solid ones.

A place is covered by paints one over the other, each with a colour and how much of what is below it covers; what
they come to is again such a paint (simple alpha compositing, Compositing and Blending Level 1, 5.1, on sRGB values as
SVG 1.1, 11.7.1 has it). A group with an opacity is mixed by itself first, and is then one paint (SVG 1.1, 14.5): shapes
of one group don't darken each other. The outlines of all shapes part the page into faces; each face is mixed once.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import TypeVar

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

Key = TypeVar("Key", bound=Hashable)
GRID_PX = 0.002
"""Outlines are noded on a grid so fine, so that no slivers come of rounding."""
MOST_MEETINGS = 30_000
"""Pairs of shapes: so many take some 5 s and 300 MB."""
_PROBED = 4_000_000


@dataclass(frozen=True)
class Paint:
    """Red, green, blue (0 to 1, each times `cover`), how much it covers, and whether a line of ink is seen in it."""

    rgb: tuple[float, float, float]
    cover: float
    line: bool = False

    def over(self, below: Paint) -> Paint:
        rest = 1 - self.cover
        r, g, b = (v + rest * w for v, w in zip(self.rgb, below.rgb, strict=True))
        return Paint((r, g, b), self.cover + rest * below.cover, self.line or (below.line and rest > 0))

    def thinned(self, share: float) -> Paint:
        r, g, b = (share * v for v in self.rgb)
        return Paint((r, g, b), share * self.cover, self.line)

    def on_white(self) -> np.ndarray:
        """The colour (3,), 0 to 1, that it makes on bare skin, which is white in a drawing."""
        return np.array(self.rgb) + 1 - self.cover


NOTHING = Paint((0.0, 0.0, 0.0), 0.0)


@dataclass(frozen=True)
class Coat:
    """One paint on an area; `groups` the groups with an opacity that it stands in, outermost first, each as its number
    and its share."""

    paint: Paint
    area: BaseGeometry
    groups: tuple[tuple[int, float], ...] = ()

    @property
    def alone(self) -> Paint:
        """What it would be with nothing above or below it."""
        return self.paint.thinned(float(np.prod([share for _, share in self.groups])))

    @property
    def seen_through(self) -> bool:
        return bool(self.groups) or self.paint.cover < 1.0


def seen(stack: Sequence[tuple[Key, BaseGeometry]]) -> tuple[dict[Key, BaseGeometry], BaseGeometry]:
    """What is seen of solid areas (key, area) that lie one over the other, back to front: area by key, and all that
    they cover. By halves, so that thousands of small shapes don't each meet all that lie before them."""
    if len({key for key, _ in stack}) < 2:
        whole = shapely.union_all([g for _, g in stack])
        return {key: whole for key, _ in stack[:1]}, whole
    half = len(stack) // 2
    (below, under), (above, over) = seen(stack[:half]), seen(stack[half:])
    left = {key: g.difference(over) for key, g in below.items()}
    both = {k: shapely.union_all([g[k] for g in (left, above) if k in g]) for k in {**left, **above}}
    return both, under.union(over)


def mixed(coats: Sequence[Coat]) -> tuple[np.ndarray, list[Paint]] | None:
    """Faces (n,) of the page, as polygons, on which something see-through lies, and the paint that each comes to; coats
    the lowest first. None where more than MOST_MEETINGS pairs of shapes meet, which would take too long."""
    where = shapely.union_all([c.area for c in coats if c.seen_through])
    shapely.prepare(where)
    near = _without_hidden([c for c in coats if shapely.intersects(where, c.area)])
    areas = [c.area for c in near]
    if _meetings(areas) > MOST_MEETINGS:
        return None
    edges = shapely.union_all(shapely.boundary(areas), grid_size=GRID_PX)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(edges)))
    at, over = shapely.STRtree(areas).query(shapely.point_on_surface(faces), "within")
    order = np.lexsort((over, at))
    ends = np.searchsorted(at[order], np.arange(len(faces) + 1)).tolist()
    rows, on, paints = over[order].tolist(), [], []
    known: dict[tuple[int, ...], Paint] = {}
    for k, (a, b) in enumerate(pairwise(ends)):
        row = tuple(rows[a:b])
        if any(near[i].seen_through for i in row):
            if row not in known:
                known[row] = _mix([near[i] for i in row])
            on.append(k)
            paints.append(known[row])
    return faces[on], paints


def _meetings(areas: Sequence[BaseGeometry]) -> float:
    """How many pairs of areas meet; of very many areas by a part of them."""
    probes = np.array(areas, object)[:: max(1, len(areas) ** 2 // _PROBED)]
    return (len(shapely.STRtree(areas).query(probes, "intersects")[0]) / len(probes) - 1) * len(areas) / 2


def _mix(coats: Iterable[Coat], depth: int = 0) -> Paint:
    out = NOTHING
    for group, run in groupby(coats, lambda c: c.groups[depth] if len(c.groups) > depth else None):
        for paint in [c.paint for c in run] if group is None else [_mix(run, depth + 1).thinned(group[1])]:
            out = paint.over(out)
    return out


def _without_hidden(coats: Sequence[Coat]) -> list[Coat]:
    """The same picture without what solid paint of the same group hides."""
    out: list[Coat] = []
    for (solid, groups), run in groupby(coats, lambda c: (c.paint.cover >= 1.0, c.groups)):
        some = list(run)
        if solid and len(some) > 1:
            some = [Coat(paint, g, groups) for paint, g in seen([(c.paint, c.area) for c in some])[0].items()]
        out += [c for c in some if not c.area.is_empty]
    return out


def united(faces: Sequence[Polygon]) -> BaseGeometry:
    """Faces of one page as one area."""
    return shapely.make_valid(shapely.coverage_union_all(list(faces)))
