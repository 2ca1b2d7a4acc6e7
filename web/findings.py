"""Gaps and ties of a part as the desk shows them: named, drawn on the sheet, found by key."""

from __future__ import annotations

import hashlib
import logging
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from markupsafe import escape

from composer.compose.gaps import Gap, Survey, resurvey, survey
from composer.compose.shade_reach import Reach, reach_of
from composer.compose.ties import Tie
from composer.filler.held import holds
from composer.plan.errors import StepError
from composer.sheets.unrolled import shifts, thinned
from composer.store.store import Kept
from web import sleeve
from web.desk import Desk, View
from web.paint.paths import line_data, ring_data
from web.paint.table import side_at
from web.places import border_words, limb_word
from web.wide_view import WideView

log = logging.getLogger("sleevewright.web")
SHOWN_TIES = 8
"""So many ties are drawn on the sheet and listed before 'all of them' is asked for."""
_COMPASS = ("round the {}", "rising to the right", "along the {}", "rising to the left")


@dataclass(frozen=True)
class GapShown:
    """A gap with its words. `key` is 'gap:...'; `at` is its widest place on the sheet, mm, y up. `filled`: background
    holds it; `left`: it lies beyond a shade line, so nothing is to be drawn there."""

    key: str
    gap: Gap
    name: str
    where: str
    flow: str
    beside: str
    at: tuple[float, float]
    filled: bool
    left: bool = False

    @property
    def settled(self) -> bool:
        return self.filled or self.left

    @property
    def area_mm2(self) -> float:
        return self.gap.area_mm2


@dataclass(frozen=True)
class TieShown:
    """A tie with its words. `key` is 'tie:...'; `main`: among the few that are drawn at once."""

    key: str
    tie: Tie
    name: str
    main: bool

    @property
    def percent(self) -> int:
        return round(self.tie.strength * 100)


@dataclass(frozen=True)
class Found:
    """What was found on a part, and its picture over the sheet (SVG)."""

    gaps: tuple[GapShown, ...]
    ties: tuple[TieShown, ...]
    overlay: str
    survey: Survey | None
    fault: str = ""
    late: bool = False

    def gap(self, key: str) -> GapShown | None:
        return next((g for g in self.gaps if g.key == key), None)

    def tie(self, key: str) -> TieShown | None:
        return next((t for t in self.ties if t.key == key), None)

    def labels(self) -> list[dict[str, Any]]:
        """Numbers of the gaps where they are widest, for the browser to write over the sheet."""
        return [{"text": str(g.gap.number), "x": round(g.at[0], 2), "y": round(-g.at[1], 2), "at": "gap", "key": g.key,
                 "wide": 0.1 if g.settled else round(g.gap.widest_mm, 1)}
                for g in self.gaps]


def of(desk: Desk, kept: Kept, view: View) -> Found:
    """Gaps and ties of the part as it lies now; found anew only round what changed."""
    def make() -> Found:
        if isinstance(view, WideView):
            from web.wide_found import gather
            return gather(desk, kept, view)
        return _find(desk, view)
    return desk.once(("found", view.plan.id, kept.revision, view.place), make)


def surveyed(desk: Desk, kept: Kept, view: View) -> tuple[Found, Survey]:
    """The same, for what can do nothing without. Raises StepError with the sentence when it could not be worked out."""
    found = of(desk, kept, view)
    if found.survey is None:
        raise StepError(found.fault)
    return found, found.survey


def for_page(desk: Desk, kept: Kept, view: View, early: bool) -> Found:
    """The same; for a page that is wanted at once, only what is known already."""
    if not early:
        return of(desk, kept, view)
    return desk.peek(("found", view.plan.id, kept.revision, view.place)) or Found((), (), "", None, late=True)


def _find(desk: Desk, view: View) -> Found:
    setting = view.plan.settings.skin_break_mm
    last = desk.last_survey.get((view.plan.id, view.place))
    scene = sleeve.scene_of(view, view.joined)
    same = last is not None and last.skin_break_mm == setting and last.scene.limb == scene.limb
    try:
        found = resurvey(last, scene) if last is not None and same else survey(scene, setting)
    except Exception:
        # The desk must stay usable whatever an odd outline does to the search; the cause is logged.
        log.exception("gaps of plan %s, %s", view.plan.id, view.part)
        return Found((), (), "", None, "The gaps could not be worked out for this arrangement. Placing and printing "
                     "go on; move or delete the piece that was placed last to see gaps again.")
    desk.last_survey[(view.plan.id, view.place)] = found
    titles = {la.piece.id: la.piece.title for la in view.scene.laid} | border_words(view.part)
    titles |= sleeve.BORDERS if sleeve.chosen(view.plan, view.part) is not None else {}
    background = [la for la in view.scene.laid if la.piece.is_filler]
    shaded = [reach_of(scene.limb, line) for line in scene.shade.lines]
    gaps = tuple(gap_shown(g, view, titles, holds(background, g), beyond_lines(g, shaded)) for g in found.gaps)
    ties = tuple(tie_shown(t, k, titles) for k, t in enumerate(found.ties))
    return Found(gaps, ties, overlay_of(gaps, ties, view), found)


