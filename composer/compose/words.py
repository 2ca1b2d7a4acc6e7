"""Names of pieces and edges inside a sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from composer.compose.outline import FAR, NEAR


def piece_name(piece_id: str, titles: Mapping[str, str], capital: bool = False) -> str:
    """'the heron' from the title 'Heron, wings half open'; the whole title where two share its first words."""
    title = " ".join(titles.get(piece_id, "piece").split()) or "piece"
    head = title.split(",")[0].strip() or title
    if any(k != piece_id and " ".join(t.split()).split(",")[0].strip() == head and t != titles.get(piece_id)
           for k, t in titles.items()):
        head = title.replace(",", "")
    first, rest = head.split(" ")[0], head
    if first.lower() in ("the", "a", "an"):
        rest = head[len(first):].strip() or head
    elif first[1:] == first[1:].lower():
        rest = head[0].lower() + head[1:]
    return ("The " if capital else "the ") + rest


def both_names(a: str, b: str, titles: Mapping[str, str]) -> str:
    """'The heron and the lighthouse', 'The gull and the other gull'."""
    first, second = piece_name(a, titles, capital=True), piece_name(b, titles)
    if first[4:] == second[4:]:
        return f"{first} and the other {second[4:]}"
    return f"{first} and {second}"


def border_titles(part: str) -> dict[str, str]:
    """What the two ends of a part are called."""
    far, near = ("ankle cuff", "hip edge") if part.endswith("leg") else ("wrist cuff", "shoulder edge")
    return {FAR: far, NEAR: near}


def side_name(piece_id: str, group: Sequence[str], titles: Mapping[str, str]) -> str:
    """A piece with those that hang together with it: 'the heron and 3 others'."""
    name = piece_name(piece_id, titles)
    others = len(group) - 1
    if others <= 0:
        return name
    if others == 1:
        return f"{name} with {piece_name(next(x for x in group if x != piece_id), titles)}"
    return f"{name} with its {others} companions"
