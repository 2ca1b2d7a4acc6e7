"""What colours a picture's subject has, named: for the ink list and the talk with the client, not for the tone plan.

Names are by hue angle in CIE LCh (D65), with 'brown', 'olive' and 'pink' by lightness; the borders are ours, set so
that the plain colour words of CSS Color 4 come out as themselves.
"""

from __future__ import annotations

import numpy as np
from shapely.geometry.base import BaseGeometry

from composer.art.lightness import lab
from composer.art.linework import subject_rgb
from composer.art.raster_read import Picture

GREY = 26.0
"""Chroma under which a colour counts as grey, wash or skin."""

LEAST_SHARE = 0.01
_EDGES = np.array([22, 52, 86, 114, 168, 215, 312, 345, 360])
_NAMES = ("pink", "red", "orange", "yellow", "green", "blue-green", "blue", "purple", "pink")


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


def named_colours(picture: Picture, area: BaseGeometry) -> dict[str, float]:
    """Share of the subject's area by colour name, largest first; greys and traces are left out."""
    rgb, inside = subject_rgb(picture, area, 240)
    own = lab(rgb[inside].reshape(-1, 1, 3)).reshape(-1, 3)
    if not len(own):
        return {}
    coarse, index = np.unique(np.round(own / 4).astype(int), axis=0, return_inverse=True)
    count = np.bincount(index.ravel(), minlength=len(coarse))
    shares: dict[str, float] = {}
    for cell, n in zip(coarse * 4.0, count, strict=True):
        name = colour_name(*cell)
        if name:
            shares[name] = shares.get(name, 0.0) + float(n) / len(own)
    return {k: round(v, 3) for k, v in sorted(shares.items(), key=lambda kv: -kv[1]) if v >= LEAST_SHARE}


def colours_said(shares: dict[str, float]) -> str | None:
    """One sentence, or None where there is no colour."""
    if not shares:
        return None
    named = ", ".join(f"{k} {100 * v:.0f}%" for k, v in shares.items())
    return f"Colour in it: {named}. Tones are laid out in black."
