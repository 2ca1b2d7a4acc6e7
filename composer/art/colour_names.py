"""Names of colours, and from what share of a subject on they count.

Names are by hue angle in CIE LCh (D65), with 'brown', 'olive' and 'pink' by lightness; the borders are ours, set so
that the plain colour words of CSS Color 4 come out as themselves.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

GREY = 26.0
"""Chroma under which a colour counts as grey, wash or skin."""

LEAST_SHARE = 0.01
AREA_SHARE = 0.004
"""Of the subject: a patch of colour smaller than this is not outlined."""
_EDGES = np.array([22, 52, 86, 114, 168, 215, 312, 345, 360])
_NAMES = ("pink", "red", "orange", "yellow", "green", "blue-green", "blue", "purple", "pink")
COLOURS = (*dict.fromkeys(_NAMES), "brown", "olive")
"""Every name that is given."""


def colour_name(l_star: float, a: float, b: float) -> str | None:
    """The name of a colour in CIE Lab, None where it is grey."""
    if np.hypot(a, b) < GREY:
        return None
    hue = float(np.degrees(np.arctan2(b, a)) % 360)
    name = _NAMES[int(np.searchsorted(_EDGES, hue, side="right"))]
    if (name == "orange" and l_star < 58) or (name == "red" and hue > 42 and l_star < 50):
        return "brown"
    if name == "yellow" and l_star < 60:
        return "olive"
    if name == "pink" and l_star < 55:
        return "red" if hue < 180 else "purple"
    return name


def colours_said(shares: Mapping[str, float]) -> str | None:
    """One sentence, or None where there is no colour."""
    if not shares:
        return None
    named = ", ".join(f"{k} {100 * v:.0f}%" for k, v in shares.items())
    return f"Colour in it: {named}. Tones are laid out in black; the stencil outlines and names the colours."
