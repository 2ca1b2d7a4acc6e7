"""Where flat paper won't lie: redraw it true, slit it, or split it into several papers, along quiet lines."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.body.units import format_area
from composer.sheets.cut_model import ASIDE, GRID_MM, Cut, Draft, Limits, Seams, Spots, line_error
from composer.sheets.cut_plans import OPENS_MM, CutPlan, cut_plans
from composer.sheets.leaf import Cell, leaf_of
from composer.sheets.quiet import Field, field_of
from composer.sheets.round_parts import round_parts
from composer.sheets.slit_draft import slit_draft
from composer.sheets.split_draft import split_draft
from composer.sheets.stencil import Stencil, Tick, goes_round

__all__ = ["WAYS", "Cut", "Limits", "prepare"]
WAYS = ("auto", "whole", "true", "slits", "split")
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWX"
FEW_COST, FEW_SIZE_MM, MORE_MM = 12.0, 200.0, 40.0
"""What an artist puts up with unasked: twelve slits, or five papers, on a piece of 200 mm, and one slit more for every
40 mm beyond (common practice, no published source)."""
SLACK = 1.8
"""Unasked, a paper that is off by no more than this many times what is aimed at stays whole: skin is stretched by hand
while it is laid (common practice, no published source)."""

FEW_OPENS_MM = 2.0
"""Nor wider than this where paper left whole would hardly wrinkle: so much of a line is bridged by eye (common
practice, no published source)."""
ROUND_ABOUT = 0.48
"""How far a cut may stray, in widths of a strip, where none nearer passes by what is to stay whole."""
SURELY = 1.25
"""A plan that is, cut straight, so many times too far off won't come right along quiet lines."""


def prepare(stencil: Stencil, limits: Limits | None = None, way: str = "auto") -> Cut:
    """The stencil's papers. 'auto' leaves it whole up to `limits.act` and `limits.error_mm`, and beyond takes what
    needs the fewest cuts to come under `limits.warn` and that error; with `limits.few` no more than an artist would
    put up with. What goes right round the limb is parted first. Raises ValueError for an unknown way."""
    limits = limits or Limits()
    if way not in WAYS:
        raise ValueError(f"A stencil can't be cut by '{way}'; use {', '.join(WAYS)}.")
    parts = round_parts(stencil)
    if len(parts) == 1:
        cut = _prepared(stencil, limits, way)
        if cut.way == "whole" and goes_round(stencil.limb, stencil.chart, stencil.outline):
            cut = replace(cut, sentence=f"{cut.sentence} The paper goes all the way round and covers itself, and no "
                                        "line to part it passes by what is to stay whole.")
        return cut
    return _joined(stencil, [_prepared(p, limits, way) for p in parts], limits)


