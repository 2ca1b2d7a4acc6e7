"""What can be pulled of a filler: each kind follows the handles that it offers, and nothing else changes."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
import shapely
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter
from test_proposals import SETTINGS, world

from composer.filler.clip import in_front, visible
from composer.filler.ground import Wish
from composer.filler.handles import Handles, handles_of, one_area, pulled
from composer.filler.kinds import HANDLES, KINDS
from composer.filler.proposals import Proposal, ground_for, propose, rebuild
from composer.filler.shaped import Along, hold_place, smooth, tied
from composer.plan.errors import StepError
from composer.plan.model import Hand, Part, Piece, Plan
from composer.plan.scene import Laid, lay
from composer.plan.shape import Hold, Shape, shape_of, with_shape

WIDE = 4
"""A gap with open skin on three sides."""


def plan() -> Plan:
    return Plan("p", "p", (Part("left_arm", {}),), tuple(x.piece for x in world()[0].laid))


@lru_cache(maxsize=64)
def drawn(kind: str, way: str, gap: int = WIDE, seed: int = 3) -> Proposal:
    scene, found = world()
    goal = {"gap": [list(found.gaps[gap].centre)]}
    made = propose(scene, found, goal, [kind], Hand(), Wish(), seed, len(KINDS[kind].ways))
    return next(p for p in made if p.recipe.params["way"] == way)


def laid(p: Proposal) -> Laid:
    piece = Piece("f", "left_arm", p.drawing.digest, p.title, p.u, p.s_mm, depth=-1, recipe=p.recipe)
    return lay(world()[0].limb, piece, p.drawing)


def grips(p: Proposal) -> Handles:
    return handles_of(laid(p), plan(), world()[1], SETTINGS)


def pull(p: Proposal, what: str, places: np.ndarray) -> Proposal:
    """The filler drawn anew with its line or edge at these places (u, s)."""
    scene, found = world()
    kinds = KINDS[p.kind].handles_of(str(p.recipe.params["way"]))
    shape = pulled(scene, shape_of(p.recipe), what, places.tolist(), kinds)
    return rebuild(with_shape(p.recipe, shape), scene, found, SETTINGS)


def line_of(p: Proposal) -> tuple[np.ndarray, Laid]:
    """Places of the filler's line in its own chart, mm."""
    one = laid(p)
    return one.patch.to_flat(one.patch.near(np.array(grips(p).line))), one


def across(line: np.ndarray) -> np.ndarray:
    d = line[-1] - line[0]
    return np.array([-d[1], d[0]]) / np.hypot(*d)


def ink(one: Laid) -> shapely.Geometry:
    return shapely.union_all([la.area for la in one.flat.layers if la.role in ("line", "black")])


def shift_across(a: Laid, b: Laid, line: np.ndarray, reach: float = 14.0) -> tuple[float, float]:
    """How far (mm) the ink of b lies from that of a across a line, by the best match of two rasters, and that match."""
    fine, n = smooth(line, 1.0), across(line)
    c, d = fine[len(fine) // 2], np.array([n[1], -n[0]])
    s, t = np.meshgrid(np.arange(-16, 16, 0.5), np.arange(-34, 34, 0.5), indexing="ij")
    skin = a.patch.to_skin((c + s[..., None] * d + t[..., None] * n).reshape(-1, 2))
    rasters = []
    for one in (a, b):
        at = one.patch.to_flat(one.patch.near(skin))
        rasters.append(gaussian_filter(shapely.contains_xy(ink(one), at[:, 0], at[:, 1]).reshape(s.shape) * 1.0, 1.0))
    k = int(reach / 0.5)
    mid = rasters[0][:, k:-k]
    match = [np.corrcoef(mid.ravel(), rasters[1][:, i : i + mid.shape[1]].ravel())[0, 1] for i in range(2 * k + 1)]
    best = int(np.argmax(match))
    return (best - k) * 0.5, float(match[best])


def direction_near(one: Laid, line: np.ndarray) -> float:
    """Mean direction (degrees) of the ink's edges within 14 mm of a line of its chart."""
    at, way = [], []
    for la in one.flat.layers:
        for r in la.rings if la.role in ("line", "black") else ():
            c = np.vstack([r, r[:1]])
            at.append((c[1:] + c[:-1]) / 2)
            way.append(np.diff(c, axis=0))
    xy, d = np.concatenate(at), np.concatenate(way) @ (1, 1j)
    ok = shapely.dwithin(shapely.LineString(smooth(line)), shapely.points(xy), 14.0)
    return float(np.degrees(np.angle((d[ok] ** 2 / np.maximum(np.abs(d[ok]), 1e-9)).sum())) / 2)


def test_the_line_through_grips_is_the_natural_spline_of_the_library() -> None:
    """Against scipy's natural cubic spline: no kink, ends straight."""
    p = np.array([[0, 0], [12, 9], [30, -4], [41, 3.0]])
    t = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(p, axis=0).T))])
    spline = CubicSpline(t, p, bc_type="natural")
    got = smooth(p, 0.5)
    assert np.allclose(got, spline(np.linspace(0, t[-1], len(got))))
    turn = np.diff(np.unwrap(np.arctan2(*np.diff(got, axis=0).T[::-1])))
    assert np.abs(np.degrees(turn)).max() < 8


