"""A picture on its way to the shelf: what was asked for it, read from the form, and what came of it, kept a while."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from composer.art.errors import ArtError
from composer.art.picture_motif import Drawn
from composer.art.picture_wish import PictureWish, wish_from_json, wish_to_json
from composer.art.tones import STEPS
from composer.body.units import parse_length
from composer.compose.holds import Holds
from composer.json_in import read_json
from composer.plan.model import Plan
from web.desk import KEPT, Desk
from web.picture_worker import Beside

KEPT.update({"shown picture": 4, "brought": 4, "first wish": 16})


beside = Beside()
"""The process that works on pictures: one for all desks, since pictures go by content hash."""


def _ask(desk: Desk, what: str, digest: str, **more: Any) -> Any:
    return beside.ask(what, digest, lambda: desk.store.pictures.packed(digest), **more)


def shown_of(desk: Desk, digest: str, side: int) -> tuple[bytes, str]:
    """The picture made small, and its media type. Raises ArtError."""
    return desk.once(("shown picture", digest, side), lambda: _ask(desk, "shown", digest, side=side))


def first_wish(desk: Desk, digest: str, plan: Plan) -> PictureWish:
    """What a picture begins with, in the plan's own line widths."""
    wish = desk.once(("first wish", digest), lambda: _ask(desk, "first", digest))
    hand = plan.settings.hand
    return replace(wish, outline_mm=hand.line_mm if wish.outline_mm else 0.0, least_mm=min(hand.fine_mm, 0.3))


def wish_of(form: Mapping[str, Any], unit: str) -> PictureWish:
    """What the form asks for. Raises ArtError or LengthError with a sentence."""
    try:
        drawn = read_json(form.get("drawn") or "{}")
        drawn = dict(drawn) if isinstance(drawn, dict) else {}
    except ValueError as err:
        raise ArtError("What was drawn on the picture could not be read; load the page again.") from err
    holes = {"open": True, "filled": False}.get(str(form.get("holes")))
    data: dict[str, Any] = {"lasso": drawn.get("lasso", []), "marks": drawn.get("marks", []),
                            "regions": drawn.get("regions", []), "method": str(form.get("method") or "background"),
                            "tolerance": form.get("tolerance", 0.5), "holes": holes,
                            "fit": form.get("as_drawn") is None, "scale": None, "long_mm": None}
    if form.get("size_by") == "scale" and drawn.get("scale"):
        mm = parse_length(str(form.get("scale_length") or ""), unit, "The length between the two points")
        data["scale"] = [*list(drawn["scale"])[:4], mm]
    elif form.get("size_by") == "typed":
        data["long_mm"] = parse_length(str(form.get("long") or ""), unit, "The longer side")
    data["outline_mm"] = form.get("outline_mm", 0.7)
    data["least_mm"] = form.get("least_mm", 0.3)
    data["lines"] = None if form.get("lines") is None else {
        "fineness": form.get("fineness", 0.5), "darkness": form.get("darkness", 0.4), "clean": form.get("clean", 0.5),
        "inked": form.get("inked") == "1"}
    data["tones"] = None if form.get("tones") is None else {
        "lift": form.get("lift", 0.5), "thirds": form.get("thirds", 0.0), "simple": form.get("simple", 0.5),
        "steps": [s for s in STEPS if form.get(f"step-{s}") is not None]}
    return wish_from_json(data)


def wish_key(wish: PictureWish) -> str:
    """The same text for the same wish."""
    return json.dumps(wish_to_json(wish), sort_keys=True)


def drawn_of(desk: Desk, digest: str, wish: PictureWish, quick: bool) -> tuple[Drawn, Holds | None]:
    """The drawing by this wish; a whole one with what skin can hold of it. Raises ArtError with a sentence."""
    key = ("brought", digest, quick, wish_key(wish))
    return desk.once(key, lambda: _ask(desk, "draw", digest, wish=wish, quick=quick))
