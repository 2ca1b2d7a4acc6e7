"""Every change to a plan, as a pure function plan -> plan.

A step is a plain dict {"do": NAME, ...}. It names what it touches by id and says only what is
new, so a step made in one window applies to a plan that another window has changed meanwhile.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from composer.body.measures import MeasureError, build_limb
from composer.body.yoke import build_panel
from composer.plan.currents import change_currents
from composer.plan.errors import PlanError, StepError
from composer.plan.estimated import with_estimated
from composer.plan.extents import change_extent
from composer.plan.flexed import change_flexed
from composer.plan.form import piece_from_json, piece_to_json, settings_from_json, settings_to_json
from composer.plan.model import PANELS, PARTS, STATES, Part, Piece, Plan
from composer.plan.options import drop_option, keep_options, mark_must, taken
from composer.plan.rehome import rehome
from composer.plan.shade_lines import change_shade
from composer.plan.sittings import checked_sitting
from composer.plan.titles import printable
from composer.plan.twins import follow, make_twin, one_turn
from composer.plan.zone_edits import with_zones

Step = dict[str, Any]
_MOVES = {"u", "s_mm", "turn_deg", "scale", "flip"}
_CHANGES = _MOVES | {"state", "title", "locked", "art", "recipe", "keep_whole", "sitting"}
"""`keep_whole`, kept in `Piece.extra`: True, or rings in the drawing's own mm that no cut of a stencil may cross."""
PIECE_LIMIT = 400


def apply(plan: Plan, step: Step) -> Plan:
    """The plan after the step. Raises StepError with a sentence for the artist."""
    act = _ACTS.get(str(step.get("do")))
    if act is None:
        raise StepError(f"There is no change called '{step.get('do')}'; known are {', '.join(sorted(_ACTS))}.")
    try:
        return follow(plan, act(plan, step))
    except KeyError as err:
        raise StepError(str(err.args[0]) if " " in str(err.args[0])
                        else f"The change '{step['do']}' lacks '{err.args[0]}'.") from err
    except PlanError:
        raise
    except MeasureError as err:
        raise StepError(str(err)) from err
    except (TypeError, AttributeError, ValueError) as err:
        raise StepError(f"The change '{step['do']}' is not written as it should be: {err}.") from err


def label(plan: Plan, step: Step) -> str:
    """What a step does, in few words, for the undo button."""
    ids = step.get("ids") or [p.get("id") for p in step.get("pieces", [])]
    known = {p.id: p.title for p in plan.pieces}
    who = known.get(ids[0], "piece").lower() if len(ids) == 1 else f"{len(ids)} pieces"
    if step["do"] == "change":
        keys = set().union(*(set(p) - {"id"} for p in step["pieces"]))
        verb = ("move" if keys <= {"u", "s_mm"} else "turn" if keys == {"turn_deg"} else
                "place" if keys <= _MOVES else "mark" if keys == {"state"} else
                "lock or unlock" if keys == {"locked"} else "set the sitting of" if keys == {"sitting"} else "change")
        return f"{verb} {who}"
    names = {"remove": "delete {who}", "duplicate": "duplicate {who}", "order": "reorder {who}",
             "measure": "measure", "zones": "change zones", "extent": "change sleeve edges", "flexed": "tape flexed",
             "seam": "move the seam", "settings": "change settings",
             "rename": "rename plan", "free": "set {who} free", "twin": "mirror {who}",
             "rehome": "move {who}", "tie_in": "tie in",
             "keep_options": "find options", "take_option": "take an option",
             "drop_option": "delete an option", "must": "mark a tie",
             "currents": "change how background runs", "shade": _shade_words(step), "hand": "draw in the hand {hand}",
             "place": "place {new}", "clear": "clear fillers"}
    new = str(step.get("piece", {}).get("title", "piece")).lower()
    if step["do"] in ("twin", "rehome"):
        who = known.get(step.get("id", ""), "piece").lower()
    hand = f"'{str(step.get('title') or 'of your own')[:60]}'"
    return names.get(step["do"], step["do"]).format(who=who, new=new, hand=hand)


def _shade_words(step: Step) -> str:
    words = {"add": "draw a shade line", "remove": "delete a shade line", "change": "change a shade line",
             "cuff_mm": "change tone at the cuffs", "contrast": "change contrast against pieces"}
    return next((w for k, w in words.items() if k in step), "clear shade lines")


