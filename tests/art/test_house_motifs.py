"""The house's own drawings are whole, ours, and hold what their side files say."""

from __future__ import annotations

import json

import numpy as np
import pytest
import shapely

from composer.art.shelf import HOUSE, check_side, house_files, read_house
from composer.art.svg_read import read_svg

FILES = house_files()


def test_there_are_enough_of_every_kind() -> None:
    sides = [json.loads(p.with_suffix(".json").read_text("utf-8")) for p in FILES]
    assert len(FILES) >= 16
    assert sum(bool(s.get("symmetric")) for s in sides) >= 2
    assert sum(bool(s.get("keep_whole")) for s in sides) >= 1
    assert {s["facing"] for s in sides} >= {"left", "right", "front"}
    assert not [p.name for p in HOUSE.glob("*.json") if not p.with_suffix(".svg").exists()]


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_motif_is_whole(path) -> None:
    motif, drawing = read_house(path)
    assert path.stat().st_size < 400_000
    outline = drawing.outline
    assert outline.is_valid and outline.area > 300
    assert motif.side["min_mm"] <= max(motif.width_mm, motif.height_mm) <= motif.side["max_mm"]
    assert motif.side["licence"] == "CC0-1.0"
    measured = read_svg(path.read_bytes())
    assert all(abs(share - measured.tones[t]) < 0.03 for t, share in motif.side["tones"].items())
    assert measured.drawing.outline.symmetric_difference(outline).area < 0.002 * outline.area
    assert 0.2 < 1 - motif.side["tones"]["open"] < 0.75
    ink = drawing.ink()
    assert ink.difference(outline.buffer(1.5)).area < 0.01 * ink.area
    if motif.side.get("symmetric"):
        flipped = shapely.transform(outline, lambda p: p * (-1, 1))
        assert outline.symmetric_difference(flipped).area < 0.005 * outline.area


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_lines_swell_and_taper(path) -> None:
    """Line work of more than one weight: the widest part is at least three times the finest."""
    _, drawing = read_house(path)
    ink = drawing.ink("line", "black")
    widths = []
    for r in (0.12, 0.25, 0.4, 0.6, 1.0):
        widths.append(ink.buffer(-r, quad_segs=2).area / ink.area)
    assert widths[0] < 0.95 and widths[3] > 0.02 and np.all(np.diff(widths) < 0)


def test_a_side_file_that_lacks_something_is_told() -> None:
    with pytest.raises(ValueError, match="lacks 'facing'"):
        check_side({"title": "x", "min_mm": 1, "max_mm": 2, "upright_deg": 0, "tones": {}, "licence": "x"})
