"""A stencil that runs over a seam between two parts, cut along the seam into a paper for each.

Each part's skin is known by itself, and they meet along the seam by share of its length (`composer.body.joins`). So
the paper is cut where the seam runs on it, and what lies beyond is drawn onto the other part: carried over as a
whole, and next to the seam moved so far that its edge is the seam as the other part has it. Away from the seam that
move dies out. Where it is more than what tapes are right to, that wedge is marked for freehand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
import shapely.ops
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.body.distort import past_the_ends
from composer.body.joins import SPOTS, Carried, Join, carry_outline
from composer.body.panel import Panel
from composer.body.panel_patch import lay_panel_patch_over
from composer.body.patch import Patch, lay_patch
from composer.plan.model import PANELS, Plan
from composer.plan.over_joins import SURE_MM, joins_at
from composer.plan.scene import scene
from composer.sheets.cut_model import Limits
from composer.sheets.leaf import DENSE_MM, SEAM_MM, Cell, Tick, tick_pairs, with_art
from composer.sheets.round_parts import part_of
from composer.sheets.stencil import KeepWhole, Stencil, stencil
from composer.sheets.stencil_art import areas_of
from composer.sheets.stencil_marks import marks_of

LEAST_MM2 = 20.0
"""Less art than this beyond a seam is no reason to cut."""
MOVES_MM, FADES_MM = 12.0, 30.0
"""Art next to the seam is moved by so much at most, and the move fades over so many mm: by more it would no longer be
the drawing. Where the edges lie farther apart (towards the armpit) nothing but a hand can draw it."""
FAR_MM = 600.0


@dataclass(frozen=True)
class Over:
    """How a stencil's chart goes on beyond a seam. `mine` and `theirs` (SPOTS, 2): the seam in the stencil's chart, mm,
    as its own part has it and as the other part has it, point by point the same places of skin. `beyond`: what
    of the chart lies past the seam; `span` the spots between which art crosses it."""

    join: Join
    carried: Carried
    mine: np.ndarray
    theirs: np.ndarray
    beyond: BaseGeometry
    span: tuple[int, int]

    @cached_property
    def move(self) -> np.ndarray:
        """(SPOTS, 2): from the one edge to the other where art crosses, past that as at the last place."""
        k = np.clip(np.arange(SPOTS), *self.span)
        return (self.theirs - self.mine)[k]

    @property
    def most_mm(self) -> float:
        """The farthest that the two edges lie apart under the art, mm."""
        return float(np.hypot(*self.move.T).max())

    def moves(self, xy: np.ndarray) -> np.ndarray:
        """How far places (n, 2) of the chart would have to move before they are carried over, mm (n, 2)."""
        line, spots = LineString(self.mine), shapely.points(xy)
        run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.mine, axis=0).T))])
        k = np.interp(shapely.line_locate_point(line, spots), run, np.arange(SPOTS))
        fade = np.exp(-((shapely.distance(line, spots) / FADES_MM) ** 2))
        return fade[:, None] * np.column_stack([np.interp(k, np.arange(SPOTS), self.move[:, c]) for c in (0, 1)])

    def held(self, xy: np.ndarray) -> np.ndarray:
        """The same, none by more than MOVES_MM."""
        d = self.moves(xy)
        return d * np.minimum(1.0, MOVES_MM / np.maximum(np.hypot(*d.T), 1e-9))[:, None]

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Places (n, 2) of the chart, mm, to (u, s) of the other part."""
        return self.carried.to_skin(xy + self.held(xy))


def stencils(plan: Plan, ids: Sequence[str], gallery: Mapping[str, Drawing], keep_whole: KeepWhole | None = None,
             date: str = "", shades: bool = True, apart_mm: float | None = SURE_MM
             ) -> tuple[Stencil, ...]:
    """The stencil of these pieces, as `composer.sheets.stencil.stencil` makes it; where it runs over seams whose edges
    differ by more than `apart_mm` under it, one stencil for every part, its own first. None: never parted."""
    return parted(plan, gallery, stencil(plan, ids, gallery, keep_whole, date, shades), apart_mm)