def _prepared(stencil: Stencil, limits: Limits, way: str) -> Cut:
    spots = Spots.of(stencil)
    kept = _whole(stencil, spots)
    fine = limits.error_mm is None or kept.error_mm <= limits.error_mm * (SLACK if limits.few else 1.0)
    if way == "whole" or (way == "auto" and abs(stencil.fit.stretch) < limits.act and fine):
        return _made(stencil, kept, spots, limits)
    few = way == "auto" and limits.few
    most = FEW_COST + max(0.0, max(stencil.size_mm) - FEW_SIZE_MM) / MORE_MM if few else np.inf
    most_open = np.inf if not few else OPENS_MM if abs(stencil.fit.stretch) >= limits.act else FEW_OPENS_MM
    solid = shapely.union_all([g for g in (stencil.art.blacks,) if not g.is_empty])
    field = field_of(stencil.outline, stencil.art.lines, solid, stencil.keep)
    drafts: list[Draft] = []
    passed: list[CutPlan] = []
    for p in cut_plans(stencil, spots, limits, way, most, most_open):
        if limits.error_mm and p.about() > SURELY * limits.error_mm:
            passed.append(p)
            continue
        for aside in (p.aside, p.aside / 2):
            draft = _drafted(stencil, field, p, spots, aside)
            if draft is None and not stencil.keep.is_empty:
                draft = _drafted(stencil, field, p, spots, ROUND_ABOUT)
            if draft is None or draft.opens() > most_open:
                break
            drafts.append(draft)
            if abs(draft.stretch) < limits.warn and (limits.error_mm is None or draft.error_mm <= limits.error_mm):
                return _made(stencil, draft, spots, limits, kept.error_mm)
            if not limits.error_mm or not limits.error_mm < draft.error_mm < 1.6 * limits.error_mm:
                break

    def off(c: Draft) -> float:
        return max(abs(c.stretch) / limits.warn, c.error_mm / limits.error_mm if limits.error_mm else 0.0)

    done: dict[tuple[str, bool], float] = {}
    least = min((d.error_mm for d in drafts), default=np.inf)
    for p in sorted(passed, key=lambda p: p.about()):           # each way of cutting that may come near the nearest
        if (p.way, p.upright) not in done and p.about() <= min(SURELY * min(done.values(), default=np.inf), least):
            draft = _drafted(stencil, field, p, spots, p.aside)
            if draft is not None and draft.opens() <= most_open:
                drafts.append(draft)
                done[p.way, p.upright] = p.about()
    better = [d for d in drafts if off(d) < 0.8 * off(kept)]
    if better or (way != "auto" and drafts):
        return _made(stencil, min(better or drafts, key=off), spots, limits, kept.error_mm)
    said = "No cut is needed" if abs(kept.stretch) < limits.warn and fine else (
        "No cut was found that leaves whole what is marked so" if not stencil.keep.is_empty else
        "No cut makes it lie better")
    whole = _made(stencil, kept, spots, limits)
    return replace(whole, sentence=f"{said}. {whole.sentence}")


def _drafted(stencil: Stencil, field: Field, plan: CutPlan, spots: Spots, aside: float = ASIDE) -> Draft | None:
    if plan.way == "true":
        return _true(stencil, spots)
    if plan.sides is not None:
        return slit_draft(stencil, field, plan.sides, spots, aside)
    return split_draft(stencil, field, plan.lines, spots, plan.upright, aside)


def _joined(stencil: Stencil, cuts: list[Cut], limits: Limits) -> Cut:
    """The papers of parts that go round the limb as one lot, lettered through."""
    leaves = [replace(leaf, name=LETTERS[k], ticks=_told_apart(leaf.ticks, n)) for k, (n, leaf) in enumerate(
        (n, v) for n, c in enumerate(cuts) for v in c.leaves)]
    worst = max((c.stretch for c in cuts), key=abs)
    whole = Cut("split", tuple(leaves), worst, max(c.error_mm for c in cuts), sum(c.crossed_mm for c in cuts),
                max(c.opens_mm for c in cuts), sum(c.freehand_mm2 for c in cuts),
                cells=tuple(c for cut in cuts for c in cut.cells), wedges=sum(c.wedges for c in cuts))
    told = _told(stencil, whole, limits)
    return replace(told, sentence=f"It goes right round, so it is parted: no paper is as wide as the limb is round. "
                                  f"{told.sentence}")


def _told_apart(ticks: tuple[Tick, ...], part: int) -> tuple[Tick, ...]:
    """Numbers that no other part has."""
    return tuple(replace(t, label=str(int(t.label) + 100 * part)) if t.label.isdigit() else t for t in ticks)


def _whole(stencil: Stencil, spots: Spots) -> Draft:
    return Draft("whole", ((Cell(stencil.outline, None),),), spots.stretch(stencil.chart, slice(None)),
                 lambda: line_error(stencil.limb, [stencil.chart], [spots.us]), lambda: Seams((), (), ((),)))


