"""An artist's SVG as a drawing: silhouette with holes, line work, tones, size in mm."""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any
from xml.etree import ElementTree

import numpy as np
import shapely
import svgelements as sv
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.colour_names import colours_said
from composer.art.colour_notes import noted
from composer.art.drawing import ROLES, Drawing, Layer, geometry_to_rings, rings_to_geometry
from composer.art.errors import ArtError
from composer.art.pixels import cut_to
from composer.art.svg_colours import Tint, by_role, coloured, name_of, shares_of, thin_said, to_outline
from composer.art.svg_flat import FAR_AWAY, STRAY, flattened, stroked
from composer.art.svg_guard import MOST_POINTS, read_tree
from composer.art.svg_mix import Coat, Paint, mixed, seen, united
from composer.art.svg_plain import CLIPS, make_plain
from composer.art.svg_veil import SEEN_THROUGH, SOLID, THINNED, groups_of, veiled
from composer.art.winding import filled_area

PX_MM = 25.4 / 96
"""CSS pixel in mm (CSS Values 4, 6.2: 96 px to the inch)."""
GOOD_MM = (4.0, 1200.0)
THINNEST_MM = 0.05
COLOUR_FINE_MM = 0.2
"""How exactly the outlines of colour areas are kept."""
FAINT = 0.08
"""Paint that covers no more of what lies below it is not seen."""
VEILED = ("Half-transparent paint was read as the tone that it makes with what lies below it on bare skin; solid ink "
          "that is darker stays.")
UNMIXED = ("So many see-through shapes lie over each other that each was read by itself, and they don't darken each "
           "other; merge them in the drawing program to have them mixed.")
_COORDINATE = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
ElementTree.register_namespace("", "http://www.w3.org/2000/svg")
ElementTree.register_namespace("xlink", "http://www.w3.org/1999/xlink")


@dataclass(frozen=True)
class ReadArt:
    """A drawing read from a file (where its colours lie is in its notes, `colour_notes`), the tone shares measured on
    it, notes for the artist, and shares of its outline by colour name."""

    drawing: Drawing
    tones: dict[str, float]
    notes: tuple[str, ...]
    colours: dict[str, float] = field(default_factory=dict)


def read_svg(data: bytes) -> ReadArt:
    """Read an SVG. Raises ArtError with a sentence when it holds nothing that can be placed.

    Files in our own layout (groups named silhouette, light, mid, dark, black, line) keep their
    layers; in any other file fills are sorted into tones by lightness, strokes become line work,
    and the silhouette is everything that a closed shape covers. Colours are named and their areas noted.
    """
    root, notes = read_tree(data)
    groups = {g.get("id"): g for g in root if g.tag.endswith("}g")}
    unit = _unit_mm(root)
    if "silhouette" in groups and unit is not None and all(_plain(g) for g in groups.values()):
        parts = {name: rings_to_geometry(_rings(g)) for name, g in groups.items() if name in ("silhouette", *ROLES)}
        every: dict[str, BaseGeometry] = {}
    else:
        (parts, every), unit = areas_of_svg(root, notes), PX_MM
    outline = _clean(parts.pop("silhouette", Polygon()))
    if outline.is_empty:
        raise ArtError(" ".join(dict.fromkeys(notes)) + " " * bool(notes)
                       + "The drawing has no closed shape, so nothing says what it covers on the skin; close its outer "
                       "line, or put a filled shape behind it, and save it again.")
    colours = to_outline(every, outline)
    shares = shares_of(colours, outline)
    notes += [s for s in (colours_said(shares), thin_said(every, colours)) if s]
    art = replace(finish_art(outline, parts, unit, notes, colours), colours=shares)
    if not any(la.rings for la in art.drawing.layers):
        raise ArtError(" ".join(dict.fromkeys(notes)) + " " * bool(notes)
                       + "Nothing in the drawing is dark enough to be inked, so it would not be seen; give its lines "
                       "or areas a tone and save it again.")
    return art


