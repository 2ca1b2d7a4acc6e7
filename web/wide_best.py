"""Where a motif sits best on a wide sheet: on the trunk and on either arm, as far as they show there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from composer.store.store import Kept
from web import best
from web.best import Answer, Offer
from web.desk import Desk
from web.places import PART_NAMES
from web.wide_view import WideView


def answer(desk: Desk, kept: Kept, view: WideView, goal: str) -> Answer:
    """The proposals of all parts together, best first, with the best of each among them; a laid piece is moved on its
    own part. Raises StepError, ValueError with a sentence."""
    want = best.wanted(desk, kept, view, goal)
    if want.piece is not None:
        return best.answer(desk, kept, desk.view(kept.plan, kept.revision, want.piece.part), goal)
    found = [(p.part, best.answer(desk, kept, desk.view(kept.plan, kept.revision, p.part), goal,
                                  p.s_from_mm if p.limb.closed else None)) for p in view.wide.parts]
    shown = {part: [o for o in a.places if _shows(view, part, o)] for part, a in found}
    firsts = [_named(rows[0], part) for part, rows in shown.items() if rows]
    rest = sorted((_named(o, part) for part, rows in shown.items() for o in rows[1:]), key=lambda o: -o.score)
    places = sorted([*firsts, *rest[: best.COUNT - len(firsts)]], key=lambda o: -o.score)
    room = [_named(o, part) for part, a in found for o in a.room]
    sentence = "" if places else " ".join(f"{PART_NAMES[part]}: {a.sentence}" for part, a in found if a.sentence)
    return Answer(tuple(places), tuple(room) if not places else (), sentence, None)


def _shows(view: WideView, part: str, offer: Offer) -> bool:
    """Whether its anchor lies where the part shows on the wide sheet; an arm's places keep to what shows as it is."""
    own = view.wide.part(part)
    if own.limb.closed:
        return True
    x, y = own.to_wide(np.array([[offer.piece.u, offer.piece.s_mm]]))[0]
    return bool(shapely.contains_xy(own.strip, x, y))


def _named(offer: Offer, part: str) -> Offer:
    return replace(offer, head=f"{PART_NAMES[part]}, {offer.head[:1].lower()}{offer.head[1:]}")
