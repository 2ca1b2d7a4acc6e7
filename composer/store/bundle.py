"""A plan with its art as one file: the plan's JSON with the drawings under 'art'."""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Mapping
from typing import Any

import numpy as np

from composer.art.drawing import END_KINDS, ROLES, Drawing
from composer.json_in import read_json
from composer.plan.errors import PlanError
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Plan
from composer.plan.options import arts_of

MOST_BYTES = 200_000_000
FAR_MM = 100_000.0
AGAIN = "Export it again, or take an older copy."


def pack(plan: Plan, gallery: Mapping[str, Drawing]) -> bytes:
    """The plan file (gzip of UTF-8 JSON, made the same for the same plan)."""
    data = plan_to_json(plan)
    data["art"] = {d: gallery[d].to_json() for d in sorted(arts_of(plan))}
    return gzip.compress(json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode(), 6, mtime=0)


def unpack(data: bytes) -> tuple[Plan, dict[str, Drawing]]:
    """Plan and drawings of a plan file, gzipped or plain. Raises PlanError with a sentence."""
    text = _text(data)
    try:
        value = read_json(text)
    except json.JSONDecodeError as err:
        if err.pos == 0:
            raise PlanError("This is not a plan file: it does not begin as one does. Choose a file that was exported "
                            "from here.") from err
        short = err.pos >= len(text.rstrip()) - 1 or "Unterminated" in err.msg
        how = "it ends early and was probably cut short" if short else f"{err.msg.lower()} in line {err.lineno}"
        raise PlanError(f"The plan file is damaged: {how}. {AGAIN}") from err
    except ValueError as err:
        raise PlanError(f"The plan file is damaged: {err}. {AGAIN}") from err
    art = value.pop("art", {}) if isinstance(value, dict) else {}
    try:
        plan = plan_from_json(value)
    except RecursionError as err:
        raise PlanError(f"The plan file is damaged: it nests too deep to be a plan. {AGAIN}") from err
    if not isinstance(art, dict):
        raise PlanError("The plan file is damaged: its art is no list of drawings.")
    titles = arts_of(plan)
    return plan, {d: _drawing(d, a, f"drawing of '{titles[d]}'" if d in titles else f"drawing {d[:12]}")
                  for d, a in art.items()}


def _text(data: bytes) -> str:
    if data[:2] == b"\x1f\x8b":
        try:
            out = zlib.decompressobj(31)
            plain = out.decompress(data, MOST_BYTES + 1)
            if not out.eof and len(plain) <= MOST_BYTES:
                raise PlanError(f"The plan file is damaged: it ends early and was probably cut short. {AGAIN}")
            data = plain
        except zlib.error as err:
            raise PlanError(f"The plan file is damaged and cannot be unpacked. {AGAIN}") from err
    if len(data) > MOST_BYTES:
        raise PlanError(f"The plan file holds more than {MOST_BYTES // 1_000_000} MB; no plan is that large.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        raise PlanError("This is not a plan file: it holds no UTF-8 text.") from err


def _near(points: Any) -> bool:
    return bool((np.abs(np.asarray(points, float)) < FAR_MM).all())


def _drawing(digest: str, data: Any, called: str) -> Drawing:
    try:
        drawing = Drawing.from_json(data)
        whole = (all(_near(r) and len(r) >= 3 for r in drawing.silhouette)
                 and all(la.role in ROLES and all(map(_near, la.rings)) for la in drawing.layers)
                 and all(e.how in END_KINDS and _near((e.x, e.y)) for e in drawing.ends)
                 and len(drawing.silhouette) > 0)
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as err:
        raise PlanError(f"The {called} in the plan file is damaged. {AGAIN}") from err
    if not whole:
        raise PlanError(f"The {called} in the plan file is damaged: a point is no number or lies far off. "
                        f"{AGAIN}")
    if drawing.form_digest == digest:       # colours were no part of the name once
        drawing.__dict__["digest"] = digest
    if drawing.digest != digest:
        raise PlanError(f"The {called} in the plan file was changed after it was saved; "
                        "export the plan again.")
    return drawing
