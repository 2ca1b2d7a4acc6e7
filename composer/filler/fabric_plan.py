"""The zone plan of a sleeve's background: which kind where, and which gaps one filler covers.

The composer's first decision: few kinds, broad zones that lie across the limb and wave a little,
fillers that run on behind the pieces over clusters of neighbouring gaps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from composer.body.surface import Surface
from composer.filler.kinds import kind

if TYPE_CHECKING:
    from composer.compose.gaps import Gap, Survey

MOST_TURN, MOST_MM = 0.85, 210.0
"""What one filler may span, so that its chart stays true: turns round the limb, mm along it."""


@dataclass(frozen=True)
class Zone:
    """A zone across the limb: up to which share of its length (from the far end) it reaches, the
    kind and way, and what it wishes. `front`: zones with more lie before those with less. `dark`: its darkness as a
    share of the hand's, before it falls off away from focal pieces (`zone_dark`)."""

    until: float
    kind: str
    way: str
    size: float = 1.0
    density: float = 0.6
    front: int = 1
    dark: float = 1.0


@dataclass(frozen=True)
class Ring:
    """A band right round the limb at a share of its length, how its tiles are drawn, how wide it may be."""

    at: float
    way: str
    wide_mm: float
    size: float = 1.0

    def goal(self, limb: Surface) -> dict[str, Any]:
        """All open skin under it, as a stroke of the brush (see `painted`)."""
        s = round(limb.s_min + self.at * (limb.s_max - limb.s_min), 1)
        return {"brush": [[round(float(u), 4), s] for u in np.linspace(-0.5, 0.5, 25)], "width_mm": self.wide_mm,
                "closes": True}


@dataclass(frozen=True)
class Theme:
    """A whole sleeve's background: zones from the far end up, and the kind of single accents that
    the strongest ties get: `accent`, how many, the way they are drawn (the kind's first when it is empty).
    `rings`: bands that go right round, before all zones."""

    name: str
    title: str
    about: str
    zones: tuple[Zone, ...]
    accent: str | None = None
    accents: int = 0
    accent_way: str = ""
    rings: tuple[Ring, ...] = ()


THEMES: dict[str, Theme] = {t.name: t for t in (
    Theme("storm", "Storm coming in", "Heaped clouds above, wind driven between them, one bolt where it ties best.", (
        Zone(0.24, "cloud", "bank", 1.0, 0.7, 3, 1.1), Zone(0.42, "wind", "bars", 1.0, 0.75, 1, 0.8),
        Zone(0.72, "cloud", "bank", 1.15, 0.75, 2, 1.3), Zone(1.0, "cloud", "tall", 1.15, 0.75, 1, 1.05)),
        "lightning", 1),
    Theme("fair", "Fair weather", "Low banks and long wisps, with much open skin and soft wind between.", (
        Zone(0.3, "cloud", "wisp", 1.2, 0.6, 2, 0.85), Zone(0.52, "wind", "streamers", 1.1, 0.45, 1, 0.6),
        Zone(0.8, "cloud", "bank", 1.15, 0.5, 2, 0.9), Zone(1.0, "cloud", "wisp", 1.2, 0.6, 1, 0.65))),
    Theme("bank", "Banks from cuff to shoulder", "One bank of cloud after the other, the quiet classic.", (
        Zone(0.34, "cloud", "bank", 1.0, 0.72, 3, 1.2), Zone(0.68, "cloud", "bank", 1.12, 0.72, 2, 1.0),
        Zone(1.0, "cloud", "bank", 1.2, 0.72, 1, 0.8))),
    Theme("gale", "Wind all the way", "Long bars round the limb, a low bank at the far end and one at the top.", (
        Zone(0.2, "cloud", "bank", 0.95, 0.65, 2, 1.2), Zone(0.8, "wind", "sweep", 1.0, 0.75, 1, 0.8),
        Zone(1.0, "cloud", "bank", 1.15, 0.65, 2, 1.05))),
    Theme("water", "Water rising", "Waves at the far end, mist over them, wind above.", (
        Zone(0.42, "waves", "breaking", 1.0, 0.7, 3, 1.15), Zone(0.6, "stipple", "banks", 1.15, 0.6, 2, 0.7),
        Zone(1.0, "wind", "bars", 1.1, 0.6, 1, 0.9))),
    Theme("smoke", "Smoke and sparks", "Smoke from the far end up, thinning into mist, sparks where it ties best.", (
        Zone(0.46, "smoke", "plume", 1.0, 0.65, 3, 1.2), Zone(0.62, "stipple", "banks", 1.2, 0.55, 1, 0.7),
        Zone(1.0, "smoke", "curling", 1.1, 0.55, 2, 0.95)), "scatter", 3, "sparks"),
    Theme("grove", "Wind in the leaves", "Wind round the limb, mist at both ends, branches where it ties best.", (
        Zone(0.2, "stipple", "fall", 1.2, 0.55, 1, 0.8), Zone(0.84, "wind", "streamers", 1.1, 0.6, 2, 1.0),
        Zone(1.0, "stipple", "fall", 1.2, 0.55, 1, 0.75)), "leaves", 4, "branch"),
    Theme("rings", "Bands and mist", "Bands of tiles right round the far end and the top, mist between.", (
        Zone(0.5, "stipple", "banks", 1.2, 0.6, 2, 1.05), Zone(1.0, "stipple", "banks", 1.2, 0.6, 1, 0.75)),
        rings=(Ring(0.045, "lozenge", 26.0), Ring(0.125, "stepped", 26.0), Ring(0.95, "scallop", 27.0, 1.1))),
    Theme("scroll", "Scrollwork", "Scrolls in every gap, tied from piece to piece.", (Zone(1.0, "filigree", "free"),)),
)}
"""Themes by name; the names are our own. Their darkness: what is heavy in itself (banks, waves, smoke) carries it,
deepest where the theme has its weight, wind and mist between rest the eye; from there `zone_dark` goes on."""


