"""Stencils: what is on them, where they are cut, and that the pieces go together again."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import networkx as nx
import numpy as np
import pytest
import shapely
from demo_case import DEMO, GALLERY
from skimage.graph import route_through_array

from composer.art.colour_notes import noted
from composer.art.drawing import Drawing, Layer
from composer.art.shelf import HOUSE, read_house
from composer.body.kinds import fields_of
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.plan.model import Piece, Plan
from composer.plan.steps import apply
from composer.sheets.cut_model import places
from composer.sheets.leaf import Cell, carry
from composer.sheets.leaf_strokes import leaf_strokes
from composer.sheets.paper_limits import paper_of, typed_of
from composer.sheets.quiet import KEPT, cheapest, field_of, quiet_way
from composer.sheets.round_parts import round_parts
from composer.sheets.slits import Cut, Limits, prepare
from composer.sheets.stencil import KEEP, Stencil, StencilError, goes_round, stencil
from composer.sheets.stencil_art import art_of, dots
from composer.sheets.strokes import Fill, Stroke, Words


def box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def alone(name: str, scale: float, u: float, s: float, **more) -> Stencil:
    """One piece of the demo, large, with nothing else on the arm."""
    piece = replace(DEMO.piece(name), scale=scale, u=u, s_mm=s, **more)
    return stencil(replace(DEMO, pieces=(piece,)), [name], GALLERY)


def test_one_piece_is_printed_as_drawn_at_true_size() -> None:
    st = stencil(DEMO, ["demo12"], GALLERY)
    art = GALLERY[DEMO.piece("demo12").art]
    assert st.size_mm == pytest.approx(np.ptp(np.concatenate(art.silhouette), axis=0) * 0.66, abs=1e-6)
    leaf = prepare(st).leaves[0]
    assert leaf.art.lines.equals(st.art.lines) and "Lies flat" in prepare(st).sentence


def test_only_what_is_seen_is_printed() -> None:
    back, front = (Drawing((box(-w, -h, w, h),), (Layer("line", (box(-w, -h, w, h),)),)) for w, h in ((40, 6), (8, 20)))
    gallery = {d.digest: d for d in (back, front)}
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    for n, d in enumerate((back, front)):
        plan = apply(plan, {"do": "place", "piece": {"id": f"p{n}", "part": "left_arm", "art": d.digest,
                                                     "title": f"Bar {n}", "u": 0.0, "s_mm": 200.0, "depth": n}})
    st = stencil(plan, ["p0"], gallery)
    assert st.art.lines.area < 80 * 12 - 16 * 12
    assert not st.art.lines.intersects(shapely.box(-9.9, -20, 9.9, 20))


def test_registration_keeps_off_the_art_and_is_light() -> None:
    st = stencil(DEMO, ["demo4"], GALLERY)
    kinds = {m.kind for m in st.marks}
    assert {"axis", "level", "healed"} <= kinds
    assert any(m.label.startswith("armpit 43.0 cm") for m in st.marks)
    for m in st.marks:
        if m.kind != "healed":
            assert m.lines.distance(st.body) > 2.0
    things = leaf_strokes(prepare(st).leaves[0], st.title)
    ink = [t for t in things if t.group in ("line-work", "blacks", "shade-borders")]
    rest = [t for t in things if t.group not in ("line-work", "blacks", "shade-borders")]
    assert all(t.grey == 0 for t in ink) and all(t.grey >= 0.3 for t in rest)
    words = [t.text for t in things if isinstance(t, Words)]
    assert st.title in words and "armpit 43.0 cm" in words


def test_a_shade_line_is_printed_lightly_where_it_runs_and_off_the_art() -> None:
    piece = DEMO.piece("demo4")
    for turn in (0.0, 1.0):     # wherever the seam was when it was drawn
        points = [[piece.u + turn + d, piece.s_mm] for d in (-0.3, 0.0, 0.3)]
        lined = apply(DEMO, {"do": "shade", "part": piece.part, "add": {"id": "a", "points": points}})
        st = stencil(lined, ["demo4"], GALLERY)
        (mark,) = (m for m in st.marks if m.kind == "shade")
        assert np.abs(st.chart.to_skin(shapely.get_coordinates(mark.lines))[:, 1] - piece.s_mm).max() < 0.5
        assert mark.lines.distance(st.body) > 2.0 and mark.lines.length > 10
        assert "shade line" in [t.text for t in leaf_strokes(prepare(st).leaves[0], st.title) if isinstance(t, Words)]
    assert not any(m.kind == "shade" for m in stencil(DEMO, ["demo4"], GALLERY).marks)


def test_blacks_are_outlined_and_shades_dotted_each_at_its_spacing() -> None:
    drawing = Drawing((box(-50, -30, 50, 30),), (
        Layer("light", (box(-40, -20, -20, 20),)), Layer("dark", (box(20, -20, 40, 20),)),
        Layer("black", (box(-10, -10, 10, 10), box(-15, 15, 15, 15.8)))))
    art = art_of([drawing])
    assert art.lines.area == pytest.approx(30 * 0.8)            # a thin black is line work
    assert art.blacks.length == pytest.approx(80, abs=2)        # a wide one its outline
    assert len(art.crosses) == 1 and np.abs(art.crosses).max() < 1
    assert {r: round(g.length) for r, g in art.borders} == {"dark": 120, "light": 120}
    by = dict(art.borders)
    assert len(dots(by["dark"], 1.1)) > 2.5 * len(dots(by["light"], 3.2))
    assert art_of([drawing], shades=False).borders == ()


def test_areas_of_colour_are_outlined_with_wider_dots_and_named_where_there_is_room() -> None:
    drawing = Drawing((box(-50, -30, 50, 30),), (Layer("line", (box(-50, -1, 50, 0),)),
                                                 Layer("dark", (box(-45, 5, -25, 25),))))
    drawing = replace(drawing, notes=noted({"red": (box(0, 5, 40, 25),), "blue": (box(0, -8, 3, -6),)}))
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    plan = apply(plan, {"do": "place", "piece": {"id": "b", "part": "left_arm", "art": drawing.digest, "title": "Buoy",
                                                 "u": 0.0, "s_mm": 200.0, "scale": 1.2, "turn_deg": 90.0}})
    st = stencil(plan, ["b"], {drawing.digest: drawing})
    assert {r: round(g.length) for r, g in st.art.borders} == {"dark": 96, "red": 144, "blue": 12}
    ((name, at),) = st.art.names
    assert name == "red" and shapely.box(-30, 0, -6, 48).contains(shapely.Point(at[0]))
    leaf = prepare(st).leaves[0]
    things = leaf_strokes(leaf, st.title)
    assert "red" in [t.text for t in things if isinstance(t, Words)]
    by = dict(st.art.borders)
    dotted = [len(t.lines) for t in things if isinstance(t, Stroke) and t.group == "shade-borders"]
    assert [round(by[r].length / n, 1) for r, n in zip(by, dotted, strict=True)][:2] == [1.1, 4.6]
    assert stencil(plan, ["b"], {drawing.digest: drawing}, shades=False).art.names == ()


def test_cheapest_way_is_the_shortest_path_of_its_graph() -> None:
    """Against networkx (Dijkstra) on the same steps, and never better than scikit-image's freer routes."""
    rng = np.random.default_rng(8)
    cost = rng.uniform(1, 20, (14, 11))
    starts, ends = np.zeros(cost.shape, bool), np.zeros(cost.shape, bool)
    starts[0], ends[-1] = True, True
    graph = nx.DiGraph()
    for r in range(13):
        for c in range(11):
            for d in (-1, 0, 1):
                if 0 <= c + d < 11:
                    graph.add_edge((r, c), (r + 1, c + d),
                                   weight=np.hypot(1, d) * (cost[r, c] + cost[r + 1, c + d]) / 2)
    theirs = min(nx.multi_source_dijkstra_path_length(graph, {(0, c) for c in range(11)})[13, c] for c in range(11))
    way = cheapest(cost, starts, ends)
    assert way is not None
    ours = sum(graph.edges[tuple(map(int, a)), tuple(map(int, b))]["weight"] for a, b in pairwise(way))
    assert ours == pytest.approx(theirs)
    free = min(route_through_array(cost, (0, a), (13, b))[1] for a in range(11) for b in range(11))
    assert free <= ours + 1e-9


