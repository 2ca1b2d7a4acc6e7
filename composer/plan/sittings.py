"""Which pieces are done in which sitting: a number on each, which only groups what is to be stencilled."""

from __future__ import annotations

from typing import Any

from composer.plan.errors import StepError
from composer.plan.model import Piece, Plan

MOST = 99


def checked_sitting(value: Any, title: str) -> int | None:
    """The number of a sitting, or None. Raises StepError for anything else."""
    if value is None or (isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST):
        return value
    raise StepError(f"The sitting of '{title}' is {value!r}; give a whole number from 1 to {MOST}, or none.")


def sitting_typed(text: str, title: str) -> int | None:
    """The same from what was typed; nothing typed is no sitting."""
    text = text.strip()
    if text and not (text.isascii() and text.isdigit()):
        raise StepError(f"The sitting of '{title}' is given as '{text}'; type a whole number from 1 to {MOST}, or "
                        "leave it empty.")
    return checked_sitting(int(text[:9]) if text else None, title)


def sittings(plan: Plan, part: str | None = None) -> tuple[int, ...]:
    """The numbers that have anything still to be stencilled, on a part or anywhere."""
    return tuple(sorted({p.sitting for p in plan.pieces if p.sitting is not None and _to_do(p, part)}))


def of_sitting(plan: Plan, number: int, part: str | None = None) -> tuple[Piece, ...]:
    """Pieces and fillers of one sitting that are still to be stencilled: planned, neither healed nor freehand."""
    return tuple(p for p in plan.pieces if p.sitting == number and _to_do(p, part))


def _to_do(piece: Piece, part: str | None) -> bool:
    return piece.state == "planned" and part in (None, piece.part)
