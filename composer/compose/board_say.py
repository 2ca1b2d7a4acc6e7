"""The board in words. Rules of thumb are common practice, no published source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from composer.body.units import format_area
from composer.compose.fit_limits import Limits
from composer.compose.fit_seen import say_view
from composer.compose.words import both, capital, whole_percents

if TYPE_CHECKING:
    from composer.compose.board import Board

THIRDS = 0.15
"""Balance by thirds of black, middle tones and open skin: from so far off a third it is said."""


def _list(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def say_board(b: Board, names: Mapping[str, str], limits: Limits, any_focal: bool,
              unit: str = "cm") -> dict[str, tuple[str, ...]]:
    """All sentences of a board by what they are about, the plain figures first."""
    told = {"cover": _cover(b, limits, unit), "tones": _tones(b, limits), "focus": _focus(b, names, any_focal),
            "flow": _flow(b, names), "contrast": _contrast(b, names, limits)}
    return {topic: tuple(words) for topic, words in told.items()}


def _cover(b: Board, limits: Limits, unit: str) -> list[str]:
    w = b.whole
    sparse = 0 < w.pieces < limits.cover_low
    hint = ("; that is sparse for a sleeve, and background alone will have to hold it" if sparse else
            "; that leaves little room for background" if w.pieces > limits.cover_high else "")
    pieces, background, bare = whole_percents([w.pieces, w.background, w.bare])
    return [f"Pieces take up {pieces}% of the {format_area(b.area_mm2, unit)} of skin, background {background}%, "
            f"{bare}% is bare{hint}."]


def _tones(b: Board, limits: Limits) -> list[str]:
    t = b.whole.tones
    if not any(t.values()):
        return []
    words = ", ".join(f"{100 * t[k]:.0f}% {'open skin' if k == 'open' else k}" for k in t)
    thirds = {"black": t["black"], "middle tones": t["dark"] + t["mid"] + t["light"], "open skin": t["open"]}
    off = [f"{'much' if v > 1 / 3 else 'little'} {k}" for k, v in thirds.items() if abs(v - 1 / 3) > THIRDS]
    out = [f"Tones of what is drawn: {words}" + (f"; by thirds that is {_list(off)}." if off else
                                                 "; black, middle tones and open skin are near a third each.")]
    heavy = {n: s.tones["black"] + s.tones["dark"] for n, s in b.views.items() if any(s.tones.values())}
    if len(heavy) > 1:
        most, least = max(heavy, key=lambda n: heavy[n]), min(heavy, key=lambda n: heavy[n])
        if heavy[most] - heavy[least] >= limits.heavy_apart:
            out.append(f"{capital(say_view(most))} is the heaviest ({100 * heavy[most]:.0f}% black and dark), "
                       f"{say_view(least)} the lightest ({100 * heavy[least]:.0f}%).")
    return out


def _focus(b: Board, names: Mapping[str, str], any_focal: bool) -> list[str]:
    if not b.focus or not any_focal:
        return []
    out = []
    none = [n for n, f in b.focus.items() if not f.pieces]
    if none:
        out.append(f"No main piece shows on {_list([say_view(n) for n in none])}.")
    for name, f in b.focus.items():
        if len(f.pieces) > 1 and f.seen_mm2[1] > 0.8 * f.seen_mm2[0]:
            rivals = [i for i, a in zip(f.pieces, f.seen_mm2, strict=True) if a > 0.8 * f.seen_mm2[0]]
            out.append(f"On {say_view(name)} {_list([names[i] for i in rivals])} show alike in size and compete; let "
                       "one lead.")
        elif f.pieces:
            out.append(f"On {say_view(name)} {names[f.pieces[0]]} leads.")
    return out


def _flow(b: Board, names: Mapping[str, str]) -> list[str]:
    if b.flow is None:
        return []
    said = f"The flow runs along the ties to {100 * b.flow:.0f}%"
    if not b.broken:
        return [f"{said}; it is broken nowhere."]
    pairs = [f"between {both(names.get(x, x), names.get(y, y))}" for x, y in b.broken[:2]]
    return [f"{said}; it is broken most {_list(pairs)}, where background has to turn."]


def _contrast(b: Board, names: Mapping[str, str], limits: Limits) -> list[str]:
    if b.contrast is None:
        return []
    weak = [c for c in b.contrasts if c.apart < limits.contrast_low]
    said = f"Neighbours differ by {100 * b.contrast:.0f}% in black and dark on average"
    if not weak:
        return [f"{said}; each stands out from the next."]
    c = weak[0]
    return [f"{said}; {len(weak)} of {len(b.contrasts)} pairs hardly differ, least of all "
            f"{both(names[c.a], names[c.b])}: set them apart by tone or by the background between them."]