def test_every_handle_that_is_offered_is_known() -> None:
    for kind in KINDS.values():
        for way in kind.ways:
            assert set(kind.handles_of(way.name)) <= set(HANDLES)
    assert KINDS["filigree"].handles_of("mirrored") == ("edge",) and KINDS["cloud"].handles_of("gone") == ()


@pytest.mark.parametrize(("kind", "way"), [("waves", "breaking"), ("waves", "swell"), ("cloud", "bank"),
                                           ("leaves", "branch"), ("leaves", "willow")])
def test_a_line_pulled_by_8_mm_takes_the_ink_along_by_8_mm(kind: str, way: str) -> None:
    p = drawn(kind, way)
    line, one = line_of(p)
    still = pull(p, "line", one.patch.to_skin(line))
    moved = pull(p, "line", one.patch.to_skin(line + 8.0 * across(line)))
    by, match = shift_across(laid(still), laid(moved), line)
    assert by == pytest.approx(8.0, abs=1.0) and match > 0.4


@pytest.mark.parametrize("way", [w.name for w in KINDS["wind"].ways])
def test_a_bar_of_wind_lies_on_the_line_and_goes_where_it_is_pulled(way: str) -> None:
    p = drawn("wind", way)
    line, one = line_of(p)
    want = line + 10.0 * across(line)
    before, moved = (laid(pull(p, "line", one.patch.to_skin(at))) for at in (line, want))
    fine = smooth(want)
    inner = fine[len(fine) // 6 : -len(fine) // 6]
    skin = one.patch.to_skin(inner)
    far = [shapely.distance(ink(x), shapely.points(x.patch.to_flat(x.patch.near(skin)))) for x in (before, moved)]
    assert far[1].max() < 0.3 < far[0].mean()


@pytest.mark.parametrize(("kind", "way"), [("wind", "bars"), ("waves", "swell"), ("smoke", "curling"),
                                           ("cloud", "bank")])
def test_background_turns_with_its_line(kind: str, way: str) -> None:
    p = drawn(kind, way)
    line, one = line_of(p)
    a, c = np.radians(25), line.mean(axis=0)
    turned = (line - c) @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) + c
    got = []
    for at in (line, turned):
        new = laid(pull(p, "line", one.patch.to_skin(at)))
        got.append(direction_near(new, new.patch.to_flat(new.patch.near(one.patch.to_skin(at)))))
    assert 12 < (got[1] - got[0] + 90) % 180 - 90 < 42


@pytest.mark.parametrize("way", ["branch", "willow"])
def test_a_branch_of_leaves_turns_with_its_line(way: str) -> None:
    """Leaves stand off to both sides, so the mean direction of their edges tells nothing: the ink within 5 mm of the
    line is compared, each seen from its own line, and the turned one from where the line was."""
    p = drawn("leaves", way)
    line, one = line_of(p)
    a, c = np.radians(25), line.mean(axis=0)
    turned = (line - c) @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) + c

    def strip(x: Laid, along: np.ndarray) -> np.ndarray:
        d = (along[-1] - along[0]) / np.hypot(*(along[-1] - along[0]))
        s, t = np.meshgrid(np.arange(-12, 12, 0.5), np.arange(-5, 5, 0.5), indexing="ij")
        at = c + s[..., None] * d + t[..., None] * np.array([-d[1], d[0]])
        flat = x.patch.to_flat(x.patch.near(one.patch.to_skin(at.reshape(-1, 2))))
        return gaussian_filter(shapely.contains_xy(ink(x), flat[:, 0], flat[:, 1]).reshape(s.shape) * 1.0, 1.0)

    before, after = (laid(pull(p, "line", one.patch.to_skin(at))) for at in (line, turned))
    same, still = (np.corrcoef(strip(before, line).ravel(), strip(after, at).ravel())[0, 1] for at in (turned, line))
    assert same > 0.4 and same > still + 0.2, (same, still)


