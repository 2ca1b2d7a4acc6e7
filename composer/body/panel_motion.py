"""Chest and back in motion: arm raised, breathed in, chest flexed, blades drawn together; what each does to the skin.

Strain is (length after - length before) / length before, up the body and across it. Fields are sums of raised cosines
round places of the template (`composer.body.panel_zones.places_of`), so they follow the tapes and both sides are alike.
Slanting stretch is told by its two parts only. How far the fields reach, and whatever no source is named for here, is
ours, from memory, no published source; nothing here knows how loosely skin slides, age, scars, fat or a breast.

Arm raised. Both arms, as high as they go. Carnevale et al., Sensors 2021, 21(17), 5761, doi 10.3390/s21175761
(markers on the back of five persons; abstract): the most is across, beside the back fold of the armpit, 28% with the
arms raised sideways to 90 degrees and 53% at their highest (to the front 60 and 61%, between the two 41 and 48%).
Ours is the first row, in proportion to the angle. In front, and up along the armpit edge, shares of that from memory.
On top the shoulder shrinks: Ashizawa et al., women with the chest stretched (51, from moire pictures; abstract): the
area there is a quarter less; it creases there, so the least certain figure is beside the shoulder point.

Breathed in. Debouche et al., Journal of Manipulative and Physiological Therapeutics 2016 (53 healthy adults of 18 to
39; abstract): the tape grows from breathed out to breathed in by 54 mm at the upper level and 64 mm at the lower. It
was held at the end of a quiet breath, of which three quarters are ahead (from memory); the front takes 60% (from
memory). Above the armpits it fades towards the top.

Chest flexed, blades drawn together: no published figures found; from memory. Flexing shortens the chest's muscle across
and thickens it. Between the blades skin is pushed together and creases.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from composer.body.bends import raised
from composer.body.panel import Panel
from composer.body.panel_mirror import to_template
from composer.body.panel_zone_table import Places
from composer.body.panel_zones import places_of

POSES = {"chest": ("relaxed", "flexed", "breathed in", "arm raised"),
         "upper_back": ("relaxed", "blades together", "breathed in", "arm raised")}
ARM_DEG = 180.0
BACK_FOLD = 0.53
"""Across, beside the back fold, arm at its highest (Carnevale 2021, raised sideways)."""
FRONT_FOLD, FRONT_UP, UNDER_UP, TOP = 0.20, 0.35, 0.30, -0.25
"""Across and up at the front fold; up along the side under the armpit; across on top of the shoulder."""
UPPER_MM, LOWER_MM, AHEAD, FRONT_SHARE = 54.0, 64.0, 0.75, 0.6
"""Growth of the tape at the armpits' level and the breastbone's lower end (Debouche 2016), what of it is still ahead
at the end of a quiet breath, and the front's share of it."""
LOWER_AT = 0.068
"""The lower of the two levels, below the armpits' as a share of the chest girth (from memory)."""
FLEX_ACROSS, FLEX_UP, DRAWN, OVER_BLADE = -0.08, 0.06, -0.22, 0.08
CREASES = -0.15
"""From so much shrinking skin is taken to crease."""


def panel_strain(panel: Panel, part: str, us: np.ndarray, pose: str,
                 bend_deg: Mapping[str, float] | None = None) -> np.ndarray:
    """Strain (n, 2), up the body and across it, at skin points (n, 2) of (u, s) in one of POSES[part]. `bend_deg`:
    how far the arm is raised, {'shoulder': 0..180}. Raises ValueError with a sentence."""
    if pose not in POSES[part]:
        raise ValueError(f"'{str(pose)[:20]}' is no pose of the {part.replace('_', ' ')}; "
                         f"use {', '.join(POSES[part])}.")
    at, _ = to_template(panel, np.asarray(us, float).reshape(-1, 2))
    return _strain(places_of(panel), part, at, pose, bend_deg)


def panel_strains(panel: Panel, part: str, us: np.ndarray) -> np.ndarray:
    """The same for every pose of the part at once, (poses, n, 2)."""
    at, _ = to_template(panel, np.asarray(us, float).reshape(-1, 2))
    return np.stack([_strain(places_of(panel), part, at, pose, None) for pose in POSES[part]])


