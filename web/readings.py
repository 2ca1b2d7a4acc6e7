"""What is to be said of a piece and of a part, in sentences."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass

from composer.compose.balance import read_part
from composer.compose.readings import read_piece
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


def natural_size(desk: Desk, piece: Piece) -> tuple[float, float] | None:
    """Natural size range of a piece's motif, mm of the longer side, where it has one."""
    sides = {m.id: m.side for m in desk.store.shelf()}
    side = sides.get(piece.motif or "")
    return (side["min_mm"], side["max_mm"]) if side else None


def of(desk: Desk, kept: Kept, view: View, piece: Piece) -> list[Reading]:
    """How the piece lies, what to look at again, and how far a twin strays and why."""
    out = []
    if not piece.is_filler:
        try:
            settings = view.plan.settings
            found = read_piece(view.scene, piece.id, settings.skin_break_mm, natural_size(desk, piece), settings.unit)
        except Exception:
            log.exception("reading of %s in plan %s", piece.id, kept.plan.id)
            out.append(Reading("How this piece lies could not be worked out.", True))
        else:
            out += [Reading(w, True) for w in found.warnings]
            if not found.warnings:
                out.append(Reading(found.sentence))
    if piece.twin_of and any(p.id == piece.twin_of and p.part != piece.part for p in kept.plan.pieces):
        out.append(Reading(twin_deviation(kept.plan, piece, desk.store.gallery).sentence))
    return out


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
