"""What skin can hold of a drawing: gaps, loops and dots that will close up with age, lines thinner than a needle.

Growth of lines is additive: on the one measured series (a CC0 three-bar chart on an ankle, photographed at 12 weeks and
33 months; one subject, phone photographs) bars of 1 mm and more grew by 0.4 to 1.0 mm, and gaps of 2.0 / 1.5 / 1.0 mm
kept about 1.2 / 0.65 / 0.5 mm. The limits are defaults from it, to be changed by the artist.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.art.pixels import polygons
from composer.body.units import format_length
from composer.compose.fit_lines import LINES, STEP_MM, gaps_along

RUN_MM, RUN_SHARE, LOOP_SHARE = 3.0, 0.02, 0.1
"""Length of gap, all together, and share of all edges that may be narrower than a limit before a size counts as too
small, whichever is more: crossing strokes always come near each other somewhere. One loop in ten may close as well."""

JOINED_MM, PINHOLE_MM = 0.3, 0.5
"""Gaps no wider than a needle, and loops smaller than this, are no gaps to begin with: they fill in when drawn."""

MOST_TIMES = 8.0


@dataclass(frozen=True)
class Limits:
    """`gap_mm`: width from which a gap or loop stays open; `closed_mm`: under which it closes; `needle_mm`: the
    thinnest line."""

    gap_mm: float = 1.5
    closed_mm: float = 1.0
    needle_mm: float = 0.25


@dataclass(frozen=True)
class Holds:
    """Places on the drawing at the size it was read at, mm: `closing` will close up with age, `tight` may, `thin` is
    thinner than the needle, `dots` (ink) are so small that they blur away. `long_mm`: the longer side now; `least_mm`
    and `safe_mm`: the longer side from which nothing much is `closing`, and nothing much `tight`, or None where no size
    up to MOST_TIMES as large would do."""

    closing: BaseGeometry
    tight: BaseGeometry
    thin: BaseGeometry
    dots: BaseGeometry
    long_mm: float
    least_mm: float | None
    safe_mm: float | None
    sentences: tuple[str, ...]


def holds(drawing: Drawing, scale: float = 1.0, limits: Limits | None = None) -> Holds:
    """Read a drawing at `scale` times its own size. Areas are in mm at that size, in the drawing's frame."""
    limits = limits or Limits()
    if scale != 1.0:
        drawing = drawing.moved(np.array([[scale, 0, 0], [0, scale, 0]], float))
    ink = shapely.union_all([la.area for la in drawing.layers if la.role in LINES])
    long_mm = float(np.ptp(np.concatenate(drawing.silhouette), axis=0).max())
    points, normals, width = gaps_along(drawing, STEP_MM / 2, MOST_TIMES * limits.gap_mm if ink.area else 4.0)
    known = ~np.isnan(width) & (width > JOINED_MM)
    every = len(points)
    points, normals, width = points[known], normals[known], width[known]
    loops, loop_mm = _loops(ink)
    closing = _spots(points, normals, width, 0.0, limits.closed_mm, loops, loop_mm, ink)
    tight = _spots(points, normals, width, limits.closed_mm, limits.gap_mm, loops, loop_mm, ink).difference(closing)
    thin = _thin(ink, limits.needle_mm)
    dots = shapely.union_all([p for p in polygons(ink) if p.area < np.pi * limits.needle_mm**2 / 4])
    least, safe = (_from_size(width, loop_mm, every, long_mm, mm) for mm in (limits.closed_mm, limits.gap_mm))
    found = Holds(closing, tight, thin, dots, long_mm, least, safe, ())
    return replace(found, sentences=tuple(_say(found, limits)))


def _loops(ink: BaseGeometry) -> tuple[list[Polygon], np.ndarray]:
    """Openings in the ink (the eyes of letters, rings, meshes) and the diameter of the largest circle in each, mm."""
    found = [Polygon(i) for p in polygons(ink) for i in p.interiors if JOINED_MM**2 < Polygon(i).area < 400]
    mm = [2 * shapely.maximum_inscribed_circle(p, tolerance=0.02).length for p in found]
    return found, np.array(mm, float)


