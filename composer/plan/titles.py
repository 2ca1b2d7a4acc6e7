"""Names that people type, as they can be kept and printed anywhere."""

from __future__ import annotations

import re

_NONE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def printable(text: str) -> str:
    """The text without what no file of ours may hold (control characters, halves of characters: XML 1.0, 2.2), and
    with one space for any run of white space."""
    return " ".join(_NONE.sub("", text).split())
