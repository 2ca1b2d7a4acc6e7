"""A picture file comes in upright, in sRGB and at its real size, or one sentence says why not."""

from __future__ import annotations

import base64
import gzip
import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from estuary_pictures import gull, saved
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms
from reportlab.pdfgen.canvas import Canvas

from composer.art import raster_child
from composer.art.errors import ArtError
from composer.art.raster_child import read_picture
from composer.art.raster_guard import KEPT_PIXELS, MOST_BYTES, check_size, sniff
from composer.art.raster_read import Picture, decode, packed

GULL, COVER = gull(320, 240)
HEIC = base64.b64decode((Path(__file__).parent / "gull_heic.txt").read_text())
"""The gull at 96 by 72 pixels, encoded once; the reader that is kept can only read."""


def pdf(script: bool = False, pages: int = 1, password: str = "", size: tuple[float, float] = (200, 100)) -> bytes:
    out = io.BytesIO()
    c = Canvas(out, pagesize=size)
    for _ in range(pages):
        c.setFillColorRGB(0.8, 0.1, 0.1)
        c.rect(50, 25, 100, 50, stroke=0, fill=1)
        c.showPage()
    c.save()
    with pikepdf.open(io.BytesIO(out.getvalue())) as doc:
        if script:
            doc.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="app.alert('tide')")
        changed = io.BytesIO()
        lock = pikepdf.Encryption(owner=password, user=password) if password else None
        doc.save(changed, encryption=lock) if lock else doc.save(changed)
    return changed.getvalue()


def near(picture: Picture, rgb: np.ndarray = GULL, most: float = 6.0) -> bool:
    return picture.rgb.shape == rgb.shape and float(np.abs(picture.rgb.astype(float) - rgb).mean()) < most


@pytest.mark.parametrize(("form", "kind", "more"), [
    ("PNG", "PNG", {}), ("JPEG", "JPEG", {"quality": 92}), ("WEBP", "WebP", {"quality": 90}), ("TIFF", "TIFF", {}),
    ("TIFF", "TIFF", {"compression": "tiff_lzw"})])
def test_every_kind_is_read(form: str, kind: str, more: dict) -> None:
    picture = decode(saved(GULL, form, **more))
    assert picture.kind == kind and near(picture) and picture.alpha is None and picture.notes == ()


def test_heic() -> None:
    picture = read_picture(HEIC)
    small, _ = gull(96, 72)
    assert picture.kind == "HEIC" and near(picture, small, 8.0)


def test_a_file_is_known_by_what_it_holds() -> None:
    """Nothing here asks for a name; what a wrong one would hide is found by the first bytes."""
    assert sniff(saved(GULL, "JPEG")) == "JPEG"
    assert sniff(b'\xef\xbb\xbf<?xml version="1.0"?><svg/>') == sniff(gzip.compress(b"<svg/>")) == "SVG"
    for data, word in ((b"8BPS" + b"\0" * 99, "layered"), (b"BM" + b"\0" * 99, "BMP"), (b"just words", "no picture"),
                       (b"\0\0\0\x18ftypmp42" + b"\0" * 40, "film"), (b"", "empty"), (b"PK\x03\x04zip", "packed")):
        with pytest.raises(ArtError, match=word):
            decode(data)


@pytest.mark.parametrize("turn", range(1, 9))
def test_turned_as_the_camera_held_it(turn: int) -> None:
    """Exif 2.3, tag 274: row 0 and column 0 as seen. Checked against the eight cases of its table 4."""
    seen = GULL
    stored = {1: seen, 2: seen[:, ::-1], 3: seen[::-1, ::-1], 4: seen[::-1], 5: seen.transpose(1, 0, 2),
              6: np.rot90(seen), 7: seen[::-1, ::-1].transpose(1, 0, 2), 8: np.rot90(seen, -1)}[turn]
    exif = Image.Exif()
    exif[274] = turn
    assert near(decode(saved(np.ascontiguousarray(stored), "PNG", exif=exif)), most=0.01)


def test_nothing_of_the_camera_is_kept() -> None:
    exif = Image.Exif()
    exif[274], exif[315] = 6, "Keeper of the light"
    exif.get_ifd(0x8825)[1] = "N"
    kept = packed(decode(saved(GULL, "JPEG", exif=exif, dpi=(300, 300), comment=b"north pier")))
    again = Image.open(io.BytesIO(kept))
    assert not again.getexif() and b"Keeper" not in kept and b"pier" not in kept
    assert decode(kept).dpi == pytest.approx(300) and decode(kept).height == GULL.shape[1]


