"""Candidates for a gap or a tie: differing drawings that keep the hard rules, made again from a recipe."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import asdict, dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from composer.art.drawing import Drawing
from composer.filler.beside import KEY
from composer.filler.check import Finding
from composer.filler.finish import finished
from composer.filler.ground import Wish
from composer.filler.handed import asked, in_hand
from composer.filler.kinds import kind
from composer.filler.lay_ground import Site, calmed, mean_axis, site
from composer.filler.painted import painted_gaps
from composer.filler.shaded import KEY as TONE
from composer.filler.shaded import shaded
from composer.filler.shaped import led, now, pulled_gaps
from composer.plan.model import Hand, Recipe, Settings
from composer.plan.scene import Laid, Scene
from composer.plan.shape import Shape, shape_of, with_shape

if TYPE_CHECKING:
    from composer.compose.gaps import Gap, Survey

TRIES = 4
"""So many seeds are tried for one candidate before it is given up."""


@dataclass(frozen=True)
class Proposal:
    """A filler to choose: `drawing` unclipped, in mm about the anchor (`u` turns, `s_mm` mm on skin);
    `recipe` makes it again; `findings` (empty: candidates with any are
    never handed out); `depth` where it lies among the other fillers of one tie-in. `number`: which of the candidates
    asked for it is, so that a sketch and its finished drawing are told to belong together."""

    kind: str
    title: str
    drawing: Drawing
    u: float
    s_mm: float
    recipe: Recipe
    findings: tuple[Finding, ...] = ()
    depth: int = 0
    number: int = 0

    def finishes(self, sketch: Proposal) -> bool:
        """Whether this is the finished drawing of a sketch, rather than of another that took its place."""
        return (self.recipe == sketch.recipe and self.number == sketch.number
                and not self.drawing.notes.get("anew"))


@dataclass(frozen=True)
class Job:
    """One candidate to be drawn: picklable, so that it can be sent to another process."""

    kind: str
    way: str
    site: Site
    hand: Hand
    wish: Wish
    seed: int
    first_try: int = 0
    tries: int = TRIES


@dataclass(frozen=True)
class Made:
    """What a job gave: the drawing, the try that kept the rules."""

    drawing: Drawing
    tried: int


def generator(seed: int, kind_name: str, way: str, tried: int) -> np.random.Generator:
    """The same numbers for the same seed, kind, way and try, in any process."""
    return np.random.default_rng(np.random.SeedSequence([seed, zlib.crc32(f"{kind_name}/{way}".encode()), tried]))


def make(job: Job) -> Made | None:
    """Draw a candidate, with other numbers as often as `tries` allows while it breaks a hard rule or can't be cut.
    Where every try has a stroke that ends bare and can't be mended, but keeps the other rules, it is the one with the
    fewest: skin left open would be the worse. None when none keeps them."""
    way = kind(job.kind).way(job.way)
    ground = job.site.ground
    next_best: tuple[int, Made] | None = None
    for tried in range(job.first_try, job.first_try + job.tries):
        rng = generator(job.seed, job.kind, job.way, tried)
        try:
            drawing = in_hand(way.draw, job.kind, ground, job.hand, job.wish, rng)
            if drawing is None:
                continue
            drawing, bad = finished(drawing, kind(job.kind), ground, job.hand, job.wish)
        except shapely.GEOSException:   # shapes that GEOS can't put together: no candidate either
            continue
        if not bad:
            return Made(drawing, tried)
        if all(f.rule == "end" for f in bad) and (next_best is None or len(bad) < next_best[0]):
            next_best = len(bad), Made(drawing, tried)
    return next_best[1] if next_best is not None else None


def sketch(job: Job) -> Made | None:
    """The first pass of what `make` draws for a job, and the try that it belongs to: `make` on the job from that try on
    gives the finished drawing, the same banks, bolts or stems as long as that keeps the rules. None where the way
    has no sketches or nothing is drawn."""
    way = kind(job.kind).way(job.way)
    if way.sketch is None:
        return None
    ground, hand, wish = asked(job.site.ground, job.hand, job.wish)
    for tried in range(job.first_try, job.first_try + job.tries):
        try:
            drawing = way.sketch(ground, hand, wish, generator(job.seed, job.kind, job.way, tried))
        except shapely.GEOSException:
            continue
        if drawing is not None:
            return Made(drawing, tried)
    return None


def gaps_of(survey: Survey, goal: dict[str, Any]) -> list[Gap]:
    """The gaps that a goal means: {"gap": [[u, s], ...]} marks inside them, {"tie": [a, b]}, {"brush": ...} (see
    `composer.filler.painted`) or {"whole": true}. Raises ValueError with the sentence to show when there is none."""
    if goal.get("whole"):
        found = list(survey.gaps)
    elif "brush" in goal:
        found = painted_gaps(survey, goal)
    elif "tie" in goal:
        ends = set(goal["tie"])
        keys = [k for t in survey.ties if {t.a, t.b} == ends for k in t.gaps]
        found = [g for g in survey.gaps if g.key in keys]
    else:
        found = []
        for u, s in goal.get("gap", ()):
            g = gap_at(survey, float(u), float(s))
            if g is not None and g not in found:
                found.append(g)
    if not found:
        raise ValueError("There is no open gap at this place any more; choose a gap or a tie on the sheet.")
    return found


def gap_at(survey: Survey, u: float, s: float) -> Gap | None:
    """The gap that holds the place (u turns, s mm), else the nearest whose middle is within 40 mm."""
    best, least = None, 40.0
    girth = survey.scene.limb.girth(s)
    for g in survey.gaps:
        ring = g.rings[0]
        turn = float(np.round(g.centre[0] - u))
        if ring[:, 1].min() <= s <= ring[:, 1].max():
            for k in (turn - 1, turn, turn + 1):
                if Polygon(ring, g.rings[1:]).contains(Point(u + k, s)):
                    return g
        far = float(np.hypot((g.centre[0] - u - turn) * girth, g.centre[1] - s))
        if far < least:
            best, least = g, far
    return best


def ground_for(scene: Scene, survey: Survey, goal: dict[str, Any], name: str, settings: Settings,
               over: Sequence[Laid] = (), shape: Shape | None = None, way: str = "", dark: float = 1.0) -> Site:
    """The site of a goal as the kind wants it: drifting kinds lie lower than the limb's flow, a tie
    keeps only the ports of its two ends. `shape`: what the artist pulled of it, as far as that way of the kind has
    such handles. `dark`: what its darkness is of the hand's."""
    handles = kind(name).handles_of(way) if shape is not None else ()
    if shape is not None:
        shape = now(scene, shape)
        shape = replace(shape, edge=shape.edge if "edge" in handles else ())
        gaps = pulled_gaps(survey, shape, lambda: gaps_of(survey, goal), "path" in handles)
    else:
        gaps = gaps_of(survey, goal)
    place = site(scene, survey, gaps, settings, over, not kind(name).drifts)
    ground = place.ground
    if "tie" in goal:
        ends = tuple(p for p in ground.ports if p.owner in goal["tie"])
        ground = replace(ground, ports=ends if len(ends) > 1 else ground.ports)
    if kind(name).drifts:
        ground = calmed(ground, mean_axis(survey))
    place = replace(place, ground=ground)
    return shaded(place if shape is None else led(place, shape, handles), scene, settings, dark)