def test_a_cut_goes_round_ink_and_never_through_what_is_kept_whole() -> None:
    paper, wall = shapely.box(-30, 0, 30, 80), shapely.box(-30, 38, 12, 42)
    none = shapely.Polygon()
    field = field_of(paper, wall, none, none)
    rows, columns = np.indices(field.cost.shape)
    across = (field.x0 + columns) / 28
    y = field.y0 + rows
    way = quiet_way(field, across, np.abs(y - 1) < 1, y > 78, "up")
    assert way is not None and shapely.LineString(way).distance(wall) > 0
    assert quiet_way(field_of(paper, none, none, wall.union(shapely.box(10, 38, 31, 42))), across,
                     np.abs(y - 1) < 1, y > 78, "up") is None
    assert KEPT > 80 * 30


@pytest.mark.parametrize("way", ["slits", "split"])
def test_cuts_bring_the_stretch_down_and_lose_nothing(way: str) -> None:
    st = alone("demo1", 1.4, 0.1, 150.0)
    before, cut = prepare(st, way="whole"), prepare(st, way=way)
    assert cut.way == way and abs(cut.stretch) < 0.6 * abs(before.stretch) and cut.error_mm < before.error_mm
    assert shapely.union_all([c.region for c in cut.cells]).symmetric_difference(st.outline).area < 1.0
    printed = sum(leaf.art.lines.area for leaf in cut.leaves)
    assert printed == pytest.approx(st.art.lines.area, rel=0.05)
    for leaf in cut.leaves:
        assert leaf.outline.buffer(0.3).covers(leaf.art.lines.buffer(-0.05))


