"""Two sides alike: the twin's stencil, and points to tape on both limbs before the papers are laid."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.body.correspond import landmarks
from composer.body.limb import Limb
from composer.body.units import format_length
from composer.plan.model import PANELS, Piece, Plan
from composer.plan.twins import make_twin, twin_deviation
from composer.sheets.cover import part_name
from composer.sheets.cut_model import Cut, Limits
from composer.sheets.letters import wrap
from composer.sheets.over_join import parted
from composer.sheets.paper import frame
from composer.sheets.slits import prepare
from composer.sheets.stencil import KeepWhole, Stencil, StencilError, stencil
from composer.sheets.strokes import Block, Page, Stroke, Words


@dataclass(frozen=True)
class Point:
    """One point of both papers: its letter, and in words where it lies on either side."""

    letter: str
    here: str
    there: str


@dataclass(frozen=True)
class Pair:
    """A piece and its twin as stencils that carry the same letters; `sentence` how alike they are. `beyond`: where a
    piece runs over seams, what of it and of the twin lies on the parts beyond."""

    here: Stencil
    there: Stencil
    points: tuple[Point, ...]
    sentence: str
    beyond: tuple[tuple[Stencil, ...], tuple[Stencil, ...]] = ((), ())


def twin_of(plan: Plan, piece: Piece) -> Piece | None:
    """The piece that is the other one's twin, either way round."""
    for p in plan.pieces:
        if p.twin_of == piece.id or piece.twin_of == p.id:
            return p
    return None


def pair(plan: Plan, piece_id: str, gallery: Mapping[str, Drawing], keep_whole: KeepWhole | None = None, date: str = "",
         shades: bool = True, apart_mm: float | None = None) -> Pair:
    """Stencils of a piece and of its twin, parted over seams by `apart_mm` (see `composer.sheets.over_join.stencils`);
    letters lie on the pieces' own parts. A piece without a twin gets its mirror image on the other side, which is
    printed and not added to the plan. Raises StencilError, StepError or KeyError with a sentence."""
    piece = plan.piece(piece_id)
    if piece.part in PANELS:
        raise StencilError("Points to measure on both sides are for arms and legs; on chest and back measure from the "
                           "midline.")
    twin = twin_of(plan, piece)
    if twin is None:
        twin = make_twin(plan, piece, f"{piece.id}-twin", linked=False)
        plan = plan.with_piece(twin)
    origin, copy = (piece, twin) if twin.twin_of == piece.id else (twin, piece)
    (a, *more_a), (b, *more_b) = (parted(plan, gallery, stencil(plan, [p.id], gallery, keep_whole, date, shades),
                                         apart_mm) for p in (origin, copy))
    spots = _spots(a, b)
    mirrored = [(k, -x, y) for k, x, y in spots]
    words = [[where(s.limb, s.part, s.chart.to_skin(np.array([[x, y]]))[0], s.unit) for _, x, y in at]
             for s, at in ((a, spots), (b, mirrored))]
    points = tuple(Point(k, here, there) for (k, _, _), here, there in zip(spots, *words, strict=True))
    alike = twin_deviation(plan, copy, gallery).sentence if origin.part != copy.part else (
        "Both lie on one limb, mirrored over a line of it.")
    return Pair(replace(a, points=tuple(spots)), replace(b, points=tuple(mirrored)), points, alike,
                (tuple(more_a), tuple(more_b)))


def papers_of(two: Pair) -> list[tuple[Stencil, str]]:
    """Every stencil of a pair with what tells it apart: its side, and the part where it lies beyond a seam."""
    names = ("", "twin") if two.here.part == two.there.part else tuple(
        s.part.split("_")[0] for s in (two.here, two.there))
    out = []
    for own, side, beyond in zip((two.here, two.there), names, two.beyond, strict=True):
        out.append((own, side))
        out += [(s, ", ".join(v for v in (s.part.replace("_", " "), side) if v)) for s in beyond]
    return out


def cut_alike(two: Pair, limits: Limits, way: str = "auto") -> list[tuple[Stencil, Cut, str]]:
    """Every stencil of a pair with its papers and what tells it apart. Left to itself, one side may stay whole where
    the other is just past what is put up with; then both are cut in the same way."""
    own = [prepare(s, limits, way) for s in (two.here, two.there)]
    other = next((c.way for c in own if c.way != "whole"), "whole")
    if way == "auto" and other != "whole":
        own = [prepare(s, limits, other) if c.way == "whole" else c for s, c in zip((two.here, two.there), own,
                                                                                   strict=True)]
    cuts = {id(s): c for s, c in zip((two.here, two.there), own, strict=True)}
    return [(s, cuts.get(id(s)) or prepare(s, limits, way), side) for s, side in papers_of(two)]


