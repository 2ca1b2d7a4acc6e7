"""The trunk that the tapes of chest or back fit, and where each side's places lie on it.

One smooth trunk, alike on both sides, is fitted to the mean of left and right; shoulder points
and creases then stand where each side was taped. Taut tapes are shortest ways on the trunk.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from composer.body.yoke_shape import Trunk
from composer.body.yoke_tape import STEP_MM, carried, length, taut

WORDS = {
    "chest": ("notch", "midline_to_crease", "notch_to_acromion"),
    "upper_back": ("nape", "spine_to_crease", "nape_to_acromion"),
}
"""Of each part: the place at the top of its midline, the measure across, the measure out to the shoulder."""

NECK = 0.33
"""Half the breadth of the neck on the shoulder line, as a share of that at the shoulder points (from memory)."""

ROUND = 1.9
"""The armhole runs from the shoulder point straight towards the crease and turns under the arm in one round,
as an armhole is cut: it leaves the corner at the crease, where the fold of the armpit stands off, to the part."""


@dataclass(frozen=True)
class Side:
    """Places of one side in the trunk's own coordinates, on the +p half."""

    acromion: np.ndarray
    crease: np.ndarray
    side: np.ndarray


def fit_trunk(part: str, m: Mapping[str, float]) -> tuple[Trunk, float, dict[str, Side]]:
    """The trunk, v of the notch or nape, and each side's places (`m`: mm by name).

    Raises ValueError when the tapes can't all be right together.
    """
    top, across, up = WORDS[part]
    mean = {k: (m[f"{k}_left"] + m[f"{k}_right"]) / 2 for k in (across, up, "acromion_to_crease")}
    trunk = _with_girth(
        m,
        Trunk(
            m["chest_girth"],
            m["lower_girth"],
            m["armpit_to_lower"],
            0.96 * mean[up],
            0.8 * mean["acromion_to_crease"],
            m.get("fullness", 0.0),
        ),
    )
    known = np.array([trunk.acromion_mm, trunk.rise_mm])
    want = np.array([mean[up], mean["acromion_to_crease"]])
    lines: list[np.ndarray | None] = [None, None]
    for _ in range(40):
        now, ends = _at_ends(trunk, known, m, part, mean)
        lines = [taut(now, *pair, start=line) for pair, line in zip(ends, lines, strict=True)]
        tapes = np.array([length(now, line) for line in lines])
        if np.abs(tapes - want).max() < 1e-7:
            break
        jac = []
        for e in (np.array([STEP_MM, 0.0]), np.array([0.0, STEP_MM])):
            nudged, ends = _at_ends(trunk, known + e, m, part, mean)   # what is taut stays so to the second order
            moved = [length(nudged, carried(line, *pair)) for pair, line in zip(ends, lines, strict=True)]
            jac.append((moved - tapes) / STEP_MM)
        known = known + np.clip(np.linalg.solve(np.column_stack(jac), want - tapes), -25, 25)
        known = np.maximum(known, (0.4 * mean[up], 12.0))
    else:
        raise ValueError(_apart(top))
    trunk = _at(trunk, known)
    v_top = _top(trunk, m[f"{top}_to_armpit"])
    start = _acromion(trunk)
    sides = {}
    for s in ("left", "right"):
        crease = np.array([_crease(trunk, m[f"{across}_{s}"]), 0.0])
        want = np.array([m[f"{up}_{s}"], m[f"acromion_to_crease_{s}"]])
        sides[s] = Side(
            _meet(trunk, np.array([0.0, v_top]), crease, want, start, top, s),
            crease,
            np.array([trunk.girth_mm / 4, 0.0]),
        )
    return trunk, v_top, sides


def _with_girth(m: Mapping[str, float], trunk: Trunk) -> Trunk:
    """The trunk whose front half is half the taped girth, fullness and all (the shape's own girth is less)."""
    for _ in range(8):
        half = trunk.girth_mm / 2
        more = (_run(trunk, np.array([-half / 2, 0.0]), np.array([half / 2, 0.0]), 241) - m["chest_girth"] / 2) * 2
        girth = trunk.girth_mm - more
        trunk = replace(trunk, girth_mm=girth, lower_girth_mm=m["lower_girth"] / m["chest_girth"] * girth)
    return trunk


def _at(trunk: Trunk, known: np.ndarray) -> Trunk:
    return replace(trunk, acromion_mm=float(known[0]), rise_mm=float(known[1]))


def _acromion(trunk: Trunk) -> np.ndarray:
    """Own coordinates of the shoulder point of the mean side: on the shoulder line at its breadth."""

    def off(p: float) -> float:
        return float(trunk.embed(np.array([[p, trunk.over_mm]]))[0, 0]) - trunk.acromion_mm

    return np.array([brentq(off, 0.3 * trunk.acromion_mm, 2.2 * trunk.acromion_mm), trunk.over_mm])


def _apart(top: str) -> str:
    return (f"The tapes from {top} to shoulder point, shoulder point to crease and {top} to armpit level can't "
            "all be right together; tape these three once more, and the chest girth.")