def propose(scene: Scene, survey: Survey, goal: dict[str, Any], kinds: Sequence[str], hand: Hand, wish: Wish, seed: int,
            count: int = 3, settings: Settings | None = None, pool: Executor | None = None) -> list[Proposal]:
    """At least `count` differing candidates of every kind for a gap or a tie (see `gaps_of`), as far
    as that many keep the hard rules there. The same seed gives the same bytes. `pool`: a warm
    process pool to draw in. Raises ValueError with the sentence to show for an unknown kind or goal.
    """
    settings = settings or Settings(skin_break_mm=survey.skin_break_mm, hand=hand)
    jobs = [j for name in kinds for j in jobs_for(scene, survey, goal, name, hand, wish, seed, count, settings)]
    made = list(pool.map(make, jobs)) if pool is not None else [make(j) for j in jobs]
    out, seen = [], set()
    for n, (job, m) in enumerate(zip(jobs, made, strict=True)):
        if m is not None and m.drawing.digest not in seen:
            seen.add(m.drawing.digest)
            out.append(replace(proposal(job, m, goal), number=n % count))
    return out


def sketches(scene: Scene, survey: Survey, goal: dict[str, Any], name: str, hand: Hand, wish: Wish, seed: int,
             count: int = 3, settings: Settings | None = None, pool: Executor | None = None) -> list[Proposal]:
    """The first passes of what `propose` gives for one kind, by `number`, to show until that is there; not to be kept:
    only the finished drawing keeps every rule. None where the kind has no sketches. Raises ValueError as `propose`."""
    if all(w.sketch is None for w in kind(name).ways):
        return []
    settings = settings or Settings(skin_break_mm=survey.skin_break_mm, hand=hand)
    jobs = jobs_for(scene, survey, goal, name, hand, wish, seed, count, settings)
    made = list(pool.map(sketch, jobs)) if pool is not None else [sketch(j) for j in jobs]
    return [replace(proposal(job, m, goal), number=n) for n, (job, m) in enumerate(zip(jobs, made, strict=True))
            if m is not None]


