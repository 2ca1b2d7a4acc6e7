"""What a window says of itself with every request: what is selected, which step, which pictures it has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from composer.json_in import read_json

MODES = ("compose", "tie-in")
MOST_GOAL = 1200
"""Characters of an open goal: a stroke of the brush over three parts is the longest."""


@dataclass(frozen=True)
class Ask:
    """`have`: picture key by piece id. `goal`: the gap or tie that is open, e.g. 'gap:3', or ''.
    `early`: the page is wanted at once, before gaps were looked for. `gaps`: whether they are seen."""

    selected: tuple[str, ...] = ()
    mode: str = "compose"
    goal: str = ""
    have: dict[str, str] = field(default_factory=dict)
    early: bool = False
    gaps: bool = True


def ask_of(form: Mapping[str, Any]) -> Ask:
    """Read it from a form or query; whatever can't be read counts as not said."""
    mode = str(form.get("mode") or "compose")
    return Ask(tuple(str(form.get("sel") or "").split()), mode if mode in MODES else "compose",
               str(form.get("goal") or "")[:MOST_GOAL], _strings(form.get("have")), False, form.get("gaps") != "0")


def _strings(text: Any) -> dict[str, str]:
    try:
        data = read_json(text or "{}")
    except ValueError:
        return {}
    return {str(k): str(v) for k, v in data.items()} if isinstance(data, dict) else {}