def test_ticks_of_two_papers_lie_on_each_other_on_skin() -> None:
    st = alone("demo1", 1.4, 0.1, 150.0)
    cut = prepare(st, way="split")
    assert len(cut.leaves) == len(cut.cells) >= 2
    for below, above, a, b in zip(cut.leaves, cut.leaves[1:], cut.cells, cut.cells[1:], strict=False):
        low = {t.label: t.line[0] for t in below.ticks}
        high = {t.label: t.line[0] for t in above.ticks}
        both = set(low) & set(high)
        assert len(both) >= 2
        for k in both:
            one, two = (c.paper.to_skin(p[None])[0] for c, p in ((a, low[k]), (b, high[k])))
            assert np.abs((one - two) * (300, 1)).max() < 1e-6


def test_slit_papers_never_overlap_themselves() -> None:
    """Where gores would run into each other (a hollow at the elbow) the slit is shared, and said to open."""
    st = alone("demo2", 1.5, 0.1, 300.0)
    cut = prepare(st, way="slits")
    assert cut.opens_mm > 1 and "open" in cut.sentence
    assert cut.leaves[0].cuts
    lines = cut.leaves[0].art.lines
    whole = sum(g.area for g in shapely.get_parts(lines))
    assert shapely.union_all(shapely.get_parts(lines)).area == pytest.approx(whole, rel=0.005)


def test_what_is_kept_whole_is_not_cut() -> None:
    free = alone("demo1", 1.4, 0.1, 150.0)
    way = prepare(free, way="split")
    assert way.way == "split"
    tower = [[-25, -75, 25, -75, 25, 75, -25, 75]]
    kept = alone("demo1", 1.4, 0.1, 150.0, extra={KEEP: [np.reshape(tower[0], (-1, 2)).tolist()]})
    cut = prepare(kept, Limits(), "split")
    assert cut.way == "whole" and cut.sentence.startswith("No cut was found that leaves whole")
    slit = prepare(kept, Limits(), "slits")
    for a in slit.cells:
        inside = shapely.intersection(a.region.boundary, kept.keep.buffer(-1.5))
        rim = shapely.intersection(inside, kept.outline.buffer(-1).boundary.buffer(2))
        assert slit.way == "whole" or inside.length - rim.length < 60  # the spine itself is no cut


@pytest.mark.parametrize("part", ["left_arm", "chest"])
@pytest.mark.parametrize("size", [(60.0, 1.0), (1.0, 60.0), (3.0, 3.0), (240.0, 2.0)])
def test_a_piece_too_thin_for_slits_gets_none(part: str, size: tuple[float, float]) -> None:
    w, h = size
    art = Drawing((box(-w / 2, -h / 2, w / 2, h / 2),), ())
    measures = TYPICAL_MM if part == "left_arm" else PANEL_TYPICAL_MM[part]
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": part, "measures": measures})
    plan = apply(plan, {"do": "place", "piece": {"id": "b", "part": part, "art": art.digest, "title": "Bar", "u": 0.0,
                                                 "s_mm": 150.0}})
    st = stencil(plan, ["b"], {art.digest: art})
    for limits in (Limits.of({}), Limits(error_mm=0.3), Limits()):
        assert prepare(st, limits, "slits").way == "whole"