def _made(stencil: Stencil, draft: Draft, spots: Spots, limits: Limits, uncut_mm: float | None = None) -> Cut:
    """The papers of a draft, with their art on them."""
    loose, seams = _freehand(stencil, spots.us, draft.left, limits), draft.seams()
    several = len(draft.papers) > 1
    trims = list(seams.trims) if seams.trims else None
    leaves = tuple(leaf_of(stencil, LETTERS[k] if several else "", list(cells), loose, trims, cuts=seams.cuts,
                           ticks=seams.ticks[k]) for k, cells in enumerate(draft.papers))
    return _told(stencil, Cut(draft.way, leaves, draft.stretch, draft.error_mm, draft.crossed(), draft.opens(),
                              float(sum(v.freehand.area for v in leaves)),
                              cells=tuple(c for cells in draft.papers for c in cells), wedges=seams.wedges,
                              uncut_mm=uncut_mm), limits)


def _true(stencil: Stencil, spots: Spots) -> Draft:
    gore = spots.strip(float(spots.low[0] + spots.high[0]) / 2)
    return Draft("true", ((Cell(stencil.outline, gore),),), spots.stretch(gore, slice(None)),
                 lambda: line_error(stencil.limb, [gore], [spots.us]), lambda: Seams((), (), ((),)))


def _freehand(stencil: Stencil, us: np.ndarray, left: np.ndarray, limits: Limits) -> BaseGeometry:
    """Where paper can't lie, in the stencil's chart: round the places that stay beyond the limit."""
    bad = stencil.chart.to_flat(us[np.abs(left) >= limits.act])
    if not len(bad):
        return stencil.loose
    r = GRID_MM / 2
    grown = shapely.union_all(shapely.box(*(bad - r).T, *(bad + r).T))
    smooth = shapely.buffer(shapely.buffer(shapely.buffer(grown, 2 * r), -3 * r), r)
    return shapely.union(shapely.intersection(smooth, stencil.outline), stencil.loose)


def _told(stencil: Stencil, cut: Cut, limits: Limits) -> Cut:
    off, before = abs(cut.stretch), abs(stencil.fit.stretch)
    n, fine = len(cut.leaves), cut.error_mm <= SLACK * (limits.error_mm or np.inf)
    head = {
        "whole": "Lies flat in one paper" if off < limits.warn and fine else "One paper, uncut",
        "true": "One paper without cuts, redrawn so that it lies true",
        "slits": _slit_words(cut),
        "split": f"{n} papers",
    }[cut.way]
    words = f"{head}: off by {_percent(off)} at most, {cut.error_mm:.1f} mm across it"
    words += f" (uncut {_percent(before)}, {cut.uncut_mm:.1f} mm)." if cut.uncut_mm is not None else "."
    if cut.opens_mm > 0.5:
        words += f" The slits open by up to {cut.opens_mm:.0f} mm on skin; draw the lines across them by hand."
    if limits.few and limits.error_mm and round(cut.error_mm, 1) > limits.error_mm:
        words += f" {'Cut, it comes' if cut.way == 'whole' else 'More cuts bring it'} nearer to {limits.error_mm:g} mm."
    if limits.warn <= off < limits.act:
        words += " Stretch the skin a little while you lay it."
    if cut.freehand_mm2 > 1:
        words += f" On {format_area(cut.freehand_mm2, stencil.unit)} paper can't lie; that area is marked freehand."
    return replace(cut, sentence=words)


def _slit_words(cut: Cut) -> str:
    def some(n: int, what: str) -> str:
        return f"{n} {what}{'' if n == 1 else 's'}"

    leaf = cut.leaves[0]
    said = [some(len(leaf.cuts), "slit")] if leaf.cuts else []
    said += [some(cut.wedges, "wedge") + " to cut out"] if cut.wedges else []
    apart = len(shapely.get_parts(leaf.outline))
    loose = f" that comes apart into {apart} pieces; the ticks show where they meet" if apart > 1 else ""
    return f"One paper with {' and '.join(said) or 'short cuts'}{loose}"


def _percent(share: float) -> str:
    return "less than 1%" if share < 0.0095 else f"{100 * share:.0f}%"
