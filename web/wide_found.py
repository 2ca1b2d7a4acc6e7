"""Gaps and ties of both shoulders with chest or back: what was found on each part and over the seams, shown together.

A gap over a seam has the key 'seam:NAME:KEY', NAME the wide sheet, so that what fills it can be found again.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from markupsafe import escape

from composer.body.joins_wide import PAIRS, WIDE
from composer.compose.over_seam import Joined, SeamGap, SeamTie, join_surveys
from composer.filler.held import holds
from composer.filler.over_seam import SHOWS_MM
from composer.plan.errors import StepError
from composer.plan.model import Plan
from composer.plan.over_joins import joins_in
from composer.plan.scene import Laid
from composer.store.store import Kept
from web import brush, findings
from web.desk import Desk, View
from web.findings import Found, GapShown, TieShown, gap_shown, overlay_of
from web.paint.paths import line_data, ring_data
from web.places import PART_NAMES, border_words, wide_sheets
from web.wide_view import WideView

SEAM = "seam:"
LEAST_MM2 = 60.0
LEAST_SHARE = 0.35
"""A gap of which less shows is not listed on a wide sheet; nor less than the share where parts show by half."""


def is_seam(key: str) -> bool:
    """Whether an open goal is a gap or tie over a seam."""
    return key.startswith(SEAM)


def part_views(desk: Desk, kept: Kept, view: WideView) -> dict[str, View]:
    """The parts of a wide sheet, each as on its own desk but searched as far as the parts beside it."""
    return {name: replace(desk.view(kept.plan, kept.revision, name), joined=True) for name in view.views}


def joined_of(desk: Desk, kept: Kept, view: WideView) -> Joined:
    """The parts' surveys with the gaps and ties over the seams. Raises StepError with the sentence when one of them
    could not be worked out."""
    def make() -> Joined:
        surveys = {}
        for name, own in part_views(desk, kept, view).items():
            surveys[name] = findings.surveyed(desk, kept, own)[1]
        seams, joins = seams_of(kept.plan, view), joins_in(kept.plan)
        return join_surveys(joins.edge_subgraph([e for e in joins.edges(keys=True) if e[2] in seams]), surveys)

    return desk.once(("joined", kept.plan.id, kept.revision, view.part), make)


def seam_gap(desk: Desk, kept: Kept, key: str) -> tuple[Joined, SeamGap]:
    """The gap over a seam of that key, or of the tie with it. Raises StepError when it is gone."""
    name, _, rest = key.removeprefix(SEAM).partition(":")
    view = desk.view(kept.plan, kept.revision, name) if name in WIDE else None
    if isinstance(view, WideView):
        found = joined_of(desk, kept, view)
        gap = found.gap(rest.partition(":")[0])
        if gap is not None:
            return found, gap
    raise StepError("This gap is no longer there: something was moved or laid into it. Choose another.")


def joined_over(desk: Desk, kept: Kept, seam: str) -> tuple[Joined, WideView]:
    """The joined surveys of the wide sheet that shows a seam, and that sheet. Raises StepError where there is none."""
    for name in wide_sheets(kept.plan):
        view = desk.view(kept.plan, kept.revision, name)
        if isinstance(view, WideView) and seam in seams_of(kept.plan, view):
            return joined_of(desk, kept, view), view
    raise StepError(f"The {seam} is not there any more: one of its parts has no measures.")


def gather(desk: Desk, kept: Kept, view: WideView) -> Found:
    """Every gap and tie that shows on the wide sheet, numbered anew from the largest gap on."""
    gaps: list[tuple[GapShown, View, SeamGap | None]] = []
    ties: list[TieShown] = []
    overlays: list[tuple[tuple[TieShown, ...], View]] = []
    faults: list[str] = []
    for name, own in part_views(desk, kept, view).items():
        part = view.views[name]
        found = findings.of(desk, kept, own)
        if found.survey is None:
            faults.append(found.fault)
            continue
        low = view.wide.part(name).s_from_mm
        titles = _titles(view, name)
        shown = [(placed, part, None) for g in found.gaps if g.gap.centre[1] > low and (
            placed := _placed(view, name, gap_shown(g.gap, part, titles, g.filled, g.left), [g.gap.rings])) is not None]
        mine = tuple(t for t in found.ties if t.tie.from_port[1] > low and _seen(view, name, t))
        gaps += shown
        ties += mine
        overlays.append((mine, part))
    seam_ties: list[tuple[TieShown, SeamTie]] = []
    if not faults:
        joined = joined_of(desk, kept, view)
        for g in joined.gaps:
            halves = [rings for part, rings in g.halves if part == g.stretch.home]
            one = _placed(view, g.stretch.home, _seam_shown(view, g), halves)
            gaps += [] if one is None else [(one, view.views[g.stretch.home], g)]
        every = {la.piece.id: la.piece.title for la in view.scene.laid}
        for t in joined.ties:
            one = findings.tie_shown(t.tie, 0, every)
            seam_ties.append((replace(one, key=f"{SEAM}{view.part}:{t.seam}:{t.tie.a}:{t.tie.b}"), t))
    gaps.sort(key=lambda row: -row[0].area_mm2)
    numbered = []
    for n, (g, part, seam) in enumerate(gaps, 1):
        where = f"over the {seam.join}" if seam else PART_NAMES[part.part].lower()
        name = f"{n}, {where}, {g.name.partition(', ')[2]}"
        numbered.append((replace(g, gap=replace(g.gap, number=n), name=name), part, seam))
    picture = "".join(clipped(overlay_of(tuple(g for g, of, seam in numbered if of is part and seam is None), mine,
                                         part), part.part) for mine, part in overlays)
    picture += _seams_overlay(view, [(g, seam) for g, _, seam in numbered if seam is not None], seam_ties)
    order = (*(t for t, _ in seam_ties), *ties)
    return Found(tuple(g for g, *_ in numbered), tuple(sorted(order, key=lambda t: -t.tie.strength)), picture, None,
                 faults[0] if faults and not gaps else "")


def _seen(view: WideView, part: str, tie: TieShown) -> bool:
    """Whether the middle of a tie lies where its part shows; an arm is long, so that there its level says it."""
    u, s = np.mean([tie.tie.from_port, tie.tie.to_port], axis=0).tolist()
    return view.wide.part(part).limb.closed or _in_view(view, part, (u, s))


def _placed(view: WideView, part: str, shown: GapShown, outlines: list[tuple[np.ndarray, ...]]) -> GapShown | None:
    """A gap with its number where it shows of its part; None where another part has taken over from all of it."""
    own = view.wide.part(part)
    flat = [[_on_sheet(view, part, rings[0], r) for r in rings] for rings in outlines]
    form = shapely.union_all([shapely.make_valid(shapely.Polygon(r[0], r[1:])) for r in flat])
    seen = shapely.intersection(form, own.strip)
    if seen.area < max(LEAST_MM2, LEAST_SHARE * form.area if view.part in PAIRS else 0.0):
        return None
    if shapely.contains_xy(seen, *shown.at):
        return shown
    x, y = shapely.get_coordinates(shapely.point_on_surface(seen))[0]
    return replace(shown, at=(float(x), float(y)))


def clipped(svg: str, part: str) -> str:
    """A part's picture kept to what shows of it (the clips are drawn in 1/100 mm)."""
    return f'<g transform="scale(.01)" clip-path="url(#strip-{part})"><g transform="scale(100)">{svg}</g></g>'