def jobs_for(scene: Scene, survey: Survey, goal: dict[str, Any], name: str, hand: Hand, wish: Wish, seed: int,
             count: int, settings: Settings) -> list[Job]:
    """One job a candidate: every way of the kind in turn, then again with other numbers."""
    ways = kind(name).ways
    place = ground_for(scene, survey, goal, name, settings, dark=wish.dark)
    n = len(ways)
    return [Job(name, ways[i % n].name, place, hand, wish, seed, (i // n) * TRIES) for i in range(count)]


def proposal(job: Job, made: Made, goal: dict[str, Any], depth: int = 0) -> Proposal:
    """The proposal for what a job gave."""
    of = kind(job.kind)
    params = {"way": job.way, "try": made.tried, **asdict(job.wish)}
    if job.site.beside:
        params[KEY] = job.site.beside
    if job.site.tones:
        params[TONE] = list(job.site.tones)
    recipe = Recipe(job.kind, job.seed, params, goal)
    return Proposal(job.kind, of.way(job.way).title, made.drawing, job.site.u, job.site.s_mm, recipe, (), depth)


def wish_of(recipe: Recipe) -> Wish:
    """What the recipe wishes; what it does not say is as usual."""
    names = {f.name for f in fields(Wish)}
    return Wish(**{k: float(v) for k, v in recipe.params.items() if k in names})


def rebuild(recipe: Recipe, scene: Scene, survey: Survey, settings: Settings, wish: Wish | None = None,
            seed: int | None = None) -> Proposal:
    """The filler of a recipe, made again: the same drawing on the same scene; with another `wish` or
    `seed`, the same kind and place drawn anew. Raises ValueError with the sentence to show when the
    gap is gone or nothing there keeps the rules any more."""
    new, wish = replace(recipe, seed=recipe.seed if seed is None else seed), wish or wish_of(recipe)
    way = str(recipe.params.get("way", kind(recipe.kind).ways[0].name))
    shape = shape_of(recipe)
    place = ground_for(scene, survey, recipe.goal, recipe.kind, settings, shape=shape if shape != Shape() else None,
                       way=way, dark=wish.dark)
    tried = int(recipe.params.get("try", 0))
    job = Job(recipe.kind, way, place, settings.hand, wish, new.seed, tried)
    made = make(job)
    if made is None and shape != Shape():
        raise ValueError(f"No '{kind(recipe.kind).way(way).title}' keeps the rules there: lines would run together or "
                         "leave open skin. Pull it less far, more gently bent, or clear of the pieces.")
    if made is None:
        raise ValueError(f"No '{kind(recipe.kind).way(way).title}' keeps the rules in this gap any more; "
                         "try another kind, a smaller size or another seed.")
    again = proposal(job, made, recipe.goal)
    if shape == Shape():
        return again
    # the try it was proposed with stays, so that it can be put back to how it was proposed
    kept = replace(again.recipe, params={**again.recipe.params, "try": tried})
    return replace(again, recipe=with_shape(kept, now(scene, shape)))
