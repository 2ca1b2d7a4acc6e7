"""Open skin over the seams at which parts meet, found as gaps of its own, with the ties that cross there.

Each seam is taken in stretches as long as paper hung over it is right for (see `composer.body.joins`): there the gaps
of both sides are carried into one paper and joined. What is farther off than REACH_MM stays with its own part. The
joined graph holds both parts' graphs and these gaps between them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.joins import Carried, Join, Seam, hang
from composer.body.patch import Patch, lay_patch
from composer.compose.gaps import Gap, Survey
from composer.compose.meetings import fit
from composer.compose.ties import Tie
from composer.compose.words import both, capital, names_of
from composer.plan.over_joins import SEAM_PAPER_MM
from composer.plan.scene import Laid

if TYPE_CHECKING:
    import networkx as nx

LENGTHS_MM = (60.0, 50.0, 40.0, 30.0)
RIGHT_MM = 5.0
"""What paper over a seam may fold or open by along one stretch: what rigid paper errs by over 60 mm at the armhole
(`tests/outside/test_yoke_armhole.py`). The longest of LENGTHS_MM that keeps to it is taken."""
REACH_MM = 32.0
"""So far to either side of the seam a gap over it goes."""
LEAST_MM2 = 60.0
"""A gap lies over the seam when it has so much open skin on both sides of it."""
CRACK_MM = 1.6
GRID_MM = 0.01
TIE_MM = 70.0


@dataclass(frozen=True, eq=False)
class Stretch:
    """A stretch of a seam over which paper is right: from share `low` to `high` of it, hung at `share`. `patch` is
    the paper on the `home` part, `carried` the way to the other; `line` and `other_line` are both edges on it."""

    join: Join
    home: str
    low: float
    high: float
    share: float
    patch: Patch
    carried: Carried
    line: np.ndarray
    other_line: np.ndarray

    @property
    def at(self) -> tuple[float, float]:
        """The place on the home part where the paper is hung, (u, s)."""
        return self.patch.u0, self.patch.s0_mm

    def back(self, xy: np.ndarray) -> np.ndarray:
        """Paper of the other part (n, 2) mm to the paper at home."""
        m = self.carried.matrix
        return (np.asarray(xy, float) - m[:, 2]) @ m[:, :2]

    def from_other(self, us: np.ndarray) -> np.ndarray:
        """Skin (n, 2) of the other part, u near its paper's anchor, to the paper at home."""
        return self.back(self.carried.patch.to_flat(us))


@lru_cache(maxsize=64)
def stretches(join: Join, home: str) -> tuple[Stretch, ...]:
    """A seam in stretches, from the shoulder point or the neck on."""
    here, _ = join.sides(home)
    out: list[Stretch] = []
    done = 0.0
    while done < here.length_mm - 10.0:
        for length in LENGTHS_MM:
            low, high = done / here.length_mm, min(1.0, (done + length) / here.length_mm)
            one = stretch_at(join, home, (low + high) / 2, (low, high))
            if one.carried.mismatch_mm <= RIGHT_MM:
                break
        if one.carried.mismatch_mm <= RIGHT_MM:
            out.append(one)
        done = one.high * here.length_mm
    return tuple(out)


def stretch_at(join: Join, home: str, share: float, span: tuple[float, float]) -> Stretch:
    """The stretch of a seam between two shares, hung at `share`."""
    here, there = join.sides(home)
    u, s = here.at(share)[0]
    patch = lay_patch(here.surface, round(float(u), 5), round(float(s), 2), SEAM_PAPER_MM, SEAM_PAPER_MM, SEAM_PAPER_MM)
    carried = hang(join, home, patch, share, SEAM_PAPER_MM, span)
    at = np.linspace(*span, 33)
    m = carried.matrix
    other = (_near(there, carried.patch, at) - m[:, 2]) @ m[:, :2]
    return Stretch(join, home, span[0], span[1], share, patch, carried, _near(here, patch, at), other)


