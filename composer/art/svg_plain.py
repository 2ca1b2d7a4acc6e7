"""What an SVG hides, clips and blends, said so that plain shapes are left: clips as areas, gradients as one colour."""

from __future__ import annotations

import copy
import io
import re
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import shapely
import svgelements as sv
from shapely.geometry.base import BaseGeometry

from composer.art.errors import ArtError
from composer.art.svg_flat import flattened
from composer.art.svg_guard import HREF, local_name
from composer.art.svg_veil import SEEN_THROUGH, mark_seen_through, share_of
from composer.art.winding import filled_area

CLIPS = "clipped-by"
"""Attribute that lists, for an element and all in it, the clips it is under (numbers into the list of areas)."""
MOST_CLIPS = 500
_URL = re.compile(r"url\(\s*[\"']?#([^)\"']+?)[\"']?\s*\)")
_PAINTED = re.compile(r"((?:^|[;{\s])(?:fill|stroke)\s*:\s*)url\(\s*[\"']?#([^)\"']+?)[\"']?\s*\)[^;}]*")
_NUMBER = re.compile(r"[-+]?(?:\d*\.\d+|\d+)(?:[eE][-+]?\d+)?")
_FRAME = ("x", "y", "width", "height", "viewBox", "preserveAspectRatio", "href", HREF)
_FAINT = 0.08
_SIZES = {"rect": ("width", "height"), "circle": ("r",), "ellipse": ("rx", "ry")}
_PERCENT = re.compile(r"((?:fill|stroke)-opacity\s*:\s*)([\d.]+%)")
_COMMANDS = "MmZzLlHhVvCcSsQqTtAa"
_PATH_DATA = re.compile(rf"[{_COMMANDS}0-9eE.,+\-\s]*")


def make_plain(root: Element, notes: list[str]) -> list[BaseGeometry]:
    """Change the tree in place so that its shapes can be read one by one, and return the clips' areas.

    Gradients become the mean of their stops (weighed by opacity), patterns a middle tone; what is not seen (opacity
    below 0.08, display none) and what only serves others (masks, markers, patterns) is taken out; each element
    under a clip path is marked with `CLIPS`, each that can be seen through with `SEEN_THROUGH`. Areas are in px, 96
    to the inch. Says in `notes` what could not be kept. Raises ArtError when there are more than MOST_CLIPS clips.
    """
    _drop_void(root, notes)
    _open_pages(root)
    _paint_plainly(root, notes)
    mark_seen_through(root)
    _drop_unseen(root, notes)
    _end_damaged(root, notes)
    return _clips(root, notes)


def _drop_void(root: Element, notes: list[str]) -> None:
    """Take out what is not drawn: shapes without a size or with one below 0, paths without data (SVG 2, 9.3 and 10.2 to
    10.4); and what stands for nothing: a matrix that lacks numbers, 'inherit'."""
    for above in list(root.iter()):
        for child in list(above):
            name = local_name(child.tag)
            sizes = [child.get(k, "").strip() for k in _SIZES.get(name, ())]
            given = [v for v in sizes if v not in ("", "auto")]
            void = name in _SIZES and (len(given) < (len(sizes) if name == "rect" else 1) or any(
                v.startswith("-") for v in given))
            if void or (name == "path" and not child.get("d", "").strip()):
                above.remove(child)
    for e in root.iter():
        for key in [k for k, v in e.attrib.items() if v.strip() == "inherit"]:
            del e.attrib[key]
        if any(len(_NUMBER.findall(m)) != 6 for m in re.findall(r"matrix\s*\(([^)]*)\)", e.get("transform", ""))):
            del e.attrib["transform"]
            notes.append("A damaged transform was left out; look whether something lies in the wrong place.")
        for key in ("fill-opacity", "stroke-opacity"):
            if e.get(key, "").strip().endswith("%"):
                e.set(key, f"{share_of(e.get(key, '')):g}")
        if "%" in e.get("style", ""):
            e.set("style", _PERCENT.sub(lambda m: f"{m[1]}{share_of(m[2]):g}", e.get("style", "")))
        if local_name(e.tag) == "style" and "%" in (e.text or ""):
            e.text = _PERCENT.sub(lambda m: f"{m[1]}{share_of(m[2]):g}", e.text or "")


