"""Names of pieces and edges inside a sentence."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from composer.body.yoke_fields import PANELS
from composer.compose.outline import FAR, NEAR


def border_titles(part: str) -> dict[str, str]:
    """What the edges of a part are called, by their names as neighbours."""
    if part in PANELS:
        return {f"border:{e}": words for e, words in edge_titles(part).items()}
    far, near = ("ankle cuff", "hip edge") if part.endswith("leg") else ("wrist cuff", "shoulder edge")
    return {FAR: far, NEAR: near}


def edge_titles(part: str) -> dict[str, str]:
    """What the edges of chest or back are called, by their names in `Panel.edges`."""
    sides = {f"{e}_{s}": f"{s} {w}" for s in ("left", "right") for e, w in
             (("side", "side of the trunk"), ("armhole", "armhole"), ("shoulder", "shoulder line"),
              ("sleeve", "sleeve's edge"))}
    neck = "neck" if part == "chest" else "nape"
    return {"lower": "lower edge", **sides, **{f"neck_{s}": f"{neck} edge" for s in ("left", "right")}}


def names_of(titles: Mapping[str, str]) -> dict[str, str]:
    """For each id 'the heron' from the title 'Heron, wings half open'; the whole title where
    different ones share their first words."""
    clean = {k: " ".join(t.split()) or "piece" for k, t in titles.items()}
    heads = {k: t.split(",")[0].strip() or t for k, t in clean.items()}
    shared = Counter(head for _, head in set(zip(clean.values(), heads.values(), strict=True)))
    return {k: "the " + _lowered(heads[k] if shared[heads[k]] == 1 else clean[k].replace(",", "")) for k in clean}


def _lowered(title: str) -> str:
    first, _, rest = title.partition(" ")
    if first.lower() in ("the", "a", "an") and rest:
        return rest
    return first.lower() + title[len(first):] if first[1:] == first[1:].lower() else title


def capital(sentence: str) -> str:
    """The sentence with its first letter large."""
    return sentence[:1].upper() + sentence[1:]


def both(first: str, second: str) -> str:
    """'the heron and the lighthouse', 'the gull and the other gull'."""
    return f"{first} and the other {second[4:]}" if first == second else f"{first} and {second}"


def side_name(piece_id: str, group: Sequence[str], names: Mapping[str, str]) -> str:
    """A piece with those that hang together with it: 'the heron with its 3 companions'."""
    others = len(group) - 1
    if others <= 0:
        return names[piece_id]
    if others == 1:
        return f"{names[piece_id]} with {names[next(x for x in group if x != piece_id)]}"
    return f"{names[piece_id]} with its {others} companions"


def whole_percents(shares: Sequence[float]) -> list[int]:
    """Whole percents that add up to 100 (or all 0), by largest remainder."""
    total = sum(shares)
    if total <= 0:
        return [0] * len(shares)
    exact = [100 * s / total for s in shares]
    out = [math.floor(v) for v in exact]
    for i in sorted(range(len(out)), key=lambda i: out[i] - exact[i])[:100 - sum(out)]:
        out[i] += 1
    return out
