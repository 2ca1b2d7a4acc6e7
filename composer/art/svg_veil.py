"""How much can be seen through the shapes of an SVG, and what tone that makes on skin.

The rule: a half-transparent paint is the tone that its colour makes when it is mixed over bare skin (white in a
drawing) in sRGB, by the share of opacity of fill or stroke times those of the shape and of all groups it stands in
(SVG 1.1, 14.5 and 11.3; simple alpha compositing, Compositing and Blending Level 1, 5.1). Where it lies on
something darker, that stays: ink can't be taken off. Where it lies on something lighter, it is seen in its own
tone.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Sequence
from xml.etree.ElementTree import Element

import shapely
import svgelements as sv
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import ROLES
from composer.art.svg_guard import HREF, local_name

SEEN_THROUGH = "seen-through"
"""Attribute that says, for an element and all in it, what share of it is opaque, groups above it counted in."""
SOLID = 0.95
"""From this share on paint is taken for solid."""
_SIMPLE = re.compile(r"(?P<tag>[\w-]+|\*)?(?P<rest>(?:[.#][\w-]+)*)")
_DARKEST_FIRST = ("line", "black", "dark", "mid", "light")


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

    def walk(e: Element, above: float) -> None:
        share = above * own.of(e)
        e.attrib.pop(SEEN_THROUGH, None)
        if share < 1.0:
            e.set(SEEN_THROUGH, f"{share:.4f}")
        for i, child in enumerate(list(e)):
            if local_name(child.tag) == "use" and share * own.of(child) < 1.0:
                goal = by_id.get((child.get("href") or child.get(HREF) or "").strip().lstrip("#"))
                if goal is not None:
                    e[i] = child = _copied(child, goal)
            walk(child, share)

    walk(root, 1.0)


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


def veiled(solid: dict[str, BaseGeometry], veils: Sequence[tuple[int, str, BaseGeometry]],
           stack: Sequence[tuple[str, BaseGeometry]]) -> dict[str, BaseGeometry]:
    """Areas by role once veils (what of `stack` lies below them, role, area) are laid on: `solid` is what is seen of
    the stack alone."""
    if not veils:
        return solid
    tree = shapely.STRtree([g for _, g in stack])
    shown: dict[str, list[BaseGeometry]] = {}
    for below, role, area in veils:
        over = [stack[k][1] for k in tree.query(area) if k >= below]
        shown.setdefault(role, []).append(shapely.difference(area, shapely.union_all(over)) if over else area)
    out: dict[str, BaseGeometry] = {}
    darker: BaseGeometry = Polygon()
    for role in _DARKEST_FIRST:
        area = shapely.union_all([solid.get(role, Polygon()), *shown.get(role, [])])
        out[role] = shapely.difference(area, darker)
        darker = shapely.union(darker, area)
    return {r: out[r] for r in ROLES if r in out}
