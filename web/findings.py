"""Gaps, ties and readings of a part as the desk shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from composer.plan.model import Piece
from composer.store.store import Kept
from web.ask import Ask
from web.desk import Desk, View


@dataclass(frozen=True)
class Found:
    """What was found on a part."""

    gaps: tuple[Any, ...] = ()
    ties: tuple[Any, ...] = ()
    overlay: str = ""


def of(desk: Desk, kept: Kept, view: View) -> Found:
    """Gaps and ties of the part as it lies now."""
    return Found()


def readings(desk: Desk, kept: Kept, view: View, piece: Piece) -> list[Any]:
    """What is to be said of a piece."""
    return []


def panel(desk: Desk, kept: Kept, view: View, ask: Ask) -> dict[str, Any]:
    """The panel of the Tie in step."""
    return {"panel": "ties"}
