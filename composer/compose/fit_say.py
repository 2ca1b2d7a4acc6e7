"""Each reading put in words: what the number is, what is behind it, what could be done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from composer.body.limb import Limb
from composer.body.motion import WHEN, ways_of
from composer.body.units import format_length
from composer.compose.fit_facts import Facts
from composer.compose.fit_limits import Limits
from composer.compose.fit_seen import looks, looks_word, say_view, tilt, views_of
from composer.plan.scene import Laid


@dataclass(frozen=True)
class Mark:
    """One reading: its name, the number (None where there is none to give) and its unit ('%' with
    the number as a share), '' / 'warn' / 'strong', and the sentence."""

    name: str
    value: float | None
    unit: str
    level: str
    sentence: str


def _level(value: float, warn: float, strong: float) -> str:
    return "strong" if value >= strong else "warn" if value >= warn else ""


def _pc(share: float) -> str:
    return f"{100 * abs(share):.0f}%"


def _nearest_level(surface: Limb, s_mm: float) -> str:
    return min(surface.levels, key=lambda lv: abs(lv.s_mm - s_mm)).name


def say_stretch(it: str, f: Facts, surface: Limb, limits: Limits, unit: str) -> Mark:
    """Stretch of paper as it wraps."""
    least, most = f.stretch
    if not np.isfinite(most):
        return Mark("stretch", float("inf"), "%", "strong",
                    f"{it} reaches past the tip of the cone that paper forms here; make it smaller.")
    worst = most - 1 if most - 1 >= 1 - least else least - 1
    level = _level(abs(worst), limits.stretch_warn, limits.stretch_strong)
    span = f"paper for {it} is {_pc(1 - least)} too wide to {_pc(most - 1)} too narrow for the skin"
    if not level:
        return Mark("stretch", worst, "%", "", f"{span}: it lies well.")
    s = f.stretch_at[1]
    do = "make it smaller or move it along" if level == "warn" else "see how the stencil lies"
    why = "the girth there departs from any cone" if surface.closed else "skin there bends both ways"
    return Mark("stretch", worst, "%", level,
                f"{span}, worst near the {_nearest_level(surface, s)} ({format_length(s, unit)} up), because {why}; "
                f"{do}.")


def say_flex(it: str, f: Facts, surface: Limb, part: str, limits: Limits) -> Mark:
    """Strain of the skin under it in the pose that is worst."""
    if f.flex is None:
        return Mark("flex", None, "%", "", f"what moving does to the skin under {it} is not known on this part.")
    k = int(np.abs(f.flex).argmax())
    value = f.flex[k]
    where = f"near the {_nearest_level(surface, f.flex_s)}" if surface.closed else \
        f"at the {f.flex_zone[:1].lower()}{f.flex_zone[1:]}"
    how = f"skin under {it} {'stretches' if value >= 0 else 'shrinks'} by up to {_pc(value)} " \
          f"{ways_of(part)[k]} {WHEN[f.flex_pose or 'relaxed']} ({where})"
    level = _level(abs(value), limits.flex_warn, limits.flex_strong)
    if f.fold_share >= limits.fold_share:
        bend = " in a bend" if surface.closed else ""
        return Mark("flex", value, "%", level or "warn", f"{how}, and {_pc(f.fold_share)} of it lies where skin "
                    f"folds{bend}; fine detail and solid black hold badly there.")
    return Mark("flex", value, "%", level, f"{how}; keep faces, lettering and straight lines clear of there."
                if level else f"{how}; that hardly shows.")


def say_seen(it: str, f: Facts, part: str, limits: Limits) -> Mark:
    """Share seen from the best single side."""
    views = views_of(part)
    share, view = f.seen[f.view], views[f.view]
    level = "strong" if share < limits.visible_poor else "warn" if share < limits.visible_low else ""
    rest = max((v, n) for n, v in zip(views, f.seen, strict=True) if n != view)
    tail = f"; the rest runs round to {say_view(rest[1])} ({_pc(rest[0])} of it shows there)" if share < 0.985 else ""
    best = say_view(view).removesuffix(" side")
    return Mark("seen", share, "%", level, f"{_pc(share)} of {it} is seen from its best side, {best}{tail}"
                + (": it can't be read at one look; move it round, set it upright or make it narrower." if level
                   else "."))


def say_tilt(it: str, laid: Laid, side: Mapping[str, Any], limits: Limits) -> Mark:
    """Lean from upright with the limb hanging."""
    p = laid.piece
    lean = float(tilt(p.turn_deg, float(side.get("upright_deg") or 0.0), p.flip))
    level = _level(abs(lean), limits.tilt_warn_deg, limits.tilt_strong_deg)
    if abs(lean) < 0.5:
        return Mark("tilt", 0.0, "deg", "", f"{it} stands upright with the limb hanging.")
    if abs(lean) > 150:
        return Mark("tilt", lean, "deg", level, f"{it} stands on its head with the limb hanging "
                    f"({abs(lean):.0f} degrees off upright); only the client, looking down, sees it upright.")
    way = "left" if lean > 0 else "right"
    return Mark("tilt", lean, "deg", level, f"{it} leans {abs(lean):.0f} degrees to the {way} with the limb hanging"
                + ("; that suits what swims or flies more than what stands." if level else "."))


def say_facing(it: str, laid: Laid, side: Mapping[str, Any], f: Facts, surface: Limb) -> Mark:
    """Which way it looks on the body."""
    p, facing = laid.piece, str(side.get("facing") or "none")
    if facing == "front":
        return Mark("facing", None, "", "", f"{it} looks straight out.")
    if facing not in ("left", "right"):
        return Mark("facing", None, "", "", f"{it} has no side that it looks to.")
    found = looks(surface, p.part, f.middle[0], facing, p.flip, p.turn_deg)
    if found is None:
        return Mark("facing", None, "", "", f"{it} looks up or down the limb.")
    value = sum(found)
    word = looks_word(*found)
    if value > -0.2:
        return Mark("facing", value, "", "", f"{it} looks {word}.")
    return Mark("facing", value, "", "warn", f"{it} looks {word}; flipped, it would look "
                f"{looks_word(-found[0], -found[1])}, as is usual (convention, not rule).")


def say_joints(it: str, f: Facts, surface: Limb, limits: Limits) -> Mark:
    """Joint lines that it runs over."""
    crossed = [(n, mm) for n, mm in f.crosses if mm >= limits.joint_mm]
    if not crossed:
        return Mark("joints", 0.0, "mm", "", f"{it} keeps clear of joint lines.")
    mm = max(c[1] for c in crossed)
    return Mark("joints", mm, "mm", "warn", f"{it} runs over the {' and the '.join(n for n, _ in crossed)} and reaches "
                f"{mm:.0f} mm past it, where skin folds and stretches; keep fine detail and faces clear of the line.")


def say_bone(it: str, f: Facts, limits: Limits) -> Mark:
    """Share of it over bone."""
    if f.bone_share is None:
        return Mark("bone", None, "%", "", f"where bone lies under {it} is not known on this part.")
    level = _level(f.bone_share, limits.bone_warn, limits.bone_strong)
    if f.bone_share < 0.005:
        return Mark("bone", 0.0, "%", "", f"{it} lies clear of bone.")
    bones = " and ".join(b[:1].lower() + b[1:] for b in f.bones)
    return Mark("bone", f.bone_share, "%", level, f"{_pc(f.bone_share)} of {it} lies over bone ({bones})"
                + ("; that hurts more and lines blow out easily: work lighter there." if level else "."))


def say_lines(it: str, f: Facts, scale: float, side: Mapping[str, Any], limits: Limits) -> Mark:
    """Narrowest gap between lines against what holds with age. A drawing that is no smaller than its natural size
    was made for narrow gaps that close into tone: that is worth a look, but no trouble."""
    if f.gaps is None:
        return Mark("lines", None, "mm", "", f"the gaps between the lines of {it} have not been measured yet.")
    value = f.gaps.narrowest(scale, limits.gap_run_mm, limits.gap_share)
    if value is None:
        return Mark("lines", None, "mm", "", f"the lines of {it} lie wide apart.")
    if value >= limits.gap_warn_mm:
        return Mark("lines", value, "mm", "", f"the lines of {it} come as near as {value:.1f} mm, which holds.")
    level = "strong" if value < limits.gap_strong_mm else "warn"
    bar = limits.gap_strong_mm if level == "strong" else limits.gap_warn_mm
    run = f.gaps.narrower(scale, bar)
    larger = bar / value
    cure = f"make it {larger:.1f} times as large or open the lines up" if larger <= 1.6 else \
        "leave lines out at this size, or see those parts as tone"
    low = side.get("min_mm")
    if level == "strong" and low and max(f.samples.size) >= low:
        level, cure = "warn", "at this size it is drawn to be seen as tone there"
        return Mark("lines", value, "mm", level, f"the lines of {it} come as near as {value:.1f} mm, and {run:.0f} mm "
                    f"of its gaps are under {bar:g} mm, which close as it ages; {cure}.")
    return Mark("lines", value, "mm", level, f"the lines of {it} come as near as {value:.1f} mm, and {run:.0f} mm of "
                f"its gaps are under {bar:g} mm, which {'' if level == 'strong' else 'may '}close as it ages; {cure}.")


def say_break(it: str, apart: Sequence[tuple[str, float]], over: Sequence[tuple[str, bool]], names: Mapping[str, str],
              skin_break_mm: float) -> Mark:
    """Clear skin to its neighbours. `over`: name and whether the other lies in front."""
    tail = "".join(f"; it lies {'behind' if front else 'in front of'} {n}" for n, front in over)
    if not apart:
        said = f"{it} overlaps its neighbours" if over else f"no piece lies beside {it} within 60 mm"
        return Mark("break", 0.0 if over else None, "mm", "", f"{said}{tail}.")
    near, d = apart[0]
    if d < skin_break_mm - 0.05:
        return Mark("break", d, "mm", "strong" if d < skin_break_mm / 2 else "warn",
                    f"{it} comes within {d:.1f} mm of {names[near]}, less than the skin break of {skin_break_mm:g} mm; "
                    f"move them apart, or let one lie clearly behind the other{tail}.")
    return Mark("break", d, "mm", "", f"{d:.1f} mm of skin lie between {it} and {names[near]}{tail}.")


def say_size(it: str, f: Facts, side: Mapping[str, Any], unit: str) -> Mark:
    """Longer side against the motif's natural range."""
    size = max(f.samples.size)
    low, high = side.get("min_mm"), side.get("max_mm")
    here = f"{it} is {format_length(size, unit)} on its longer side"
    if not low or not high:
        return Mark("size", size, "mm", "", f"{here}; its natural range is not known.")
    span = f"its natural {format_length(low, unit)} to {format_length(high, unit)}"
    if low <= size <= high:
        return Mark("size", size, "mm", "", f"{here}, within {span}.")
    small = size < low
    far = size < 0.75 * low or size > 1.33 * high
    return Mark("size", size, "mm", "strong" if far else "warn", f"{here}, {'below' if small else 'above'} {span}; "
                + ("fine lines may run together as it heals." if small else "large flat areas may look empty."))


def say_flat(it: str, f: Facts, limits: Limits) -> Mark:
    """Whether the stencil can lie flat: 'value' is the share of the piece where paper is off by the strong limit."""
    worst = max(f.stretch[1] - 1, 1 - f.stretch[0])
    off = float((f.off_by >= limits.stretch_strong).mean())
    if worst < limits.stretch_warn:
        return Mark("flat", 0.0, "%", "", f"the stencil of {it} lies flat in one piece.")
    if worst < limits.stretch_strong:
        return Mark("flat", 0.0, "%", "warn",
                    f"the stencil of {it} lies in one piece when the skin is stretched as it goes on.")
    if off <= limits.slit_share:
        return Mark("flat", off, "%", "strong", f"the stencil of {it} needs a slit where it is off by {_pc(worst)} "
                    f"({_pc(off)} of it is off by {_pc(limits.stretch_strong)} or more).")
    return Mark("flat", off, "%", "strong", f"no paper lies under {_pc(off)} of {it} ({_pc(worst)} off at most): cut "
                "it into rings, or draw that part freehand.")
