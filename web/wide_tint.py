"""Overlays of a wide sheet: those of its parts, each as far as the part shows."""

from __future__ import annotations

from dataclasses import replace

from composer.store.store import Kept
from web import tint
from web.desk import Desk, View
from web.places import limb_word
from web.tint import Tint
from web.wide_found import clipped
from web.wide_view import WideView

SIDES = ("best", "front", "back", "left side", "right side")
"""From where a wide sheet is looked at: of an arm the outer or the inner side, as it hangs on the client's left or
right."""


def choices_of(view: WideView) -> dict[str, dict[str, str]]:
    """What can be laid over it: whatever one of its parts has."""
    out: dict[str, dict[str, str]] = {}
    for part in view.views.values():
        for what, choices in tint.choices_of(part).items():
            out[what] = out.get(what, {}) | choices
    order = {"worst": 0, "relaxed": 1, "flexed": 2, "bent": 3}
    out["stretch"] = dict(sorted(out["stretch"].items(), key=lambda c: order.get(c[0], 4)))
    if "seen" in out:
        out["seen"] = {k: {"best": "Best side"}.get(k, k.capitalize()) for k in SIDES}
    return out


def own_choice(part: str, what: str, choice: str) -> str:
    """What a choice of the wide sheet is on one of its parts."""
    if what == "seen" and choice.endswith("side") and part.endswith("arm"):
        return "outer" if choice.split()[0] == part.split("_")[0] else "inner"
    return choice


def hung(desk: Desk, kept: Kept, view: WideView) -> list[View]:
    """Its parts with all that lies on them, each on its place of the wide sheet."""
    out = []
    for name, part in view.views.items():
        own = desk.view(kept.plan, kept.revision, name)
        out.append(replace(own, sheet=part.sheet, sheet_name=f"{part.sheet_name}{view.sheet_name}"))
    return out


def of(desk: Desk, kept: Kept, view: WideView, what: str, choice: str, piece_id: str) -> Tint | None:
    """The overlay over all parts that have it."""
    rows = []
    for part in hung(desk, kept, view):
        own = own_choice(part.part, what, choice)
        if own in tint.choices_of(part).get(what, {}):
            mine = piece_id if part.laid(piece_id) is not None else ""
            got = tint.of(desk, kept, part, what, own, mine)
            if got is not None:
                rows.append((part, got))
    if not rows:
        return None
    leads = next((got for part, got in rows if piece_id and part.laid(piece_id) is not None), rows[-1][1])
    svg = "".join(clipped(got.svg.replace("tint-clip", f"tint-clip-{part.part}"), part.part) for part, got in rows)
    tags = tuple(t for part, got in rows for t in got.tags
                 if view.holding_at(t.x, -t.y) == part.part)
    key = tuple(dict.fromkeys(k for _, got in rows for k in got.key))
    title = f"Seen from the client's {choice}" if choice.endswith("side") else leads.title
    if choice == "best" and not piece_id:
        title = "Each part from the side that shows most of it"
    said = next((got.sentence for part, got in rows if not part.limb.closed), leads.sentence)
    words = sorted({limb_word(part.part) for part, _ in rows})
    less = "" if len(rows) == len(view.views) else f" Here of the {'arms' if words == ['arm'] else words[0]} only."
    return replace(leads, choice=choice, svg=svg, tags=tags, key=key, title=title, sentence=said + less)
