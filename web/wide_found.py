"""Gaps and ties of both shoulders with chest or back: what was found on each part, shown together."""

from __future__ import annotations

from dataclasses import replace

from composer.store.store import Kept
from web import findings
from web.desk import Desk, View
from web.findings import Found, GapShown, TieShown, gap_shown, overlay_of
from web.places import PART_NAMES, border_words
from web.wide_view import WideView


def gather(desk: Desk, kept: Kept, view: WideView) -> Found:
    """Every gap and tie that shows on the wide sheet, numbered anew from the largest gap on."""
    gaps: list[tuple[GapShown, View]] = []
    ties: list[TieShown] = []
    overlays: list[tuple[tuple[TieShown, ...], View]] = []
    faults: list[str] = []
    for name, part in view.views.items():
        own = desk.view(kept.plan, kept.revision, name)
        found = findings.of(desk, kept, own)
        if found.survey is None:
            faults.append(found.fault)
            continue
        low = view.wide.part(name).s_from_mm
        titles = {la.piece.id: la.piece.title for la in own.scene.laid} | border_words(name)
        shown = [(gap_shown(g.gap, part, titles, g.filled), part) for g in found.gaps if g.gap.centre[1] > low]
        mine = tuple(t for t in found.ties if t.tie.from_port[1] > low)
        gaps += shown
        ties += mine
        overlays.append((mine, part))
    gaps.sort(key=lambda row: -row[0].area_mm2)
    numbered = []
    for n, (g, part) in enumerate(gaps, 1):
        name = f"{n}, {PART_NAMES[part.part].lower()}, {g.name.partition(', ')[2]}"
        numbered.append((replace(g, gap=replace(g.gap, number=n), name=name), part))
    picture = "".join(overlay_of(tuple(g for g, of in numbered if of is part), mine, part) for mine, part in overlays)
    return Found(tuple(g for g, _ in numbered), tuple(ties), picture, None, faults[0] if faults and not gaps else "")


def part_with(desk: Desk, kept: Kept, view: View, key: str) -> View:
    """The view of the single part on which a gap or tie lies; the view itself when it is no wide sheet. Of a key that
    is gone, the part in the middle."""
    if not isinstance(view, WideView):
        return view
    every = [desk.view(kept.plan, kept.revision, name) for name in view.views]
    for own in every:
        found = findings.of(desk, kept, own)
        if found.gap(key) or found.tie(key):
            return own
    return every[0]
