"""How large a picture's subject really is: by the file's dpi, by a length drawn on it, or not known."""

from __future__ import annotations

import math

from composer.art.errors import ArtError

UNKNOWN_MM = 100.0
"""Longer side given to a subject of unknown size; to be set on the limb."""

GOOD_MM = (4.0, 1200.0)
LEAST_LINE_PX = 12.0


def by_dpi(dpi: float) -> float:
    """mm a pixel of a picture with so many pixels to the inch."""
    return 25.4 / dpi


def by_line(ax: float, ay: float, bx: float, by: float, mm: float) -> float:
    """mm a pixel where the line from a to b (pixels) is `mm` long. Raises ArtError for a line too short to measure by,
    or a length that can't be."""
    if not all(map(math.isfinite, (ax, ay, bx, by, mm))):
        raise ArtError("The scale needs two points on the picture and the distance between them in mm.")
    px = math.hypot(bx - ax, by - ay)
    if px < LEAST_LINE_PX:
        raise ArtError("The two points of the scale are nearly the same; set them as far apart as the picture allows.")
    if not 0.5 <= mm <= 3000:
        raise ArtError(f"{mm:g} mm between the two points can't be true; measure it again, in mm.")
    return mm / px


def settle(longer_px: float, mm_a_px: float | None) -> tuple[float, str | None]:
    """mm a pixel to use for a subject whose longer side has so many pixels, and the sentence that goes with a size
    that had to be assumed."""
    if mm_a_px is None:
        return UNKNOWN_MM / longer_px, (f"The picture states no real size; the subject was taken in at "
                                        f"{UNKNOWN_MM:.0f} mm. Draw a scale on it, or set its size on the limb.")
    size = longer_px * mm_a_px
    if not GOOD_MM[0] <= size <= GOOD_MM[1]:
        return UNKNOWN_MM / longer_px, (f"By its scale the subject would be {size:.4g} mm long, which no piece is; it "
                                        f"was taken in at {UNKNOWN_MM:.0f} mm. Set its size on the limb.")
    return mm_a_px, None
