"""Measure: the tape, field by field; all that is wrong is said at once and nothing is saved half-way."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from composer.body.kinds import fields_of
from composer.body.measures import MeasureError, Problem, refused
from composer.body.panel import Panel
from composer.body.sheet import unroll
from composer.body.surface import build_surface, check_part
from composer.body.tape_drawing import tape_svg
from composer.body.units import MM, LengthError, check_unit, number, parse_length
from composer.body.yoke_fields import TRUNK
from composer.plan.estimated import estimated_of
from composer.plan.flexed import kept_flexed
from composer.plan.model import PANELS, Plan
from composer.plan.twins import OTHER
from composer.store.store import Kept
from web import estimates, flexed
from web.estimates import Body
from web.page import desk_of, page
from web.paint.arm import arm_picture
from web.paint.body import body_svg
from web.paint.colour import skin_of
from web.paint.trunk import panel_picture
from web.places import PART_NAMES, SHOWN, measured_parts
from web.tape_words import at_fields, sources
from web.threads import with_form

Form = dict[str, Any]
TONES = ("#f8e6d8", "#f3dfcc", "#e6c3a5", "#cf9f7b", "#b07d59", "#8a5a3c", "#5f3d2a")
"""Skin tones to choose from, by eye, light to dark."""


START = OTHER | {"chest": "upper_back", "upper_back": "chest"}
"""The part whose measures are a start for those of each part; chest and back share the trunk's."""


def _part(request: Request) -> str:
    part = request.path_params["part"]
    if part not in SHOWN:
        raise HTTPException(404, "This part of the body is not planned here.")
    return part


def _kept_measures(plan: Plan, part: str) -> dict[str, float]:
    return next((p.measures for p in plan.parts if p.name == part), {})


def _unit(form: Form, plan: Plan) -> str:
    try:
        return check_unit(str(form.get("unit") or plan.settings.unit))
    except LengthError:
        return plan.settings.unit


def _context(request: Request, kept: Kept, part: str, typed: dict[str, str], unit: str,
             problems: list[Problem], skin: str = "", body: Body | None = None, use: bool = False,
             flex: dict[str, str] | None = None) -> dict[str, Any]:
    plan = kept.plan
    clean, _ = check_part(typed, unit, part) if typed else ({}, [])
    body = body or estimates.body_of_plan(plan, unit)
    guesses = estimates.of(part, clean, body)
    guesses = {n: g for n, g in guesses.items() if not str(typed.get(n) or "").strip()}
    chosen = skin if skin and skin_of(replace(plan.settings, skin=skin)) == skin else skin_of(plan.settings)
    other = START[part]
    measured = set(measured_parts(plan))
    return {
        "plan": plan, "kept": kept, "part": part, "mode": "measure", "unit": unit, "units": list(MM),
        "fields": fields_of(part), "typed": typed, "problems": at_fields(problems, typed), "refused": refused(problems),
        "other": other, "other_measured": other in measured, "measured": part in measured,
        "sources": sources(problems, {f.name: f.label for f in fields_of(part)}),
        "tapes": {f.name: Markup(tape_svg(f.name, part)) for f in fields_of(part)},
        "body": body_svg(plan.id, part, "measure", measured, chosen), "skin": chosen,
        "tones": [*TONES, *([] if chosen in TONES else [chosen])],
        "flexed": flexed.shown(part, flexed.typed_of(plan, part, unit) if flex is None else flex),
        "extra": sorted(((n, v) for n, v in typed.items() if n.startswith("girth@")), key=lambda it: _up(it[0])),
        "look": _look(estimates.whole(part, clean, guesses) if guesses else clean, part, chosen),
        "person": body, "sexes": estimates.SEXES, "guesses": guesses, "use": use,
        "guess_source": min((g.from_what for g in guesses.values()), key=len, default=""),
        "guess_words": {n: estimates.words(g, unit) for n, g in guesses.items()},
    }


def _up(name: str) -> float:
    try:
        return float(name.partition("@")[2])
    except ValueError:
        return 0.0


