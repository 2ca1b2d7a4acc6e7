"""The plan's hand as the panel shows it: the hands to choose from, their needles and a sample of each."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from functools import lru_cache

import numpy as np
import shapely
from markupsafe import Markup

from composer.art.brush import stroke
from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.filler.ground import Ground, Wish
from composer.filler.handed import in_hand
from composer.filler.hands import CALIBRATE, PRESETS, nearest, preset_of
from composer.plan.model import Hand
from web.paint.paths import path_data

WIDE_MM, HIGH_MM = 46.0, 15.0
HABITS = (("taper", "Taper"), ("dark", "Solid black and shade"), ("wobble", "Wobble"), ("corner", "Soft corners"),
          ("density", "Density"))
"""Habits with the words they are shown by."""


@dataclass(frozen=True)
class HandShown:
    """One hand: `step` is what choosing it sends, `needles` (what it draws, the line in mm, the grouping), `sample`
    an SVG of three strokes and a bent one at 1:1 (mm)."""

    name: str
    title: str
    about: str
    step: str
    needles: tuple[tuple[str, str, str], ...]
    sample: Markup


@dataclass(frozen=True)
class HandsShown:
    """All hands, the one in use ('' when it is the artist's own), its needles and habits, and the caution."""

    choices: tuple[HandShown, ...]
    current: str
    title: str
    needles: tuple[tuple[str, str, str], ...]
    habits: tuple[tuple[str, str, float], ...]
    caution: str


def of(hand: Hand) -> HandsShown:
    """What the panel needs of the plan's hand."""
    known = preset_of(hand)
    habits = tuple((name, title, float(getattr(hand, name))) for name, title in HABITS)
    return HandsShown(_choices(), known.name if known else "", known.title if known else "Your own", needles(hand),
                      habits, CALIBRATE)


@lru_cache(maxsize=1)
def _choices() -> tuple[HandShown, ...]:
    return tuple(HandShown(p.name, p.title, p.about,
                           json.dumps({"do": "hand", "hand": asdict(p.hand), "title": p.title}), needles(p.hand),
                           sample(p.hand)) for p in PRESETS.values())


def needles(hand: Hand) -> tuple[tuple[str, str, str], ...]:
    """Outline, line and fine line with their width and the round grouping that comes nearest."""
    return tuple((what, f"{mm:.2g} mm" if mm < 1 else f"{mm:.1f} mm", nearest(mm).name)
                 for what, mm in (("Outline", hand.outline_mm), ("Line", hand.line_mm), ("Fine line", hand.fine_mm)))


@lru_cache(maxsize=16)
def sample(hand: Hand) -> Markup:
    """Three strokes in the hand's widths and a bent one, in its taper, corners, wobble and tone (SVG, mm)."""
    made = in_hand(_strokes, "sample", _ground(), hand, Wish(), np.random.default_rng(4))
    assert made is not None
    shades = {"light": "var(--rule)", "line": "currentColor"}
    body = "".join(f'<path d="{path_data(la.rings)}" fill="{shades[la.role]}"/>' for la in made.layers)
    return Markup(f'<svg class="hand-sample" viewBox="0 {-HIGH_MM:g} {WIDE_MM:g} {HIGH_MM:g}" aria-hidden="true">'
                  f'<g fill-rule="evenodd" transform="scale(.01)">{body}</g></svg>')


def _ground() -> Ground:
    free = shapely.box(0, 0, WIDE_MM, HIGH_MM)
    return Ground(free, free, shapely.Polygon(), 2.0, 2.0, lambda xy: np.zeros(len(xy)))


def _strokes(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing:
    t = np.linspace(0, 1, 80)
    thin = np.clip(np.minimum(t, 1 - t) * 6, 0, 1)
    parts = []
    for y, mm in ((12.0, hand.outline_mm), (8.0, hand.line_mm), (4.4, hand.fine_mm)):
        wide = np.maximum(mm * thin, min(hand.tip_mm, mm))
        parts.append(stroke(np.column_stack([2 + 25 * t, y + 0.9 * np.sin(5 * t)]), wide))
    bend = np.array([[30, 4.5], [34, 11.5], [38, 4.5], [42, 11.5]])
    parts.append(shapely.LineString(bend).buffer(hand.outline_mm / 2, join_style="mitre"))
    rings = tuple(geometry_to_rings(shapely.union_all(parts)))
    return Drawing(rings, (Layer("line", rings),))