def _end_damaged(root: Element, notes: list[str]) -> None:
    """Paths end before the command in which something stands that belongs in none (SVG 2, section 9.5.4)."""
    for path in root.iter():
        data = path.get("d", "") if local_name(path.tag) == "path" else ""
        sound = _PATH_DATA.match(data)[0]
        if len(sound) < len(data):
            path.set("d", sound[: max((sound.rfind(c) for c in _COMMANDS), default=0)] if sound.strip() else "")
            notes.append("A damaged path was read only as far as it is sound; look whether something is missing.")


def _open_pages(root: Element) -> None:
    """Pages in the page, and each copy of a symbol, as groups with the transform they stand for (SVG 1.1, 5.6, 7.7)."""
    symbols = {e.get("id"): e for e in root.iter() if local_name(e.tag) == "symbol"}
    whole = [float(v) for v in _NUMBER.findall(root.get("viewBox", ""))][2:] or [100.0, 100.0]

    def walk(element: Element) -> None:
        for i, child in enumerate(list(element)):
            symbol = symbols.get((child.get("href") or child.get(HREF) or "").strip().lstrip("#"))
            name = local_name(child.tag)
            if name == "svg" or (name == "use" and symbol is not None):
                page = child if name == "svg" else symbol
                space = child.tag[:-len(name)]
                group = Element(f"{space}g", {k: v for k, v in child.attrib.items() if k not in _FRAME})
                frame = ElementTree.SubElement(group, f"{space}g", {"transform": _frame_transform(child, page, whole)})
                frame.extend(copy.deepcopy(list(page)) if name == "use" else list(page))
                element[i] = child = group
            if local_name(child.tag) != "symbol":
                walk(child)

    walk(root)


def _frame_transform(place: Element, page: Element, whole: list[float]) -> str:
    """From a page's own units to where it stands; `whole` is the drawing's width and height in user units."""
    def length(name: str, of: float, default: str) -> float:
        found = re.fullmatch(rf"\s*({_NUMBER.pattern})\s*(px|%)?\s*", place.get(name) or default)
        return 0.0 if not found else float(found[1]) * (of / 100 if found[2] == "%" else 1)

    x, y = length("x", whole[0], "0"), length("y", whole[-1], "0")
    box = [float(v) for v in _NUMBER.findall(page.get("viewBox", ""))]
    if len(box) != 4 or min(box[2:]) <= 0:
        return f"translate({x} {y})"
    wide, high = length("width", whole[0], "100%"), length("height", whole[-1], "100%")
    sx, sy = wide / box[2], high / box[3]
    how = (page.get("preserveAspectRatio") or "xMidYMid meet").split()
    if how[0] != "none":
        sx = sy = max(sx, sy) if "slice" in how else min(sx, sy)
        x += (wide - sx * box[2]) * (0 if "xMin" in how[0] else 1 if "xMax" in how[0] else 0.5)
        y += (high - sy * box[3]) * (0 if "YMin" in how[0] else 1 if "YMax" in how[0] else 0.5)
    return f"translate({x} {y}) scale({sx} {sy}) translate({-box[0]} {-box[1]})"


def _paint_plainly(root: Element, notes: list[str]) -> None:
    colours = {e.get("id"): _mean_colour(e, {g.get("id"): g for g in root.iter()})
               for e in root.iter() if local_name(e.tag) in ("linearGradient", "radialGradient")}
    patterns = {e.get("id") for e in root.iter() if local_name(e.tag) == "pattern"}

    def colour(name: str) -> str:
        if name in patterns:
            notes.append("A pattern was read as one middle tone.")
        return colours.get(name, "#808080")

    for e in root.iter():
        for key in ("fill", "stroke"):
            if found := _URL.search(e.get(key, "")):
                e.set(key, colour(found[1]))
        if "url(" in e.get("style", ""):
            e.set("style", _PAINTED.sub(lambda m: m[1] + colour(m[2]), e.get("style", "")))
        if local_name(e.tag) == "style" and "url(" in (e.text or ""):
            e.text = _PAINTED.sub(lambda m: m[1] + colour(m[2]), e.text or "")
            if re.search(r"clip-path\s*:", e.text):
                notes.append("A clip set by a style sheet was left out; what it hides is drawn whole.")


