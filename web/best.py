"""Where a motif, or a piece that is laid already, sits best; and what makes room for it.

What is asked for is named by the goal 'best:motif:ID' or 'best:piece:ID', with ':FROM:TO' behind it where the
artist has chosen the size, as typed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from composer.art.drawing import Drawing
from composer.body.units import format_length, number, parse_length
from composer.compose.best_place import NoPlace, Placement, best_places, smaller_places, why_none
from composer.compose.best_place_check import Pose, checker
from composer.compose.best_place_room import Room, make_room
from composer.compose.extent import inner_span
from composer.compose.fit_readings import Mark, fit_piece
from composer.compose.gaps import Survey
from composer.compose.words import capital
from composer.plan.errors import StepError
from composer.plan.extents import extent_of
from composer.plan.model import Piece
from composer.plan.scene import Laid, Scene, lay
from composer.store.store import Kept
from web import findings, fit, sleeve
from web.desk import Desk, View
from web.paint.piece import piece_group
from web.paint.place import place_picture

COUNT = 5
TURNED, LYING = 2, (65.0, -65.0, 90.0, -90.0)
"""Where nothing fits upright or leaning, so many places are shown for it turned by so much, degrees."""
GROW = 1.01
"""Where nothing fits in the size that is wanted, smaller ones are grown in such steps."""


@dataclass(frozen=True)
class Wanted:
    """What a place is looked for: `piece` when it is laid already, else a motif of the shelf. Sizes of the longer
    side, mm: `low`, `high` to look at, `natural` of the motif (or None)."""

    key: str
    title: str
    drawing: Drawing
    side: dict[str, Any]
    piece: Piece | None
    motif: str | None
    low: float
    high: float
    natural: tuple[float, float] | None

    @property
    def size_mm(self) -> float:
        """Longer side of the drawing as drawn."""
        (x0, y0), (x1, y1) = _corners(self.drawing)
        return max(x1 - x0, y1 - y0)


@dataclass(frozen=True)
class Offer:
    """One proposal: how the piece would lie, its picture, where, how large, what speaks for it. `marks`: readings
    worth a look. `act`: what taking it does, as its button says."""

    piece: Piece
    picture: str
    head: str
    size: str
    words: str
    marks: tuple[Mark, ...] = ()
    score: float = 0.0
    act: str = ""

    @property
    def pose(self) -> dict[str, Any]:
        """Where it lies, as the page sends it back."""
        p = self.piece
        return {"u": round(p.u, 9), "s": round(p.s_mm, 6), "turn": round(p.turn_deg, 6), "scale": round(p.scale, 9),
                "flip": int(p.flip), "on": p.part}


@dataclass(frozen=True)
class Answer:
    """`places` in the size that is wanted; `room` what would make it fit where it is (or a smaller size
    somewhere); `sentence` when there are no places; `fits` whether a laid piece is clear where it is."""

    places: tuple[Offer, ...]
    room: tuple[Offer, ...]
    sentence: str
    fits: bool | None


def is_asked(goal: str) -> bool:
    return goal.startswith("best:")


def wanted(desk: Desk, kept: Kept, view: View, goal: str) -> Wanted:
    """What is asked for. Raises StepError with a sentence."""
    _, kind, key, *sizes = [*goal.split(":"), ""][:6] if goal.count(":") >= 2 else ("", "", "")
    piece, motif_id = None, key
    if kind == "piece":
        piece = next((p for p in view.on() if p.id == key and not p.is_filler), None)
        if piece is None:
            raise StepError("This piece is no longer here; it may have been deleted in another window.")
        if piece.locked:
            raise StepError(f"'{piece.title}' is locked; unlock it to move it.")
        motif_id = piece.motif or ""
    known = {m.id: m for m in desk.store.shelf()}
    motif = known.get(motif_id)
    if piece is None:
        if kind != "motif" or motif is None:
            raise StepError("This drawing is no longer on the shelf; choose another.")
        digest, title = motif.digest, motif.title
    else:
        digest, title = piece.art, piece.title
    drawing = desk.store.shown[digest]
    side = {**(motif.side if motif else {}), "title": title}
    natural = (float(side["min_mm"]), float(side["max_mm"])) if motif else None
    (x0, y0), (x1, y1) = _corners(drawing)
    own = max(x1 - x0, y1 - y0)
    low, high = (own * piece.scale,) * 2 if piece else natural or (own, own)
    typed = [s for s in sizes if s]
    if len(typed) == 2:
        unit = kept.plan.settings.unit
        low, high = (parse_length(s, unit, f"The {n} size") for s, n in zip(typed, ("smallest", "largest"),
                                                                         strict=True))
        if low > high:
            raise StepError("The smallest size must not be above the largest one.")
    return Wanted(goal, title, drawing, side, piece, None if piece else motif_id, low, high, natural)


def _corners(drawing: Drawing) -> tuple[list[float], list[float]]:
    import numpy as np

    xy = np.concatenate(drawing.silhouette)
    return xy.min(axis=0).tolist(), xy.max(axis=0).tolist()


def panel(desk: Desk, kept: Kept, view: View, goal: str) -> dict[str, Any]:
    """What the panel shows at once; the proposals come after it."""
    try:
        want = wanted(desk, kept, view, goal)
    except (StepError, ValueError) as err:
        kind, key, *sizes = [*goal.split(":")[1:], "", ""]
        return {"panel": "best", "want": None, "best_fault": str(err), "best_key": ":".join(("best", kind, key)),
                "best_sizes": (*sizes, "", "")[:2]}
    unit = kept.plan.settings.unit
    return {"panel": "best", "want": want, "best_fault": "", "best_key": ":".join(goal.split(":")[:3]),
            "best_sizes": (number(want.low, unit), number(want.high, unit))}


def answer(desk: Desk, kept: Kept, view: View, goal: str, from_mm: float | None = None) -> Answer:
    """The proposals; `from_mm`: above that level of a limb only. Raises StepError, ValueError with a sentence."""
    return desk.once(("best", kept.plan.id, kept.revision, view.part, goal, from_mm),
                     lambda: _answer(desk, kept, view, wanted(desk, kept, view, goal), from_mm))


def _answer(desk: Desk, kept: Kept, view: View, want: Wanted, from_mm: float | None) -> Answer:
    without = replace(skin_to_fill(view), laid=tuple(la for la in view.scene.laid
                                                     if want.piece is None or la.piece.id != want.piece.id))
    options = fit.options_of(kept, view) | {"part": view.part, "span": span_of(view, from_mm)}
    survey = findings.of(desk, kept, view).survey
    try:
        found = best_places(without, survey, want.drawing, want.side, (want.low, want.high), COUNT, **options)
        if found:
            sentence, smaller = "", []
        else:
            smaller = smaller_places(without, survey, want.drawing, want.side, want.low, 6, **options)
            sentence = why_none(without, want.drawing, want.side, (want.low, want.high), smaller=smaller,
                                **options)
    except NoPlace as err:
        return Answer((), (), str(err), None)
    places = tuple(_offer(view, without, want, p) for p in found)
    if want.piece is None:
        more = () if found else _turned(view, without, survey, want, options)
        return Answer(places, (*more, *_grown(kept, view, without, want, smaller[:3], options)), sentence, None)
    room = make_room(view.scene, want.piece.id, skin_break_mm=options["skin_break_mm"], span=options["span"],
                     side=want.side, unit=options["unit"])
    offers = _rooms(view, without, want, room)
    if not sentence and not offers and not room.fits:
        sentence = room.sentences[0]
    if not found and not offers:
        offers = list(_grown(kept, view, without, want, smaller[:3], options))
    return Answer(places, tuple(offers), sentence, room.fits)


def span_of(view: View, from_mm: float | None = None) -> tuple[float, float] | None:
    """The stretch of the limb that the sleeve takes up, above a level where one is given; None for the whole part."""
    if not view.limb.closed:
        return None
    low, high = inner_span(fit.limb_of(view), extent_of(view.plan.part(view.part)))
    return (low, high) if from_mm is None else (min(max(low, from_mm), high), high)


def skin_to_fill(view: View) -> Scene:
    """The scene of a part; a chest or back that sleeves run into is cut to what they take of it."""
    return view.scene if view.limb.closed else sleeve.scene_of(view)


def _base(view: View, want: Wanted) -> Piece:
    return want.piece or Piece("best", view.part, want.drawing.digest, want.title, 0.0, 0.0, motif=want.motif)


def _offer(view: View, scene: Scene, want: Wanted, p: Placement) -> Offer:
    piece = replace(_base(view, want), u=p.u, s_mm=p.s_mm, turn_deg=p.turn_deg, scale=p.scale, flip=p.flip)
    head, _, rest = p.sentence.partition(": ")
    where, *rows = head.rsplit(", ", 3)
    marks = tuple(m for m in p.readings.marks if m.level)
    return Offer(piece, _picture(view, scene, want, piece), where, ", ".join(rows), capital(rest), marks, p.score,
                 "Move it there" if want.piece else "Lay it there")


def _grown(kept: Kept, view: View, scene: Scene, want: Wanted, found: Sequence[Placement],
           options: Mapping[str, Any]) -> tuple[Offer, ...]:
    """Places for less than the size that is wanted, each as large as there is room for, the largest first."""
    look = checker(scene, want.drawing, options["skin_break_mm"], options["span"])
    read = {k: v for k, v in options.items() if k not in ("part", "span")}
    most, unit = want.low / want.size_mm, kept.plan.settings.unit
    grown = []
    for p in found:
        scale = p.scale
        while scale * GROW < most and look.clear(Pose(p.u, p.s_mm, p.turn_deg, scale * GROW, p.flip)):
            scale *= GROW
        grown.append((scale, p))
    out = []
    for scale, p in sorted(grown, key=lambda it: -it[0]):
        o = _offer(view, scene, want, p)
        piece = replace(o.piece, scale=scale)
        laid = laid_offer(view, want, piece)
        fit_ = fit_piece(replace(scene, laid=(*scene.laid, laid)), "best", sides={"best": want.side}, **read)
        width, height = fit_.facts.samples.size
        size = f"{format_length(width, unit)} wide and {format_length(height, unit)} tall"
        words = f"As large as there is room for: {100 * scale / most:.0f}% of the least size wanted."
        out.append(Offer(piece, _picture(view, scene, want, piece), o.head, size, words,
                         tuple(m for m in fit_.marks if m.level), act=o.act))
    return tuple(out)


def _turned(view: View, scene: Scene, survey: Survey | None, want: Wanted,
            options: Mapping[str, Any]) -> tuple[Offer, ...]:
    """Places in the size that is wanted for a drawing turned further than it is usually tried."""
    found = best_places(scene, survey, want.drawing, want.side, (want.low, want.high), TURNED, sizes=3, turns=LYING,
                        **options)
    out = []
    for p in found:
        o = _offer(view, scene, want, p)
        words = f"In the size that is wanted there is room for it when it lies this way. {o.words}"
        out.append(replace(o, words=words, act="Lay it so"))
    return tuple(out)


def _rooms(view: View, scene: Scene, want: Wanted, room: Room) -> list[Offer]:
    here, out = _base(view, want), []
    for way, words in zip(room.ways, room.sentences, strict=True):
        if way == "shift" and room.to is not None:
            piece, head, act = replace(here, u=room.to[0], s_mm=room.to[1]), "Move it", "Move it so"
        elif way == "turn" and room.turn_deg is not None:
            piece, head, act = replace(here, turn_deg=here.turn_deg + room.turn_deg), "Turn it", "Turn it so"
        elif way == "scale" and room.scale is not None:
            piece = replace(here, scale=here.scale * room.scale)
            head, act = ("Make it larger", "Enlarge it so") if room.scale > 1 else ("Make it smaller", "Shrink it so")
        else:
            continue
        out.append(Offer(piece, _picture(view, scene, want, piece), head, "", words, act=act))
    return out


def laid_offer(view: View, want: Wanted, piece: Piece) -> Laid:
    """A proposal on skin, as if it were taken."""
    return lay(view.limb, replace(piece, id="best"), want.drawing)


def _picture(view: View, scene: Scene, want: Wanted, piece: Piece) -> str:
    return place_picture(laid_offer(view, want, piece), scene, view.sheet, view.plan.settings)


def on_sheet(view: View, want: Wanted, piece: Piece) -> str:
    """SVG group of a proposal as it would lie on the sheet."""
    return piece_group(laid_offer(view, want, piece), view.sheet, "best", 0.15)


__all__ = ["Answer", "Offer", "Wanted", "answer", "is_asked", "on_sheet", "panel", "span_of", "wanted"]
