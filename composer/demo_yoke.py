"""The demo's chest and both shoulders: filigree over the shoulders, tied into the chest, mirrored over the midline.

Laid after the main pieces of the left arm and before its background, which then leaves the shoulder's gaps alone.
"""

from __future__ import annotations

from composer.art.drawing import Drawing
from composer.art.shelf import Motif
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.compose.gaps import Gap, survey
from composer.compose.outline import NEAR
from composer.filler.ground import Wish
from composer.filler.proposals import Proposal, propose
from composer.plan.form import piece_to_json
from composer.plan.model import Piece, Plan
from composer.plan.over_joins import scene_with_neighbours
from composer.plan.steps import apply

CHEST = {**PANEL_TYPICAL_MM["chest"], "notch_to_acromion_right": 215.0, "midline_to_crease_right": 175.0,
         "acromion_to_crease_right": 160.0}
"""Invented: the right side a little fuller, as the right arm is."""

MIDDLE = ("bell_buoy", 0.0, 152.0, 0.0, 0.80)
BESIDE = (("sea_holly", 0.112, 266.0, -26.0, 0.66), ("moon_jelly", 0.092, 118.0, 8.0, 0.62))
"""Motif, u, s mm, turn, scale of the piece on the midline and of those beside it, on the client's left."""

TO_THE_OTHER_SHOULDER = ("demo1", "demo2", "demo3")
"""Main pieces of the left arm whose linked twins lie on the right one."""
ABOVE_MM = 185.0
"""Filigree stays where paper lies well over the shoulder; towards the armpit it would have to open."""
SCROLL = Wish(density=0.62)
SEED = 5


def lay_chest(plan: Plan, gallery: dict[str, Drawing], shelf: dict[str, tuple[Motif, Drawing]]) -> Plan:
    """Chest taped, its pieces laid and mirrored, and three pieces of the left shoulder mirrored to the right."""
    plan = apply(plan, {"do": "measure", "part": "chest", "measures": CHEST})
    for n, (name, u, s, turn, scale) in enumerate((MIDDLE, *BESIDE), 1):
        motif, drawing = shelf[name]
        gallery[motif.digest] = drawing
        plan = apply(plan, {"do": "place", "piece": {
            "id": f"chest{n}", "part": "chest", "art": motif.digest, "title": motif.title, "motif": motif.id, "u": u,
            "s_mm": s, "turn_deg": turn, "scale": scale}})
        if u:
            plan = mirrored(plan, f"chest{n}", f"chest{n}-twin")
    for name in TO_THE_OTHER_SHOULDER:
        plan = mirrored(plan, name, f"{name}-twin")
    return plan


def lay_scrolls(plan: Plan, gallery: dict[str, Drawing]) -> Plan:
    """Filigree in the gaps along the left shoulder's edge and in those of the left half of the chest that look to
    shoulder and neck, each locked, with a linked twin on the other side."""
    for part, wanted in (("left_arm", _on_the_cap), ("chest", _towards_the_shoulder)):
        here = scene_with_neighbours(plan, part, gallery)
        found = survey(here, plan.settings.skin_break_mm)
        for n, gap in enumerate(filter(wanted, found.gaps), 1):
            goal = {"gap": [[round(gap.centre[0], 5), round(gap.centre[1], 2)]]}
            made = propose(here, found, goal, ["filigree"], plan.settings.hand, SCROLL, SEED + n, 1, plan.settings)
            if made:
                plan = _kept(plan, gallery, made[0], part, f"scroll-{part.split('_')[-1]}{n}")
    return plan


def unlocked(plan: Plan) -> Plan:
    """The plan with its filigree free to be moved, once the rest of the background is laid."""
    ids = [p.id for p in plan.pieces if p.id.startswith("scroll-")]
    return apply(plan, {"do": "change", "pieces": [{"id": i, "locked": False} for i in ids]}) if ids else plan


def mirrored(plan: Plan, piece_id: str, new_id: str) -> Plan:
    """The plan with a linked twin on the other side of the midline."""
    over = {"axis_u": 0.0} if plan.piece(piece_id).part == "chest" else {}
    return apply(plan, {"do": "twin", "id": piece_id, "new_id": new_id, "linked": True, **over})


def _kept(plan: Plan, gallery: dict[str, Drawing], made: Proposal, part: str, name: str) -> Plan:
    gallery[made.drawing.digest] = made.drawing
    piece = Piece(name, part, made.drawing.digest, made.title, made.u, made.s_mm, locked=True, recipe=made.recipe)
    data = piece_to_json(piece)
    del data["depth"]
    plan = apply(plan, {"do": "place", "piece": data})
    return mirrored(plan, name, f"{name}-twin")


def _on_the_cap(gap: Gap) -> bool:
    return NEAR in gap.neighbours


def _towards_the_shoulder(gap: Gap) -> bool:
    return gap.centre[0] > 0.005 and gap.centre[1] > ABOVE_MM and any(_looks_out(n) for n in gap.neighbours)


def _looks_out(neighbour: str) -> bool:
    return neighbour.startswith(("border:armhole", "border:shoulder", "border:neck"))