def read_own(data: bytes) -> Drawing:
    """The drawing in a file of our own layout, ring for ring; its tones are not measured.

    Raises ArtError when the file is in another layout (`read_svg` reads those).
    """
    root, _ = read_tree(data)
    groups = {g.get("id"): g for g in root if g.tag.endswith("}g")}
    unit = _unit_mm(root)
    if "silhouette" not in groups or unit is None or not all(_plain(g) for g in groups.values()):
        raise ArtError("The file is not laid out as the house's drawings are: groups of plain paths named silhouette, "
                       f"{', '.join(ROLES)}.")
    rings = {name: _rings(groups[name]) for name in ("silhouette", *ROLES) if name in groups}
    every = np.concatenate(rings["silhouette"])
    middle = (every.min(axis=0) + every.max(axis=0)) / 2

    def placed(name: str) -> tuple[np.ndarray, ...]:
        return tuple(np.round((r - middle) * (unit, -unit), 3) for r in rings[name])

    return Drawing(placed("silhouette"), tuple(Layer(r, placed(r)) for r in ROLES if r in rings))


def _unit_mm(root: ElementTree.Element) -> float | None:
    """mm per user unit where the file states a real size, else None. Sets width and height on the
    root so that both agree with the viewBox."""
    box = [float(v) for v in re.findall(r"[-+]?(?:\d*\.\d+|\d+)(?:[eE][-+]?\d+)?", root.get("viewBox", ""))]
    size = {}
    for name in ("width", "height"):
        found = re.fullmatch(r"\s*((?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?)\s*(mm|cm|in|pt|pc|px|Q)?\s*",
                             root.get(name) or "")
        value = float(found[1].replace(",", ".")) if found else 0.0    # some programs write 80,5mm
        if found and 0 < value < 1e9:
            size[name] = value * {"mm": 1, "cm": 10, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6,
                                  "Q": 0.25}.get(found[2] or "px", PX_MM)
    if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
        root.attrib.pop("viewBox", None)
        return PX_MM if size else None
    stated = [size[n] / box[i] for n, i in (("width", 2), ("height", 3)) if n in size]
    unit = min(stated, default=PX_MM)
    if not (len(stated) == 2 and (root.get("preserveAspectRatio") or "").strip().startswith("none")):
        root.set("width", f"{box[2] * unit:.9g}mm")
        root.set("height", f"{box[3] * unit:.9g}mm")
    return unit if stated else None


def _plain(group: ElementTree.Element) -> bool:
    return group.get("transform") is None and all(
        e.tag.endswith("}path") and re.fullmatch(rf"(?:[MLZ\s,]|{_COORDINATE})*", e.get("d", ""))
        and not e.get("transform") for e in group)


def _rings(group: ElementTree.Element) -> list[np.ndarray]:
    out, total = [], 0
    for path in group:
        for part in re.split("[MZ]", path.get("d", "")):
            v = np.array(re.findall(_COORDINATE, part), float)
            total += len(v)
            if total > 2 * MOST_POINTS:
                raise ArtError(f"The drawing has more than {MOST_POINTS} points; simplify its paths and save it again.")
            if len(v) and not np.abs(v).max() < FAR_AWAY:
                raise ArtError(STRAY)
            if len(v) >= 6 and len(v) % 2 == 0:
                out.append(v.reshape(-1, 2))
    return out


