"""What a picture file may be before any of it is decoded: known by its first bytes, bounded in size."""

from __future__ import annotations

from composer.art.errors import ArtError

MOST_BYTES = 30_000_000
MOST_PIXELS = 40_000_000
"""Pixels decoded at most: 40 million, a 7,300 by 5,400 scan."""

KEPT_PIXELS = 12_500_000
"""Pixels kept at most. A larger picture is reduced: 12 million are 16 to the mm on a piece 250 mm long."""

MOST_SIDE = 100_000
LEAST_SIDE = 24
READ_SECONDS = 25.0
"""Seconds a file may take to be decoded, in a process of its own (see `raster_child`)."""

KINDS = ("PNG", "JPEG", "WebP", "TIFF", "HEIC", "GIF", "PDF")
"""What is read. Of an animated file the first frame is taken, of a PDF one page."""

_HEIC = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_OTHERS = (
    (b"8BPS", "a layered painting file"), (b"BM", "a BMP picture"), (b"\x00\x00\x01\x00", "an icon"),
    (b"gimp xcf", "a layered painting file"), (b"PK\x03\x04", "a packed folder or document"),
    (b"\x89HDF", "a data file"), (b"\x76\x2f\x31\x01", "a high-range picture"), (b"MZ", "a program"),
    (b"\x7fELF", "a program"), (b"\x00\x00\x00\x0cjP  ", "a JPEG 2000 picture"), (b"\xff\x0a", "a JPEG XL picture"),
    (b"\x00\x00\x00\x0cJXL ", "a JPEG XL picture"), (b"%!PS", "a PostScript file"), (b"fLaC", "a sound"),
    (b"OggS", "a sound or film"), (b"ID3", "a sound"))
_WAY_OUT = "Save it as PNG, JPEG, WebP or TIFF and bring that in."


def sniff(data: bytes) -> str:
    """Which of KINDS the bytes are, or 'SVG', whatever the file is called.

    Raises ArtError when they are empty, too many, or nothing that is read.
    """
    if not data:
        raise ArtError("The file is empty; save the picture again.")
    if len(data) > MOST_BYTES:
        raise ArtError(f"The file has {len(data) / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read. "
                       "Save the picture as JPEG, or at half its size.")
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return "PNG"
    if data[:3] == b"\xff\xd8\xff":
        return "JPEG"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WebP"
    if data[:4] in (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+"):
        return "TIFF"
    if data[4:8] == b"ftyp":
        if data[8:12] in _HEIC:
            return "HEIC"
        what = "an AVIF picture" if data[8:12] in (b"avif", b"avis") else "a film"
        raise ArtError(f"The file is {what}, which is not read here. {_WAY_OUT}")
    if data[:6] in (b"GIF87a", b"GIF89a"):
        return "GIF"
    if b"%PDF-" in data[:1024]:
        return "PDF"
    start = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    if start[:4] == b"<svg" or (start[:5] in (b"<?xml", b"<!DOC", b"<!-- ") and b"<svg" in data[:65536]):
        return "SVG"
    if data[:3] == b"\x1f\x8b\x08":
        return "SVG"        # packed; what reads it unpacks it within bounds, and says so where it is anything else
    for mark, what in _OTHERS:
        if data.startswith(mark):
            raise ArtError(f"The file is {what}, which is not read here. {_WAY_OUT}")
    raise ArtError(f"The file is no picture that is read here ({', '.join(KINDS[:-1])}, SVG or a PDF page), or its "
                   f"start is damaged. {_WAY_OUT}")


def check_size(width: int, height: int, most: int = MOST_PIXELS) -> None:
    """Raises ArtError for a picture too small to draw from, or of more pixels than are decoded."""
    if width < LEAST_SIDE or height < LEAST_SIDE:
        raise ArtError(f"The picture is only {width} by {height} pixels; at least {LEAST_SIDE} each way are needed to "
                       "see a form in it.")
    if width * height > most or max(width, height) > MOST_SIDE:
        raise ArtError(f"The picture has {width:,} by {height:,} pixels; at most {most / 1e6:.0f} million are read. "
                       "Scan it at 300 dpi, or save it smaller.")


def kept_size(width: int, height: int) -> tuple[int, int]:
    """The size a picture is kept at: its own, or reduced to KEPT_PIXELS with its shape kept."""
    share = min(1.0, (KEPT_PIXELS / (width * height)) ** 0.5)
    return max(1, round(width * share)), max(1, round(height * share))
