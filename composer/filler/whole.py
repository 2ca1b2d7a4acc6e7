"""The whole background of a part, chosen: several themes are drawn, every filler in several ways, and the best
mix of each is kept as an option.

A theme (`fabric_plan`) says where which kind goes; each of its fillers is a slot. First every slot is drawn once, so
that there is something whole soon; then, round for round, the half of the slots whose skin is served worst is drawn
anew with other numbers, another size, another fullness. Which drawing each slot shows is settled by going round the
slots and taking the one that adds most to the total (coordinate ascent; `weigh.figures` is what is gained), until
a round changes nothing. Stopped at any time, the best so far is handed out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from composer.filler.fabric import filler_depth, plan_jobs
from composer.filler.fabric_plan import Theme, theme
from composer.filler.ground import Wish
from composer.filler.held import REACH_MM, holds
from composer.filler.kinds import kind
from composer.filler.proposals import Job, Made, Proposal, ground_for, make, proposal
from composer.filler.shaded import field_of, let_in
from composer.filler.weigh import WIDE_MM, Place, Seen, carried, figures, place_of, seen
from composer.plan.model import Hand, Piece, Settings
from composer.plan.scene import Laid, Scene, lay

if TYPE_CHECKING:
    from composer.compose.gaps import Gap, Survey
    from composer.compose.ties import Tie

CARRIED = 0.6
"""A must of which less is carried gets an element of its own."""

CHANGES = ((1.0, 0.0), (0.85, 0.12), (1.2, -0.12), (1.0, 0.15), (0.92, -0.2))
"""Size and fullness of a slot's further drawings, against the first; each with another seed as well."""

APART = 0.12
"""Two options show at least so much of the open skin otherwise (project's own rule)."""


@dataclass(frozen=True)
class Whole:
    """A background for a whole part: the theme, its fillers back to front, what it was weighed at."""

    theme: Theme
    proposals: tuple[Proposal, ...]
    figures: dict[str, float]


@dataclass(eq=False)
class Slot:
    """A place for one filler, with all that was drawn for it and which of that shows (-1: nothing)."""

    job: Job
    goal: dict[str, Any]
    depth: int
    drawn: list[tuple[Proposal, Seen]] = field(default_factory=list)
    shown: int = -1


@dataclass(eq=False)
class Draft:
    """A theme being worked on. `figures` of what shows now."""

    theme: Theme
    slots: list[Slot]
    figures: dict[str, float] = field(default_factory=dict)

    def chosen(self) -> list[Seen]:
        return [s.drawn[s.shown][1] for s in self.slots if s.shown >= 0]


def compose_whole(scene: Scene, survey: Survey, themes: Sequence[str], hand: Hand, wish: Wish, seed: int,
                  rounds: int = 2, musts: Sequence[tuple[str, str]] = (), settings: Settings | None = None,
                  pool: Executor | None = None, progress: Callable[[float], bool | None] | None = None,
                  more: Callable[[int], bool] | None = None,
                  first: Callable[[Whole], object] | None = None) -> list[Whole]:
    """One background for each of `themes` (names), the best first, each drawn at least once and then bettered in
    `rounds` further rounds. A theme named twice is laid out anew.

    `musts` are ends of ties (in any order) that have to be carried; `progress` is called with the share done and
    may return False to stop: themes that are whole by then are handed out, or the first as far as it got. What is
    locked stays. `more` is asked before each further round (0, 1, ...) and may say that it is enough, so that time
    decides on how many rounds there are and on nothing else. `first` is told of the first theme as soon as it is
    whole. The same arguments and rounds give the same bytes. Raises ValueError with the sentence to show for an
    unknown theme or when there is no open gap.
    """
    settings = settings or Settings(skin_break_mm=survey.skin_break_mm, hand=hand)
    locked = [x for x in scene.laid if x.piece.is_filler and x.piece.stays]
    gaps = [g for g in let_in(field_of(scene, settings), survey.gaps) if not holds(locked, g)]
    if not gaps:
        raise ValueError("There is no open gap on this part; place the main pieces first, or unlock a filler.")
    place = place_of(scene, survey)
    must = [t for t in survey.ties if tuple(sorted((t.a, t.b))) in {tuple(sorted(m)) for m in musts}]
    def weighed(slot: Slot, prop: Proposal) -> Seen:
        piece = Piece("drawn", "", prop.drawing.digest, prop.title, prop.u, prop.s_mm, recipe=prop.recipe)
        return seen(place, lay(place.scene.limb, piece, prop.drawing), slot.job.site.ground.flow)

    def own(tie: Tie, name: str, n: int) -> Slot | None:
        goal = {"tie": [tie.a, tie.b]}
        try:
            ground = ground_for(scene, survey, goal, name, settings, locked)
        except ValueError:   # it lies beyond a shade line
            return None
        return Slot(Job(name, kind(name).ways[0].name, ground, hand, wish, seed), goal, filler_depth(scene, n))

    coming = _drafts(scene, survey, gaps, themes, hand, wish, seed, settings, locked)
    found = search(place, must, coming, len(themes), rounds, weighed, own, pool, progress, more,
                   None if first is None else lambda draft: first(_whole(draft)))
    return [_whole(d) for d in found]