def _strain(p: Places, part: str, at: np.ndarray, pose: str, bend_deg: Mapping[str, float] | None) -> np.ndarray:
    if pose == "arm raised":
        return raised_share(bend_deg) * (_front_arm(p, at) if part == "chest" else _back_arm(p, at))
    if pose == "breathed in":
        return _breath(p, at, FRONT_SHARE if part == "chest" else 1 - FRONT_SHARE)
    if pose == "flexed":
        return _chest_flexed(p, at)
    return _blades(p, at) if pose == "blades together" else np.zeros((len(at), 2))


def panel_folding(panel: Panel, part: str, us: np.ndarray, pose: str,
                  bend_deg: Mapping[str, float] | None = None) -> np.ndarray:
    """Whether skin creases at points (n, 2) in a pose: (n,) of bool. Raises ValueError with a sentence."""
    return creases(panel_strain(panel, part, us, pose, bend_deg))


def creases(strain: np.ndarray) -> np.ndarray:
    """Whether skin creases at strains (..., n, 2): (..., n) of bool."""
    return strain.min(axis=-1, initial=0.0) < CREASES


def raised_share(bend_deg: Mapping[str, float] | None) -> float:
    """How much of a raised arm's strain there is at {'shoulder': 0..180 degrees}. Raises ValueError with a sentence."""
    deg = (bend_deg or {}).get("shoulder", ARM_DEG)
    if isinstance(deg, bool) or not isinstance(deg, int | float) or not 0 <= deg <= ARM_DEG:
        raise ValueError(f"An arm can't be raised by {deg!r} degrees; 0 to {ARM_DEG:g} can be used.")
    return float(deg) / ARM_DEG


def _bump(at: np.ndarray, middle: np.ndarray | tuple[float, float], wide: float, high: float) -> np.ndarray:
    """1 at `middle`, falling to 0 as a raised cosine on the oval `wide` and `high` mm from it."""
    return raised(np.hypot(*((at - np.asarray(middle)) / (wide, high)).T), 1.0)


def _along(at: np.ndarray, a: np.ndarray, b: np.ndarray, reach: float) -> np.ndarray:
    """1 on the way from `a` to `b`, falling to 0 `reach` mm from it."""
    way = b - a
    t = np.clip((at - a) @ way / float(way @ way), 0, 1)
    return raised(np.hypot(*(at - a - t[:, None] * way).T), reach)


def _top_of_shoulder(p: Places, at: np.ndarray) -> np.ndarray:
    return TOP * _bump(at, p.shoulder, 0.55 * float(p.shoulder[0]), 0.6 * float(p.shoulder[0]))


def _back_arm(p: Places, at: np.ndarray) -> np.ndarray:
    c = p.across
    across = BACK_FOLD * _bump(at, p.crease, 0.75 * c, 0.6 * c) + _top_of_shoulder(p, at)
    return np.column_stack([UNDER_UP * _along(at, p.crease, p.side, 0.75 * c), across])


def _front_arm(p: Places, at: np.ndarray) -> np.ndarray:
    c = p.across
    up = np.maximum(FRONT_UP * _bump(at, p.crease, 0.8 * c, 0.8 * c), UNDER_UP * _along(at, p.crease, p.side, 0.75 * c))
    return np.column_stack([up, FRONT_FOLD * _bump(at, p.crease, 0.8 * c, 0.6 * c) + _top_of_shoulder(p, at)])


def _breath(p: Places, at: np.ndarray, share: float) -> np.ndarray:
    below = float(p.armpits[1]) - at[:, 1]
    mm = np.interp(below, [0.0, LOWER_AT * p.girth], [UPPER_MM, LOWER_MM])
    fades = np.where(below < 0, raised(below, 1.25 * p.height), 1.0)
    return np.column_stack([np.zeros(len(at)), AHEAD * mm * fades * share / (p.girth / 2)])


def _chest_flexed(p: Places, at: np.ndarray) -> np.ndarray:
    swells = _bump(at, p.at(0.55, 0.05), 0.6 * p.across, 0.95 * p.height)
    return np.column_stack([FLEX_UP * swells, FLEX_ACROSS * swells])


def _blades(p: Places, at: np.ndarray) -> np.ndarray:
    (_, y), high = p.at(0.0, 0.36), 0.62 * p.height
    across = DRAWN * _bump(at, (0.17 * p.across, y), 0.27 * p.across, high)
    across += OVER_BLADE * _bump(at, (0.72 * p.across, y), 0.36 * p.across, high)
    return np.column_stack([np.zeros(len(at)), across])
