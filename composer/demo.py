"""The demo: an estuary sleeve of our own, carried on from two healed pieces, both arms taped."""

from __future__ import annotations

from collections.abc import Callable

from composer.art.drawing import Drawing
from composer.art.shelf import Motif, house_files, read_house
from composer.body.measures import TYPICAL_MM
from composer.compose.gaps import survey
from composer.demo_yoke import lay_chest, lay_scrolls, unlocked
from composer.filler.fabric import tie_in
from composer.filler.ground import Wish
from composer.filler.proposals import Proposal
from composer.plan.form import piece_to_json
from composer.plan.model import Piece, Plan
from composer.plan.over_joins import scene_with_neighbours
from composer.plan.steps import apply

TITLE = "Estuary sleeve"
THEME = "storm"
SEED = 3
LEFT = {**TYPICAL_MM, "wrist": 174.0, "forearm": 284.0, "upper_arm": 336.0, "deltoid": 404.0}
RIGHT = {**LEFT, "wrist": 176.0, "forearm": 291.0, "upper_arm": 341.0, "elbow_to_upper_arm": 123.0}
"""Invented measures: the right arm a little fuller, as a right-hander's is."""

PLACES: tuple[tuple[str, float, float, float, float, bool, str], ...] = (
    # motif, u, s mm, turn, scale, flip, state
    ("lighthouse", 0.27, 388.0, 0.0, 0.84, False, "healed"),
    ("heron", -0.235, 374.0, 0.0, 0.74, True, "planned"),
    ("pilots_daughter", 0.03, 404.0, 0.0, 0.90, False, "planned"),
    ("octopus", 0.51, 376.0, 0.0, 0.68, False, "planned"),
    ("tern", 0.06, 292.0, 14.0, 0.70, False, "planned"),
    ("curlew_skull", -0.27, 272.0, 12.0, 0.95, True, "healed"),
    ("eel_anchor", 0.27, 172.0, 0.0, 0.78, False, "planned"),
    ("poppy", -0.05, 194.0, -8.0, 0.84, False, "planned"),
    ("sea_bass", -0.285, 166.0, 62.0, 0.68, False, "planned"),
    ("crab", 0.50, 214.0, 0.0, 0.60, False, "planned"),
    ("lantern", 0.49, 112.0, 0.0, 0.82, False, "planned"),
    ("moth", 0.02, 100.0, 0.0, 0.66, False, "planned"),
    ("oyster", -0.27, 66.0, 8.0, 0.72, False, "freehand"),
    ("moth", 0.26, 60.0, -24.0, 0.40, False, "planned"),
)


def house_shelf() -> dict[str, tuple[Motif, Drawing]]:
    """The house's motifs by id."""
    return {path.stem: read_house(path) for path in house_files()}


def bare_demo() -> tuple[Plan, dict[str, Drawing]]:
    """The demo before anything is tied in: both arms taped, the main pieces on the left one."""
    shelf = house_shelf()
    plan = Plan("estuary-demo", TITLE)
    for part, taped in (("left_arm", LEFT), ("right_arm", RIGHT)):
        plan = apply(plan, {"do": "measure", "part": part, "measures": taped})
    gallery = {}
    for n, (name, u, s, turn, scale, flip, state) in enumerate(PLACES, 1):
        motif, drawing = shelf[name]
        gallery[motif.digest] = drawing
        plan = apply(plan, {"do": "place", "piece": {
            "id": f"demo{n}", "part": "left_arm", "art": motif.digest, "title": motif.title, "motif": motif.id,
            "u": u, "s_mm": s, "turn_deg": turn, "scale": scale, "flip": flip, "state": state}})
    return plan, gallery


def as_piece(proposal: Proposal, part: str, piece_id: str) -> Piece:
    """A proposed filler as a piece of a part."""
    return Piece(piece_id, part, proposal.drawing.digest, proposal.title, proposal.u, proposal.s_mm,
                 depth=proposal.depth, recipe=proposal.recipe)


def demo_plan(progress: Callable[[float], None] | None = None) -> tuple[Plan, dict[str, Drawing]]:
    """The demo tied in: filigree over both shoulders and into the chest, one theme over the left arm. `progress` is
    called with the share done, 0 to 1."""
    plan, gallery = bare_demo()
    plan = lay_scrolls(lay_chest(plan, gallery, house_shelf()), gallery)
    here = scene_with_neighbours(plan, "left_arm", gallery)
    found = survey(here, plan.settings.skin_break_mm)
    made = tie_in(here, found, THEME, plan.settings.hand, Wish(), SEED, progress=progress, settings=plan.settings)
    pieces = []
    for n, proposal in enumerate(made, 1):
        gallery[proposal.drawing.digest] = proposal.drawing
        pieces.append(piece_to_json(as_piece(proposal, "left_arm", f"demo-back{n}")))
    return unlocked(apply(plan, {"do": "tie_in", "pieces": pieces})), gallery
