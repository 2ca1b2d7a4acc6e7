"""The board of a part: cover, tones, main pieces, flow and contrast, and what of its pieces needs a look."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

from composer.art.tone_shares import TONES, tones_of
from composer.compose.board import Board, Share, board
from composer.compose.fit_limits import KEY, LimitError, Limits, limits_from, limits_of
from composer.compose.fit_readings import LEVELS, PieceFit
from composer.compose.words import names_of, whole_percents
from composer.compose.work_time import hours_said, work_of
from composer.plan.errors import StepError
from composer.plan.extents import KEY as EXTENT
from composer.plan.extents import extent_of
from composer.plan.model import Plan
from composer.plan.scene import Laid
from composer.store.store import Kept
from web import findings, fit, sleeve
from web.desk import Desk, View

TONE_WORDS = {"black": "Black", "dark": "Dark", "mid": "Mid", "light": "Light", "open": "Open skin"}
SIDE_WORDS = {"front": "Front", "outer": "Outer side", "back": "Back", "inner": "Inner side",
              "left side": "Client's left", "right side": "Client's right"}


@dataclass(frozen=True)
class ToneRow:
    """Tones of the whole part or of one side: percent by tone, rounded so that they add up to 100."""

    name: str
    percent: dict[str, int]
    inked: bool


@dataclass(frozen=True)
class Leads:
    """A focal piece on a side, with cm2 of it that shows; `rival`: another shows nearly as much."""

    title: str
    cm2: int
    rival: bool


@dataclass(frozen=True)
class Pair:
    """Two neighbours that differ by `percent` in black and dark."""

    names: str
    percent: int
    weak: bool


FIRST = 5
"""So many pieces to look at are shown at once; the others are folded away below them."""


@dataclass(frozen=True)
class PieceRow:
    """A piece and what of it needs a look, worst first."""

    id: str
    title: str
    level: str
    words: str


@dataclass(frozen=True)
class Threshold:
    """A threshold as the artist sees it: in percent, mm or degrees; `changed` for this plan."""

    name: str
    title: str
    value: str
    unit: str
    changed: bool


def of(desk: Desk, kept: Kept, view: View) -> Board:
    """The board of the part as it lies. Raises LimitError."""
    def make() -> Board:
        sides = fit.side_files(desk, view)
        scene = sleeve.scene_of(view) if view.scene.run_in else view.scene
        tones = {la.piece.id: _tones(desk, la) for la in view.scene.laid if la.piece.id not in sides}
        part = view.plan.part(view.part)
        extent = extent_of(part) if view.limb.closed and EXTENT in part.extra else None
        return board(scene, tones, sides, findings.of(desk, kept, view).survey, extent,
                     limits_of(kept.plan.settings), view.part, kept.plan.settings.unit)
    return desk.once(("board", kept.plan.id, kept.revision, view.part), make)


def _tones(desk: Desk, laid: Laid) -> dict[str, float]:
    digest = laid.piece.art
    return desk.once(("tones", digest), lambda: tones_of(desk.store.shown[digest]))


def context(desk: Desk, kept: Kept, view: View) -> dict[str, Any]:
    """What the board's page shows."""
    b = of(desk, kept, view)
    limits = limits_of(kept.plan.settings)
    titles = {la.piece.id: la.piece.title for la in view.scene.laid if not la.piece.is_filler}
    rows = [_row("Whole", b.whole), *(_row(SIDE_WORDS[n], s) for n, s in b.views.items())]
    leads = {SIDE_WORDS[n]: [Leads(titles.get(i, "?"), round(a / 100), k > 0 and a > 0.8 * f.seen_mm2[0])
                             for k, (i, a) in enumerate(zip(f.pieces, f.seen_mm2, strict=True))]
             for n, f in b.focus.items()}
    short = names_of(titles)
    pairs = [Pair(f"{_cap(short[c.a])} and {short[c.b]}", round(100 * c.apart), c.apart < limits.contrast_low)
             for c in b.contrasts]
    fits = [f for f in fit.of_part(desk, kept, view) if f.piece_id not in b.outside]
    bad, narrow = look_first(fits, kept.plan.settings.unit), narrow_first(fits)
    return {"b": b, "rows": rows, "leads": leads, "pairs": pairs, "bad": bad[:FIRST], "more_bad": bad[FIRST:],
            "narrow": narrow, "narrow_said": say_narrow(fits, limits), "fits": len(fits),
            "tied": tied(desk, kept, view, b), "outside": len(b.outside),
            "limits": limits, "cover": whole_percents([b.whole.pieces, b.whole.background, b.whole.bare]),
            "tone_words": TONE_WORDS, "fields": limit_fields(kept.plan),
            "hours": _hours(desk, view, b, limits.own_pace)}