def areas_of_svg(root: ElementTree.Element, notes: list[str]
                 ) -> tuple[dict[str, BaseGeometry], dict[str, BaseGeometry]]:
    """What the drawing's shapes cover, by role and as "silhouette", and by colour name; in px at 96 to the inch, y
    down.

    The tree is changed on the way (`svg_plain`); `notes` takes what was left out. Raises ArtError.
    """
    try:
        clips = make_plain(root, notes)
        svg = sv.SVG.parse(io.BytesIO(ElementTree.tostring(root)), reify=False, ppi=96, color="black")
        shapes = [e for e in svg.elements() if isinstance(e, sv.Shape) and e.values.get("visibility") != "hidden"
                  and e.values.get("display") != "none"]
    except ArtError:
        raise
    except RecursionError as err:
        raise ArtError("The drawing refers to itself without end; break the link and save it again.") from err
    except Exception as err:
        raise ArtError(f"A shape in the drawing cannot be read ({str(err)[:120]}); "
                       "save it again as plain SVG.") from err
    parts: dict[str, BaseGeometry] = {r: Polygon() for r in ("silhouette", *ROLES)}
    stack: list[tuple[Tint, BaseGeometry]] = []
    coats: list[Coat] = []
    form: list[BaseGeometry] = []
    loose: list[BaseGeometry] = []
    points = 0
    page = _page(svg)

    def lay(paint: Any, opaque: float, role: str, area: BaseGeometry, within: tuple[tuple[int, float], ...]) -> None:
        solid = opaque >= SOLID
        if solid:
            stack.append(((role, name_of(_on_white(paint, opaque))), area))
        cover = 1.0 if solid or paint.alpha is None else paint.alpha / 255
        r, g, b = (cover * v / 255 for v in (paint.red, paint.green, paint.blue))
        coats.append(Coat(Paint((r, g, b), cover, role == "line"), area, () if solid else within))

    for shape in shapes:
        rings, lines = flattened(shape)
        points += sum(map(len, rings)) + sum(map(len, lines))
        if points > MOST_POINTS:
            raise ArtError(f"The drawing has more than {MOST_POINTS} points; simplify its paths and save it again.")
        rule = shape.values.get("fill-rule") or "nonzero"
        share, within = float(shape.values.get(SEEN_THROUGH) or 1), groups_of(shape.values.get(THINNED))
        fill, stroke = (_opaque(p, share) for p in (shape.fill, shape.stroke))
        area = filled_area(rings + [ln for ln in lines if len(ln) > 2] if fill else rings, rule)
        shown = [clips[int(k)] for k in (shape.values.get(CLIPS) or "").split()]
        for clip in shown:
            area = area.intersection(clip)
        role = _role(shape.fill, fill) if fill else None
        if role == "open" and not stack and page is not None and area.area > 0.98 * page.area:
            continue
        if not area.is_empty:
            form.append(area)
            if role:
                lay(shape.fill, fill, role, area, within)
        ink = stroked(shape, rings, lines) if stroke else Polygon()
        if not ink.is_empty:
            for clip in shown:
                ink = ink.intersection(clip)
            stroke_role = _role(shape.stroke, stroke)
            lay(shape.stroke, stroke, "line" if stroke_role in ("black", "dark") else stroke_role, ink, within)
            (loose if area.is_empty else form).append(ink)
    solid = seen(stack)[0]
    parts.update(by_role(solid))
    veil: dict[Tint, BaseGeometry] = {}
    if any(c.seen_through for c in coats):
        notes.append(VEILED)
        veil = _seen_through(coats, notes)
        parts.update(veiled(parts, by_role(veil)))
    colours = coloured(solid, veil) if any(name for _, name in (*solid, *veil)) else {}
    # Whiskers and rays: open lines belong to the form where there is one, they don't make one by themselves.
    parts["silhouette"] = shapely.union_all([*form, *loose]) if form else Polygon()
    return parts, colours


def _seen_through(coats: list[Coat], notes: list[str]) -> dict[Tint, BaseGeometry]:
    """Areas by tint of what paints make where see-through ones lie."""
    found = mixed(coats)
    if found is None:
        notes.append(UNMIXED)
        return seen([(_tint_of(c.alone), c.area) for c in coats])[0]
    known: dict[Paint, Tint] = {}
    out: dict[Tint, list[Polygon]] = {}
    for face, paint in zip(*found, strict=True):
        if paint not in known:
            known[paint] = _tint_of(paint)
        out.setdefault(known[paint], []).append(face)
    return {tint: united(faces) for tint, faces in out.items()}


def _tint_of(paint: Paint) -> Tint:
    return _tone_of(paint), name_of(paint.on_white())


def _tone_of(paint: Paint) -> str:
    role = _tone(paint.on_white())
    return "line" if paint.line and role in ("black", "dark") else role


def _page(svg: Any) -> BaseGeometry | None:
    try:
        w, h = float(svg.width), float(svg.height)
    except (TypeError, ValueError):
        return None
    return shapely.box(0, 0, w, h) if w > 0 and h > 0 else None


