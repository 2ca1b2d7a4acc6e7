"""The panel of the Tie in step: what is open, and what is proposed for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import rings_to_geometry
from composer.compose.gaps import Survey
from composer.filler.clip import in_front
from composer.filler.fabric_plan import THEMES, Theme
from composer.filler.ground import Wish
from composer.filler.kinds import KINDS, every_kind
from composer.filler.over_seam import propose_over
from composer.filler.proposals import Proposal, propose, sketches
from composer.plan.errors import StepError
from composer.plan.form import piece_to_json
from composer.plan.model import Piece
from composer.plan.scene import Laid, lay
from composer.store.store import Kept
from web import brush, choices, findings, hand_shown, pulling, shading, wide_found
from web.ask import Ask
from web.desk import Desk, View
from web.paint.candidate import candidate_picture


@dataclass(frozen=True)
class Slider:
    """One wish as a slider."""

    name: str
    title: str
    low: float
    high: float
    step: float
    unit: str


SLIDERS = (
    Slider("size", "Size", 0.5, 2.0, 0.05, "times"),
    Slider("density", "Fullness", 0.1, 1.0, 0.05, "share"),
    Slider("weight", "Weight of line", 0.5, 2.0, 0.05, "times"),
    Slider("tuck_mm", "Tuck behind", 0.0, 15.0, 0.5, "mm"),
    Slider("dark", "Darkness", 0.4, 1.8, 0.05, "times"),
    Slider("fade_mm", "Fade at the cuff", 0.0, 80.0, 2.0, "mm"),
)
COUNT = 3


def wish_from(form: Mapping[str, Any], usual: Wish | None = None) -> Wish:
    """The sliders in a form; whatever is missing stays as usual. Raises StepError for no number."""
    usual, values = usual or Wish(), {}
    for s in SLIDERS:
        try:
            value = float(form.get(s.name, getattr(usual, s.name)))
        except (TypeError, ValueError) as err:
            raise StepError(f"'{s.title}' must be a number.") from err
        if not np.isfinite(value):
            raise StepError(f"'{s.title}' must be a number.")
        values[s.name] = min(max(value, s.low), s.high)
    return Wish(**values)


def seed_from(form: Mapping[str, Any]) -> int:
    """The seed in a form, 1 when there is none."""
    try:
        return min(max(int(form.get("seed", 1)), 0), 2**31)
    except (TypeError, ValueError):
        return 1


def panel(desk: Desk, kept: Kept, view: View, ask: Ask) -> dict[str, Any]:
    """The list of ties, or the gap or tie that is open."""
    found = findings.for_page(desk, kept, view, ask.early)
    fault = ""
    try:
        gap, tie = open_goal(view, found, ask.goal)
    except StepError as err:
        gap, tie, fault = None, None, str(err)
    themes = {"themes": tie_themes(), "background": sum(p.is_filler for p in view.plan.on(view.part)),
              "strayed": pulling.strayed(view.plan, (view.part,))}
    if gap is None and tie is None:
        return {"panel": "ties", "lost": bool(ask.goal) and not found.late and not fault,
                "fault": fault, "brush_mm": brush.USUAL_MM, "currents": choices.currents_shown(kept, view),
                "hands": hand_shown.of(kept.plan.settings.hand),
                "options": choices.shown(kept, view.part),
                "shade": None if found.late else shading.shown(desk, kept, view),
                "musts": {t.key for t in found.ties if choices.is_must(kept, (view.part,), t)}, **themes}
    must = tie is not None and choices.is_must(kept, (view.part,), tie)
    return {"panel": "goal", "gap": gap, "tie": tie, "must": must, **kinds_for(gap)}


def kinds_for(gap: findings.GapShown | None) -> dict[str, Any]:
    """The kinds that a gap is wide enough for (all of them for a tie), and the wishes beside them."""
    least = gap.gap.widest_mm if gap else 1e9
    kinds = [k for k in every_kind().values() if k.least_mm <= least]
    return {"kinds": kinds, "sliders": SLIDERS, "wish": Wish(),
            "too_narrow": [k.title.lower() for k in every_kind().values() if k.least_mm > least]}


def open_goal(view: View, found: findings.Found, key: str) -> tuple[findings.GapShown | None, findings.TieShown | None]:
    """The gap, the painted stroke or the tie that is open. Raises StepError for a stroke with nothing under it."""
    if brush.is_brush(key) and found.survey is not None:
        return brush.shown(view, found.survey, key), None
    return found.gap(key), found.tie(key)


def tie_themes() -> list[Theme]:
    """Themes that a whole sleeve can be tied in with."""
    return list(THEMES.values())


def goal_of(found: findings.Found, key: str, joined: bool = False) -> dict[str, Any]:
    """The recipe's goal for what is open; `joined`: found on a part searched as far as its neighbours. Raises StepError
    when it is gone."""
    beside: dict[str, Any] = {"joined": True} if joined else {}
    if brush.is_brush(key):
        return brush.goal_of(key)
    gap, tie = found.gap(key), found.tie(key)
    if gap is not None:
        return {"gap": [[round(float(v), 6) for v in gap.gap.centre]], **beside}
    if tie is not None:
        return {"tie": [tie.tie.a, tie.tie.b], **beside}
    raise StepError("This gap is no longer there: something was moved or laid into it. Choose another.")


def candidates(desk: Desk, kept: Kept, view: View, key: str, kind: str, wish: Wish, seed: int) -> list[Proposal]:
    """What a kind proposes for the gap or tie that is open. Raises StepError with a sentence."""
    settings = kept.plan.settings
    _known(kind)
    if wide_found.is_seam(key):
        joined, seam = wide_found.seam_gap(desk, kept, key)
        try:
            return desk.once(("propose", kept.plan.id, kept.revision, view.place, key, kind, wish, seed),
                             lambda: propose_over(joined, seam, [kind], settings.hand, wish, seed, COUNT, settings))
        except ValueError as err:
            raise StepError(str(err)) from err
    survey, goal = _ground(desk, kept, view, key)

    def make() -> list[Proposal]:
        pool = desk.drawers if desk.drawers.ready and kind in KINDS else None   # others may be known here only
        return propose(survey.scene, survey, goal, [kind], settings.hand, wish, seed, COUNT, settings, pool)

    try:
        return desk.once(("propose", kept.plan.id, kept.revision, view.place, key, kind, wish, seed), make)
    except ValueError as err:
        raise StepError(str(err)) from err


def sketched(desk: Desk, kept: Kept, view: View, key: str, kind: str, wish: Wish, seed: int) -> list[Proposal]:
    """The sketches of the same, to show until the drawings are there; none where the kind has none. Raises
    StepError with a sentence."""
    _known(kind)
    if wide_found.is_seam(key) or kind not in KINDS:
        return []
    survey, goal = _ground(desk, kept, view, key)
    settings = kept.plan.settings
    try:
        # drawn here: what the drawing processes are at may take longer than a sketch
        return desk.once(("sketch", kept.plan.id, kept.revision, view.place, key, kind, wish, seed),
                         lambda: sketches(survey.scene, survey, goal, kind, settings.hand, wish, seed, COUNT, settings))
    except ValueError as err:
        raise StepError(str(err)) from err


def not_as_sketched(sketches: list[Proposal], made: list[Proposal]) -> str:
    """The sentence for sketches whose finished drawing breaks a rule, so that another took their place; '' where there
    are none."""
    by_number = {p.number: p for p in made}
    other = sum(s.number in by_number and not by_number[s.number].finishes(s) for s in sketches)
    lost = sum(s.number not in by_number for s in sketches)
    said = [f"{_counted(n)} could not be finished within the rules; {what}."
            for n, what in ((other, "another drawing took its place" if other == 1 else "others took their places"),
                            (lost, "it is left out" if lost == 1 else "they are left out")) if n]
    return " ".join(said)


def _counted(sketches: int) -> str:
    return "One sketch" if sketches == 1 else f"{sketches} sketches"


def _known(kind: str) -> None:
    if kind not in every_kind():
        raise StepError("There is no background of that kind.")


def _ground(desk: Desk, kept: Kept, view: View, key: str) -> tuple[Survey, dict[str, Any]]:
    """The survey and the recipe's goal for what is open. Raises StepError."""
    found = findings.of(desk, kept, view)
    goal = goal_of(found, key, view.joined and view.limb.closed)
    if found.survey is None:
        raise StepError(found.fault)
    return found.survey, goal


