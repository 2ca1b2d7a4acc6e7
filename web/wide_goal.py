"""Tie in on a wide sheet: its panel, and all of it at once."""

from __future__ import annotations

from typing import Any

from composer.body.joins_wide import PAIRS
from composer.filler.fabric_plan import THEMES
from composer.filler.over_seam import tie_in_joined
from composer.plan.errors import StepError
from composer.plan.form import piece_to_json
from composer.store.store import Kept
from web import brush, choices, findings, goals, pulling, wide_stroke
from web.ask import Ask
from web.desk import Desk, new_id
from web.jobs import Job
from web.places import WIDE_WORDS
from web.wide_found import fillers_on, is_seam, joined_shown, part_with
from web.wide_view import WideView


def panel(desk: Desk, kept: Kept, view: WideView, ask: Ask) -> dict[str, Any]:
    """The gap, tie or stroke that is open on a wide sheet, as on its own part; else all that can be done here."""
    found = findings.for_page(desk, kept, view, ask.early)
    gap, tie, fault = found.gap(ask.goal), found.tie(ask.goal), ""
    also: list[tuple[str, findings.GapShown]] = []
    if brush.is_brush(ask.goal) and not ask.early:
        try:
            gap, also = wide_stroke.shown(desk, kept, view, ask.goal)
        except StepError as err:
            fault = str(err)
    if gap is None and tie is None:
        own_parts = tuple(view.views)
        return {"panel": "wide", "options": choices.shown(kept, view.part),
                "musts": {t.key for t in found.ties if choices.is_must(kept, own_parts, t)},
                "lost": bool(ask.goal) and not found.late and not fault, "fault": fault,
                "parts": list(own_parts), "themes": goals.tie_themes(), "background": len(fillers_on(kept.plan, view)),
                "brush_mm": brush.USUAL_MM, "strayed": pulling.strayed(kept.plan, own_parts)}
    own = part_with(desk, kept, view, ask.goal)
    shown = goals.panel(desk, kept, own, ask) if not is_seam(ask.goal) else goals.kinds_for(gap)
    must = tie is not None and choices.is_must(kept, tuple(view.views), tie)
    return shown | {"must": must} | {"panel": "goal", "gap": gap, "tie": tie, "also": also}


def tie_in_all(desk: Desk, kept: Kept, view: WideView, theme: str, form: dict[str, Any], job: Job) -> str:
    """Draw one theme over all parts of the sheet and over the seams between them, and commit it; returns what to
    say. Raises ValueError with a sentence."""
    joined = joined_shown(desk, kept, view)
    made = tie_in_joined(joined, theme, kept.plan.settings.hand, goals.wish_from(form), goals.seed_from(form),
                         lambda share: job.progress(share * 0.96), kept.plan.settings, view.lowest(), desk.drawers)
    if not made:
        raise StepError("Nothing in this theme keeps the rules in these gaps; try another theme or a smaller size.")
    pieces = []
    for part, proposal in made:
        piece = goals.as_piece(proposal, part, new_id("f"), desk.store.keep_drawing(proposal.drawing))
        pieces.append({**piece_to_json(piece), "depth": proposal.depth})
    old = fillers_on(kept.plan, view) if form.get("replace") else []
    desk.store.commit(kept.plan.id, {"do": "tie_in", "pieces": pieces, "replace_ids": old},
                      f"tie in {WIDE_WORDS[view.part]}, {THEMES[theme].title.lower()}")
    where = "seam" if view.part in PAIRS else "armholes"
    over = sum("seam" in p.recipe.goal for _, p in made)
    stopped = " Stopped before the rest was drawn." if job.stop else ""
    return (f"{THEMES[theme].title}: {len(pieces)} fillers, {over} of them over the {where}.{stopped} Each can be "
            "moved, changed or deleted; Undo takes all of it back.")

