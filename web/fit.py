"""Readings of fit as the desk shows them: of the piece that is selected, worst first."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from composer.body.distort import past_the_ends
from composer.body.limb import Limb
from composer.body.motion import WHEN, folding, is_known, poses_of, strain, ways_of
from composer.body.panel import Panel
from composer.body.selfmeet import self_meeting
from composer.body.units import format_length
from composer.compose.fit_limits import Limits, limits_of
from composer.compose.fit_readings import LEVELS, Mark, PieceFit, fit_part, fit_piece
from composer.compose.words import capital
from composer.plan.errors import StepError
from composer.plan.flexed import flexed_of
from composer.plan.scene import Laid
from composer.store.store import Kept
from web.desk import Desk, View

log = logging.getLogger("sleevewright.web")

TITLES = {"stretch": "Paper on skin", "flex": "Skin in motion", "seen": "Seen at one look", "tilt": "Lean",
          "facing": "Looks", "joints": "Joint lines", "bone": "Over bone", "lines": "Gaps between lines",
          "break": "Skin break", "size": "Size", "flat": "Stencil"}
FOLDS = 0.10
"""From so much of a piece in a fold no stretch is told for it."""
LEVEL_WORDS = {"": "well", "warn": "look again", "strong": "trouble"}


@dataclass(frozen=True)
class Row:
    """A reading as it stands on the screen: `number` with its unit ('' where there is none)."""

    name: str
    title: str
    number: str
    level: str
    sentence: str

    @property
    def word(self) -> str:
        return LEVEL_WORDS[self.level]


@dataclass(frozen=True)
class PoseRow:
    """What one pose does to the skin (relaxed: to the paper) under a piece: `value` the worst, signed, `folds` the
    share of it where skin folds, `words` the sentence; `worst` marks the pose that the readings take."""

    pose: str
    value: float
    folds: float
    words: str
    worst: bool

    @property
    def number(self) -> str:
        return "folds" if self.folds >= FOLDS else signed(self.value)


@dataclass(frozen=True)
class Shown:
    """The readings of one piece: rows worth a look (worst first), rows that are well, the poses (none where
    they are not known), and `notes`, sentences beside the readings."""

    bad: tuple[Row, ...]
    good: tuple[Row, ...]
    poses: tuple[PoseRow, ...]
    notes: tuple[str, ...]
    fit: PieceFit


def signed(share: float) -> str:
    """A strain for reading: '+7%', '−31%', '0%'."""
    pc = round(100 * share)
    return f"+{pc}%" if pc > 0 else f"\u2212{-pc}%" if pc < 0 else "0%"


def number_of(mark: Mark, unit: str) -> str:
    """The number of a mark with its unit, as short as can be; '' where there is none."""
    v = mark.value
    if v is None or mark.name == "facing":
        return ""
    if not np.isfinite(v):
        return "no cone"
    if mark.name in ("stretch", "flex"):
        return signed(v)
    if mark.unit == "%":
        return f"{100 * v:.0f}%"
    if mark.unit == "deg":
        return f"{abs(v):.0f}\u00b0"
    return format_length(v, unit) if mark.name == "size" else f"{v:.1f} mm"


def rows_of(fit: PieceFit, unit: str) -> tuple[tuple[Row, ...], tuple[Row, ...]]:
    """Rows worth a look, the worst first, and rows that are well."""
    rows = [Row(m.name, TITLES[m.name], number_of(m, unit), m.level, m.sentence) for m in fit.marks]
    bad = sorted((r for r in rows if r.level), key=lambda r: -LEVELS.index(r.level))
    return tuple(bad), tuple(r for r in rows if not r.level)


def options_of(kept: Kept, view: View) -> dict[str, Any]:
    """What the readings of a part hang on besides where its pieces lie."""
    settings = kept.plan.settings
    return {"limits": limits_of(settings), "skin_break_mm": settings.skin_break_mm, "unit": settings.unit,
            "zones": kept.plan.part(view.part).extra.get("zones"), "flexed_mm": flexed_of(kept.plan.part(view.part))}


def side_files(desk: Desk, view: View) -> dict[str, Mapping[str, Any]]:
    """The motifs' side files by piece id, where a piece has one."""
    known = {m.id: m.side for m in desk.store.shelf()}
    return {la.piece.id: known[la.piece.motif] for la in view.scene.laid if la.piece.motif in known}


