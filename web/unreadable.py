"""What a damaged file of arrays raises when it is read."""

from __future__ import annotations

import zlib
from zipfile import BadZipFile

UNREADABLE = (OSError, ValueError, KeyError, IndexError, EOFError, NotImplementedError, BadZipFile, zlib.error)
