"""What is to be said of a piece with every answer, in sentences; readings of fit come after it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from composer.plan.model import PANELS, Piece
from composer.plan.twins import twin_deviation
from composer.store.store import Kept
from web.desk import Desk, View


@dataclass(frozen=True)
class Reading:
    """A sentence; `warn` when the artist should look again."""

    sentence: str
    warn: bool = False


@dataclass(frozen=True)
class Mirrored:
    """A twin on the other arm or leg, or across the midline: how far it lies off an exact mirror image at most, mm."""

    twin: Piece
    origin: Piece
    off_mm: float
    sentence: str


def of(desk: Desk, kept: Kept, view: View, piece: Piece) -> list[Reading]:
    """How far a mirrored piece and its twins stray from an exact mirror image, in mm, and why."""
    return [Reading(row.sentence) for row in mirrored(desk, kept, (piece.id,))]


def mirrored(desk: Desk, kept: Kept, ids: Collection[str]) -> tuple[Mirrored, ...]:
    """Every main twin, among these pieces or mirroring one of them, that could stray: not those mirrored within one
    limb. The worst first."""
    by_id = {p.id: p for p in kept.plan.pieces}
    pairs = [(p, by_id[p.twin_of]) for p in by_id.values() if p.twin_of in by_id and not p.is_filler
             and (p.id in ids or p.twin_of in ids)]
    rows = [_strays(desk, kept, t, o) for t, o in pairs if t.part != o.part or (t.part in PANELS and not t.axis_u)]
    return tuple(sorted(rows, key=lambda r: -r.off_mm))


def _strays(desk: Desk, kept: Kept, twin: Piece, origin: Piece) -> Mirrored:
    skin = tuple((n, tuple(sorted(kept.plan.part(n).measures.items()))) for n in (origin.part, twin.part))
    lies = (origin.art, origin.u, origin.s_mm, origin.turn_deg, origin.scale, origin.flip)
    found = desk.once(("strays", skin, lies), lambda: twin_deviation(kept.plan, twin, desk.store.shown))
    return Mirrored(twin, origin, found.largest_mm, found.sentence)