def checked(piece: Piece) -> Piece:
    """The piece itself when its numbers can stand. Raises StepError otherwise."""
    for name, value in (("place round the limb", piece.u), ("place along the limb", piece.s_mm),
                        ("turn", piece.turn_deg), ("scale", piece.scale)):
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise StepError(f"The {name} of '{piece.title}' is not a number ({value!r}); move it again.")
    if not 0.02 <= piece.scale <= 50:
        raise StepError(f"'{piece.title}' would be {piece.scale:g} times its drawn size; "
                        "0.02 to 50 times can be used.")
    if not -2000 <= piece.s_mm <= 4000:
        raise StepError(f"'{piece.title}' would lie {piece.s_mm:g} mm along the limb, far off the body.")
    if piece.state not in STATES:
        raise StepError(f"'{piece.state}' is no state of a piece; use {', '.join(STATES)}.")
    if not isinstance(piece.title, str) or not piece.title.strip() or len(piece.title) > 120:
        raise StepError("A piece needs a name of 1 to 120 letters.")
    checked_sitting(piece.sitting, piece.title)
    return replace(piece, u=one_turn(piece.u), turn_deg=one_turn(piece.turn_deg, 360.0),
                   title=piece.title.strip())


def checked_piece(plan: Plan, piece_id: str) -> Plan:
    """The plan itself when the numbers of that piece can stand. Raises StepError otherwise."""
    return plan.with_piece(checked(plan.piece(piece_id)))


def _place(plan: Plan, step: Step) -> Plan:
    piece = checked(piece_from_json(step["piece"]))
    plan.part(piece.part)
    if any(p.id == piece.id for p in plan.pieces):
        raise StepError(f"A piece with the id '{piece.id}' is there already.")
    if len(plan.pieces) >= PIECE_LIMIT:
        raise StepError(f"A plan holds {PIECE_LIMIT} pieces at most; delete some first.")
    depths = [p.depth for p in plan.on(piece.part) if p.is_filler == piece.is_filler]
    if "depth" not in step["piece"]:
        piece = replace(piece, depth=max(depths, default=-1000 if piece.is_filler else 0) + 1)
    return plan.with_piece(piece)


def _change(plan: Plan, step: Step) -> Plan:
    for item in step["pieces"]:
        old = plan.piece(item["id"])
        new = {k: v for k, v in item.items() if k != "id"}
        wrong = set(new) - _CHANGES
        if wrong:
            raise StepError(f"'{min(wrong)}' cannot be changed on a piece.")
        if "keep_whole" in new:
            new["keep_whole"] = _kept_whole(new["keep_whole"])
        if old.locked and set(new) & (_MOVES | {"art", "recipe"}) and new.get("locked") is not False:
            raise StepError(f"'{old.title}' is locked; unlock it to move it.")
        plan = plan.with_piece(checked(piece_from_json({**piece_to_json(old), **new})))
    return plan


def _kept_whole(value: Any) -> bool | list[list[list[float]]]:
    """What is to stay whole. Raises StepError when it is neither yes, no nor rings of points."""
    if isinstance(value, bool):
        return value
    try:
        rings = [[[float(x), float(y)] for x, y in ring] for ring in value]
    except (TypeError, ValueError) as err:
        raise StepError("What is to stay whole could not be read; paint it again.") from err
    if not all(len(r) >= 3 and all(math.isfinite(v) for p in r for v in p) for r in rings) or len(rings) > 40:
        raise StepError("What is to stay whole could not be read; paint it again.")
    return rings or False


def _remove(plan: Plan, step: Step) -> Plan:
    ids = set(step["ids"])
    for i in ids:
        if plan.piece(i).locked:
            raise StepError(f"'{plan.piece(i).title}' is locked; unlock it to delete it.")
    kept = tuple(replace(p, twin_of=None, linked=False) if p.twin_of in ids else p
                 for p in plan.pieces if p.id not in ids)
    return replace(plan, pieces=kept)


def _duplicate(plan: Plan, step: Step) -> Plan:
    if len(step["ids"]) != len(step["new_ids"]):
        raise StepError("A duplicate needs one new id for each piece.")
    for old_id, new_id in zip(step["ids"], step["new_ids"], strict=True):
        old = plan.piece(old_id)
        copy = replace(old, id=new_id, u=old.u + float(step.get("du", 0.04)),
                       s_mm=old.s_mm + float(step.get("ds", -8.0)), locked=False, twin_of=None, linked=False)
        data = piece_to_json(copy)
        del data["depth"]
        plan = _place(plan, {"piece": data})
    return plan


def _order(plan: Plan, step: Step) -> Plan:
    ids = list(step["ids"])
    if not ids:
        raise StepError("Choose at least one piece to bring forward or send back.")
    part = plan.piece(ids[0]).part
    row = [p.id for p in plan.on(part)]
    picked = [i for i in row if i in ids]
    rest = [i for i in row if i not in ids]
    to = step["to"]
    if to in ("front", "back"):
        row = rest + picked if to == "front" else picked + rest
    elif to in ("forward", "backward"):
        here = row.index(picked[-1] if to == "forward" else picked[0])
        before = sum(1 for i in row[:here] if i not in ids)
        at = before + 1 if to == "forward" else max(before - 1, 0)
        row = rest[:at] + picked + rest[at:]
    else:
        raise StepError(f"A piece can go to front, forward, backward or back, not '{to}'.")
    for depth, i in enumerate(row):
        plan = plan.with_piece(replace(plan.piece(i), depth=depth))
    return plan


