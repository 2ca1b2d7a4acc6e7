"""Twins and everything that ties in."""

from __future__ import annotations

from starlette.requests import Request
from starlette.routing import Route

from composer.plan.errors import StepError
from composer.plan.form import piece_to_json
from composer.plan.twins import OTHER, make_twin
from composer.store.store import Kept
from web.ask import Ask
from web.desk import Desk, new_id
from web.pages.desk_steps import Form, acting

AXES = {"front": 0.0, "side": 0.25}


@acting
def do_twin(request: Request, form: Form, desk: Desk, pid: str, part: str,
            ask: Ask) -> tuple[Kept, list[str] | None]:
    """Mirror what is selected over a line of this arm, or onto the other arm."""
    plan = desk.store.load(pid).plan
    over, linked = str(form.get("over")), bool(form.get("linked"))
    axis = AXES.get(over)
    if axis is None and over != OTHER.get(part):
        raise StepError("A piece can be mirrored over a line of its arm or onto the other arm.")
    if not ask.selected:
        raise StepError("Nothing is selected; choose a piece on the sheet first.")
    steps = []
    for piece_id in ask.selected:
        twin = make_twin(plan, plan.piece(piece_id), new_id(), axis, linked)
        data = piece_to_json(twin)
        del data["depth"]
        steps.append({"do": "twin", "id": piece_id, "piece": data, "linked": linked})
    step = steps[0] if len(steps) == 1 else {"do": "several", "steps": steps}
    kept = desk.store.commit(pid, step, None if len(steps) == 1 else f"mirror {len(steps)} pieces")
    return kept, [s["piece"]["id"] for s in steps] if axis is not None else None


routes = [Route("/plans/{pid}/desk/{part}/twin", do_twin, methods=["POST"])]
