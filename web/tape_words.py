"""What is wrong with a measure in few words at its field; where the usual ranges come from is told once, below."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from composer.body.measures import Problem
from composer.body.units import HOW

_FROM = " Range: "
_KIND = re.compile(r" \((?:girth|length)\)(?= is )")


def at_fields(problems: Iterable[Problem], typed: Mapping[str, str]) -> dict[str, list[Problem]]:
    """Problems by field, without sources and without what the field itself says; how to write a measure
    is left out where nothing was written yet."""
    found: dict[str, list[Problem]] = {}
    for p in problems:
        words = _KIND.sub("", p.sentence.partition(_FROM)[0])
        if not str(typed.get(p.field) or "").strip():
            words = words.replace(f"{HOW} ", "")
        found.setdefault(p.field, []).append(replace(p, sentence=words))
    return found


def sources(problems: Iterable[Problem], labels: Mapping[str, str]) -> list[tuple[str, str]]:
    """Measures and where their range comes from, one entry for each source: ('Wrist, Forearm', 'ANSUR II ...').

    `labels` are what the fields are called, by their names.
    """
    found: dict[str, list[str]] = {}
    for p in problems:
        source = p.sentence.partition(_FROM)[2].removesuffix(".")
        label = labels.get(p.field, "A further girth")
        if source and label not in found.setdefault(source, []):
            found[source].append(label)
    return [(", ".join(names), source) for source, names in found.items()]
