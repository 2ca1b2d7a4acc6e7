"""Several backgrounds for a whole part to choose among: found beside the page, kept with the plan, taken or let go."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from composer.filler.fabric_plan import THEMES
from composer.filler.whole import Whole, compose_whole
from composer.filler.whole_joined import JoinedWhole
from composer.plan.errors import StepError
from composer.plan.form import piece_to_json
from composer.plan.options import Option, musts_of, option_from_json, option_to_json, options_on
from composer.plan.scene import Laid, lay
from composer.store.store import Kept
from web import findings, goals, wide_options
from web.ask import Ask
from web.desk import Desk, View, new_id
from web.jobs import Job
from web.page import desk_of
from web.pages.desk_steps import Form, acting
from web.paint.ink import ink_css
from web.paint.piece import piece_group, piece_key
from web.paint.table import thumbnail
from web.wide_found import fillers_on, part_with
from web.wide_view import WideView

COUNT = 3
ROUNDS = 4
"""So many rounds of bettering at most, as many of them as end within BEST_S."""
BEST_S = 9.0
PICTURE_MM = 0.4


def find(desk: Desk, pid: str, part: str, name: str, form: dict[str, Any], job: Job) -> str:
    """Draw and weigh options and keep them with the part; returns what to say. Raises StepError."""
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    themes = themes_for(name, bool(form.get("others")))
    made: Sequence[Whole | JoinedWhole]
    if isinstance(view, WideView):
        made = wide_options.found(desk, kept, view, themes, form, ROUNDS, Clock(BEST_S).more, job)
    else:
        made = _found(desk, kept, view, themes, form, job)
    if not made:
        raise StepError("Nothing in these themes keeps the rules in these gaps; try another theme.")
    rows = [option_to_json(as_option(desk, part, w)) for w in made[::-1]]
    desk.store.commit(pid, {"do": "keep_options", "part": part, "options": rows}, "find backgrounds to choose from")
    stopped = " Stopped early: the best so far is kept." if job.stop else ""
    return f"{len(rows)} {'background' if len(rows) == 1 else 'backgrounds'} to choose from.{stopped}"


def _found(desk: Desk, kept: Kept, view: View, themes: list[str], form: dict[str, Any], job: Job) -> list[Whole]:
    """Those of a single part, the best first."""
    _, survey = findings.surveyed(desk, kept, view)
    settings = kept.plan.settings
    return compose_whole(survey.scene, survey, themes, settings.hand, goals.wish_from(form),
                         goals.seed_from(form), ROUNDS, musts_of(kept.plan.part(view.part)), settings, desk.drawers,
                         lambda share: job.progress(share * 0.97), Clock(BEST_S).more,
                         lambda whole: _show_first(job, view, whole))


class Clock:
    """Whether there is time for one more round of bettering, which takes about half of what drawing all once took."""

    def __init__(self, within_s: float) -> None:
        self._start, self._within_s = time.monotonic(), within_s

    def more(self, rounds: int) -> bool:
        """Asked before round number `rounds`, when all was drawn once and that many rounds are done."""
        spent = time.monotonic() - self._start
        return spent * (1.0 + 0.5 / (1.0 + 0.5 * rounds)) <= self._within_s


def _show_first(job: Job, view: View, whole: Whole) -> None:
    """Show the first that is whole with the job, while more are drawn."""
    back = [goals.laid_proposal(view, p) for p in whole.proposals]
    back = [replace(la, piece=replace(la.piece, id=f"first{i}", depth=p.depth))
            for i, (la, p) in enumerate(zip(back, whole.proposals, strict=True))]
    job.about = f"The first: {whole.theme.title.lower()}, {whole.figures['reach']:.0%} of the open skin is reached."
    job.first = _paint(view, back)


def themes_for(name: str, others: bool) -> list[str]:
    """The theme asked for in several layouts, or with other themes beside it."""
    if not others:
        return [name] * COUNT
    return [name, *[n for n in THEMES if n != name][:COUNT - 1]]


def as_option(desk: Desk, part: str, whole: Whole | JoinedWhole) -> Option:
    """What is kept of a background."""
    if isinstance(whole, Whole):
        whole = JoinedWhole(whole.theme, tuple((part, p) for p in whole.proposals), whole.figures)
    data = {"id": new_id("o"), "title": whole.theme.title, "about": whole.theme.about, "figures": whole.figures,
            "pieces": [piece_to_json(p) for p in wide_options.pieces_of(desk, whole)]}
    return option_from_json(part, data)


def picture(request: Request) -> Response:
    """The part with an option on it as a small picture, main pieces in front."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    kept = desk.store.load(pid)
    option = _option(kept, part, request.path_params["option"])
    if option is None:
        raise HTTPException(404, "This option is no longer kept.")
    view = desk.view(kept.plan, kept.revision, part)
    svg = desk.once(("thumb", pid, kept.revision, part, option.id), lambda: _picture(desk, kept, view, option))
    return Response(svg, media_type="image/svg+xml", headers={"Cache-Control": "private, max-age=600"})


def _option(kept: Kept, part: str, name: str) -> Option | None:
    return next((o for o in options_on(kept.plan, part) if o.id == name), None)


def _picture(desk: Desk, kept: Kept, view: View, option: Option) -> str:
    if isinstance(view, WideView):
        return wide_options.picture(desk, kept, view, option.pieces)
    return _paint(view, [lay(view.limb, p, desk.store.gallery[p.art]) for p in option.pieces])


def _paint(view: View, back: list[Laid]) -> str:
    mains = [la for la in view.drawn if not la.piece.is_filler or la.piece.stays]
    row = sorted([*back, *mains], key=lambda la: (not la.piece.is_filler, la.piece.depth))
    groups = [piece_group(la, view.sheet, piece_key(la.piece, view.sheet_name), PICTURE_MM) for la in row]
    return str(Markup(thumbnail(view.sheet, view.part, groups, ink_css(view.plan.settings))))


@acting
def do_take(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Lay an option on the part, in place of the background that is not locked."""
    kept = desk.store.load(pid)
    wanted = str(form.get("option") or "")
    option = _option(kept, part, wanted)
    count = len(option.pieces) if option else 0
    step = {"do": "take_option", "part": part, "id": wanted, "new_ids": [new_id("f") for _ in range(count)]}
    view = desk.view(kept.plan, kept.revision, part)
    if isinstance(view, WideView):
        step["replace_ids"] = fillers_on(kept.plan, view)
    return desk.store.commit(pid, step, f"take {option.title.lower()}" if option else None), []


@acting
def do_drop(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Let an option go."""
    return desk.store.commit(pid, {"do": "drop_option", "part": part, "id": str(form.get("option") or "")}), None


@acting
def do_must(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Mark the open tie as one that background has to carry, or not any more."""
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    key = str(form.get("for") or "")
    tie = findings.of(desk, kept, view).tie(key)
    if tie is None:
        raise StepError("This tie is no longer there: something was moved. Choose another.")
    own = part_with(desk, kept, view, key).part
    step = {"do": "must", "part": own, "a": tie.tie.a, "b": tie.tie.b, "on": form.get("on") == "1"}
    return desk.store.commit(pid, step, f"{'mark' if step['on'] else 'unmark'} {tie.name.lower()} as a must"), None


_AT = "/plans/{pid}/desk/{part}"
routes = [
    Route(f"{_AT}/options/{{option}}.svg", picture),
    Route(f"{_AT}/take", do_take, methods=["POST"]),
    Route(f"{_AT}/drop", do_drop, methods=["POST"]),
    Route(f"{_AT}/must", do_must, methods=["POST"]),
]