def beyond_lines(gap: Gap, shaded: Sequence[Reach]) -> bool:
    """Whether all of a gap lies beyond a shade line."""
    us = np.vstack([*gap.rings, np.array([gap.centre])])
    return any(not reach.inside(us).any() for reach in shaded)


def short(title: str) -> str:
    """The first words of a title, for the middle of a sentence: 'octopus' of 'Octopus of the harbour wall'."""
    head = re.split(r",|\s(?:of|with|on|at|in|under|over|by|from)\s", " ".join(title.split()))[0].strip() or "piece"
    return head[:1].lower() + head[1:] if head[1:2].islower() or len(head) == 1 else head


def _who(i: str, titles: Mapping[str, str]) -> str:
    return titles[i] if i.startswith("border:") else short(titles.get(i, "a piece"))


def listed(words: list[str], most: int = 4) -> str:
    kept = list(dict.fromkeys(words))
    more = len(kept) - most
    if more > 1:
        kept = [*kept[:most], f"{more} more"]
    return kept[0] if len(kept) == 1 else f"{', '.join(kept[:-1])} and {kept[-1]}" if kept else ""


def gap_shown(g: Gap, view: View, titles: Mapping[str, str], filled: bool, left: bool = False) -> GapShown:
    pieces = [_who(i, titles) for i in g.neighbours if not i.startswith("border:")]
    names = list(dict.fromkeys(pieces)) or [_who(i, titles) for i in g.neighbours]
    words = f"between {names[0]} and {names[1]}" if len(names) > 1 else f"by {names[0]}" if names else "the open skin"
    if not pieces and len(names) > 1:
        words = "the whole of the open skin"
    side = side_at(view.part, g.centre[0])
    if not names:
        words = f"{side}, {g.centre[1] / 10:.0f} cm up"
    x, y = view.sheet.to_flat(np.array([[view.sheet.seam_u + (g.centre[0] - view.sheet.seam_u) % 1.0, g.centre[1]]]))[0]
    flow = _COMPASS[round((g.flow_deg % 180) / 45) % 4].format(limb_word(view.part))
    beside = listed([_who(i, titles) for i in g.neighbours])
    return GapShown(f"gap:{g.key}", g, f"{g.number}, {words}", f"{side}, {g.centre[1] / 10:.0f} cm up", flow, beside,
                    (float(x), float(y)), filled, left)


def tie_shown(t: Tie, rank: int, titles: Mapping[str, str]) -> TieShown:
    """A tie with its words; `rank` 0 for the strongest."""
    text = f"{t.a}|{t.b}|{t.from_port[0]:.2f}|{t.from_port[1]:.0f}"
    key = hashlib.sha256(text.encode()).hexdigest()[:10]
    a, b = _who(t.a, titles), _who(t.b, titles)
    return TieShown(f"tie:{key}", t, f"{a[:1].upper()}{a[1:]} to {b}", rank < SHOWN_TIES)


def gap_path(g: Gap, view: View) -> str:
    """A gap's outline on the sheet, on both sides of the seam where it crosses it."""
    out = []
    for k in shifts(g.rings[0][:, 0], view.sheet):
        out += [view.sheet.to_flat(np.add(r, (k, 0.0))) for r in g.rings]
    return ring_data(thinned(out, 0.15))


def tie_lines(t: Tie, view: View) -> list[np.ndarray]:
    """A tie's way from port to port on the sheet (two lines over the seam)."""
    way = np.linspace(t.from_port, t.to_port, 12)
    return [view.sheet.to_flat(np.add(way, (k, 0.0))) for k in shifts(way[:, 0], view.sheet)]


def overlay_of(gaps: tuple[GapShown, ...], ties: tuple[TieShown, ...], view: View) -> str:
    """Gaps and ties as a picture over the sheet (SVG)."""
    out = ['<g clip-path="url(#skin-edge)">']
    for g in gaps:
        out.append(f'<g class="gap{" filled" if g.settled else ""}" data-goal="{g.key}" data-light="{g.key}">'
                   f'<title>Gap {escape(g.name)}</title><path d="{gap_path(g.gap, view)}"/></g>')
    for t in ties:
        d = "".join(line_data(line) for line in tie_lines(t.tie, view))
        kind = "tie main" if t.main else "tie"
        out.append(f'<g class="{kind}" data-goal="{t.key}" data-light="{t.key}"><title>{escape(t.name)}</title>'
                   f'<path class="band" d="{d}"/>'
                   f'<path class="line" d="{d}" stroke-width="{1.4 + 3 * t.tie.strength:.1f}"/></g>')
    return "".join(out) + "</g>"
