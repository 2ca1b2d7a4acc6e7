"""Where a sleeve starts and ends: the artist's choice, kept with the part.

`Part.extra["extent"]` is {"from": edge, "to": edge, "name": preset or ""}; an edge is {"at": landmark
level, "plus_mm": mm up from it} or {"s_mm": mm}, with "form" straight, wavy or fading, and "depth_mm":
height of the waves, or length over which it fades. An arm's sleeve may
run on over the shoulder into the chest, by "chest_mm". A part without it is planned from end to end,
straight. Names and levels of the presets are terms of the trade: common practice, no published source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from composer.body.correspond import landmarks
from composer.body.kinds import kind_of
from composer.body.limb import Limb
from composer.body.measures import build_limb
from composer.plan.errors import StepError
from composer.plan.model import PANELS, Part, Plan

KEY = "extent"
FORMS = ("straight", "wavy", "fading")
USUAL_DEPTH_MM = {"straight": 0.0, "wavy": 12.0, "fading": 40.0}
MOST_DEPTH_MM = 150.0
LEAST_MM = 40.0
"""A sleeve is at least so long."""


@dataclass(frozen=True)
class EdgeLine:
    """One edge: at level `at` plus `plus_mm` up the limb, or at `plus_mm` alone where `at` is ''."""

    at: str = ""
    plus_mm: float = 0.0
    form: str = "straight"
    depth_mm: float = 0.0

    def s_mm(self, limb: Limb) -> float:
        """Where it lies, mm."""
        return (landmarks(limb)[self.at] if self.at else 0.0) + self.plus_mm


@dataclass(frozen=True)
class Extent:
    """From the far edge up to the near one. `name`: the preset it was taken from, or ''."""

    far: EdgeLine
    near: EdgeLine
    name: str = ""
    chest_mm: float = 0.0
    """How far an arm's sleeve runs on from the armhole into the chest, mm of skin; 0 where it ends on the arm."""

    @property
    def on_limb(self) -> Extent:
        """The same as far as it lies on the limb: where it runs on into the chest its upper edge lies there, and what
        is above on the arm neither waves nor fades."""
        return replace(self, near=replace(self.near, form="straight", depth_mm=0.0)) if self.chest_mm else self

    def span(self, limb: Limb) -> tuple[float, float]:
        """Both edges, s mm, within the limb."""
        return max(self.far.s_mm(limb), limb.s_min), min(self.near.s_mm(limb), limb.s_max)


_ARM = {
    "full": ("Full sleeve to the wrist bone", ("wrist", 20.0), ("armpit", 0.0)),
    "cuff": ("Full sleeve to the cuff line", ("wrist", 0.0), ("armpit", 0.0)),
    "into_chest": ("Full sleeve, over the shoulder into the chest", ("wrist", 20.0), ("cap", 0.0)),
    "full_cap": ("Full sleeve with the shoulder cap", ("wrist", 20.0), ("cap", 0.0)),
    "three_quarter": ("Three-quarter sleeve, to the middle of the forearm", ("fullest forearm", -50.0), ("cap", 0.0)),
    "half": ("Half sleeve, to above the elbow", ("elbow", 35.0), ("cap", 0.0)),
    "forearm": ("Forearm sleeve", ("wrist", 20.0), ("elbow", -35.0)),
}
_LEG = {
    "full": ("Full leg", ("ankle", 20.0), ("hip", 0.0)),
    "cuff": ("Full leg to the cuff line", ("ankle", 0.0), ("hip", 0.0)),
    "three_quarter": ("Three-quarter, to the middle of the calf", ("fullest calf", -40.0), ("hip", 0.0)),
    "half": ("Half leg, to above the knee", ("knee", 60.0), ("hip", 0.0)),
    "lower_leg": ("Lower leg", ("ankle", 20.0), ("below the knee", -15.0)),
}
PRESETS: dict[str, dict[str, tuple[str, tuple[str, float], tuple[str, float]]]] = {"arm": _ARM, "leg": _LEG}
"""Name: what it is called, its far and its near edge (level, mm up from it), by kind of limb."""


