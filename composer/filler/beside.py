"""How the main pieces lay that a filler was drawn between, so that it can be told when one has moved since.

Kept in `Recipe.params["beside"]` as words "id:mark"; a mark changes with the piece's place, turn, size and drawing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from composer.plan.model import Piece, Plan
from composer.plan.scene import Scene

KEY = "beside"


def mark(piece: Piece) -> str:
    """How a piece lies, in eight letters."""
    lies = (piece.part, round(piece.u, 6), round(piece.s_mm, 3), round(piece.turn_deg, 3), round(piece.scale, 5),
            piece.flip, piece.art)
    return hashlib.sha256(repr(lies).encode()).hexdigest()[:8]


def marks(scene: Scene, ids: Iterable[str]) -> str:
    """The marks of those main pieces that lie on a scene, as they are kept; of one that reaches in from the next part
    as it lies on its own."""
    wanted = set(ids)
    return " ".join(sorted(f"{x.piece.id}:{mark(x.home or x.piece)}" for x in scene.laid
                           if x.piece.id in wanted and not x.piece.is_filler))


def moved_since(plan: Plan, filler: Piece) -> list[str]:
    """Ids of the main pieces beside a filler that were moved, changed or deleted since it was drawn; none of a filler
    that does not say, and of a mirrored one."""
    if filler.recipe is None or filler.flip:
        return []
    now = {f"{p.id}:{mark(p)}" for p in plan.pieces}
    return [word.partition(":")[0] for word in str(filler.recipe.params.get(KEY, "")).split() if word not in now]
