"""Tips that are tips in ink: where a needle can go no finer, a stroke has to come from something wider.

A stroke whose width is reckoned down to nothing is drawn no finer than the needle, so its last stretch
runs at one width and ends blunt. Here that stretch is left away and the stroke swells from its tip on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length
from composer.filler.cloud_lines import Line, Pen, runs

DRAWN = 1.12
"""Strokes are drawn no finer than so many times the pen's least (see `masses`)."""
RISE = 0.4
"""How fast a stroke swells behind its tip at the least, in needle widths a mm."""
OVER_MM = 3.0
"""Over what length it swells."""
EASE_MM = 9.0
"""Over what length after that a fine stroke falls back to its own width."""
KNOTS_MM = np.array([0.5, 1.2, 2.2, OVER_MM])
CLEAR_MM = 1.3
"""A tip that does not lie behind a piece ends so far from the edge of the skin."""
ALONG_MM, GRAZE_MM = 0.95, 3.2
"""A stroke that stays so near to the edge for longer than the second runs along it."""
SHORTER_MM = (1.2, 2.4, 3.6, 5.0, 7.0)
SLIVER_OVER_MM = 3.0
RUN_OUT_MM = 3.6
"""Over what length a stroke thins out that ends sooner at the edge."""
STUCK_MM = 9.0
"""And one shorter than this that finds no place clear of the edge."""
HANGS_MM = 0.5
"""So near to a stroke or to black an end hangs on it."""
LOOSE_MM = 5.5
"""A loose stroke at the edge that is shorter than this is a crumb to the eye, and left out."""
SHORT_MM = 2.5
"""A stroke that is shorter once its hairs are gone is left away."""


def pointed(lines: Sequence[Line], pen: Pen, rise: float = RISE) -> list[Line]:
    """Strokes with hairs thinner than the pen's least cut from their tips, each tip coming from a width that the
    needle can thin out (it swells by `rise`, see RISE), the less so the less the hand tapers. Ends that are tucked or
    balls stay."""
    least_mm = DRAWN * pen.least_mm
    tapers = (pen.line_mm - pen.least_mm) / max(pen.line_mm - 0.95 * pen.fine_mm, 1e-6)
    rise = rise * float(np.clip(1.6 * tapers - 0.6, 0.0, 1.0))
    if rise == 0.0:     # this hand ends its strokes blunt
        return list(lines)
    out = []
    for line in lines:
        if "tip" not in (line.start, line.end):
            out.append(line)
            continue
        s = arc_length(line.path)
        a = s[0] if line.start != "tip" else _reaches(s, line.width, least_mm)
        b = s[-1] if line.end != "tip" else s[-1] - _reaches(s[-1] - s[::-1], line.width[::-1], least_mm)
        if b - a < SHORT_MM:
            a, b = s[0], s[-1]
        if b - a < SHORT_MM:
            continue
        knots = [s[(s > a) & (s < b)], (a, b)]
        knots += [a + KNOTS_MM] if line.start == "tip" else []
        knots += [b - KNOTS_MM] if line.end == "tip" else []
        t = np.unique(np.concatenate(knots))
        t = t[(t >= a) & (t <= b)]
        back = np.full(len(t), np.inf)
        if line.start == "tip":
            back = np.minimum(back, t - a)
        if line.end == "tip":
            back = np.minimum(back, b - t)
        path = np.column_stack([np.interp(t, s, line.path[:, k]) for k in (0, 1)])
        swell = rise * np.minimum(back, OVER_MM) * np.clip(1 - (back - OVER_MM) / EASE_MM, 0, 1)
        width = np.maximum(np.interp(t, s, line.width), least_mm * (1 + swell))
        width = np.minimum(width, least_mm * (1 + 1.1 * back))
        width[back == 0] = np.minimum(least_mm, line.width[[0, -1]].min())
        out.append(replace(line, path=path, width=width))
    return out


