"""A view of a part as a standing SVG picture: skin in soft light, art, level rings, pieces as links."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from markupsafe import escape

from composer.plan.model import Settings
from composer.views.turned import Turned, TurnedPiece
from composer.views.turned_body import BodySeen, PartSeen
from web.paint.ink import ink_css
from web.paint.paths import line_data, path_data, ring_data

MARGIN_MM = 12.0
SHADES = (0.03, 0.07, 0.13, 0.21)
"""How far in from the edge, as shares of the width, each veil of shade reaches."""


def turned_svg(view: Turned, settings: Settings, label: str, links: dict[str, str], rings: bool = False,
               lit: str = "") -> str:
    """The picture. `links`: address by piece id (pieces without one are no links). `rings` shows the
    levels; `lit` is the id of the piece to mark."""
    return _standing(view.bounds, label, settings, limb_group(view, settings, links, rings, lit))


def _standing(bounds: tuple[float, float, float, float], label: str, settings: Settings, inside: str) -> str:
    """A picture that stands by itself, with the styles that its parts need."""
    x0, y0, x1, y1 = bounds
    box = f"{x0 - MARGIN_MM:.1f} {-y1 - MARGIN_MM:.1f} {x1 - x0 + 2 * MARGIN_MM:.1f} {y1 - y0 + 2 * MARGIN_MM:.1f}"
    skin = escape(settings.skin)
    css = ink_css(settings).replace("svg{", ".turned{").replace(".piece .skin", ".turned .skin")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="turned" viewBox="{box}" role="group" '
        f'aria-label="{escape(label)}">'
        f'<style>{css}.turned .ground{{fill:{skin}}}.turned .lit{{fill:none;stroke:#5b3fa0;stroke-width:1.6px;'
        'vector-effect:non-scaling-stroke}.turned .level{fill:none;stroke:#6d6250;stroke-opacity:.55;stroke-width:1px;'
        f'vector-effect:non-scaling-stroke}}</style>{inside}</svg>')


def limb_group(view: Turned, settings: Settings, links: dict[str, str], rings: bool = False, lit: str = "",
               name: str = "turned") -> str:
    """A limb as a group; `name` tells its clips from those of other limbs in the same picture."""
    skin = escape(settings.skin)
    edge = ring_data([view.outline])
    groups = art_groups(view.pieces, links, lit)
    levels = "".join(f'<path class="level" d="{line_data(line)}"/>' for _, line in view.levels) if rings else ""
    ends = "".join(f'<path class="level" d="{line_data(line)}"/>' for _, line in (view.levels[0], view.levels[-1]))
    far, near = view.caps
    return (
        f'<defs><clipPath id="{name}-skin"><path d="{edge}"/></clipPath><clipPath id="{name}-all"><path d="{edge}"/>'
        f'<path d="{ring_data(view.caps)}"/></clipPath>'
        f'<linearGradient id="{name}-far" x1="0" y1="0" x2="0" y2="1"><stop offset="0.1" stop-color="{skin}"/>'
        f'<stop offset="1" stop-color="{skin}" stop-opacity="0"/></linearGradient>'
        f'<linearGradient id="{name}-near" x1="0" y1="1" x2="0" y2="0"><stop offset="0.1" stop-color="{skin}"/>'
        f'<stop offset="1" stop-color="{skin}" stop-opacity="0"/></linearGradient>'
        f'<filter id="{name}-soft" x="-30%" y="-5%" width="160%" height="110%"><feGaussianBlur stdDeviation="5"/>'
        f'</filter></defs><path d="{ring_data([far])}" fill="url(#{name}-far)"/>'
        f'<path d="{ring_data([near])}" fill="url(#{name}-near)"/>'
        f'<path d="{edge}" fill="{skin}"/><g clip-path="url(#{name}-skin)">{groups}</g>'
        f'<g clip-path="url(#{name}-skin)" fill="#4a2b1c" pointer-events="none"><g filter="url(#{name}-soft)">'
        f'{_veils(view)}</g></g>{ends}{levels}')


def art_groups(pieces: Sequence[TurnedPiece], links: dict[str, str], lit: str) -> str:
    """The art of a part as it is seen, each piece a link where it has an address."""
    groups = []
    for p in pieces:
        ink = "".join(f'<path class="{role}" d="{path_data(r)}"/>' for role, r in p.layers if r)
        mark = f'<path class="lit" d="{path_data(p.silhouette)}"/>' if p.piece.id == lit else ""
        drawn = (f'<g class="piece {p.piece.state}" transform="scale(.01)"><path class="ground" '
                 f'd="{path_data(p.ground)}"/><g class="ink">{ink}</g>{mark}</g>')
        link = links.get(p.piece.id)
        groups.append(f'<a href="{escape(link)}" aria-label="{escape(p.piece.title)}">{drawn}</a>' if link else drawn)
    return "".join(groups)


def body_svg(view: BodySeen, settings: Settings, label: str, links: dict[str, str], rings: bool = False,
             lit: str = "") -> str:
    """Chest or back with the parts beside it as a picture; see `turned_svg`."""
    out = []
    for n, p in enumerate(view.parts):
        name = f"turned-{n}"
        out.append(limb_group(p.limb, settings, links, rings, lit, name) if p.limb is not None else
                   _panel_group(p, settings, links, rings, lit, name))
    return _standing(view.bounds, label, settings, "".join(out))


def _panel_group(p: PartSeen, settings: Settings, links: dict[str, str], rings: bool, lit: str, name: str) -> str:
    skin, edge = escape(settings.skin), ring_data(p.outline)
    shades = "".join(f'<path d="{ring_data(rows)}" fill-opacity=".085"/>' for rows in p.shades if rows)
    levels = "".join(f'<path class="level" d="{line_data(line)}"/>' for _, line in p.levels) if rings else ""
    inner = f'<path d="{ring_data(p.inner)}" fill="{skin}" class="inner"/><path d="{ring_data(p.inner)}" ' \
            'fill="#4a2b1c" fill-opacity=".34"/>' if p.inner else ""
    return (
        f'<defs><clipPath id="{name}-skin"><path d="{edge}"/></clipPath>'
        f'<filter id="{name}-soft" x="-10%" y="-10%" width="120%" height="120%"><feGaussianBlur stdDeviation="9"/>'
        f'</filter></defs>{inner}<path class="body" d="{edge}" fill="{skin}"/>'
        f'<g clip-path="url(#{name}-skin)">{art_groups(p.pieces, links, lit)}</g>'
        f'<g clip-path="url(#{name}-skin)" fill="#4a2b1c" pointer-events="none"><g filter="url(#{name}-soft)">{shades}'
        f'</g></g><path class="level" d="{edge}"/>{levels}')


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
