"""What a plan is: the body as taped, the pieces and fillers on it, the hand, the settings.

Everything is frozen; a change makes a new plan (see `composer.plan.steps`).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from composer.plan.errors import NotThereError

FORMAT = "sleevewright-plan"
VERSION = 1
STATES = ("healed", "planned", "freehand")
PARTS = ("left_arm", "right_arm", "left_leg", "right_leg")
PANELS = ("chest", "upper_back")
"""Parts that are no limbs (see `composer.body.panel`); a plan may have them beside PARTS."""


@dataclass(frozen=True)
class Hand:
    """How the plan is drawn: line widths in mm as they stand on skin, and the drawing habits.

    `outline_mm`, `line_mm`, `fine_mm`: the three line widths. Habits 0..1: `taper`, how far strokes
    thin out (from 0.8 on down to the fine line); `dark`, how much of a filler is solid black and
    shaded; `wobble`, how unsteady lines run; `corner`, how far sharp corners are rounded; `density`,
    how full background is (0.5: as each filler asks).
    """

    outline_mm: float = 1.0
    line_mm: float = 0.7
    fine_mm: float = 0.4
    taper: float = 0.8
    dark: float = 0.5
    wobble: float = 0.0
    corner: float = 0.0
    density: float = 0.5

    @property
    def tip_mm(self) -> float:
        """Width to which strokes thin out: the fine line with a full taper, nearer to the line the less."""
        blunt = min(max(1.0 - self.taper / 0.8, 0.0), 1.0)
        return self.fine_mm + 0.6 * blunt * max(self.line_mm - self.fine_mm, 0.0)


@dataclass(frozen=True)
class Settings:
    """Margins and looks of a plan. Lengths in mm; `unit` is what the screen shows."""

    skin_break_mm: float = 2.0
    line_gap_mm: float = 2.0
    unit: str = "cm"
    skin: str = "#f3dfcc"
    hand: Hand = field(default_factory=Hand)
    extra: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Recipe:
    """How a filler was made, so that it can be made again: the kind, the seed, the parameters (plain numbers and
    words, and under "shape" what the artist pulled, see `composer.plan.shape`) and where: `goal` is
    {"gap": [[u, s], ...] marks inside the gaps}, {"tie": [piece id, piece id]}, {"brush": [[u, s], ...] of a stroke,
    "width_mm"}, {"whole": true} or {"seam": name of the join, "share": where on it its paper hangs, "at": [u, s]}."""

    kind: str
    seed: int
    params: dict[str, Any] = field(default_factory=dict)
    goal: dict[str, Any] = field(default_factory=dict)

    @property
    def fixed(self) -> bool:
        """Whether the filler is fixed as a drawing: it is not drawn anew nor replaced, until that is taken back."""
        return bool(self.params.get("fixed"))


@dataclass(frozen=True)
class Piece:
    """A drawing placed on a part. A filler is a piece that carries its recipe.

    `u` turns, `s_mm` mm along the skin: the anchor. `turn_deg` counter-clockwise, `scale` times
    the drawing's own size, `flip` left for right. Higher `depth` lies in front. `art` is the
    digest of the drawing. `twin_of` names the piece that this one mirrors: over the line `axis_u`
    (turns) of the same part, or onto the other arm when that is None; while `linked`, a change to
    either changes both. `sitting`: the number of the sitting in which it is to be done, None where nobody said.
    """

    id: str
    part: str
    art: str
    title: str
    u: float
    s_mm: float
    turn_deg: float = 0.0
    scale: float = 1.0
    flip: bool = False
    depth: int = 0
    state: str = "planned"
    locked: bool = False
    motif: str | None = None
    recipe: Recipe | None = None
    twin_of: str | None = None
    linked: bool = False
    axis_u: float | None = None
    sitting: int | None = None
    extra: dict[str, Any] = field(default_factory=dict)

    @property
    def is_filler(self) -> bool:
        return self.recipe is not None

    @property
    def stays(self) -> bool:
        """Whether tying in anew leaves it: locked, or fixed as a drawing."""
        return self.locked or (self.recipe is not None and self.recipe.fixed)


@dataclass(frozen=True)
class Part:
    """One part as taped: measures in mm by name, and where the sheet is cut (turns)."""

    name: str
    measures: dict[str, float]
    seam_u: float = -0.5
    extra: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Plan:
    """A client's whole plan."""

    id: str
    title: str
    parts: tuple[Part, ...] = ()
    pieces: tuple[Piece, ...] = ()
    settings: Settings = field(default_factory=Settings)
    extra: dict[str, Any] = field(default_factory=dict)

    def part(self, name: str) -> Part:
        """The part of that name. Raises NotThereError (a KeyError) with the sentence to show."""
        for p in self.parts:
            if p.name == name:
                return p
        raise NotThereError(f"The plan has no part '{name}'; measure it first.")

    def piece(self, piece_id: str) -> Piece:
        """The piece of that id. Raises NotThereError (a KeyError) with the sentence to show."""
        for p in self.pieces:
            if p.id == piece_id:
                return p
        raise NotThereError(f"The plan has no piece '{piece_id}'; it may have been deleted in another window.")

    def on(self, part: str) -> tuple[Piece, ...]:
        """Pieces and fillers on a part, back to front."""
        return tuple(sorted((p for p in self.pieces if p.part == part), key=lambda p: (p.depth, p.id)))

    def with_piece(self, piece: Piece) -> Plan:
        """The plan with this piece put in the place of the one with its id, or added."""
        if any(p.id == piece.id for p in self.pieces):
            return replace(self, pieces=tuple(piece if p.id == piece.id else p for p in self.pieces))
        return replace(self, pieces=(*self.pieces, piece))
