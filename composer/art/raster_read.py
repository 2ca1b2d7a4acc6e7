"""A picture file as pixels: turned the right way up, in sRGB, with its real size where it says one.

Camera data (place, time, owner) is read for one thing only, which way up the picture is, and goes
no further. Pillow and pdfium are imported when a picture is read, not before.
"""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from composer.art.errors import ArtError
from composer.art.raster_guard import MOST_PIXELS, check_size, kept_size, sniff

DAMAGED = "The {kind} file is damaged or was cut short; save or send the picture again."
GOOD_DPI = (36.0, 4800.0)
SCREEN_DPI = (72.0, 96.0)
"""Written by programs that know of no real size; not taken for one."""

_PILLOW = {"PNG": ("PNG",), "JPEG": ("JPEG", "MPO"), "WebP": ("WEBP",), "TIFF": ("TIFF",), "HEIC": ("HEIF",),
           "GIF": ("GIF",)}


@dataclass(frozen=True, eq=False)
class Picture:
    """Pixels of a picture. `rgb` (h, w, 3) uint8 in sRGB, row 0 on top; `alpha` (h, w) uint8, or None where
    nothing is see-through. `dpi`: pixels to the inch as kept, None where the file states no real size. `kind` is
    one of `raster_guard.KINDS`; `notes` are sentences for the artist."""

    rgb: np.ndarray
    alpha: np.ndarray | None
    dpi: float | None
    kind: str
    notes: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        return int(self.rgb.shape[1])

    @property
    def height(self) -> int:
        return int(self.rgb.shape[0])