def _spots(s: Stencil, other: Stencil) -> list[tuple[str, float, float]]:
    """Letters near the rim: A above and B below beside the axis, C and D left and right; where both papers, one of
    them mirrored, have room beside the art."""
    x0, y0, x1, y1 = s.outline.bounds
    far = 2 * max(x1 - x0, y1 - y0)

    def mirrored(g: BaseGeometry) -> BaseGeometry:
        return shapely.transform(g, lambda p: p * (-1, 1))

    paper = shapely.intersection(shapely.buffer(s.outline, -2.4), mirrored(shapely.buffer(other.outline, -2.4)))
    art = shapely.buffer(shapely.union(s.body, mirrored(other.body)), 2.4, quad_segs=3)
    free = shapely.difference(paper, art)
    out: list[tuple[str, float, float]] = []
    for letter, start, aim in (("A", (4, 0), (4, far)), ("B", (4, 0), (4, -far)), ("C", (0, 0), (-far, 0)),
                               ("D", (0, 0), (far, 0))):
        hits = shapely.get_coordinates(shapely.intersection(free, shapely.LineString([start, aim])))
        if len(hits):
            p = hits[np.hypot(*(hits - start).T).argmax()]
        elif not free.is_empty:
            rim = shapely.intersection(s.outline, shapely.LineString([start, aim]))
            end = shapely.Point(max(shapely.get_coordinates(rim).tolist(), key=lambda q: np.hypot(*q), default=start))
            p = shapely.get_coordinates(shapely.shortest_line(free, end))[0]
        else:
            continue
        out.append((letter, float(p[0]), float(p[1])))
        free = shapely.difference(free, shapely.Point(p).buffer(8.0))
    return out


def lines_round(part: str) -> tuple[tuple[str, float], ...]:
    """The four landmark lines of a limb, by u in turns."""
    outer = 0.25 if part.startswith("left") else -0.25
    return (("front", 0.0), ("outer", outer), ("back", 0.5), ("inner", -outer))


def where(limb: Limb, part: str, us: np.ndarray, unit: str) -> str:
    """A place on skin (u, s) as two tapes say it: from the nearest level, and round from the nearest line."""
    u, s = float(us[0]), float(us[1])
    level, at = min(landmarks(limb).items(), key=lambda kv: abs(kv[1] - s))
    up = s - at
    along = f"at the {level}" if abs(up) < 0.5 else (
        f"{format_length(abs(up), unit)} {'above' if up > 0 else 'below'} the {level}")
    lines = lines_round(part)
    name, line = min(lines, key=lambda kv: abs((u - kv[1] + 0.5) % 1 - 0.5))
    off = (u - line + 0.5) % 1 - 0.5
    mm = abs(off) * float(limb.girth(s))
    if mm < 0.5:
        return f"{along}, on the {name} line"
    goal = min(lines, key=lambda kv: abs((line + np.copysign(0.25, off) - kv[1] + 0.5) % 1 - 0.5))[0]
    return f"{along}, {format_length(mm, unit)} round from the {name} line towards the {goal} line"


def measure_page(pairs: Sequence[Pair], paper: str = "A4") -> list[Page]:
    """Pages with the points of every pair, to have beside the client."""
    page = frame(paper)
    left, right, top = 20.0, page.width - 20.0, page.height - 24.0
    half = (right - left - 12) / 2
    pages: list[list] = [[]]
    y = top

    def room(mm: float) -> None:
        nonlocal y
        if y - mm < 20:
            pages.append([])
            y = top

    for n, p in enumerate(pairs):
        room(60)
        if n == 0:
            pages[-1].append(Words("note", "Both sides alike: tape these points first", left, y, 15, "head"))
            y -= 8
            for line in wrap("Mark each letter on the skin of both sides, then lay the papers so that their letters "
                             "meet the marks. Client standing at ease.", "text", 9, right - left):
                pages[-1].append(Words("note", line, left, y, 9, grey=0.3))
                y -= 4.4
            y -= 6
        pages[-1].append(Words("note", p.here.title, left, y, 12, "bold"))
        y -= 5
        for line in wrap(p.sentence, "text", 9, right - left):
            pages[-1].append(Words("note", line, left, y, 9, grey=0.3))
            y -= 4.4
        y -= 3
        for k, s in enumerate((p.here, p.there)):
            pages[-1].append(Words("note", part_name(s.part), left + 12 + k * half, y, 9.5, "bold"))
        y -= 6
        for point in p.points:
            columns = [wrap(t, "text", 9.5, half - 5) for t in (point.here, point.there)]
            tall = max(map(len, columns)) * 4.4
            room(tall + 4)
            pages[-1].append(Stroke("note", (np.array([(left, y + 4.6), (right, y + 4.6)]),), 0.15, 0.75))
            pages[-1].append(Words("note", point.letter, left + 2, y, 11, "bold"))
            for k, lines in enumerate(columns):
                pages[-1] += [Words("note", t, left + 12 + k * half, y - 4.4 * i, 9.5) for i, t in enumerate(lines)]
            y -= tall + 3
        y -= 8
    return [Page(page.width, page.height, (Block(tuple(things)),)) for things in pages]
