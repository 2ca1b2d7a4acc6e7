"""The plan's hand: every kind follows its widths, tapers, darkness, corners, wobble and density."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
import shapely

from benchmarks.gap_shapes import shapes
from composer.art.drawing import Drawing, End, Layer
from composer.filler.handed import in_hand, rounded, shake
from composer.filler.hands import GROUPINGS, PACKED, PRESETS, Grouping, nearest, preset, preset_of
from composer.filler.kinds import KINDS
from composer.filler.proposals import TRIES
from composer.filler.quality import TONES
from composer.filler.testkit import broken, drawn
from composer.plan.errors import PlanError
from composer.plan.form import settings_from_json, settings_to_json
from composer.plan.model import Hand, Settings

GROUND = shapes()["wide_pocket"]
USUAL = Hand()


@lru_cache(maxsize=200)
def made(kind: str, hand: Hand, seed: int) -> Drawing:
    out = drawn(KINDS[kind], KINDS[kind].ways[0].name, GROUND, seed, hand)
    assert out is not None
    return out


def ink(d: Drawing) -> float:
    return shapely.intersection(d.ink("line", "black"), GROUND.free).area


def tone(d: Drawing) -> float:
    return sum(TONES[la.role] * shapely.intersection(la.area, GROUND.free).area for la in d.layers if la.rings)


def corners(d: Drawing) -> int:
    out = 0
    for la in d.layers:
        for r in la.rings:
            z = r[:, 0] + 1j * r[:, 1]
            to = np.roll(z, -1) - z
            turn = np.abs(np.degrees(np.angle(to * np.conj(np.roll(to, 1)))))
            out += int(((turn > 35) & (turn < 130) & (np.minimum(abs(to), abs(np.roll(to, 1))) > 0.5)).sum())
    return out


@pytest.mark.parametrize("kind", list(KINDS))
def test_wider_lines_leave_more_ink(kind: str) -> None:
    thin, wide = replace(USUAL, outline_mm=0.6, line_mm=0.45, fine_mm=0.34), \
        replace(USUAL, outline_mm=1.4, line_mm=1.05, fine_mm=0.6)
    low, high = (sum(ink(made(kind, h, s)) for s in (1, 2)) for h in (thin, wide))
    assert high > 1.08 * low


@pytest.mark.parametrize("kind", list(KINDS))
def test_a_dark_hand_carries_more_tone_than_a_pale_one(kind: str) -> None:
    pale, dark = (sum(tone(made(kind, replace(USUAL, dark=d), s)) for s in (1, 2)) for d in (0.0, 1.0))
    assert dark > 1.05 * pale


@pytest.mark.parametrize("kind", [k for k in KINDS if k != "stipple"])
def test_without_a_taper_strokes_keep_their_width(kind: str) -> None:
    """Dots (stipple) have no taper."""
    blunt, fine = (sum(ink(made(kind, replace(USUAL, taper=t), s)) for s in (1, 2)) for t in (0.0, 0.8))
    assert blunt > fine


@pytest.mark.parametrize("kind", list(KINDS))
def test_soft_corners_are_gone_and_little_else_changes(kind: str) -> None:
    sharp, soft = made(kind, USUAL, 1), made(kind, replace(USUAL, corner=1.0), 1)
    assert corners(soft) <= 0.05 * corners(sharp)
    off = shapely.symmetric_difference(sharp.ink("line", "black"), soft.ink("line", "black")).area
    assert off < 0.15 * sharp.ink("line", "black").area


@pytest.mark.parametrize("kind", list(KINDS))
def test_an_unsteady_hand_moves_lines_a_little(kind: str) -> None:
    steady, shaky = made(kind, USUAL, 1), made(kind, replace(USUAL, wobble=1.0), 1)
    assert steady.digest != shaky.digest
    assert abs(ink(shaky) / ink(steady) - 1) < 0.35


def test_the_usual_hand_changes_nothing_to_the_byte() -> None:
    for kind in ("filigree", "rays", "lightning"):
        way = KINDS[kind].ways[0]
        from composer.filler.ground import Wish

        plain = way.draw(GROUND, USUAL, Wish(), np.random.default_rng(3))
        handed = in_hand(way.draw, kind, GROUND, USUAL, Wish(), np.random.default_rng(3))
        assert plain is not None and handed is not None and plain.digest == handed.digest


def test_density_reaches_every_kind_through_the_wish() -> None:
    from composer.filler.ground import Wish

    asked = []

    def spy(ground: object, hand: Hand, wish: Wish, rng: np.random.Generator) -> None:
        asked.append(wish.density)

    for density in (0.1, 0.5, 0.9):
        in_hand(spy, "any", GROUND, replace(USUAL, density=density), Wish(), np.random.default_rng(1))
    assert asked[0] < asked[1] == Wish().density < asked[2]


@pytest.mark.parametrize("kind", ["waves", "stipple", "rays", "leaves", "scatter", "filigree", "lightning"])
def test_a_fuller_hand_lays_more(kind: str) -> None:
    low, high = (sum(made(kind, replace(USUAL, density=d), s).ink().area for s in (1, 2, 3)) for d in (0.1, 0.9))
    assert high > 1.03 * low


@pytest.mark.parametrize("kind", ["rope", "cloud", "feathers"])
def test_a_fuller_hand_covers_clearly_more(kind: str) -> None:
    sparse, usual, full = (sum(shapely.intersection(made(kind, replace(USUAL, density=d), s).outline,
                                                    GROUND.free).area for s in (1, 2, 3)) for d in (0.0, 0.5, 1.0))
    assert sparse < usual and full > 1.08 * sparse


@pytest.mark.parametrize("name", list(PRESETS))
@pytest.mark.parametrize("kind", ["filigree", "cloud", "rays", "lightning", "leaves"])
def test_every_preset_keeps_the_hard_rules(kind: str, name: str) -> None:
    hand = PRESETS[name].hand
    for seed in range(1, TRIES + 1):
        if not broken(KINDS[kind], made(kind, hand, seed), GROUND, hand):
            return
    pytest.fail("no seed within the tries keeps every rule")


def test_a_mirrored_one_stays_mirrored_in_an_unsteady_hand() -> None:
    d = drawn(KINDS["filigree"], "mirrored", GROUND, 1, replace(USUAL, wobble=1.0))
    assert d is not None
    if d.notes["mirror"]["outrunners"] == 0:
        (x, y), a = d.notes["mirror"]["at"], 2 * np.radians(d.notes["mirror"]["deg"])
        turn = np.array([[np.cos(a), np.sin(a)], [np.sin(a), -np.cos(a)]])
        image = shapely.transform(d.ink(), lambda p: (p - (x, y)) @ turn.T + (x, y))
        off = shapely.intersection(shapely.symmetric_difference(d.ink(), image), GROUND.free.buffer(-4))
        assert off.area < 0.05 * d.ink().area


def test_a_rounded_corner_is_a_parabola_and_a_circle_stays() -> None:
    """A corner cut from a to b with control point p passes through (a + 2p + b) / 4 (quadratic Bezier)."""
    square = np.array([[0, 0], [20, 0], [20, 20], [0, 20.0]])
    soft = rounded(square, 2.0)
    area = shapely.Polygon(soft).area
    assert abs(area - (400 - 4 * (2.0 * 2.0 / 2 - 2 / 3 * 2.0 * 2.0 / 2))) < 0.3
    assert shapely.Polygon(soft).distance(shapely.Point(0, 0)) == pytest.approx(np.sqrt(2) * 0.5, abs=0.03)
    circle = np.asarray(shapely.Point(0, 0).buffer(5, quad_segs=16).exterior.coords)[:-1]
    assert rounded(circle, 2.0) is circle


def test_the_shake_has_its_amplitude_and_no_tear() -> None:
    field = shake(0.16, np.random.default_rng(5))
    xy = np.random.default_rng(6).uniform(-200, 200, (4000, 2))
    assert np.sqrt((field(xy) ** 2).sum(axis=1).mean()) == pytest.approx(0.16, rel=0.25)
    near = field(xy + np.array([0.5, 0.0])) - field(xy)
    assert np.abs(near).max() < 0.12


def test_wobble_moves_ends_with_the_ink() -> None:
    ring = np.array([[-10, -0.5], [10, -0.5], [10, 0.5], [-10, 0.5]])

    def bar(*_: object) -> Drawing:
        return Drawing((ring,), (Layer("line", (ring,)),), (End(10.0, 0.0, "tip"),))

    from composer.filler.ground import Wish

    d = in_hand(bar, "cloud", GROUND, replace(USUAL, wobble=1.0), Wish(), np.random.default_rng(2))
    assert d is not None and d.ends[0] != End(10.0, 0.0, "tip")
    assert shapely.distance(d.ink(), shapely.Point(d.ends[0].x, d.ends[0].y)) < 0.3


@pytest.mark.parametrize(("count", "diameters"), [(1, 1.0), (3, 2.155), (5, 2.701), (7, 3.0), (9, 3.613), (11, 3.924),
                                                  (14, 4.328)])
def test_packing_of_needles(count: int, diameters: float) -> None:
    """Circles in a circle: Graham, Lubachevsky, Nurmela and Ostergard 1998."""
    assert PACKED[count] == pytest.approx(diameters, abs=6e-4)


def test_groupings_and_presets() -> None:
    assert Grouping(3, 0.35).line_mm < PACKED[3] * 0.35 == pytest.approx(0.754, abs=1e-3)
    assert nearest(0.6) == Grouping(3, 0.35) or abs(nearest(0.6).line_mm - 0.6) < 0.02
    assert all(nearest(g.line_mm).line_mm == g.line_mm for g in GROUPINGS)
    hands = [p.hand for p in PRESETS.values()]
    assert len(set(hands)) == len(hands) >= 4
    for p in PRESETS.values():
        h = p.hand
        assert 0.2 <= h.fine_mm < h.line_mm < h.outline_mm and preset_of(h) is p and preset(p.name) is p
        assert settings_from_json(settings_to_json(Settings(hand=h))).hand == h
    assert preset_of(replace(hands[0], dark=0.123)) is None
    with pytest.raises(ValueError, match="no hand called 'brush'"):
        preset("brush")


@pytest.mark.parametrize("habit", ["taper", "dark", "wobble", "corner", "density"])
def test_habits_lie_between_nought_and_one(habit: str) -> None:
    data = settings_to_json(Settings())
    data["hand"][habit] = 1.5
    with pytest.raises(PlanError, match=habit):
        settings_from_json(data)


def test_a_plan_of_before_has_the_usual_habits() -> None:
    old = {"hand": {"outline_mm": 1.0, "line_mm": 0.7, "fine_mm": 0.4, "taper": 0.8, "dark": 0.5}}
    assert settings_from_json(old).hand == USUAL


def test_habits_of_a_newer_release_are_kept() -> None:
    newer = {"hand": {"line_mm": 0.8, "grain": 0.3}, "unit": "mm"}
    read = settings_from_json(newer)
    assert read.hand == Hand(line_mm=0.8)
    assert settings_to_json(read)["hand"]["grain"] == 0.3
    again = settings_from_json(settings_to_json(replace(read, hand=Hand(dark=0.9))))
    assert settings_to_json(again)["hand"]["grain"] == 0.3 and again.hand.dark == 0.9


def test_tips_run_from_the_fine_line_towards_the_line() -> None:
    assert Hand(taper=0.8).tip_mm == Hand(taper=1.0).tip_mm == Hand().fine_mm
    assert Hand().fine_mm < Hand(taper=0.4).tip_mm < Hand(taper=0.0).tip_mm < Hand().line_mm
