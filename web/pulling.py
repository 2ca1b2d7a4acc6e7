"""Grips of a filler on the sheet, and drawing it anew as it was pulled or as its neighbours lie now."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from composer.compose.over_seam import Joined
from composer.filler.beside import moved_since
from composer.filler.ground import Wish
from composer.filler.handles import Handles, handles_of, pulled
from composer.filler.kinds import every_kind
from composer.filler.over_seam import gap_of, rebuild_over
from composer.filler.over_seam_handles import handles_over, pulled_over
from composer.filler.proposals import Proposal, rebuild
from composer.filler.seam_skin import at_home, by_part
from composer.json_in import read_json
from composer.plan.errors import StepError
from composer.plan.model import Piece, Plan, Recipe
from composer.plan.over_joins import joins_in
from composer.plan.shape import Shape, shape_of, with_shape
from composer.store.store import Kept
from web import findings
from web.desk import Desk, View
from web.wide_found import joined_over, near
from web.wide_view import WideView

WORDS = {"line": "pull the line of", "centre": "move the centre of", "edge": "pull the edge of"}


def filler_of(kept: Kept, piece_id: str) -> Piece:
    """A filler that may be drawn anew. Raises StepError with a sentence for any other piece, KeyError when it is
    gone."""
    piece = kept.plan.piece(piece_id)
    if piece.recipe is None:
        raise StepError(f"'{piece.title}' is not background, so it cannot be drawn anew.")
    if piece.locked:
        raise StepError(f"'{piece.title}' is locked; unlock it to draw it anew.")
    if piece.recipe.fixed:
        raise StepError(f"'{piece.title}' is fixed as a drawing; let it be drawn anew first.")
    return piece


def shown(desk: Desk, kept: Kept, view: View, piece_id: str, wide: bool = False) -> dict[str, Any]:
    """The grips of a filler for the page, plain JSON: places (u, s) with the part that they lie on. `view` is that of
    the part itself. `wide`: for a wide sheet, where each place of a filler over a seam is (u, s, part)."""
    piece = kept.plan.piece(piece_id)
    own = _handles(desk, kept, view, piece)
    line: Sequence[Any] = own.line
    edge: Sequence[Any] = own.edge
    seam = _seam(piece.recipe)
    if wide and seam and own.kinds:
        joined, sheet = joined_over(desk, kept, seam)
        stretch = gap_of(joined, piece.recipe.goal).stretch   # type: ignore[union-attr]
        line, edge = (_as_shown(sheet, by_part(stretch, places)) for places in (own.line, own.edge))
    return {"id": piece.id, "part": view.part, "title": piece.title, "kinds": list(own.kinds),
            "line": line, "lineGrips": own.line_grips, "held": own.held,
            "edge": edge, "edgeGrips": own.edge_grips, "note": own.note, "pulled": own.pulled}


def _seam(recipe: Recipe | None) -> str:
    """The seam that a filler lies over, or ''."""
    return str(recipe.goal.get("seam", "")) if recipe is not None else ""


def _as_shown(sheet: WideView, rows: Sequence[tuple[str, float, float]]) -> list[tuple[float, float, str]]:
    """Places of the parts at the turn at which the wide sheet shows them."""
    return [(*near(sheet, part, np.array([[u, s]]))[0].tolist(), part) for part, u, s in rows]


def _handles(desk: Desk, kept: Kept, view: View, piece: Piece) -> Handles:
    laid = next((la for la in view.scene.laid if la.piece.id == piece.id), None)
    if piece.recipe is None or laid is None:
        return Handles()

    def make() -> Handles:
        if seam := _seam(piece.recipe):
            return handles_over(laid, kept.plan, joined_over(desk, kept, seam)[0], kept.plan.settings)
        return handles_of(laid, kept.plan, findings.surveyed(desk, kept, view)[1], kept.plan.settings)

    try:
        return desk.once(("grips", kept.plan.id, kept.revision, piece.id), make)
    except StepError:
        raise
    except ValueError as err:
        return Handles(note=str(err))


def pulled_recipe(desk: Desk, kept: Kept, view: View, piece: Piece, what: str, text: str) -> Recipe:
    """The recipe after a pull; `text` is JSON [[u, s], ...], of a filler over a seam also [[u, s, part], ...]. Raises
    StepError with a sentence."""
    assert piece.recipe is not None
    try:
        places = read_json(text)
    except ValueError as err:
        raise StepError("What was pulled could not be read; pull it again.") from err
    if seam := _seam(piece.recipe):
        return _pulled_over(joined_over(desk, kept, seam)[0], piece.recipe, what, places)
    _, survey = findings.surveyed(desk, kept, view)
    kinds = every_kind()[piece.recipe.kind].handles_of(str(piece.recipe.params.get("way", ""))) \
        if piece.recipe.kind in every_kind() else ()
    return with_shape(piece.recipe, pulled(survey.scene, shape_of(piece.recipe), what, places, kinds))


def _pulled_over(joined: Joined, recipe: Recipe, what: str, places: Any) -> Recipe:
    try:
        stretch = gap_of(joined, recipe.goal).stretch
        parts = (stretch.home, stretch.carried.part)
        home = [at_home(stretch, *_read_place(p, parts)) for p in places]
        return with_shape(recipe, pulled_over(joined, recipe, what, home))
    except StepError:
        raise
    except (TypeError, ValueError) as err:
        raise StepError(str(err) if isinstance(err, ValueError) else
                        "What was pulled could not be read; pull it again.") from err


def _read_place(place: Any, parts: tuple[str, str]) -> tuple[str, float, float]:
    try:
        (u, s), part = (float(v) for v in place[:2]), place[2] if len(place) > 2 else parts[0]
    except (TypeError, ValueError, KeyError) as err:
        raise StepError("What was pulled could not be read; pull it again.") from err
    if part not in parts or not np.isfinite([u, s]).all() or abs(u) > 20 or abs(s) > 4000:
        raise StepError("What was pulled lies off the skin; pull it back onto it.")
    return part, u, s


def redrawn(desk: Desk, kept: Kept, view: View, piece: Piece, recipe: Recipe, wish: Wish | None = None,
            seed: int | None = None) -> dict[str, Any]:
    """What of a filler changes when it is drawn anew by a recipe, for a `change` step. Raises StepError with a
    sentence when it can't be drawn so; then nothing has changed."""
    def make() -> Proposal:
        if seam := _seam(recipe):
            return rebuild_over(recipe, joined_over(desk, kept, seam)[0], kept.plan.settings, wish, seed)
        _, survey = findings.surveyed(desk, kept, view)
        return rebuild(recipe, survey.scene, survey, kept.plan.settings, wish, seed)

    try:
        if wish is None and seed is None:
            key = json.dumps(asdict(recipe), sort_keys=True)
            new = desk.once(("pull", kept.plan.id, kept.revision, piece.id, key), make)
        else:
            new = make()
    except ValueError as err:
        raise StepError(str(err)) from err
    return {"id": piece.id, "art": desk.store.keep_drawing(new.drawing), "recipe": asdict(new.recipe), "u": new.u,
            "s_mm": new.s_mm, "turn_deg": 0.0, "scale": 1.0, "flip": False}