@pytest.mark.parametrize("junk", [b"\xff" * 40, b"Exif\0\0MM\0*\0\0\0\x08\xff\xff", b"Exif\0\0II*\0\xff\xff\xff\xff"])
def test_camera_data_that_lies_costs_nothing(junk: bytes) -> None:
    assert near(decode(saved(GULL, "JPEG", quality=92, exif=junk)))


def test_alpha_is_kept_and_a_full_one_dropped() -> None:
    picture = decode(saved(GULL, "PNG", COVER))
    assert np.abs(picture.alpha / 255 - COVER).max() < 0.003
    assert decode(saved(GULL, "PNG", np.ones_like(COVER))).alpha is None
    with pytest.raises(ArtError, match="see-through"):
        decode(saved(GULL, "PNG", np.zeros_like(COVER)))
    assert np.array_equal(decode(packed(picture)).alpha, picture.alpha)


def test_palette_grey_and_one_bit() -> None:
    im = Image.fromarray(GULL)
    for mode in ("P", "L", "1", "LA"):
        out = io.BytesIO()
        im.convert(mode).save(out, "PNG")
        assert near(decode(out.getvalue()), most=40.0)
    out = io.BytesIO()
    im.quantize(16).save(out, "PNG", transparency=0)
    assert decode(out.getvalue()).alpha is not None


def test_sixteen_bits() -> None:
    deep = (GULL[..., 0].astype(np.uint16) * 257)
    for form in ("PNG", "TIFF"):
        picture = decode(saved(deep, form))
        assert np.abs(picture.rgb[..., 0].astype(int) - GULL[..., 0]).max() <= 1
    assert np.ptp(decode(saved((GULL[..., 0] / 255).astype(np.float32), "TIFF")).rgb) > 200


def test_printing_colours() -> None:
    out = io.BytesIO()
    Image.fromarray(GULL).convert("CMYK").save(out, "TIFF")
    picture = decode(out.getvalue())
    assert near(picture, most=3.0) and "CMYK" in picture.notes[0]


def test_a_colour_profile_is_followed() -> None:
    """sRGB's own profile changes nothing; one of another colour space, or a broken one, is left aside (ICC.1)."""
    own = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert near(decode(saved(GULL, "PNG", icc_profile=own)), most=1.0)
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    assert near(decode(saved(GULL, "PNG", icc_profile=lab)), most=0.01)
    broken = decode(saved(GULL, "PNG", icc_profile=b"no profile at all"))
    assert near(broken, most=0.01) and "profile" in broken.notes[0]


def test_real_size_is_taken_only_where_it_can_be_true() -> None:
    assert decode(saved(GULL, "PNG", dpi=(300, 300))).dpi == pytest.approx(300, abs=0.1)
    assert decode(saved(GULL, "TIFF", dpi=(600, 600))).dpi == pytest.approx(600)
    for dpi in ((72, 72), (96, 96), (300, 150), (1, 1), (90000, 90000)):
        assert decode(saved(GULL, "PNG", dpi=dpi)).dpi is None, dpi
    assert decode(saved(GULL, "JPEG")).dpi is None


def test_animated_gives_the_first_and_says_so() -> None:
    frames = [Image.fromarray(GULL), Image.fromarray(255 - GULL)]
    for form in ("GIF", "WEBP", "PNG", "TIFF"):
        out = io.BytesIO()
        frames[0].save(out, form, save_all=True, append_images=frames[1:])
        picture = decode(out.getvalue())
        assert near(picture, most=12.0) and "the first was taken" in picture.notes[0], form


