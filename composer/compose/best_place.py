"""Where a motif would lie best in the empty skin of a part: a few proposals that differ.

The tries lie on a lattice of places, sizes and turns. Those that a distance table rules out go first;
the rest are scored from the best possible on down, and only what could still be among the best is
scored in full and then checked against the outlines themselves. So what comes out is what trying
everything would find, and no proposal ever touches a piece.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np

from composer.art.drawing import Drawing
from composer.body.surface import Surface
from composer.body.units import format_length
from composer.compose.best_place_check import PanelChecker, Pose, checker
from composer.compose.best_place_field import distances, lattice_of, spots_of
from composer.compose.best_place_panel import panel_tries
from composer.compose.best_place_say import gap_at, say_place
from composer.compose.best_place_score import NAMES, scorer
from composer.compose.best_place_tries import Form, Stamp, make_pairs, open_tries, stamp_of
from composer.compose.fit_facts import client_of
from composer.compose.fit_limits import Limits
from composer.compose.fit_lines import gaps_known
from composer.compose.fit_readings import PieceFit, fit_piece
from composer.compose.gaps import Survey
from composer.plan.model import Piece
from composer.plan.scene import Scene, lay

STEP_MM = 6.0
TURNS = (0.0, -12.0, 12.0, -25.0, 25.0, -40.0, 40.0)
SIZES = 9
APART = ((55.0, 0.9), (30.0, 0.4))
"""Anchors of two proposals lie so far apart, mm, and by so much of the mean of their longer sides; the second
pair where the first leaves too few."""

_BLOCK, _MOST = 256, 8192


class NoPlace(ValueError):
    """No place was found, or none can be looked for; the message is the sentence to show."""


@dataclass(frozen=True, eq=False)
class Placement:
    """A proposal. `u` turns, `s_mm`, `turn_deg`, `scale`, `flip` as a piece has them; `score` 0..1; `losses` by
    reading name, 0 (nothing lost) to 1; `clear_mm` to the nearest piece (inf: none near); `readings` of the
    motif as it would lie; `gap` number of the gap that its anchor lies in, or None; `sentence`: the trade-off."""

    u: float
    s_mm: float
    turn_deg: float
    scale: float
    flip: bool
    score: float
    losses: Mapping[str, float]
    clear_mm: float
    readings: PieceFit
    gap: int | None
    sentence: str


def best_places(scene: Scene, survey: Survey | None, drawing: Drawing, side: Mapping[str, Any],
                size_range: tuple[float, float] | None = None, count: int = 5, *, part: str = "",
                limits: Limits | None = None, skin_break_mm: float | None = None,
                span: tuple[float, float] | None = None, turns: Sequence[float] = TURNS, sizes: int = SIZES,
                step_mm: float = STEP_MM, flips: bool = True, zones: Mapping[str, Any] | None = None,
                flexed_mm: Mapping[str, float] | None = None, unit: str = "cm") -> list[Placement]:
    """The `count` best places of a motif, best first; fewer where there is no room for more.

    `survey`: of the same scene, to name gaps (None: they are not named). `side`: the motif's side file.
    `size_range` (least, most) of its longer side, mm; its natural range by default. `part`: needed when the
    scene is empty. `span` (s from, s to): the skin of a limb to keep to, all of it by default. `flips`: whether a
    motif that looks to one side may be turned over. Raises NoPlace with a sentence.
    """
    part = part or next((x.piece.part for x in scene.laid), "left_arm")
    limits = limits or Limits()
    gap_mm = skin_break_mm if skin_break_mm is not None else survey.skin_break_mm if survey else 2.0
    stamp = stamp_of(drawing)
    forms = forms_of(stamp, side, size_range, sizes, turns, flips)
    look = checker(scene, drawing, gap_mm, span)
    judge: Judge
    if isinstance(look, PanelChecker):
        judge = tries = panel_tries(look.limb, part, stamp, forms, side, step_mm, look.skin, limits,
                                    client_of(zones, flexed_mm))
        pair, column = tries.open(look)
        us, form = tries.us[column], pair

        def is_clear(i: int, pose: Pose) -> bool:
            return (tries.rough(look, pair[i], column[i]) and look.clear(pose)
                    and look.stretch(pose) < limits.stretch_strong)
    else:
        lattice = lattice_of(look.limb, step_mm)
        field = distances(look.limb, lattice, look.bodies)
        pairs = make_pairs(look.limb, lattice, stamp, forms, gap_mm, look.span, limits.stretch_strong)
        spots = spots_of(look.limb, part, client_of(zones, flexed_mm), step_mm)
        judge = scorer(look.limb, part, dict(side), pairs, lattice, spots, forms, limits)
        pair, column = open_tries(pairs, lattice, field)
        u = column / lattice.columns        # within half a turn of the front
        us, form = np.column_stack([u - np.round(u), lattice.rows[pairs.row[pair]]]), pairs.form[pair]

        def is_clear(i: int, pose: Pose) -> bool:
            return bool(look.rough([pose], field.tree)[0]) and look.clear(pose)

    found = pick(judge, Tries(pair, column, us, form, forms), look.limb, is_clear, stamp.size_mm, count)
    titles = str(side.get("title") or "motif")
    placed = []
    for pose, losses in found:
        piece = Piece("\0new", part, drawing.digest, titles, pose.u, pose.s_mm, pose.turn_deg, pose.scale, pose.flip)
        laid = lay(scene.limb, piece, drawing)
        read = fit_piece(replace(scene, laid=(*scene.laid, laid)), piece.id, sides={piece.id: side}, limits=limits,
                         skin_break_mm=gap_mm, zones=zones, flexed_mm=flexed_mm, unit=unit, lines=gaps_known(laid))
        placed.append(Placement(pose.u, pose.s_mm, pose.turn_deg, pose.scale, pose.flip,
                                float(judge.score(losses[None])[0]), losses_by_name(losses), look.clear_mm(pose), read,
                                gap_at(survey, pose.u, pose.s_mm), ""))
    return [replace(p, sentence=say_place(p, placed, scene.limb, part, zones, unit)) for p in placed]


SMALLER, SMALL_SIZES = 0.3, 14
"""Where nothing fits, sizes from this share of the least one up are tried, so many of them."""


def smaller_places(scene: Scene, survey: Survey | None, drawing: Drawing, side: Mapping[str, Any], low_mm: float,
                   count: int, **options: Any) -> list[Placement]:
    """The best places of a motif below the size for which none was found. Options as for `best_places`."""
    return best_places(scene, survey, drawing, side, (max(5.0, SMALLER * low_mm), low_mm * 0.995), count,
                       sizes=SMALL_SIZES, **options)


def why_none(scene: Scene, drawing: Drawing, side: Mapping[str, Any], size_range: tuple[float, float] | None = None,
             unit: str = "cm", smaller: Sequence[Placement] | None = None, **options: Any) -> str:
    """What to say when `best_places` of the same motif came back empty: the largest size for which there is
    room, or that there is none. `smaller`: its `smaller_places`, six or so, where they are known. Options as for
    `best_places`."""
    stamp = stamp_of(drawing)
    low = (size_range or (float(side.get("min_mm") or 0.6 * stamp.size_mm), 0.0))[0]
    found = smaller if smaller is not None else smaller_places(scene, None, drawing, side, low, 6, unit=unit, **options)
    want = f"There is no clear place for it at {format_length(low, unit)} or more"
    if not found:
        return f"{want}, nor at a third of that; take a piece out, or let it lie behind others."
    f = max(found, key=lambda p: p.scale)
    look = checker(scene, drawing, options.get("skin_break_mm") or 2.0, options.get("span"))
    scale = f.scale
    while scale * 1.01 * stamp.size_mm < low and look.clear(Pose(f.u, f.s_mm, f.turn_deg, scale * 1.01, f.flip)):
        scale *= 1.01
    return f"{want}; the largest for which there is room is about {format_length(scale * stamp.size_mm, unit)}. "\
           "Make room, or let it lie behind others."


def losses_by_name(losses: np.ndarray) -> dict[str, float]:
    """A row of losses by name."""
    return dict(zip(NAMES, map(float, losses), strict=True))


def forms_of(stamp: Stamp, side: Mapping[str, Any], size_range: tuple[float, float] | None, sizes: int,
             turns: Sequence[float], flips: bool) -> list[Form]:
    """Every size with every turn, and turned over where the motif looks to a side. Raises NoPlace."""
    low, high = size_range or (side.get("min_mm") or 0.6 * stamp.size_mm, side.get("max_mm") or 1.6 * stamp.size_mm)
    if not (np.isfinite([low, high]).all() and 5 <= low <= high <= 2000):
        raise NoPlace(f"The size must run from a smaller to a larger one, 5 to 2000 mm, not {low:g} to {high:g} mm.")
    scales = np.geomspace(low, high, sizes if high > low * 1.001 else 1) / stamp.size_mm
    upright = float(side.get("upright_deg") or 0.0)
    over = (False, True) if flips and side.get("facing") in ("left", "right") else (False,)
    return [Form(float(k), float(t + (-upright if f else upright)), f)
            for k in scales[::-1] for t in turns for f in over]


class Judge(Protocol):
    """What scores tries, named by two indices each, (n,): by form and level, and column; or by form and anchor."""

    def bound(self, pair: np.ndarray, column: np.ndarray, /) -> np.ndarray: ...
    def losses(self, pair: np.ndarray, column: np.ndarray, /) -> np.ndarray: ...
    def score(self, losses: np.ndarray, /) -> np.ndarray: ...


@dataclass(frozen=True, eq=False)
class Tries:
    """Tries as a judge names them, `pair` and `column` (n,); their anchors `us` (n, 2), and `form` (n,) of `forms`."""

    pair: np.ndarray
    column: np.ndarray
    us: np.ndarray
    form: np.ndarray
    forms: Sequence[Form]

    def pose(self, i: int) -> Pose:
        """A try as a pose."""
        f = self.forms[self.form[i]]
        return Pose(float(self.us[i, 0]), float(self.us[i, 1]), f.turn_deg, f.scale, f.flip)

    def apart(self, limb: Surface, other: Pose, size_mm: float, rule: tuple[float, float]) -> np.ndarray:
        """Which tries (n,) `differ` from a pose."""
        scale = np.array([f.scale for f in self.forms])[self.form]
        return _apart(limb, *self.us.T, scale, other, size_mm, rule)


def pick(judge: Judge, tries: Tries, limb: Surface, is_clear: Callable[[int, Pose], bool], size_mm: float,
         count: int) -> list[tuple[Pose, np.ndarray]]:
    """The best of these tries that are clear and lie apart, first far apart, then nearer where that gives too few."""
    out: list[tuple[Pose, np.ndarray]] = []
    seen: dict[int, bool] = {}
    for rule in APART:
        left = np.ones(len(tries.pair), bool)
        for other, _ in out:
            left &= tries.apart(limb, other, size_mm, rule)
        for i, losses in in_order(judge, tries.pair, tries.column, left):
            pose = tries.pose(i)
            if i not in seen:
                seen[i] = is_clear(i, pose)
            if seen[i]:
                out.append((pose, losses))
                if len(out) == count:
                    break
                left &= tries.apart(limb, pose, size_mm, rule)
        if len(out) == count:
            break
    return sorted(out, key=lambda x: -float(judge.score(x[1][None])[0]))


def in_order(judge: Judge, pair: np.ndarray, column: np.ndarray,
             left: np.ndarray) -> Iterator[tuple[int, np.ndarray]]:
    """Tries from the best score down (ties by pair, then column): number, losses. Full scores are worked out only as
    far as the reader goes. `left` (n,): which tries are asked for; the reader may strike out more on the way."""
    bound = judge.bound(pair, column)
    order = np.lexsort((column, pair, -bound))
    waits, score, lost = np.zeros(0, int), np.zeros(0), np.zeros((0, len(NAMES)))
    block = _BLOCK
    while len(order) or len(waits):
        order = order[left[order]]
        some, order = order[:block], order[block:]
        block = min(2 * block, _MOST)
        losses = judge.losses(pair[some], column[some])
        waits = np.concatenate([waits, some])
        score, lost = np.concatenate([score, judge.score(losses)]), np.concatenate([lost, losses])
        ranked = np.lexsort((column[waits], pair[waits], -score))
        waits, score, lost = waits[ranked], score[ranked], lost[ranked]
        sure = int(np.sum(score > bound[order[0]] + 1e-12)) if len(order) else len(waits)
        for i, losses in zip(waits[:sure].tolist(), lost[:sure], strict=True):
            if left[i]:
                yield i, losses
        waits, score, lost = waits[sure:], score[sure:], lost[sure:]


def differ(limb: Surface, a: Pose, b: Pose, size_mm: float, rule: tuple[float, float]) -> bool:
    """Whether two poses of a motif whose longer side is `size_mm` lie so far apart (see APART)."""
    return bool(_apart(limb, *(np.array([v]) for v in (a.u, a.s_mm, a.scale)), b, size_mm, rule)[0])


def _apart(limb: Surface, u: np.ndarray, s_mm: np.ndarray, scale: np.ndarray, b: Pose, size_mm: float,
           rule: tuple[float, float]) -> np.ndarray:
    du = u - b.u
    mm = np.hypot((du - np.round(du)) * limb.girth((s_mm + b.s_mm) / 2), s_mm - b.s_mm)
    return mm >= np.maximum(rule[0], rule[1] * size_mm * (scale + b.scale) / 2)
