"""Tie in the whole sleeve: a theme, progress, and the result as one step, or as options to choose among."""

from __future__ import annotations

from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from composer.filler.fabric import tie_in
from composer.filler.fabric_plan import THEMES
from composer.plan.errors import StepError
from composer.plan.form import piece_to_json
from web import findings, goals, wide_goal
from web.desk import Desk, new_id
from web.jobs import Job
from web.page import desk_of, page
from web.pages.options import find
from web.threads import with_form
from web.wide_view import WideView


def work(desk: Desk, pid: str, part: str, theme: str, form: dict[str, Any], job: Job) -> str:
    """Draw the fabric and commit it; returns what to say. Raises ValueError with a sentence."""
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    if isinstance(view, WideView):
        return wide_goal.tie_in_all(desk, kept, view, theme, form, job)
    found, survey = findings.surveyed(desk, kept, view)
    settings = kept.plan.settings
    made = tie_in(survey.scene, survey, theme, settings.hand, goals.wish_from(form), goals.seed_from(form),
                  lambda share: job.progress(share * 0.96), settings, desk.drawers)
    if not made:
        raise StepError("Nothing in this theme keeps the rules in these gaps; try another theme or a smaller size.")
    pieces = []
    for proposal in made:
        piece = goals.as_piece(proposal, part, new_id("f"), desk.store.keep_drawing(proposal.drawing))
        pieces.append({**piece_to_json(piece), "depth": proposal.depth})
    old = [p.id for p in kept.plan.on(part) if p.is_filler and not p.stays] if form.get("replace") else []
    desk.store.commit(pid, {"do": "tie_in", "pieces": pieces, "replace_ids": old},
                      f"tie in the {part.replace('_', ' ')}, {THEMES[theme].title.lower()}")
    stopped = " Stopped before the rest was drawn." if job.stop else ""
    return (f"{THEMES[theme].title}: {len(pieces)} {'filler' if len(pieces) == 1 else 'fillers'} over "
            f"{len(found.gaps)} gaps.{stopped} Each can be moved, changed or deleted; Undo takes all of it back.")


@with_form
def start(request: Request, form: dict[str, Any]) -> Response:
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    theme = str(form.get("theme") or "")
    if theme not in THEMES:
        raise StepError("Choose a theme first.")
    desk.store.load(pid)
    do = find if form.get("find") else work
    job = desk.jobs.start((pid, part), lambda job: do(desk, pid, part, theme, form, job))
    return _show(request, job, pid, part)


def look(request: Request) -> Response:
    job = desk_of(request).jobs.get(request.path_params["job"])
    if job is None:
        raise HTTPException(404, "This work is no longer known; start it again.")
    return _show(request, job, request.path_params["pid"], request.path_params["part"])


def first(request: Request) -> Response:
    """A picture of the first that was whole, while the rest is drawn."""
    job = desk_of(request).jobs.get(request.path_params["job"])
    if job is None or not job.first:
        raise HTTPException(404, "There is no picture of this work yet.")
    return Response(job.first, media_type="image/svg+xml", headers={"Cache-Control": "private, max-age=600"})


@with_form
def halt(request: Request, form: dict[str, Any]) -> Response:
    job = desk_of(request).jobs.get(request.path_params["job"])
    if job is None:
        raise HTTPException(404, "This work is no longer known; start it again.")
    job.stop = True
    return _show(request, job, request.path_params["pid"], request.path_params["part"])


def _show(request: Request, job: Job, pid: str, part: str) -> Response:
    return page(request, "parts/progress.html", {"job": job, "base": f"/plans/{pid}/desk/{part}"})


_AT = "/plans/{pid}/desk/{part}/whole"
routes = [
    Route(_AT, start, methods=["POST"]),
    Route(f"{_AT}/{{job}}", look),
    Route(f"{_AT}/{{job}}/first.svg", first),
    Route(f"{_AT}/{{job}}/stop", halt, methods=["POST"]),
]
