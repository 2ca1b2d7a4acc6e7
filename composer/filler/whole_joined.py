"""Several whole backgrounds for parts that meet: arms, chest and the seams between them searched as one.

The search is that of `composer.filler.whole`; what differs is what is weighed. The open skin of all parts is one place,
each part's spots in that part's own space, the parts FAR_MM away from each other, so that nothing is near across a seam
but a filler that lies over it: that one is weighed on both sides, as it lies there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from composer.compose.over_seam import Joined, SeamGap
from composer.filler.fabric import filler_depth
from composer.filler.fabric_plan import Theme, theme
from composer.filler.ground import Wish
from composer.filler.kinds import kind
from composer.filler.over_seam import ahead_of, goal_of, joined_jobs, locked_on, open_gaps, shaded_site
from composer.filler.proposals import Job, Proposal, ground_for
from composer.filler.weigh import Place, Seen, far_from, place_of, seen
from composer.filler.whole import Draft, Slot, search
from composer.plan.model import Hand, Piece, Settings
from composer.plan.scene import Laid, lay

if TYPE_CHECKING:
    from composer.compose.ties import Tie

FAR_MM = 1e5


@dataclass(eq=False)
class JoinedSlot(Slot):
    """A slot on one of the parts; `over`: the gap over a seam that it is for, if it is."""

    part: str = ""
    over: SeamGap | None = None


@dataclass(frozen=True)
class JoinedWhole:
    """A background for parts that meet: the theme, (part, filler) back to front, what it was weighed at."""

    theme: Theme
    fillers: tuple[tuple[str, Proposal], ...]
    figures: dict[str, float]


def compose_joined(joined: Joined, themes: Sequence[str], hand: Hand, wish: Wish, seed: int, rounds: int = 2,
                   musts: Sequence[tuple[str, str]] = (), settings: Settings | None = None,
                   from_mm: Mapping[str, float] | None = None, pool: Executor | None = None,
                   progress: Callable[[float], bool | None] | None = None, more: Callable[[int], bool] | None = None,
                   first: Callable[[JoinedWhole], object] | None = None) -> list[JoinedWhole]:
    """One background over all parts and seams for each of `themes`, the best first. `musts` may be ties of a part or
    over a seam; `from_mm`: on a part only what lies above that level. All else, and what is raised, as for
    `composer.filler.whole.compose_whole`."""
    settings = settings or Settings(skin_break_mm=next(iter(joined.surveys.values())).skin_break_mm, hand=hand)
    low = from_mm or {}
    wanted = {tuple(sorted(m)) for m in musts}
    place = JoinedPlace(joined, settings, low)
    must = {t: p for p in place.parts for t in joined.surveys[p].ties
            if t.from_port[1] > low.get(p, -1e9) and tuple(sorted((t.a, t.b))) in wanted}
    over = {t.tie: t for t in joined.ties if tuple(sorted((t.tie.a, t.tie.b))) in wanted
            and any(p in place.parts for p, _ in t.ways)}
    for tie, part in must.items():
        place.whole.ways[tie] = place.parts[part].way(tie) + place.shift(part)
    for tie, seam in over.items():
        place.whole.ways[tie] = np.concatenate([
            joined.surveys[p].scene.limb.embed(us[0] + (us[1] - us[0]) * np.linspace(0, 1, 7)[:, None]) + place.shift(p)
            for p, us in seam.ways if p in place.parts])

    def drafts() -> Iterator[Draft]:
        for i, name in enumerate(themes):
            again = seed + 7919 * list(themes[:i]).count(name)
            rows = joined_jobs(joined, theme(name), hand, wish, again, settings, low)
            yield Draft(theme(name), [JoinedSlot(r.job, r.goal, r.depth, part=r.part, over=r.over) for r in rows])

    def own(tie: Tie, name: str, n: int) -> Slot | None:
        gap = joined.gap(over[tie].seam) if tie in over else None
        part = gap.stretch.home if gap is not None else must[tie]
        goal = goal_of(gap) if gap is not None else {"tie": [tie.a, tie.b]}
        survey = joined.surveys[part]
        try:
            ground = (ground_for(survey.scene, survey, goal, name, settings, locked_on(survey)) if gap is None else
                      shaded_site(joined, gap, name, settings, wish.dark, ahead_of(joined, gap)))
        except ValueError:   # it lies beyond a shade line
            return None
        job = Job(name, kind(name).ways[0].name, ground, hand, wish, seed)
        return JoinedSlot(job, goal, filler_depth(survey.scene, n), part=part, over=gap)

    found = search(place.whole, [*must, *over], drafts(), len(themes), rounds, place.weighed, own, pool, progress, more,
                   None if first is None else lambda draft: first(_whole(draft)))
    return [_whole(d) for d in found]


def _whole(draft: Draft) -> JoinedWhole:
    rows = [(s.part, s.drawn[s.shown][0]) for s in draft.slots if s.shown >= 0 and isinstance(s, JoinedSlot)]
    return JoinedWhole(draft.theme, tuple(sorted(rows, key=lambda r: r[1].depth)), draft.figures)


class JoinedPlace:
    """The open skin of parts that meet as one place to be weighed: `parts` each in its own space, `whole` all of them.

    Raises ValueError with the sentence to show when none has open skin."""

    def __init__(self, joined: Joined, settings: Settings, from_mm: Mapping[str, float]) -> None:
        self.parts: dict[str, Place] = {}
        self._joined = joined
        for part, survey in joined.surveys.items():
            gaps = open_gaps(survey, settings, from_mm.get(part, -1e9))
            lines = [g.stretch.join.sides(part)[0].us for g in joined.gaps
                     if part in (g.stretch.home, g.stretch.carried.part)]
            if gaps:
                try:
                    self.parts[part] = place_of(survey.scene, replace(survey, gaps=tuple(gaps)),
                                                np.concatenate(lines) if lines else None)
                except ValueError:   # all of it lies beyond a shade line
                    continue
        if not self.parts:
            raise ValueError("There is no open gap on this sheet; place the main pieces first, or unlock a filler.")
        rows = list(self.parts.values())
        self._from = dict(zip(self.parts, np.cumsum([0, *(len(p.us) for p in rows[:-1])]).tolist(), strict=True))
        self.whole = Place(rows[0].scene, np.concatenate([p.us for p in rows]),
                           np.concatenate([p.xyz + self.shift(n) for n, p in self.parts.items()]),
                           np.concatenate([p.wall for p in rows]),
                           np.concatenate([p.sector + 6 * i for i, p in enumerate(rows)]), {})

    def shift(self, part: str) -> np.ndarray:
        """Where a part's space lies in that of all of them, mm."""
        return np.array([FAR_MM * list(self.parts).index(part), 0.0, 0.0])

    def weighed(self, slot: Slot, prop: Proposal) -> Seen:
        """What a filler does to all of the place."""
        assert isinstance(slot, JoinedSlot)
        far = np.full(len(self.whole.us), np.inf, np.float32)
        survey = self._joined.surveys[slot.part]
        piece = Piece("drawn", slot.part, prop.drawing.digest, prop.title, prop.u, prop.s_mm, recipe=prop.recipe)
        laid = lay(survey.scene.limb, piece, prop.drawing)
        home = self.parts.get(slot.part) or next(iter(self.parts.values()))
        one = seen(home, laid, slot.job.site.ground.flow)
        if slot.part in self.parts:
            self._put(far, slot.part, one.far)
        if slot.over is not None and slot.over.stretch.carried.part in self.parts:
            carried = slot.over.stretch.carried
            flat = prop.drawing.moved(carried.matrix)
            there = Laid(piece, flat, carried.patch, tuple(carried.patch.to_skin(r) for r in flat.silhouette))
            self._put(far, carried.part, far_from(self.parts[carried.part], there))
        return replace(one, far=far)

    def _put(self, far: np.ndarray, part: str, own: np.ndarray) -> None:
        at = self._from[part]
        far[at : at + len(own)] = own
