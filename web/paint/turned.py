"""A view of a part as a standing SVG picture: skin in soft light, art, level rings, pieces as links."""

from __future__ import annotations

import numpy as np
from markupsafe import escape

from composer.plan.model import Settings
from composer.views.turned import Turned
from web.paint.ink import ink_css
from web.paint.paths import line_data, path_data, ring_data

MARGIN_MM = 12.0
SHADES = (0.03, 0.07, 0.13, 0.21)
"""How far in from the edge, as shares of the width, each veil of shade reaches."""


def turned_svg(view: Turned, settings: Settings, label: str, links: dict[str, str], rings: bool = False,
               lit: str = "") -> str:
    """The picture. `links`: address by piece id (pieces without one are no links). `rings` shows the
    levels; `lit` is the id of the piece to mark."""
    x0, y0, x1, y1 = view.bounds
    box = f"{x0 - MARGIN_MM:.1f} {-y1 - MARGIN_MM:.1f} {x1 - x0 + 2 * MARGIN_MM:.1f} {y1 - y0 + 2 * MARGIN_MM:.1f}"
    skin = escape(settings.skin)
    edge = ring_data([view.outline])
    css = ink_css(settings).replace("svg{", ".turned{").replace(".piece .skin", ".turned .skin")
    groups = []
    for p in view.pieces:
        ink = "".join(f'<path class="{role}" d="{path_data(r)}"/>' for role, r in p.layers if r)
        mark = f'<path class="lit" d="{path_data(p.silhouette)}"/>' if p.piece.id == lit else ""
        drawn = (f'<g class="piece {p.piece.state}" transform="scale(.01)"><path class="ground" '
                 f'd="{path_data(p.ground)}"/><g class="ink">{ink}</g>{mark}</g>')
        link = links.get(p.piece.id)
        groups.append(f'<a href="{escape(link)}" aria-label="{escape(p.piece.title)}">{drawn}</a>' if link else drawn)
    levels = "".join(f'<path class="level" d="{line_data(line)}"/>' for _, line in view.levels) if rings else ""
    ends = "".join(f'<path class="level" d="{line_data(line)}"/>' for _, line in (view.levels[0], view.levels[-1]))
    far, near = view.caps
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="turned" viewBox="{box}" role="group" '
        f'aria-label="{escape(label)}">'
        f'<style>{css}.turned .ground{{fill:{skin}}}.turned .lit{{fill:none;stroke:#5b3fa0;stroke-width:1.6px;'
        'vector-effect:non-scaling-stroke}.turned .level{fill:none;stroke:#6d6250;stroke-opacity:.55;stroke-width:1px;'
        'vector-effect:non-scaling-stroke}</style>'
        f'<defs><clipPath id="turned-skin"><path d="{edge}"/></clipPath><clipPath id="turned-all"><path d="{edge}"/>'
        f'<path d="{ring_data(view.caps)}"/></clipPath>'
        f'<linearGradient id="turned-far" x1="0" y1="0" x2="0" y2="1"><stop offset="0.1" stop-color="{skin}"/>'
        f'<stop offset="1" stop-color="{skin}" stop-opacity="0"/></linearGradient>'
        f'<linearGradient id="turned-near" x1="0" y1="1" x2="0" y2="0"><stop offset="0.1" stop-color="{skin}"/>'
        f'<stop offset="1" stop-color="{skin}" stop-opacity="0"/></linearGradient>'
        '<filter id="turned-soft" x="-30%" y="-5%" width="160%" height="110%"><feGaussianBlur stdDeviation="5"/>'
        f'</filter></defs><path d="{ring_data([far])}" fill="url(#turned-far)"/>'
        f'<path d="{ring_data([near])}" fill="url(#turned-near)"/>'
        f'<path d="{edge}" fill="{skin}"/><g clip-path="url(#turned-skin)">{"".join(groups)}</g>'
        f'<g clip-path="url(#turned-skin)" fill="#4a2b1c" pointer-events="none"><g filter="url(#turned-soft)">'
        f'{_veils(view)}</g></g>{ends}{levels}</svg>')


def _veils(view: Turned) -> str:
    """Shade along both edges, deeper on the right, where the lamp does not reach."""
    n = len(view.outline)
    half = 160
    arc = 32
    right, left = view.outline[arc:arc + half], view.outline[n - half + 1:][::-1]
    rows = min(len(right), len(left))
    right, left = right[:rows], left[:rows]
    out = []
    for share in SHADES:
        for edge, other, alpha, reach in ((right, left, 0.075, 1.35), (left, right, 0.05, 0.75)):
            inner = edge + (other - edge) * share * reach
            outer = edge - (other - edge) * 0.2
            ring = np.concatenate([outer, inner[::-1]])
            out.append(f'<path d="{ring_data([ring])}" fill-opacity="{alpha}"/>')
    return "".join(out)
