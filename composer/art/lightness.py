"""Lightness of colours: sRGB (IEC 61966-2-1) to luminance, CIE L*, CIE Lab (D65, CIE 15) and WCAG contrast."""

from __future__ import annotations

import numpy as np

WEIGHTS = np.array([0.2126729, 0.7151522, 0.0721750])
"""Row Y of the sRGB to XYZ matrix of IEC 61966-2-1 (seven digits, white Y = 1)."""

_TO_XYZ = np.array([[0.4124564, 0.3575761, 0.1804375], WEIGHTS, [0.0193339, 0.1191920, 0.9503041]])
_WHITE = _TO_XYZ.sum(axis=1)
_LINEAR = np.where(np.arange(256) <= 0.04045 * 255, np.arange(256) / 255 / 12.92,
                   ((np.arange(256) / 255 + 0.055) / 1.055) ** 2.4).astype(np.float32)


def linear(rgb: np.ndarray) -> np.ndarray:
    """8-bit sRGB to linear light 0..1, float32, same shape."""
    return _LINEAR[rgb]


def luminance(rgb: np.ndarray) -> np.ndarray:
    """Relative luminance 0..1 of 8-bit sRGB (..., 3), as WCAG 2.2 defines it."""
    return linear(rgb) @ WEIGHTS.astype(np.float32)


def _curve(t: np.ndarray) -> np.ndarray:
    """CIE 15: the cube root, straight below (6/29)^3."""
    return np.where(t > 216 / 24389, np.cbrt(t), t * (24389 / 27 / 116) + 16 / 116)


def lightness_of(light: np.ndarray | float) -> np.ndarray:
    """CIE L* 0..100 of relative luminance."""
    return 116 * _curve(np.asarray(light)) - 16


def luminance_of(lightness: np.ndarray | float) -> np.ndarray:
    """Relative luminance of CIE L*; inverse of `lightness_of`."""
    f = (np.asarray(lightness, float) + 16) / 116
    return np.where(f > 6 / 29, f**3, (f - 16 / 116) * (116 * 27 / 24389))


def lightness(rgb: np.ndarray) -> np.ndarray:
    """CIE L* 0..100 of 8-bit sRGB (..., 3), float32."""
    return lightness_of(luminance(rgb)).astype(np.float32)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE Lab (D65) of 8-bit sRGB (..., 3), float32."""
    f = _curve(linear(rgb) @ (_TO_XYZ / _WHITE[:, None]).T.astype(np.float32))
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1).astype(np.float32)


def contrast(light_a: float, light_b: float) -> float:
    """Contrast ratio of two relative luminances, 1 to 21 (WCAG 2.2)."""
    high, low = max(light_a, light_b), min(light_a, light_b)
    return (high + 0.05) / (low + 0.05)