def _look(clean: dict[str, float], part: str, skin: str) -> Markup:
    """The arm unrolled from what can be used so far, or nothing when it makes no arm yet."""
    try:
        limb = build_surface(part, clean)
    except (MeasureError, ValueError):
        return Markup("")
    if isinstance(limb, Panel):
        return Markup(panel_picture(unroll(limb), limb, part, skin))
    return Markup(arm_picture(unroll(limb), limb, part, skin))


def show(request: Request) -> Response:
    part = _part(request)
    kept = desk_of(request).store.load(request.path_params["pid"])
    unit = kept.plan.settings.unit
    marked = _marked(kept.plan, part)
    typed = {n: number(v, unit) for n, v in _kept_measures(kept.plan, part).items() if n not in marked}
    problems = _remarks(typed, unit, part) if typed else []
    problems += flexed.read(kept.plan, part, flexed.typed_of(kept.plan, part, unit), _kept_measures(kept.plan, part),
                            unit)[1]
    return page(request, "measure.html", _context(request, kept, part, typed, unit, problems, use=bool(marked)) | {
        "first": "first" in request.query_params, "sentence": ""})


def _marked(plan: Plan, part: str) -> set[str]:
    """Names of the part's measures that are estimates."""
    return next((set(estimated_of(p)) for p in plan.parts if p.name == part), set())


def _remarks(typed: dict[str, Any], unit: str, part: str) -> list[Problem]:
    """Problems of fields that have something in them."""
    has = {n for n, v in typed.items() if str(v).strip()}
    return [p for p in check_part(typed, unit, part)[1] if p.field in has]


def _typed(form: Form, part: str) -> dict[str, str]:
    names = {f.name for f in fields_of(part)}
    return {k: str(v) for k, v in form.items()
            if k in names or (k.startswith("girth@") and str(v).strip())}


def _exact(plan: Plan, part: str, typed: dict[str, str], unit: str) -> dict[str, str | float]:
    """What was typed, save that an untouched field keeps its exact mm instead of the rounded figure."""
    was = _kept_measures(plan, part)
    out: dict[str, str | float] = {}
    for name, text in typed.items():
        same = name in was and text.strip() == number(was[name], unit)
        out[name] = f"{was[name]:.6f} mm" if same else text
    return out


@with_form
def look(request: Request, form: Form) -> Response:
    """While typing: the arm as it would unroll, and remarks on fields that have something in them."""
    part = _part(request)
    kept = desk_of(request).store.load(request.path_params["pid"])
    unit, typed, flex = _unit(form, kept.plan), _typed(form, part), flexed.typed_in(form, part)
    was = str(form.get("was_unit") or unit)
    if was != unit and was in MM:
        typed, flex = ({n: _other_unit(v, was, unit) for n, v in row.items()} for row in (typed, flex))
    typed = _with_girth(form, typed, unit)
    exact = _exact(kept.plan, part, typed, unit)
    problems = _remarks(exact, unit, part)
    problems += flexed.read(kept.plan, part, flex, check_part(exact, unit, part)[0], unit)[1]
    body = estimates.body_of_form(form, unit, was if was in MM else "")
    context = _context(request, kept, part, typed, unit, problems, str(form.get("skin") or ""), body,
                       bool(form.get("use")), flex)
    return page(request, "parts/measure_form.html", context | {"sentence": "", "first": False})


def _with_girth(form: Form, typed: dict[str, str], unit: str) -> dict[str, str]:
    """A further girth, named by how far up it was taped."""
    up, girth = str(form.get("new_up") or "").strip(), str(form.get("new_girth") or "").strip()
    if not (up and girth):
        return typed
    try:
        return {**typed, f"girth@{parse_length(up, unit, 'The height of the further girth'):g}": girth}
    except LengthError:
        return typed


def _other_unit(text: str, was: str, unit: str) -> str:
    try:
        return number(parse_length(text, was), unit)
    except LengthError:
        return text


