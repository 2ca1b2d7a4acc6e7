"""Several backgrounds for all of a wide sheet: found over its parts and seams as one, shown as they would lie."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

from markupsafe import Markup

from composer.filler.whole_joined import JoinedWhole, compose_joined
from composer.plan.model import Piece
from composer.plan.options import musts_of
from composer.store.store import Kept
from web import goals
from web.desk import Desk, new_id
from web.jobs import Job
from web.paint.ink import ink_css
from web.paint.table import thumbnail
from web.wide_found import fillers_on, joined_shown
from web.wide_view import WideView, wide_view


def found(desk: Desk, kept: Kept, view: WideView, themes: Sequence[str], form: dict[str, Any], rounds: int,
          more: Callable[[int], bool], job: Job) -> list[JoinedWhole]:
    """Backgrounds over the parts of the sheet and the seams between them, the best first. Raises ValueError with a
    sentence."""
    musts = [m for part in view.views for m in musts_of(kept.plan.part(part))]
    settings = kept.plan.settings
    return compose_joined(joined_shown(desk, kept, view), themes, settings.hand, goals.wish_from(form),
                          goals.seed_from(form), rounds, musts, settings, view.lowest(), desk.drawers,
                          lambda share: job.progress(share * 0.97), more,
                          lambda whole: _show_first(desk, kept, view, job, whole))


def pieces_of(desk: Desk, whole: JoinedWhole) -> list[Piece]:
    """The fillers of a background as pieces, each on its part."""
    return [replace(goals.as_piece(p, part, new_id("f"), desk.store.keep_drawing(p.drawing)), depth=p.depth)
            for part, p in whole.fillers]


def _show_first(desk: Desk, kept: Kept, view: WideView, job: Job, whole: JoinedWhole) -> None:
    pieces = [replace(p, id=f"first{n}") for n, p in enumerate(pieces_of(desk, whole))]
    job.about = f"The first: {whole.theme.title.lower()}, {whole.figures['reach']:.0%} of the open skin is reached."
    job.first = picture(desk, kept, view, pieces)


def picture(desk: Desk, kept: Kept, view: WideView, back: Iterable[Piece], tolerance_mm: float = 0.4) -> str:
    """The sheet with these fillers in the place of the background that is free, as a small picture (SVG)."""
    gone = set(fillers_on(kept.plan, view))
    plan = replace(kept.plan, pieces=(*(p for p in kept.plan.pieces if p.id not in gone), *back))
    shown = wide_view(plan, view.part, desk.store)
    return str(Markup(thumbnail(shown.sheet, view.part, shown.groups(None, tolerance_mm), ink_css(plan.settings))))
