"""An artist's SVG against an independent renderer: resvg (the resvg-py package), which follows SVG 1.1 and 2."""

from __future__ import annotations

import io

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image

from composer.art.svg_read import read_svg

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
