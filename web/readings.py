"""What is to be said of a piece and of a part with every answer, in sentences; readings of fit come after it."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass

from composer.compose.balance import read_part
from composer.plan.model import Piece
from composer.plan.twins import twin_deviation
from composer.store.store import Kept
from web.desk import Desk, View

log = logging.getLogger("sleevewright.web")


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


def of_part(desk: Desk, kept: Kept, view: View) -> Sequence[str]:
    """Cover and tones of the whole part, in sentences."""
    def make() -> Sequence[str]:
        tones = {m.id: m.side["tones"] for m in desk.store.shelf()}
        by_piece = {la.piece.id: tones[la.piece.motif] for la in view.scene.laid if la.piece.motif in tones}
        try:
            return read_part(view.scene, by_piece).sentences
        except Exception:
            log.exception("reading of %s in plan %s", view.part, kept.plan.id)
            return ("Cover and tones of this arm could not be worked out.",)
    return desk.once(("part reading", view.plan.id, kept.revision, view.part), make)
