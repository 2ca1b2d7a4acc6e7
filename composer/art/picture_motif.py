"""A picture made into a drawing: silhouette, line work and tones at real size."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from composer.art import linework, silhouette, tones
from composer.art.colour_names import colours_said
from composer.art.colours import colour_areas, named_colours
from composer.art.errors import ArtError
from composer.art.picture_wish import PictureWish
from composer.art.raster_read import Picture
from composer.art.real_size import GOOD_MM, by_dpi, by_line, settle
from composer.art.silhouette import Silhouette
from composer.art.svg_read import MOST_POINTS, ReadArt, finish_art

QUICK_WORK = 160_000


@dataclass(frozen=True)
class Drawn:
    """`art`: the drawing in mm; where its colours lie is in its notes (`colour_notes`; not of a first look).
    `found`: its silhouette in the picture's pixels. `mm_a_px`: mm a pixel. `line_mm`: length of all strokes along their
    middle. `levels`: CIE L* of the picture below which each tone begins. `colours`: shares of the subject by colour
    name, greys left out."""

    art: ReadArt
    found: Silhouette
    mm_a_px: float
    line_mm: float
    levels: dict[str, float]
    colours: dict[str, float]


def find_silhouette(picture: Picture, wish: PictureWish, quick: bool = False) -> Silhouette:
    """The silhouette by the wished method. Raises ArtError."""
    work = QUICK_WORK if quick else silhouette.WORK_PIXELS
    if wish.method == "alpha":
        return silhouette.by_alpha(picture, work)
    if wish.method == "frame":
        return silhouette.by_frame(picture)
    if wish.method == "lasso":
        if len(wish.lasso) < 3:
            raise ArtError("Draw a line round the subject first.")
        return silhouette.by_lasso(picture, wish.lasso, bool(wish.holes), wish.marks, wish.fit, work)
    return silhouette.by_background(picture, wish.tolerance, wish.holes, work)


def usual_wish(picture: Picture) -> PictureWish:
    """What to begin with for this picture: how its silhouette is found, and whether it is inked already."""
    for method in ("alpha", "background", "frame"):
        wish = PictureWish(method)
        try:
            found = find_silhouette(picture, wish, True)
        except ArtError:
            continue
        if not found.sure:
            continue
        inked = linework.looks_inked(picture, found.area)
        bare = inked or method == "frame"
        return PictureWish(method, lines=linework.LineWish(inked=inked), outline_mm=0.0 if bare else 0.7,
                           tones=None if inked else tones.ToneWish())
    raise ArtError("The picture can't be drawn from.")


def size_of(picture: Picture, wish: PictureWish, area: BaseGeometry) -> tuple[float, str | None]:
    """mm a pixel, and a sentence where the size had to be assumed. Raises ArtError for a scale that can't be."""
    x0, y0, x1, y1 = area.bounds
    longer = max(x1 - x0, y1 - y0)
    if wish.long_mm is not None:
        return wish.long_mm / longer, None
    known = by_line(*wish.scale) if wish.scale is not None else None if picture.dpi is None else by_dpi(picture.dpi)
    if wish.scale is not None and known is not None and not GOOD_MM[0] <= known * longer <= GOOD_MM[1]:
        raise ArtError(f"By that scale the subject would be {known * longer:.4g} mm long. Set the two points again, or "
                       "the length between them in mm.")
    return settle(longer, known)


def draw_picture(picture: Picture, wish: PictureWish, quick: bool = False, found: Silhouette | None = None) -> Drawn:
    """The drawing asked for; `quick` looks at fewer pixels, for a first look. `found` hands in a silhouette that is
    known already. Raises ArtError with a sentence."""
    found = found or find_silhouette(picture, wish, quick)
    area = found.area
    unit, assumed = size_of(picture, wish, area)
    parts: dict[str, BaseGeometry] = {}
    levels: dict[str, float] = {}
    if wish.tones is not None:
        toned = tones.posterise(picture, area, wish.tones, tones.PREVIEW_SIDE if quick else tones.SIDE)
        parts, levels = {s: a for s, a in toned.areas.items() if not a.is_empty}, dict(toned.levels)
    strokes: list[BaseGeometry] = []
    length = 0.0
    if wish.lines is not None:
        side = linework.PREVIEW_SIDE if quick else linework.FINAL_SIDE
        work = linework.draw_lines(picture, area, wish.lines, wish.regions, side, wish.least_mm / unit)
        strokes, length = [work.ink], work.length * unit
        if wish.lines.inked:
            area = area.union(work.ink.buffer(0))
    if wish.outline_mm > 0:
        strokes.append(linework.outline_ink(area, wish.outline_mm / unit))
        length += area.length * unit
    if strokes:
        parts["line"] = shapely.union_all(strokes)
    if sum(int(shapely.get_num_coordinates(g)) for g in parts.values()) > MOST_POINTS:
        raise ArtError("The drawing came out with more lines than can be worked with. Lower the fineness, or raise "
                       "'leave out specks'.")
    colours = named_colours(picture, found.area, 120 if quick else 240)
    said = colours_said(colours) if wish.tones is not None else None
    notes = [*picture.notes, *found.notes, *(s for s in (assumed, said) if s)]
    art = finish_art(area, parts, unit, notes, colour_areas(picture, found.area) if colours and not quick else {})
    return Drawn(art, found, unit, length, levels, colours)