def _measure(plan: Plan, step: Step) -> Plan:
    name = step["part"]
    if name not in (*PARTS, *PANELS):
        raise StepError(f"'{name}' is not a part that can be planned here; known are {', '.join((*PARTS, *PANELS))}.")
    measures = {str(k): float(v) for k, v in step["measures"].items()}
    try:
        build_panel(name, measures) if name in PANELS else build_limb(name, measures)
    except ValueError as err:
        raise StepError(str(err)) from err
    old = next((p for p in plan.parts if p.name == name), None)
    new = replace(old, measures=measures) if old else Part(name, measures)
    new = replace(new, extra=with_estimated(old, measures, step.get("estimated"), new.extra))
    parts = tuple(new if p.name == name else p for p in plan.parts) if old else (*plan.parts, new)
    plan = replace(plan, parts=parts)
    if step.get("unit"):
        plan = _settings(plan, {"set": {"unit": step["unit"]}})
    return plan


def _seam(plan: Plan, step: Step) -> Plan:
    u = float(step["u"])
    if not math.isfinite(u):
        raise StepError("The seam must lie somewhere round the limb.")
    part = replace(plan.part(step["part"]), seam_u=(u % 1.0) - 1.0)
    return replace(plan, parts=tuple(part if p.name == part.name else p for p in plan.parts))


def _zones(plan: Plan, step: Step) -> Plan:
    """This client's own pain, movement or visibility of zones: `set` is {zone: {scale: figure or None}}."""
    part = with_zones(plan.part(step["part"]), step["set"])
    return replace(plan, parts=tuple(part if p.name == part.name else p for p in plan.parts))


def _settings(plan: Plan, step: Step) -> Plan:
    now = settings_to_json(plan.settings)
    new = dict(step["set"])
    if isinstance(new.get("hand"), dict):
        new["hand"] = {**now["hand"], **new["hand"]}
    return replace(plan, settings=settings_from_json({**now, **new}))


def _hand(plan: Plan, step: Step) -> Plan:
    """The plan's hand: `hand` are its widths (mm) and habits, `title` what it is called; what is missing
    stays. Fillers that are there stay as they are until they are drawn anew."""
    if not isinstance(step.get("hand"), dict):
        raise StepError("A hand needs its line widths and habits; choose one from the list.")
    return _settings(plan, {"set": {"hand": step["hand"]}})


def _rename(plan: Plan, step: Step) -> Plan:
    title = printable(str(step["title"]))
    if not 1 <= len(title) <= 120:
        raise StepError("A plan needs a name of 1 to 120 letters.")
    return replace(plan, title=title)


def _twin(plan: Plan, step: Step) -> Plan:
    """Mirror `id` as `new_id`: over `axis_u` of its part when given, else onto the other arm."""
    axis = step.get("axis_u")
    twin = make_twin(plan, plan.piece(step["id"]), str(step["new_id"]), None if axis is None else float(axis),
                     bool(step.get("linked", True)))
    data = piece_to_json(twin)
    if axis is not None:
        del data["depth"]
    return _place(plan, {"piece": data})


def _free(plan: Plan, step: Step) -> Plan:
    for i in step["ids"]:
        plan = plan.with_piece(replace(plan.piece(i), linked=False))
    return plan


def _tie_in(plan: Plan, step: Step) -> Plan:
    """Put several fillers in as one change; `replace_ids` are taken out first."""
    gone = [i for i in step.get("replace_ids", []) if any(p.id == i and not p.locked for p in plan.pieces)]
    plan = _remove(plan, {"ids": gone})
    for data in step["pieces"]:
        plan = _place(plan, {"piece": data})
    return plan


def _take_option(plan: Plan, step: Step) -> Plan:
    """Put an option's fillers in the place of the part's unlocked ones (see `composer.plan.options`)."""
    gone, pieces = taken(plan, step)
    return _tie_in(plan, {"replace_ids": gone, "pieces": pieces})


def _several(plan: Plan, step: Step) -> Plan:
    """Several steps as one change."""
    for inner in step["steps"]:
        plan = apply(plan, inner)
    return plan


_ACTS: dict[str, Callable[[Plan, Step], Plan]] = {
    "place": _place, "change": _change, "remove": _remove, "duplicate": _duplicate, "order": _order,
    "measure": _measure, "zones": _zones, "extent": change_extent, "flexed": change_flexed,
    "rehome": lambda plan, step: checked_piece(rehome(plan, step), step["id"]),
    "seam": _seam, "settings": _settings, "hand": _hand, "rename": _rename, "twin": _twin,
    "free": _free, "tie_in": _tie_in,
    "keep_options": keep_options, "take_option": _take_option, "drop_option": drop_option, "must": mark_must,
    "currents": change_currents, "shade": change_shade,
    "several": _several,
}
