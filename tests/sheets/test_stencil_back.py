"""What goes out comes back in: drawn over, moved, scaled, mirrored, saved by another program, stripped."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from demo_case import DEMO, GALLERY

from composer.art.colour_notes import noted, noted_areas
from composer.art.drawing import Drawing, Layer, rings_to_geometry
from composer.art.errors import ArtError
from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.plan.model import Plan
from composer.plan.scene import lay
from composer.plan.steps import apply
from composer.plan.twins import limb_of
from composer.sheets.slits import prepare
from composer.sheets.stencil import stencil
from composer.sheets.stencil_back import Back, read_back
from composer.sheets.stencil_svg import stencil_svg

NEW = '<path d="M-3-3h6v6h-6z" fill="#000000"/>'


def file_of(*ids: str, plan: Plan = DEMO, gallery: dict[str, Drawing] = GALLERY) -> str:
    st = stencil(plan, ids, gallery)
    return stencil_svg(st, prepare(st)).decode()


sent = cache(file_of)
"""The file of pieces of the demo; many tests start from the same one."""


def on_skin(plan: Plan, back: Back, roles: tuple[str, ...]) -> shapely.Geometry:
    """Its ink in the chart of the piece it stands for."""
    return lay(limb_of(plan, back.piece.part), back.piece, back.drawing).flat.ink(*roles)


def off(a: shapely.Geometry, b: shapely.Geometry) -> float:
    """Area of the symmetric difference over the area."""
    return shapely.symmetric_difference(shapely.buffer(a, 0), shapely.buffer(b, 0)).area / b.area


def test_untouched_it_is_the_same_drawing_in_the_same_place() -> None:
    back = read_back(sent("demo4").encode(), DEMO, GALLERY)
    assert back.replaces and back.piece == DEMO.piece("demo4")
    was = lay(limb_of(DEMO, "left_arm"), back.piece, GALLERY[back.piece.art]).flat
    for role in ("line", "black"):
        assert off(on_skin(DEMO, back, (role,)), was.ink(role)) < 0.03
    apart = shapely.hausdorff_distance(on_skin(DEMO, back, ("line",)), was.ink("line"))
    assert apart < 0.5


def test_what_was_drawn_over_it_is_in_its_place() -> None:
    """A square of 6 mm at the anchor; the piece is turned, scaled and flipped, the square on skin is not."""
    svg = sent("demo6").replace("</svg>", f"{NEW}</svg>")
    back = read_back(svg.encode(), DEMO, GALLERY)
    black = on_skin(DEMO, back, ("black",))
    assert black.intersection(shapely.box(-3, -3, 3, 3)).area == pytest.approx(36, rel=0.02)
    step = apply(DEMO, {"do": "change", "pieces": [{"id": "demo6", "art": back.drawing.digest}]})
    assert step.piece("demo6").art == back.drawing.digest


def test_colours_lie_as_they_did_and_what_was_painted_over_them_is_named() -> None:
    """A piece half of which is red; a blue block of 16 mm is painted over it elsewhere."""
    ring = np.array([[-200.0, -200.0], [0.0, -200.0], [0.0, 200.0], [-200.0, 200.0]])
    form = GALLERY[DEMO.piece("demo4").art].outline
    red = form.intersection(shapely.Polygon(ring))
    art = DEMO.piece("demo4").art
    gallery = {**GALLERY, art: replace(GALLERY[art], notes=noted({"red": (ring,)}))}
    svg = file_of("demo4", gallery=gallery)
    plain, painted = (read_back(s.encode(), DEMO, gallery).drawing.notes for s in
                      (svg, svg.replace("</svg>", '<path d="M-8-8h16v16h-16z" fill="#2040e0"/></svg>')))
    kept = {n: rings_to_geometry(r) for n, r in noted_areas(plain).items()}
    assert set(kept) == {"red"} and kept["red"].symmetric_difference(red).area < 0.05 * red.area
    both = {n: rings_to_geometry(r) for n, r in noted_areas(painted).items()}
    size = DEMO.piece("demo4").scale
    assert both["blue"].area * size**2 == pytest.approx(256, rel=0.03) and both["red"].area < kept["red"].area - 20
    assert both["red"].intersection(both["blue"]).area < 1.0


def test_in_a_group_what_is_drawn_counts_as_that_group() -> None:
    svg = sent("demo6").replace('<g id="line" aria-label="Line work">', f'<g id="line" aria-label="Line work">{NEW}')
    back = read_back(svg.encode(), DEMO, GALLERY)
    assert on_skin(DEMO, back, ("line",)).intersection(shapely.box(-3, -3, 3, 3)).area == pytest.approx(36, rel=0.02)


@pytest.mark.parametrize("change", ["scale", "move", "mirror", "turn", "points"])
def test_whatever_the_other_program_does_to_the_whole_is_undone(change: str) -> None:
    svg = sent("demo6")
    head, body = svg.split(">\n<title>", 1)
    body = "<title>" + body.replace("</svg>", NEW + "</svg>")
    how = {"scale": "scale(0.5)", "move": "translate(40 -25)", "mirror": "scale(-1 1)", "turn": "rotate(90)"}
    if change == "points":       # saved in points without mm, as if 1 mm were 1 px
        head = re.sub(r'width="[\d.]+mm" height="[\d.]+mm"', "", head)
    else:
        body = f'<g transform="{how[change]}">{body.removesuffix("</svg>" + chr(10))}</g></svg>'
    back = read_back(f"{head}>\n{body}".encode(), DEMO, GALLERY)
    was = lay(limb_of(DEMO, "left_arm"), back.piece, GALLERY[back.piece.art]).flat
    assert off(on_skin(DEMO, back, ("line",)), was.ink("line")) < 0.03
    assert on_skin(DEMO, back, ("black",)).intersection(shapely.box(-3, -3, 3, 3)).area == pytest.approx(36, rel=0.02)
    assert any("scaled to" in n for n in back.notes) == (change in ("scale", "points"))


def test_without_its_attribute_or_without_its_crosses_it_still_comes_back() -> None:
    svg = sent("demo6")
    was = lay(limb_of(DEMO, "left_arm"), DEMO.piece("demo6"), GALLERY[DEMO.piece("demo6").art]).flat
    bare = re.sub(r' data-stencil="[^"]*"', "", svg)
    gone = re.sub(r'<path id="place-.*?/>', "", svg)
    for text in (bare, gone):
        back = read_back(text.encode(), DEMO, GALLERY)
        assert off(on_skin(DEMO, back, ("line",)), was.ink("line")) < 0.03
    assert any("crosses were gone" in n for n in read_back(gone.encode(), DEMO, GALLERY).notes)


def test_what_was_hidden_when_it_went_out_is_not_lost() -> None:
    def bar(w: float, h: float) -> Drawing:
        ring = np.array([(-w, -h), (w, -h), (w, h), (-w, h)])
        return Drawing((ring,), (Layer("line", (ring,)),))

    gallery = {d.digest: d for d in (bar(40, 6), bar(8, 20))}
    plan = apply(Plan("p", "Estuary"), {"do": "measure", "part": "left_arm", "measures": TYPICAL_MM})
    for n, digest in enumerate(gallery):
        plan = apply(plan, {"do": "place", "piece": {"id": f"p{n}", "part": "left_arm", "art": digest,
                                                     "title": f"Bar {n}", "u": 0.0, "s_mm": 200.0, "depth": n}})
    svg = file_of("p0", plan=plan, gallery=gallery)
    back = read_back(svg.encode(), plan, gallery)
    assert back.drawing.ink("line").area == pytest.approx(80 * 12, rel=0.02)
    assert any("hidden behind" in n for n in back.notes)


@pytest.mark.parametrize("ids", [("demo6",), ("demo6", "demo12")])
def test_on_chest_and_back_too_what_was_drawn_over_lies_where_it_was_drawn(ids: tuple[str, ...]) -> None:
    """A square 30 mm beside the middle of the paper: its places on the skin."""
    plan = apply(DEMO, {"do": "measure", "part": "chest", "measures": PANEL_TYPICAL_MM["chest"]})
    plan = replace(plan, pieces=tuple(replace(plan.piece(i), part="chest", u=0.08 + 0.05 * k, s_mm=170.0)
                                      for k, i in enumerate(ids)))
    st = stencil(plan, ids, GALLERY)
    svg = stencil_svg(st, prepare(st, way="whole")).decode()
    spot = shapely.Point(30, 20)
    new = '<path d="M27-23h6v6h-6z" fill="#000000"/>'
    back = read_back(svg.replace("</svg>", f"{new}</svg>").encode(), plan, GALLERY)
    assert back.replaces == (len(ids) == 1) and back.piece.part == "chest"
    own = lay(st.limb, back.piece, back.drawing)
    square = min(shapely.get_parts(own.flat.ink("black")), key=lambda p: p.distance(spot))
    was = st.limb.embed(st.chart.to_skin(np.array(spot.coords)))
    now = st.limb.embed(own.patch.to_skin(np.array(square.centroid.coords)))
    assert np.linalg.norm(now - was) < 0.5


def test_several_or_a_deleted_piece_come_back_as_a_new_one() -> None:
    back = read_back(sent("demo3", "demo5").encode(), DEMO, GALLERY)
    assert not back.replaces and "new piece" in " ".join(back.notes)
    gone = replace(DEMO, pieces=tuple(p for p in DEMO.pieces if p.id != "demo6"))
    one = read_back(sent("demo6").encode(), gone, GALLERY)
    assert not one.replaces
    was = lay(limb_of(DEMO, "left_arm"), DEMO.piece("demo6"), GALLERY[DEMO.piece("demo6").art])
    now = lay(limb_of(DEMO, "left_arm"), one.piece, one.drawing)
    assert off(now.flat.ink("line"), was.flat.ink("line")) < 0.03
    assert (now.patch.u0, now.patch.s0_mm) == pytest.approx((was.patch.u0, was.patch.s0_mm))


@pytest.mark.parametrize(("change", "says"), [
    (lambda t: re.sub(r'data-stencil="[^"]*"|<desc id="stencil-placement".*?</desc>', "", t), "does not say where"),
    (lambda t: re.sub(r'(<path id="place-b" d="M)[-\d.]+', r"\g<1>500", t), "moved apart"),
    (lambda t: re.sub(r'<g id="(silhouette|line|black)".*?</g>', "", t), "holds no art"),
    (lambda t: t[:900], "not whole XML"),
    (lambda t: t.replace("&quot;version&quot;:1", "&quot;version&quot;:99"), "does not say where"),
    (lambda t: re.sub("&quot;marks&quot;:", "&quot;m&quot;:", t), "does not say where")])
def test_what_cannot_be_put_back_is_told(change, says: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ArtError, match=says):
        read_back(change(sent("demo6")).encode(), DEMO, GALLERY)


def test_another_plan_without_the_part_is_told() -> None:
    with pytest.raises(KeyError, match="no part 'left_arm'"):
        read_back(sent("demo6").encode(), Plan("q", "Harbour"), {})


def test_groups_have_ids_and_names_for_people() -> None:
    svg = sent("demo4")
    for name in ("silhouette", "line", "black", "lining-up", "stencil-marks"):
        assert re.search(rf'<g id="{name}" aria-label="[^"]+">', svg)
    assert svg.count("mm\"") == 2 and "inkscape" not in svg
