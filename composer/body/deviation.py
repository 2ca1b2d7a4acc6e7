"""What a rigid twin loses against a point-by-point mirror image, in mm, and why."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from composer.body.correspond import Pose, carry, carry_points, carry_s
from composer.body.limb import Limb
from composer.body.metric import distance
from composer.body.patch import Patch, lay_patch_under


@dataclass(frozen=True)
class Deviation:
    """Deviation of a rigid redraw on the other limb from the pointwise map.

    `per_vertex_mm` (n,); `from_girth_mm`, `from_length_mm`, `from_taper_mm` the most that each
    cause moves a vertex (per vertex the three add up as vectors);
    `girth_ratio` and `length_ratio` target over source at the anchor; `fit_scale` the scale that
    would make up for both on average.
    """

    per_vertex_mm: np.ndarray
    from_girth_mm: float
    from_length_mm: float
    from_taper_mm: float
    girth_ratio: float
    length_ratio: float
    fit_scale: float
    sentence: str

    @property
    def largest_mm(self) -> float:
        return float(self.per_vertex_mm.max(initial=0.0))

    @property
    def mean_mm(self) -> float:
        return float(self.per_vertex_mm.mean()) if len(self.per_vertex_mm) else 0.0


def deviation(source: Limb, target: Limb, pose: Pose, rings: Sequence[np.ndarray],
              fit: Callable[[Limb, float, float, Sequence[np.ndarray]], Patch] = lay_patch_under) -> Deviation:
    """Compare the twin of an outline with its mirror image.

    `rings` (n, 2), mm: the outline in the source's patch chart (turned, scaled and flipped). The
    twin is the same outline with x reversed, in a patch at the carried pose. `fit` lays both patches.
    """
    rings = [np.asarray(r, float) for r in rings]
    flat = np.concatenate(rings)
    twin = carry(source, target, pose)
    here = fit(source, pose.u, pose.s_mm, rings)
    there = fit(target, twin.u, twin.s_mm, [r * (-1.0, 1.0) for r in rings])
    mirrored = flat * (-1.0, 1.0)
    redrawn = there.to_skin(mirrored)
    skin = here.to_skin(flat)
    mapped = carry_points(source, target, skin)
    off = distance(target, redrawn, mapped, nearest_turn=False)

    step = 1.0
    pace = carry_s(source, target, np.array([pose.s_mm - step, pose.s_mm + step]))
    length_ratio = float(pace[1] - pace[0]) / (2 * step)
    girth_ratio = float(target.girth(twin.s_mm) / source.girth(pose.s_mm))
    girth = mirrored * (girth_ratio - 1, 0.0)
    length = np.column_stack([np.zeros(len(flat)), mapped[:, 1] - twin.s_mm - (skin[:, 1] - pose.s_mm)])
    taper = there.to_flat(mapped) - mirrored - girth - length
    girth_mm, length_mm, taper_mm = (float(np.hypot(*c.T).max(initial=0.0)) for c in (girth, length, taper))
    more = float(target.girth(twin.s_mm) - source.girth(pose.s_mm))
    sentence = _say(float(off.max(initial=0.0)), more, length_ratio, girth_mm, length_mm, taper_mm)
    return Deviation(off, girth_mm, length_mm, taper_mm, girth_ratio, length_ratio,
                     float(np.sqrt(girth_ratio * length_ratio)), sentence)


def _say(most: float, more: float, length_ratio: float, girth: float, length: float, taper: float) -> str:
    if most < 0.05:
        return "The twin is the exact mirror image: both limbs are alike here."
    apart = f"{100 * abs(length_ratio - 1):.1f}% {'further apart' if length_ratio > 1 else 'closer'}"
    causes = [
        (girth, f"the other limb is {abs(more):.1f} mm {'more' if more > 0 else 'less'} round there ({girth:.1f} mm)"),
        (length, f"its levels are spaced differently, {apart} at the anchor ({length:.1f} mm)"),
        (taper, f"it tapers differently ({taper:.1f} mm)"),
    ]
    told = [text for mm, text in sorted(causes, reverse=True) if mm >= 0.05]
    return f"The twin lies up to {most:.1f} mm off an exact mirror image: {'; '.join(told)}."
