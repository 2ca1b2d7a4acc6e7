"""The named zones of chest and upper back: what each is like, and its shape on one side. Data and drawing rules only.

Shapes are drawn on the half with x >= 0 of the template of `composer.body.panel_mirror`, in sheet mm, from these
places: the top of the midline (notch, nape), the level of the armpits there, shoulder point, crease, side and the
neck's end on the shoulder line. They lie in an order, each over all that follow; the last is whatever is left. Bones
and muscles are put by shares of the taped lengths (from memory of anatomy, no published source), not where the
client's own were felt.

The scales are those of `composer.body.zone_table`: common practice, no published source, there to be changed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.zone_table import Zone

FAR = 600.0
"""Shapes that end at an edge of the part run so far past it, mm; what is no skin is cut off later."""
NIPPLE_BELOW_MM, NIPPLE_APART = 42.0, 0.105
"""Below the level of the armpits, and from the midline as a share of the chest girth: the fullest place of
`composer.body.yoke_shape`."""


@dataclass(frozen=True)
class Places:
    """Where the template's places are, each (2,) mm; `height` from the armpits' level up to `top`, `across` from the
    midline to the crease, `girth` of the chest."""

    top: np.ndarray
    armpits: np.ndarray
    neck: np.ndarray
    shoulder: np.ndarray
    crease: np.ndarray
    side: np.ndarray
    girth: float

    @property
    def height(self) -> float:
        return float(self.top[1] - self.armpits[1])

    @property
    def across(self) -> float:
        return float(self.crease[0])

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A place `x` of the way to the crease, and `y` of the way from the armpits' level to the top."""
        return x * self.across, float(self.armpits[1]) + y * self.height


@dataclass(frozen=True)
class PanelZone:
    """A zone of chest or back with its figures. `both`: one of it on each side, told apart by the client's left and
    right; else it lies across the midline. `shape` draws it."""

    name: str
    label: str
    pain: float
    movement: float
    visibility: float
    shape: Callable[[Places], BaseGeometry]
    over_bone: bool = False
    both: bool = True

    def of(self, side: str) -> Zone:
        """The zone of one side ('left', 'right'), or the only one ('')."""
        name = f"{self.name}_{side}" if side else self.name
        label = f"{side.capitalize()} {self.label[:1].lower()}{self.label[1:]}" if side else self.label
        return Zone(name, label, self.pain, self.movement, self.visibility, self.over_bone)


def _soft(points: list[tuple[float, float]]) -> Polygon:
    """A ring through corners cut three times (Chaikin 1974), so that none is sharp."""
    ring = np.array(points, float)
    for _ in range(3):
        after = np.roll(ring, -1, axis=0)
        ring = np.stack([0.75 * ring + 0.25 * after, 0.25 * ring + 0.75 * after], axis=1).reshape(-1, 2)
    return Polygon(ring)


