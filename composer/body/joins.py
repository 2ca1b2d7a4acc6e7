"""Parts joined edge to edge: which edge meets which, and the paper carried across.

A seam runs along an edge of each of two parts: armhole front (chest and arm), armhole back (back
and arm), shoulder line and side (chest and back). Places on it answer to each other by share of
its true length in each part. What lies over a seam is carried as paper is: rigid, turned so that
the seam's direction in one part's paper meets that in the other's at the middle of the crossing.
Where the two edges bend differently paper would fold or have to open there, and that is reported.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from composer.body.limb import Limb
from composer.body.metric import distance
from composer.body.panel import Panel
from composer.body.patch import Patch, lay_patch

if TYPE_CHECKING:   # loaded only where parts meet: it takes 20 MB
    import networkx as nx

Surface = Limb | Panel
CAP_SHARE = 0.55
"""Armpit to fullest shoulder, share of armpit to shoulder point on the outer side (from memory; the
arm's tapes end at the fullest shoulder)."""
SPOTS = 129


@dataclass(frozen=True, eq=False)
class Seam:
    """An edge of a part as one side of a join: `us` (129, 2) of unwrapped (u, s), evenly spaced in
    true length; `length_mm` that length."""

    part: str
    surface: Surface
    us: np.ndarray
    length_mm: float

    def at(self, share: np.ndarray | float) -> np.ndarray:
        """Places (n, 2) at shares 0..1 of the length."""
        k = np.clip(np.atleast_1d(share), 0, 1) * (SPOTS - 1)
        i = np.arange(SPOTS)
        return np.column_stack([np.interp(k, i, self.us[:, 0]), np.interp(k, i, self.us[:, 1])])

    def in_paper(self, patch: Patch) -> np.ndarray:
        """The seam in a patch chart, (129, 2) mm, at the turn nearest to the patch's anchor."""
        turn = np.round(patch.u0 - self.us[:, 0].mean()) if self.surface.closed else 0.0
        return patch.to_flat(self.us + np.array([turn, 0.0]))


@dataclass(frozen=True, eq=False)
class Join:
    """Two parts that meet along a seam; both sides run the same way (from the neck or the shoulder point)."""

    name: str
    a: Seam
    b: Seam

    def sides(self, part: str) -> tuple[Seam, Seam]:
        """This part's side, then the other's. Raises KeyError for a part that is not joined here."""
        if part == self.a.part:
            return self.a, self.b
        if part == self.b.part:
            return self.b, self.a
        raise KeyError(f"The {part.replace('_', ' ')} does not meet the {self.name}.")

    @cached_property
    def odds_mm(self) -> float:
        """How much longer the seam was taped on `b` than on `a`, mm."""
        return self.b.length_mm - self.a.length_mm


@dataclass(frozen=True, eq=False)
class Carried:
    """Paper carried over a join: in the other `part`'s chart `patch` the paper point xy lies at
    matrix[:, :2] @ xy + matrix[:, 2]. `share` of the seam it is hung at; `fold_mm`: the widest strip of
    paper between the two edges, which has no skin under it and would have to be folded away; `open_mm`: the
    widest strip that belongs to both sides, where paper would have to be slit and drawn apart."""

    part: str
    patch: Patch
    matrix: np.ndarray
    share: float
    fold_mm: float
    open_mm: float

    @property
    def mismatch_mm(self) -> float:
        return max(self.fold_mm, self.open_mm)

    def to_paper(self, xy: np.ndarray) -> np.ndarray:
        """Paper of the first part (n, 2) mm to the other part's paper."""
        return np.asarray(xy, float) @ self.matrix[:, :2].T + self.matrix[:, 2]

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Paper of the first part (n, 2) mm to skin (n, 2) of (u, s) in the other part."""
        return self.patch.to_skin(self.to_paper(xy))


def join_parts(surfaces: Mapping[str, Surface]) -> nx.MultiGraph:
    """The graph of the parts that are there: nodes are part names, each edge has its `join`."""
    import networkx as nx

    g = nx.MultiGraph()
    g.add_nodes_from(surfaces)
    for join in _joins(surfaces):
        g.add_edge(join.a.part, join.b.part, key=join.name, join=join)
    return g


def joins_of(surfaces: Mapping[str, Surface], part: str) -> list[Join]:
    """The joins of one of the parts that are there, by name: the very ones that `join_parts` has."""
    return sorted(_joins(surfaces, part), key=lambda j: j.name)


def parts_met(part: str) -> set[str]:
    """The parts that a part meets on a body, whether they are measured or not."""
    return {p for _, *ends in SEAMS for (p, _), (q, _) in (ends, ends[::-1]) if q == part}


SEAMS = tuple(
    seam
    for side in ("left", "right")
    for seam in (
        (f"{side} armhole, front", ("chest", f"armhole_{side}"), (f"{side}_arm", "front")),
        (f"{side} armhole, back", ("upper_back", f"armhole_{side}"), (f"{side}_arm", "back")),
        (f"{side} shoulder line", ("chest", f"shoulder_{side}"), ("upper_back", f"shoulder_{side}")),
        (f"{side} side", ("chest", f"side_{side}"), ("upper_back", f"side_{side}")),
    )
)
"""Where parts meet: name, then part and edge on either side."""


def _joins(surfaces: Mapping[str, Surface], part: str | None = None) -> list[Join]:
    return [
        _join(name, p, surfaces[p], e, q, surfaces[q], f)
        for name, (p, e), (q, f) in SEAMS
        if p in surfaces and q in surfaces and part in (None, p, q)
    ]


@lru_cache(maxsize=64)
def _join(name: str, p: str, one: Surface, e: str, q: str, other: Surface, f: str) -> Join:
    return Join(name, _seam(p, one, e), _seam(q, other, f))


def armhole(part: str, limb: Limb) -> dict[str, np.ndarray]:
    """Where an arm meets the trunk: 'front' and 'back' half, each (n, 2) of (u, s) from the shoulder
    point on the outer side to the armpit on the inner one.

    The shoulder point lies past the last tape (see CAP_SHARE); between, the edge falls as a cosine, which is
    what an oblique plane cuts from a round arm when it is unrolled.
    """
    at = {lv.name: lv.s_mm for lv in limb.levels}
    low = at.get("armpit", limb.s_max - 60.0)
    high = low + (limb.s_max - low) / CAP_SHARE
    outer = 0.25 if part.startswith("left") else -0.25
    t = np.linspace(0, 1, 97)
    s = low + (high - low) * (1 + np.cos(np.pi * t)) / 2
    way = -0.5 if part.startswith("left") else 0.5
    return {"front": np.column_stack([outer + way * t, s]), "back": np.column_stack([outer - way * t, s])}


def _seam(part: str, surface: Surface, edge: str) -> Seam:
    if isinstance(surface, Limb):
        us = armhole(part, surface)[edge]
    else:
        us = surface.edge(edge)
        # edges follow each other counter-clockwise; seams run from the neck, shoulder point or armpit on
        start = {"armhole": "shoulder point", "side": "side"}.get(edge.split("_")[0])
        head = (
            np.array(surface.landmarks[f"{start} {edge.split('_')[1]}"])
            if start
            else surface.edge(f"neck_{edge.split('_')[1]}")[[0, -1]]
        )
        ends = np.abs(us[[0, -1]][:, None] - np.atleast_2d(head)).max(axis=2).min(axis=1)
        us = us if ends[0] <= ends[1] else us[::-1]
    fine = _fine(us)
    steps = (
        surface.steps(fine)
        if isinstance(surface, Panel)
        else distance(surface, fine[:-1], fine[1:], nearest_turn=False)
    )
    run = np.concatenate([[0.0], np.cumsum(steps)])
    even = np.linspace(0, run[-1], SPOTS)
    return Seam(part, surface, np.column_stack([np.interp(even, run, fine[:, k]) for k in (0, 1)]), float(run[-1]))


def _fine(us: np.ndarray, each: int = 4) -> np.ndarray:
    k = np.arange(len(us))
    fine = np.linspace(0, k[-1], each * k[-1] + 1)
    return np.column_stack([np.interp(fine, k, us[:, c]) for c in (0, 1)])


def carry_point(join: Join, part: str, us: np.ndarray) -> np.ndarray:
    """A place of `part` near the seam in the other part's coordinates, (2,): as paper hung at the nearest
    place of the seam would carry it."""
    here, _ = join.sides(part)
    us = np.asarray(us, float)
    share = _nearest(here, us)
    u, s = here.at(share)[0]
    patch = lay_patch(here.surface, float(u), float(s), 25.0, 25.0, 25.0)
    hung = hang(join, part, patch, share, 40.0)
    return hung.to_skin(patch.to_flat(patch.near(us[None])))[0]


def _nearest(seam: Seam, us: np.ndarray) -> float:
    d = distance(seam.surface, seam.us, us, nearest_turn=seam.surface.closed)
    k = int(np.clip(d.argmin(), 1, SPOTS - 2))
    a, b, c = d[k - 1] ** 2, d[k] ** 2, d[k + 1] ** 2
    bend = a - 2 * b + c
    return float(np.clip((k + (0.5 * (a - c) / bend if bend > 1e-12 else 0.0)) / (SPOTS - 1), 0, 1))


def carry_outline(
    join: Join, part: str, patch: Patch, rings: tuple[np.ndarray, ...] | list[np.ndarray]
) -> Carried | None:
    """Paper with the outline `rings` (each (n, 2) mm in `patch` on `part`) over the join, or None when
    the outline does not reach the seam."""
    here, _ = join.sides(part)
    seam = here.in_paper(patch)
    line = shapely.LineString(seam)
    shape = shapely.union_all([shapely.make_valid(shapely.Polygon(r)) for r in rings if len(r) > 2])
    crossing = shapely.intersection(line, shape)
    if crossing.is_empty:
        return None
    along = shapely.line_locate_point(line, shapely.points(shapely.get_coordinates(crossing)), normalized=True)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(seam, axis=0).T))])
    lo, hi = (float(np.interp(v, run / run[-1], np.linspace(0, 1, SPOTS))) for v in (along.min(), along.max()))
    middle = _spot(seam, (lo + hi) / 2)[0]
    reach = float(max(np.hypot(*(np.asarray(r) - middle).T).max() for r in rings))
    return hang(join, part, patch, (lo + hi) / 2, reach, (lo, hi))


def hang(
    join: Join, part: str, patch: Patch, share: float, reach_mm: float, span: tuple[float, float] | None = None
) -> Carried:
    """Paper that lies in `patch` on `part`, hung over the join at `share` of the seam; `span`: the shares between
    which it lies over the seam (for the mismatch; the whole reach by default)."""
    here, there = join.sides(part)
    place = there.at(share)[0]
    other = lay_patch(there.surface, float(place[0]), float(place[1]), reach_mm, reach_mm, reach_mm)
    mine, theirs = here.in_paper(patch), there.in_paper(other)
    (p, t), (q, w) = _spot(mine, share), _spot(theirs, share)
    turn = np.arctan2(w[1], w[0]) - np.arctan2(t[1], t[0])
    rot = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    matrix = np.column_stack([rot, q - rot @ p])
    if span is None:
        half = 0.5 * reach_mm / here.length_mm
        span = max(0.0, share - half), min(1.0, share + half)
    at, i = np.linspace(*span, 65) * (SPOTS - 1), np.arange(SPOTS)
    laid = np.column_stack([np.interp(at, i, mine[:, k]) for k in (0, 1)]) @ rot.T + matrix[:, 2]
    # the inside of the other part lies on one side of its edge: which one, the two sides of the join tell
    side = _inner(theirs, there, other)
    line = shapely.LineString(theirs)
    spots = shapely.points(laid)
    d, run = shapely.distance(line, spots), shapely.line_locate_point(line, spots)
    foot = shapely.get_coordinates(shapely.line_interpolate_point(line, run))
    ahead = shapely.get_coordinates(shapely.line_interpolate_point(line, run + 0.5)) - foot
    cross = ahead[:, 0] * (laid - foot)[:, 1] - ahead[:, 1] * (laid - foot)[:, 0]
    into = np.where(cross * side > 0, d, -d)  # > 0: the first part's edge lies within the other part
    return Carried(there.part, other, matrix, float(share), float(max(-into.min(), 0.0)), float(max(into.max(), 0.0)))


def _spot(seam: np.ndarray, share: float) -> tuple[np.ndarray, np.ndarray]:
    """Point of a seam in paper and its direction there (over 3 spots either way)."""
    x = share * (SPOTS - 1)
    i = np.arange(SPOTS)

    def at(v: float) -> np.ndarray:
        return np.array([np.interp(v, i, seam[:, 0]), np.interp(v, i, seam[:, 1])])

    return at(x), at(min(x + 3, SPOTS - 1)) - at(max(x - 3, 0))


def _inner(theirs: np.ndarray, seam: Seam, patch: Patch) -> float:
    """+1 when the part's skin lies to the left of its seam in paper as the seam runs, else -1."""
    p, t = _spot(theirs, 0.5)
    if isinstance(seam.surface, Limb):
        turn = np.round(patch.u0 - seam.us[:, 0].mean())
        inside = patch.to_flat(seam.at(0.5) + np.array([turn, -8.0]))[0]
    else:
        middle = np.asarray(shapely.point_on_surface(seam.surface.form).coords)[0]
        here = seam.surface.to_mm(seam.at(0.5))[0]
        inside = patch.to_flat(
            seam.surface.from_mm((here + 8.0 * (middle - here) / np.hypot(*(middle - here)))[None])
        )[0]
    return 1.0 if t[0] * (inside - p)[1] - t[1] * (inside - p)[0] > 0 else -1.0
