"""An artist's SVG comes in clean, or a sentence says why not."""

from __future__ import annotations

import gzip

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from composer.art.errors import ArtError
from composer.art.svg_read import read_svg
from composer.art.winding import filled_area

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def read(body: str, head: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"'):
    return read_svg(f"<svg {NS} {head}>{body}</svg>".encode())


def size(art) -> np.ndarray:
    return np.ptp(np.concatenate(art.drawing.silhouette), axis=0)


def test_size_in_mm_and_upright() -> None:
    art = read('<path d="M10 10H50V30H40V90H10Z"/>')
    assert size(art) == pytest.approx((40, 80))
    top = art.drawing.outline.bounds[3]
    assert art.drawing.outline.intersection(shapely.box(-99, top - 1, 99, top)).length > 40  # wide end is up


@pytest.mark.parametrize(("head", "mm"), [
    ('width="4in" height="4in" viewBox="0 0 100 100"', 101.6 * 0.8), ('width="10cm" viewBox="0 0 100 100"', 80),
    ('width="96" height="96" viewBox="0 0 100 100"', 25.4 * 0.8), ('width="72pt" viewBox="0 0 100 100"', 25.4 * 0.8),
    ("", 80 * 25.4 / 96)])
def test_units(head: str, mm: float) -> None:
    assert size(read('<rect x="10" y="10" width="80" height="80"/>', head))[0] == pytest.approx(mm, rel=1e-3)


def test_holes_are_kept() -> None:
    art = read('<path fill-rule="evenodd" d="M10 10H90V90H10ZM30 30H70V70H30Z"/>')
    assert art.drawing.outline.area == pytest.approx(80 * 80 - 40 * 40, rel=1e-3)


def test_page_rectangle_is_no_part_of_the_drawing() -> None:
    art = read('<rect width="100" height="100" fill="white"/><circle cx="50" cy="50" r="20"/>')
    assert size(art) == pytest.approx((40, 40), abs=0.1)


def test_tones_are_measured_and_white_leaves_skin_open() -> None:
    art = read('<rect x="0" y="0" width="40" height="40" fill="#000"/><rect x="40" y="0" width="40" height="40" '
               'fill="#777"/><rect x="0" y="0" width="20" height="40" fill="#fff"/>')
    assert art.tones["black"] == pytest.approx(0.25, abs=0.01)
    assert art.tones["mid"] == pytest.approx(0.5, abs=0.01)
    assert art.tones["open"] == pytest.approx(0.25, abs=0.01)


def test_lines_keep_their_width() -> None:
    art = read('<circle cx="50" cy="50" r="40" fill="none" stroke="black" stroke-width="2"/>')
    assert art.drawing.ink("line").area == pytest.approx(2 * np.pi * 40 * 2, rel=0.01)
    assert art.drawing.outline.area == pytest.approx(np.pi * 41**2, rel=0.01)


def test_transforms_and_copies_are_followed() -> None:
    art = read('<defs><rect id="r" width="10" height="20"/></defs>'
               '<use href="#r" transform="translate(10 10) scale(2)"/>'
               '<use xlink:href="#r" x="60" y="10"/>')
    assert art.drawing.outline.area == pytest.approx(800 + 200, rel=0.01)


def test_self_crossing_outline_by_both_rules() -> None:
    star = "M50 5L79 95L3 39H97L21 95Z"
    full = read(f'<path d="{star}"/>').drawing.outline.area
    holed = read(f'<path fill-rule="evenodd" d="{star}"/>').drawing.outline.area
    assert holed < full * 0.8
    assert read(f'<path d="{star}"/>').drawing.outline.is_valid


@pytest.mark.parametrize(("body", "note"), [
    ("<script>alert(1)</script>", "script"), ('<image href="http://example.org/x.png"/>', "picture"),
    ("<text>Ahoy</text>", "Text"), ('<foreignObject><p xmlns="http://www.w3.org/1999/xhtml">x</p></foreignObject>',
                                    "embedded page"),
    ('<use href="http://example.org/a.svg#x"/>', "outside the file"),
    ('<rect width="5" height="5" style="fill:url(http://example.org/p)"/>', "outside the file"),
    ('<style>@import url("http://example.org/a.css"); .a{opacity:1}</style>', "font or style from outside"),
    ("<style>@font-face{font-family:x;src:url(http://example.org/x.woff)}</style>", "font or style from outside"),
    ("<style>.a{fill:url( 'http://example.org/p.svg#g' );stroke:none}</style>", "font or style from outside"),
    ('<rect onload="x()" width="5" height="5"/>', "script")])
def test_what_could_harm_is_left_out_and_said(body: str, note: str) -> None:
    art = read(body + '<circle cx="50" cy="50" r="30"/>')
    assert any(note in n for n in art.notes)


@pytest.mark.parametrize(("data", "words"), [
    (b"", "empty"), (b"<svg", "not whole XML"), (b"hello", "not whole XML"), (b"<html/>", "no SVG"),
    (b'<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg">&a;</svg>', "entities"),
    (b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]><svg>&a;</svg>', "entities"),
    (f"<svg {NS}/>".encode(), "no closed shape"),
    (f'<svg {NS}><path fill="none" stroke="red" d="M0 0L50 5"/></svg>'.encode(), "no closed shape"),
    (f'<svg {NS}><g id="a"><use href="#a"/></g></svg>'.encode(), "inside itself"),
    (b"x" * 9_000_000, "MB"),
    (f"<svg {NS}>{'<g>' * 200}{'</g>' * 200}</svg>".encode(), "deep"),
    (f"<svg {NS}>{'<g/>' * 50_000}</svg>".encode(), "elements"),
    (f"<svg {NS}><style>{'a' * 200_000}</style></svg>".encode(), "style sheet has more than"),
    (f'<svg {NS}><path d="M0 0L1e300 5L7 1e300Z"/></svg>'.encode(), "absurdly|no closed shape|cannot be read")])
def test_what_cannot_be_read_is_told(data: bytes, words: str) -> None:
    with pytest.raises(ArtError, match=words):
        read_svg(data)


def test_copies_of_copies_are_bounded() -> None:
    rows = "".join(f'<g id="g{i}">' + f'<use href="#g{i - 1}"/>' * 10 + "</g>" for i in range(1, 10))
    with pytest.raises(ArtError, match="With all its copies"):
        read(f'<g id="g0"><rect width="1" height="1"/></g>{rows}')


def test_gigabyte_viewbox_is_taken_in_at_a_real_size() -> None:
    art = read('<rect width="8e8" height="4e8"/>', 'viewBox="0 0 1e9 1e9"')
    assert size(art) == pytest.approx((100, 50), rel=1e-3)
    assert any("no piece is" in n for n in art.notes)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.binary(max_size=300))