def as_piece(proposal: Proposal, part: str, piece_id: str, art: str) -> Piece:
    """The piece that a proposal becomes."""
    return Piece(piece_id, part, art, proposal.title, proposal.u, proposal.s_mm, recipe=proposal.recipe)


def piece_json(proposal: Proposal, part: str, piece_id: str, art: str) -> dict[str, Any]:
    """The same for a `place` step, which finds its own depth."""
    data = piece_to_json(as_piece(proposal, part, piece_id, art))
    del data["depth"]
    return data


def laid_proposal(view: View, proposal: Proposal, name: str = "proposed") -> Laid:
    """The proposal on skin, as if it were accepted."""
    piece = as_piece(proposal, view.part, name, proposal.drawing.digest)
    return lay(view.limb, piece, proposal.drawing)


def pictures(desk: Desk, kept: Kept, view: View, key: str, made: list[Proposal]) -> list[dict[str, Any]]:
    """Each candidate with its picture: the gap, what lies in front, the drawing."""
    if wide_found.is_seam(key):
        _, seam = wide_found.seam_gap(desk, kept, key)
        return [_picture(view, p, seam.front, [np.asarray(seam.free.exterior.coords)]) for p in made]
    found = findings.of(desk, kept, view)
    gap, tie = found.gap(key), found.tie(key)
    if brush.is_brush(key) and found.survey is not None:
        gaps = brush.gaps(found.survey, key)
    else:
        gaps = [gap.gap] if gap else [g.gap for g in found.gaps if tie and g.gap.key in tie.tie.gaps]
    mains = [la for la in view.scene.laid if not la.piece.is_filler]
    out = []
    for p in made:
        laid = laid_proposal(view, p)
        front = in_front(view.scene, laid, mains)
        around = [laid.patch.to_flat(laid.patch.near(r)) for g in gaps for r in g.rings]
        out.append(_picture(view, p, front, around))
    return out


def _picture(view: View, p: Proposal, front: BaseGeometry, around: list[np.ndarray]) -> dict[str, Any]:
    svg = candidate_picture(p.drawing, front, around, view.plan.settings)
    gap = shapely.difference(rings_to_geometry(around), front)
    cover = float(shapely.intersection(p.drawing.outline, gap).area / gap.area) if gap.area > 0 else 0.0
    return {"index": p.number, "title": p.title, "picture": Markup(svg), "cover": cover,
            "words": f"{p.title}, covers {cover:.0%} of the gap"}
