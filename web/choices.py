"""Options of a part and ties marked as musts, as the panel of the Tie in step shows them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from composer.filler.kinds import every_kind
from composer.plan.currents import currents_of
from composer.plan.model import Piece
from composer.plan.options import Option, musts_of, options_on
from composer.store.store import Kept
from web.desk import View
from web.findings import TieShown, listed
from web.paint.table import side_at

JOINTS = {"arm": "elbow", "leg": "knee"}


def currents_shown(kept: Kept, view: View) -> dict[str, Any]:
    """How background runs on the part, as the panel shows it: strokes by where they lie, rings, spiral."""
    now = currents_of(kept.plan.part(view.part))
    strokes = []
    for s in now.strokes:
        u, mm = ((a + b) / 2 for a, b in zip(s[0], s[-1], strict=True))
        strokes.append(f"{side_at(view.part, u)}, {mm / 10:.0f} cm up")
    return {"strokes": strokes, "rings": now.rings, "spiral": now.spiral_deg, "joint": JOINTS.get(view.part[-3:])}


def is_must(kept: Kept, parts: Sequence[str], tie: TieShown) -> bool:
    """Whether a tie of these parts is marked as one that background has to carry."""
    ends = tuple(sorted((tie.tie.a, tie.tie.b)))
    return any(ends in musts_of(kept.plan.part(part)) for part in parts)


def shown(kept: Kept, part: str) -> list[dict[str, Any]]:
    """The options of a part or a wide sheet as cards, the newest first: name, what is said of each, the best marked."""
    options = options_on(kept.plan, part)[::-1]
    best = max((o.figures.get("total", 0.0) for o in options), default=0.0)
    return [{"id": o.id, "title": o.title, "words": words(o), "fillers": len(o.pieces),
             "best": len(options) > 1 and o.figures.get("total", 0.0) == best} for o in options]


def words(option: Option) -> str:
    """Of which kinds an option is, and what it was weighed at."""
    figures = option.figures
    kinds = list(dict.fromkeys(_title(p) for p in option.pieces))
    names = listed(kinds)
    say = [names[:1].upper() + names[1:], f"{figures.get('reach', 0):.0%} of the open skin is reached"]
    cv = figures.get("void_cv", 0.0)
    say.append("open skin in even steps" if cv < 0.35 else "open skin that breathes" if cv <= 0.55 else
               "open skin very uneven")
    if figures.get("closed", 1.0) < 0.93:
        say.append(f"{1 - figures['closed']:.0%} of it in wide holes")
    if figures.get("balance", 1.0) < 0.65:
        say.append("dark to one side")
    if figures.get("musts", 1.0) < 0.6:
        say.append("a must is not carried")
    return "; ".join(say) + "."


def _title(piece: Piece) -> str:
    of = every_kind().get(piece.recipe.kind) if piece.recipe else None
    return of.title.lower() if of else "background"