def _near(seam: Seam, patch: Patch, shares: np.ndarray) -> np.ndarray:
    us = seam.at(shares)
    turn = np.round(patch.u0 - us[:, 0].mean()) if seam.surface.closed else 0.0
    return patch.to_flat(us + np.array([turn, 0.0]))


@dataclass(frozen=True, eq=False)
class SeamGap:
    """A gap over a seam. `gap` has its outline on the home part's skin (which runs on over the edge there), its place,
    widest circle and neighbours on both sides; `free` and `front` (what lies in front, without a margin) are in the
    stretch's paper, mm; `halves`: its outlines part by part, rings on that part's own skin; `of` the (part, key) of the
    gaps that it joins; `shared_mm` of the seam lie open."""

    stretch: Stretch
    gap: Gap
    free: Polygon
    front: BaseGeometry
    halves: tuple[tuple[str, tuple[np.ndarray, ...]], ...]
    of: tuple[tuple[str, str], ...]
    shared_mm: float

    @property
    def key(self) -> str:
        return self.gap.key

    @property
    def join(self) -> str:
        return self.stretch.join.name


@dataclass(frozen=True)
class SeamTie:
    """A tie from a piece on one part to a piece on the next, through the gap `seam` (its key). `ways`: the way part by
    part, (2, 2) of (u, s)."""

    tie: Tie
    seam: str
    ways: tuple[tuple[str, np.ndarray], ...]


@dataclass(frozen=True, eq=False)
class Joined:
    """Surveys of parts that meet, by name, with the gaps and ties over the seams between them."""

    surveys: Mapping[str, Survey]
    gaps: tuple[SeamGap, ...]
    ties: tuple[SeamTie, ...]

    def gap(self, key: str) -> SeamGap | None:
        """The gap over a seam of that key."""
        return next((g for g in self.gaps if g.key == key), None)

    def near(self, join: str, share: float) -> SeamGap | None:
        """The gap over that seam whose paper is hung nearest to a share of it, within a third of the seam."""
        found = [g for g in self.gaps if g.join == join and abs(g.stretch.share - share) < 0.33]
        return min(found, key=lambda g: (abs(g.stretch.share - share), -g.gap.area_mm2), default=None)

    @cached_property
    def graph(self) -> nx.MultiGraph:
        """The parts' graphs as one (see `composer.compose.graph`): borders are named 'PART/border:...'; gaps over a
        seam are nodes of kind 'gap' with `join`; edges of kind 'over' lead from them to the gaps of the two sides and
        carry `shared_mm`, those of kind 'meets' from piece to piece over the seam, with `gap` and `clearance_mm`."""
        import networkx as nx

        whole = nx.MultiGraph()
        for part, survey in self.surveys.items():
            names = {n: f"{part}/{n}" for n in survey.graph if str(n).startswith("border:")}
            whole = nx.compose(whole, nx.relabel_nodes(survey.graph, names))
        for g in self.gaps:
            u, s = g.gap.centre
            whole.add_node(g.key, kind="gap", u=u, s_mm=s, join=g.join, area_mm2=g.gap.area_mm2)
            for _, key in g.of:
                whole.add_edge(g.key, key, kind="over", shared_mm=g.shared_mm)
            for n in g.gap.neighbours:
                whole.add_edge(g.key, n, kind="bounds")
        for t in self.ties:
            whole.add_edge(t.tie.a, t.tie.b, kind="meets", gap=t.seam, clearance_mm=t.tie.clearance_mm,
                           agree=t.tie.agree, over=True)
        return whole


def join_surveys(joins: nx.MultiGraph, surveys: Mapping[str, Survey]) -> Joined:
    """Gaps and ties over every seam between the surveyed parts (an arm's survey should go as far as the trunk, see
    `composer.compose.planned`)."""
    gaps: list[SeamGap] = []
    ties: list[SeamTie] = []
    for a, b, data in joins.edges(data=True):
        join: Join = data["join"]
        if a in surveys and b in surveys:
            home = join.a.part
            for s in stretches(join, home):
                found = list(_gaps_over(s, surveys[home], surveys[join.b.part]))
                gaps += found
                ties += [t for g in found for t in _ties_over(g, surveys[home], surveys[join.b.part])]
    best: dict[frozenset[str], SeamTie] = {}
    for t in sorted(ties, key=lambda t: -t.tie.strength):
        best.setdefault(frozenset((t.tie.a, t.tie.b)), t)
    gaps.sort(key=lambda g: (g.join, g.stretch.share, g.key))
    return Joined(dict(surveys), tuple(gaps), tuple(best.values()))


