"""JSON from outside: from a page or a file that somebody may have written by hand."""

from __future__ import annotations

import json
import re
from typing import Any

DEEPEST = 40
_NESTS = (dict, list)
_HALF = re.compile(r"\\u[dD][89a-fA-F]")


def read_json(text: object) -> Any:
    """What the text says; whole numbers too large for any of ours come as floats.

    Raises ValueError when it is no JSON (JSONDecodeError, with the place), nests too deep to be any of ours, or holds
    half a character, which no page or file could be written with.
    """
    text = str(text)
    try:
        value = json.loads(text, parse_int=_whole)
        if _HALF.search(text):
            json.dumps(value, ensure_ascii=False).encode()
    except RecursionError:
        raise ValueError("it nests too deep") from None
    except UnicodeEncodeError:
        raise ValueError("it holds half a character") from None
    level = [value]
    for _ in range(DEEPEST):
        level = [x for v in level if isinstance(v, _NESTS) for x in (v.values() if isinstance(v, dict) else v)
                 if type(x) in _NESTS]      # nearly all are numbers, of which there are very many
        if not level:
            return value
    raise ValueError("it nests too deep")


def _whole(digits: str) -> int | float:
    return int(digits) if len(digits) < 19 else float(digits)
