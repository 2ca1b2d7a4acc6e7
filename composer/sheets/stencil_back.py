"""A stencil that was drawn over elsewhere, back in its place on the limb."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

import numpy as np
import shapely
import svgelements as sv
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.colour_notes import noted, noted_areas
from composer.art.drawing import ROLES, Drawing, Layer, geometry_to_rings, rings_to_geometry
from composer.art.errors import ArtError
from composer.art.svg_colours import to_outline
from composer.art.svg_guard import read_tree
from composer.art.svg_read import COLOUR_FINE_MM, PX_MM, areas_of_svg
from composer.filler.seen import visible_laid
from composer.json_in import read_json
from composer.plan.model import Piece, Plan
from composer.plan.scene import lay, matrix, scene
from composer.plan.twins import surface_of
from composer.sheets.stencil_svg import OWN, VERSION

LEAST_MM = 0.3
TURNED = 0.02
"""How far the three marks may be from a true likeness of themselves."""


@dataclass(frozen=True)
class Back:
    """What came back: `piece` with its new `drawing` (its id is that of the piece it replaces, or '' where
    it is a new one), and notes for the artist."""

    piece: Piece
    drawing: Drawing
    notes: tuple[str, ...]

    @property
    def replaces(self) -> bool:
        return bool(self.piece.id)


def read_back(data: bytes, plan: Plan, gallery: Mapping[str, Drawing]) -> Back:
    """Read a working file (see `stencil_svg`) that was changed elsewhere.

    A stencil of one piece that is still in the plan gives that piece a new drawing; what lay hidden behind others,
    and so was not in the file, is kept. Anything else becomes a new piece in the file's place. Raises ArtError
    with a sentence when the file does not say where it lies, or holds no art.
    """
    root, notes = read_tree(data)
    said = _placement(root)
    part = plan.part(str(said["part"])).name
    to_chart, words = _fit(root, said)
    notes += words
    groups = _groups(root)
    areas: dict[str, BaseGeometry] = {r: Polygon() for r in ("silhouette", *ROLES)}
    colours: dict[str, BaseGeometry] = {}
    for role, tree in [*((r, _alone(root, g)) for r, g in groups.items()), ("", _rest(root, list(groups.values())))]:
        parts, painted = areas_of_svg(tree, notes)
        if role:
            form = shapely.union_all(list(parts.values()))
            parts = {role: form if role != "silhouette" else parts["silhouette"]}
        areas |= {r: shapely.union(areas[r], area) for r, area in parts.items()}
        for name, area in painted.items():
            colours[name] = shapely.union(colours.get(name, Polygon()), shapely.transform(area, to_chart))
    laid = {r: shapely.transform(g, to_chart) for r, g in areas.items()}
    if all(g.is_empty for g in laid.values()):
        raise ArtError("The file holds no art any more; draw in the groups of the stencil, and save it as plain SVG.")
    u0, s0_mm = map(float, said["chart"][:2])
    known = [p for p in plan.pieces if p.id in said["pieces"] and p.part == part]
    if len(said["pieces"]) == 1 and known:
        return _redrawn(plan, known[0], gallery, laid, colours, notes)
    notes.append("It was taken in as a new piece in its place; what it was drawn over is still there.")
    piece = Piece("", part, "", str(said.get("title") or "Drawn over")[:120], u0, s0_mm)
    return Back(piece, _drawing(laid, colours), tuple(dict.fromkeys(notes)))


def _placement(root: ElementTree.Element) -> dict[str, Any]:
    texts = [root.get("data-stencil") or ""]
    texts += ["".join(e.itertext()) for e in root.iter() if e.get("id") == "stencil-placement"]
    for text in texts:
        try:
            said = read_json(text)
            numbers = [*map(float, said["chart"]), *map(float, said["corner"]), *np.ravel(said["marks"]).astype(float)]
            whole = (said["version"] <= VERSION and len(said["chart"]) == 4 and np.shape(said["marks"]) == (3, 2)
                     and np.isfinite(numbers).all() and isinstance(said["pieces"], list) and said["part"])
        except (ValueError, KeyError, TypeError):
            continue
        if whole:
            return said
    raise ArtError("The file does not say where it lies on the limb: it is no stencil from here, or the program that "
                   "saved it threw the note away. Save it as plain SVG, or bring the drawing in as a new motif.")


def _fit(root: ElementTree.Element, said: dict[str, Any]) -> tuple[Any, list[str]]:
    """The map from the file's CSS pixels to the chart's mm (y up), by the marks or else by the stated size."""
    found = [shapes_box(_alone(root, e)) for k in "abc" for e in root.iter() if e.get("id") == f"place-{k}"]
    marks = [((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in found if b is not None]
    if len(marks) == 3:
        a, b, c = np.array(marks)
        p, q, r = np.asarray(said["marks"], float)
        linear = np.column_stack([q - p, r - p]) @ np.linalg.pinv(np.column_stack([b - a, c - a]))
        big, small = np.linalg.svd(linear, compute_uv=False)
        if small <= 0 or big / small > 1 + TURNED:
            raise ArtError("The three small crosses of the stencil were moved apart, so its place can't be found; undo "
                           "that, or bring the drawing in as a new motif.")
        scale = float(np.sqrt(big * small)) / PX_MM
        words = [] if abs(scale - 1) < 0.005 else [
            f"The file had been scaled to {100 / scale:.0f}%; it was put back to true size by its marks."]
        return (lambda xy: (xy - a) @ linear.T + p), words
    x, y = (float(v) for v in said["corner"])
    return (lambda xy: np.column_stack([x + xy[:, 0] * PX_MM, y - xy[:, 1] * PX_MM])), [
        "The small crosses were gone; it was placed by the size and corner of the page. Check its place."]


def shapes_box(root: ElementTree.Element) -> tuple[float, float, float, float] | None:
    """Box of all shapes of a file in CSS pixels, strokes not counted."""
    svg = sv.SVG.parse(io.BytesIO(ElementTree.tostring(root)), reify=True, ppi=96)
    boxes = [b for e in svg.elements() if isinstance(e, sv.Shape) and (b := e.bbox()) is not None]
    if not boxes:
        return None
    every = np.array(boxes, float)
    return (*every[:, :2].min(axis=0).tolist(), *every[:, 2:].max(axis=0).tolist())


def _groups(root: ElementTree.Element) -> dict[str, ElementTree.Element]:
    """The art groups by role, wherever another program put them."""
    return {str(e.get("id")): e for e in root.iter() if e.get("id") in ("silhouette", *ROLES)}


def _alone(root: ElementTree.Element, wanted: ElementTree.Element) -> ElementTree.Element:
    """A copy of the file that holds one element, with all that it stands in."""
    copy = ElementTree.Element(root.tag, {k: v for k, v in root.attrib.items() if k != "data-stencil"})
    for child in root:
        if child is wanted:
            copy.append(child)
        elif wanted in list(child.iter()):
            copy.append(_alone(child, wanted))
        elif child.tag.endswith("}defs") or child.tag.endswith("}style"):
            copy.append(child)
    return copy


def _rest(root: ElementTree.Element, without: list[ElementTree.Element]) -> ElementTree.Element:
    """A copy of the file without those elements, its own marks and its words."""
    copy = ElementTree.Element(root.tag, {k: v for k, v in root.attrib.items() if k != "data-stencil"})
    copy.text = root.text
    for child in root:
        name = child.get("id") or ""
        if child not in without and name not in OWN and name != "stencil-placement" and not name.startswith("place-"):
            copy.append(_rest(child, without))
    return copy


def _redrawn(plan: Plan, piece: Piece, gallery: Mapping[str, Drawing], laid: dict[str, BaseGeometry],
             colours: dict[str, BaseGeometry], notes: list[str]) -> Back:
    """The piece with its new art; what was hidden when the file was written is put back behind it, and where nothing
    was painted in colour, its colours lie as they did."""
    limb = surface_of(plan, piece.part)
    whole = lay(limb, piece, gallery[piece.art]).flat
    seen = visible_laid(scene(plan, piece.part, limb, gallery), plan.settings, [piece.id])[piece.id]
    hidden = shapely.difference(whole.outline, shapely.buffer(seen.outline, 0.15))
    hidden = shapely.buffer(shapely.buffer(hidden, -LEAST_MM), LEAST_MM * 1.05)
    if not hidden.is_empty:
        laid["silhouette"] = shapely.union(laid["silhouette"], shapely.intersection(hidden, whole.outline))
        for layer in whole.layers:
            laid[layer.role] = shapely.union(laid[layer.role], shapely.intersection(layer.area, hidden))
        notes.append("What lies hidden behind other pieces was kept as it was.")
    m = matrix(piece)
    back = np.linalg.inv(m[:, :2])

    def own(areas: dict[str, BaseGeometry]) -> dict[str, BaseGeometry]:
        return {r: shapely.transform(g, lambda xy: (xy - m[:, 2]) @ back.T) for r, g in areas.items()}

    new = own(colours)
    over = shapely.union_all(list(new.values()))
    for name, rings in noted_areas(gallery[piece.art].notes).items():
        new[name] = shapely.union(new.get(name, Polygon()), shapely.difference(rings_to_geometry(rings), over))
    return Back(piece, _drawing(own(laid), new), tuple(dict.fromkeys(notes)))


def _drawing(areas: Mapping[str, BaseGeometry], colours: Mapping[str, BaseGeometry]) -> Drawing:
    ink = shapely.union_all([g for r, g in areas.items() if r != "silhouette"])
    outline = shapely.union(areas["silhouette"], ink)
    if outline.area < 1.0:
        raise ArtError("The file holds no art any more; draw in the groups of the stencil, and save it as plain SVG.")

    def rings(g: BaseGeometry) -> tuple[np.ndarray, ...]:
        kept = [p for p in shapely.get_parts(g) if p.geom_type == "Polygon" and p.area > 0.005]
        return tuple(np.round(r, 3) for p in kept for r in geometry_to_rings(shapely.simplify(p, 0.005)) if len(r) > 2)

    layers = tuple(Layer(r, rings(areas[r])) for r in ROLES if not areas[r].is_empty)
    where = {n: geometry_to_rings(shapely.simplify(g, COLOUR_FINE_MM)) for n, g in to_outline(colours, outline).items()}
    return Drawing(rings(outline), tuple(la for la in layers if la.rings), notes=noted(where))