@pytest.mark.parametrize(("kind", "way", "note", "near_mm"), [
    ("rope", "laid", "path", 1.5), ("rope", "chain", "path", 1.5), ("lightning", "bolt", "spine", 7.0),
    ("filigree", "free", "spines", 9.0)])
def test_a_path_follows_the_line_that_was_pulled(kind: str, way: str, note: str, near_mm: float) -> None:
    """A rope lies on it; a bolt zigzags and a stem swings about it."""
    p = drawn(kind, way, 2)
    line, one = line_of(p)
    off = 10.0 * np.sin(np.linspace(0, np.pi, len(line)))[:, None] * across(line)
    far = []
    for sign in (1.0, -1.0):
        want = line + sign * off
        new = laid(pull(p, "line", one.patch.to_skin(want)))
        noted = new.flat.notes[note]
        path = np.reshape(noted[0] if note == "spines" else noted, (-1, 2))
        at = smooth(new.patch.to_flat(new.patch.near(one.patch.to_skin(want))), 1.0)
        string = shapely.LineString(at)
        d = shapely.distance(string, shapely.points(path))
        assert d.mean() < near_mm
        side = shapely.distance(shapely.LineString(new.patch.to_flat(one.patch.to_skin(line))), shapely.points(path))
        far.append(side.max())
    assert max(far) > 5.0, "it left the old line"


def test_rays_come_from_where_their_centre_was_put() -> None:
    p = drawn("rays", "point", 0)
    (u, s), = grips(p).line
    girth = float(world()[0].limb.girth(s))
    new = pull(p, "line", np.array([[u + 10 / girth, s - 8]]))
    one = laid(new)
    at = one.patch.to_skin(np.array([new.drawing.notes["centre"]]))[0]
    assert (at[0] - u) * girth == pytest.approx(10, abs=0.5) and at[1] - s == pytest.approx(-8, abs=0.2)
    assert new.drawing.digest != p.drawing.digest


AREAS = [(k.name, next(w.name for w in k.ways if "edge" in k.handles_of(w.name))) for k in KINDS.values()
         if any("edge" in k.handles_of(w.name) for w in k.ways)]


@pytest.mark.parametrize(("kind", "way"), AREAS)
def test_an_edge_pulled_out_grows_ground_and_what_is_drawn_there(kind: str, way: str) -> None:
    p = drawn(kind, way)
    h = grips(p)
    one = laid(p)
    ring = one.patch.to_flat(one.patch.near(np.array(h.edge)))
    c = ring.mean(axis=0)
    bigger = c + (ring - c) * (1 + 16.0 / np.hypot(*(ring - c).T))[:, None]
    new = laid(pull(p, "edge", one.patch.to_skin(bigger)))
    beyond = shapely.difference(shapely.Polygon(bigger).buffer(0), shapely.Polygon(ring).buffer(0))
    beyond = shapely.difference(beyond, in_front(world()[0], one, world()[0].laid).buffer(4))
    x, y = np.meshgrid(*(np.arange(lo, hi, 1.5) for lo, hi in np.reshape(beyond.bounds, (2, 2)).T))
    spots = np.column_stack([x.ravel(), y.ravel()])
    skin = one.patch.to_skin(spots[shapely.contains_xy(beyond, spots[:, 0], spots[:, 1])])
    reached = []
    for drawing in (one, new):
        at = shapely.points(drawing.patch.to_flat(drawing.patch.near(skin)))
        near = shapely.STRtree(shapely.get_parts(drawing.flat.outline)).query(at, "dwithin", distance=5.0)[0]
        reached.append(len(np.unique(near)) / len(at))
    assert reached[1] > reached[0] + (0.04 if KINDS[kind].drifts else 0.15), reached


def test_the_edge_of_a_ground_is_one_ring_that_holds_it() -> None:
    h = grips(drawn("cloud", "bank"))
    one = laid(drawn("cloud", "bank"))
    free = ground_for(*world(), drawn("cloud", "bank").recipe.goal, "cloud", SETTINGS).ground.free
    ring = shapely.Polygon(one.patch.to_flat(one.patch.near(np.array(h.edge))))
    assert ring.is_valid and 6 <= len(h.edge_grips) <= 10 and len(h.edge) <= 160
    assert shapely.difference(free, ring.buffer(2.0)).area < 0.02 * free.area


def test_gaps_far_apart_have_no_one_edge() -> None:
    near = shapely.union(shapely.box(0, 0, 30, 30), shapely.box(45, 0, 75, 30))
    far = shapely.union(shapely.box(0, 0, 30, 30), shapely.box(160, 0, 190, 30))
    assert one_area(near) is not None and one_area(far) is None