def parted(plan: Plan, gallery: Mapping[str, Drawing], one: Stencil, apart_mm: float | None) -> tuple[Stencil, ...]:
    """A stencil of the plan's pieces, parted in the same way."""
    if apart_mm is None or not any(p.name in PANELS for p in plan.parts):
        return (one,)
    home, others = one, []
    for n, join in enumerate(joins_at(plan, one.part)):
        over = over_seam(home, join)
        if over is not None and over.most_mm > apart_mm:
            home, other = _parted(plan, gallery, home, over, "pqrstv"[n % 6])
            others.append(other)
    return (home, *others)


def apart_mm(limits: Limits, way: str) -> float | None:
    """How far the edges of a seam may lie apart under a paper that is cut in a way (see `composer.sheets.slits`)."""
    return None if way == "whole" else limits.error_mm or SURE_MM


def side_of(one: Stencil, every: Sequence[Stencil]) -> str:
    """What tells the papers of one piece apart, '' where there is only one."""
    return one.part.replace("_", " ") if len(every) > 1 else ""


def over_seam(st: Stencil, join: Join) -> Over | None:
    """How a stencil goes on beyond a seam of its part; None where hardly any of its art does."""
    rings = [np.asarray(p.exterior.coords)[:-1] for p in shapely.get_parts(st.body)]
    carried = carry_outline(join, st.part, st.chart, rings)
    if carried is None:
        return None
    here, there = join.sides(st.part)
    mine = here.in_paper(st.chart)
    theirs = (there.in_paper(carried.patch) - carried.matrix[:, 2]) @ carried.matrix[:, :2]
    on = np.flatnonzero(shapely.dwithin(shapely.points(mine), st.body, 3.0))
    if not len(on):
        return None
    k = int(on[len(on) // 2])
    beyond = _beyond(st, mine, k)
    if beyond is None or shapely.intersection(st.body, beyond).area < LEAST_MM2:
        return None
    return Over(join, carried, mine, theirs, beyond, (int(on[0]), int(on[-1])))


def _beyond(st: Stencil, seam: np.ndarray, k: int) -> BaseGeometry | None:
    """The side of the seam (run on straight at its ends) that is not the part's own skin, in the chart."""
    ahead = seam[min(k + 2, SPOTS - 1)] - seam[max(k - 2, 0)]
    off = 3.0 * np.array([-ahead[1], ahead[0]]) / max(float(np.hypot(*ahead)), 1e-9)
    left = st.chart.to_skin((seam[k] + off)[None])
    limb = st.limb
    own_left = bool(limb.inside(left)[0]) if isinstance(limb, Panel) else bool(
        left[0, 1] < st.chart.to_skin(seam[k][None])[0, 1])
    out = seam[k] - off if own_left else seam[k] + off
    first, last = seam[0] - seam[3], seam[-1] - seam[-4]
    way = np.vstack([seam[0] + FAR_MM * first / np.hypot(*first), seam, seam[-1] + FAR_MM * last / np.hypot(*last)])
    room = shapely.buffer(shapely.box(*st.outline.bounds), 20.0, join_style="mitre")
    for part in shapely.ops.split(room, LineString(way)).geoms:
        if shapely.contains_xy(part, *out):
            return part
    return None


def _parted(plan: Plan, gallery: Mapping[str, Drawing], st: Stencil, over: Over, letter: str
            ) -> tuple[Stencil, Stencil]:
    """What is left on the stencil's own part, and what lies on the other."""
    room = shapely.box(*shapely.buffer(st.outline, 1.0).bounds)
    own, past = shapely.difference(room, over.beyond), over.beyond
    there = over.join.sides(st.part)[1]
    chart = _chart(st, over)

    def go(xy: np.ndarray) -> np.ndarray:
        return chart.to_flat(over.to_skin(xy)) if len(xy) else xy

    def moved(g: BaseGeometry) -> BaseGeometry:
        return shapely.make_valid(shapely.transform(shapely.segmentize(shapely.intersection(g, past), DENSE_MM), go))

    mine, theirs = _ticks(st, over, own, letter)
    body = moved(st.body)
    paper = with_art(moved(st.outline), body)
    here = scene(plan, there.part, there.surface, gallery)
    whole = max((p for p in shapely.get_parts(paper) if p.geom_type == "Polygon"), key=lambda p: p.area)
    marks = marks_of(here, chart, {p.id for p in st.pieces}, whole, body, st.unit)
    words = over.join.name.split(", ")[0]
    parts = [p.replace("_", " ") for p in (st.part, there.part)]
    said = (f"It runs over the {words}: cut along it, one paper for the {parts[0]}, one for the {parts[1]}. Lay the "
            f"papers so that the ticks {letter}1, {letter}2 ... meet on the seam.")
    loose = _loose(st, over)
    if not loose.is_empty:
        said += (f" The two edges lie up to {over.most_mm:.0f} mm apart there; the wedge marked freehand is redrawn "
                 "by eye.")
    art = st.art.mapped(go, shapely.buffer(past, SEAM_MM, quad_segs=1), DENSE_MM)
    if not shapely.is_valid(art.lines):       # lines that were bent into each other
        art = replace(art, lines=areas_of(shapely.union_all(shapely.make_valid(shapely.get_parts(art.lines)))))
    other = replace(
        st, part=there.part, limb=there.surface, chart=chart, body=body, outline=paper, keep=moved(st.keep),
        art=art, marks=marks, points=(),
        notes=(), ticks=tuple(Tick(go(t.line), t.label) for t in theirs), loose=moved(loose))
    home = part_of(st, own, tuple(mine))
    before, after = (past_the_ends(s.limb, s.chart.to_skin(shapely.get_coordinates(s.body)), s.unit)
                     for s in (st, home))
    notes = [n for n in st.notes if n != before]      # what was past the end lies on the other paper now
    return replace(home, notes=(*notes, *([after] if after else []), said)), other


def _chart(st: Stencil, over: Over) -> Patch:
    """Paper fitted to the other part's skin under what lies beyond the seam."""
    form = shapely.intersection(st.body, over.beyond)
    x0, y0, x1, y1 = form.bounds
    step = max(1.0, min(4.0, float(np.sqrt(form.area / 400))))
    xy = np.stack(np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step)), axis=-1).reshape(-1, 2)
    xy = xy[shapely.contains_xy(shapely.buffer(form, step), xy[:, 0], xy[:, 1])]
    surface, us = over.join.sides(st.part)[1].surface, over.to_skin(xy)
    if isinstance(surface, Panel) and len(us) >= 20:
        return lay_panel_patch_over(surface, us)
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    half = float(max(np.ptp(xy, axis=0))) / 2
    return lay_patch(surface, (u0 + u1) / 2, (s0 + s1) / 2, max((s1 - s0) / 2, 8.0), max((s1 - s0) / 2, 8.0), half)


