"""Does a piece read where it lies? Every reading as a number and one sentence with the reason.

Advice, not law: thresholds are in `composer.compose.fit_limits` and can be changed for a plan.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from composer.body.limb import Limb
from composer.compose.fit_facts import Client, Facts, client_of, facts_of
from composer.compose.fit_limits import Limits
from composer.compose.fit_near import clearances
from composer.compose.fit_say import (
    Mark,
    say_bone,
    say_break,
    say_facing,
    say_flat,
    say_flex,
    say_joints,
    say_lines,
    say_seen,
    say_size,
    say_stretch,
    say_tilt,
)
from composer.compose.words import border_titles, capital, names_of
from composer.plan.errors import NotThereError
from composer.plan.scene import Laid, Scene

REACH_MM = 60.0
NAMES = ("stretch", "flex", "seen", "tilt", "facing", "joints", "bone", "lines", "break", "size", "flat")
"""The readings of a piece in the order in which they stand."""

LEVELS = ("", "warn", "strong")


@dataclass(frozen=True)
class PieceFit:
    """All readings of one piece. `marks` by name in the order of NAMES; `facts` the numbers behind
    them; `nearest` (piece id, clearance mm) or None; `over` ids that it lies over or under."""

    piece_id: str
    title: str
    marks: tuple[Mark, ...]
    nearest: tuple[str, float] | None
    over: tuple[str, ...]
    facts: Facts

    def mark(self, name: str) -> Mark:
        """A reading by its name."""
        return next(m for m in self.marks if m.name == name)

    @property
    def level(self) -> str:
        """The worst level of all: '', 'warn' or 'strong'."""
        return max((m.level for m in self.marks), key=LEVELS.index)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences worth acting on, the worst first."""
        return tuple(m.sentence for m in sorted(self.marks, key=lambda m: -LEVELS.index(m.level)) if m.level)


def fit_part(scene: Scene, sides: Mapping[str, Mapping[str, Any]] | None = None, limits: Limits | None = None,
             skin_break_mm: float = 2.0, zones: Mapping[str, Any] | None = None,
             flexed_mm: Mapping[str, float] | None = None, unit: str = "cm", lines: bool = True,
             only: str | None = None) -> tuple[PieceFit, ...]:
    """Readings of every main piece of a part, back to front.

    `sides`: the motifs' side files by piece id (min_mm, max_mm, facing, upright_deg), where there is
    one. `zones`: the client's own figures (`Part.extra["zones"]`); `flexed_mm`: girths taped flexed.
    `lines` off leaves out the gaps between lines, which take 0.1 to 0.5 s the first time that a drawing
    is seen. `only`: id of the one piece to read. Raises ZoneError, FlexError; NotThereError for no such piece.
    """
    order = [x for x in scene.laid if not x.piece.is_filler]
    if only is not None and all(x.piece.id != only for x in order):
        raise NotThereError(f"There is no piece '{only}' on this part; it may have been deleted in another window.")
    if not order:
        return ()
    limits, client = limits or Limits(), client_of(zones, flexed_mm)
    names = names_of(border_titles(order[0].piece.part) | {x.piece.id: x.piece.title for x in order})
    read = [x for x in order if only in (None, x.piece.id)]
    near: dict[str, list[tuple[float, str]]] = {x.piece.id: [] for x in order}
    one = next((n for n, x in enumerate(order) if x.piece.id == only), None)
    for pair in clearances(scene.limb, order, REACH_MM, one, nearest=True):
        a, b = order[pair.a].piece.id, order[pair.b].piece.id
        near[a].append((pair.clearance_mm, b))
        near[b].append((pair.clearance_mm, a))
    rank = {x.piece.id: n for n, x in enumerate(order)}
    return tuple(_read(scene.limb, x, f, sorted(near[x.piece.id]), rank, names, (sides or {}).get(x.piece.id, {}),
                       limits, skin_break_mm, unit)
                 for x, f in zip(read, facts_of(scene.limb, read, client, lines), strict=True))


def fit_piece(scene: Scene, piece_id: str, **options: Any) -> PieceFit:
    """Readings of one piece; options as for `fit_part`. Raises NotThereError when it is not there."""
    return fit_part(scene, only=piece_id, **options)[0]


def _read(surface: Limb, laid: Laid, facts: Facts, near: list[tuple[float, str]], rank: Mapping[str, int],
          names: Mapping[str, str], side: Mapping[str, Any], limits: Limits, skin_break_mm: float,
          unit: str) -> PieceFit:
    p = laid.piece
    it = names[p.id]
    over = tuple(i for d, i in near if d == 0)
    apart = [(i, d) for d, i in near if d > 0]
    marks = (
        say_stretch(it, facts, surface, limits, unit), say_flex(it, facts, surface, p.part, limits),
        say_seen(it, facts, p.part, limits), say_tilt(it, laid, side, limits),
        say_facing(it, laid, side, facts, surface),
        say_joints(it, facts, surface, limits), say_bone(it, facts, limits),
        say_lines(it, facts, p.scale, side, limits),
        say_break(it, apart, [(names[i], rank[i] > rank[p.id]) for i in over], names, skin_break_mm),
        say_size(it, facts, side, unit), say_flat(it, facts, limits))
    return PieceFit(p.id, p.title, tuple(_capital(m) for m in marks), apart[0] if apart else None, over, facts)


def _capital(mark: Mark) -> Mark:
    return Mark(mark.name, mark.value, mark.unit, mark.level, capital(mark.sentence))


__all__ = ["LEVELS", "NAMES", "Client", "Mark", "PieceFit", "fit_part", "fit_piece"]
