"""An artist's SVG against an independent renderer: resvg (the resvg-py package), which follows SVG 1.1 and 2."""

from __future__ import annotations

import io

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image

from composer.art.lightness import lab
from composer.art.svg_read import UNMIXED, VEILED, read_svg

HEAD = ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" '
        'height="100mm" viewBox="0 0 100 100">')
DRAWINGS = {
    "turned circle": '<g transform="translate(50,40) rotate(30) scale(1,.5)"><circle r="30"/></g>',
    "skewed rounded square": '<rect x="10" y="20" width="50" height="40" rx="9" transform="skewX(20)"/>',
    "matrix of a group": '<g transform="matrix(1 .2 .3 -.9 0 80)"><ellipse cx="40" cy="20" rx="30" ry="12"/></g>',
    "turned line": '<rect x="5" y="5" width="90" height="30"/><line x1="30" y1="60" x2="80" y2="60" stroke="#000" '
                   'stroke-width="6" transform="rotate(15)"/>',
    "clip of a group": '<clipPath id="c"><circle cx="40" cy="40" r="25"/></clipPath>'
                       '<g clip-path="url(#c)" transform="translate(8,4) rotate(10)"><path d="M0 0H90V40H0Z"/></g>',
    "clip in a clip": '<clipPath id="a"><path d="M10 10H90V60H10Z"/></clipPath><clipPath id="b"><circle cx="50" '
                      'cy="50" r="30"/></clipPath><g clip-path="url(#a)"><g style="clip-path:url(#b)"><rect '
                      'width="100" height="100"/></g></g>',
    "clip by a copy": '<defs><path id="leaf" d="M50 5C90 30 90 70 50 95C10 70 10 30 50 5Z"/></defs><clipPath id="c">'
                      '<use href="#leaf"/></clipPath><path clip-path="url(#c)" d="M0 40H100V80H0Z"/>',
    "stroke under a clip": '<clipPath id="c"><rect width="100" height="50"/></clipPath><path clip-path="url(#c)" '
                           'd="M20 20H80V80H20Z" stroke="#000" stroke-width="8"/>',
    "copies of a symbol": '<symbol id="s" viewBox="0 0 10 10"><circle cx="5" cy="5" r="4"/></symbol><use href="#s" '
                          'x="5" y="10" width="40" height="40"/>'
                          '<use xlink:href="#s" x="50" y="40" width="45" height="45"/>',
    "hidden parts": '<rect width="40" height="90" opacity="0"/><rect x="60" width="30" height="90" '
                    'style="display:none"/>'
                    '<marker id="m"><path d="M0 0H99V99Z"/></marker><mask id="k"><rect width="99" height="99" '
                    'fill="#fff"/></mask><circle cx="50" cy="50" r="20"/>',
    "gradient and pattern": '<linearGradient id="g"><stop stop-color="#000"/><stop offset="1" stop-color="#666"/>'
                            '</linearGradient><pattern id="p" width="4" height="4" patternUnits="userSpaceOnUse"><rect '
                            'width="4" height="4"/></pattern><rect x="5" y="5" width="60" height="30" fill="url(#g)"/>'
                            '<circle cx="60" cy="65" r="25" style="fill:url(#p)"/>',
    "nested page": '<path d="M2 2H30V9H2Z"/><svg x="10" y="20" width="60" height="30" viewBox="0 0 10 10" '
                   'preserveAspectRatio="none"><circle '
                   'cx="5" cy="5" r="5"/></svg>',
    "arcs and rules": '<path fill-rule="evenodd" d="m10 50a40 40 0 1 1 80 0 40 40 0 1 1-80 0zm20 0a20 9 30 1 0 40 0 '
                      '20 9 30 1 0-40 0z"/>',
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_silhouette_is_what_a_renderer_paints(name: str) -> None:
    """Symmetric difference under 1.5% of the painted area (a pixel's row all round a form of this size is 1%)."""
    data = f"{HEAD}{DRAWINGS[name]}</svg>"
    picture = resvg_py.svg_to_bytes(svg_string=data, width=600, height=600, dpi=96)
    painted = np.array(Image.open(io.BytesIO(picture)).convert("RGBA"))[..., 3] > 127
    rows, columns = np.nonzero(painted)
    outline = read_svg(data.encode()).drawing.outline
    x0, _, _, y1 = outline.bounds
    y, x = np.mgrid[0:600, 0:600]
    shift = np.array([columns.min(), rows.min()]) / 6 - (x0, 0)  # a drawing lies round its own middle
    ours = shapely.contains_xy(outline, (x + 0.5) / 6 - shift[0], y1 + rows.min() / 6 - (y + 0.5) / 6)
    assert (ours != painted).sum() < 0.015 * painted.sum()


TONES = ("black", "dark", "mid", "light")
VEILS = {
    "groups and shapes": '<g opacity=".8"><g opacity="50%"><rect x="5" y="5" width="40" height="40"/></g>'
                         '<circle cx="70" cy="30" r="20" fill-opacity=".25"/></g>'
                         '<rect x="5" y="60" width="90" height="30" fill="#333"/>',
    "inherited": '<g fill-opacity=".5"><path d="M5 5H60V60H5Z"/></g><path d="M10 80H90" stroke="#000" '
                 'stroke-opacity=".3" stroke-width="12"/>',
    "style sheets": '<style>/* a { } */ .a, rect.b { opacity: .45 } #c{fill-opacity:20%} .b{opacity:1}</style>'
                    '<rect class="a" x="5" y="5" width="40" height="40"/><rect class="b" x="50" y="5" width="40" '
                    'height="40"/><circle id="c" cx="50" cy="75" r="20"/>',
    "copies": '<defs><rect id="r" x="5" y="5" width="40" height="30"/></defs><use href="#r"/>'
              '<g opacity=".5"><use href="#r" x="45" y="10"/></g><use href="#r" opacity=".2" y="50" '
              'transform="translate(3 4) rotate(5)"/>',
    "behind and before": '<rect x="5" y="5" width="60" height="60" opacity=".5"/><rect x="30" y="30" width="60" '
                         'height="60" fill="#fff"/><circle cx="60" cy="60" r="18"/><rect x="50" y="50" width="40" '
                         'height="40" opacity=".3"/>',
    "on a lighter tone": '<rect x="5" y="5" width="90" height="90" fill="#e6e6e6"/><rect x="20" y="20" width="40" '
                         'height="40" opacity=".6"/>',
    "colours": '<rect x="5" y="5" width="40" height="90" fill="#103060" opacity=".7"/><rect x="50" y="5" width="40" '
               'height="90" fill="rgba(160,20,20,.3)"/>',
    "over one another": "".join(f'<circle cx="{35 + 15 * k}" cy="{40 + 12 * (k % 2)}" r="24" fill="#222" opacity=".3"/>'
                                for k in range(3)),
    "coloured glass": '<rect x="5" y="5" width="60" height="60" fill="#c22"/><rect x="30" y="30" width="60" '
                      'height="60" fill="#22c" opacity=".5"/><circle cx="60" cy="40" r="22" fill-opacity=".25"/>',
    "a group is one paint": '<g opacity=".4"><rect x="5" y="5" width="50" height="50"/><rect x="30" y="30" width="50" '
                            'height="50"/></g><rect x="5" y="70" width="50" height="25" fill-opacity=".1"/>'
                            '<path d="M60 8H90V30H60Z" stroke="#000" stroke-width="9" opacity=".5"/>',
    "white in a layer at 80%": '<g opacity=".8"><rect x="5" y="5" width="90" height="90"/><circle cx="50" cy="50" '
                               'r="30" fill="#fff"/><g opacity=".5"><rect x="40" y="20" width="20" height="60" '
                               'fill="#444"/><rect x="20" y="40" width="60" height="20" fill="#444"/></g></g>',
    "copies over one another": '<defs><circle id="o" r="22" opacity=".35"/></defs><use href="#o" x="35" y="40"/>'
                               '<use href="#o" x="60" y="40"/><use href="#o" x="48" y="62"/>',
    "strokes that cross": '<rect x="2" y="2" width="96" height="96" fill="#fff"/><path d="M5 30H95M30 5V95M5 5L95 '
                          '95" stroke="#111" stroke-width="12" opacity=".3"/>'
                          '<path d="M5 70H95" stroke="#111" stroke-width="12" opacity=".45"/>'
                          '<path d="M70 5V95" stroke="#111" stroke-width="12" stroke-opacity=".35"/>',
}


@pytest.mark.parametrize("name", VEILS)
def test_what_can_be_seen_through_has_the_tone_that_a_renderer_paints_on_white(name: str) -> None:
    """By L* of the pixels with the same bounds as solid paint; all but the pixels at the edges of shapes agree."""
    data = f"{HEAD}{VEILS[name]}</svg>"
    picture = Image.open(io.BytesIO(resvg_py.svg_to_bytes(svg_string=data, width=600, height=600, dpi=96)))
    on_white = Image.alpha_composite(Image.new("RGBA", picture.size, "white"), picture.convert("RGBA")).convert("RGB")
    step = np.searchsorted([22, 45, 70, 94], lab(np.asarray(on_white))[..., 0], side="right")
    art = read_svg(data.encode())
    assert VEILED in art.notes
    x0, _, _, y1 = art.drawing.outline.bounds
    rows, columns = np.nonzero(np.array(picture.convert("RGBA"))[..., 3] > 127 * 0.15)
    shift = np.array([columns.min(), rows.min()]) / 6 - (x0, 0)
    y, x = np.mgrid[0:600, 0:600]
    at = (x + 0.5) / 6 - shift[0], y1 + rows.min() / 6 - (y + 0.5) / 6
    ours = np.full(step.shape, 4)
    for layer in art.drawing.layers:
        ours[shapely.contains_xy(layer.area, *at)] = TONES.index(layer.role.replace("line", "black"))
    assert len(np.unique(step)) > 2
    assert (ours != step).sum() < 0.015 * (step < 4).sum()


def test_where_paint_to_be_seen_through_lies_on_darker_the_darker_stays() -> None:
    art = read_svg(f'{HEAD}<rect x="5" y="5" width="90" height="90"/><rect x="20" y="20" width="40" height="40" '
                   'fill="#fff" opacity=".5"/><circle cx="70" cy="70" r="9" fill="#777" opacity=".5"/></svg>'.encode())
    assert [la.role for la in art.drawing.layers] == ["black"] and art.tones["black"] == pytest.approx(1.0, abs=0.02)


def test_very_many_see_through_shapes_are_read_one_by_one_and_that_is_said() -> None:
    body = "".join(f'<rect x="{5 + k % 40}" y="{5 + k % 37}" width="45" height="45" fill-opacity=".3"/>'
                   for k in range(400))
    art = read_svg(f"{HEAD}{body}</svg>".encode())
    assert UNMIXED in art.notes and [la.role for la in art.drawing.layers] == ["light"]
