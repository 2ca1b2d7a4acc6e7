"""Pictures that were brought in, by content hash: our own file of each, without camera data."""

from __future__ import annotations

import json
import time
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Engine, delete, select
from sqlalchemy.dialects.sqlite import insert

from composer.art.errors import ArtError
from composer.art.raster_read import Packed, digest_of
from composer.store.tables import motifs, pictures

KEPT_DAYS = 14.0
"""A picture that no motif was made of is let go after so many days."""


@dataclass(frozen=True)
class Kept:
    """A picture as stored: its digest, the name it came by, its size in pixels."""

    digest: str
    name: str
    width: int
    height: int
    about: dict[str, Any]


class Pictures:
    """Pictures in the database; safe to use from threads."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def keep(self, picture: Packed, name: str) -> Kept:
        """Store a picture; the same pixels give the same digest and are stored once."""
        digest = digest_of(picture.data)
        about = {"dpi": picture.dpi, "kind": picture.kind, "notes": list(picture.notes), "alpha": picture.alpha}
        row: dict[str, Any] = {"digest": digest, "data": picture.data, "name": name[:120], "width": picture.width,
               "height": picture.height, "about": json.dumps(about), "added": time.time()}
        with self._engine.begin() as c:
            self._let_go(c)
            c.execute(insert(pictures).values(**row).on_conflict_do_update(
                index_elements=["digest"], set_={"name": row["name"], "about": row["about"], "added": row["added"]}))
        return Kept(digest, row["name"], picture.width, picture.height, about)

    def about(self, digest: str) -> Kept:
        """What is known of a picture, without its pixels. Raises ArtError when it is not there."""
        p = pictures.c
        with self._engine.connect().execution_options(reading=True) as c:
            row = c.execute(select(p.name, p.width, p.height, p.about).where(p.digest == digest)).first()
        if row is None:
            raise ArtError("This picture is no longer kept; bring it in again.")
        return Kept(digest, row.name, row.width, row.height, json.loads(row.about))

    def packed(self, digest: str) -> Packed:
        """The picture as it is kept. Raises ArtError when it is not there."""
        kept = self.about(digest)
        with self._engine.connect().execution_options(reading=True) as c:
            data = c.execute(select(pictures.c.data).where(pictures.c.digest == digest)).scalar_one()
        a = kept.about
        return Packed(data, kept.width, kept.height, bool(a.get("alpha")), a["dpi"], a["kind"], tuple(a["notes"]))

    @staticmethod
    def _let_go(c: Any) -> None:
        sides = c.execute(select(motifs.c.side).where(motifs.c.house.is_(None))).scalars()
        used = set()
        for text in sides:
            try:
                used.add(json.loads(text).get("picture"))
            except (ValueError, AttributeError):
                return      # which pictures are used can't be told, so all stay
        old = [d for (d,) in c.execute(select(pictures.c.digest).where(
            pictures.c.added < time.time() - KEPT_DAYS * 86400))]
        for digest in set(old) - used:
            c.execute(delete(pictures).where(pictures.c.digest == digest))
