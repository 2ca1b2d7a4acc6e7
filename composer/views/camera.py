"""Where somebody stands who looks at a limb, and where on the picture each point falls."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.views.surface import Surface

NAMES = ("front", "outer", "back", "inner")
EIGHT = ("front", "front outer", "outer", "back outer", "back", "back inner", "inner", "front inner")
"""Names of eight standpoints, each an eighth of a turn on from the last."""


def view_u(part: str, name: str) -> float:
    """Where (turns) a standpoint of EIGHT looks straight at the limb. Raises ValueError for another name."""
    if name not in EIGHT:
        raise ValueError(f"There is no view called '{name}'; choose one of {', '.join(EIGHT)}.")
    outer = 1 if part.startswith("left") else -1
    u = outer * EIGHT.index(name) / 8
    return u - round(u) if abs(u) != 0.5 else 0.5


@dataclass(frozen=True)
class Camera:
    """A level camera. `u` turns: it looks straight at that side. `centre` is what falls on the
    picture's middle (mm in space), `scale` px per mm there, `size` (width, height) px.
    `distance_mm` is how far the eye stands from the centre; None for parallel light.
    `mirror` turns left and right over, as a studio's mirror does."""

    u: float
    centre: tuple[float, float, float]
    scale: float
    size: tuple[int, int]
    distance_mm: float | None = None
    mirror: bool = False

    @property
    def toward(self) -> np.ndarray:
        """Unit vector (3,) from the limb to the eye."""
        a = 2 * np.pi * self.u
        return np.array([np.sin(a), -np.cos(a), 0.0])

    @property
    def right(self) -> np.ndarray:
        """Unit vector (3,) to the right of the picture before it is mirrored."""
        a = 2 * np.pi * self.u
        return np.array([np.cos(a), np.sin(a), 0.0])

    def project(self, xyz: np.ndarray) -> np.ndarray:
        """Points (n, 3) mm to pixels (n, 2), x to the right, y down, (0, 0) at the upper left corner."""
        p = np.asarray(xyz, float) - self.centre
        k = np.full(len(p), self.scale)
        if self.distance_mm is not None:
            k = self.scale * self.distance_mm / (self.distance_mm - p @ self.toward)
        x = p @ self.right * (-1 if self.mirror else 1)
        return np.column_stack([self.size[0] / 2 + k * x, self.size[1] / 2 - k * p[:, 2]])

    def rays(self, px: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Lines of sight through pixels (n, 2): origins and unit directions (n, 3), mm."""
        px = np.asarray(px, float)
        x = (px[:, 0] - self.size[0] / 2) / self.scale * (-1 if self.mirror else 1)
        z = (self.size[1] / 2 - px[:, 1]) / self.scale
        on_plane = np.array(self.centre) + x[:, None] * self.right + z[:, None] * np.array([0.0, 0.0, 1.0])
        if self.distance_mm is None:
            return on_plane + 5000.0 * self.toward, np.tile(-self.toward, (len(px), 1))
        eye = np.array(self.centre) + self.distance_mm * self.toward
        d = on_plane - eye
        return np.tile(eye, (len(px), 1)), d / np.linalg.norm(d, axis=1, keepdims=True)


def frame(surface: Surface, u: float, size: tuple[int, int], margin: float = 0.06, distance_mm: float | None = None,
          mirror: bool = False) -> Camera:
    """A camera that looks at `u` (turns) with the whole limb on the picture, `margin` of it left free."""
    limb = surface.limb
    s = np.linspace(limb.s_min, limb.s_max, 60)
    grid = np.column_stack([np.tile(np.linspace(0, 1, 48, endpoint=False), len(s)), np.repeat(s, 48)])
    xyz = surface.xyz(grid)
    ring = np.hypot(xyz[:, 0] - xyz[:, 0].mean(), xyz[:, 1] - xyz[:, 1].mean()).max()
    (x0, y0, z0), (x1, y1, z1) = xyz.min(axis=0), xyz.max(axis=0)
    room = 1 - 2 * margin
    near = 1.0 if distance_mm is None else 1 - ring / distance_mm
    scale = near * min(size[0] * room / (2 * ring), size[1] * room / (z1 - z0))
    centre = (float(x0 + x1) / 2, float(y0 + y1) / 2, float(z0 + z1) / 2)
    return Camera(float(u), centre, float(scale), size, distance_mm, mirror)
