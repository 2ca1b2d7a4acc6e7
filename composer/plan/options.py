"""Options of a plan: whole backgrounds to choose among, kept beside what lies on the part; and the ties that
the artist marks as musts.

`Part.extra["options"]` is a list of {"id", "title", "about", "figures": {name: number}, "pieces": [fillers as in
a plan]}; `Part.extra["musts"]` a list of [end, end], ids of pieces or edges ('border:far', 'border:armhole_left'), of
which one lies on the part and the other there or on one that it meets.
Those of a wide sheet hold fillers of several parts; they lie in `Part.extra["wide_options"]` of the panel in its
middle, {name of the sheet: list of the same}.
Taking an option puts copies of its fillers in place of the part's unlocked ones; the option stays to be compared.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from composer.body.joins_wide import WIDE
from composer.plan.errors import StepError
from composer.plan.form import piece_from_json, piece_to_json
from composer.plan.model import PANELS, Part, Piece, Plan

OPTIONS, WIDE_OPTIONS, MUSTS = "options", "wide_options", "musts"
MEET = {"left_arm", "right_arm", *PANELS}
"""Parts that meet along seams."""
MOST = 8
"""So many options a part keeps; the oldest goes first."""


@dataclass(frozen=True)
class Option:
    """One background for a whole part. `figures`: what it was measured at, for choosing."""

    id: str
    title: str
    about: str
    pieces: tuple[Piece, ...]
    figures: Mapping[str, float] = field(default_factory=dict)


def option_from_json(part: str, data: Any) -> Option:
    """The option in a JSON object, its fillers on `part`, or each on its own where that is a wide sheet. Raises
    StepError when it can't be read."""
    return _read(part, data)


def options_of(part: Part) -> tuple[Option, ...]:
    """The options of a part, the newest last. Raises StepError when what is kept can't be read."""
    return tuple(_read(part.name, data) for data in part.extra.get(OPTIONS, ()))


def options_on(plan: Plan, name: str) -> tuple[Option, ...]:
    """The options of a part or of a wide sheet, the newest last. Raises StepError as above, KeyError for a part that
    is not measured."""
    return tuple(_read(name, data) for data in _rows(plan.part(WIDE.get(name, name)), name))


def _rows(part: Part, name: str) -> list[Any]:
    """What is kept with the part of its own, or of the wide sheet of that name."""
    return list(part.extra.get(WIDE_OPTIONS, {}).get(name, ()) if name in WIDE else part.extra.get(OPTIONS, ()))


def option_to_json(option: Option) -> dict[str, Any]:
    """Plain JSON of an option."""
    return {"id": option.id, "title": option.title, "about": option.about, "figures": dict(option.figures),
            "pieces": [piece_to_json(p) for p in option.pieces]}


def musts_of(part: Part) -> tuple[tuple[str, str], ...]:
    """Ties that the background has to carry, as pairs of ends in order of their names."""
    return tuple((str(a), str(b)) for a, b in part.extra.get(MUSTS, ()))


def arts_of(plan: Plan) -> dict[str, str]:
    """Every drawing that the plan needs, in pieces and in options: digest to the title of one that uses it."""
    rows = [o for p in plan.parts for o in (*p.extra.get(OPTIONS, ()),
                                            *(o for wide in p.extra.get(WIDE_OPTIONS, {}).values() for o in wide))]
    out = {q["art"]: q["title"] for o in rows for q in o["pieces"]}
    return out | {p.art: p.title for p in plan.pieces}


def keep_options(plan: Plan, step: Mapping[str, Any]) -> Plan:
    """Step {"part", "options": [option as JSON]}: add options, each new id once. `part` may be a wide sheet. Raises
    StepError."""
    name = step["part"]
    part = plan.part(WIDE.get(name, name))
    new = [option_to_json(_read(name, data)) for data in step["options"]]
    ids = {o["id"] for o in new}
    if len(ids) < len(new):
        raise StepError("Two options have one id; find them again.")
    old = [o for o in _rows(part, name) if o["id"] not in ids]
    return _with_options(plan, part, name, (old + new)[-MOST:])