def off_the_edge(lines: Sequence[Line], edge: BaseGeometry) -> list[Line]:
    """Strokes that would run along the edge of the open skin (its line), half cut away, are left out there unless they
    hang on something; those whose tips would just touch it end sooner, clear of it."""
    hung = [line for line in lines if line.start != line.end]
    return clear_tips([*off_along([line for line in lines if line.start == line.end], edge), *hung], edge)


def off_along(lines: Sequence[Line], edge: BaseGeometry) -> list[Line]:
    """Strokes without the stretches in which they would run along the edge of the open skin (its line)."""
    shapely.prepare(edge)
    return [part for line in lines for part in _off_along(line, edge)]


def clear_tips(lines: Sequence[Line], edge: BaseGeometry) -> list[Line]:
    """Strokes whose tips would just touch the edge of the open skin (its line) end sooner, clear of it. A short stroke
    there of which no end hangs on anything is left out."""
    shapely.prepare(edge)
    tips = [(i, k) for i, line in enumerate(lines) for k, how in ((0, line.start), (-1, line.end)) if how == "tip"]
    if not tips:
        return list(lines)
    ends = shapely.points(np.array([lines[i].path[k] for i, k in tips]))
    out = list(lines)
    gone = set()
    for (i, k), close in zip(tips, shapely.dwithin(edge, ends, CLEAR_MM), strict=True):
        if not close:
            continue
        line, found = out[i], False
        s = arc_length(line.path)
        for back in SHORTER_MM:
            keep = s <= s[-1] - back if k else s >= back
            if keep.sum() < 4 or (s[keep][-1] - s[keep][0]) < SHORT_MM:
                break
            path = line.path[keep]
            if not shapely.dwithin(edge, shapely.points(path[k]), CLEAR_MM):
                far = s[keep][-1] - s[keep] if k else s[keep] - s[keep][0]
                width = line.width[keep] * np.clip(far / RUN_OUT_MM, 0.1, 1.0)
                out[i], found = replace(line, path=path, width=width), True
                break
        if arc_length(out[i].path)[-1] < (LOOSE_MM if found else STUCK_MM) and line.start == line.end == "tip":
            gone.add(i)
    return [line for i, line in enumerate(out) if i not in gone]


def thinned_out(line: Line, inside: np.ndarray, over_mm: float) -> list[Line]:
    """The stretches of a stroke whose vertices are `inside` (n,); where they are cut off they thin out to a tip. Ends
    of its own stay."""
    out = []
    for part in runs(line.path, line.width, ~inside, line.row, line.start, line.end):
        far = arc_length(part.path)
        own = (part.path[0] == line.path[0]).all(), (part.path[-1] == line.path[-1]).all()
        near = np.minimum(np.inf if own[0] else far, np.inf if own[1] else far[-1] - far)
        out.append(replace(part, width=part.width * np.clip(near / over_mm, 0.1, 1.0),
                           start=line.start if own[0] else "tip", end=line.end if own[1] else "tip"))
    return out


def out_of_slivers(lines: Sequence[Line], left: BaseGeometry, cover: BaseGeometry, narrow_mm: float) -> list[Line]:
    """Strokes of a form of which `left` is in view beside what covers it (prepared): none are drawn where less than
    about `narrow_mm` of it shows, for there they would close up to a clot."""
    if not lines or cover.is_empty:
        return list(lines)
    firm = shapely.buffer(shapely.buffer(left, -narrow_mm / 2, quad_segs=2), 0.78 * narrow_mm, quad_segs=2)
    count = [len(line.path) for line in lines]
    xy = np.concatenate([line.path for line in lines])
    shapely.prepare(firm)
    inside = shapely.contains_xy(firm, xy[:, 0], xy[:, 1])
    inside[~inside] = shapely.contains_xy(cover, *xy[~inside].T)
    if inside.all():
        return list(lines)
    out: list[Line] = []
    for line, shown in zip(lines, np.split(inside, np.cumsum(count)[:-1]), strict=True):
        out += [line] if shown.all() else thinned_out(line, shown, SLIVER_OVER_MM)
    return out