def _gaps_over(s: Stretch, home: Survey, other: Survey) -> Iterator[SeamGap]:
    mine, theirs = LineString(s.line), LineString(s.other_line)
    window = shapely.union_all([shapely.buffer(line, REACH_MM, cap_style="flat") for line in (mine, theirs)])
    sides = (_carried(s, home, window, False), _carried(s, other, window, True))
    if not all(sides):
        return
    open_ = [shapely.intersection(shapely.union_all([g for _, g in rows]), window) for rows in sides]
    mains = in_paper(s, home, other)
    front = shapely.union_all([g for _, g in mains]) if mains else Polygon()
    crack = shapely.make_valid(Polygon(np.concatenate([s.line, s.other_line[::-1]])))
    crack = shapely.union_all([crack, *(shapely.buffer(x, CRACK_MM, cap_style="flat") for x in (mine, theirs))])
    crack = shapely.intersection(crack, window)
    kept_off = shapely.buffer(front, home.skin_break_mm)
    # on a grid: hair-thin holes where sides and crack touch would be cut wide open by what follows
    whole = shapely.difference(shapely.union_all([*open_, crack], grid_size=GRID_MM), kept_off, grid_size=GRID_MM)
    whole = shapely.buffer(shapely.buffer(whole, -1.5, join_style="mitre"), 1.5, quad_segs=4)
    for part in shapely.get_parts(whole):
        if not isinstance(part, Polygon) or min(shapely.intersection(part, o).area for o in open_) < LEAST_MM2:
            continue
        circle = shapely.maximum_inscribed_circle(part, tolerance=0.1)
        if circle.length < home.least_mm / 2 - home.skin_break_mm:
            continue
        yield _seam_gap(s, part, front, sides, mains, home, other, circle)


def _seam_gap(s: Stretch, part: Polygon, front: BaseGeometry, sides: Sequence[Sequence[tuple[str, BaseGeometry]]],
              mains: Sequence[tuple[str, BaseGeometry]], home: Survey, other: Survey, circle: LineString) -> SeamGap:
    part = shapely.segmentize(part, 3.0)
    rings = [np.asarray(r.coords)[:-1] for r in (part.exterior, *part.interiors)]
    at = s.patch.to_skin(shapely.get_coordinates(circle)[:1])[0]
    near = tuple(sorted(i for i, g in mains if shapely.dwithin(g, part, home.skin_break_mm + 2.0)))
    flow = SeamFlow(s, home, other)
    deg = float(np.degrees(flow(shapely.get_coordinates(circle)[:1])[0]) % 180)
    hull = shapely.get_coordinates(shapely.convex_hull(part))
    long = float(np.hypot(*(hull[:, None] - hull[None]).transpose(2, 0, 1)).max())
    name = hashlib.blake2b(b"".join(np.round(r, 2).tobytes() for r in rings) + s.join.name.encode(), digest_size=5)
    gap = Gap(name.hexdigest(), 0, tuple(s.patch.to_skin(r) for r in rings), float(part.area), 2 * float(circle.length),
              (float(at[0]), float(at[1])), near, deg, long)
    of = tuple((survey_part, key) for survey_part, rows in zip((s.home, s.carried.part), sides, strict=True)
               for key, g in rows if shapely.intersection(g, part).area > 20.0)
    shared = float(shapely.intersection(LineString(s.line), shapely.buffer(part, CRACK_MM)).length)
    return SeamGap(s, gap, part, front, tuple(_halves(s, part)), of, shared)