def _hours(desk: Desk, view: View, b: Board, pace: float) -> str:
    """How long the needle is at work on what shows of the part, colours packed, without what is healed; '' where
    nothing does."""
    total = 0.0
    inks = {m.digest: m.side["colours"] for m in desk.store.shelf() if isinstance(m.side.get("colours"), dict)}
    for la in view.scene.laid:
        drawing = desk.store.shown[la.piece.art]
        if la.piece.state == "healed" or not la.piece.scale:
            continue
        work = desk.once(("work", la.piece.art), lambda la=la, d=drawing: work_of(d, _tones(desk, la),
                                                                                          inks.get(la.piece.art)))
        large = work.larger(abs(la.piece.scale))
        whole = drawing.outline.area * la.piece.scale**2
        total += large.hours * min(1.0, b.seen_mm2.get(la.piece.id, 0.0) / max(whole, 1e-9))
    return hours_said(total, pace) if total > 0 else ""


def _cap(words: str) -> str:
    return words[:1].upper() + words[1:]


def _row(name: str, share: Share) -> ToneRow:
    got = whole_percents([share.tones[t] for t in TONES])
    return ToneRow(name, dict(zip(TONES, got, strict=True)), any(got))


def look_first(fits: Sequence[PieceFit], unit: str) -> list[PieceRow]:
    """Pieces with something to look at besides gaps between lines, which nearly every detailed drawing has: those with
    the most trouble first, then by how much else there is."""
    found = []
    for f in fits:
        bad = sorted((m for m in f.marks if m.level and m.name != "lines"), key=lambda m: -LEVELS.index(m.level))
        if bad:
            words = ", ".join("looks away" if m.name == "facing" else
                              "stencil stretched on" if m.name == "flat" and not m.value else
                              f"{fit.TITLES[m.name].lower()} {fit.number_of(m, unit)}".strip() for m in bad)
            found.append((sum(m.level == "strong" for m in bad), len(bad),
                          PieceRow(f.piece_id, f.title, bad[0].level, words)))
    return [row for *_, row in sorted(found, key=lambda x: (-x[0], -x[1]))]


def narrow_first(fits: Sequence[PieceFit]) -> list[PieceRow]:
    """Pieces whose gaps between lines are narrow, trouble first, then the narrowest."""
    found = [(f, f.mark("lines")) for f in fits if f.mark("lines").level]
    found.sort(key=lambda x: (-LEVELS.index(x[1].level), x[1].value))
    return [PieceRow(f.piece_id, f.title, m.level, f"as near as {m.value:.1f} mm") for f, m in found]


def say_narrow(fits: Sequence[PieceFit], limits: Limits) -> str:
    """How many pieces have narrow gaps between their lines, '' where none has."""
    levels = [m.level for f in fits if (m := f.mark("lines")).level]
    if not levels:
        return ""
    strong = levels.count("strong")
    soft = len(levels) - strong
    of = "in the piece" if len(fits) == 1 else f"in {strong or soft} of {len(fits)} pieces"
    told = [f"{of} many gaps are under {limits.gap_strong_mm:g} mm and close as the tattoo ages"] * (strong > 0)
    told += [f"{f'in {soft} more' if strong else of} they are narrow but drawn to be seen as tone, or may close "
             "late"] * (soft > 0)
    return f"Gaps between lines: {'; '.join(told)}."


