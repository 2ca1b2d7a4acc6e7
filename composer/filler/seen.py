"""What is seen of the pieces of a scene: each less what lies in front of it and its skin break.

Remembered for as long as a piece and what touches it from in front stay as they are; after a move only what
is near it is cut anew (`clip_cut`).
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import shapely

from composer.art.drawing import Drawing
from composer.filler.clip import at_turn, covers, cut, margin, near, turns_by
from composer.filler.clip_cut import Known, cut_anew
from composer.filler.clip_front import Front
from composer.filler.closing import in_one
from composer.kept import Kept
from composer.plan.model import Settings
from composer.plan.scene import Laid, Scene

ROUND_MM = 20.0
"""Of what hides a piece no more is grown than lies within the skin break and so many mm of the piece's box: tidying
along a cut does not reach so far."""

GRID_MM = 1e-4
"""What lies in front is set on this grid where GEOS failed on it as it was."""


def visible_laid(scene: Scene, settings: Settings, only: Iterable[str] | None = None,
                 then: Callable[[Laid, Drawing], object] | None = None) -> dict[str, Drawing]:
    """What is seen of every piece (or of those named in `only`), each in its own patch chart, mm. `then` is called with
    each as it is known, from several threads."""
    wanted = None if only is None else set(only)
    asked = [laid for laid in scene.laid if wanted is None or laid.piece.id in wanted]

    def known(laid: Laid) -> Drawing:
        drawing = _seen(scene, laid, settings)
        if then is not None:
            then(laid, drawing)
        return drawing

    if len(asked) < 3:
        return {laid.piece.id: known(laid) for laid in asked}
    row = sorted(asked, key=lambda laid: -laid.flat.points)         # no long one is begun last
    with ThreadPoolExecutor(min(os.cpu_count() or 1, 4)) as pool:   # shapely lets go of Python while it works
        seen = {laid.piece.id: drawing for laid, drawing in zip(row, pool.map(known, row), strict=True)}
    return {laid.piece.id: seen[laid.piece.id] for laid in asked}


_seen_of: Kept[tuple[tuple[object, ...], Drawing]] = Kept(500_000, lambda kept: kept[1].points, least=150)
"""What is seen of pieces, so many vertices of it; the drawings it was made from are held, so that their ids stand."""

_fronts: Kept[tuple[tuple[Drawing, Drawing], Front | None]] = Kept(
    600_000, lambda kept: 4 * shapely.get_num_coordinates(kept[1].hidden) if kept[1] else 8, least=300)
"""What hides what, by the two pieces and where they lie; None where one doesn't reach the other."""

_known: Kept[Known] = Kept(600_000, lambda known: 2 * known.drawing.points, least=40)
"""What drawings were cut into last."""


def fronts_of(scene: Scene, laid: Laid, over: Iterable[Laid], settings: Settings, near_mm: float) -> list[Front]:
    """What of the pieces `over` hides something of the piece, in its chart; the same objects while they lie as they
    do."""
    u0, s0, u1, s1 = laid.box
    pad = 8.0 / float(scene.limb.girth((s0 + s1) / 2))
    outline, gap = laid.flat.outline, settings.skin_break_mm
    low, high = np.reshape(outline.bounds, (2, 2))
    about = (*(low - gap - ROUND_MM), *(high + gap + ROUND_MM))
    shapely.prepare(outline)

    def front(other: Laid, turn: int) -> Front | None:
        form = in_one(at_turn(laid.patch, other, turn))
        if not shapely.dwithin(outline, form, 1.02 * gap + 0.2):     # a margin is never so wide
            return None
        near = shapely.clip_by_rect(form, *about)
        hidden = margin(near if shapely.is_valid(near) else form, gap)
        return Front(hidden, near_mm) if shapely.intersects(outline, hidden) else None

    out = []
    for other in over:
        for turn in turns_by(other, (u0 - pad, u1 + pad)):
            key = (id(laid.flat), id(other.flat), laid.patch, other.patch, turn, gap, near_mm)
            found = _fronts.once(key, lambda other=other, turn=turn: ((laid.flat, other.flat), front(other, turn)))[1]
            if found is not None:
                out.append(found)
    return out


