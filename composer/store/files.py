"""Plan files on disk: read with a sentence for what is wrong, written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from composer.art.drawing import Drawing
from composer.plan.errors import PlanError
from composer.plan.model import Plan
from composer.plan.options import arts_of
from composer.store.bundle import MOST_BYTES, pack, unpack

SUFFIX = ".sleeve"


def read_plan_file(path: Path | str) -> tuple[Plan, dict[str, Drawing]]:
    """Plan and drawings in a file. Raises PlanError naming the file."""
    path = Path(path)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise PlanError(f"{path.name} holds more than {MOST_BYTES // 1_000_000} MB; no plan file is that large.")
        data = path.read_bytes()
    except PlanError:
        raise
    except (OSError, ValueError) as err:
        raise PlanError(f"{path} cannot be read: {_why(err)}.") from err
    try:
        plan, art = unpack(data)
    except PlanError as err:
        raise PlanError(f"{path.name}: {err}") from err
    for digest, title in arts_of(plan).items():
        if digest not in art:
            raise PlanError(f"{path.name}: the drawing of '{title}' is not in the file; export it again.")
    return plan, art


def write_plan_file(path: Path | str, plan: Plan, gallery: Mapping[str, Drawing]) -> None:
    """Write a plan file; an older file of that name stays until the new one is whole."""
    write_whole(path, pack(plan, gallery))


def can_write(path: Path | str) -> None:
    """Make the folder of a file that is to be written later. Raises PlanError where that can't be done."""
    path = Path(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=path.parent):
            pass
    except (OSError, ValueError) as err:
        raise PlanError(f"{path} cannot be written: {_why(err)}.") from err


def write_whole(path: Path | str, data: bytes) -> None:
    """Write bytes beside the goal, then move them into place. Raises PlanError."""
    path = Path(path)
    if not path.name:
        raise PlanError("Name the file that is to be written.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(data)
            os.replace(name, path)
        except BaseException:
            os.unlink(name)
            raise
    except (OSError, ValueError) as err:
        raise PlanError(f"{path} cannot be written: {_why(err)}.") from err


def _why(err: OSError | ValueError) -> str:
    return (getattr(err, "strerror", None) or str(err)).lower()