def search(place: Place, must: Sequence[Tie], coming: Iterator[Draft], themes: int, rounds: int,
           weighed: Callable[[Slot, Proposal], Seen], own: Callable[[Tie, str, int], Slot | None],
           pool: Executor | None = None, progress: Callable[[float], bool | None] | None = None,
           more: Callable[[int], bool] | None = None, first: Callable[[Draft], object] | None = None) -> list[Draft]:
    """The `themes` drafts that are `coming`, drawn and bettered (see `compose_whole`), the best first. `weighed` says
    what a drawing in its slot does to the place, `own` gives a must a slot of its own (see `carry_musts`)."""
    drafts: list[Draft] = []
    whole: list[Draft] = []
    done = 0
    for draft, todo in _work(place, drafts, coming, rounds, more):
        total = _count(drafts[0], themes, rounds)
        for slot, made in _drawn(todo, pool):
            take(slot, made, weighed)
            done += 1
            if progress is not None and progress(min(done / total, 1.0)) is False:
                _settle(place, draft, must)
                return _best(whole if draft not in whole and whole else [*whole, draft])
        _settle(place, draft, must)
        if draft not in whole:
            carry_musts(place, draft, must, own, weighed)
            whole.append(draft)
            if first is not None and len(whole) == 1 and draft.chosen():
                first(draft)
    return _best(whole)


def _drafts(scene: Scene, survey: Survey, gaps: Sequence[Gap], themes: Sequence[str], hand: Hand, wish: Wish, seed: int,
            settings: Settings, locked: Sequence[Laid]) -> Iterator[Draft]:
    """Each theme laid out, when it is asked for."""
    for i, name in enumerate(themes):
        again = seed + 7919 * list(themes[:i]).count(name)
        jobs = plan_jobs(scene, survey, gaps, theme(name), hand, wish, again, settings, locked)
        yield Draft(theme(name), [Slot(*row) for row in jobs])