def spaced(lines: Sequence[Line], apart_mm: float) -> list[Line]:
    """Strokes with tips at both ends stop short of other strokes that they would close up with: of those before them
    nothing lies nearer than `apart_mm`. Strokes that hang on something come first and stay as they are."""
    order = sorted(range(len(lines)), key=lambda i: lines[i].start == lines[i].end == "tip")
    held: list[BaseGeometry] = []
    out: list[tuple[int, Line]] = []
    for i in order:
        line = lines[i]
        parts = [line]
        if line.start == line.end == "tip" and held:
            near = shapely.dwithin(shapely.multilinestrings(held), shapely.points(line.path), apart_mm)
            if near.any():
                parts = [replace(p, start="tip", end="tip")
                         for p in runs(line.path, line.width, near, line.row, "tip", "tip")
                         if arc_length(p.path)[-1] > LOOSE_MM]
        for p in parts:
            held.append(shapely.linestrings(p.path))
            out.append((i, p))
    return [p for _, p in sorted(out, key=lambda row: row[0])]


def loose_ends_thinned(lines: Sequence[Line], black: Sequence[BaseGeometry], hidden: BaseGeometry | None,
                       over_mm: float, under: BaseGeometry | None = None) -> list[Line]:
    """Strokes whose 'tucked' ends hang on no other stroke, on no black and lie behind nothing (near `hidden` or within
    `under`): such an end thins out to a tip over `over_mm`. What it hung on was cut away."""
    if not lines:
        return []
    paths = shapely.linestrings(np.concatenate([line.path for line in lines]),
                                indices=np.repeat(np.arange(len(lines)), [len(line.path) for line in lines]))
    tree = shapely.STRtree(paths)
    dark = shapely.STRtree([g for g in (hidden, *black) if g is not None])
    out = []
    for i, line in enumerate(lines):
        ends = [line.start, line.end]
        for k in (0, -1):
            if ends[k] != "tucked":
                continue
            at = shapely.Point(line.path[k])
            near = tree.query(at, predicate="dwithin", distance=HANGS_MM)
            held = under is not None and shapely.contains_xy(under, *line.path[k])
            if (near == i).all() and not held and not len(dark.query(at, "dwithin", HANGS_MM)):
                ends[k] = "tip"
                s = arc_length(line.path)
                far = s if k == 0 else s[-1] - s
                line = replace(line, width=line.width * np.clip(far / over_mm, 0.1, 1.0))
        out.append(replace(line, start=ends[0], end=ends[1]))
    return out


def _off_along(line: Line, edge: BaseGeometry) -> list[Line]:
    """A stroke without the stretches in which it runs along the edge."""
    near = shapely.dwithin(edge, shapely.points(line.path), ALONG_MM)
    if not near.any():
        return [line]
    gone = long_runs(near, arc_length(line.path), GRAZE_MM)
    return thinned_out(line, ~gone, RUN_OUT_MM) if gone.any() else [line]


def long_runs(mask: np.ndarray, s: np.ndarray, least_mm: float) -> np.ndarray:
    """A mask (n,) without its runs that are no longer than `least_mm`, by the lengths `s` (n,) along the stroke."""
    out = np.zeros(len(s), bool)
    for i, j in np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(int), [0]]))).reshape(-1, 2):
        out[i:j] = s[j - 1] - s[i] > least_mm
    return out


def _reaches(s: np.ndarray, width: np.ndarray, least_mm: float) -> float:
    """How far from its end (s 0) a stroke is as wide as the needle; 0 where it nowhere is."""
    wide = np.flatnonzero(width >= least_mm)
    if not len(wide) or wide[0] == 0:
        return 0.0
    i = int(wide[0])
    share = (least_mm - width[i - 1]) / max(width[i] - width[i - 1], 1e-9)
    return float(s[i - 1] + share * (s[i] - s[i - 1]))
