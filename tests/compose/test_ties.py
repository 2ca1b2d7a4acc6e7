"""Ties, the graph and the flow: what they say follows from what lies where."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from skin_cases import ARM, TUBE, blob, box, disc, drawing, put, random_scene

from composer.compose.flow import LEAN_DEG, flow_of, outline_axis
from composer.compose.gaps import survey
from composer.compose.ties import WEAKEST
from composer.compose.words import both, names_of
from composer.plan.scene import Scene


def facing(gap_mm: float, turn: float = 0.0) -> Scene:
    """Two 60 mm boxes one above the other, `gap_mm` apart, on a tube."""
    return Scene(TUBE, -0.5, (put(TUBE, "a_low", box(60, 60), turn, 130, title="Heron, wings half open"),
                              put(TUBE, "b_high", box(60, 60), turn, 190 + gap_mm, title="Lighthouse")))


def test_a_tie_says_who_faces_whom_how_far_and_why() -> None:
    tie = survey(facing(23.0)).ties[0]
    assert (tie.a, tie.b) == ("a_low", "b_high")
    assert tie.clearance_mm == pytest.approx(23.0, abs=0.3)
    assert tie.joins
    assert "heron and the lighthouse face each other across 23 mm and the flow runs through" in tie.reason.lower()
    assert tie.reason.endswith("fall apart.")
    (ua, sa), (ub, sb) = sorted((tie.from_port, tie.to_port), key=lambda p: p[1])
    assert sa == pytest.approx(160.0, abs=0.1)
    assert sb == pytest.approx(183.0, abs=0.1)
    assert abs((ua - ub + 0.5) % 1 - 0.5) * 260 < 4
    assert abs((ua + 0.5) % 1 - 0.5) * 260 < 30.1
    assert tie.gaps and set(tie.gaps) <= {g.key for g in survey(facing(23.0)).gaps}


def test_the_window_of_clearances() -> None:
    def best(gap_mm: float) -> float:
        return max((t.strength for t in survey(facing(gap_mm)).ties if {t.a, t.b} == {"a_low", "b_high"}), default=0.0)

    values = {d: best(d) for d in (4.0, 10.0, 22.0, 45.0, 60.0)}
    assert values[22.0] > 0.8
    assert values[4.0] == values[60.0] == 0.0
    assert WEAKEST < values[10.0] < values[22.0]
    assert WEAKEST < values[45.0] < values[22.0]


def test_flow_across_a_tie_weakens_it() -> None:
    along = survey(facing(22.0)).ties[0]
    side = Scene(TUBE, -0.5, (put(TUBE, "a", box(60, 60), 0.0, 200), put(TUBE, "b", box(60, 60), 82 / 260, 200)))
    across = next(t for t in survey(side).ties if {t.a, t.b} == {"a", "b"})
    assert across.agree < 0.15 < 0.9 < along.agree
    assert across.strength < along.strength
    assert "flow runs across it" in across.reason


def test_two_pieces_meet_on_both_sides_of_the_limb() -> None:
    for shift in (0.0, 0.37, -0.9):
        found = survey(Scene(TUBE, -0.5, (put(TUBE, "a", box(100, 80), shift, 200),
                                          put(TUBE, "b", box(100, 80), shift + 0.5, 200))))
        near = [d for d in found.graph.get_edge_data("a", "b").values() if d["kind"] == "meets" and d["gap"]]
        assert {round(d["du"], 6) for d in near} == {0.5, -0.5}
        for d in near:
            assert d["clearance_mm"] == pytest.approx(30.0, abs=0.3)
            assert d["ds_mm"] == pytest.approx(0.0, abs=1e-9)
        sides = {round(4 * ((t.from_port[0] + t.to_port[0]) / 2 - shift)) % 4 for t in found.ties
                 if {t.a, t.b} == {"a", "b"}}
        assert sides == {1, 3}


def test_displacement_leads_from_anchor_to_anchor() -> None:
    found = survey(random_scene(np.random.default_rng(3), 20, 40, 80))
    place = {n: (d["u"], d["s_mm"]) for n, d in found.graph.nodes(data=True)}
    seen = 0
    for _, _, d in found.graph.edges(data=True):
        a, b = d["start"], d["end"]
        if found.graph.nodes[a]["kind"] == found.graph.nodes[b]["kind"] == "piece":
            seen += 1
            assert d["ds_mm"] == pytest.approx(place[b][1] - place[a][1])
            turns = d["du"] - (place[b][0] - place[a][0])
            assert turns == pytest.approx(round(turns), abs=1e-9)
            assert abs(d["du"]) < 1.2
            assert d["winding"] == round(d["du"])
    assert seen > 20


def test_the_graph_has_every_piece_gap_and_border() -> None:
    found = survey(random_scene(np.random.default_rng(7), 25, 40, 80))
    g = found.graph
    assert isinstance(g, nx.MultiGraph)
    assert {n for n, d in g.nodes(data=True) if d["kind"] == "gap"} == {x.key for x in found.gaps}
    assert {n for n, d in g.nodes(data=True) if d["kind"] == "piece"} == {x.piece.id for x in found.scene.laid}
    assert {n for n, d in g.nodes(data=True) if d["kind"] == "border"} == {"border:far", "border:near"}
    assert nx.is_connected(nx.Graph(g))
    assert {d["kind"] for _, _, d in g.edges(data=True)} >= {"meets", "bounds", "neck", "flow"}
    for x in found.gaps:
        assert {b for b in g[x.key] if g.nodes[b]["kind"] != "gap"} == set(x.neighbours)
    for t in found.ties:
        assert g.has_edge(t.a, t.b)
        assert any(d["kind"] == "meets" and d["gap"] in t.gaps for d in g[t.a][t.b].values())


def test_ties_that_join_make_one_group_and_no_more_than_needed() -> None:
    found = survey(random_scene(np.random.default_rng(9), 16, 40, 80))
    group = {n: d["group"] for n, d in found.graph.nodes(data=True) if d["kind"] == "piece"}
    joins = [t for t in found.ties if t.joins]
    forest = nx.Graph()
    forest.add_nodes_from(set(group.values()))
    forest.add_edges_from((group[t.a], group[t.b]) for t in joins)
    assert nx.is_forest(forest) and forest.number_of_edges() == len(joins)
    for t in found.ties:
        assert t.joins == ("fall apart" in t.reason)
        assert 0 < t.strength <= 1
    assert [t.strength for t in found.ties] == sorted((t.strength for t in found.ties), reverse=True)


def test_streams_pass_behind_pieces() -> None:
    """A broad piece right across the way of the flow, bare skin above and below it."""
    found = survey(Scene(TUBE, -0.5, (put(TUBE, "low", box(200, 20), 0.0, 60), put(TUBE, "mid", box(200, 50), 0.0, 200),
                                      put(TUBE, "top", box(200, 20), 0.0, 330))))
    behind = [d["behind"] for _, _, d in found.graph.edges(data=True) if d["kind"] == "flow"]
    assert ("mid",) in behind


def test_flow_follows_limb_lean_and_pieces() -> None:
    bare = flow_of(Scene(ARM, -0.5, ()))
    spots = np.array([(0.1, 60.0), (0.6, 150.0), (-0.3, 400.0)])
    assert np.degrees(bare.angle(spots)) % 180 == pytest.approx([90, 90, 90])
    far = put(ARM, "dot", drawing(disc(12)), 0.5, 470)
    left = flow_of(Scene(ARM, -0.5, (far,)))
    right = flow_of(Scene(ARM, -0.5, (replace(far, piece=replace(far.piece, part="right_arm")),)))
    assert np.degrees(left.angle(spots[:2])) % 180 == pytest.approx([90 - LEAN_DEG] * 2, abs=0.5)
    assert np.degrees(right.angle(spots[:2])) % 180 == pytest.approx([90 + LEAN_DEG] * 2, abs=0.5)
    assert np.degrees(left.angle(spots[2:])) % 180 == pytest.approx([90], abs=0.5)
    lying = flow_of(Scene(ARM, -0.5, (put(ARM, "pole", box(110, 12), 0.2, 400),)))
    at = np.degrees(lying.angle(np.array([(0.2, 400.0), (1.2, 400.0)]))) % 180
    assert np.all(np.minimum(at, 180 - at) < 5)
    assert at[0] == pytest.approx(at[1])
    rings = flow_of(Scene(ARM, -0.5, ()), rings=True)
    assert abs(np.degrees(rings.angle(np.array([(0.0, 250.0)])))[0]) < 1


def test_flow_does_not_know_the_seam() -> None:
    scene = random_scene(np.random.default_rng(1), 12, 40, 90)
    spots = np.column_stack([np.linspace(-1, 1, 50), np.linspace(0, 490, 50)])
    flow = flow_of(scene)
    turned = flow.angle(spots + np.array([1.0, 0.0]))
    assert np.cos(2 * flow.angle(spots)) == pytest.approx(np.cos(2 * turned), abs=1e-5)


def test_a_blob_has_no_say_in_the_flow_and_a_pole_has() -> None:
    round_, pole = outline_axis(drawing(disc(20)).outline), outline_axis(box(100, 10).outline)
    assert round_[2] == pytest.approx(0.0, abs=1e-6)
    assert pole[2] == pytest.approx(0.9)
    assert outline_axis(blob(np.random.default_rng(0), 50).outline)[3] == pytest.approx(50, rel=0.3)


def test_names_in_sentences() -> None:
    names = names_of({"a": "Heron, wings half open", "b": "The lighthouse", "c": "Gull, left", "d": "Gull, right",
                      "e": "Saint Elmo", "f": "  ", "g": "Crab", "h": "Crab"})
    assert names["a"] == "the heron"
    assert names["b"] == "the lighthouse"
    assert (names["c"], names["d"]) == ("the gull left", "the gull right")
    assert names["e"] == "the saint Elmo"
    assert names["f"] == "the piece"
    assert both(names["g"], names["h"]) == "the crab and the other crab"
