"""The panel of the Tie in step: what is open, and what is proposed for it."""

from __future__ import annotations

from typing import Any

from composer.store.store import Kept
from web import findings
from web.ask import Ask
from web.desk import Desk, View


def panel(desk: Desk, kept: Kept, view: View, ask: Ask) -> dict[str, Any]:
    """The list of ties, or the gap or tie that is open."""
    found = findings.of(desk, kept, view)
    gap, tie = found.gap(ask.goal), found.tie(ask.goal)
    if gap is None and tie is None:
        return {"panel": "ties", "lost": bool(ask.goal)}
    return {"panel": "goal", "gap": gap, "tie": tie}