def _opaque(paint: Any, share: float) -> float:
    """How much of what lies below a paint it covers, 0 where that is next to nothing."""
    if paint is None or paint.value is None:
        return 0.0
    alpha = share * (1.0 if paint.alpha is None else paint.alpha / 255)
    return alpha if alpha > FAINT else 0.0


def _role(paint: Any, opaque: float) -> str:
    return _tone(_on_white(paint, opaque))


def _on_white(paint: Any, opaque: float) -> np.ndarray:
    """The colour (3,), 0 to 1, of a paint over bare skin, which is white in a drawing."""
    return 1 - opaque * (1 - np.array([paint.red, paint.green, paint.blue]) / 255)


def _tone(v: np.ndarray) -> str:
    """The role of a colour (3,), 0 to 1, by its CIE L*."""
    lin = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4) @ (0.2126, 0.7152, 0.0722)
    light = 116 * np.cbrt(lin) - 16 if lin > 0.008856 else 903.3 * lin
    return ("black" if light < 22 else "dark" if light < 45 else "mid" if light < 70 else
            "light" if light < 94 else "open")


def _clean(outline: BaseGeometry) -> BaseGeometry:
    """Outline without crumbs and pinholes (below 0.1 % of its area)."""
    polys = [g for g in getattr(outline, "geoms", [outline]) if isinstance(g, Polygon) and not g.is_empty]
    if not polys:
        return Polygon()
    least = max(p.area for p in polys) * 1e-3
    kept = [Polygon(p.exterior, [i for i in p.interiors if Polygon(i).area > least]) for p in polys if p.area > least]
    return shapely.union_all(kept)


def finish_art(outline: BaseGeometry, parts: dict[str, BaseGeometry], unit: float, notes: list[str],
               colours: Mapping[str, BaseGeometry] | None = None) -> ReadArt:
    """Areas by role (y down, `unit` mm each way) as a drawing round its middle, cut to its outline, tones measured;
    those by colour name are noted in it."""
    x0, y0, x1, y1 = outline.bounds
    size = max(x1 - x0, y1 - y0) * unit
    if not GOOD_MM[0] <= size <= GOOD_MM[1]:
        notes.append(f"The file says the drawing is {size:.4g} mm long, which no piece is; it was taken in at 100 mm. "
                     "Set its size on the limb.")
        unit = unit * 100 / size
    shift = np.array([(x0 + x1) / 2, (y0 + y1) / 2])

    def rings(g: BaseGeometry, tolerance: float = 0.02) -> tuple[np.ndarray, ...]:
        out = tuple((r - shift) * (unit, -unit) for r in geometry_to_rings(g.simplify(tolerance / unit)))
        return tuple(np.round(r, 3) for r in out if len(r) >= 3)

    if outline.buffer(-THINNEST_MM / 2 / unit).is_empty:
        raise ArtError(f"The drawing is nowhere wider than {THINNEST_MM:g} mm, finer than any needle draws; close its "
                       "outer line, or put a filled shape behind it, and save it again.")
    inked = outline.simplify(0.02 / unit).buffer(0.5 / unit)
    layers = []
    shares: Counter[str] = Counter()
    covered: BaseGeometry = Polygon()
    for role in reversed(ROLES):
        g = parts.get(role, Polygon())
        if g.is_empty:
            continue
        if not inked.covers(g):
            g = g.intersection(inked)
        layers.append(Layer(role, rings(g)))
        seen = cut_to(g, outline)
        more = seen if covered.is_empty else covered.union(seen)
        shares["black" if role == "line" else role] += more.area - covered.area
        covered = more
    tones = {r: round(shares[r] / outline.area, 3) for r in ("black", "dark", "mid", "light")}
    tones["open"] = round(max(0.0, 1 - sum(tones.values())), 3)
    where = noted({name: rings(g, COLOUR_FINE_MM) for name, g in (colours or {}).items()})
    return ReadArt(Drawing(rings(outline), tuple(reversed(layers)), notes=where), tones, tuple(dict.fromkeys(notes)))
