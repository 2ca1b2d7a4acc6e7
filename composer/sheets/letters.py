"""Type for print: embedded open fonts, and text that keeps its letters."""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from composer.sheets.paper import POINT_MM

FOLDER = Path(__file__).parent / "fonts"
FACES = {"text": "source-sans-3-{}-400", "bold": "source-sans-3-{}-600", "head": "source-serif-4-{}-600"}
SUBSETS = ("latin", "latin-ext")


class PrintFontsMissing(OSError):
    """The fonts that are embedded in print are not installed; the text says what to run."""


@lru_cache(maxsize=1)
def _register() -> dict[str, set[int]]:
    covers = {}
    for face in FACES.values():
        for subset in SUBSETS:
            name = face.format(subset)
            path = FOLDER / f"{name}.ttf"
            if not path.exists():
                raise PrintFontsMissing(f"Nothing can be printed: the font {path.name} is missing in {FOLDER}. Run "
                                        "'python3 run.py' once with the network up (it fetches what is missing), or "
                                        "install again with 'pip install .', then print again.")
            font = TTFont(name, str(path))
            pdfmetrics.registerFont(font)
            covers[name] = set(font.face.charToGlyph)
    return covers


@lru_cache(maxsize=4096)
def _runs(text: str, face: str) -> tuple[tuple[str, str], ...]:
    """The text in pieces, each with the font that has its letters."""
    covers = _register()
    fonts = [FACES[face].format(s) for s in SUBSETS]
    runs: list[tuple[str, str]] = []
    for ch in unicodedata.normalize("NFC", text):
        font = next((f for f in fonts if ord(ch) in covers[f]), None)
        if font is None:
            plain = unicodedata.normalize("NFKD", ch)[:1]
            font, ch = (fonts[0], plain if ord(plain) in covers[fonts[0]] else "?") if plain else (fonts[0], "")
        if runs and runs[-1][0] == font:
            runs[-1] = (font, runs[-1][1] + ch)
        else:
            runs.append((font, ch))
    return tuple(runs)


@lru_cache(maxsize=4096)
def width_mm(text: str, face: str, size_pt: float) -> float:
    """Width of a line of text, mm."""
    return sum(pdfmetrics.stringWidth(t, f, size_pt) for f, t in _runs(text, face)) * POINT_MM


def write(canvas: Canvas, x_mm: float, y_mm: float, text: str, face: str = "text", size_pt: float = 9.5,
          align: str = "left") -> float:
    """One line of text with its baseline at (x, y) mm; returns its width in mm."""
    wide = width_mm(text, face, size_pt)
    x = x_mm - {"left": 0.0, "right": wide, "centre": wide / 2}[align]
    for font, run in _runs(text, face):
        canvas.setFont(font, size_pt)
        canvas.drawString(x / POINT_MM, y_mm / POINT_MM, run)
        x += pdfmetrics.stringWidth(run, font, size_pt) * POINT_MM
    return wide


def wrap(text: str, face: str, size_pt: float, within_mm: float) -> list[str]:
    """Lines no wider than `within_mm`; a word that is longer stands alone, cut short."""
    lines: list[str] = []
    for word in text.split():
        while width_mm(word, face, size_pt) > within_mm and len(word) > 2:
            word = word[:-2] + "…"
        if lines and width_mm(f"{lines[-1]} {word}", face, size_pt) <= within_mm:
            lines[-1] += " " + word
        else:
            lines.append(word)
    return lines