def _at_ends(trunk: Trunk, known: np.ndarray, m: Mapping[str, float], part: str, mean: Mapping[str, float]) -> tuple[
        Trunk, tuple[tuple[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]]:
    """The trunk with these shoulder points, and between which places the tapes to the mean shoulder point are taut."""
    top, across, _ = WORDS[part]
    trunk = _at(trunk, known)
    try:
        acromion = _acromion(trunk)
    except ValueError:      # no place on the shoulder line is so far out
        raise ValueError(_apart(top)) from None
    return trunk, ((np.array([0.0, _top(trunk, m[f"{top}_to_armpit"])]), acromion),
                   (acromion, np.array([_crease(trunk, mean[across]), 0.0])))


def _run(trunk: Trunk, a: np.ndarray, b: np.ndarray, n: int = 61) -> float:
    return length(trunk, a + (b - a) * np.linspace(0, 1, n)[:, None])


def _top(trunk: Trunk, taped_mm: float) -> float:
    """v of the notch or nape, `taped_mm` up the midline from the level of the armpits."""
    zero = np.zeros(2)
    try:
        return float(
            brentq(lambda v: _run(trunk, zero, np.array([0.0, v])) - taped_mm, 1.0, 1.35 * trunk.over_mm, xtol=1e-9)
        )
    except ValueError:
        raise ValueError(
            f"{taped_mm:.0f} mm up the midline from the level of the armpits would end behind the shoulder line; "
            "tape it once more, and the shoulder points too."
        ) from None


def _crease(trunk: Trunk, taped_mm: float) -> float:
    zero = np.zeros(2)
    try:
        return float(
            brentq(lambda p: _run(trunk, zero, np.array([p, 0.0])) - taped_mm, 1.0, 0.5 * trunk.girth_mm, xtol=1e-9)
        )
    except ValueError:
        raise ValueError(
            f"{taped_mm:.0f} mm from the midline to the crease would end behind the other arm; tape it and the chest "
            "girth once more."
        ) from None


def _meet(
    trunk: Trunk, top: np.ndarray, crease: np.ndarray, want: np.ndarray, start: np.ndarray, name: str, side: str
) -> np.ndarray:
    """The shoulder point: `want` mm (2,) of taut tape from `top` and from `crease`."""

    at, up, down = start, None, None
    for _ in range(30):
        up, down = taut(trunk, top, at, up), taut(trunk, at, crease, down)
        off = np.array([length(trunk, up), length(trunk, down)]) - want
        if np.abs(off).max() < 1e-6:
            return at
        # a taut tape grows as its end moves along it
        along = np.stack([_unit(np.diff(trunk.embed(line), axis=0)[0]) for line in (up[::-1], down)])
        slope = np.column_stack([trunk.embed((at + e)[None])[0] - trunk.embed((at - e)[None])[0]
                                 for e in np.diag([STEP_MM, STEP_MM])]) / (2 * STEP_MM)
        at = at + np.clip(np.linalg.solve(along @ slope, off), -20, 20)
    raise ValueError(
        f"On the {side} side the tapes from {name} to shoulder point and from shoulder point to crease don't meet; "
        "tape both once more."
    )


def _hermite(a: np.ndarray, b: np.ndarray, da: np.ndarray, db: np.ndarray, n: int = 17) -> np.ndarray:
    t = np.linspace(0, 1, n)[:, None]
    return (1 + 2 * t) * (1 - t) ** 2 * a + t * (1 - t) ** 2 * da + t * t * (3 - 2 * t) * b + t * t * (t - 1) * db


def _straight(a: np.ndarray, b: np.ndarray, n: int) -> np.ndarray:
    t = np.linspace(0, 1, n)[:, None]
    return (1 - t) * a + t * b


def _unit(v: np.ndarray) -> np.ndarray:
    return v / np.linalg.norm(v)


def side_edges(trunk: Trunk, v_top: float, at: Side) -> dict[str, np.ndarray]:
    """Edges of one side on the +p half, from the midline's top round to its lower end, own coordinates."""
    top, a, c, s = np.array([0.0, v_top]), at.acromion, at.crease, at.side
    neck = np.array([NECK * a[0], trunk.over_mm])
    rise = trunk.over_mm - v_top
    away = np.array([0.0, 1.0]) if rise > 0.3 * neck[0] else _unit(np.array([1.0, rise / neck[0]]))
    first = _hermite(top, neck, np.array([1.2 * neck[0], 0.0]), 0.9 * np.hypot(neck[0], rise) * away)
    bend = a + 0.35 * (c - a)
    armhole = np.concatenate([_straight(a, bend, 9), _hermite(bend, s, ROUND * (c - bend), ROUND * (s - c), 25)[1:]])
    low = lower_line(trunk, np.linspace(s[0], 0.0, 41))
    return {
        "neck": first,
        "shoulder": _straight(neck, a, 17),
        "armhole": armhole,
        "side": _straight(s, low[0], 15),
        "lower": low,
    }


def lower_line(trunk: Trunk, p: np.ndarray) -> np.ndarray:
    """Own coordinates of the level `lower_mm` below the armpits."""
    v = np.full(len(p), -trunk.lower_mm)
    for _ in range(30):
        z = trunk.embed(np.column_stack([p, v]))[:, 2]
        dz = (trunk.embed(np.column_stack([p, v + 0.05]))[:, 2] - z) / 0.05
        v = v - np.clip((z + trunk.lower_mm) / dz, -30, 30)
    return np.column_stack([p, v])
