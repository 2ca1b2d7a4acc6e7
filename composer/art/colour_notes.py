"""Where a drawing's colours lie, as its notes keep it, so that it goes wherever the drawing goes."""

from __future__ import annotations

from typing import Any

import numpy as np

from composer.art.colour_names import COLOURS

NOTED = "colour_areas"
FAR_MM = 100_000.0


def noted(areas: dict[str, tuple[np.ndarray, ...]]) -> dict[str, Any]:
    """Areas by colour name, rings (n, 2) in a drawing's own mm, as they are kept in its notes."""
    return {NOTED: {name: [r.tolist() for r in rings] for name, rings in areas.items()}} if areas else {}


def noted_areas(notes: dict[str, Any]) -> dict[str, tuple[np.ndarray, ...]]:
    """What `noted` has put down, as far as it makes sense: a plan file may say anything."""
    said = notes.get(NOTED)
    out: dict[str, tuple[np.ndarray, ...]] = {}
    if not isinstance(said, dict):
        return out
    for name in COLOURS:
        try:
            rings = [np.asarray(r, float) for r in said.get(name, ())]
        except (TypeError, ValueError):
            continue
        good = tuple(r for r in rings if r.ndim == 2 and r.shape[1] == 2 and len(r) > 2 and np.abs(r).max() < FAR_MM)
        if good:
            out[name] = good
    return out