def test_what_a_motif_says_of_its_face_is_kept_beside_what_was_painted() -> None:
    face, painted = [[-3, -3], [3, -3], [3, 3], [-3, 3]], [[10, 0], [14, 0], [14, 4], [10, 4]]
    piece = replace(DEMO.piece("demo1"), extra={KEEP: [painted]})
    plan = replace(DEMO, pieces=(piece,))
    assert stencil(plan, ["demo1"], GALLERY).keep.area == pytest.approx(16 * piece.scale**2)
    assert stencil(plan, ["demo1"], GALLERY, {"demo1": [face]}).keep.area == pytest.approx(52 * piece.scale**2)
    whole = stencil(plan, ["demo1"], GALLERY, {"demo1": True})
    assert whole.keep.covers(whole.body.buffer(-0.01))


def test_several_pieces_share_one_paper_and_one_chart() -> None:
    st = stencil(DEMO, ["demo3", "demo5"], GALLERY)
    assert st.title == "The pilot's daughter and 1 more"
    parts = [stencil(DEMO, [i], GALLERY) for i in ("demo3", "demo5")]
    assert st.art.lines.area == pytest.approx(sum(p.art.lines.area for p in parts), rel=0.05)
    assert st.outline.covers(st.body)


def test_carrying_by_the_stencils_own_chart_changes_nothing() -> None:
    st = stencil(DEMO, ["demo4"], GALLERY)
    xy = shapely.get_coordinates(st.body)[:50]
    assert np.abs(carry(st, Cell(st.outline, st.chart), xy) - xy).max() < 1e-9


def test_rings_stay_closed_where_sums_differ_in_their_last_digit() -> None:
    ring = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (0.0, 0.0)])
    paper = SimpleNamespace(to_flat=lambda us: us + 1e-13 * np.arange(len(us))[:, None])
    on = carry(SimpleNamespace(chart=SimpleNamespace(to_skin=lambda xy: xy)), SimpleNamespace(paper=paper), ring)
    assert (on[0] == on[-1]).all() and np.abs(on - ring).max() < 1e-12


def test_auto_cuts_only_beyond_the_plans_limit() -> None:
    st = alone("demo1", 1.4, 0.1, 200.0)
    assert 0.05 < abs(st.fit.stretch) < 0.10
    assert prepare(st).way == "whole"
    own = Limits.of({"paper": {"warn": 0.03, "act": 0.05}})
    assert (own.warn, own.act) == (0.03, 0.05) and prepare(st, own).way != "whole"
    usual = Limits(error_mm=1.0, few=True)
    assert Limits.of({"paper": {"warn": "much", "mm": True}}) == Limits.of({"paper": 3}) == Limits.of({}) == usual
    assert Limits.of({"paper": {"mm": 2.5}}).error_mm == 2.5


def test_unasked_it_is_cut_until_it_is_right_to_a_millimetre_if_few_cuts_do() -> None:
    st = alone("demo1", 1.4, 0.1, 200.0)
    whole, cut = prepare(st, Limits.of({}), "whole"), prepare(st, Limits.of({}))
    assert whole.error_mm > 2 and whole.sentence.startswith("One paper, uncut")
    assert cut.way != "whole" and cut.error_mm <= 1.0 and f"{whole.error_mm:.1f} mm)" in cut.sentence
    assert prepare(st, Limits.of({"paper": {"mm": 9.0}})).way == "whole"


@pytest.mark.parametrize(("typed", "says"), [
    (("5 %", "much", "1"), "'much' is no number"), (("", "9", "1"), "no number"), (("nan", "9", "1"), "no number"),
    (("5", "90", "1"), "give 0.5 to 50 %"), (("5", "10", "0.1"), "0.3 to 10 mm"),
    (("12", "10", "1"), "warning must come first")])
