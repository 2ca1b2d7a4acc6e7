"""How much can be seen through the shapes of an SVG, and what tone that makes on skin.

The rule: where half-transparent paint lies, the tone is that of the colour that it makes with all below it, over bare
skin (white in a drawing; `svg_mix`). Where it would make solid paint lighter, that stays as it is: ink can't be taken
off.
"""

from __future__ import annotations

import copy
import re
from itertools import count
from xml.etree.ElementTree import Element

import shapely
import svgelements as sv
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import ROLES
from composer.art.svg_guard import HREF, local_name

SEEN_THROUGH = "seen-through"
"""Attribute that says, for an element and all in it, what share of it is opaque, groups above it counted in."""
THINNED = "thinned-in"
"""Attribute that lists, for an element and all in it, the elements with an opacity that it stands in, itself too,
outermost first: 'number:share number:share'."""
SOLID = 0.95
"""From this share on paint is taken for solid."""
_SIMPLE = re.compile(r"(?P<tag>[\w-]+|\*)?(?P<rest>(?:[.#][\w-]+)*)")
DARKEST_FIRST = ("line", "black", "dark", "mid", "light")


def share_of(text: str) -> float:
    """'0.4' or '40%' as a share; 1 where it can't be read."""
    try:
        return min(max(float(text.strip().rstrip("%")) / (100 if text.strip().endswith("%") else 1), 0.0), 1.0)
    except ValueError:
        return 1.0


class Opacities:
    """The opacity of each element of a tree by itself: of its style, else of a style sheet, else of its attribute
    (CSS 2.1, 6.4.3). Of style sheets plain selectors are read: a tag, classes, an id."""

    def __init__(self, root: Element) -> None:
        self._rules: dict[str, list[tuple[tuple[int, int, bool, int], str, set[str], str]]] = {}
        self._count = 0
        for sheet in (e for e in root.iter() if local_name(e.tag) == "style"):
            for rule in (sheet.text or "").split("}"):
                who, _, body = rule.partition("{")
                if found := _said(body):
                    for one in who.split(","):
                        self._add(one.strip(), found)

    def _add(self, who: str, value: str) -> None:
        said = _SIMPLE.fullmatch(who)
        if said is None or not who:
            return
        wanted, tag = set(re.findall(r"[.#][\w-]+", said["rest"])), (said["tag"] or "").strip("*")
        self._count += 1
        names = sum(w[0] == "#" for w in wanted)
        key = min(wanted, default=tag)          # whatever it asks for, an element must have this
        row = self._rules.setdefault(key, [])
        row.append(((names, len(wanted) - names, bool(tag), self._count), tag, wanted, value))

    def of(self, e: Element) -> float:
        found = _said(e.get("style", "")) or self._by_sheet(e) or e.get("opacity", "")
        return share_of(found) if found else 1.0

    def _by_sheet(self, e: Element) -> str:
        if not self._rules:
            return ""
        tag = local_name(e.tag)
        has = {f".{c}" for c in e.get("class", "").split()} | {f"#{e.get('id')}"}
        fits = [(weight, value) for key in (*has, tag, "") for weight, own, wanted, value in self._rules.get(key, ())
                if wanted <= has and own in ("", tag)]
        return max(fits)[1] if fits else ""


def _said(style: str) -> str:
    found = re.search(r"(?:^|;)\s*opacity\s*:\s*([^;!]+)", style)
    return found[1].strip() if found else ""


def mark_seen_through(root: Element) -> None:
    """Mark every element that can be seen through. A reference (`use`) to be seen through gives way to a copy of what
    it stands for, which may stand elsewhere as solid."""
    own = Opacities(root)
    by_id = {e.get("id"): e for e in root.iter() if e.get("id")}
    number = count(1)

    def walk(e: Element, above: float, within: str) -> None:
        mine = own.of(e)
        share = above * mine
        for key in (SEEN_THROUGH, THINNED):
            e.attrib.pop(key, None)
        if mine < 1.0:
            within = f"{within} {next(number)}:{mine:.4f}".strip()
        if share < 1.0:
            e.set(SEEN_THROUGH, f"{share:.4f}")
            e.set(THINNED, within)
        for i, child in enumerate(list(e)):
            if local_name(child.tag) == "use":
                goal = by_id.get((child.get("href") or child.get(HREF) or "").strip().lstrip("#"))
                if goal is not None and (share * own.of(child) < 1.0 or any(own.of(v) < 1.0 for v in goal.iter())):
                    e[i] = child = _copied(child, goal)
            walk(child, share, within)

    walk(root, 1.0, "")


def groups_of(said: str | None) -> tuple[tuple[int, float], ...]:
    """What `THINNED` says of a shape: numbers and shares, outermost first."""
    pairs = (v.split(":") for v in (said or "").split())
    return tuple((int(a), float(b)) for a, b in pairs)


def _copied(use: Element, goal: Element) -> Element:
    """A reference as a group that holds what it stands for (SVG 1.1, 5.6)."""
    kept = {k: v for k, v in use.attrib.items() if k not in ("x", "y", "width", "height", "href", HREF)}
    x, y = (sv.Length(use.get(k) or "0").value(ppi=96, relative_length=0) for k in ("x", "y"))
    moved = f"translate({x} {y})"
    kept["transform"] = f"{use.get('transform', '')} {moved}".strip()
    group = Element(f"{use.tag[:-len('use')]}g", kept)
    group.append(copy.deepcopy(goal))
    for e in group.iter():
        e.attrib.pop("id", None)        # a name belongs to one element
    return group


def veiled(solid: dict[str, BaseGeometry], shown: dict[str, BaseGeometry]) -> dict[str, BaseGeometry]:
    """Areas by role: of each place the darker of solid paint alone and what is seen where see-through paint lies."""
    out: dict[str, BaseGeometry] = {}
    darker: BaseGeometry = Polygon()
    for role in DARKEST_FIRST:
        area = shapely.union(solid.get(role, Polygon()), shown.get(role, Polygon()))
        out[role] = shapely.difference(area, darker)
        darker = shapely.union(darker, area)
    return {r: out[r] for r in ROLES if r in out}