def _line(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """An open line with its inner corners cut."""
    line = np.array(points, float)
    for _ in range(3):
        cut = np.stack([0.75 * line[:-1] + 0.25 * line[1:], 0.25 * line[:-1] + 0.75 * line[1:]], axis=1).reshape(-1, 2)
        line = np.concatenate([line[:1], cut, line[-1:]])
    return [(float(x), float(y)) for x, y in line]


def _everything(p: Places) -> BaseGeometry:
    return shapely.box(-FAR, -FAR, FAR, FAR)


def _armpit_edge(p: Places) -> BaseGeometry:
    """Along the fold under the arm, as far as a hand is wide."""
    c, s = p.crease, p.side
    above = (float(c[0] + s[0]) / 2 + 8.0, float(max(c[1], s[1])) + 0.32 * p.across)
    hull = Polygon([(float(c[0]), float(c[1]) + 4.0), above, (FAR, above[1]), (FAR, float(s[1])),
                    (float(s[0]), float(s[1]))])
    return shapely.buffer(hull, 0.13 * p.across)


def _shoulder_line(p: Places, share: float) -> tuple[float, float]:
    """A place on the way from the top of the midline to the shoulder point."""
    x, y = p.top + share * (p.shoulder - p.top)
    return float(x), float(y)


def _collar_line(p: Places) -> list[tuple[float, float]]:
    (x0, y0), (x1, y1), (x2, y2), end = (_shoulder_line(p, k) for k in (0.13, 0.42, 0.74, 1.3))
    d = 0.05 * p.height
    return _line([(x0, y0 - d), (x1, y1 - 0.4 * d), (x2, y2 + 0.5 * d), end])


def _collarbone(p: Places) -> BaseGeometry:
    return shapely.buffer(LineString(_collar_line(p)), 0.042 * float(np.hypot(*(p.shoulder - p.top))))


def _above_collarbone(p: Places) -> BaseGeometry:
    line = _collar_line(p)
    return Polygon([*line, (FAR, line[-1][1]), (FAR, FAR), (0.0, FAR), (0.0, line[0][1])])


def _breastbone(p: Places) -> BaseGeometry:
    right = _line([p.at(0.17, 1.6), p.at(0.17, 0.85), p.at(0.115, 0.62), p.at(0.125, 0.05), p.at(0.115, -0.3),
                   p.at(0.05, -0.6), p.at(0.0, -0.64)])
    return Polygon([*right, (-40.0, right[-1][1]), (-40.0, right[0][1])])


def _belly_top(p: Places) -> BaseGeometry:
    x, y = p.at(0.05, -0.45)
    deep = FAR / 2
    return Polygon([(-40.0, y), (x, y), *_line([(x + 12.0, y - 30.0), (x + 48.0, y - 78.0), (x + 78.0, y - 160.0)]),
                    (x + 78.0, y - deep), (-40.0, y - deep)])


def _nipple(p: Places) -> BaseGeometry:
    return shapely.buffer(shapely.Point(NIPPLE_APART * p.girth, float(p.armpits[1]) - NIPPLE_BELOW_MM),
                          0.016 * p.girth)


def _shoulder_front(p: Places) -> BaseGeometry:
    start, c = _shoulder_line(p, 0.74), p.crease
    groove = _line([start, (start[0] + 0.05 * (c[0] - start[0]), start[1] - 0.45 * (start[1] - c[1])),
                    (float(c[0]), float(c[1]))])
    return Polygon([*groove, (FAR, groove[-1][1]), (FAR, FAR), (start[0], FAR)])


def _chest_upper(p: Places) -> BaseGeometry:
    return Polygon([(-40.0, FAR), *_split(p), (FAR, float(p.crease[1])), (FAR, FAR)])


def _split(p: Places) -> list[tuple[float, float]]:
    """From the breastbone to the crease, where upper and lower chest meet."""
    return _line([(-40.0, p.at(0, 0.1)[1]), p.at(0.3, 0.06), p.at(0.7, 0.0), (float(p.crease[0]), float(p.crease[1]))])


def _chest_lower(p: Places) -> BaseGeometry:
    c = (float(p.crease[0]), float(p.crease[1]))
    fold = _line([p.at(0.0, -0.52), p.at(0.12, -0.58), p.at(0.4, -0.82), p.at(0.75, -0.82), p.at(0.99, -0.5), c])
    return Polygon([*fold, *_split(p)[::-1]])


def _side(p: Places) -> BaseGeometry:
    x = 0.45 * float(p.crease[0]) + 0.55 * float(p.side[0])
    return shapely.box(x, -FAR, FAR, float(p.side[1]) + 0.2 * p.across)


CHEST: tuple[PanelZone, ...] = (
    PanelZone("nipple", "Nipple", 9, 3, 1, _nipple),
    PanelZone("breastbone", "Breastbone", 7.5, 2, 4, _breastbone, True, False),
    PanelZone("collarbone", "Collarbone", 7, 4, 6, _collarbone, True),
    PanelZone("above_collarbone", "Hollow above the collarbone", 6, 5, 5, _above_collarbone),
    PanelZone("armpit_edge", "Armpit edge, front", 8, 9, 2, _armpit_edge),
    PanelZone("shoulder_front", "Front of the shoulder", 3.5, 6, 6, _shoulder_front),
    PanelZone("belly_top", "Upper belly, between the rib arches", 7, 4, 1, _belly_top, False, False),
    PanelZone("chest_lower", "Lower chest", 5, 4, 2, _chest_lower),
    PanelZone("chest_upper", "Upper chest", 4.5, 4, 4, _chest_upper),
    PanelZone("side", "Side, over the ribs", 8.5, 6, 1, _side, True),
    PanelZone("ribs", "Ribs beneath the chest", 8, 3, 1, _everything, True),
)
"""Zones of a chest, each over all that follow."""


def _spine(p: Places) -> BaseGeometry:
    return shapely.box(-40.0, -FAR, 0.085 * p.across, float(p.top[1]) - 0.05 * p.height)


def _nape_edge(p: Places) -> BaseGeometry:
    (_, y), (nx, ny) = p.top, p.neck
    edge = _line([(-0.3 * float(nx), float(y)), (0.3 * float(nx), float(y)),
                  (0.78 * float(nx), float(y + 0.5 * (ny - y))), (float(nx), float(ny))])
    return shapely.buffer(Polygon([*edge, (float(nx), FAR), (-FAR, FAR), (-FAR, float(y))]), 0.14 * p.across)


def _blade(p: Places) -> BaseGeometry:
    bone = _soft([p.at(0.33, 0.78), p.at(0.30, 0.42), p.at(0.40, -0.02), p.at(0.56, 0.02), p.at(0.86, 0.40),
                  p.at(1.0, 0.66), p.at(0.72, 0.70)])
    ridge = shapely.buffer(LineString(_ridge(p)[:3]), 0.045 * p.across)
    return shapely.buffer(shapely.buffer(shapely.union(bone, ridge), 0.08 * p.across), -0.08 * p.across)


def _between(p: Places) -> BaseGeometry:
    (x0, y0), (x1, y1), (x2, y2) = p.at(0.46, 0.70), p.at(0.36, 0.40), p.at(0.44, -0.06)
    foot = _line([(x2, y1), (x2, y2), (0.4 * x2, y2 - 8.0), (-40.0, y2 - 8.0)])
    return Polygon([(-FAR, y0), (x0, y0), (x1, y1), *foot, (-FAR, y2 - 8.0)])


def _ridge(p: Places) -> list[tuple[float, float]]:
    """The shoulder blade's ridge, from its inner end to the shoulder point and on over the edge."""
    x, y = _shoulder_line(p, 0.96)
    return [p.at(0.45, 0.60), p.at(0.86, 0.68), (x, y - 0.12 * p.height), (FAR, y)]


def _shoulder_top(p: Places) -> BaseGeometry:
    return Polygon([(-FAR, p.at(0, 0.70)[1]), p.at(0.46, 0.70), *_ridge(p), (FAR, FAR), (-FAR, FAR)])


def _shoulder_back(p: Places) -> BaseGeometry:
    x, c = 0.86 * float(p.shoulder[0]), p.crease
    groove = _line([(x, FAR), (x, p.at(0, 0.9)[1]), (0.90 * x, p.at(0, 0.5)[1]), (0.98 * float(c[0]), float(c[1]))])
    return Polygon([*groove, (FAR, float(c[1])), (FAR, FAR)])


BACK: tuple[PanelZone, ...] = (
    PanelZone("spine", "Spine", 6.5, 3, 2, _spine, True, False),
    PanelZone("nape_edge", "Nape edge", 6, 5, 6, _nape_edge, False, False),
    PanelZone("armpit_edge", "Armpit edge, back", 8, 9, 2, _armpit_edge),
    PanelZone("shoulder_blade", "Shoulder blade", 5.5, 6, 3, _blade, True),
    PanelZone("between_blades", "Strip between the blades", 5, 7, 2, _between),
    PanelZone("shoulder_top", "Top of the shoulder", 4, 6, 5, _shoulder_top),
    PanelZone("shoulder_back", "Back of the shoulder", 3.5, 6, 6, _shoulder_back),
    PanelZone("flank", "Flank, over the ribs", 8, 6, 1, _side, True),
    PanelZone("below_blade", "Back below the blade", 4.5, 5, 1, _everything),
)
"""Zones of an upper back, each over all that follow."""

PANEL_ZONES = {"chest": CHEST, "upper_back": BACK}