def _halves(s: Stretch, part: Polygon) -> Iterator[tuple[str, tuple[np.ndarray, ...]]]:
    """The outline cut along the middle of the seam, part by part."""
    ours, far = sides_of(s)
    for name, side, to_skin in ((s.home, ours, s.patch.to_skin), (s.carried.part, far, s.carried.to_skin)):
        for g in shapely.get_parts(shapely.intersection(part, side)):
            if isinstance(g, Polygon) and g.area > 1.0:
                fine = shapely.segmentize(g, 3.0)
                yield name, tuple(to_skin(np.asarray(r.coords)[:-1]) for r in (fine.exterior, *fine.interiors))


def sides_of(s: Stretch) -> tuple[Polygon, Polygon]:
    """The paper on the home side of the seam and that on the other, as far as it is used."""
    line = middle_of(s)
    a, b = line[0], line[-1]
    along = (b - a) / np.hypot(*(b - a))
    away = 300.0 * np.array([-along[1], along[0]])
    one, two = (shapely.make_valid(Polygon(np.vstack([line, b + k * away, a + k * away]))) for k in (1, -1))
    return (one, two) if shapely.covers(one, shapely.Point(inside_at_home(s))) else (two, one)


def middle_of(s: Stretch) -> np.ndarray:
    """The middle between both edges (n, 2) on the paper, run straight on beyond the stretch at either end."""
    middle = (s.line + s.other_line) / 2
    a, b = middle[0] - (middle[2] - middle[0]) * 30, middle[-1] + (middle[-1] - middle[-3]) * 30
    return np.vstack([a, middle, b])


def inside_at_home(s: Stretch) -> np.ndarray:
    """A place of the home part near the seam, in its paper (2,)."""
    surface = s.join.sides(s.home)[0].surface
    here = np.asarray(surface.to_mm(np.array([s.at])))[0]    # a home part is chest or back
    middle = np.asarray(shapely.point_on_surface(surface.form).coords)[0]
    step = here + 10.0 * (middle - here) / np.hypot(*(middle - here))
    return s.patch.to_flat(surface.from_mm(step[None]))[0]


def _carried(s: Stretch, survey: Survey, window: BaseGeometry, over: bool) -> list[tuple[str, BaseGeometry]]:
    """Gaps of a side that reach into the window, in the home paper, by key."""
    patch = s.carried.patch if over else s.patch
    out = []
    for g in survey.gaps:
        for turn in (-1, 0, 1) if survey.scene.limb.closed else (0,):
            ring = g.rings[0] + np.array([turn, 0.0])
            if ring[:, 0].min() > patch.u0 + 0.3 or ring[:, 0].max() < patch.u0 - 0.3:
                continue
            flat = [patch.to_flat(r + np.array([turn, 0.0])) for r in g.rings]
            shape = shapely.make_valid(Polygon(*_outer([s.back(r) for r in flat] if over else flat)))
            if shapely.intersects(shape, window):
                out.append((g.key, shape))
    return out


def _outer(rings: Sequence[np.ndarray]) -> tuple[np.ndarray, list[np.ndarray]]:
    return rings[0], list(rings[1:])


def in_paper(s: Stretch, home: Survey, other: Survey, fillers: Sequence[Laid] | None = None,
             ) -> list[tuple[str, BaseGeometry]]:
    """Main pieces of both sides near the stretch, in the home paper, by id: each once, from the part on which it is
    seen from the seam at its own place."""
    reach = shapely.buffer(LineString(s.line), REACH_MM + 60.0)
    known = {x.piece.id for x in home.scene.laid}
    rows = [(x, False) for x in home.scene.laid if not x.piece.is_filler]
    rows += [(x, True) for x in other.scene.laid if not x.piece.is_filler and x.piece.id not in known]
    out = []
    for laid, over in rows:
        shape = laid_in_paper(s, laid, over)
        if shape is not None and shapely.intersects(shape, reach):
            out.append((laid.piece.id, shape))
    return out