def test_noise_never_gets_through_as_anything_but_a_sentence(noise: bytes) -> None:
    for data in (noise, f"<svg {NS}><path d='".encode() + noise.replace(b"'", b"") + b"'/></svg>"):
        try:
            assert not read_svg(data).drawing.outline.is_empty
        except ArtError as err:
            assert str(err).endswith(".")


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.integers(-20, 20), st.integers(-20, 20)), min_size=3, max_size=9))
def test_even_odd_area_against_point_tests(points: list[tuple[int, int]]) -> None:
    """Even-odd by ray crossing at random points (the definition in SVG 2, 13.4)."""
    ring = np.array(points, float)
    area = filled_area([ring], "evenodd")
    assert area.is_valid
    probe = np.random.default_rng(7).uniform(-20, 20, (200, 2)) + 0.00137
    a, b = ring, np.roll(ring, -1, axis=0)
    inside = []
    for x, y in probe:
        hits = (a[:, 1] > y) != (b[:, 1] > y)
        with np.errstate(divide="ignore", invalid="ignore"):
            cross = a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
        inside.append(bool((hits & (cross > x)).sum() % 2))
    found = shapely.contains_xy(area, probe[:, 0], probe[:, 1])
    near = shapely.distance(area.boundary, shapely.points(probe)) < 1e-6 if not area.is_empty else np.zeros(200, bool)
    assert np.all((found == np.array(inside)) | near)