def theme(name: str) -> Theme:
    """The theme of that name. Raises ValueError with the sentence to show."""
    if name not in THEMES:
        raise ValueError(f"There is no theme called '{name}'; choose {', '.join(THEMES)}.")
    return THEMES[name]


@dataclass(frozen=True)
class Cluster:
    """Gaps that one filler covers, in one zone."""

    zone: Zone
    gaps: tuple[Gap, ...]


def share_along(limb: Surface, gap: Gap, phase: float) -> float:
    """How far up the limb a gap lies, 0..1, with the zones' borders waving round the limb."""
    s = (gap.centre[1] - limb.s_min) / (limb.s_max - limb.s_min)
    return float(s + 0.05 * np.sin(2 * np.pi * (gap.centre[0] + phase)))


def plan_zones(survey: Survey, gaps: Sequence[Gap], zones: Sequence[Zone], phase: float) -> list[Cluster]:
    """Every gap in one cluster: by zone, then by nearness, within MOST_TURN and MOST_MM; of a kind that does not
    drift each gap has its own."""
    limb = survey.scene.limb
    sorted_: dict[int, list[Gap]] = {}
    for g in gaps:
        share = share_along(limb, g, phase)
        i = next((k for k, z in enumerate(zones) if share <= z.until), len(zones) - 1)
        sorted_.setdefault(i, []).append(g)
    out = []
    for i in sorted(sorted_):
        drifts = kind(zones[i].kind).drifts
        for group in clusters(limb, sorted_[i]) if drifts else [[g] for g in sorted_[i]]:
            out.append(Cluster(zones[i], tuple(group)))
    return out


def clusters(limb: Surface, gaps: list[Gap]) -> list[list[Gap]]:
    """Gaps grown together from the largest on, each time with the nearest that still fits. A ring
    of gaps right round the limb becomes two or more halves of about one size."""
    left = sorted(gaps, key=lambda g: (-g.area_mm2, g.key))
    around = sum(float(np.ptp(g.rings[0][:, 0])) for g in left)
    most = min(MOST_TURN, max(0.56, around / max(1, np.ceil(around / MOST_TURN))))
    out = []
    while left:
        group, box = [left.pop(0)], None
        box = _box(group[0], 0.0)
        while True:
            best = None
            for g in left:
                turn = float(np.round((box[0] + box[2]) / 2 - g.centre[0]))
                wide = _union(box, _box(g, turn))
                if wide[2] - wide[0] > most or wide[3] - wide[1] > MOST_MM:
                    continue
                far = min(_apart(limb, g, turn, h) for h in group)
                if best is None or far < best[0]:
                    best = (far, g, wide)
            if best is None or best[0] > 130.0:
                break
            group.append(best[1])
            left.remove(best[1])
            box = best[2]
        out.append(group)
    return out


def _box(gap: Gap, turn: float) -> tuple[float, float, float, float]:
    r = gap.rings[0]
    return float(r[:, 0].min() + turn), float(r[:, 1].min()), float(r[:, 0].max() + turn), float(r[:, 1].max())


def _union(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, float, float, float]:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


def _apart(limb: Surface, g: Gap, turn: float, h: Gap) -> float:
    du = g.centre[0] + turn - h.centre[0]
    du -= np.round(du)
    return float(np.hypot(du * limb.girth((g.centre[1] + h.centre[1]) / 2), g.centre[1] - h.centre[1]))