INTO_CHEST_MM = 110.0
"""How far the preset 'into_chest' runs into the chest (common practice, no published source)."""
MOST_INTO_MM = 250.0


def preset(part: str, name: str) -> Extent:
    """A preset of a part, straight. Raises StepError with a sentence."""
    known = PRESETS[kind_of(part).name]
    if name not in known:
        raise StepError(f"There is no sleeve called '{str(name)[:40]}'; known are {', '.join(known)}.")
    _, far, near = known[name]
    return Extent(EdgeLine(*far), EdgeLine(*near), name, INTO_CHEST_MM if name == "into_chest" else 0.0)


def extent_of(part: Part) -> Extent:
    """A part's extent; from end to end where none was chosen. Raises StepError when what is kept can't be read,
    KeyError for chest and back."""
    kind = kind_of(part.name)
    whole = Extent(EdgeLine(kind.levels[0]), EdgeLine(kind.levels[-1]))
    data = part.extra.get(KEY)
    return whole if data is None else _read(part, data, whole)


def chosen_extent(plan: Plan, part: str) -> Extent | None:
    """The extent that was chosen for a part; None where it is planned from end to end, and on chest and back."""
    found = next((p for p in plan.parts if p.name == part and part not in PANELS and KEY in p.extra), None)
    try:
        return None if found is None else extent_of(found)
    except StepError:
        return None


def sleeves_into(plan: Plan, part: str) -> tuple[tuple[str, Extent], ...]:
    """The arms whose sleeves run on into a part, and their extents: into the chest only."""
    if part != "chest":
        return ()
    found = ((arm, chosen_extent(plan, arm)) for arm in ("left_arm", "right_arm"))
    return tuple((arm, e) for arm, e in found if e is not None and e.chest_mm)


def extent_to_json(extent: Extent) -> dict[str, Any]:
    """What is kept with the part."""
    def edge(e: EdgeLine) -> dict[str, Any]:
        place = {"at": e.at, "plus_mm": e.plus_mm} if e.at else {"s_mm": e.plus_mm}
        return {**place, "form": e.form, "depth_mm": e.depth_mm}

    return {"from": edge(extent.far), "to": edge(extent.near), "name": extent.name,
            **({"chest_mm": extent.chest_mm} if extent.chest_mm else {})}


def with_extent(part: Part, data: Any) -> Part:
    """The part with an extent: {"preset": name} with "from" and "to" to change, or both edges; None takes it
    back to end to end. An edge may name only its form. Raises StepError with a sentence."""
    kept = {k: v for k, v in part.extra.items() if k != KEY}
    if part.name in PANELS:
        raise StepError(f"The {part.name.replace('_', ' ')} has no sleeve edge of its own; choose on an arm "
                        "how far its sleeve runs in.")
    if data is None:
        return replace(part, extra=kept)
    if not isinstance(data, Mapping):
        raise StepError("The size of a sleeve must be given as a preset or as its two edges.")
    start = preset(part.name, data["preset"]) if data.get("preset") is not None else extent_of(part)
    new = _read(part, data, start)
    _check(part, new)
    return replace(part, extra={**kept, KEY: extent_to_json(new)})


def change_extent(plan: Plan, step: Mapping[str, Any]) -> Plan:
    """The step {"do": "extent", "part": name, "set": extent or None}."""
    part = with_extent(plan.part(step["part"]), step["set"])
    return replace(plan, parts=tuple(part if p.name == part.name else p for p in plan.parts))