@with_form
def save(request: Request, form: Form) -> Response:
    """All or nothing. Raises nothing: whatever is wrong stands at its field."""
    part = _part(request)
    desk, pid = desk_of(request), request.path_params["pid"]
    kept = desk.store.load(pid)
    unit, typed = _unit(form, kept.plan), _with_girth(form, _typed(form, part), _unit(form, kept.plan))
    body, use, guesses = estimates.body_of_form(form, unit), bool(form.get("use")), {}
    clean, problems = check_part(_exact(kept.plan, part, typed, unit), unit, part)
    if use:
        guesses = {n: g for n, g in estimates.of(part, clean, body).items() if not str(typed.get(n) or "").strip()}
        whole = estimates.whole(part, clean, guesses)
        again = {n: f"{v:.6f} mm" for n, v in whole.items()} | {
            n: v for n, v in _exact(kept.plan, part, typed, unit).items() if str(v).strip()}
        clean, problems = check_part(again, unit, part)
    problems += [Problem(n, words) for n, words in body.faults.items()]
    flex = flexed.typed_in(form, part)
    flexed_mm, remarks = flexed.read(kept.plan, part, flex, clean, unit)
    problems += remarks
    if not refused(problems):
        try:
            build_surface(part, clean)
        except ValueError as err:
            problems = [*problems, Problem("", str(err))]
    if refused(problems):
        wrong = sum(p.severity == "refuse" for p in problems)
        words = f"Nothing was saved yet: {wrong} {'measure needs' if wrong == 1 else 'things need'} another look."
        context = _context(request, kept, part, typed, unit, problems, str(form.get("skin") or ""), body, use, flex)
        missing = sum(n in context["guesses"] for n in context["problems"])
        if missing and not use:
            words = f"{words} Tape what is missing, or let it be estimated below."
        return page(request, "parts/measure_form.html", context | {"sentence": words, "first": False}, status=422)
    steps: list[dict[str, Any]] = []
    marks = estimates.marks(guesses)
    if clean != _kept_measures(kept.plan, part) or unit != kept.plan.settings.unit or \
            set(marks) != _marked(kept.plan, part):
        steps.append({"do": "measure", "part": part, "measures": clean, "unit": unit, "estimated": marks})
    if flexed_mm != next((kept_flexed(p) for p in kept.plan.parts if p.name == part), {}):
        steps.append({"do": "flexed", "part": part, "set": flexed_mm})
    if body.kept() != estimates.body_of_plan(kept.plan, unit).kept():
        steps.append({"do": "settings", "set": {estimates.KEY: body.kept()}})
    if form.get("skin") and form["skin"] != kept.plan.settings.skin:
        steps.append({"do": "settings", "set": {"skin": str(form["skin"])}})
    if steps:
        desk.store.commit(pid, {"do": "several", "steps": steps}, f"measure the {part.replace('_', ' ')}")
    if request.headers.get("hx-request") == "true":
        return Response(status_code=200, headers={"HX-Redirect": f"/plans/{pid}/compose/{part}"})
    return RedirectResponse(f"/plans/{pid}/compose/{part}", 303)


@with_form
def copy(request: Request, form: Form) -> Response:
    """The measures of the other arm as a start; nothing is saved until it is checked by tape."""
    part = _part(request)
    kept = desk_of(request).store.load(request.path_params["pid"])
    unit = _unit(form, kept.plan)
    other = START[part]
    guessed = _marked(kept.plan, other)
    given = {n: v for n, v in _kept_measures(kept.plan, other).items()
             if n not in guessed and (part not in PANELS or n in TRUNK)}
    typed = {n: number(v, unit) for n, v in given.items()}
    words = (f"These are the measures of the {PART_NAMES[other].lower()}. The two differ, often by 5 to 15 mm "
             "(common practice, no published source): tape this one too.")
    if part in PANELS:
        words = (f"Chest, lower edge and the way between them are those of the {PART_NAMES[other].lower()}: one tape "
                 "goes round both. Tape the rest.")
    context = _context(request, kept, part, typed, unit, _remarks(typed, unit, part),
                       body=estimates.body_of_form(form, unit))
    return page(request, "parts/measure_form.html", context | {"sentence": words, "first": False})


routes = [
    Route("/plans/{pid}/measure/{part}", show),
    Route("/plans/{pid}/measure/{part}", save, methods=["POST"]),
    Route("/plans/{pid}/measure/{part}/look", look, methods=["POST"]),
    Route("/plans/{pid}/measure/{part}/copy", copy, methods=["POST"]),
]