def _mean_colour(gradient: Element, by_id: dict[str | None, Element]) -> str:
    stops: list[Element] = []
    for _ in range(20):
        stops = [e for e in gradient if local_name(e.tag) == "stop"]
        goal = by_id.get((gradient.get("href") or gradient.get(HREF) or "").strip().lstrip("#"))
        if stops or goal is None:
            break
        gradient = goal
    seen = [(c, c.alpha / 255 * share_of(_style(e, "stop-opacity") or "1")) for e in stops
            if (c := sv.Color(_style(e, "stop-color") or "black")).value is not None]
    total = sum(a for _, a in seen)
    if not seen:
        return "#808080"
    mean = [round(sum(getattr(c, k) * a for c, a in seen) / max(total, 1e-9)) for k in ("red", "green", "blue")]
    return "#" + "".join(f"{v:02x}" for v in (*mean, round(255 * total / len(seen))))


def _style(e: Element, name: str) -> str:
    """A property of the element itself, from its style or its attribute."""
    found = re.search(rf"(?:^|;)\s*{name}\s*:\s*([^;]+)", e.get("style", ""))
    return (found[1] if found else e.get(name, "")).strip()


def _drop_unseen(element: Element, notes: list[str]) -> None:
    for child in list(element):
        name = local_name(child.tag)
        unseen = _style(child, "display") == "none" or float(child.get(SEEN_THROUGH) or 1) < _FAINT
        if unseen or name in ("symbol", "mask", "marker", "pattern", "filter"):
            element.remove(child)
        else:
            if _style(child, "mask") not in ("", "none"):
                notes.append("A mask was left out; what it hides is drawn whole.")
            _drop_unseen(child, notes)


def _clips(root: Element, notes: list[str]) -> list[BaseGeometry]:
    by_id = {e.get("id"): e for e in root.iter() if local_name(e.tag) == "clipPath"}
    areas: list[BaseGeometry] = []
    shelf = [e for e in root if local_name(e.tag) in ("defs", "style")]

    def walk(e: Element, above: tuple[Element, ...], under: str) -> None:
        found = _URL.search(_style(e, "clip-path"))
        clip = by_id.get(found[1]) if found else None
        if clip is not None and clip.get("clipPathUnits") == "objectBoundingBox":
            notes.append("A clip given in shares of what it clips was left out; what it hides is drawn whole.")
        elif clip is not None:
            if len(areas) >= MOST_CLIPS:
                raise ArtError(f"The drawing has more than {MOST_CLIPS} clips; cut its shapes for good and save it "
                               "again.")
            areas.append(_area(clip, (*above, e), shelf))
            under = f"{under} {len(areas) - 1}".strip()
        if under:
            e.set(CLIPS, under)
        for child in e:
            if local_name(child.tag) != "clipPath":
                walk(child, (*above, e), under)

    for e in root.iter():
        e.attrib.pop(CLIPS, None)
    if by_id:
        walk(root, (), "")
    return areas


def _area(clip: Element, above: tuple[Element, ...], shelf: list[Element]) -> BaseGeometry:
    """What a clip path shows of an element with these elements above it, itself the last."""
    top = inner = Element(above[0].tag, {k: v for k, v in above[0].attrib.items() if k != "id"})
    for kept in shelf:
        top.append(copy.deepcopy(kept))
    for e in (*above[1:], clip):
        tag = f"{e.tag[:-len(local_name(e.tag))]}g"
        inner = ElementTree.SubElement(inner, tag, {k: v for k, v in e.attrib.items() if k == "transform"})
    for child in clip:
        inner.append(copy.deepcopy(child))
    svg = sv.SVG.parse(io.BytesIO(ElementTree.tostring(top)), reify=False, ppi=96, color="black")
    shapes = [s for s in svg.elements() if isinstance(s, sv.Shape)]
    return shapely.union_all([filled_area([r for half in flattened(s) for r in half if len(r) > 2],
                                          s.values.get("clip-rule") or "nonzero") for s in shapes])