def _read(part: Part, data: Any, start: Extent) -> Extent:
    """What `data` makes of an extent to start from."""
    if not isinstance(data, Mapping):
        raise StepError("The size of a sleeve must be given as a preset or as its two edges.")
    strange = set(data) - {"preset", "from", "to", "name", "chest_mm"}
    if strange:
        raise StepError(f"'{min(map(str, strange))[:40]}' says nothing of a sleeve's size; use preset, from and to.")
    limb = build_limb(part.name, part.measures)
    far = _edge(data.get("from"), start.far, limb, "lower")
    near = _edge(data.get("to"), start.near, limb, "upper")
    into = _into(part, data.get("chest_mm", start.chest_mm))
    for name in (start.name, str(data.get("name") or "")):
        if name in PRESETS[kind_of(part.name).name] and _is(part, name, far, near, into):
            return Extent(far, near, name, into)
    return Extent(far, near, chest_mm=into)


def _into(part: Part, value: Any) -> float:
    mm = _number(value, "upper", "reach into the chest")
    if mm and kind_of(part.name).name != "arm":
        raise StepError("Only a sleeve on an arm can run on into the chest.")
    if not 0 <= mm <= MOST_INTO_MM or 0 < mm < 10:
        raise StepError(f"The sleeve would run {mm:g} mm into the chest; use 10 to {MOST_INTO_MM:g} mm, or 0 for none.")
    return mm


def _check(part: Part, extent: Extent) -> None:
    limb, far, near = build_limb(part.name, part.measures), extent.far, extent.near
    low, high = far.s_mm(limb), near.s_mm(limb)
    for s, which in ((low, "lower"), (high, "upper")):
        if not limb.s_min - 0.5 <= s <= limb.s_max + 0.5:
            raise StepError(f"The {which} edge of the sleeve would lie at {s:.0f} mm; this limb is taped from "
                            f"{limb.s_min:.0f} to {limb.s_max:.0f} mm.")
    room = LEAST_MM + sum(e.depth_mm for e in (far, near))
    if high - low < room:
        raise StepError(f"The sleeve would be {high - low:.0f} mm long; between these edges it takes {room:.0f} mm "
                        "or more. Move its edges apart.")


def _is(part: Part, name: str, far: EdgeLine, near: EdgeLine, into: float) -> bool:
    known = preset(part.name, name)
    if (into > 0) != (known.chest_mm > 0):
        return False
    return (far.at, far.plus_mm, near.at, near.plus_mm) == (known.far.at, known.far.plus_mm, known.near.at,
                                                            known.near.plus_mm)


def _edge(data: Any, start: EdgeLine, limb: Limb, which: str) -> EdgeLine:
    if data is None:
        return start
    if not isinstance(data, Mapping):
        raise StepError(f"The {which} edge of a sleeve must say where it lies.")
    strange = set(data) - {"at", "plus_mm", "s_mm", "form", "depth_mm"}
    if strange:
        raise StepError(f"'{min(map(str, strange))[:40]}' says nothing of a sleeve's edge.")
    at, plus = start.at, start.plus_mm
    if "s_mm" in data:
        at, plus = "", _number(data["s_mm"], which, "place")
    elif "at" in data:
        at, plus = str(data["at"]), _number(data.get("plus_mm", 0.0), which, "distance from its level")
    elif "plus_mm" in data:
        plus = _number(data["plus_mm"], which, "distance from its level")
    if at and at not in landmarks(limb):
        raise StepError(f"There is no level '{at[:40]}' on this limb; known are {', '.join(landmarks(limb))}.")
    form = data.get("form", start.form)
    if form not in FORMS:
        raise StepError(f"The {which} edge can't be '{str(form)[:20]}'; use {', '.join(FORMS)}.")
    usual = start.depth_mm if form == start.form and start.depth_mm else USUAL_DEPTH_MM[form]
    depth = 0.0 if form == "straight" else _number(data.get("depth_mm", usual), which, "depth")
    if not 0 <= depth <= MOST_DEPTH_MM or (form != "straight" and depth < 1):
        raise StepError(f"The {which} edge is {form} over {depth:g} mm; use 1 to {MOST_DEPTH_MM:g} mm.")
    return EdgeLine(at, plus, form, depth)


def _number(value: Any, which: str, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise StepError(f"The {what} of the {which} edge is not a number ({value!r}).")
    return float(value)