def _ticks(st: Stencil, over: Over, own: BaseGeometry, letter: str) -> tuple[list[Tick], list[Tick]]:
    """Ticks across the seam: those on the stencil's own part and those beyond, all in its chart."""
    mine: list[Tick] = []
    theirs: list[Tick] = []
    whole = Cell(st.outline, None)
    for way in shapely.get_parts(shapely.intersection(LineString(over.mine), st.outline)):
        if way.geom_type == "LineString" and way.length > 6.0:
            for pair in zip(*tick_pairs(st, np.asarray(way.coords), whole, whole, 1, False), strict=True):
                if np.hypot(*over.moves(pair[0].line[:1])[0]) > MOVES_MM:
                    continue
                a, b = (replace(t, label=f"{letter}{len(mine) + 1}") for t in pair)
                if not shapely.contains_xy(own, *a.line[1]):
                    a, b = b, a
                mine.append(a)
                theirs.append(b)
    return mine, theirs


def _loose(st: Stencil, over: Over, step: float = 2.0) -> BaseGeometry:
    """Where art beyond the seam is moved by more than tapes are right to, in the stencil's chart."""
    paper = shapely.intersection(st.outline, over.beyond)
    x0, y0, x1, y1 = paper.bounds
    xy = np.stack(np.meshgrid(np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)), axis=-1).reshape(-1, 2)
    bad = xy[np.hypot(*over.moves(xy).T) > SURE_MM]
    if not len(bad):
        return Polygon()
    r = step / 2
    grown = shapely.union_all(shapely.box(*(bad - r).T, *(bad + r).T))
    smooth = shapely.buffer(shapely.buffer(shapely.buffer(grown, 2 * r), -3 * r), r)
    return shapely.intersection(smooth, paper)