_shown: Kept[tuple[tuple[object, ...], Drawing]] = Kept(500_000, lambda kept: kept[1].points, least=150)
"""The same by all that lies near, whether it touches or not: found again without laying out what hides."""


def _seen(scene: Scene, laid: Laid, settings: Settings) -> Drawing:
    """What is seen of one piece, remembered for as long as it and what lies in front stay as they are
    (laid drawings are shared while their place is the same, see `composer.plan.scene.lay`); what lies in front
    and does not touch it may move."""
    key, held = _key(scene, laid, settings)
    return _shown.once(key, lambda: (held, _touched(scene, laid, settings)))[1]


def forget_cutting() -> None:
    """Let go of what cutting anew after a move needs; what is seen stays known."""
    for memo in (_known, _fronts, _seen_of):
        memo.clear()


def _touched(scene: Scene, laid: Laid, settings: Settings) -> Drawing:
    gap, least = _fine(laid, settings)
    fronts = fronts_of(scene, laid, _over(scene, laid), settings, 3.0 * least)
    if not fronts:
        return laid.flat
    known = _known.once((id(laid.flat), least, gap), lambda: Known(laid.flat, least, gap))
    key = (id(laid.flat), *fronts, least, gap)
    return _seen_of.once(key, lambda: ((laid.flat, *fronts), _cut(known, fronts, least, gap)))[1]


def _cut(known: Known, fronts: list[Front], least: float, gap: float) -> Drawing:
    """The drawing less its fronts; where GEOS fails on a tile, cut all at once, at last with its slots left."""
    try:
        return cut_anew(known, fronts)
    except shapely.GEOSException:
        hidden = shapely.union_all([f.hidden for f in fronts], grid_size=GRID_MM)
        try:
            return cut(known.drawing, hidden, least, gap)
        except shapely.GEOSException:
            return cut(known.drawing, hidden, least)


def _over(scene: Scene, laid: Laid) -> list[Laid]:
    return near(scene.limb, laid, [x for x in scene.laid if covers(x, laid)])


def behind(scene: Scene, laid: Laid) -> bool:
    """Whether something that lies in front comes near a piece."""
    return bool(_over(scene, laid))


def _fine(laid: Laid, settings: Settings) -> tuple[float, float]:
    """Least slot and least width of what a cut leaves, mm."""
    return settings.line_gap_mm if laid.piece.is_filler else 0.0, 0.9 * settings.hand.fine_mm


def _key(scene: Scene, laid: Laid, settings: Settings) -> tuple[tuple[object, ...], tuple[object, ...]]:
    over = _over(scene, laid)
    held = (laid.flat, *(x.flat for x in over))
    return ((*map(id, held), laid.patch, *(x.patch for x in over), settings.skin_break_mm, *_fine(laid, settings)),
            held)


def name_of(scene: Scene, laid: Laid, settings: Settings) -> str:
    """Name (hex) of what is seen of a piece, by all it comes from: the same in any process."""
    over = _over(scene, laid)
    said = ([(x.flat.digest, x.patch) for x in (laid, *over)], settings.skin_break_mm, _fine(laid, settings))
    return hashlib.sha256(repr(said).encode()).hexdigest()[:32]


def recalled(scene: Scene, laid: Laid, settings: Settings) -> Drawing | None:
    """What is seen of a piece, where it is remembered."""
    found = _shown.get(_key(scene, laid, settings)[0])
    return found[1] if found else None


def remember(scene: Scene, laid: Laid, settings: Settings, drawing: Drawing) -> None:
    """Take it as known what is seen of a piece (see `name_of`)."""
    key, held = _key(scene, laid, settings)
    _shown.put(key, (held, drawing))
