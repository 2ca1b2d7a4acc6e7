"""A plan as plain JSON and back. Unknown fields are kept; a newer version is refused in words."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, fields
from functools import lru_cache
from importlib import resources
from typing import Any

from composer.plan.errors import PlanError
from composer.plan.model import FORMAT, VERSION, Hand, Part, Piece, Plan, Recipe, Settings
from composer.plan.shape import shape_of
from composer.plan.titles import printable

HABITS = ("taper", "dark", "wobble", "corner", "density")
"""Fields of the hand that run from 0 to 1."""
OPTIONS = ("options", "wide_options")


@lru_cache(maxsize=1)
def schema() -> dict[str, Any]:
    """The published JSON Schema of a plan file (draft 2020-12)."""
    return json.loads(resources.files("composer.plan").joinpath("plan.schema.json").read_text("utf-8"))


@lru_cache(maxsize=1)
def _validator() -> Any:
    from jsonschema import Draft202012Validator

    return Draft202012Validator(schema())


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """Plain JSON of the plan, with format and version."""
    return {
        **plan.extra, "format": FORMAT, "version": VERSION, "id": plan.id, "title": plan.title,
        "parts": [{**p.extra, "name": p.name, "measures": p.measures, "seam_u": p.seam_u} for p in plan.parts],
        "pieces": [piece_to_json(p) for p in plan.pieces],
        "settings": settings_to_json(plan.settings),
    }


def plan_from_json(data: Any, own: bool = False) -> Plan:
    """The plan in a JSON value. Raises PlanError naming the place that is wrong. `own`: the store wrote it, which read
    every option when it was kept, so that they are not held against the schema again with each step."""
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise PlanError("This is not a plan file: it does not begin with the format 'sleevewright-plan'.")
    _finite(data, ())
    version = data.get("version")
    if isinstance(version, int | float) and version > VERSION:
        raise PlanError(f"This plan was saved by a newer release (plan version {version}; this one reads up to "
                        f"{VERSION}). Update first; the file is left as it is.")
    held = {**data, "parts": [{k: v for k, v in p.items() if k not in OPTIONS} for p in data["parts"]]} if own else data
    wrong = sorted(_validator().iter_errors(held), key=lambda e: list(map(str, e.path)))
    if wrong:
        where = " > ".join(str(p + 1) if isinstance(p, int) else str(p) for p in wrong[0].path) or "the file itself"
        raise PlanError(f"The plan file is damaged at {where}: {wrong[0].message[:200]}.")
    known = {"format", "version", "id", "title", "parts", "pieces", "settings"}
    parts = tuple(Part(p["name"], {k: float(v) for k, v in p["measures"].items()}, float(p.get("seam_u", -0.5)),
                       {k: v for k, v in p.items() if k not in ("name", "measures", "seam_u")})
                  for p in data["parts"])
    pieces = tuple(piece_from_json(p) for p in data["pieces"])
    names = {p.name for p in parts}
    seen: set[str] = set()
    for p in pieces:
        if p.id in seen:
            raise PlanError(f"The plan file is damaged: two pieces have the id '{p.id}'.")
        if p.part not in names:
            raise PlanError(f"The plan file is damaged: '{p.title}' lies on '{p.part}', which has no measures.")
        seen.add(p.id)
    settings = settings_from_json(data.get("settings", {}))
    return Plan(data["id"], printable(data["title"]) or "Plan", parts, pieces, settings,
                {k: v for k, v in data.items() if k not in known})


def _finite(value: Any, path: tuple[Any, ...]) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        where = " > ".join(str(p + 1) if isinstance(p, int) else str(p) for p in path)
        raise PlanError(f"The plan file is damaged at {where}: {value} is not a number that can be used.")
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        _finite(inner, (*path, key))


def piece_to_json(piece: Piece) -> dict[str, Any]:
    """Plain JSON of one piece."""
    names = [f.name for f in fields(Piece) if f.name not in ("extra", "recipe")]
    out = {**piece.extra, **{n: getattr(piece, n) for n in names}}
    if piece.recipe is not None:
        out["recipe"] = asdict(piece.recipe)
    return out


def piece_from_json(data: dict[str, Any]) -> Piece:
    """The piece in a JSON object; unknown fields are kept in `extra`. Raises PlanError."""
    names = {f.name for f in fields(Piece)} - {"extra"}
    known = {k: v for k, v in data.items() if k in names}
    missing = [k for k in ("id", "part", "art", "title", "u", "s_mm") if k not in known]
    if missing:
        raise PlanError(f"A piece lacks '{missing[0]}'.")
    if isinstance(known["title"], str):
        known["title"] = printable(known["title"]) or ("Piece" if known["title"].strip() else "")
    if isinstance(known.get("recipe"), dict):
        r = known["recipe"]
        known["recipe"] = Recipe(str(r["kind"]), int(r["seed"]), dict(r.get("params", {})), dict(r.get("goal", {})))
        shape_of(known["recipe"])   # refused here rather than when it is drawn anew
    return Piece(**known, extra={k: v for k, v in data.items() if k not in names})


def settings_to_json(settings: Settings) -> dict[str, Any]:
    """Plain JSON of the settings."""
    out = {**settings.extra, **{f.name: getattr(settings, f.name) for f in fields(Settings) if f.name != "extra"}}
    out["hand"] = {**settings.extra.get("hand", {}), **asdict(settings.hand)}
    return out


def settings_from_json(data: dict[str, Any]) -> Settings:
    """The settings in a JSON object. Raises PlanError for a margin that cannot be drawn."""
    names = {f.name for f in fields(Settings)} - {"extra"}
    known = {k: v for k, v in data.items() if k in names}
    extra = {k: v for k, v in data.items() if k not in names}
    if isinstance(known.get("hand"), dict):
        own = {f.name for f in fields(Hand)}
        unknown = {k: v for k, v in known["hand"].items() if k not in own}
        extra = {**extra, **({"hand": unknown} if unknown else {})}
        known["hand"] = Hand(**{f.name: float(known["hand"][f.name]) for f in fields(Hand) if f.name in known["hand"]})
    out = Settings(**known, extra=extra)
    for what, value, lo, hi in (("skin break", out.skin_break_mm, 0.5, 10), ("line gap", out.line_gap_mm, 0.5, 10),
                                ("outline width", out.hand.outline_mm, 0.2, 5),
                                ("line width", out.hand.line_mm, 0.2, 5), ("fine width", out.hand.fine_mm, 0.1, 3)):
        if not isinstance(value, int | float) or not lo <= value <= hi:
            raise PlanError(f"The {what} is {value} mm; {lo:g} to {hi:g} mm can be drawn.")
    for habit in HABITS:
        value = getattr(out.hand, habit)
        if not 0 <= value <= 1:
            raise PlanError(f"The hand's {habit} is {value:g}; 0 to 1 can be drawn.")
    if out.unit not in ("mm", "cm", "in"):
        raise PlanError(f"'{out.unit}' is no unit here; use mm, cm or in.")
    return out