@pytest.mark.parametrize("form", ["PNG", "JPEG", "WEBP", "TIFF"])
def test_cut_short(form: str) -> None:
    data = saved(GULL, form)
    with pytest.raises(ArtError, match="cut short"):
        decode(data[: len(data) // 2])


def png_of(width: int, height: int, rows: bytes) -> bytes:
    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    for width, height in ((30_000, 30_000), (2**31 - 1, 2**31 - 1), (900_000, 30)):
        with pytest.raises(ArtError, match="pixels"):
            decode(png_of(width, height, b"\0" * 1000))
    with pytest.raises(ArtError, match="30 MB"):
        decode(b"\x89PNG\r\n\x1a\n" + bytes(MOST_BYTES))
    with pytest.raises(ArtError, match="only 8 by 8"):
        decode(saved(GULL[:8, :8]))


def test_a_scan_of_30_000_pixels() -> None:
    """As JPEG it is reduced while it is read; a long thin one fits as it is."""
    wide = Image.new("L", (30_000, 2_400), 255)
    wide.paste(0, (100, 100, 29_900, 2_300))
    out = io.BytesIO()
    wide.save(out, "JPEG", quality=60)
    picture = read_picture(out.getvalue())
    assert picture.width * picture.height <= KEPT_PIXELS * 1.01
    assert picture.width / picture.height == pytest.approx(12.5, rel=0.01)
    assert "30,000" in picture.notes[0] and picture.rgb[picture.height // 2, picture.width // 2].max() < 8
    with pytest.raises(ArtError, match="300 dpi"):
        check_size(30_000, 20_000)


def test_a_pdf_page() -> None:
    picture = read_picture(pdf())
    assert picture.dpi == pytest.approx(300) and picture.width == pytest.approx(200 / 72 * 300, abs=1)
    red = (picture.rgb[..., 0] > 150) & (picture.rgb[..., 1] < 60)
    assert red.mean() == pytest.approx(0.25, abs=0.005)
    assert "page 2 was taken" in decode(pdf(pages=3), 2).notes[0]
    with pytest.raises(ArtError, match="no page 4"):
        decode(pdf(pages=3), 4)
    large = decode(pdf(size=(5000, 4000)))
    assert large.width * large.height <= KEPT_PIXELS * 1.01
    assert large.width / large.dpi * 72 == pytest.approx(5000, rel=1e-3)


def test_scripts_in_a_pdf_are_not_run() -> None:
    picture = read_picture(pdf(script=True))
    assert "none was run" in picture.notes[0] and picture.rgb.min() < 60


def test_pdfs_that_can_not_be_read() -> None:
    with pytest.raises(ArtError, match="password"):
        decode(pdf(password="spring tide"))
    with pytest.raises(ArtError, match="damaged"):
        decode(b"%PDF-1.7\n1 0 obj\n<<")
    with pytest.raises(ArtError, match="no page"):
        decode(pdf(size=(3, 90_000)))


def test_what_falls_over_beside_us_is_said_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    data = saved(GULL)
    with pytest.raises(ArtError, match="longer than 0 s"):
        read_picture(data, seconds=0.01)
    monkeypatch.setattr(raster_child.sys, "executable", "/bin/false")
    with pytest.raises(ArtError, match="can't be read"):
        read_picture(data)


def test_a_sentence_comes_through_from_beside() -> None:
    with pytest.raises(ArtError, match="cut short"):
        read_picture(saved(GULL, "JPEG")[:900])


SEEDS = {"PNG": saved(GULL[::4, ::4], "PNG", COVER[::4, ::4]), "JPEG": saved(GULL[::4, ::4], "JPEG", dpi=(300, 300)),
         "WEBP": saved(GULL[::4, ::4], "WEBP"), "TIFF": saved(GULL[::4, ::4], "TIFF", compression="tiff_lzw"),
         "GIF": saved(GULL[::4, ::4], "GIF"), "HEIC": HEIC, "PDF": pdf()}


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(set(SEEDS) - {"HEIC"})),
       st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), max_size=12), st.floats(0.02, 1.0),
       st.binary(max_size=24))
def test_damaged_bytes_give_a_picture_or_a_sentence(kind: str, hits: list, keep: float, tail: bytes) -> None:
    """Bytes changed, the end cut off, rubbish put on: a whole picture within the limits, or an ArtError."""
    whole_or_said(decode, mangled(SEEDS[kind], hits, keep, tail))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 0.5), st.integers(0, 255)), min_size=1, max_size=12), st.floats(0.3, 1.0))
def test_damaged_heic_ends_only_the_process_beside(hits: list, keep: float) -> None:
    """Its decoder can fall over on damaged bytes (one in some hundreds here), and takes its process with it."""
    whole_or_said(read_picture, mangled(HEIC, hits, keep, b""))


def mangled(data: bytes, hits: list, keep: float, tail: bytes) -> bytes:
    out = bytearray(data)
    for at, value in hits:
        out[int(at * (len(out) - 1))] = value
    return bytes(out[: int(len(out) * keep)] + tail)


def whole_or_said(read: Callable[[bytes], Picture], data: bytes) -> None:
    try:
        picture = read(data)
    except ArtError as err:
        assert str(err).endswith(".") and "Traceback" not in str(err)
    else:
        assert picture.rgb.dtype == np.uint8 and picture.rgb.ndim == 3 and picture.rgb.shape[2] == 3
        assert picture.width * picture.height <= KEPT_PIXELS * 1.01
        assert picture.alpha is None or picture.alpha.shape == picture.rgb.shape[:2]
