"""'Tie in the whole sleeve': one background behind all pieces, in one theme.

First the zone plan (`fabric_plan`), then one filler for each cluster of gaps; where two of them
meet over open skin, the one in front hides the other. What is locked stays.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from composer.filler.fabric_plan import Cluster, Theme, plan_zones, theme
from composer.filler.ground import Wish
from composer.filler.held import holds
from composer.filler.kinds import kind
from composer.filler.proposals import Job, Proposal, ground_for, make, proposal
from composer.filler.shaded import field_of, let_in
from composer.filler.zone_dark import darkened
from composer.plan.model import Hand, Settings
from composer.plan.scene import Laid, Scene

if TYPE_CHECKING:
    from composer.compose.gaps import Gap, Survey

FADE_MM = 26.0
"""Over what length background thins out towards a cuff, when the wish says nothing."""


def tie_in(scene: Scene, survey: Survey, theme_name: str, hand: Hand, wish: Wish, seed: int,
           progress: Callable[[float], bool | None] | None = None, settings: Settings | None = None,
           pool: Executor | None = None) -> list[Proposal]:
    """Background for the whole part in a theme (see `fabric_plan.THEMES`), back to front.

    `progress` is called with the share done (0..1) and may return False to stop: what is ready is
    kept. Gaps that a locked or fixed filler covers are left alone. The same seed gives the same bytes.
    Raises ValueError with the sentence to show for an unknown theme or when there is no gap.
    """
    settings = settings or Settings(skin_break_mm=survey.skin_break_mm, hand=hand)
    the = theme(theme_name)
    locked = [x for x in scene.laid if x.piece.is_filler and x.piece.stays]
    gaps = [g for g in let_in(field_of(scene, settings), survey.gaps) if not holds(locked, g)]
    if not gaps:
        raise ValueError("There is no open gap on this part; place the main pieces first, or unlock a filler.")
    jobs = plan_jobs(scene, survey, gaps, the, hand, wish, seed, settings, locked)
    out: list[Proposal] = []
    rows = pool.map(make, [j for j, _, _ in jobs]) if pool is not None else (make(j) for j, _, _ in jobs)
    for i, ((job, goal, depth), made) in enumerate(zip(jobs, rows, strict=True)):
        if made is not None:
            out.append(proposal(job, made, goal, depth))
        if progress is not None and progress((i + 1) / len(jobs)) is False:
            break
    return sorted(out, key=lambda p: p.depth)


def plan_jobs(scene: Scene, survey: Survey, gaps: Sequence[Gap], the: Theme, hand: Hand, wish: Wish, seed: int,
              settings: Settings, locked: Sequence[Laid]) -> list[tuple[Job, dict[str, Any], int]]:
    """What is to be drawn, for which goal, at which depth (below the pieces, each its own)."""
    rng = np.random.default_rng(np.random.SeedSequence([seed, 11]))
    accents = accent_gaps(survey, gaps, the)
    parts = plan_zones(survey, [g for g in gaps if g.key not in accents], the.zones, float(rng.uniform(0, 1)))
    parts = darkened(scene, parts, the.zones)
    out = []
    order = sorted(range(len(parts)), key=lambda i: (parts[i].zone.front, -height(parts[i])))
    for depth, i in enumerate(order):
        part = parts[i]
        goal: dict[str, Any] = {"gap": [[round(g.centre[0], 5), round(g.centre[1], 2)] for g in part.gaps]}
        job = job_for(scene, survey, part, goal, hand, wish, seed, settings, locked)
        out.append((job, goal, filler_depth(scene, depth)))
    for depth, key in enumerate(accents):
        g = next(g for g in gaps if g.key == key)
        goal = {"tie": list(accents[key])}
        place = ground_for(scene, survey, {"gap": [list(g.centre)]}, str(the.accent), settings, locked, dark=wish.dark)
        way = the.accent_way or kind(str(the.accent)).ways[0].name
        job = Job(str(the.accent), way, place, hand, wish, seed)
        out.append((job, goal, filler_depth(scene, len(parts) + depth)))
    for ring in the.rings if scene.limb.closed else ():
        goal = ring.goal(scene.limb)
        try:
            place = ground_for(scene, survey, goal, "band", settings, locked, dark=wish.dark)
        except ValueError:  # no open skin where the ring would lie
            continue
        own = replace(wish, size=wish.size * ring.size)
        out.append((Job("band", ring.way, place, hand, own, seed), goal, filler_depth(scene, len(out))))
    return out


def filler_depth(scene: Scene, place: int) -> int:
    """Depth of the filler in that place from the back, below all that lies on the part."""
    return min([x.piece.depth for x in scene.laid], default=0) - 100 + place


def job_for(scene: Scene, survey: Survey, part: Cluster, goal: dict[str, Any], hand: Hand, wish: Wish, seed: int,
            settings: Settings, locked: Sequence[Laid]) -> Job:
    """The job for one cluster. All of a zone share size and seed, so that they look of one piece."""
    z = part.zone
    dark = wish.dark * z.dark
    place = ground_for(scene, survey, goal, z.kind, settings, locked, dark=dark)
    own = replace(wish, size=wish.size * z.size, density=float(np.clip(wish.density + z.density - 0.6, 0, 1)),
                  fade_mm=wish.fade_mm or FADE_MM, dark=dark)
    return Job(z.kind, z.way, place, hand, own, seed)


def height(part: Cluster) -> float:
    """Mean place of a cluster along the limb, mm: what lies lower on a hanging arm lies in front."""
    return float(np.mean([g.centre[1] for g in part.gaps]))


def accent_gaps(survey: Survey, gaps: Sequence[Gap], the: Theme) -> dict[str, tuple[str, str]]:
    """Gaps that the strongest ties ask a single element for: key -> the tie's two ends."""
    out: dict[str, tuple[str, str]] = {}
    known = {g.key for g in gaps if the.accent and g.widest_mm >= kind(the.accent).least_mm + 8}
    for t in survey.ties:
        if len(out) >= the.accents or not the.accent:
            break
        mine = [k for k in t.gaps if k in known and k not in out]
        if mine and not t.b.startswith("border") and t.clearance_mm >= 25:
            out[mine[0]] = (t.a, t.b)
    return out
