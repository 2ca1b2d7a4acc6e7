"""What is to be said of a piece with every answer, in sentences; readings of fit come after it."""

from __future__ import annotations

from dataclasses import dataclass

from composer.plan.model import Piece
from composer.plan.twins import twin_deviation
from composer.store.store import Kept
from web.desk import Desk, View


@dataclass(frozen=True)
class Reading:
    """A sentence; `warn` when the artist should look again."""

    sentence: str
    warn: bool = False


def of(desk: Desk, kept: Kept, view: View, piece: Piece) -> list[Reading]:
    """How far a twin on another part strays, and why."""
    if piece.twin_of and any(p.id == piece.twin_of and p.part != piece.part for p in kept.plan.pieces):
        return [Reading(twin_deviation(kept.plan, piece, desk.store.gallery).sentence)]
    return []
