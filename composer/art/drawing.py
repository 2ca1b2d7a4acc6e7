"""A drawing: what a motif or a filler looks like, in mm, ready to lie on skin as paper does.

Rings are numpy arrays of shape (n, 2) in mm, closed implicitly, x to the right, y up
(towards the shoulder or hip: with turn 0 a piece stands upright on a hanging limb). The
origin is the anchor. Rings of one layer are filled by the even-odd rule.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.colour_notes import NOTED
from composer.art.nesting import rings_to_geometry

ROLES = ("light", "mid", "dark", "black", "line")
"""Layer roles from back to front: three grey-wash steps, solid black, line work."""

END_KINDS = ("tip", "ball", "tucked", "bare")
"""How a stroke of a filler ends; 'bare' is a fault."""


@dataclass(frozen=True)
class End:
    """One end of a stroke: place in mm and how it finishes (one of END_KINDS)."""

    x: float
    y: float
    how: str


@dataclass(frozen=True)
class Layer:
    """Ink of one role; rings filled even-odd."""

    role: str
    rings: tuple[np.ndarray, ...]

    @cached_property
    def area(self) -> BaseGeometry:
        """The inked area as a valid shapely geometry."""
        return _moved_area(self.__dict__.pop("_was", None)) or rings_to_geometry(self.rings)

    @classmethod
    def of(cls, role: str, area: BaseGeometry) -> Layer:
        """The layer of a valid area, which is kept rather than built from its rings again."""
        out = cls(role, geometry_to_rings(area))
        out.__dict__["area"] = area
        return out

    def moved(self, matrix: np.ndarray) -> Layer:
        """The layer under an affine map (2x3); its area is the moved one, which is quicker than to build it anew."""
        out = Layer(self.role, _moved_rings(self.rings, matrix))
        out.__dict__["_was"] = self, matrix
        return out

    def __getstate__(self) -> dict[str, Any]:
        return {"role": self.role, "rings": self.rings}


@dataclass(frozen=True)
class Drawing:
    """Silhouette (even-odd rings), ink layers from back to front, ends of strokes.

    The silhouette is what hides things behind it. `notes` holds what a filler kind says of
    itself (spine, centre lines, measures); plain JSON values only.
    """

    silhouette: tuple[np.ndarray, ...]
    layers: tuple[Layer, ...]
    ends: tuple[End, ...] = ()
    notes: dict[str, Any] = field(default_factory=dict)

    @cached_property
    def outline(self) -> BaseGeometry:
        """Silhouette as a valid shapely geometry (Polygon or MultiPolygon, holes kept)."""
        return _moved_area(self.__dict__.pop("_was", None)) or rings_to_geometry(self.silhouette)

    @classmethod
    def of(cls, outline: BaseGeometry, layers: tuple[Layer, ...], ends: tuple[End, ...] = (),
           notes: dict[str, Any] | None = None) -> Drawing:
        """The drawing with a valid area as its outline, which is kept (see `Layer.of`)."""
        out = cls(geometry_to_rings(outline), layers, ends, notes or {})
        out.__dict__["outline"] = outline
        return out

    def __getstate__(self) -> dict[str, Any]:
        return {"silhouette": self.silhouette, "layers": self.layers, "ends": self.ends, "notes": self.notes}

    @cached_property
    def points(self) -> int:
        """Number of vertices in all rings."""
        return sum(map(len, self.silhouette)) + sum(len(r) for la in self.layers for r in la.rings)

    def ink(self, *roles: str) -> BaseGeometry:
        """Union of the layers with these roles (all roles when none is named)."""
        parts = [la.area for la in self.layers if not roles or la.role in roles]
        return parts[0] if len(parts) == 1 else shapely.union_all(parts)

    def moved(self, matrix: np.ndarray) -> Drawing:
        """The drawing under an affine map; `matrix` is 2x3 (linear part, then shift in mm)."""
        a, b = matrix[:, :2], matrix[:, 2]

        ends = tuple(End(*map(float, a @ (e.x, e.y) + b), e.how) for e in self.ends)
        out = Drawing(_moved_rings(self.silhouette, matrix), tuple(la.moved(matrix) for la in self.layers),
                      ends, self.notes)
        out.__dict__["_was"] = self, matrix
        return out

    def to_json(self) -> dict[str, Any]:
        """Plain JSON; coordinates rounded to 0.001 mm."""
        def out(rings: tuple[np.ndarray, ...]) -> list[Any]:
            return [np.round(r, 3).ravel().tolist() for r in rings]

        return {
            "silhouette": out(self.silhouette),
            "layers": [{"role": la.role, "rings": out(la.rings)} for la in self.layers],
            "ends": [[round(e.x, 3), round(e.y, 3), e.how] for e in self.ends],
            "notes": self.notes,
        }

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Drawing:
        """Inverse of `to_json`."""
        def back(rings: list[Any]) -> tuple[np.ndarray, ...]:
            return tuple(np.asarray(r, float).reshape(-1, 2) for r in rings)

        return cls(
            back(data["silhouette"]),
            tuple(Layer(la["role"], back(la["rings"])) for la in data["layers"]),
            tuple(End(*e) for e in data.get("ends", ())),
            dict(data.get("notes", {})),
        )

    @cached_property
    def digest(self) -> str:
        """SHA-256 (hex) over the rounded coordinates and the noted areas of colour: the same drawing, the same name."""
        if NOTED not in self.notes:
            return self.form_digest
        said = json.dumps(self.notes[NOTED], sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(f"{self.form_digest}{said}".encode()).hexdigest()

    @cached_property
    def form_digest(self) -> str:
        """The same over the coordinates alone."""
        h = hashlib.sha256()
        for role, rings in [("silhouette", self.silhouette), *((la.role, la.rings) for la in self.layers)]:
            h.update(role.encode())
            at = np.round(np.round(np.concatenate(rings), 3) * 1000).astype("<i4") if rings else ()
            end = 0
            for r in rings:
                begin, end = end, end + len(r)
                h.update(at[begin:end].tobytes() + b"|")
        return h.hexdigest()


STILL = np.eye(2, 3)
"""The map that moves nothing: under it most fillers are laid."""


def _moved_rings(rings: tuple[np.ndarray, ...], matrix: np.ndarray) -> tuple[np.ndarray, ...]:
    if np.array_equal(matrix, STILL):
        return rings
    a, b = matrix[:, :2], matrix[:, 2]
    return tuple(r @ a.T + b for r in rings)


def _moved_area(was: tuple[Layer | Drawing, np.ndarray] | None) -> BaseGeometry | None:
    """The area that a layer or silhouette had, moved; None where there was none or it is no longer valid."""
    if was is None:
        return None
    one, matrix = was
    area = one.outline if isinstance(one, Drawing) else one.area
    if np.array_equal(matrix, STILL):
        return area
    area = shapely.transform(area, lambda xy: xy @ matrix[:, :2].T + matrix[:, 2])
    return area if shapely.is_valid(area) else None


def geometry_to_rings(geometry: BaseGeometry) -> tuple[np.ndarray, ...]:
    """Polygons (holes as further rings) of a geometry as open rings; lines are dropped."""
    parts = shapely.get_parts(geometry)
    while (shapely.get_type_id(parts) > 3).any():
        parts = shapely.get_parts(parts)
    rings = shapely.get_rings(parts[shapely.get_type_id(parts) == 3])
    at, ends = shapely.get_coordinates(rings), np.cumsum(shapely.get_num_coordinates(rings)).tolist()
    return tuple(at[a : b - 1] for a, b in zip([0, *ends], ends, strict=False) if b > a)
