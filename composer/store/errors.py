"""What can be wrong with the studio's file or its disk, in words."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from composer.art.errors import ArtError
from composer.plan.errors import PlanError


class StoreError(PlanError):
    """The studio's file can't be read or written as it is; the text says why and what to do."""


class DrawingError(ArtError, KeyError):
    """A drawing that is not in the store, or is damaged there; the text says so. `how` is the sentence without its
    subject."""

    def __init__(self, digest: str, how: str) -> None:
        super().__init__(f"The drawing {digest[:12]} {how}")
        self.digest, self.how = digest, how

    def of(self, title: str) -> str:
        """The sentence about the drawing of a piece."""
        return f"The drawing of '{title}' {self.how}"

    def __str__(self) -> str:
        return str(self.args[0])


COPY = ("Stop the desk, put the file aside together with those beside it that begin with the same name (they may "
        "hold what was written last), and put back your latest copy of it, or bring in plan files that you exported.")
_WORDS = (
    ("SQLITE_BUSY", "is in use by another program and did not come free, so nothing was changed. Close the other "
                    "program and try again."),
    ("SQLITE_LOCKED", "is in use by another program and did not come free, so nothing was changed. Close the other "
                      "program and try again."),
    ("SQLITE_FULL", "can't be written because its disk is full, so nothing was changed; all that was saved before is "
                    "still there. Make room on the disk and try again."),
    ("SQLITE_READONLY", "may not be written. Allow writing to it and to its folder, or choose another folder with "
                        "--data."),
    ("SQLITE_PERM", "may not be written. Allow writing to it and to its folder, or choose another folder with --data."),
    ("SQLITE_CANTOPEN", "can't be opened. See whether its folder is there and may be read and written, or choose "
                        "another folder with --data."),
    ("SQLITE_IOERR", "can't be read or written: its disk gave an error, or is full. Nothing was changed. See to the "
                     "disk and try again."),
    ("SQLITE_CORRUPT", f"is damaged. {COPY}"),
    ("SQLITE_NOTADB", f"is damaged: it is no database. {COPY}"),
)


def told(err: BaseException, file: Path) -> StoreError:
    """The error of the database in words that name the file."""
    name = getattr(err, "sqlite_errorname", "") or ""
    words = next((w for start, w in _WORDS if name.startswith(start)), "")
    if not words and isinstance(err, sqlite3.OperationalError) and "no such" in str(err):
        words = (f"lacks something ({err}): it was written by another release, or is damaged. Use the release that "
                 "wrote it.")
    return StoreError(f"The studio's file {file} {words or f'did not do what was asked ({err}). Nothing was changed.'}")
