"""Across the midline of a chest or a back: left and right may be taped differently.

Both sides are read against a template half way between them, its landmarks at the mean of the two
sides. A thin-plate spline through shoulder point, crease, side and lower side (Bookstein 1989),
made odd about the midline so that it rests there, carries the template to either side. Going over and coming
back is the identity, and on equal sides nothing moves at all. A piece is carried by its anchor
and redrawn rigid.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.interpolate import RBFInterpolator

from composer.body.correspond import Pose
from composer.body.deviation import Deviation
from composer.body.metric import distance
from composer.body.panel import Panel

_MARKS = ("shoulder point", "crease", "side", "lower side")


@lru_cache(maxsize=32)
def _sides(panel: Panel) -> tuple[np.ndarray, np.ndarray, RBFInterpolator | None]:
    """Landmarks of the +u side and of the other one mirrored, (4, 2) sheet mm, and the displacement
    from the template to the +u side, None where both are alike."""
    plus = "left" if panel.landmarks["crease left"][0] > 0 else "right"
    minus = "right" if plus == "left" else "left"
    a = panel.to_mm(np.array([panel.landmarks[f"{m} {plus}"] for m in _MARKS]))
    b = panel.to_mm(np.array([panel.landmarks[f"{m} {minus}"] for m in _MARKS])) * (-1.0, 1.0)
    if np.abs(a - b).max() < 1e-9:
        return a, b, None
    at, off = (a + b) / 2, (a - b) / 2
    return (
        a,
        b,
        RBFInterpolator(
            np.concatenate([at, at * (-1.0, 1.0)]), np.concatenate([off, -off]), kernel="thin_plate_spline", degree=1
        ),
    )


def template_marks(panel: Panel) -> dict[str, np.ndarray]:
    """The landmarks of the template that both sides are read against, by name, (2,) sheet mm with x >= 0."""
    a, b, _ = _sides(panel)
    return dict(zip(_MARKS, (a + b) / 2, strict=True))


def to_template(panel: Panel, us: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Skin (n, 2) of (u, s) as places (n, 2) of the template, mm with x >= 0, and the side (n,) that each is on: +1
    for u >= 0, else -1. Both sides of the midline have one template."""
    spline = _sides(panel)[2]
    xy = panel.to_mm(us)
    plus = np.where(xy[:, 0] >= 0, 1.0, -1.0)
    here = np.column_stack([np.abs(xy[:, 0]), xy[:, 1]])
    if spline is None or not len(here):
        return here, plus
    at = here.copy()
    for _ in range(100):
        step = here - plus[:, None] * spline(at) - at
        at = at + step
        if np.abs(step).max() < 1e-12:
            break
    return at, plus


def from_template(panel: Panel, at: np.ndarray, plus: np.ndarray | float) -> np.ndarray:
    """Places (n, 2) of the template as skin (n, 2) of (u, s) on the side `plus` (+1 for u >= 0, else -1)."""
    spline = _sides(panel)[2]
    plus = np.broadcast_to(np.asarray(plus, float), len(at))[:, None]
    there = at if spline is None or not len(at) else at + plus * spline(at)
    return panel.from_mm(there * np.column_stack([plus, np.ones(len(plus))]))


def mirror_panel_points(panel: Panel, us: np.ndarray) -> np.ndarray:
    """The pointwise mirror image, skin (n, 2) of (u, s) to skin (n, 2): landmarks go to landmarks."""
    us = np.asarray(us, float)
    if _sides(panel)[2] is None:
        return us * (-1.0, 1.0)
    at, plus = to_template(panel, us)
    return from_template(panel, at, -plus)


def mirror_on_panel(panel: Panel, pose: Pose, flip_art: bool = True) -> Pose:
    """The pose on the other side of the midline; the lean is mirrored. Raises ValueError for one that is nowhere."""
    if not np.isfinite([pose.u, pose.s_mm, pose.turn_deg]).all():
        raise ValueError("A piece must have a finite place and turn before it can be mirrored.")
    u, s = mirror_panel_points(panel, np.array([[pose.u, pose.s_mm]]))[0]
    return Pose(float(u), float(s), -pose.turn_deg, pose.flip != flip_art)


def panel_deviation(panel: Panel, pose: Pose, flat: np.ndarray) -> Deviation:
    """What the rigid twin of an outline across the midline loses against the pointwise mirror image.

    `flat` (n, 2), mm: the outline in the patch chart at `pose`. `from_girth_mm` is what spacing across
    the body costs, `from_length_mm` spacing along it, `from_taper_mm` the rest (shear, bending).
    """
    flat = np.asarray(flat, float)
    reach = float(np.hypot(*flat.T).max(initial=12.0))
    twin = mirror_on_panel(panel, pose)
    here, there = (panel.lay_patch(p.u, p.s_mm, reach) for p in (pose, twin))
    mirrored = flat * (-1.0, 1.0)
    mapped = mirror_panel_points(panel, here.to_skin(flat))
    off = distance(panel, there.to_skin(mirrored), mapped, nearest_turn=False)
    want = there.to_flat(mapped)
    spread = float((mirrored * mirrored).sum())
    rates = [
        float((want[:, k] * mirrored[:, k]).sum() / max((mirrored[:, k] ** 2).sum(), 1e-9)) if spread else 1.0
        for k in (0, 1)
    ]
    across = mirrored * (rates[0] - 1, 0.0)
    along = mirrored * (0.0, rates[1] - 1)
    parts = [float(np.hypot(*c.T).max(initial=0.0)) for c in (across, along, want - mirrored - across - along)]
    return Deviation(
        off,
        parts[0],
        parts[1],
        parts[2],
        rates[0],
        rates[1],
        float(np.sqrt(abs(rates[0] * rates[1]))),
        _say(panel, float(off.max(initial=0.0)), parts, twin),
    )


def _say(panel: Panel, most: float, parts: list[float], twin: Pose) -> str:
    a, b, _ = _sides(panel)
    if most < 0.05:
        return "The twin is the exact mirror image: both sides are alike here."
    to_plus = twin.u >= 0
    apart = (a - b) if to_plus else (b - a)
    middle = (a + b) / 2
    spot = np.abs(panel.to_mm(np.array([[twin.u, twin.s_mm]]))[0])
    pull = np.hypot(*apart.T) / (40.0 + np.hypot(*(middle - spot).T))
    k = int(pull.argmax())
    ways = [
        f"{abs(v):.1f} mm {word[int(v < 0)]}"
        for v, word in zip(apart[k], (("further out", "further in"), ("higher", "lower")), strict=True)
        if abs(v) >= 0.5
    ]
    cause = f"the {_MARKS[k]} of that side lies {' and '.join(ways) or 'a little off'}"
    told = [
        f"{name} ({mm:.1f} mm)"
        for mm, name in sorted(zip(parts, ("spacing across", "spacing along", "bending"), strict=True), reverse=True)
        if mm >= 0.05
    ]
    return f"The twin lies up to {most:.1f} mm off an exact mirror image: {cause}; {', '.join(told)}."
