"""What was measured of each printer, by its name."""

from __future__ import annotations

import time
from dataclasses import dataclass

from sqlalchemy import Engine, delete, select
from sqlalchemy.dialects.sqlite import insert

from composer.store.tables import printers


@dataclass(frozen=True)
class Printer:
    """A printer and what lengths are multiplied by on it; `made` is seconds since 1970."""

    name: str
    across: float
    along: float
    made: float


class Printers:
    """Printers in the database; safe to use from threads."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def all(self) -> list[Printer]:
        """Every printer, the latest measured first."""
        with self._engine.connect().execution_options(reading=True) as c:
            rows = c.execute(select(printers).order_by(printers.c.made.desc(), printers.c.name)).all()
        return [Printer(r.name, r.across, r.along, r.made) for r in rows]

    def named(self, name: str) -> Printer | None:
        """The printer of that name, or None."""
        return next((p for p in self.all() if p.name == name), None)

    def keep(self, name: str, across: float, along: float) -> None:
        """Keep a printer's correction; a name that is known gets the new one."""
        row = {"across": across, "along": along, "made": time.time()}
        with self._engine.begin() as c:
            c.execute(insert(printers).values(name=name, **row)
                      .on_conflict_do_update(index_elements=["name"], set_=row))

    def forget(self, name: str) -> None:
        """Take a printer off the list; nothing happens when it isn't on it."""
        with self._engine.begin() as c:
            c.execute(delete(printers).where(printers.c.name == name))