def decode(data: bytes, page: int = 1) -> Picture:
    """Decode a picture here and now (`raster_child.read_picture` does it where it can't do harm).

    Raises ArtError with one sentence for anything that can't be read within the limits of `raster_guard`; nothing
    else is raised. But the decoder of damaged HEIC can end the whole process: leave files from outside to
    `read_picture`.
    """
    kind = sniff(data)
    if kind == "SVG":
        raise ArtError("The file is an SVG drawing, which has no pixels; it is read as a drawing.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if kind == "PDF":
                from composer.art.pdf_page import render_page
                return render_page(data, page)
            return _pillow(data, kind)
    except ArtError:
        raise
    except MemoryError as err:
        raise ArtError("The picture needs more memory than there is; save it smaller.") from err
    except Exception as err:  # a damaged file can make a decoder raise nearly anything
        raise ArtError(DAMAGED.format(kind=kind)) from err


def _pillow(data: bytes, kind: str) -> Picture:
    from PIL import Image

    if kind == "HEIC":
        import pi_heif
        pi_heif.register_heif_opener(thumbnails=False)
    Image.MAX_IMAGE_PIXELS = None  # checked here before anything is decoded, in words
    notes: list[str] = []
    with Image.open(io.BytesIO(data), formats=_PILLOW[kind]) as im:
        full = im.size
        if kind == "JPEG" and full[0] * full[1] > MOST_PIXELS:
            im.draft("RGB" if im.mode in ("RGB", "YCbCr") else im.mode, kept_size(*full))
        check_size(*im.size)
        frames = int(getattr(im, "n_frames", 1) or 1)
        if frames > 1 and im.format != "MPO":
            what = "pages" if kind == "TIFF" else "frames" if kind != "HEIC" else "pictures"
            notes.append(f"The file holds {frames} {what}; the first was taken.")
        dpi = _dpi(im)
        profile = im.info.get("icc_profile")
        im.load()
        im = _upright(im, notes)
        im = _plain_mode(im)
        goal = kept_size(*im.size)
        if im.size != goal:
            im = im.resize(goal, Image.Resampling.BOX, reducing_gap=2.0)
        if im.size[0] * im.size[1] < full[0] * full[1] * 0.98:
            notes.append(f"The picture was reduced from {full[0]:,} by {full[1]:,} to {im.size[0]:,} by "
                         f"{im.size[1]:,} pixels, which is finer than a needle at any size on skin.")
        if dpi is not None:
            dpi *= (im.size[0] * im.size[1] / (full[0] * full[1])) ** 0.5
        alpha = None
        if im.mode in ("LA", "RGBA"):
            alpha = np.array(im.getchannel("A"))
            if alpha.min() > 250:
                alpha = None
            elif alpha.max() < 5:
                raise ArtError("The picture is see-through all over, so there is nothing to draw from; save it with a "
                               "background.")
        rgb = np.array(_to_srgb(im, profile, notes))
    return Picture(rgb, alpha, dpi, kind, tuple(notes))


def _upright(im: Any, notes: list[str]) -> Any:
    """Turned as the camera says it was held (Exif 2.3, tag 274); camera data that lies is left aside."""
    from PIL import ImageOps
    try:
        turned = ImageOps.exif_transpose(im)
    except Exception:  # broken camera data must not cost the picture
        notes.append("The camera data in the file is damaged; the picture was taken as it lies. Turn it if need be.")
        return im
    return im if turned is None else turned


def _plain_mode(im: Any) -> Any:
    """One of L, LA, RGB, RGBA, CMYK, with 8 bits a channel."""
    if im.mode in ("I", "F") or im.mode.startswith("I;"):
        v = np.asarray(im, dtype=np.float64)
        v = np.nan_to_num(v, nan=0.0, posinf=0.0, neginf=0.0)
        low, high = float(v.min()), float(v.max())
        top = 65535.0 if im.mode != "F" and low >= 0 and high <= 65535 else 1.0 if low >= 0 and high <= 1 else high
        low = 0.0 if low >= 0 else low
        from PIL import Image
        return Image.fromarray(np.clip((v - low) * (255 / max(top - low, 1e-12)), 0, 255).astype(np.uint8), "L")
    if im.mode == "1":
        return im.convert("L")
    if im.mode in ("P", "PA"):
        return im.convert("RGBA" if "transparency" in im.info or im.mode == "PA" else "RGB")
    if im.mode in ("L", "RGB") and "transparency" in im.info:
        return im.convert("RGBA")
    if im.mode in ("La", "RGBa", "RGBX"):
        return im.convert("RGBA" if im.mode != "RGBX" else "RGB")
    if im.mode in ("L", "LA", "RGB", "RGBA", "CMYK"):
        return im
    return im.convert("RGB")


def _to_srgb(im: Any, profile: bytes | None, notes: list[str]) -> Any:
    """RGB in sRGB by the file's own colour profile (ICC.1); a broken or odd profile is left aside."""
    base = im.convert("L") if im.mode == "LA" else im.convert("RGB") if im.mode == "RGBA" else im
    if profile:
        from PIL import ImageCms
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            space = source.profile.xcolor_space.strip()
            if space == {"L": "GRAY", "RGB": "RGB", "CMYK": "CMYK"}[base.mode]:
                made = ImageCms.profileToProfile(base, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
                if made is not None:
                    return made
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError, KeyError):
            notes.append("The colour profile in the file can't be used; its colours were taken as they are.")
    if base.mode == "CMYK":
        notes.append("The picture is in printing colours (CMYK) without a profile; tones may differ a little.")
    return base.convert("RGB")


def _dpi(im: Any) -> float | None:
    """Pixels to the inch where the file states them for both ways alike and they can be true."""
    try:
        if im.format in ("JPEG", "MPO") and im.info.get("jfif_unit") == 0:
            return None
        if im.format == "TIFF" and im.tag_v2.get(296, 2) == 1:
            return None
        x, y = (float(v) for v in im.info["dpi"])
    except (KeyError, TypeError, ValueError, ZeroDivisionError, AttributeError):
        return None
    good = GOOD_DPI[0] <= x <= GOOD_DPI[1] and abs(x - y) < 0.02 * x
    return x if good and not any(abs(x - s) < 0.6 for s in SCREEN_DPI) else None


@dataclass(frozen=True)
class Packed:
    """A picture as a file of ours (`data`, see `packed`), with what is known of it."""

    data: bytes
    width: int
    height: int
    alpha: bool
    dpi: float | None
    kind: str
    notes: tuple[str, ...] = ()


def unpacked(kept: Packed) -> Picture:
    """The pixels of a kept picture."""
    return replace(decode(kept.data), dpi=kept.dpi, kind=kept.kind, notes=kept.notes)


def pack(picture: Picture) -> Packed:
    """The picture as it is kept."""
    return Packed(packed(picture), picture.width, picture.height, picture.alpha is not None, picture.dpi, picture.kind,
                  picture.notes)


def packed(picture: Picture) -> bytes:
    """The picture as a file of ours, without camera data: JPEG where it came as one (quality 95, colour
    not thinned), else PNG. Read again by `decode`."""
    from PIL import Image

    lossy = picture.kind in ("JPEG", "HEIC") and picture.alpha is None
    im = Image.fromarray(picture.rgb)
    if picture.alpha is not None:
        im.putalpha(Image.fromarray(picture.alpha))
    dpi = {} if picture.dpi is None else {"dpi": (picture.dpi, picture.dpi)}
    out = io.BytesIO()
    if lossy:
        im.save(out, "JPEG", quality=95, subsampling=0, **dpi)
    else:
        im.save(out, "PNG", compress_level=2, **dpi)
    return out.getvalue()


def digest_of(data: bytes) -> str:
    """SHA-256 (hex): the name a picture is kept under."""
    return hashlib.sha256(data).hexdigest()
