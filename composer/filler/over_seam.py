"""One filler over a seam between two parts: its ground, its recipe, and both parts tied in as one.

It is drawn in paper hung over the seam (`composer.compose.over_seam`), so what shows on either part is one drawing; its
goal is {"seam": name of the join, "share": where on it the paper is hung, "at": [u, s]}, by which
`composer.plan.over_joins` lays it on the other part exactly as it was drawn. What is too large for that paper keeps a
filler on each side, which end tucked behind the one over the seam.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from composer.compose.gaps import Survey
from composer.compose.over_seam import (
    Joined,
    SeamFlow,
    SeamGap,
    Stretch,
    in_paper,
    laid_in_paper,
)
from composer.compose.seam_tone import SeamTone
from composer.filler.beside import marks
from composer.filler.clip import margin
from composer.filler.fabric import FADE_MM, plan_jobs
from composer.filler.fabric_plan import Theme, theme
from composer.filler.ground import Ground, Wish
from composer.filler.held import holds
from composer.filler.kinds import kind
from composer.filler.lay_ground import Site, calmed, ports_of
from composer.filler.proposals import TRIES, Job, Proposal, make, proposal, wish_of
from composer.filler.seam_skin import pulled_free, seam_scene, skin_round
from composer.filler.shaded import field_of, let_in, shaded_by
from composer.filler.shaped import led, now
from composer.plan.model import Hand, Recipe, Settings
from composer.plan.scene import Laid
from composer.plan.shape import Shape, shape_of, with_shape

if TYPE_CHECKING:
    from composer.compose.gaps import Gap

SHOWS_MM = 20.0
"""A gap that reaches so far above the lowest level that is to be filled is filled."""
RUN_MM = 44.0
"""So far beyond its gap a filler over a seam may run on, behind pieces and others."""


def goal_of(gap: SeamGap) -> dict[str, Any]:
    """The recipe's goal for a gap over a seam."""
    return {"seam": gap.join, "share": round(gap.stretch.share, 5), "at": list(gap.stretch.at)}


def gap_of(joined: Joined, goal: Mapping[str, Any]) -> SeamGap:
    """The gap that such a goal means. Raises ValueError with the sentence to show when it is gone."""
    found = joined.near(str(goal.get("seam")), float(goal.get("share", 0.0)))
    if found is None:
        raise ValueError("There is no open skin over this seam any more; choose a gap or a tie on the sheet.")
    return found


def seam_site(joined: Joined, gap: SeamGap, name: str, over: Sequence[tuple[Laid, bool]] = (),
              free: BaseGeometry | None = None) -> Site:
    """The ground over a seam for a kind, in the home part's paper. `over`: fillers that stay in front of it, each with
    whether it is laid on the other part. `free`: other open skin than that of the gap."""
    s = gap.stretch
    home, other = joined.surveys[s.home], joined.surveys[s.carried.part]
    free, front = gap.free if free is None else free, gap.front
    hide = [g for g in (laid_in_paper(s, laid, far) for laid, far in over) if g is not None]
    if hide:
        front = shapely.union_all([front, *hide])
        free = shapely.difference(free, margin(shapely.union_all(hide), home.skin_break_mm))
    reach = shapely.buffer(shapely.simplify(free, 0.5), RUN_MM, quad_segs=3)
    region = shapely.intersection(reach, skin_round(joined, s))
    flow = SeamFlow(s, home, other)
    drifts = kind(name).drifts
    ports = () if drifts else ports_of([r for r in in_paper(s, home, other) if r[0] in gap.gap.neighbours], free)
    ground = Ground(free, shapely.union(region, free), front, home.skin_break_mm, 0.0, flow, ports)
    if drifts:
        ground = calmed(ground, _axis(flow, free))
    near = " ".join(marks(x.scene, gap.gap.neighbours) for x in (home, other))
    return Site(s.at[0], s.at[1], s.patch, ground, " ".join(sorted(set(near.split()))))


def shaded_site(joined: Joined, gap: SeamGap, name: str, settings: Settings, dark: float,
                over: Sequence[tuple[Laid, bool]] = (), shape: Shape | None = None, way: str = "") -> Site:
    """The same with the settings' gaps and the tone of the part under each place; `dark`: what its darkness is of the
    hand's. `shape`: what the artist pulled of it, as far as that way of the kind has such handles. Raises ValueError
    with the sentence to show where shade lines or pulling leave nothing."""
    handles = kind(name).handles_of(way) if shape is not None else ()
    free = None
    if shape is not None:
        shape = now(seam_scene(joined, gap.stretch), shape)
        shape = replace(shape, edge=shape.edge if "edge" in handles else ())
        free = pulled_free(joined, gap, shape, "path" in handles)
    place = seam_site(joined, gap, name, over, free)
    place = replace(place, ground=replace(place.ground, line_gap_mm=settings.line_gap_mm,
                                          skin_break_mm=settings.skin_break_mm))
    place = place if shape is None else led(place, shape, handles)
    return shaded_by(place, seam_tone(joined, gap.stretch, settings), settings, dark)