def _spots(points: np.ndarray, normals: np.ndarray, width: np.ndarray, low: float, high: float, loops: list[Polygon],
           loop_mm: np.ndarray, ink: BaseGeometry) -> BaseGeometry:
    """Gaps and loops between two widths as areas to look at: the gap itself and a little of what bounds it."""
    at = (width > low) & (width <= high)
    middles = points[at] + normals[at] * width[at, None] / 2
    parts: list[BaseGeometry] = list(shapely.buffer(shapely.points(middles), width[at] / 2 + 0.35, quad_segs=4))
    parts += [p.buffer(0.35) for p, mm in zip(loops, loop_mm, strict=True) if low < mm <= high]
    if not parts:
        return Polygon()
    joined = shapely.union_all(parts).buffer(0.5, quad_segs=4).buffer(-0.5, quad_segs=4)
    kept = [p for p in polygons(joined) if p.difference(ink).area > 0.12]
    return shapely.union_all(kept) if kept else Polygon()


def _thin(ink: BaseGeometry, needle_mm: float) -> BaseGeometry:
    """Strokes thinner than the needle for more than twice RUN_MM; that strokes run out in a tip is no fault."""
    half = needle_mm / 2
    rest = ink.difference(ink.buffer(-half * 0.98, quad_segs=4).buffer(half * 1.1, quad_segs=4))
    return shapely.union_all([p for p in polygons(rest) if p.length / 2 > 2 * RUN_MM and p.area > 0.02])


def _from_size(width: np.ndarray, loop_mm: np.ndarray, every: int, long_mm: float, limit: float) -> float | None:
    """The longer side from which hardly any gap or loop is under the limit; `every`: points on all edges."""
    run = int(max(2 * RUN_MM / (STEP_MM / 2), RUN_SHARE * every))
    times = 0.0
    if len(width) > run:
        times = limit / float(np.partition(width, run)[run])
    loop_mm = loop_mm[loop_mm > PINHOLE_MM]
    if len(loop_mm):
        few = int(LOOP_SHARE * len(loop_mm))
        times = max(times, limit / float(np.partition(loop_mm, few)[few]))
    return None if times > MOST_TIMES else long_mm * times


def said_in(h: Holds, unit: str, limits: Limits | None = None) -> tuple[str, ...]:
    """The sentences of `h`, with sizes of the drawing in a unit of the plan; gaps, lines and needles stay in mm, as the
    trade has them."""
    return tuple(_say(h, limits or Limits(), unit))


def _say(h: Holds, limits: Limits, unit: str = "mm") -> list[str]:
    def size(mm: float) -> str:
        return format_length(mm, unit)

    said = []
    close, tight = len(polygons(h.closing)), len(polygons(h.tight))
    if close:
        said.append(f"{_many(close, 'place')} under {limits.closed_mm:g} mm will close up with age: open "
                    f"{'it' if close == 1 else 'them'}, or leave {'it' if close == 1 else 'them'} out.")
    if tight:
        said.append(f"{_many(tight, 'place')} under {limits.gap_mm:g} mm may close up.")
    lines, dots = len(polygons(h.thin)), len(polygons(h.dots))
    if lines:
        said.append(f"{_many(lines, 'line')} thinner than {limits.needle_mm:g} mm, finer than the needle.")
    if dots:
        said.append(f"{_many(dots, 'dot')} smaller than {limits.needle_mm:g} mm across will blur away.")
    if close or tight:
        if h.safe_mm is not None:
            if h.safe_mm <= h.long_mm:
                said.append(f"But for these few places it holds from {size(h.safe_mm)} on; now it is "
                            f"{size(h.long_mm)} long.")
            else:
                least = f"; from {size(h.least_mm)} on it would do" if (h.least_mm or 0) > h.long_mm else ""
                said.append(f"Now {size(h.long_mm)} long, it would hold from {size(h.safe_mm)} on{least}.")
        elif h.least_mm is not None:
            said.append(f"Now {size(h.long_mm)} long, it would do from {size(h.least_mm)} on.")
        else:
            said.append(f"No size up to {MOST_TIMES:.0f} times as large opens all of it: simplify the drawing there.")
    if not said:
        said.append("At this size the skin can hold all of it.")
    return said


def _many(n: int, word: str) -> str:
    return f"1 {word}" if n == 1 else f"{n} {word}s"
