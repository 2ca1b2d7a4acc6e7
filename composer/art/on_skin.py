"""What contrast each tone step keeps on a client's skin, in CIE L*.

A flat mixing of ink and skin as screens do it, fresh from the needle. Skin lies over the ink and healed tones are
softer; how much nobody has published a table of, so this is for comparing skins and steps, no promise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.art.lightness import contrast, lightness_of, luminance

INK = (29, 25, 35)
"""Black ink as this house paints it, 8-bit sRGB."""

STRENGTH = {"black": 1.0, "dark": 0.62, "mid": 0.36, "light": 0.16}
"""Share of ink in each step as this house paints it."""

SEEN, CLEAR = 5.0, 12.0
"""Steps of L* that are just seen side by side on skin, and seen at once across a room. Our reading of common practice
(a difference of 2 to 3 is noticed on plain patches), no published source."""


@dataclass(frozen=True)
class StepOnSkin:
    """One step on one skin: its colour (8-bit sRGB), `drop` of L* against the bare skin, `from_next` against the next
    lighter step, `ratio` of contrast with the skin by WCAG's luminance."""

    step: str
    rgb: tuple[int, int, int]
    drop: float
    from_next: float
    ratio: float


def steps_on_skin(skin: tuple[int, int, int]) -> tuple[StepOnSkin, ...]:
    """Black, dark, mid and light on a skin given in 8-bit sRGB."""
    bare = float(luminance(np.array(skin, np.uint8)))
    out, last = [], float(lightness_of(bare))
    top = last
    for step in ("light", "mid", "dark", "black"):
        share = STRENGTH[step]
        r, g, b = (round(i * share + s * (1 - share)) for i, s in zip(INK, skin, strict=True))
        light = float(luminance(np.array((r, g, b), np.uint8)))
        level = float(lightness_of(light))
        out.append(StepOnSkin(step, (r, g, b), top - level, last - level, contrast(bare, light)))
        last = level
    return tuple(reversed(out))


def said(steps: tuple[StepOnSkin, ...], used: tuple[str, ...]) -> str:
    """One sentence on what will hardly be seen of the steps used."""
    weak = [s for s in steps if s.step in used and s.from_next < SEEN]
    if not weak:
        soft = [s for s in steps if s.step in used and s.from_next < CLEAR]
        if not soft:
            return "Every step stands clear of the next on this skin."
        return f"All steps show on this skin; {_listed(soft)} only softly."
    if any(s.step == "black" for s in weak):
        black = next(s for s in steps if s.step == "black")
        return (f"On this skin even black keeps only {black.drop:.0f} L*: build on broad black shapes with much open "
                "skin between them, and leave shading out.")
    verb = "stands" if len(weak) == 1 else "stand"
    return (f"On this skin {_listed(weak)} hardly {verb} out (less than {SEEN:.0f} L* from the next lighter step): "
            "leave it open there, or go a step darker.")


def _listed(steps: list[StepOnSkin]) -> str:
    names = [s.step for s in steps]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
