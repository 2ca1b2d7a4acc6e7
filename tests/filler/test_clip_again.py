"""Cut again after a move: only what is near is worked out, and it comes out as if all were cut anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.art.drawing import Drawing, Layer, geometry_to_rings
from composer.body.limb import Level, Limb
from composer.filler import seen
from composer.filler.clip import margin
from composer.filler.clip_cut import Known, cut_anew
from composer.filler.clip_front import Front, boxes
from composer.filler.clip_tidy import side_by_side, together
from composer.filler.seen import visible_laid
from composer.plan.model import Piece, Recipe, Settings
from composer.plan.scene import Scene, lay

LIMB = Limb((Level("far", 0, 240), Level("near", 400, 330)))


def scrolls(rng: np.random.Generator, wide: float, high: float) -> Drawing:
    """A background of wavy strokes of all widths, some crossing, with washes under them."""
    strokes = []
    for _ in range(14):
        t = np.linspace(0, 1, 50)
        x = rng.uniform(-wide, wide) / 2 + (t - 0.5) * wide * rng.uniform(0.3, 1.0)
        y = rng.uniform(-high, high) / 2 + 8 * np.sin(7 * t + rng.uniform(0, 6)) + (t - 0.5) * rng.uniform(-high, high)
        strokes.append(shapely.LineString(np.column_stack([x, y])).buffer(rng.uniform(0.15, 0.7), quad_segs=3))
    room = shapely.box(-wide / 2, -high / 2, wide / 2, high / 2)
    ink = shapely.union_all(strokes).intersection(room)
    wash = shapely.union_all([s.buffer(2.0, quad_segs=3) for s in strokes[:6]]).intersection(room)
    return Drawing(geometry_to_rings(room), (Layer("light", geometry_to_rings(wash)),
                                             Layer("line", geometry_to_rings(ink))))


def star(rng: np.random.Generator, size: float) -> Drawing:
    a = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    r = size * (1 + 0.25 * np.sin(a * int(rng.integers(2, 7)) + rng.uniform(0, 6)))
    form = shapely.Polygon(np.column_stack([r * np.cos(a), r * np.sin(a)]))
    return Drawing(geometry_to_rings(form), (Layer("line", geometry_to_rings(form.boundary.buffer(0.4))),))


def forget() -> None:
    """As in a process that has just started."""
    for name in ("_shown", "_seen_of", "_fronts", "_known"):
        old = getattr(seen, name)
        setattr(seen, name, type(old)(old.room, old._weigh, old._least))


def same(a: Drawing, b: Drawing) -> None:
    """Both drawings show the same ink, paper and ends, to what floating point leaves."""
    assert [la.role for la in a.layers] == [la.role for la in b.layers]
    pairs = [(a.outline, b.outline), *((x.area, y.area) for x, y in zip(a.layers, b.layers, strict=True))]
    for x, y in pairs:
        assert x.is_valid and y.is_valid
        assert shapely.symmetric_difference(x, y).area < 1e-6
    assert sorted(e.how for e in a.ends) == sorted(e.how for e in b.ends)
    assert np.array(sorted((e.x, e.y) for e in a.ends)) == pytest.approx(np.array(sorted((e.x, e.y) for e in b.ends)))


@given(seed=st.integers(0, 10**6))
@settings(max_examples=12, deadline=None)
def test_after_any_moves_it_is_as_if_cut_anew(seed: int) -> None:
    rng = np.random.default_rng(seed)
    plan = Settings()
    back = [(Piece(f"f{i}", "left_arm", "x", "Scrolls", float(rng.uniform(-0.5, 0.5)), 120.0 + 130 * i,
                   depth=-9 + i, recipe=Recipe("filigree", 1)), scrolls(rng, 150, 110)) for i in range(2)]
    mains = [(Piece(f"p{i}", "left_arm", "y", "Star", float(rng.uniform(-0.5, 0.5)), float(rng.uniform(60, 340)),
                    depth=i), star(rng, float(rng.uniform(12, 30)))) for i in range(6)]
    forget()
    for step in range(4):
        scene = Scene(LIMB, -0.5, tuple(lay(LIMB, p, d) for p, d in (*back, *mains)))
        again = visible_laid(scene, plan)
        kept = {name: getattr(seen, name) for name in ("_shown", "_seen_of", "_fronts", "_known")}
        forget()
        anew = visible_laid(scene, plan)
        for name, value in kept.items():
            setattr(seen, name, value)
        for piece_id, drawing in anew.items():
            same(again[piece_id], drawing)
        k = int(rng.integers(len(mains)))
        p, d = mains[k]
        mains[k] = replace(p, u=p.u + float(rng.normal(0, 0.06 * (1 + step))), s_mm=float(np.clip(
            p.s_mm + rng.normal(0, 15), 50, 350)), turn_deg=p.turn_deg + float(rng.uniform(-30, 30))), d


@pytest.mark.parametrize("seed", range(4))
def test_what_lies_far_of_a_front_changes_nothing(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """What hides is cut off round the piece before it is grown: edges stay where they were, but for what a margin's own
    simplification may move them."""
    rng = np.random.default_rng(seed)
    back = lay(LIMB, Piece("f", "left_arm", "x", "Waves", 0.02, 200.0, recipe=Recipe("wind", 1)), scrolls(rng, 40, 30))
    front = lay(LIMB, Piece("p", "left_arm", "y", "Star", 0.1, 190 + 20 * rng.uniform()), star(rng, 60.0))
    here, how, made = Scene(LIMB, -0.5, (back, front)), Settings(skin_break_mm=float(rng.uniform(0, 4))), []
    reach = seen.ROUND_MM
    for room in (reach, 1e4):
        monkeypatch.setattr(seen, "ROUND_MM", room)
        forget()
        made.append((visible_laid(here, how)["f"], seen.fronts_of(here, back, [front], how, 1.1)[0].hidden))
    forget()
    (near, small), (whole, large) = made
    assert shapely.get_num_coordinates(small) < shapely.get_num_coordinates(large) and near is not back.flat
    about = shapely.box(*back.flat.outline.bounds).buffer(0.7 * reach)
    for a, b in ((small.intersection(about), large.intersection(about)), (near.outline, whole.outline),
                 *((x.area, y.area) for x, y in zip(near.layers, whole.layers, strict=True))):
        assert shapely.buffer(shapely.symmetric_difference(a, b), -0.03).is_empty


def test_what_nothing_in_front_touched_stays_the_same_object() -> None:
    rng = np.random.default_rng(4)
    back = Piece("f", "left_arm", "x", "Scrolls", 0.0, 120.0, recipe=Recipe("filigree", 1)), scrolls(rng, 120, 90)
    near = Piece("a", "left_arm", "y", "Star", 0.1, 120.0), star(rng, 20)
    far = Piece("b", "left_arm", "z", "Star", 0.5, 320.0), star(rng, 20)
    one = visible_laid(Scene(LIMB, -0.5, tuple(lay(LIMB, p, d) for p, d in (back, near, far))), Settings())
    far = replace(far[0], u=0.47), far[1]
    two = visible_laid(Scene(LIMB, -0.5, tuple(lay(LIMB, p, d) for p, d in (back, near, far))), Settings())
    assert two["f"] is one["f"] and one["f"].outline.area < back[1].outline.area


@pytest.mark.parametrize("slots_too", [False, True])
def test_where_a_tile_cannot_be_worked_out_the_drawing_is_cut_all_at_once(monkeypatch: pytest.MonkeyPatch,
                                                                         slots_too: bool) -> None:
    def fails(*_: object) -> None:
        raise shapely.GEOSException("TopologyException: found non-noded intersection")

    rng = np.random.default_rng(7)
    back = Piece("f", "left_arm", "x", "Scrolls", 0.0, 120.0, recipe=Recipe("filigree", 1)), scrolls(rng, 120, 90)
    near = Piece("a", "left_arm", "y", "Star", 0.1, 120.0), star(rng, 20)
    scene = Scene(LIMB, -0.5, tuple(lay(LIMB, p, d) for p, d in (back, near)))
    forget()
    usual = visible_laid(scene, Settings())["f"]
    forget()
    monkeypatch.setattr("composer.filler.clip_cut.tidied", fails)
    if slots_too:
        monkeypatch.setattr("composer.filler.clip.shut", fails)
    left = visible_laid(scene, Settings())["f"]
    forget()
    assert left.outline.area == pytest.approx(usual.outline.area, rel=1e-3)
    assert left.ink("line").area == pytest.approx(usual.ink("line").area, rel=0.05)


def test_only_tiles_near_the_move_are_worked_out_anew() -> None:
    rng = np.random.default_rng(5)
    known = Known(scrolls(rng, 200, 160), 0.3, 2.0)
    stay, go = shapely.Point(-60, 0).buffer(25), shapely.Point(60, 0).buffer(18)
    still = Front(margin(stay, 2.0), 0.9)
    cut_anew(known, [still, Front(margin(go, 2.0), 0.9)])
    before = dict(known.units)
    cut_anew(known, [still, Front(margin(shapely.affinity.translate(go, 9, 4), 2.0), 0.9)])
    fresh = [k for k in known.units if k not in before]
    assert fresh and len(fresh) < len(known.units)
    assert all(boxes(np.array([k[0]]))[0].distance(go) < 30 for k in fresh)


def test_the_break_is_kept_and_no_hair_stays() -> None:
    rng = np.random.default_rng(6)
    front = shapely.Point(10, 5).buffer(30)
    left = cut_anew(Known(scrolls(rng, 160, 120), 0.3, 2.0), [Front(margin(front, 2.0), 0.9)])
    assert left.ink("line").distance(front) >= 2.0 and left.outline.distance(front) >= 1.98
    near = left.ink("line").intersection(front.buffer(5.0))
    lost = near.difference(near.buffer(-0.12).buffer(0.125)).intersection(front.buffer(3.0))
    assert max((p.area for p in shapely.get_parts(lost)), default=0.0) < 0.036


def test_groups_that_touch_become_one() -> None:
    assert together(5, np.array([0, 3]), np.array([4, 1])) == [[0, 4], [1, 3], [2]]
    squares = [shapely.box(i * 0.8, 0, i * 0.8 + 1, 1) for i in range(6)] + [
        shapely.box(50 + 3 * i, 0, 51 + 3 * i, 1) for i in range(6)]
    one = side_by_side(squares)
    assert one.is_valid and one.area == pytest.approx(shapely.union_all(squares).area)
    assert len(shapely.get_parts(one)) == 7