def test_whiskers_beyond_the_form_belong_to_it_and_alone_make_none() -> None:
    art = read('<circle cx="50" cy="50" r="20"/><path d="M70 50H95" fill="none" stroke="#000" stroke-width="1"/>')
    assert size(art)[0] == pytest.approx(65, abs=0.2)
    assert any(layer.role == "line" and layer.rings for layer in art.drawing.layers)
    with pytest.raises(ArtError, match="no closed shape"):
        read('<path d="M70 50H95" fill="none" stroke="#000"/>')


def test_packed_svg_is_read_as_far_as_the_limit() -> None:
    plain = f'<svg {NS} width="100mm" height="100mm" viewBox="0 0 100 100"><circle cx="50" cy="50" r="20"/></svg>'
    packed = gzip.compress(plain.encode())
    assert size(read_svg(packed)) == pytest.approx((40, 40), abs=0.1)
    with pytest.raises(ArtError, match="cut short"):
        read_svg(packed[:-12])
    with pytest.raises(ArtError, match="are read"):
        read_svg(gzip.compress(plain.encode() + b" " * 300_000_000))


def test_what_cannot_be_shown_alone_is_named_with_the_refusal() -> None:
    with pytest.raises(ArtError, match="Text was left out.*no closed shape"):
        read('<text x="10" y="40">Tide</text>')


def test_a_mark_of_our_own_in_a_file_is_no_clip() -> None:
    assert size(read('<circle clipped-by="7 x" cx="50" cy="50" r="20"/>')) == pytest.approx((40, 40), abs=0.1)


@pytest.mark.parametrize("tail", ["L 5 wrong", "L nan nan", "L 9 9 @", "C 1 1 2 2 x", "\u00e9"])
def test_a_damaged_path_is_read_as_far_as_it_is_sound_and_said(tail: str) -> None:
    svg = (f'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
           f'<path d="M10 10H60V40H10Z {tail}"/></svg>')
    art = read_svg(svg.encode())
    assert art.drawing.outline.area == pytest.approx(50 * 30, rel=1e-3)
    assert any("damaged path" in note for note in art.notes)


def test_a_drawing_in_which_nothing_is_inked_is_refused() -> None:
    white = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><circle cx="5" cy="5" r="4" fill="#fff"/></svg>'
    with pytest.raises(ArtError, match="Nothing in the drawing is dark enough to be inked"):
        read_svg(white)


@pytest.mark.parametrize("void", [
    "<path/>", '<path d=" "/>', '<rect width="50"/>', '<rect width="-50" height="50"/>', '<circle r="-4"/>',
    "<ellipse/>", '<polyline points=""/>'])
def test_what_the_standard_does_not_draw_is_not_drawn(void: str) -> None:
    """SVG 2, sections 9.3 and 10.2 to 10.6: no data, no size or one below 0 leaves a shape undrawn."""
    art = read(f'{void}<rect x="30" y="30" width="40" height="20"/>')
    assert size(art) == pytest.approx((40, 20))


@pytest.mark.parametrize(("head", "mm"), [
    ('width="80,5mm" height="80,5mm"', 80.5 * 0.8), ('width="."', 80 * 25.4 / 96), ('width="1.2.3mm"', 80 * 25.4 / 96),
    ('width="1e999mm"', 80 * 25.4 / 96)])
def test_sizes_with_commas_or_damage(head: str, mm: float) -> None:
    body = '<rect x="10" y="10" width="80" height="80"/>'
    assert size(read(body, f'{head} viewBox="0 0 100 100"'))[0] == pytest.approx(mm, rel=1e-3)


def test_a_damaged_transform_is_left_out_and_said() -> None:
    art = read('<g transform="matrix(1 0 0)"><rect width="50" height="50"/></g>')
    assert size(art) == pytest.approx((50, 50)) and "damaged transform" in art.notes[0]