def seam_tone(joined: Joined, s: Stretch, settings: Settings) -> SeamTone:
    """The fields of tone of both sides as one, over the paper of a stretch."""
    home, other = (field_of(joined.surveys[part].scene, settings) for part in (s.home, s.carried.part))
    return SeamTone(s, home, other)


def _axis(flow: Callable[[np.ndarray], np.ndarray], free: BaseGeometry) -> float:
    """Mean direction of the flow over an area, radians in (-pi/2, pi/2]."""
    x0, y0, x1, y1 = free.bounds
    x, y = (v.ravel() for v in np.meshgrid(np.arange(x0, x1, 6.0), np.arange(y0, y1, 6.0)))
    inside = shapely.contains_xy(free, x, y)
    a = flow(np.column_stack([x, y])[inside]) if inside.any() else np.array([np.pi / 2])
    return 0.5 * float(np.arctan2(np.sin(2 * a).sum(), np.cos(2 * a).sum()))


def propose_over(joined: Joined, gap: SeamGap, kinds: Sequence[str], hand: Hand, wish: Wish, seed: int, count: int = 3,
                 settings: Settings | None = None) -> list[Proposal]:
    """Candidates for a gap over a seam, as `composer.filler.proposals.propose` makes them for one on a part. Raises
    ValueError with the sentence to show for an unknown kind, or where shade lines leave nothing."""
    settings = settings or Settings(skin_break_mm=joined.surveys[gap.stretch.home].skin_break_mm, hand=hand)
    out: list[Proposal] = []
    for name in kinds:
        place = shaded_site(joined, gap, name, settings, wish.dark)
        ways = kind(name).ways
        jobs = [Job(name, ways[i % len(ways)].name, place, hand, wish, seed, i // len(ways) * TRIES)
                for i in range(count)]
        made = {m.drawing.digest: (n, job, m) for n, job in reversed([*enumerate(jobs)])
                if (m := make(job)) is not None}
        out += [replace(proposal(job, m, goal_of(gap)), number=n) for n, job, m in reversed(made.values())]
    return out


def rebuild_over(recipe: Recipe, joined: Joined, settings: Settings, wish: Wish | None = None,
                 seed: int | None = None) -> Proposal:
    """The filler of a recipe over a seam, made again. Raises ValueError with the sentence to show."""
    gap = gap_of(joined, recipe.goal)
    of, goal = kind(recipe.kind), goal_of(gap)
    way, wish = str(recipe.params.get("way", of.ways[0].name)), wish or wish_of(recipe)
    shape, tried = shape_of(recipe), int(recipe.params.get("try", 0))
    place = shaded_site(joined, gap, recipe.kind, settings, wish.dark, (), shape if shape != Shape() else None, way)
    job = Job(recipe.kind, way, place, settings.hand, wish, recipe.seed if seed is None else seed, tried)
    made = make(job)
    if made is None and shape != Shape():
        raise ValueError(f"No '{of.way(way).title}' keeps the rules there: lines would run together or leave open "
                         "skin. Pull it less far, more gently bent, or clear of the pieces.")
    if made is None:
        raise ValueError(f"No '{of.way(way).title}' keeps the rules over this seam any more; try another kind, a "
                         "smaller size or another seed.")
    again = proposal(job, made, goal)
    if shape == Shape():
        return again
    # the try it was proposed with stays, so that it can be put back to how it was proposed
    kept = replace(again.recipe, params={**again.recipe.params, "try": tried})
    return replace(again, recipe=with_shape(kept, now(seam_scene(joined, gap.stretch), shape)))


def tie_in_joined(joined: Joined, theme_name: str, hand: Hand, wish: Wish, seed: int,
                  progress: Callable[[float], bool | None] | None = None, settings: Settings | None = None,
                  from_mm: Mapping[str, float] | None = None, pool: Executor | None = None,
                  ) -> list[tuple[str, Proposal]]:
    """Background for parts that meet, in one theme: (part, proposal), back to front on each. Fillers over the seams
    lie in front of those beside them, whose ends are tucked behind. `from_mm`: on a part only what lies above that
    level. `progress`, seed and ValueErrors are as for `composer.filler.fabric.tie_in`.
    """
    settings = settings or Settings(skin_break_mm=next(iter(joined.surveys.values())).skin_break_mm, hand=hand)
    rows = joined_jobs(joined, theme(theme_name), hand, wish, seed, settings, from_mm)
    made = pool.map(make, [r.job for r in rows]) if pool is not None else (make(r.job) for r in rows)
    out: list[tuple[str, Proposal]] = []
    for i, (row, drawn) in enumerate(zip(rows, made, strict=True)):
        if drawn is not None:
            out.append((row.part, proposal(row.job, drawn, row.goal, row.depth)))
        if progress is not None and progress((i + 1) / len(rows)) is False:
            break
    return sorted(out, key=lambda row: row[1].depth)


@dataclass(frozen=True)
class JoinedJob:
    """A filler to be drawn for parts that meet: on which part, for which goal, how deep; `over`: the gap over a seam
    that it is for, if it is."""

    part: str
    job: Job
    goal: dict[str, Any]
    depth: int
    over: SeamGap | None = None


def joined_jobs(joined: Joined, the: Theme, hand: Hand, wish: Wish, seed: int, settings: Settings,
                from_mm: Mapping[str, float] | None = None) -> list[JoinedJob]:
    """What is to be drawn for parts that meet, in one theme (see `tie_in_joined`). Raises ValueError with the sentence
    to show when nothing is open."""
    rows: list[JoinedJob] = []
    locked = {part: locked_on(survey) for part, survey in joined.surveys.items()}
    for part, survey in joined.surveys.items():
        low = (from_mm or {}).get(part, -1e9)
        gaps = open_gaps(survey, settings, low)
        if gaps:
            own = _rings_above(the, survey, low)
            seams = {g.stretch for g in joined.gaps if part in (g.stretch.home, g.stretch.carried.part)}
            jobs = plan_jobs(survey.scene, survey, gaps, own, hand, wish, seed, settings, locked[part])
            rows += [JoinedJob(part, replace(job, site=_open_at_seams(job.site, part, seams)), goal, depth)
                     for job, goal, depth in jobs]
    top = max((r.depth for r in rows), default=0)
    z = the.zones[-1]
    own_wish = replace(wish, size=wish.size * z.size, fade_mm=wish.fade_mm or FADE_MM,
                       density=float(np.clip(wish.density + z.density - 0.6, 0, 1)), dark=wish.dark * z.dark)
    for n, gap in enumerate(joined.gaps):
        if holds(locked[gap.stretch.home], gap.gap):
            continue
        try:
            place = shaded_site(joined, gap, z.kind, settings, own_wish.dark, ahead_of(joined, gap))
        except ValueError:   # it lies beyond a shade line
            continue
        if place.ground.free.area >= 60.0:
            job = Job(z.kind, z.way, place, hand, own_wish, seed + n)
            rows.append(JoinedJob(gap.stretch.home, job, goal_of(gap), top + 1 + n, gap))
    if not rows:
        raise ValueError("There is no open gap on this sheet; place the main pieces first, or unlock a filler.")
    return rows


def locked_on(survey: Survey) -> list[Laid]:
    """Fillers that stay as they are."""
    return [x for x in survey.scene.laid if x.piece.is_filler and x.piece.stays]


def open_gaps(survey: Survey, settings: Settings, low: float = -1e9) -> list[Gap]:
    """The gaps of a part that are to be filled, of those that show above a level."""
    locked = locked_on(survey)
    return [g for g in let_in(field_of(survey.scene, settings), survey.gaps)
            if g.rings[0][:, 1].max() > low + SHOWS_MM and not holds(locked, g)]


def ahead_of(joined: Joined, gap: SeamGap) -> list[tuple[Laid, bool]]:
    """Fillers that stay in front of one over a seam, each with whether it is laid on the other part."""
    here, there = (locked_on(joined.surveys[p]) for p in (gap.stretch.home, gap.stretch.carried.part))
    known = {x.piece.id for x in here}
    return [(x, False) for x in here] + [(x, True) for x in there if x.piece.id not in known]


def _rings_above(the: Theme, survey: Survey, low: float) -> Theme:
    """The theme without bands that would lie below a level."""
    limb = survey.scene.limb
    return replace(the, rings=tuple(r for r in the.rings if limb.s_min + r.at * (limb.s_max - limb.s_min) > low))


def _open_at_seams(site: Site, part: str, seams: Sequence[Stretch] | set[Stretch]) -> Site:
    """A site whose edges along seams with a gap over them are no edges: nothing is to thin out there."""
    edge = site.ground.edge
    for s in seams:
        if not edge.is_empty and s.home == part:
            line = s.join.sides(part)[0].at(np.linspace(s.low, s.high, 33))
            edge = shapely.difference(edge, shapely.buffer(LineString(site.patch.to_flat(line)), 5.0))
    return replace(site, ground=replace(site.ground, edge=edge))

