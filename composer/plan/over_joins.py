"""What is seen on a part: its own pieces, and those of its neighbours that lie over a join.

A piece stays one piece of the plan, anchored where it was put; here it is laid once more, as the
rigid paper that it is, in the part that it reaches into.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from composer.art.drawing import Drawing
from composer.body.joins import Carried, Join, carry_outline, hang, join_parts, joins_of, parts_met
from composer.body.surface import Surface
from composer.kept import Kept
from composer.plan.model import PANELS, Piece, Plan
from composer.plan.scene import Laid, Scene, lay, scene, scene_of
from composer.plan.twins import surface_of

if TYPE_CHECKING:
    import networkx as nx

SEAM_PAPER_MM = 45.0
"""How far paper hung over a seam for a filler reaches to either side."""
SURE_MM, POOR_MM = 3.0, 8.0
"""Up to the first mismatch a stencil laid over a join lies well enough; from the second it can't lie there.
The first is the tape's own error (facts/geometry.md), the second is common practice, no published source."""


@dataclass(frozen=True)
class Leaning:
    """A piece as it lies in a part that it reaches into. `laid` has the same piece id; its piece says
    `part` and the place on this part where the paper is hung, its `flat` the drawing in that paper.
    `home` is the part where it is anchored, `carried` the way over, `sentence` what to know, or ''."""

    laid: Laid
    home: str
    join: str
    carried: Carried
    sentence: str


def joins_in(plan: Plan) -> nx.MultiGraph:
    """The joins of the parts that a plan has measured."""
    return _joined(tuple((p.name, surface_of(plan, p.name)) for p in plan.parts))


@lru_cache(maxsize=16)
def _joined(surfaces: tuple[tuple[str, Surface], ...]) -> nx.MultiGraph:
    return join_parts(dict(surfaces))


def joins_at(plan: Plan, part: str) -> list[Join]:
    """The joins of one part of a plan, by name. Of the other parts only those are built that it meets."""
    near = parts_met(part) | {part}
    return joins_of({p.name: surface_of(plan, p.name) for p in plan.parts if p.name in near}, part)


@dataclass(frozen=True)
class Seen:
    """A part as it is seen: its scene with what leans in from its neighbours, back to front, and of the pieces that
    lean in the details by id."""

    scene: Scene
    leaning: dict[str, Leaning]


def pieces_seen_on(
    plan: Plan, part: str, gallery: Mapping[str, Drawing]
) -> tuple[tuple[Laid, ...], tuple[Leaning, ...]]:
    """Own pieces of the part laid on it, and those that lean over a join into it, back to front each."""
    surface = surface_of(plan, part)
    own = tuple(lay(surface, p, gallery[p.art]) for p in plan.on(part))
    leaning: list[Leaning] = []
    for join in joins_at(plan, part):
        home = join.sides(part)[1].part
        for piece in plan.on(home):
            found = _lean(join, home, lay(surface_of(plan, home), piece, gallery[piece.art]))
            if found is not None:
                leaning.append(found)
    leaning.sort(key=lambda x: (x.laid.piece.depth, x.laid.piece.id, x.join))
    return own, tuple(leaning)


def scene_with_neighbours(plan: Plan, part: str, gallery: Mapping[str, Drawing]) -> Scene:
    """The part's scene with what leans in from its neighbours, back to front: what gaps, clip and print need."""
    return seen_on(plan, part, gallery).scene


def seen_on(plan: Plan, part: str, gallery: Mapping[str, Drawing]) -> Seen:
    """The part with what leans in from its neighbours. Raises KeyError or ValueError with a sentence when the part
    or a drawing is missing."""
    surface = surface_of(plan, part)
    if not any(p.name in PANELS for p in plan.parts):  # limbs alone meet nowhere
        return Seen(scene(plan, part, surface, gallery), {})
    own, leaning = pieces_seen_on(plan, part, gallery)
    laid = {x.piece.id: x for x in own}
    over: dict[str, Leaning] = {}
    for x in sorted(leaning, key=lambda x: x.carried.mismatch_mm):  # over two joins: by the one it lies over best
        if laid.setdefault(x.laid.piece.id, x.laid) is x.laid:
            over[x.laid.piece.id] = x
    rows = tuple(sorted(laid.values(), key=lambda x: (x.piece.depth, x.piece.id)))
    return Seen(scene_of(plan, part, surface, rows), over)


@dataclass(frozen=True, eq=False)
class _Over:
    """A drawing carried over a join, or not (None); what it was made from is held, so that its ids stand."""

    join: Join
    flat: Drawing
    carried: Carried | None
    there: Drawing
    rings: tuple[np.ndarray, ...]


_over: Kept[_Over] = Kept(300_000, lambda over: over.flat.points, least=100)
"""Drawings that lean over a join (or don't), so many vertices of them: they lie as they did until they are moved."""


def _carry(join: Join, home: str, laid: Laid, share: float | None) -> _Over:
    carried = (carry_outline(join, home, laid.patch, laid.flat.silhouette) if share is None else
               hang(join, home, laid.patch, share, SEAM_PAPER_MM))
    if carried is None:
        return _Over(join, laid.flat, None, laid.flat, ())
    flat = laid.flat.moved(carried.matrix)
    return _Over(join, laid.flat, carried, flat, tuple(carried.patch.to_skin(r) for r in flat.silhouette))


def _lean(join: Join, home: str, laid: Laid) -> Leaning | None:
    here, there = join.sides(home)
    us = np.concatenate(laid.rings)
    lo, hi = here.us.min(axis=0), here.us.max(axis=0)
    off = (us.max(axis=0) < lo) | (us.min(axis=0) > hi)
    if off[1] or (off[0] and not here.surface.closed):   # round a limb another turn is the same place
        return None
    share = hung_share(laid.piece, join)
    over = _over.once((id(join), home, id(laid.flat), laid.patch, share), lambda: _carry(join, home, laid, share))
    if over.carried is None:
        return None
    carried, flat, rings = over.carried, over.there, over.rings
    piece = replace(laid.piece, part=there.part, u=carried.patch.u0, s_mm=carried.patch.s0_mm)
    lies = Laid(piece, flat, carried.patch, rings, laid.piece)
    return Leaning(lies, home, join.name, carried, _say(laid, join, carried))


def hung_share(piece: Piece, join: Join) -> float | None:
    """Where on the join the paper hangs that a filler over it was drawn in (see `composer.filler.over_seam`); None for
    another piece, and for one that has been moved since."""
    goal = piece.recipe.goal if piece.recipe else {}
    if goal.get("seam") != join.name or (piece.turn_deg, piece.scale, piece.flip) != (0.0, 1.0, False):
        return None
    u, s = goal["at"]
    return float(goal["share"]) if abs(u - piece.u) < 1e-6 and abs(s - piece.s_mm) < 1e-3 else None


def _say(laid: Laid, join: Join, carried: Carried) -> str:
    if carried.mismatch_mm <= SURE_MM:
        return ""
    how = (
        f"paper would have to open by up to {carried.open_mm:.0f} mm"
        if carried.open_mm >= carried.fold_mm
        else f"paper would have to fold away up to {carried.fold_mm:.0f} mm"
    )
    do = (
        "slit the stencil along the seam, or draw that part freehand"
        if carried.mismatch_mm < POOR_MM
        else "it can't lie there: draw across the seam freehand, or move the piece off it"
    )
    return f"'{laid.piece.title}' lies over the {join.name}, where {how}: {do}."