def tied(desk: Desk, kept: Kept, view: View, b: Board) -> str:
    """What of the bare skin is gaps without background, and what the rest of it is."""
    gaps = findings.of(desk, kept, view).gaps
    if not gaps or b.whole.bare <= 0:
        return ""
    rest = "the skin break round what lies in front and the skin between lines of background"
    free = [g for g in gaps if not g.filled]
    if not free:
        return f"All {len(gaps)} gaps are tied in; what is bare is {rest}." if len(gaps) > 1 else \
            f"The one gap is tied in; what is bare is {rest}."
    share = min(b.whole.bare, sum(g.area_mm2 for g in free) / max(b.area_mm2, 1e-9))
    where = f"{len(free)} of {len(gaps)} gaps that {'is' if len(free) == 1 else 'are'} not tied in"
    return f"Of the bare skin {100 * share / b.whole.bare:.0f}% lies in {where}; the rest is {rest}."


LIMIT_TITLES = {
    "stretch_warn": "Paper off the skin: look again from", "stretch_strong": "Paper off the skin: trouble from",
    "slit_share": "Slits help up to this share of a piece",
    "flex_warn": "Skin in motion: look again from", "flex_strong": "Skin in motion: trouble from",
    "fold_share": "Share of a piece in a fold", "visible_low": "Seen at one look: look again under",
    "visible_poor": "Seen at one look: trouble under", "tilt_warn_deg": "Lean: look again from",
    "tilt_strong_deg": "Lean: trouble from", "joint_mm": "Past a joint line", "bone_warn": "Over bone: look again from",
    "bone_strong": "Over bone: trouble from", "gap_warn_mm": "Gap between lines: look again under",
    "gap_strong_mm": "Gap between lines: trouble under", "gap_run_mm": "Run of narrow gap that counts",
    "gap_share": "Share of narrow gap that counts", "focal_share": "A main piece counts when so much shows",
    "contrast_low": "Neighbours differ too little under", "near_mm": "Neighbours are nearer than",
    "heavy_apart": "One side is heavier from", "cover_low": "Cover is sparse under", "cover_high": "Cover is full from",
    "own_pace": "Your own pace at the needle",
}


def _unit(name: str) -> str:
    return {"mm": "mm", "deg": "degrees"}.get(name.rsplit("_", 1)[-1], "%")


def limit_fields(plan: Plan) -> list[Threshold]:
    """The thresholds in the order of Limits."""
    now, usual = limits_of(plan.settings), Limits()
    out = []
    for f in fields(Limits):
        value, unit = getattr(now, f.name), _unit(f.name)
        out.append(Threshold(f.name, LIMIT_TITLES[f.name], f"{value * 100 if unit == '%' else value:.6g}", unit,
                          value != getattr(usual, f.name)))
    return out


def with_limit(plan: Plan, name: str, text: str) -> dict[str, Any]:
    """The step that sets a threshold as typed; '' takes it back to the usual. Raises StepError with a sentence."""
    kept = dict(plan.settings.extra.get(KEY) or {})
    if name not in LIMIT_TITLES:
        raise StepError(f"There is no threshold called '{name[:40]}'.")
    typed = text.replace(",", ".").replace("%", "").replace("mm", "").replace("degrees", "").strip()
    if not typed:
        kept.pop(name, None)
    else:
        try:
            value = float(typed)
        except ValueError as err:
            raise StepError(f"'{text[:20]}' is no number; write it in {_unit(name)}, such as 10.") from err
        kept[name] = value / 100 if _unit(name) == "%" else value
    try:
        limits_from(kept)
    except LimitError as err:
        raise StepError(str(err)) from err
    return {"do": "settings", "set": {KEY: kept}}
