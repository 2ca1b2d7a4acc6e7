"""Grips of a filler over a seam: they lie on both parts, it follows them, and its ends are tied to pieces of either."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
import shapely
from test_over_seam import FRONT, both_sides

from composer.compose.over_seam import SeamGap
from composer.filler.beside import moved_since
from composer.filler.ground import Wish
from composer.filler.handles import Handles
from composer.filler.over_seam import propose_over, rebuild_over
from composer.filler.over_seam_handles import handles_over, pulled_over
from composer.filler.proposals import Proposal
from composer.filler.seam_skin import FAR_MM, at_home, by_part, pulled_free, seam_scene, skin_round
from composer.filler.shaped import hold_place, tied
from composer.plan.model import Piece
from composer.plan.scene import lay
from composer.plan.shape import Shape, with_shape
from composer.plan.steps import apply


def gap() -> SeamGap:
    return max((g for g in both_sides()[1].gaps if g.join == FRONT), key=lambda g: g.gap.area_mm2)


@lru_cache(maxsize=8)
def made(kind: str) -> Proposal:
    plan, joined = both_sides()
    return propose_over(joined, gap(), [kind], plan.settings.hand, Wish(), 4, 1, plan.settings)[0]


def grips(p: Proposal) -> Handles:
    plan, joined = both_sides()
    piece = Piece("tied", "chest", p.drawing.digest, p.title, p.u, p.s_mm, recipe=p.recipe)
    return handles_over(lay(joined.surveys["chest"].scene.limb, piece, p.drawing), plan, joined, plan.settings)


def pull(p: Proposal, what: str, flat: np.ndarray) -> Proposal:
    """The filler drawn anew with its line or edge at these places of the paper, mm."""
    plan, joined = both_sides()
    places = gap().stretch.patch.to_skin(flat).tolist()
    return rebuild_over(with_shape(p.recipe, pulled_over(joined, p.recipe, what, places)), joined, plan.settings)


def test_places_go_to_the_part_under_them_and_back() -> None:
    s = gap().stretch
    ring = grips(made("cloud")).edge
    rows = by_part(s, ring)
    assert {part for part, *_ in rows} == {"chest", "left_arm"}
    back = np.array([at_home(s, *row) for row in rows])
    assert np.abs((back - np.array(ring)) * (980.0, 1.0)).max() < 1e-6
    turned = [at_home(s, part, u + 3.0, v) if part != "chest" else (u, v) for part, u, v in rows]
    assert np.abs(np.array(turned) - back).max() < 1e-9, "a turn further is the same place"


@pytest.mark.parametrize("kind", ["cloud", "filigree"])
def test_an_edge_pulled_out_over_the_arm_is_drawn_up_to_and_back_it_is_the_same_bytes(kind: str) -> None:
    plan, joined = both_sides()
    p, s = made(kind), gap().stretch
    flat = s.patch.to_flat(np.array(grips(p).edge))
    over = np.array([part != "chest" for part, *_ in by_part(s, grips(p).edge)])
    assert over.any() and not over.all()
    away = s.carried.to_paper(flat)
    out = flat.copy()
    out[over] += 10.0 * (flat[over] - flat.mean(axis=0)) / np.hypot(*(flat[over] - flat.mean(axis=0)).T)[:, None]
    wider = pull(p, "edge", out)
    assert wider.drawing.digest != p.drawing.digest and len(away) == len(flat)
    before, after = (shapely.Polygon(x) for x in (flat, out))
    new = shapely.difference(after, shapely.buffer(before, 3.0))
    spots = shapely.points(np.random.default_rng(3).uniform(*np.array(new.bounds).reshape(2, 2), (900, 2)))
    spots = spots[shapely.contains(shapely.intersection(shapely.difference(new, gap().front.buffer(5)),
                                                        shapely.buffer(skin_round(joined, s), -5)), spots)]
    ink = wider.drawing.outline
    assert len(spots) > 20 and shapely.dwithin(ink, spots, 6.0).mean() > 0.6
    assert rebuild_over(with_shape(wider.recipe, Shape()), joined, plan.settings).drawing.digest == p.drawing.digest


def test_a_line_pulled_takes_the_drawing_along() -> None:
    """The bolt without its twigs: pulled to either side by 9 mm it lies nearer to the pulled line than before, and by
    3 mm nearer than the one pulled to the other side; the two lie apart by twice what a bow of 9 mm moves its middle,
    within the swing of a bolt about its line."""
    p, s = made("lightning"), gap().stretch
    line = s.patch.to_flat(np.array(grips(p).line))
    d = line[-1] - line[0]
    across = np.array([-d[1], d[0]]) / np.hypot(*d)
    bow = 9.0 * np.sin(np.linspace(0, np.pi, len(line)))[:, None] * across
    lines = [line + side * bow for side in (1.0, -1.0)]
    bent = [bolt(pull(p, "line", pulled)) for pulled in lines]
    for pulled, own, other in zip(lines, bent, bent[::-1], strict=True):
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(shapely.LineString(pulled), 1.0)))
        own_mm, before_mm, other_mm = (shapely.distance(b, places).mean() for b in (own, bolt(p), other))
        assert own_mm < before_mm and own_mm < other_mm - 3.0
    where = [np.asarray(b.centroid.coords[0]) for b in bent]
    assert 6.0 < (where[0] - where[1]) @ across < 24.0


def bolt(p: Proposal) -> shapely.Geometry:
    """Ink wider than 1.2 mm."""
    return p.drawing.outline.buffer(-0.6).buffer(0.6)


def test_an_end_let_go_on_the_arm_is_tied_to_its_piece_and_goes_where_it_goes() -> None:
    _plan, joined = both_sides()
    s = gap().stretch
    scene = seam_scene(joined, s)
    assert {"inner", "outer"} <= {x.piece.id for x in scene.laid}
    laid = next(x for x in scene.laid if x.piece.id == "outer")
    middle = np.asarray(laid.flat.outline.centroid.coords)
    (place,) = laid.patch.to_skin(middle)
    assert np.abs(laid.patch.to_flat(place[None]) - middle).max() < 1e-6
    hold = tied(scene, float(place[0]), float(place[1]))
    assert hold is not None and hold.on == "outer"
    at = hold_place(scene, hold)
    assert at is not None and by_part(s, (at,))[0][0] == "left_arm"
    arm = joined.surveys["left_arm"].scene
    own = next(x for x in arm.laid if x.piece.id == "outer")
    (there,) = own.patch.to_skin(np.asarray([[hold.x, hold.y]]) * own.piece.scale)
    (part, u, v), = by_part(s, (at,))
    assert part == "left_arm" and [(u - there[0] + 0.5) % 1 - 0.5, v] == pytest.approx([0.0, there[1]], abs=0.02)


def test_ground_pulled_too_far_off_the_seam_or_over_a_piece_is_refused_in_words() -> None:
    _plan, joined = both_sides()
    s = gap().stretch
    ring = np.array([[0, 0], [12, 0], [12, 12], [0, 12.0]])
    far = s.patch.to_flat(np.array([s.at])) + np.array([FAR_MM + 60.0, 0.0]) + ring
    with pytest.raises(ValueError, match="up to 60 mm to either side of the seam"):
        pulled_free(joined, gap(), Shape(edge=tuple(map(tuple, s.patch.to_skin(far).tolist()))), False)
    whole = pulled_free(joined, gap(), Shape(edge=grips(made("cloud")).edge), False)
    assert shapely.area(shapely.intersection(whole, gap().front)) == 0 and whole.area > 0.7 * gap().free.area


def test_it_knows_which_pieces_lie_beside_it_on_either_part() -> None:
    plan, _ = both_sides()
    p = made("cloud")
    beside = {w.split(":")[0] for w in str(p.recipe.params["beside"]).split()}
    assert beside == set(gap().gap.neighbours) and beside
    piece = Piece("tied", "chest", p.drawing.digest, p.title, p.u, p.s_mm, recipe=p.recipe)
    assert moved_since(plan, piece) == []
    one = sorted(beside)[0]
    moved = apply(plan, {"do": "change", "pieces": [{"id": one, "s_mm": plan.piece(one).s_mm + 4}]})
    assert moved_since(moved, piece) == [one]
