"""Motifs: drawings with what the artist should know of them, and the house's own collection."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from composer.art.drawing import Drawing
from composer.art.errors import ArtError
from composer.art.svg_read import ReadArt, read_own

HOUSE = Path(__file__).resolve().parents[2] / "motifs"
TONES = ("black", "dark", "mid", "light", "open")
FACINGS = ("left", "right", "front", "none")


@dataclass(frozen=True)
class Motif:
    """A drawing on the shelf, by digest. `side` is its side file: min_mm and max_mm (natural range
    of the longer side), facing, upright_deg, symmetric, focal, keep_whole, tones, licence, about."""

    id: str
    title: str
    digest: str
    width_mm: float
    height_mm: float
    side: dict[str, Any] = field(default_factory=dict)


def as_motif(motif_id: str, drawing: Drawing, side: dict[str, Any]) -> Motif:
    """The shelf's entry for a drawing and its side file."""
    width, height = np.ptp(np.concatenate(drawing.silhouette), axis=0)
    return Motif(motif_id, side["title"], drawing.digest, float(width), float(height), side)


def house_files() -> list[Path]:
    """The drawings that come with the house, by file name."""
    return sorted(HOUSE.glob("*.svg"))


def read_house(path: Path) -> tuple[Motif, Drawing]:
    """One of the house's motifs (its tone shares were measured by the script that drew it).

    Raises ArtError naming the file that is wrong.
    """
    try:
        drawing = read_own(path.read_bytes())
        side = check_side(json.loads(path.with_suffix(".json").read_text("utf-8")))
    except (OSError, ValueError) as err:
        raise ArtError(f"The motif {path.name} cannot be read: {err}") from err
    return as_motif(path.stem, drawing, side), drawing


def check_side(side: dict[str, Any]) -> dict[str, Any]:
    """The side file itself when it is whole. Raises ArtError saying what is wrong."""
    missing = [k for k in ("title", "min_mm", "max_mm", "facing", "upright_deg", "tones", "licence") if k not in side]
    if missing:
        raise ArtError(f"its side file lacks '{missing[0]}'.")
    if not 0 < side["min_mm"] <= side["max_mm"]:
        raise ArtError("its natural range must run from a smaller to a larger size in mm.")
    if side["facing"] not in FACINGS:
        raise ArtError(f"it cannot face '{side['facing']}'; use {', '.join(FACINGS)}.")
    total = sum(side["tones"].get(t, 0.0) for t in TONES)
    if abs(total - 1) > 0.02:
        raise ArtError(f"its tone shares add up to {total:.2f}, not 1.")
    return side


def own_side(art: ReadArt, title: str) -> dict[str, Any]:
    """Side file of an artist's own drawing: measured where it can be, open to change."""
    size = float(max(np.ptp(np.concatenate(art.drawing.silhouette), axis=0)))
    return {"title": title, "min_mm": round(size * 0.6, 1), "max_mm": round(size * 1.6, 1), "facing": "none",
            "upright_deg": 0, "tones": art.tones, "licence": "the artist's own", "notes": list(art.notes)}
