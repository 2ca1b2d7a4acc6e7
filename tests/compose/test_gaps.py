"""Gaps: the same however they are found, clear of the pieces, complete, and split where an artist would."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree
from shapely.geometry import Polygon
from skin_cases import ARM, TUBE, blob, box, disc, drawing, put, random_scene

from composer.body.metric import area
from composer.compose import mesh
from composer.compose.gaps import Survey, resurvey, survey
from composer.compose.split import MOST_MM2
from composer.plan.model import Recipe
from composer.plan.scene import Scene, lay

FEW = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def same(a: Survey, b: Survey) -> None:
    assert [g.key for g in a.gaps] == [g.key for g in b.gaps]
    assert a.gaps == b.gaps
    for g, h in zip(a.gaps, b.gaps, strict=True):
        for r, q in zip(g.rings, h.rings, strict=True):
            assert np.array_equal(r, q)
    assert a.ties == b.ties
    links = [sorted((repr((x, y, sorted(d.items()))) for x, y, d in s.graph.edges(data=True))) for s in (a, b)]
    assert links[0] == links[1]


def shapes(found: Survey, scale: float = 300.0) -> list[Polygon]:
    return [Polygon(g.rings[0] * (scale, 1), [r * (scale, 1) for r in g.rings[1:]]) for g in found.gaps]


@FEW
@given(seed=st.integers(0, 10**6), count=st.integers(2, 26), steps=st.integers(1, 4))
def test_an_update_equals_a_full_survey(seed: int, count: int, steps: int) -> None:
    rng = np.random.default_rng(seed)
    scene = random_scene(rng, count, 30, 80)
    found = survey(scene)
    for _ in range(steps):
        laid = list(scene.laid)
        i = int(rng.integers(len(laid)))
        p = laid[i].piece
        what = rng.integers(5)
        if what == 0 and len(laid) > 1:
            laid.pop(i)
        elif what == 1:
            laid.append(put(ARM, f"new{rng.integers(10**6)}", blob(rng, 45), rng.uniform(-1, 2), rng.uniform(-10, 500)))
        else:
            far = 1.0 if what == 2 else 0.05
            s = float(np.clip(p.s_mm + rng.normal() * 300 * far, 0, 490))
            place = replace(p, u=p.u + rng.normal() * far, s_mm=s, turn_deg=0.0)
            laid[i] = lay(ARM, place, laid[i].flat)
        scene = replace(scene, laid=tuple(laid))
        found = resurvey(found, scene)
        same(found, survey(scene))


def test_an_update_leaves_the_rest_alone() -> None:
    rng = np.random.default_rng(4)
    scene = random_scene(rng, 24, 40, 70)
    before = survey(scene)
    i = 5
    p = scene.laid[i].piece
    there = lay(ARM, replace(p, s_mm=p.s_mm + 3, turn_deg=0.0), scene.laid[i].flat)
    after = resurvey(before, replace(scene, laid=(*scene.laid[:i], there, *scene.laid[i + 1 :])))
    kept = {g.key for g in before.gaps} & {g.key for g in after.gaps}
    away = {g.key for g in before.gaps if p.id not in g.neighbours
            and not any(p.id in h.neighbours and set(h.neighbours) & set(g.neighbours) for h in before.gaps)}
    assert away and away <= kept


def test_an_edge_that_all_but_lies_on_the_border_needs_no_more_copies(monkeypatch: pytest.MonkeyPatch) -> None:
    """An arm that goes on to the armhole: along the top of its edge slivers have circles without end. Each more turn of
    copies took as long as the whole search; triangles tile the skin once, and no point lies within a circle."""
    rng = np.random.default_rng(8)
    rows = [np.column_stack([(np.arange(110) + 0.37) / 110, np.full(110, t)]) for t in (0.0, 1.4)]
    along = np.column_stack([(np.arange(40) + 0.1) / 160, 1.4 - rng.uniform(0.2e-7, 1e-7, 40)])
    points = np.concatenate([*rows, along, rng.uniform((0.0, 0.1), (1.0, 1.3), (400, 2))])
    whole, asked = mesh.Delaunay, []
    monkeypatch.setattr(mesh, "Delaunay", lambda xy, **how: asked.append(len(xy)) or whole(xy, **how))
    found = mesh.triangulate(points)
    assert found.radius.max() > 100 and max(asked) < 4 * len(points)
    xy = found.place
    twice = np.abs(np.cross(np.append(xy[:, 1] - xy[:, 0], np.zeros((len(xy), 1)), axis=1),
                            np.append(xy[:, 2] - xy[:, 0], np.zeros((len(xy), 1)), axis=1))[:, 2])
    assert len(xy) == 2 * len(points) - np.isin(points[:, 1], (0.0, 1.4)).sum()
    assert twice.sum() / 2 == pytest.approx(1.4, abs=1e-9)
    tree = cKDTree(np.concatenate([points + (k, 0.0) for k in (-1, 0, 1, 2)]))   # noqa: RUF005
    small = found.radius < 0.5
    assert (tree.query(found.centre[small])[0] > found.radius[small] * (1 - 1e-9)).all()


@pytest.mark.parametrize("seed", [418, 639, 867])
def test_where_much_is_empty_no_point_lies_within_a_circle(seed: int) -> None:
    """Few round pieces on a long limb, found by trying 3000: circles reach past the copies that were looked at, and as
    many triangles as there should be were taken for the right ones although one lay over others."""
    rng = np.random.default_rng(seed)
    rows = [np.column_stack([(np.arange(60) + 0.37) / 60, np.full(60, t)]) for t in (0.0, 1.6)]
    rounds = [np.column_stack([rng.uniform(0, 1) + 0.1 * np.cos(a), rng.uniform(0.2, 1.4) + 0.1 * np.sin(a)])
              for a in [np.linspace(0, 2 * np.pi, 40, endpoint=False) + rng.uniform(0, 1)
                        for _ in range(int(rng.integers(1, 5)))]]
    inner = np.concatenate(rounds) % (1.0, 9.0)
    points = np.concatenate([*rows, (inner + rng.uniform(-1e-7, 1e-7, inner.shape)) % (1.0, 9.0)])
    found = mesh.triangulate(points)
    xy = found.place
    side, other = xy[:, 1] - xy[:, 0], xy[:, 2] - xy[:, 0]
    assert (side[:, 0] * other[:, 1] - side[:, 1] * other[:, 0]).sum() / 2 == pytest.approx(1.6, abs=1e-9)
    tree = cKDTree(np.concatenate([points + (k, 0.0) for k in range(-3, 5)]))   # noqa: RUF005
    small = found.radius < 2
    assert (tree.query(found.centre[small])[0] > found.radius[small] * (1 - 1e-9)).all()


@settings(FEW, derandomize=True)
@given(seed=st.integers(0, 10**6), turns=st.floats(-1.5, 1.5))
def test_turning_everything_round_the_limb_changes_nothing(seed: int, turns: float) -> None:
    """On round sections, where skin is the same all round; on others paper goes by how it curves at its place."""
    limb = replace(ARM, levels=tuple(replace(lv, aspect=1.0) for lv in ARM.levels))
    scene = random_scene(np.random.default_rng(seed), 18, 40, 80, limb=limb)
    there = replace(scene, laid=tuple(lay(limb, replace(x.piece, u=x.piece.u + turns, turn_deg=0.0), x.flat)
                                      for x in scene.laid))
    here = replace(scene, laid=tuple(lay(limb, replace(x.piece, turn_deg=0.0), x.flat) for x in scene.laid))
    a, b = survey(here), survey(there)
    assert len(a.gaps) == len(b.gaps)
    for g in a.gaps:
        h = min(b.gaps, key=lambda h: abs((h.centre[0] - g.centre[0] - turns + 0.5) % 1 - 0.5) * 300
                + abs(h.centre[1] - g.centre[1]) + abs(h.area_mm2 - g.area_mm2) / 100)
        assert abs(h.widest_mm - g.widest_mm) / 2 <= 0.08
        assert h.area_mm2 == pytest.approx(g.area_mm2, rel=0.01)
        assert h.neighbours == g.neighbours


def test_seam_and_whole_turns_change_nothing() -> None:
    scene = random_scene(np.random.default_rng(11), 16, 40, 80)
    first = survey(scene)
    same(first, survey(replace(scene, seam_u=0.17)))
    laid = tuple(lay(ARM, replace(x.piece, u=x.piece.u + k, turn_deg=0.0), x.flat)
                 for k, x in zip(np.tile([0, 1, -2], 6), scene.laid, strict=False))
    plain = tuple(lay(ARM, replace(x.piece, turn_deg=0.0), x.flat) for x in scene.laid)
    a, b = survey(replace(scene, laid=plain)), survey(replace(scene, laid=laid))
    assert len(a.gaps) == len(b.gaps)
    assert [g.area_mm2 for g in a.gaps] == pytest.approx([g.area_mm2 for g in b.gaps], rel=1e-4)
    assert [(t.a, t.b) for t in a.ties] == [(t.a, t.b) for t in b.ties]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_outlines_keep_the_skin_break(seed: int) -> None:
    """Straight lines in space between edges and outlines, on round sections, are the skin break or more."""
    limb = replace(ARM, levels=tuple(replace(lv, aspect=1.0) for lv in ARM.levels))
    scene = random_scene(np.random.default_rng(seed), 20, 40, 80, limb=limb)
    dense = [np.asarray(shapely.segmentize(Polygon(r), 0.2).exterior.coords) for x in scene.laid
             for r in x.flat.silhouette]
    edges = cKDTree(limb.embed(np.concatenate([x.patch.to_skin(d) for x, d in zip(scene.laid, dense, strict=True)])))
    for want in (1.5, 2.0, 3.0):
        found = survey(scene, skin_break_mm=want)
        ring = np.concatenate([np.asarray(shapely.segmentize(Polygon(r * (300, 1)), 0.5).exterior.coords) / (300, 1)
                               for g in found.gaps for r in g.rings])
        d, _ = edges.query(limb.embed(ring))
        assert d.min() > want - 0.03
        assert d.min() < want + 0.12


@pytest.mark.parametrize(("seed", "count"), [(3, 4), (5, 14), (8, 30), (9, 45)])
def test_every_bit_of_skin_is_a_piece_a_gap_or_a_channel(seed: int, count: int) -> None:
    """Counted on a fine grid of equal areas: no two gaps overlap, none lies on a piece, their areas
    are right, and what is left over is narrow."""
    scene = random_scene(np.random.default_rng(seed), count, 30, 90)
    found = survey(scene)
    n = 420
    s_of = np.interp(np.linspace(0, 1, n, endpoint=False) + 0.5 / n, ARM.area_below(np.linspace(0, 490, 2000))
                     / ARM.area_mm2(), np.linspace(0, 490, 2000))
    u, s = (g.ravel() for g in np.meshgrid((np.arange(n) + 0.5) / n, s_of))
    each = ARM.area_mm2() / n**2

    def hits(shape: shapely.Geometry) -> np.ndarray:
        lo, hi = shape.bounds[0] / 300, shape.bounds[2] / 300
        return sum((shapely.contains_xy(shape, (u + k) * 300, s).astype(int)
                    for k in range(int(np.floor(lo)), int(np.floor(hi)) + 1)), np.zeros(len(u), int))

    gaps = [hits(g) for g in shapes(found)]
    for g, h in zip(found.gaps, gaps, strict=True):
        assert g.area_mm2 == pytest.approx(h.sum() * each, rel=0.01, abs=8.0)
    many = np.sum(gaps, axis=0)
    assert many.max() == 1
    piece = np.zeros(len(u), bool)
    outlines = []
    for x in scene.laid:
        flat = shapely.segmentize(x.flat.outline, 1.0)
        piece |= hits(shapely.transform(flat, lambda p, x=x: x.patch.to_skin(p) * (300, 1))) > 0
        outlines.append(x.patch.to_skin(shapely.get_coordinates(flat)))
    assert not np.any(piece & (many > 0))
    total = sum(g.area_mm2 for g in found.gaps) + piece.sum() * each + (~piece & (many == 0)).sum() * each
    assert total == pytest.approx(ARM.area_mm2(), rel=0.01)

    rest = np.column_stack([u, s])[~piece & (many == 0)]
    ring = np.linspace(0, 1, 600, endpoint=False)
    ends = [np.column_stack([ring, np.full(600, e)]) for e in (0.0, 490.0)]
    wide, _ = cKDTree(ARM.embed(np.concatenate([*outlines, *ends]))).query(ARM.embed(rest))
    assert (wide > 5.4).mean() < 0.01
    assert (many > 0).sum() > 0.7 * (~piece).sum()


@pytest.mark.parametrize(("neck_mm", "gaps"), [(5.0, 2), (12.0, 2), (36.0, 2), (47.0, 1), (54.0, 1)])
def test_a_neck_parts_two_pockets_and_a_wide_way_does_not(neck_mm: float, gaps: int) -> None:
    """A closed room 60 mm wide and 114 high, pinched half way up. Circles of 50 to 58 mm fit into
    both halves (they bulge into the neck), so a neck of 0.72 of that, 36 to 42 mm, is where two
    pockets become one."""
    jut = (60 - neck_mm) / 2
    walls = [put(TUBE, "left", box(20, 130), -40 / 260, 200), put(TUBE, "right", box(20, 130), 40 / 260, 200),
             put(TUBE, "top", box(90, 16), 0.0, 265), put(TUBE, "low", box(90, 16), 0.0, 135),
             put(TUBE, "a", box(jut + 4, 14), (-30 + jut / 2 - 2) / 260, 200),
             put(TUBE, "b", box(jut + 4, 14), (30 - jut / 2 + 2) / 260, 200)]
    found = survey(Scene(TUBE, -0.5, tuple(walls)))
    inside = [g for g in found.gaps if abs((g.centre[0] + 0.5) % 1 - 0.5) * 260 < 25 and 140 < g.centre[1] < 260]
    assert len(inside) == gaps
    if neck_mm > 20:
        assert sum(g.area_mm2 for g in inside) == pytest.approx(56 * 110 - 2 * jut * 18, rel=0.03)


def test_a_narrow_channel_is_skin_break_and_not_a_gap() -> None:
    for width, gaps in ((6.0, 0), (16.0, 1)):
        found = survey(Scene(TUBE, 0.0, (put(TUBE, "one", box(40, 120), 0.3, 200),
                                         put(TUBE, "two", box(40, 120), 0.3 + (40 + width) / 260, 200))))
        mid = 0.3 + (40 + width) / 520
        inside = [g for g, p in zip(found.gaps, shapes(found), strict=True)
                  if any(p.contains(shapely.Point((mid + k) * 300, 190)) for k in (-1, 0, 1))]
        assert len(inside) == gaps


def test_the_hole_of_a_ring_is_a_gap_when_it_is_wide_enough() -> None:
    for inner, gaps in ((4.0, 0), (7.0, 0), (15.0, 1)):
        ring = put(TUBE, "ring", drawing(disc(30), disc(inner)), 0.02, 200)
        found = survey(Scene(TUBE, -0.5, (ring,)))
        own = [g for g in found.gaps if g.neighbours == ("ring",) and abs((g.centre[0] - 0.02 + 0.5) % 1 - 0.5) < 0.01
               and abs(g.centre[1] - 200) < 2]
        assert len(own) == gaps
        if own:
            assert own[0].widest_mm == pytest.approx(2 * (inner - 2.0), abs=0.15)
            assert own[0].area_mm2 == pytest.approx(np.pi * (inner - 2.0) ** 2, rel=0.02)


def test_a_bare_limb_and_a_crowded_one() -> None:
    bare = survey(Scene(ARM, -0.5, ()))
    assert bare.gaps and not bare.ties
    assert sum(g.area_mm2 for g in bare.gaps) == pytest.approx(ARM.area_mm2(), rel=0.01)
    assert all(set(g.neighbours) <= {"border:far", "border:near"} for g in bare.gaps)
    full = survey(random_scene(np.random.default_rng(2), 60, 35, 70, apart_mm=-8))
    assert all(g.widest_mm > 5.9 for g in full.gaps)
    assert all(g.area_mm2 <= MOST_MM2 * 1.05 for g in (*bare.gaps, *full.gaps))


def test_pieces_over_the_seam_off_the_end_and_on_top_of_each_other() -> None:
    art = blob(np.random.default_rng(1), 70)
    laid = (put(ARM, "seam", art, 0.5, 200), put(ARM, "off", art, 0.1, 486), put(ARM, "under", art, 0.2, 100),
            put(ARM, "over", art, 0.2, 110, depth=1), put(ARM, "twin", art, 0.2, 110, depth=2),
            put(ARM, "gone", art, 0.1, 700))
    found = survey(Scene(ARM, -0.5, laid))
    names = {n for g in found.gaps for n in g.neighbours}
    assert {"seam", "off", "border:far", "border:near"} <= names
    assert "gone" not in names
    assert any(d["kind"] == "overlaps" for _, _, d in found.graph.edges(data=True))
    for p in shapes(found):
        assert p.is_valid


def test_fillers_take_up_no_skin() -> None:
    scene = random_scene(np.random.default_rng(6), 10, 50, 90)
    art = blob(np.random.default_rng(0), 60)
    filler = put(ARM, "f1", art, 0.4, 250)
    filler = replace(filler, piece=replace(filler.piece, recipe=Recipe("cloud", 1)))
    same(survey(scene), survey(replace(scene, laid=(*scene.laid, filler))))


def test_no_gap_runs_round_the_limb() -> None:
    """Two rows of pieces with a band of bare skin between them, all round."""
    rows = tuple(put(TUBE, f"{row}{k}", box(64, 90), k / 4 + 0.02 * row, 100 + 200 * row)
                 for row in (0, 1) for k in range(4))
    found = survey(Scene(TUBE, -0.5, rows))
    band = [g for g in found.gaps if 150 < g.centre[1] < 250]
    assert len(band) >= 2
    for g in band:
        assert Polygon(g.rings[0] * (260, 1)).is_valid
        assert np.ptp(g.rings[0][:, 0]) < 1.0
    assert sum(g.area_mm2 for g in band) > 0.9 * 260 * 106


def test_areas_agree_with_the_limb() -> None:
    found = survey(random_scene(np.random.default_rng(12), 15, 40, 90))
    for g in found.gaps:
        shape = Polygon(g.rings[0], g.rings[1:])
        assert area(ARM, shape) == pytest.approx(g.area_mm2, rel=1e-3)
        assert 0 <= g.flow_deg < 180
        assert g.length_mm >= g.widest_mm
    assert [g.number for g in found.gaps] == list(range(1, len(found.gaps) + 1))
    assert [g.area_mm2 for g in found.gaps] == sorted((g.area_mm2 for g in found.gaps), reverse=True)


def test_keys_name_the_place() -> None:
    scene = random_scene(np.random.default_rng(21), 12, 40, 90)
    keys = [g.key for g in survey(scene).gaps]
    assert len(set(keys)) == len(keys)
    assert keys == [g.key for g in survey(scene).gaps]


@pytest.mark.parametrize(("skin_break", "least"), [(-1, 10), (float("nan"), 10), (2, 3), (2, float("inf")), (30, 90)])
def test_senseless_margins_are_refused_in_words(skin_break: float, least: float) -> None:
    with pytest.raises(ValueError, match="must be between"):
        survey(Scene(ARM, -0.5, ()), skin_break, least)
