"""What a kind drew, as it will be kept: its ends drawn out, rounded, and held against the hard rules."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, Layer
from composer.filler.check import Finding, findings
from composer.filler.clip import about
from composer.filler.clip_memo import by_identity
from composer.filler.cloud_stage import stage_of, widened
from composer.filler.end_mend import drawn_out, still_bare
from composer.filler.ends import bare_ends, ink_of, seen_of
from composer.filler.ground import Ground, Wish
from composer.filler.kinds import Kind
from composer.filler.one_turn import as_laid
from composer.filler.skeleton import StrokeEnd
from composer.plan.model import Hand

ROUNDS = 2
"""A corner that is taken off may show another."""


def finished(made: Drawing, of: Kind, ground: Ground, hand: Hand, wish: Wish) -> tuple[Drawing, list[Finding]]:
    """The drawing as it will be stored, and the hard rules that it breaks where it is seen; none when it may be
    shown. `made`: unclipped, mm, as the kind gives it for this ground."""
    made = rounded(made)
    there = open_to(as_laid(ground, made), of, wish)
    clear = in_view(there)
    bare: list[StrokeEnd] = []
    for k in range(ROUNDS + 1):
        seen = seen_of(made, there, hand)
        bad = findings(seen, there, hand) if seen.layers else [NOTHING]
        if bad:
            return made, bad
        ink = ink_of(seen, clear)
        if k:       # nearby first, which is quick
            bare = still_bare(bare, ink, made, clear, hand)
        bare = bare or bare_ends(ink, made, clear, hand)
        better = drawn_out(made, ink, bare, clear, hand) if bare and k < ROUNDS else made
        if better is made:
            break
        made = rounded(better)
    return made, [_bare(e) for e in bare]


def broken(drawing: Drawing, of: Kind, ground: Ground, hand: Hand, wish: Wish) -> list[Finding]:
    """Hard rules that a drawing (unclipped, mm) breaks once it is cut to what is seen: those of `check.findings`, and
    that no stroke ends bare. Washes are no line work and are left out."""
    there = open_to(as_laid(ground, drawing), of, wish)
    seen = seen_of(drawing, there, hand)
    bad = findings(seen, there, hand) if seen.layers else [NOTHING]
    clear = in_view(there)
    return bad or [_bare(e) for e in bare_ends(ink_of(seen, clear), drawing, clear, hand)]


NOTHING = Finding("empty", "Nothing of this filler is seen.", 0.0, 0.0)


def _bare(end: StrokeEnd) -> Finding:
    return Finding("end", "A stroke ends bare here, cut off in the open; it has to end in a tip, in a ball or tucked "
                   "behind what lies in front.", end.x, end.y)


def open_to(ground: Ground, of: Kind, wish: Wish) -> Ground:
    """The ground with all the skin on which a kind may be seen: a drifting one may run out over open skin beside its
    gap, where no piece parts them."""
    return widened(ground, stage_of(ground, wish)) if of.drifts else ground


def in_view(ground: Ground) -> Ground:
    """The ground with no more skin than is seen of it: less what lies in front and the skin break round that."""
    return replace(ground, free=_in_view(ground.free, ground.front, ground.skin_break_mm))


@by_identity
def _in_view(free: BaseGeometry, front: BaseGeometry, skin_break_mm: float) -> BaseGeometry:
    if front.is_empty:
        return free
    return shapely.difference(free, about(front, skin_break_mm, free.bounds))


def rounded(drawing: Drawing) -> Drawing:
    """The drawing with coordinates rounded to 0.001 mm, as it will be stored; the same object where
    they are so already."""
    def go(rings: Iterable[np.ndarray]) -> tuple[np.ndarray, ...]:
        return tuple(np.round(r, 3) for r in rings if len(r) >= 3)

    def fine(rings: tuple[np.ndarray, ...]) -> bool:
        return not rings or (min(map(len, rings)) >= 3 and np.array_equal(at := np.concatenate(rings), np.round(at, 3)))

    if fine(drawing.silhouette) and all(fine(la.rings) for la in drawing.layers):
        return drawing
    return Drawing(go(drawing.silhouette), tuple(Layer(la.role, go(la.rings)) for la in drawing.layers),
                   drawing.ends, drawing.notes)