def _titles(view: WideView, part: str) -> dict[str, str]:
    return {la.piece.id: la.piece.title for la in view.scene.laid} | border_words(part)


def _seam_shown(view: WideView, g: SeamGap) -> GapShown:
    home = view.views[g.stretch.home]
    fillers = [la for la in (*home.scene.laid, *view.over(g.stretch.home)) if la.piece.is_filler]
    one = gap_shown(g.gap, home, _titles(view, g.stretch.home), holds(fillers, g.gap))
    return replace(one, key=f"{SEAM}{view.part}:{g.key}", where=f"over the {g.join}",
                   beside=one.beside or "open skin on both sides")


def _seams_overlay(view: WideView, gaps: list[tuple[GapShown, SeamGap]],
                   ties: list[tuple[TieShown, SeamTie]]) -> str:
    """Gaps and ties over the seams as a picture, each half on its own part (SVG)."""
    out = ['<g clip-path="url(#skin-edge)">']
    for shown, g in gaps:
        paths = "".join(clipped(f'<path d="{ring_data([_on_sheet(view, part, rings[0], r) for r in rings])}"/>', part)
                        for part, rings in g.halves)
        out.append(f'<g class="gap seam{" filled" if shown.filled else ""}" data-goal="{shown.key}" '
                   f'data-light="{shown.key}"><title>Gap {escape(shown.name)}</title>{paths}</g>')
    for shown, t in ties:
        d = "".join(line_data(view.wide.part(part).to_wide(near(view, part, way))) for part, way in t.ways)
        out.append(f'<g class="tie main" data-goal="{shown.key}" data-light="{shown.key}"><title>{escape(shown.name)}'
                   f'</title><path class="band" d="{d}"/><path class="line" d="{d}" '
                   f'stroke-width="{1.4 + 3 * t.tie.strength:.1f}"/></g>')
    return "".join(out) + "</g>"