def _count(draft: Draft, themes: int, rounds: int) -> int:
    """About how many drawings all of it takes."""
    return max(themes * (len(draft.slots) + rounds * -(-len(draft.slots) // 2)), 1)


def _work(place: Place, drafts: list[Draft], coming: Iterator[Draft], rounds: int,
          more: Callable[[int], bool] | None) -> Iterator[tuple[Draft, list[tuple[Slot, Job]]]]:
    """What is to be drawn, in turn: each theme once, then the worse half of each again, with other numbers in every
    round. Themes are added to `drafts` as they come."""
    for draft in coming:
        drafts.append(draft)
        # that over the most skin first, so that no process is left with it at the end
        yield draft, [(s, s.job) for s in sorted(draft.slots, key=lambda s: -s.job.site.ground.free.area)]
    for r in range(rounds):
        if more is not None and not more(r):
            return
        size, fuller = CHANGES[r % len(CHANGES)]
        for draft in drafts:
            rows = []
            for s in _worse(place, draft):
                w = s.job.wish
                other = replace(w, size=w.size * size, density=float(np.clip(w.density + fuller, 0.1, 1.0)))
                rows.append((s, replace(s.job, wish=other, seed=s.job.seed + 104729 * (r + 1))))
            yield draft, rows


def _worse(place: Place, draft: Draft) -> list[Slot]:
    """The half of the slots whose skin, nearest to what each shows, is most out of reach or in wide holes; those that
    show nothing first."""
    shown = [s for s in draft.slots if s.shown >= 0]
    bad = {id(s): np.inf for s in draft.slots}
    if shown:
        far = np.array([s.drawn[s.shown][1].far for s in shown])
        who, least = far.argmin(axis=0), far.min(axis=0)
        fault = (least > REACH_MM) + 2.0 * (np.minimum(least, place.wall) > WIDE_MM)
        bad |= {id(s): float(fault[who == i].sum()) for i, s in enumerate(shown)}
    return sorted(draft.slots, key=lambda s: -bad[id(s)])[:-(-len(draft.slots) // 2)]


def _drawn(todo: Sequence[tuple[Slot, Job]], pool: Executor | None) -> Iterator[tuple[Slot, tuple[Job, Made | None]]]:
    jobs = [j for _, j in todo]
    made = pool.map(make, jobs) if pool is not None else (make(j) for j in jobs)
    for (slot, job), m in zip(todo, made, strict=True):
        yield slot, (job, m)


def take(slot: Slot, row: tuple[Job, Made | None], weighed: Callable[[Slot, Proposal], Seen]) -> None:
    """Add a drawing to its slot; the first one shows until something better is known."""
    job, made = row
    if made is None or any(p.drawing.digest == made.drawing.digest for p, _ in slot.drawn):
        return
    prop = proposal(job, made, slot.goal, slot.depth)
    slot.drawn.append((prop, weighed(slot, prop)))
    slot.shown = max(slot.shown, 0)


def _settle(place: Place, draft: Draft, must: Sequence[Tie]) -> None:
    """Let every slot show what adds most, going round until nothing changes."""
    draft.figures = figures(place, draft.chosen(), must)
    for _ in range(6):
        moved = False
        for slot in draft.slots:
            for i in range(len(slot.drawn)):
                old = slot.shown
                if i == old:
                    continue
                slot.shown = i
                new = figures(place, draft.chosen(), must)
                if new["total"] > draft.figures["total"] + 1e-6:
                    draft.figures, moved = new, True
                else:
                    slot.shown = old
        if not moved:
            break


def carry_musts(place: Place, draft: Draft, must: Sequence[Tie], own: Callable[[Tie, str, int], Slot | None],
                weighed: Callable[[Slot, Proposal], Seen]) -> None:
    """Give each must that is not carried an element of its own: the theme's accent, else scrollwork.
    `own(tie, kind, n)` is the slot for such an element, the n-th from the back, None where none can be drawn."""
    for tie in must:
        far = np.min([c.far for c in draft.chosen()], axis=0)
        if carried(place, far, tie) >= CARRIED or not tie.gaps:
            continue
        best: tuple[float, Slot] | None = None
        for name in dict.fromkeys((draft.theme.accent or "filigree", "filigree", "wind")):
            slot = own(tie, name, len(draft.slots))
            if slot is None:
                continue
            take(slot, (slot.job, make(slot.job)), weighed)
            if slot.shown < 0:
                continue
            now = figures(place, [*draft.chosen(), slot.drawn[0][1]], must)["total"]
            if best is None or now > best[0]:
                best = now, slot
        if best is not None and best[0] > draft.figures["total"]:
            draft.slots.append(best[1])
            draft.figures = figures(place, draft.chosen(), must)


def _best(drafts: Sequence[Draft]) -> list[Draft]:
    """The best first; one that shows nearly what a better one shows is left away."""
    out: list[Draft] = []
    for d in sorted(drafts, key=lambda d: -d.figures["total"]):
        if d.chosen() and all(_apart(d, o) >= APART for o in out):
            out.append(d)
    return out


def _whole(draft: Draft) -> Whole:
    """What a draft shows now."""
    shown = (s.drawn[s.shown][0] for s in draft.slots if s.shown >= 0)
    return Whole(draft.theme, tuple(sorted(shown, key=lambda p: p.depth)), draft.figures)


def _apart(a: Draft, b: Draft) -> float:
    """Share of the spots that the one covers and the other does not, or with another kind."""
    def kinds(d: Draft) -> np.ndarray:
        far = np.array([c.far for c in d.chosen()])
        names = np.array([c.kind for c in d.chosen()] + [""])
        return names[np.where(far.min(axis=0) <= 0, far.argmin(axis=0), -1)]

    return float((kinds(a) != kinds(b)).mean())