def words(what: str, recipe: Recipe, title: str) -> str:
    """What a pull that gave this recipe is called on the undo button."""
    centre = what == "line" and len(shape_of(recipe).spine) == 1
    return f"{WORDS['centre' if centre else what]} {title.lower()}"


def as_proposed(recipe: Recipe) -> Recipe:
    """The recipe with nothing pulled. Raises StepError when nothing was."""
    if shape_of(recipe) == Shape():
        raise StepError("Nothing of this filler was pulled; it is as it was proposed.")
    return with_shape(recipe, Shape())


def strayed(plan: Plan, parts: tuple[str, ...]) -> list[Piece]:
    """Fillers on these parts, and over the seams of them, that were drawn before one of their neighbours moved, and may
    be drawn again."""
    fillers = [p for p in plan.pieces if p.recipe is not None and not p.stays and not (p.twin_of and p.linked)]
    met: set[str] = set()
    if any(_seam(p.recipe) and p.part not in parts for p in fillers):
        met = {name for a, b, name in joins_in(plan).edges(keys=True) if a in parts or b in parts}
    return [p for p in fillers if (p.part in parts or _seam(p.recipe) in met) and moved_since(plan, p)]


def moved_titles(plan: Plan, filler: Piece) -> list[str]:
    """What moved beside a filler since it was drawn, by name; 'a piece that is gone' for one that was deleted."""
    titles = {p.id: p.title for p in plan.pieces}
    return list(dict.fromkeys(titles.get(i, "a piece that is gone") for i in moved_since(plan, filler)))
