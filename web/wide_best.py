"""Where a motif sits best on a wide sheet: on either arm as far as it shows there."""

from __future__ import annotations

from dataclasses import replace

from composer.plan.errors import StepError
from composer.store.store import Kept
from web import best
from web.best import Answer, Offer
from web.desk import Desk
from web.places import PART_NAMES
from web.wide_view import WideView


def answer(desk: Desk, kept: Kept, view: WideView, goal: str) -> Answer:
    """The proposals of both arms together, best first; a laid piece is moved on its own part. Raises StepError,
    ValueError with a sentence."""
    want = best.wanted(desk, kept, view, goal)
    if want.piece is not None:
        return best.answer(desk, kept, desk.view(kept.plan, kept.revision, want.piece.part), goal)
    arms = [p for p in view.wide.parts if p.limb.closed]
    if not arms:
        raise StepError("Best places are looked for on arms and legs; on chest and back lay it by hand.")
    found = [(p.part, best.answer(desk, kept, desk.view(kept.plan, kept.revision, p.part), goal, p.s_from_mm))
             for p in arms]
    places = [_named(o, part) for part, a in found for o in a.places]
    room = [_named(o, part) for part, a in found for o in a.room]
    places.sort(key=lambda o: -o.score)
    sentence = "" if places else " ".join(f"{PART_NAMES[part]}: {a.sentence}" for part, a in found if a.sentence)
    return Answer(tuple(places[: best.COUNT]), tuple(room) if not places else (), sentence, None)


def _named(offer: Offer, part: str) -> Offer:
    return replace(offer, head=f"{PART_NAMES[part]}, {offer.head[:1].lower()}{offer.head[1:]}")