def test_limits_that_make_no_sense_are_told(typed: tuple[str, ...], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        paper_of(dict(zip(("warn", "act", "mm"), typed, strict=True)))


def test_limits_are_kept_as_they_were_typed() -> None:
    kept = paper_of({"warn": "4,5", "act": "8 %", "mm": "1.5 mm"})
    assert kept == {"warn": 0.045, "act": 0.08, "mm": 1.5}
    assert typed_of(Limits.of({"paper": kept})) == {"warn": "4.5", "act": "8", "mm": "1.5"}


def test_things_are_only_fills_strokes_and_words_with_something_in_them() -> None:
    for leaf in prepare(alone("demo2", 1.5, 0.1, 300.0), way="slits").leaves:
        for t in leaf_strokes(leaf, "Heron"):
            assert isinstance(t, Words) or (t.rings if isinstance(t, Fill) else t.lines)
            if isinstance(t, Stroke):
                assert all(np.isfinite(v).all() and len(v) > 1 for v in t.lines)


def test_bad_wishes_are_told() -> None:
    with pytest.raises(StencilError, match="Choose at least one piece"):
        stencil(DEMO, [], GALLERY)
    with pytest.raises(KeyError, match="no piece 'nobody'"):
        stencil(DEMO, ["nobody"], GALLERY)
    with pytest.raises(ValueError, match="can't be cut by 'teeth'"):
        prepare(stencil(DEMO, ["demo12"], GALLERY), way="teeth")
    other = replace(DEMO.piece("demo12"), id="r", part="right_arm")
    with pytest.raises(StencilError, match="different parts"):
        stencil(DEMO.with_piece(other), ["demo4", "r"], GALLERY)


def on_the_chest(*pieces: Piece) -> Plan:
    plan = apply(DEMO, {"do": "measure", "part": "chest", "measures": PANEL_TYPICAL_MM["chest"]})
    return replace(plan, pieces=tuple(replace(p, part="chest") for p in pieces))


def farthest_off(st: Stencil, cut: Cut) -> float:
    """By how much 600 straight lines over each paper, from rim to rim at random, are off in length at most, mm."""
    rng, worst = np.random.default_rng(7), 0.0
    us = places(st)
    flat = st.chart.to_flat(us)
    for cell in cut.cells:
        on = shapely.contains_xy(cell.region, flat[:, 0], flat[:, 1])
        if on.sum() < 3:
            continue
        rim = shapely.convex_hull(shapely.multipoints(cell.paper.to_flat(us[on]))).exterior
        a, b = (shapely.get_coordinates(rim.interpolate(rng.uniform(0, rim.length, 600))) for _ in "ab")
        t = np.linspace(0, 1, 24)[:, None, None]
        space = st.limb.embed(cell.paper.to_skin((a + t * (b - a)).reshape(-1, 2))).reshape(24, 600, 3)
        long = np.linalg.norm(np.diff(space, axis=0), axis=2).sum(axis=0)
        worst = max(worst, float(np.abs(long - np.hypot(*(a - b).T)).max()))
    return worst


@pytest.mark.parametrize("way", ["slits", "split"])
def test_on_the_chest_cuts_bring_the_error_down_and_lose_nothing(way: str) -> None:
    plan = on_the_chest(replace(DEMO.piece("demo4"), u=0.1, s_mm=175.0),
                        replace(DEMO.piece("demo2"), u=-0.12, s_mm=175.0, scale=1.4))
    one, two = stencil(plan, ["demo4"], GALLERY), stencil(plan, ["demo4", "demo2"], GALLERY)
    assert any(m.label == "midline" for m in two.marks)
    whole, cut = prepare(two, way="whole"), prepare(two, Limits(error_mm=1.0), way)
    assert prepare(one, way="whole").error_mm < whole.error_mm and whole.error_mm > 5
    assert cut.way == way and cut.error_mm < 0.4 * whole.error_mm and abs(cut.stretch) < abs(whole.stretch)
    assert f"{whole.error_mm:.1f} mm" in cut.sentence
    assert farthest_off(two, cut) < 1.08 * cut.error_mm
    assert shapely.union_all([c.region for c in cut.cells]).symmetric_difference(two.outline).area < 1.5
    printed = sum(leaf.art.lines.area for leaf in cut.leaves)
    assert printed == pytest.approx(two.art.lines.area, rel=0.05)
    for leaf in cut.leaves:
        assert leaf.outline.buffer(0.3).covers(leaf.art.lines.buffer(-0.05))


def test_a_paper_whose_freehand_part_comes_out_crossed_is_cut_all_the_same() -> None:
    """On the largest chest that is taken."""
    motif, drawing = read_house(HOUSE / "moon_jelly.svg")
    plan = apply(Plan("p", "Tide"), {"do": "measure", "part": "chest",
                                     "measures": {f.name: f.high_mm for f in fields_of("chest")}})
    plan = apply(plan, {"do": "place", "piece": {
        "id": "a", "part": "chest", "art": motif.digest, "title": motif.title, "u": 0.0021681494592176165,
        "s_mm": 869.0076123033815, "turn_deg": -68.51878074851795, "scale": 0.46157656376432954}})
    cut = prepare(stencil(plan, ["a"], {motif.digest: drawing}), Limits(), "slits")
    assert all(leaf.freehand.is_valid and leaf.outline.is_valid for leaf in cut.leaves) and cut.freehand_mm2 > 0


def test_a_cut_of_a_single_point_is_none() -> None:
    """On the thinnest leg that is taken."""
    motif, drawing = read_house(HOUSE / "poppy.svg")
    plan = apply(Plan("p", "Tide"), {"do": "measure", "part": "left_leg",
                                     "measures": {f.name: f.low_mm for f in fields_of("left_leg")}})
    plan = apply(plan, {"do": "place", "piece": {
        "id": "a", "part": "left_leg", "art": motif.digest, "title": motif.title, "u": -0.247616232486778,
        "s_mm": 118.879832924624, "turn_deg": -65.7233674035301, "scale": 1.0770622473027394}})
    cut = prepare(stencil(plan, ["a"], {motif.digest: drawing}), Limits(), "slits")
    assert all(len(c) > 1 for leaf in cut.leaves for c in leaf.cuts)


def test_ticks_of_two_papers_on_the_chest_lie_on_each_other_on_skin() -> None:
    plan = on_the_chest(replace(DEMO.piece("demo1"), u=0.1, s_mm=160.0, scale=1.5))
    cut = prepare(stencil(plan, ["demo1"], GALLERY), way="split")
    labels = [{t.label: t.line[0] for t in leaf.ticks} for leaf in cut.leaves]
    shared = [(k, i, j) for i in range(len(labels)) for j in range(i) for k in set(labels[i]) & set(labels[j])]
    assert len(shared) >= 2
    for k, i, j in shared:
        one, two = (cut.cells[n].paper.to_skin(labels[n][k][None])[0] for n in (i, j))
        assert np.abs((one - two) * (1000, 1)).max() < 1e-5


def test_a_paper_that_goes_right_round_is_parted_so_that_it_can_be_put_on() -> None:
    st = stencil(DEMO, [p.id for p in DEMO.pieces if p.part == "left_arm" and p.s_mm > 330], GALLERY)
    assert goes_round(st.limb, st.chart, st.outline)
    for way in ("auto", "whole"):
        cut = prepare(st, way=way)
        assert len(cut.leaves) >= 2 and "right round" in cut.sentence
        assert [v.name for v in cut.leaves] == list("ABCDEFGHIJ"[:len(cut.leaves)])
        assert not any(goes_round(st.limb, st.chart, c.region) for c in cut.cells)
        assert shapely.union_all([c.region for c in cut.cells]).symmetric_difference(st.outline).area < 1.5
        labels = [t.label for v in cut.leaves for t in v.ticks]
        assert labels and all(labels.count(k) == 2 for k in labels)
    printed = sum(leaf.art.lines.area for leaf in cut.leaves)     # left whole beyond the parting: true area
    assert printed == pytest.approx(st.art.lines.area, rel=0.002)


def test_ticks_of_papers_round_the_limb_meet_on_skin() -> None:
    st = stencil(DEMO, [p.id for p in DEMO.pieces if p.part == "left_arm" and p.s_mm > 330], GALLERY)
    parts = round_parts(st)
    at: dict[str, list[np.ndarray]] = {}
    for part in parts:
        for t in part.ticks:
            at.setdefault(t.label, []).append(st.chart.to_skin(t.line[:1])[0])
    assert len(parts) >= 2 and at and all(len(v) == 2 and np.abs(v[0] - v[1]).max() < 1e-9 for v in at.values())
    kept = replace(st, keep=st.outline)
    assert round_parts(kept) == (kept,) and "covers itself" in prepare(kept).sentence
