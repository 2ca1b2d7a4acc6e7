"""Pieces whose drawings can't be read are left out of what is printed; the rest is printed, and the artist is told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from composer.plan.model import Piece, Plan
from composer.store.errors import DrawingError

T = TypeVar("T")


@dataclass(frozen=True)
class Lost:
    """A piece whose drawing can't be read, and what is wrong with that, as `DrawingError.how` has it."""

    piece: Piece
    how: str

    def told(self, chosen: Sequence[str]) -> str:
        """What that comes to where the pieces with the ids `chosen` were asked for."""
        if self.piece.id in chosen:
            return f"'{self.piece.title}' is left out: its drawing {self.how}"
        return (f"The drawing of '{self.piece.title}' {self.how} Until then nothing of it is marked, and what lies "
                "behind it is printed whole.")


def without_lost(plan: Plan, make: Callable[[Plan, tuple[Lost, ...]], T]) -> tuple[T, tuple[Lost, ...]]:
    """What `make` makes of a plan without the pieces that it meets and whose drawings can't be read (its second
    argument), and those pieces."""
    lost: tuple[Lost, ...] = ()
    while True:
        try:
            return make(plan, lost), lost
        except DrawingError as err:
            gone = [p for p in plan.pieces if p.art == err.digest]
            if not gone:
                raise
            lost += tuple(Lost(p, err.how) for p in gone)
            plan = replace(plan, pieces=tuple(p for p in plan.pieces if p.art != err.digest))