def test_pulling_keeps_the_rules_and_putting_it_back_gives_the_same_bytes() -> None:
    scene, found = world()
    p = drawn("cloud", "bank")
    line, one = line_of(p)
    new = pull(p, "line", one.patch.to_skin(line + 9.0 * across(line)))
    on = laid(new)
    front = in_front(scene, on, scene.laid)
    assert visible(on.flat, front, 2.0, 0.36, 2.0).outline.distance(front) >= 1.98
    assert new.drawing.digest != p.drawing.digest
    assert rebuild(new.recipe, scene, found, SETTINGS).drawing.digest == new.drawing.digest, "its recipe makes it again"
    back = rebuild(with_shape(new.recipe, Shape()), scene, found, SETTINGS)
    assert back.drawing.digest == p.drawing.digest and back.recipe == p.recipe


def test_what_cannot_be_drawn_is_said() -> None:
    p = drawn("rope", "laid", 2)
    line, one = line_of(p)
    with pytest.raises(ValueError, match=r"Pull it less far|too wide|no open skin"):
        pull(p, "line", one.patch.to_skin(line * 0.05 + line.mean(axis=0)))
    with pytest.raises(StepError, match="cross itself"):
        ring = np.array(grips(drawn("cloud", "bank")).edge)
        half = len(ring) // 2
        pull(drawn("cloud", "bank"), "edge", np.vstack([ring[:half], ring[half:][::-1]]))
    with pytest.raises(StepError, match="nothing of that kind|of that kind to pull"):
        pull(p, "edge", np.array(grips(drawn("cloud", "bank")).edge))


def test_an_end_let_go_on_a_piece_is_tied_to_it_and_goes_along_when_it_moves() -> None:
    scene = world()[0]
    p = drawn("lightning", "bolt", 0)
    piece = next(x for x in scene.laid if x.piece.id == "p1")
    line = np.array(grips(p).line)
    places = [*line[:-1].tolist(), [piece.piece.u, piece.piece.s_mm]]
    shape = pulled(scene, shape_of(p.recipe), "line", places, ("path",))
    hold = shape.holds[1]
    assert hold is not None and hold.on == "p1"
    at = piece.patch.to_flat(piece.patch.near(np.array([hold_place(scene, hold)])))[0]
    assert shapely.distance(piece.flat.outline.boundary, shapely.Point(at)) < 0.05, "on its outline"
    other = lay(scene.limb, replace(piece.piece, u=piece.piece.u + 0.05, s_mm=piece.piece.s_mm + 12.0, turn_deg=20.0),
                piece.flat)
    later = replace(scene, laid=tuple(other if x is piece else x for x in scene.laid))
    now = shape.moved(lambda h: hold_place(later, h))
    there = hold_place(later, hold)
    assert there is not None and now.spine[-1] == pytest.approx(there) and now.spine[0] == shape.spine[0]
    gone = shape.moved(lambda h: None)
    assert gone.spine == shape.spine and gone.holds == (None, None)


def test_open_skin_ties_to_nothing() -> None:
    scene, found = world()
    assert tied(scene, *found.gaps[1].centre) is None


def test_a_pulled_line_rules_the_flow_near_it_and_not_far_off() -> None:
    flow = Along(lambda xy: np.zeros(len(xy)), tuple((float(x), float(x)) for x in range(0, 41, 2)))
    assert np.degrees(flow(np.array([[20.0, 20.0]])))[0] == pytest.approx(40.5, abs=2)
    assert abs(np.degrees(flow(np.array([[20.0, -200.0]])))[0]) < 1


def test_a_twin_and_a_fixed_filler_have_no_grips() -> None:
    one = laid(drawn("cloud", "bank"))
    found = world()[1]
    mirrored = replace(one, piece=replace(one.piece, flip=True, twin_of="x", linked=True))
    assert "mirrored twin" in handles_of(mirrored, plan(), found, SETTINGS).note
    recipe = replace(one.piece.recipe, params={**one.piece.recipe.params, "fixed": True})  # type: ignore[union-attr, type-var]
    assert handles_of(replace(one, piece=replace(one.piece, recipe=recipe)), plan(), found, SETTINGS) == Handles()


def test_holds_are_kept_in_the_plan_as_plain_json() -> None:
    shape = Shape(((0.1, 20.0), (0.2, 30.5)), (None, Hold("p1", 3.0, -4.0)), ((0.0, 1.0), (0.1, 1.0), (0.1, 30.0)))
    recipe = with_shape(drawn("rope", "laid", 2).recipe, shape)
    assert shape_of(recipe) == shape and "shape" not in with_shape(recipe, Shape()).params
