"""Tables of the one SQLite file, and the engine that opens it."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from sqlalchemy import (
    Column,
    Engine,
    Float,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    create_engine,
    event,
)

from composer.store.errors import StoreError, told

meta = MetaData()
LAYOUT = 1
"""Of the tables below; raised when an older release would misread them. A file of an older release says 0."""

plans = Table(
    "plans", meta,
    Column("id", Text, primary_key=True),
    Column("title", Text, nullable=False),
    Column("head", Integer, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("changed", Float, nullable=False),
    Column("removed", Float),
)
"""One row a plan: `head` is the step that the plan stands at, `revision` counts every change."""

steps = Table(
    "steps", meta,
    Column("plan_id", Text, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("parent", Integer),
    Column("label", Text, nullable=False),
    Column("state", LargeBinary, nullable=False),
    Column("made", Float, nullable=False),
)
"""History: the whole plan after each step (compressed JSON), and the step it came from."""

drawings = Table(
    "drawings", meta,
    Column("digest", Text, primary_key=True),
    Column("data", LargeBinary, nullable=False),
)
"""Drawings by content hash (compressed JSON)."""

motifs = Table(
    "motifs", meta,
    Column("id", Text, primary_key=True),
    Column("title", Text, nullable=False),
    Column("digest", Text, nullable=False),
    Column("width_mm", Float, nullable=False),
    Column("height_mm", Float, nullable=False),
    Column("side", Text, nullable=False),
    Column("added", Float, nullable=False),
    Column("house", Text),
)
"""Motifs on the shelf; `house` is the hash of the file for those that come with the house."""


printers = Table(
    "printers", meta,
    Column("name", Text, primary_key=True),
    Column("across", Float, nullable=False),
    Column("along", Float, nullable=False),
    Column("made", Float, nullable=False),
)
"""Corrections by printer: what lengths are multiplied by across the page and along it. A file from before
this table gets it, empty, when it is opened."""


pictures = Table(
    "pictures", meta,
    Column("digest", Text, primary_key=True),
    Column("data", LargeBinary, nullable=False),
    Column("name", Text, nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("about", Text, nullable=False),
    Column("added", Float, nullable=False),
)
"""Pictures brought in, by content hash: a PNG or JPEG of ours without camera data; `about` is JSON."""


def open_engine(file: Path) -> Engine:
    """Engine on the file in WAL mode; every transaction takes the write lock at its start, so
    that what it read is still true when it writes. Raises StoreError, here and with every use, in the place of what the
    database says."""
    engine = create_engine(f"sqlite:///{file}", connect_args={"timeout": 20})

    @event.listens_for(engine, "handle_error")
    def _in_words(context):
        if isinstance(context.original_exception, sqlite3.Error):
            raise told(context.original_exception, file) from context.original_exception

    @event.listens_for(engine, "connect")
    def _connect(connection, _record):
        connection.isolation_level = None
        cursor = connection.cursor()
        try:
            cursor.execute("PRAGMA journal_mode=WAL")
            cursor.execute("PRAGMA synchronous=NORMAL")
        except sqlite3.Error as err:
            raise told(err, file) from err
        finally:
            cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection):
        if connection.get_execution_options().get("reading"):
            connection.exec_driver_sql("BEGIN")
        else:
            connection.exec_driver_sql("BEGIN IMMEDIATE")

    _open(engine, file)
    return engine


def _open(engine: Engine, file: Path) -> None:
    """Make what tables the file lacks, and note which layout it has."""
    with engine.begin() as c:
        layout = c.exec_driver_sql("PRAGMA user_version").scalar_one()
        if layout > LAYOUT:
            raise StoreError(f"The studio's file {file} was written by a newer release. Update first; the file is left "
                             "as it is.")
        meta.create_all(c)
        if layout < LAYOUT:
            c.exec_driver_sql(f"PRAGMA user_version={LAYOUT}")