def test_inherited_paint_and_percent_of_opacity_are_read() -> None:
    art = read('<g fill="none" stroke="#000"><rect fill="inherit" x="10" y="10" width="60" height="60"/></g>'
               '<rect fill-opacity="5%" width="90" height="90"/>')
    assert {la.role for la in art.drawing.layers} == {"line"}


OURS = '<g id="silhouette"><path d="{}"/></g><g id="line"><path d="{}"/></g>'


@pytest.mark.parametrize(("body", "words"), [
    ('<rect y="40" width="78" height="0.000001"/>', "nowhere wider"),
    (OURS.format("M5 5L1e400 5L70 70Z", "M5 5L70 5L70 8Z"), "no number or lies absurdly far"),
    (OURS.format("M5 5L1e200 5L70 70Z", "M5 5L70 5L70 8Z"), "no number or lies absurdly far"),
    (OURS.format("M5 5L70 5L70 70Z", "M500 500L570 500L570 580Z"), "dark enough"),
    (f'<path d="M{"L".join(f"{k * 37 % 83} {k * 59 % 97}" for k in range(2000))}Z"/>', "cross more than")])
def test_what_cannot_be_used_is_refused_in_words(body: str, words: str) -> None:
    with pytest.raises(ArtError, match=words):
        read(body)


def test_an_encoding_that_is_not_read_is_told() -> None:
    with pytest.raises(ArtError, match="not whole XML"):
        read_svg(f'<?xml version="1.0" encoding="shift_jis"?><svg {NS}><rect width="9" height="9"/></svg>'.encode())


def test_dense_outlines_are_not_taken_for_tangled() -> None:
    turn = np.linspace(0, 2 * np.pi, 3000)
    ring = np.round(np.column_stack([50 + 2 * np.cos(turn), 50 + 2 * np.sin(turn)]), 2)    # half its steps are none
    art = read(f'<path d="M{"L".join(f"{x} {y}" for x, y in ring)}Z"/>')
    assert size(art) == pytest.approx((4, 4), abs=0.05)


def test_halves_of_a_stack_show_what_one_over_the_other_does() -> None:
    """Painter's rule: of each place the topmost area is seen."""
    rng = np.random.default_rng(4)
    tones = ["#000", "#fff", "#777", "#bbb"]
    body = [(rng.uniform(5, 70, 2), rng.uniform(10, 25, 2), tones[rng.integers(4)]) for _ in range(40)]
    art = read("".join(f'<rect x="{x:.2f}" y="{y:.2f}" width="{w:.2f}" height="{h:.2f}" fill="{c}"/>'
                       for (x, y), (w, h), c in body))
    role = {"#000": "black", "#777": "mid", "#bbb": "light"}
    want: dict[str, shapely.Geometry] = {}
    over = shapely.Polygon()
    for (x, y), (w, h), c in body[::-1]:
        box = shapely.box(round(x, 2), round(y, 2), round(x, 2) + round(w, 2), round(y, 2) + round(h, 2))
        if c in role:
            want[role[c]] = want.get(role[c], shapely.Polygon()).union(box.difference(over))
        over = over.union(box)
    for layer in art.drawing.layers:
        assert layer.area.area == pytest.approx(want[layer.role].area, rel=2e-3)


@pytest.mark.parametrize("sheet", [
    "a" * 140_000, "/*" * 70_000, "@font-face{" * 12_000, "a:b:" * 30_000, "{opacity" * 15_000, "a{;opacity: " * 10_000,
    "a{b:c " + " " * 140_000 + "}"], ids=["word", "comments", "fonts", "pairs", "braces", "rules", "blanks"])
def test_a_damaged_style_sheet_is_read_as_far_as_it_is_whole(sheet: str) -> None:
    """Patterns over such text would take hours (it once hung here for ten minutes)."""
    art = read(f'<style>{sheet}</style><rect x="10" y="10" width="60" height="40"/>')
    assert size(art) == pytest.approx((60, 40)) and art.drawing.layers[-1].role == "black"