def near(view: WideView, part: str, us: np.ndarray) -> np.ndarray:
    """Skin (n, 2) of a part with u moved by whole turns to where the wide sheet shows it."""
    return us - np.array([near_turn(view, part, us), 0.0])


def near_turn(view: WideView, part: str, us: np.ndarray) -> float:
    """By how many whole turns."""
    own = view.wide.part(part)
    return float(np.round(us[:, 0].mean() - own.seam_u - 0.5)) if own.limb.closed else 0.0


def _on_sheet(view: WideView, part: str, outer: np.ndarray, ring: np.ndarray) -> np.ndarray:
    """A ring on the wide sheet beside the outer one that it belongs to."""
    return view.wide.part(part).to_wide(ring - np.array([near_turn(view, part, outer), 0.0]))


def part_with(desk: Desk, kept: Kept, view: View, key: str) -> View:
    """The view of the single part on which a gap, tie or painted stroke lies (of one over a seam, where its paper
    hangs); the view itself when it is no wide sheet. Of a key that is gone, the part in the middle."""
    if not isinstance(view, WideView):
        return view
    every = part_views(desk, kept, view)
    first = next(iter(every.values()))
    if is_seam(key):
        return first
    if brush.is_brush(key):
        return every.get(brush.part_of(key), first)
    for own in every.values():
        found = findings.of(desk, kept, own)
        if found.gap(key) or found.tie(key):
            return own
    return first


def fillers_on(plan: Plan, view: WideView) -> list[str]:
    """Ids of the background whose place that of the whole sheet takes: what shows of it on the parts and over the seams
    between them, unless it stays. What lies over other seams of these parts is left."""
    low, seams = view.lowest(), seams_of(plan, view)

    def shows(la: Laid) -> bool:
        piece = la.piece
        if view.part in PAIRS and piece.recipe is not None and "seam" not in piece.recipe.goal:
            return _in_view(view, piece.part, (piece.u, piece.s_mm))
        return max(float(r[:, 1].max()) for r in la.rings) > low.get(piece.part, -1e9) + SHOWS_MM

    return [la.piece.id for la in view.scene.laid if la.piece.recipe is not None and not la.piece.stays
            and la.piece.recipe.goal.get("seam", "") in ("", *seams) and shows(la)]


def joined_shown(desk: Desk, kept: Kept, view: WideView) -> Joined:
    """What a whole background of the sheet is drawn on: all of it, but where parts show by half the gaps of the halves
    that show, beside background that stays as it is."""
    joined = joined_of(desk, kept, view)
    if view.part not in PAIRS:
        return joined
    going = set(fillers_on(kept.plan, view))
    surveys = {}
    for part, found in joined.surveys.items():
        laid = tuple(x if not x.piece.is_filler or x.piece.id in going else
                     replace(x, piece=replace(x.piece, locked=True)) for x in found.scene.laid)
        gaps = tuple(g for g in found.gaps if _in_view(view, part, g.centre))
        surveys[part] = replace(found, gaps=gaps, scene=replace(found.scene, laid=laid))
    return replace(joined, surveys=surveys)


def _in_view(view: WideView, part: str, place: tuple[float, float]) -> bool:
    """Whether a place (u, s) of a panel lies where the sheet shows it."""
    own = view.wide.part(part)
    (x, y), = own.to_wide(np.array([place]))
    return bool(shapely.contains_xy(own.strip, x, y))


def seams_of(plan: Plan, view: WideView) -> set[str]:
    """Names of the seams over which a wide sheet shows its parts joined."""
    if view.part in PAIRS:
        return {PAIRS[view.part]}
    return {name for a, b, name in joins_in(plan).edges(keys=True) if a in view.views and b in view.views}
