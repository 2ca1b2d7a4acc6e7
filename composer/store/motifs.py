"""The shelf: the artist's own motifs and the house's, read once and kept by file hash."""

from __future__ import annotations

import hashlib
import json
import re
import secrets
import time
from threading import Lock
from typing import Any

from sqlalchemy import Engine, delete, select, update
from sqlalchemy.dialects.sqlite import insert

from composer.art.colour_notes import NOTED, noted, noted_areas
from composer.art.errors import ArtError
from composer.art.shelf import Motif, as_motif, house_files, own_side, read_house
from composer.art.svg_read import ReadArt, read_svg
from composer.store.errors import DrawingError
from composer.store.gallery import Gallery
from composer.store.tables import motifs


def title_of(name: str) -> str:
    """A title from a file's name."""
    stem = re.sub(r"\.(svg|png|jpe?g|webp|tiff?|heic|heif|gif|pdf)$", "", name.replace("\\", "/").rpartition("/")[2],
                  flags=re.IGNORECASE)
    return re.sub(r"[\s_]+", " ", re.sub(r"[^\w\s()'&+.,-]", "", stem)).strip()[:60] or "Own drawing"


def _side(row: Any) -> dict[str, Any]:
    """What a motif's side file says; where that is damaged, what can be used in its place."""
    try:
        side = json.loads(row.side)
        if isinstance(side, dict) and {"min_mm", "max_mm", "title"} <= side.keys():
            return side
    except ValueError:
        pass
    size = max(row.width_mm, row.height_mm)
    return {"title": row.title, "min_mm": round(size * 0.6, 1), "max_mm": round(size * 1.6, 1), "facing": "none",
            "upright_deg": 0, "tones": {}, "licence": "not known", "notes": ["What was noted of it is damaged."]}


class Motifs:
    """Motifs in the database; see `Store` for what each call promises."""

    def __init__(self, engine: Engine, gallery: Gallery) -> None:
        self._engine, self._gallery = engine, gallery
        self._house: list[str] | None = None
        self._lock = Lock()
        self._hand_over_colours()

    def shelf(self) -> list[Motif]:
        with self._lock:
            if self._house is None:
                self._house = self._take_in_house()
        with self._engine.connect().execution_options(reading=True) as c:
            rows = c.execute(select(motifs).order_by(motifs.c.added.desc())).all()
        found = {r.id: Motif(r.id, r.title, r.digest, r.width_mm, r.height_mm, _side(r)) for r in rows}
        own = [found[r.id] for r in rows if r.house is None]
        return own + [found[i] for i in self._house]

    def motif(self, motif_id: str) -> Motif:
        for m in self.shelf():
            if m.id == motif_id:
                return m
        raise ArtError("This motif is no longer on the shelf.")

    def add(self, svg: bytes, name: str) -> Motif:
        art = read_svg(svg)
        return self.add_drawn(art, title_of(name), {"colours": art.colours})

    def add_drawn(self, art: ReadArt, title: str, more: dict[str, Any]) -> Motif:
        self._gallery.keep(art.drawing)
        motif = as_motif("own-" + secrets.token_hex(5), art.drawing, {**own_side(art, title), **more})
        self._write(motif, None)
        return motif

    def remove(self, motif_id: str) -> None:
        with self._engine.begin() as c:
            if not c.execute(delete(motifs).where(motifs.c.id == motif_id, motifs.c.house.is_(None))).rowcount:
                raise ArtError("Only your own motifs can be taken off the shelf.")

    def _take_in_house(self) -> list[str]:
        with self._engine.connect().execution_options(reading=True) as c:
            known = {r.id: r.house for r in c.execute(select(motifs.c.id, motifs.c.house))}
        ids = []
        for path in house_files():
            side = path.with_suffix(".json")
            mark = hashlib.sha256(path.read_bytes() + (side.read_bytes() if side.exists() else b"")).hexdigest()
            if known.get(path.stem) != mark:
                motif, drawing = read_house(path)
                self._gallery.keep(drawing)
                self._write(motif, mark)
            ids.append(path.stem)
        return ids

    def _hand_over_colours(self) -> None:
        """Areas of colour once stood in the motif's side file; they go to the notes of its drawing."""
        with self._engine.connect().execution_options(reading=True) as c:
            rows = c.execute(select(motifs).where(motifs.c.side.contains(f'"{NOTED}"'))).all()
        for row in rows:
            side = _side(row)
            areas = noted_areas({NOTED: side.pop(NOTED, None)})
            if not areas:               # damaged, or none: it stays as it is
                continue
            try:
                if NOTED not in self._gallery[row.digest].notes:
                    self._gallery.note(row.digest, noted(areas))
            except DrawingError:        # the same, until the drawing comes again
                continue
            with self._engine.begin() as c:
                c.execute(update(motifs).where(motifs.c.id == row.id).values(side=json.dumps(side)))

    def _write(self, motif: Motif, house: str | None) -> None:
        row = {"title": motif.title, "digest": motif.digest, "width_mm": motif.width_mm,
               "height_mm": motif.height_mm, "side": json.dumps(motif.side), "added": time.time(), "house": house}
        with self._engine.begin() as c:
            c.execute(insert(motifs).values(id=motif.id, **row).on_conflict_do_update(index_elements=["id"], set_=row))