def drop_option(plan: Plan, step: Mapping[str, Any]) -> Plan:
    """Step {"part", "id"}: forget an option. Raises StepError when there is none of that id."""
    name = step["part"]
    found, part = _find(plan, name, step["id"]), plan.part(WIDE.get(name, name))
    return _with_options(plan, part, name, [o for o in _rows(part, name) if o["id"] != found.id])


def taken(plan: Plan, step: Mapping[str, Any]) -> tuple[list[str], list[dict[str, Any]]]:
    """For step {"part", "id", "new_ids": one for each filler}: the ids of the fillers that go, and the pieces that
    come. On a wide sheet the step names those that go, as far as they are free, as "replace_ids". Raises StepError with
    a sentence."""
    option = _find(plan, step["part"], step["id"])
    names = list(step["new_ids"])
    if len(names) != len(option.pieces):
        raise StepError("Taking an option needs one new id for each of its fillers.")
    own = set(step.get("replace_ids", ())) if step["part"] in WIDE else {p.id for p in plan.on(step["part"])}
    gone = [p.id for p in plan.pieces if p.id in own and p.is_filler and not p.stays]
    return gone, [piece_to_json(replace(p, id=str(n))) for p, n in zip(option.pieces, names, strict=True)]


def mark_must(plan: Plan, step: Mapping[str, Any]) -> Plan:
    """Step {"part", "a", "b", "on"}: mark a tie as a must, or not any more. A tie over a seam is kept with the part
    where its paper hangs. Raises StepError for an end that is not on the part, or over a seam of it."""
    part = plan.part(step["part"])
    near = MEET if part.name in MEET else {part.name}
    here = {p.id for p in plan.on(part.name) if not p.is_filler}
    known = {p.id for p in plan.pieces if p.part in near and not p.is_filler}
    ends = sorted((str(step["a"]), str(step["b"])))
    if ends[0] == ends[1]:
        raise StepError("A tie needs two different ends.")

    def there(tie: Collection[str]) -> bool:
        return all(end in known or end.startswith("border:") for end in tie) and any(end in here for end in tie)

    if step["on"] and not there(ends):
        raise StepError("One end of this tie is no longer on this part; choose another tie.")
    kept = [m for m in part.extra.get(MUSTS, ()) if sorted(m) != ends and there(m)]
    return _with(plan, part, MUSTS, [*kept, ends] if step["on"] else kept)


def _with(plan: Plan, part: Part, key: str, rows: Sequence[Any]) -> Plan:
    extra = {k: v for k, v in part.extra.items() if k != key}
    new = replace(part, extra={**extra, key: list(rows)} if rows else extra)
    return replace(plan, parts=tuple(new if p.name == part.name else p for p in plan.parts))


def _with_options(plan: Plan, part: Part, name: str, rows: Sequence[Any]) -> Plan:
    if name not in WIDE:
        return _with(plan, part, OPTIONS, rows)
    every = {**part.extra.get(WIDE_OPTIONS, {}), name: list(rows)}
    every = {k: v for k, v in every.items() if v}
    extra = {k: v for k, v in part.extra.items() if k != WIDE_OPTIONS} | ({WIDE_OPTIONS: every} if every else {})
    return replace(plan, parts=tuple(replace(p, extra=extra) if p.name == part.name else p for p in plan.parts))


def _find(plan: Plan, name: str, option_id: Any) -> Option:
    for option in options_on(plan, name):
        if option.id == option_id:
            return option
    raise StepError("This option is no longer kept; choose another, or find new ones.")


def _read(part: str, data: Any) -> Option:
    try:
        pieces = tuple(piece_from_json(p) for p in data["pieces"])
        pieces = pieces if part in WIDE else tuple(replace(p, part=part) for p in pieces)
        figures = {str(k): float(v) for k, v in data.get("figures", {}).items()}
        out = Option(str(data["id"]), str(data["title"]), str(data.get("about", "")), pieces, figures)
    except (KeyError, TypeError, ValueError, AttributeError) as err:
        raise StepError(f"An option of this part cannot be read ({err}); delete it and find new ones.") from err
    if not out.pieces or not all(p.is_filler for p in pieces):
        raise StepError(f"The option '{out.title[:40]}' holds something that is no background.")
    if not all(math.isfinite(v) for v in figures.values()):
        raise StepError(f"The option '{out.title[:40]}' has a figure that is no number.")
    return out