def laid_in_paper(s: Stretch, laid: Laid, over: bool) -> BaseGeometry | None:
    """A laid piece's outline in the home paper; `over`: it is laid on the other part. None where it is far off."""
    patch = s.carried.patch if over else s.patch
    shapes = []
    for ring in laid.rings:
        r = ring - np.array([np.round(ring[:, 0].mean() - patch.u0) if over else 0.0, 0.0])
        if np.abs(r[:, 0].mean() - patch.u0) < 0.35:
            flat = patch.to_flat(r)
            shapes.append(shapely.make_valid(Polygon(s.back(flat) if over else flat)))
    return shapely.union_all(shapes) if shapes else None


@dataclass(frozen=True, eq=False)
class SeamFlow:
    """The flow over a seam, in its paper: each side's own, handed over within 15 mm of it. Takes points (n, 2), gives
    directions (n,), radians."""

    stretch: Stretch
    home: Survey
    other: Survey

    def __call__(self, xy: np.ndarray) -> np.ndarray:
        s, xy = self.stretch, np.asarray(xy, float)
        ours = s.patch.to_skin(xy)
        here = self.home.flow.angle(ours) - s.patch.b * (ours[:, 0] - s.patch.u0)
        far = s.carried.patch
        theirs = s.carried.to_skin(xy)
        turn = np.arctan2(s.carried.matrix[1, 0], s.carried.matrix[0, 0])
        there = self.other.flow.angle(theirs) - far.b * (theirs[:, 0] - far.u0) - turn
        seam = LineString((s.line + s.other_line) / 2)
        off = shapely.distance(seam, shapely.points(xy))
        home_side, _ = sides_of(s)
        off = np.where(shapely.contains_xy(home_side, xy[:, 0], xy[:, 1]), off, -off)
        w = np.clip(0.5 + off / 30.0, 0.0, 1.0)
        x = w * np.cos(2 * here) + (1 - w) * np.cos(2 * there)
        y = w * np.sin(2 * here) + (1 - w) * np.sin(2 * there)
        return np.arctan2(y, x) / 2


def _ties_over(g: SeamGap, home: Survey, other: Survey) -> Iterator[SeamTie]:
    """From the pieces of one side to those of the other, where open skin of the gap lies between."""
    s, flow = g.stretch, SeamFlow(g.stretch, home, other)
    shapes = dict(in_paper(s, home, other))
    own = {x.piece.id: x.piece.title for x in home.scene.laid if x.piece.part == s.home}
    far = {x.piece.id: x.piece.title for x in other.scene.laid if x.piece.part == s.carried.part}
    over = {x.piece.id for x in home.scene.laid} & {x.piece.id for x in other.scene.laid}
    names = names_of(own | far)
    near, beyond = sides_of(s)
    for a in sorted(own.keys() & shapes.keys()):
        for b in sorted(far.keys() & shapes.keys() - own.keys()):
            if a in over or b in over:
                continue
            way = shapely.shortest_line(shapes[a], shapes[b])
            mm = float(way.length)
            if not 6.0 <= mm <= TIE_MM or shapely.intersection(way, g.free).length < 0.5 * mm - 2 * home.skin_break_mm:
                continue
            ends = np.asarray(way.coords)
            d = ends[1] - ends[0]
            agree = float(np.cos(np.arctan2(d[1], d[0]) - flow(ends.mean(axis=0)[None])[0]) ** 2)
            strength = float(fit(np.array([mm]))[0]) * (0.4 + 0.6 * agree)
            cross = shapely.get_coordinates(shapely.intersection(way, near)), shapely.get_coordinates(
                shapely.intersection(way, beyond))
            if min(map(len, cross)) < 2:
                continue
            ways = ((s.home, s.patch.to_skin(cross[0][[0, -1]])),
                    (s.carried.part, s.carried.to_skin(cross[1][[0, -1]])))
            reason = (f"{capital(both(names[a], names[b]))} face each other across {mm:.0f} mm over the "
                      f"{s.join.name}; a tie here carries one part on into the next.")
            tie = Tie(a, b, (g.key,), mm, strength, reason, tuple(s.patch.to_skin(ends[:1])[0].tolist()),
                      tuple(s.carried.to_skin(ends[1:])[0].tolist()), agree, True)
            yield SeamTie(tie, g.key, ways)
