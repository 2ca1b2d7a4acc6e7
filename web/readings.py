"""What is to be said of one piece, in sentences, from what its placing does to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.body.units import format_length
from composer.plan.model import Piece
from composer.plan.twins import twin_deviation
from composer.store.store import Kept
from web.desk import Desk, View

WARN, SLIT = 0.05, 0.10
"""Stretch at which to warn and at which paper can't be laid (common practice, no published source)."""


@dataclass(frozen=True)
class Reading:
    """A sentence; `warn` when the artist should look again."""

    sentence: str
    warn: bool = False


def of(desk: Desk, kept: Kept, view: View, piece: Piece) -> list[Reading]:
    """Stretch of the paper, skin beyond the sheet, and how far a twin strays."""
    laid = view.laid(piece.id)
    if laid is None:
        return []
    out = []
    ring = np.concatenate(laid.rings)
    low, high = max(ring[:, 1].min(), view.limb.s_min), min(ring[:, 1].max(), view.limb.s_max)
    if high > low:
        worst = float(np.abs(laid.patch.strain(view.limb, np.linspace(low, high, 60))).max())
        if worst >= SLIT:
            out.append(Reading(f"Paper would have to stretch {worst:.0%} here; plan a slit or draw it freehand.", True))
        elif worst >= WARN:
            out.append(Reading(f"Paper would have to stretch {worst:.0%} here; press it down from the middle.", True))
    over = max(view.limb.s_min - ring[:, 1].min(), ring[:, 1].max() - view.limb.s_max)
    if over > 0.5:
        edge = "wrist" if view.limb.s_min - ring[:, 1].min() >= ring[:, 1].max() - view.limb.s_max else "top of the arm"
        out.append(Reading(f"It runs {format_length(over, view.plan.settings.unit)} past the {edge} of the sheet.", True))
    if np.ptp(ring[:, 0]) > 1.0:
        out.append(Reading("It is wider than the arm is round, so it meets itself.", True))
    if piece.twin_of and any(p.id == piece.twin_of and p.part != piece.part for p in kept.plan.pieces):
        out.append(Reading(twin_deviation(kept.plan, piece, desk.store.gallery).sentence))
    return out