def of_piece(desk: Desk, kept: Kept, view: View, piece_id: str) -> Shown:
    """Readings of one piece. Raises StepError with a sentence."""
    laid = view.laid(piece_id)
    if laid is None or laid.piece.is_filler:
        raise StepError("This piece is no longer here; it may have been deleted in another window.")

    def make() -> Shown:
        sides = side_files(desk, view)
        desk.gaps.ready(laid.piece.art, desk.store.shown)
        fit = fit_piece(view.scene, piece_id, sides=sides, **options_of(kept, view))
        bad, good = rows_of(fit, kept.plan.settings.unit)
        return Shown(bad, good, pose_rows(view, laid, fit), _notes(view, laid, kept), fit)

    return desk.once(("fit", kept.plan.id, kept.revision, view.part, piece_id), make)


def of_part(desk: Desk, kept: Kept, view: View) -> tuple[PieceFit, ...]:
    """Readings of every main piece of the part, back to front."""
    def make() -> tuple[PieceFit, ...]:
        for la in view.scene.laid:
            if not la.piece.is_filler:
                desk.gaps.ready(la.piece.art, desk.store.shown)
        return fit_part(view.scene, side_files(desk, view), **options_of(kept, view))
    return desk.once(("fit part", kept.plan.id, kept.revision, view.part), make)


def limb_of(view: View) -> Limb:
    """The part's limb. Raises StepError on chest and back."""
    if not isinstance(view.limb, Limb):
        raise StepError("This is known for arms and legs only.")
    return view.limb


def has_poses(view: View) -> bool:
    """Whether the zones and the motion of this part are known."""
    return is_known(view.limb, view.part)


def pose_rows(view: View, laid: Laid, fit: PieceFit) -> tuple[PoseRow, ...]:
    """What each pose does under a piece; nothing where poses are not known."""
    if not has_poses(view) or fit.facts.flex is None:
        return ()
    samples = fit.facts.samples
    us = laid.patch.to_skin(np.concatenate([samples.inner, samples.edge[::5]]))
    inner = np.arange(len(us)) < len(samples.inner)
    if isinstance(view.limb, Panel):
        within = view.limb.inside(us) if view.limb.inside(us)[inner].any() else np.ones(len(us), bool)
        us, inner = us[within], inner[within]
    else:
        us[:, 1] = us[:, 1].clip(view.limb.s_min, view.limb.s_max)
    least, most = fit.facts.stretch
    paper = (most - 1 if most - 1 >= 1 - least else least - 1) if np.isfinite(most) else 1.0
    found = [("relaxed", float(paper), 0.0, f"Relaxed, paper and skin differ by {100 * abs(paper):.0f}% at most.")]
    for pose in poses_of(view.part)[1:]:
        told = strain(view.limb, view.part, us, pose, flexed_of(view.plan.part(view.part)))
        folds = float(folding(view.limb, view.part, us[inner], pose).mean())
        each = np.nan_to_num(told, nan=0.0)
        i, k = np.unravel_index(int(np.abs(each).argmax()), each.shape)
        v = float(each[i, k])
        level = min(view.limb.levels, key=lambda lv: abs(lv.s_mm - us[i, 1])).name
        near = f", most near the {level}" if view.limb.closed else ""
        head = capital(WHEN[pose].removeprefix("when "))
        words = f"{head}, skin under it " + (
            "hardly changes." if abs(v) < 0.005 else f"{'stretches' if v > 0 else 'shrinks'} by up to "
            f"{100 * abs(v):.0f}% {ways_of(view.part)[k]}{near}.")
        if folds >= FOLDS:
            words = f"{head}, skin folds under {100 * folds:.0f}% of it."
        found.append((pose, v, folds, words))
    worst = max(range(len(found)), key=lambda n: (found[n][2] >= FOLDS, abs(found[n][1])))
    return tuple(PoseRow(*f, n == worst) for n, f in enumerate(found))


def _notes(view: View, laid: Laid, kept: Kept) -> tuple[str, ...]:
    """Past the ends, and meeting itself behind the limb."""
    if not view.limb.closed:
        return ()
    settings = kept.plan.settings
    said = (past_the_ends(view.limb, np.concatenate(laid.rings), settings.unit),
            self_meeting(view.limb, laid.patch, laid.flat.silhouette, settings.skin_break_mm,
                         settings.unit).sentence)
    return tuple(s for s in said if s)


__all__ = ["Limits", "PoseRow", "Row", "Shown", "has_poses", "number_of", "of_part", "of_piece", "options_of",
           "pose_rows", "rows_of", "side_files", "signed"]
