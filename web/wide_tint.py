"""Overlays of a wide sheet: those of its parts, each as far as the part shows."""

from __future__ import annotations

from dataclasses import replace

from composer.store.store import Kept
from web import tint
from web.desk import Desk, View
from web.tint import Tint
from web.wide_found import clipped
from web.wide_view import WideView

ARMS_ONLY = "Known for the arms only."


def choices_of(view: WideView) -> dict[str, dict[str, str]]:
    """What can be laid over it: what its arms have, what every part has first."""
    arms = [v for v in view.views.values() if v.limb.closed]
    known = tint.choices_of(arms[0]) if arms else {}
    stretch = {"relaxed": "Relaxed"} | {k: v for k, v in known.get("stretch", {}).items() if k != "relaxed"}
    return {"stretch": stretch} | {k: v for k, v in known.items() if k != "stretch"}


def hung(desk: Desk, kept: Kept, view: WideView) -> list[View]:
    """Its parts with all that lies on them, each on its place of the wide sheet."""
    out = []
    for name, part in view.views.items():
        own = desk.view(kept.plan, kept.revision, name)
        out.append(replace(own, sheet=part.sheet, sheet_name=f"{part.sheet_name}{view.sheet_name}"))
    return out


def of(desk: Desk, kept: Kept, view: WideView, what: str, choice: str, piece_id: str) -> Tint:
    """The overlay over all parts that have it."""
    rows = []
    for part in hung(desk, kept, view):
        if choice in tint.choices_of(part).get(what, {}):
            mine = piece_id if part.laid(piece_id) is not None else ""
            got = tint.of(desk, kept, part, what, choice, mine)
            if got is not None:
                rows.append((part, got))
    first = rows[-1][1]
    svg = "".join(clipped(got.svg.replace("tint-clip", f"tint-clip-{part.part}"), part.part) for part, got in rows)
    tags = tuple(t for part, got in rows for t in got.tags
                 if (held := view.holding_at(t.x, -t.y)) is None or held == part.part)
    less = "" if len(rows) == len(view.views) else f" {ARMS_ONLY}"
    return replace(first, svg=svg, tags=tags, sentence=first.sentence + less)
