"""Each hard rule broken on purpose, and the measures against shapely and hand-made figures."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler.check import findings, measures
from composer.filler.ground import Ground
from composer.plan.model import Hand

PIECE = box(-40, 22, 40, 60)
FREE = box(-40, -20, 40, 20)


def ground(front: Polygon = PIECE) -> Ground:
    return Ground(FREE, box(-40, -20, 40, 60), front, 2.0, 2.0, lambda xy: np.zeros(len(xy)))


def inked(shape: object, ends: tuple[End, ...] = (), joints: tuple = ()) -> Drawing:
    rings = geometry_to_rings(shape)
    return Drawing(rings, (Layer("line", rings),), ends, {"joints": list(joints)})


def bar(x0: float, y0: float, x1: float, y1: float, width: float = 1.0) -> Polygon:
    return LineString([(x0, y0), (x1, y1)]).buffer(width / 2)


def rules(drawing: Drawing) -> set[str]:
    return {f.rule for f in findings(drawing, ground(), Hand())}


def test_a_sound_drawing_has_no_findings() -> None:
    assert rules(inked(bar(-20, 0, 20, 0), (End(-20, 0, "tip"), End(20, 0, "ball")))) == set()


def test_rings_that_cross_themselves_or_are_no_rings() -> None:
    bow = np.array([[0, 0], [10, 10], [10, 0], [0, 10.0]])
    assert rules(Drawing((bow,), (Layer("line", (bow,)),))) == {"valid"}
    two = np.array([[0, 0], [1, 1.0]])
    assert rules(Drawing((two,), (Layer("line", (two,)),))) == {"valid"}
    lost = np.array([[0, 0], [np.nan, 1], [3, 3]])
    assert rules(Drawing((lost,), (Layer("line", (lost,)),))) == {"valid"}


def test_no_ink_is_said() -> None:
    assert rules(Drawing((), ())) == {"empty"}


@pytest.mark.parametrize("how", ["bare", "frayed"])
def test_bare_and_unknown_ends(how: str) -> None:
    assert rules(inked(bar(-20, 0, 20, 0), (End(20, 0, how),))) == {"end"}


@pytest.mark.parametrize(("apart", "ok"), [(1.0, False), (1.7, False), (1.9, False), (2.0, True), (2.4, True)])
def test_line_gap(apart: float, ok: bool) -> None:
    pair = shapely.union_all([bar(-20, 0, 20, 0), bar(-20, 1 + apart, 20, 1 + apart)])
    assert (rules(inked(pair)) == set()) is ok
    if not ok:
        found = findings(inked(pair), ground(), Hand())[0]
        assert found.rule == "line gap" and "2.0 mm" in found.sentence
        assert abs(found.y - (1 + apart) / 2) < 0.6


def test_a_crotch_is_a_fault_unless_declared() -> None:
    fork = shapely.union_all([bar(-20, 0, 20, 0), bar(0, 0, 18, 7)])
    assert "line gap" in rules(inked(fork))
    # the gap has grown to 2 mm where the limbs are about 7.7 mm from the fork
    assert rules(inked(fork, joints=([4.5, 1.3, 5.5],))) == set()
    # a joint's radius is capped: a kind can't wave everything through
    long = shapely.union_all([bar(-20, 0, 30, 0), bar(0, 0, 30, 3.4)])
    assert "line gap" in rules(inked(long, joints=([10, 1, 99.0],)))


def test_skin_break_and_tucked_ends() -> None:
    near = bar(0, 0, 0, 20.6)  # 0.9 mm from the piece
    assert "skin break" in rules(inked(near, (End(0, 20.6, "tip"),)))
    behind = bar(0, 0, 0, 26)
    assert rules(inked(behind, (End(0, 26, "tucked"),))) == set()
    assert {"skin break", "outside"} <= rules(inked(behind, (End(0, 26, "tip"),)))
    just = box(-1, 0, 1, 20.0)
    assert rules(inked(just)) == set()


def test_ink_outside_the_free_skin() -> None:
    assert rules(inked(bar(30, 0, 44, 0))) == {"outside"}


def test_nothing_finer_than_the_finest_line() -> None:
    assert rules(inked(bar(-20, 0, 20, 0, 0.25))) == {"too fine"}
    assert rules(inked(bar(-20, 0, 20, 0, Hand().fine_mm))) == set()
    thinning = Polygon([(-20, -0.5), (20, -0.02), (20, 0.02), (-20, 0.5)])
    assert "too fine" in rules(inked(thinning))


def test_measures_agree_with_shapely() -> None:
    ink = shapely.union_all([bar(-30, -8, 10, -8, 1.2), bar(-10, 6, 30, 10, 0.8), Point(28, -12).buffer(2)])
    m = measures(inked(ink, (End(0, 30, "tucked"),)), ground())
    assert m["reach"] == pytest.approx(ink.buffer(5, quad_segs=32).intersection(FREE).area / FREE.area, abs=0.01)
    assert m["ink_share"] == pytest.approx(ink.area / FREE.area, abs=0.005)
    assert m["cover"] == pytest.approx(m["ink_share"], abs=1e-3)
    # reference: GEOS largest empty circle in the free skin between the ink
    circle = shapely.maximum_inscribed_circle(FREE.difference(ink), tolerance=0.01)
    assert m["widest_void_mm"] == pytest.approx(2 * circle.length, abs=0.5)
    assert m["loose_parts"] == 3
    assert m["neighbours_met"] == 1
    assert m["ends"] == {"tip": 0, "ball": 0, "tucked": 1, "bare": 0}


def test_flow_agreement() -> None:
    assert measures(inked(bar(-30, 0, 30, 0)), ground())["flow_off_deg"] < 6
    assert measures(inked(bar(0, -15, 0, 15)), ground())["flow_off_deg"] > 80


def test_evenness_tells_hatch_from_random_strokes() -> None:
    # the two baselines of facts/composition.md: 6 mm hatch .08, random strokes .58
    hatch = shapely.union_all([bar(-39, y, 39, y, 1.0) for y in range(-15, 20, 6)]).intersection(FREE)
    rng = np.random.default_rng(3)
    strokes = []
    for _ in range(40):
        x, y, a = rng.uniform(-36, 36), rng.uniform(-16, 16), rng.uniform(0, np.pi)
        strokes.append(bar(x, y, x + 9 * np.cos(a), y + 9 * np.sin(a), 0.8))
    wild = shapely.union_all(strokes).intersection(FREE)
    assert measures(inked(hatch), ground())["void_cv"] < 0.15
    assert measures(inked(wild), ground())["void_cv"] > 0.4
