"""Readings: what can be measured of a piece as it lies, each with the sentence that explains it.

Advice, not law: the thresholds are common practice (see `composer.compose.thresholds`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from composer.body.distort import worst
from composer.body.metric import area
from composer.body.selfmeet import self_meeting
from composer.body.surface import Surface
from composer.body.units import format_area, format_length
from composer.compose.neighbours import Near, near_pieces, on_skin
from composer.compose.outline import FAR, NEAR
from composer.compose.thresholds import HIDDEN_SHARE, OFF_END_MM, STRETCH_STRONG, STRETCH_WARN
from composer.compose.words import border_titles, capital, names_of
from composer.plan.errors import NotThereError
from composer.plan.scene import Laid, Scene


@dataclass(frozen=True)
class PieceReading:
    """A piece in numbers. `width_mm`, `height_mm`: its extent on paper as it is turned; `area_mm2`
    of skin; `nearest`: the closest neighbour or None; `overlaps`: those it lies over or under;
    `stretch`: the worst, signed; `beyond_mm`: past the far and the near end; `crosses`: names of the
    elbow, knee or crease levels that it runs over. `warnings`: sentences worth acting on;
    `sentence`: all of it in one."""

    piece_id: str
    title: str
    width_mm: float
    height_mm: float
    area_mm2: float
    nearest: Near | None
    overlaps: tuple[Near, ...]
    stretch: float
    beyond_mm: tuple[float, float]
    crosses: tuple[str, ...]
    warnings: tuple[str, ...]
    sentence: str


def read_pieces(scene: Scene, skin_break_mm: float = 2.0,
                ranges: Mapping[str, tuple[float, float]] | None = None, unit: str = "cm") -> tuple[PieceReading, ...]:
    """Readings of every main piece, back to front. `ranges`: natural size (least, most) of the
    longer side in mm by piece id, where the motif has one. `unit`: of the sentences."""
    return tuple(read_piece(scene, x.piece.id, skin_break_mm, (ranges or {}).get(x.piece.id), unit)
                 for x in scene.laid if not x.piece.is_filler)


def read_piece(scene: Scene, piece_id: str, skin_break_mm: float = 2.0, range_mm: tuple[float, float] | None = None,
               unit: str = "cm") -> PieceReading:
    """Readings of one piece. Raises NotThereError with a sentence when it is not on this part."""
    order = [x for x in scene.laid if not x.piece.is_filler]
    laid = next((x for x in order if x.piece.id == piece_id), None)
    if laid is None:
        raise NotThereError(f"There is no piece '{piece_id}' on this part; it may have been deleted in another window.")
    limb = scene.limb
    titles = border_titles(laid.piece.part) | {x.piece.id: x.piece.title for x in order}
    names = names_of(titles)
    me = capital(names[piece_id])
    xy = np.concatenate(laid.flat.silhouette)
    width, height = (float(v) for v in np.ptp(xy, axis=0))
    shape = on_skin(laid)
    skin = area(limb, shapely.intersection(shape, shapely.box(-1e6, limb.s_min, 1e6, limb.s_max)))
    near = near_pieces(limb, laid, [x for x in order if x is not laid])
    over = tuple(n for n in near if n.overlap_mm2 > 0)
    apart = [n for n in near if n.overlap_mm2 == 0]
    stretch = worst(limb, laid.patch, xy, unit)
    s_lo, s_hi = shape.bounds[1], shape.bounds[3]
    beyond = (max(0.0, limb.s_min - s_lo), max(0.0, s_hi - limb.s_max))
    crosses = tuple(lv.name for lv in limb.levels if _bends(lv.name) and s_lo + 3 < lv.s_mm < s_hi - 3)

    size = f"{me} is {format_length(width, unit)} wide and {format_length(height, unit)} tall and takes up " \
           f"{format_area(skin, unit)} of skin"
    warnings = [
        *_too_near(me, apart, names, skin_break_mm),
        *_stretched(me, stretch.stretch, stretch.s_mm, limb, unit),
        *_past(me, beyond, names, unit),
        *_out_of_range(me, max(width, height), range_mm, unit),
        *([f"{me} runs over the {' and the '.join(crosses)}, where skin folds and stretches; keep fine detail and "
           "faces clear of it."] if crosses else []),
    ]
    round_ = self_meeting(limb, laid.patch, laid.flat.silhouette, skin_break_mm, unit).sentence
    if round_:
        warnings.append(round_.replace("The piece", me, 1))
    told = [size]
    if apart:
        told.append(f"{names[apart[0].id]} is nearest, {apart[0].clearance_mm:.1f} mm away")
    told += [_lies(n, order, laid, skin, names, unit) for n in over if n.overlap_mm2 > HIDDEN_SHARE * skin]
    told.append(f"paper is off by {100 * abs(stretch.stretch):.0f}% at most")
    return PieceReading(piece_id, laid.piece.title, width, height, skin, near[0] if near else None, over,
                        stretch.stretch, beyond, crosses, tuple(warnings), "; ".join(told) + ".")


def _bends(level: str) -> bool:
    return any(w in level.lower() for w in ("elbow", "ditch", "crease", "knee"))


def _lies(n: Near, order: list[Laid], laid: Laid, skin: float, names: Mapping[str, str],
          unit: str) -> str:
    ids = [x.piece.id for x in order]
    behind = ids.index(n.id) < ids.index(laid.piece.id)
    return (f"it lies {'in front of' if behind else 'behind'} {names[n.id]} over {format_area(n.overlap_mm2, unit)}"
            + ("" if behind or skin <= 0 else f", {100 * n.overlap_mm2 / skin:.0f}% of it hidden"))


def _too_near(me: str, apart: list[Near], names: Mapping[str, str], skin_break_mm: float) -> list[str]:
    return [f"{me} comes within {n.clearance_mm:.1f} mm of {names[n.id]}, less than the skin break of "
            f"{skin_break_mm:.1f} mm; move them apart, or let one lie clearly behind the other."
            for n in apart if n.clearance_mm < skin_break_mm - 0.05]


def _stretched(me: str, stretch: float, s_mm: float, limb: Surface, unit: str) -> list[str]:
    if abs(stretch) < STRETCH_WARN:
        return []
    if not np.isfinite(stretch):
        return [f"{me} reaches past the tip of the cone that paper forms here; make it smaller."]
    level = min(limb.levels, key=lambda lv: abs(lv.s_mm - s_mm)).name
    how = f"Paper for {me[0].lower()}{me[1:]} would {'pull apart' if stretch > 0 else 'fold'} by " \
          f"{100 * abs(stretch):.0f}% near the {level} ({format_length(s_mm, unit)} up)"
    if abs(stretch) >= STRETCH_STRONG:
        return [f"{how}: cut slits or rings into the stencil there, or draw that part freehand."]
    return [f"{how}: stretch the skin while applying it, or make the piece smaller."]


def _past(me: str, beyond: tuple[float, float], names: Mapping[str, str], unit: str) -> list[str]:
    ends = (names[FAR], names[NEAR]) if FAR in names else (names["border:lower"], "the top of the neck and shoulders")
    return [f"{me} reaches {format_length(mm, unit)} beyond {end}; what lies there was not taped, and a stencil "
            "of it is a guess." for mm, end in zip(beyond, ends, strict=True) if mm > OFF_END_MM]


def _out_of_range(me: str, size: float, range_mm: tuple[float, float] | None, unit: str) -> list[str]:
    if range_mm is None or range_mm[0] <= size <= range_mm[1]:
        return []
    small = size < range_mm[0]
    return [f"{me} is {format_length(size, unit)} on its longer side, {'below' if small else 'above'} its natural "
            f"{format_length(range_mm[0], unit)} to {format_length(range_mm[1], unit)}; "
            + ("fine lines may run together as it heals." if small else "large flat areas may look empty.")]
