"""Overlays of the sheet, one at a time: how paper and skin stretch, the zones, what is seen from one side.

Each comes with tags (numbers that stand on the sheet), a key of its inks, and a table that says the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
import shapely.ops
from markupsafe import escape
from shapely.geometry.base import BaseGeometry

from composer.body.distort import stretches
from composer.body.motion import folding, poses_of, strain, worst
from composer.body.panel import Panel
from composer.body.zones import Zones
from composer.compose.fit_limits import Limits, limits_of
from composer.compose.fit_seen import say_view, squarely, views_of
from composer.plan.flexed import flexed_of
from composer.plan.scene import Laid
from composer.plan.zone_edits import zones_on
from composer.sheets.unrolled import rings_on_sheet, shifts
from composer.store.store import Kept
from web import findings, fit, shading
from web.desk import Desk, View
from web.paint.bands import Ink, band_image, grid
from web.paint.paths import ring_data
from web.wide_view import WideView

WHAT = {"stretch": "Stretch", "zones": "Zones", "seen": "What is seen", "tone": "How dark it may be"}
SCALE_WORDS = {"pain": "Pain", "movement": "Movement", "visibility": "In view"}
TONE = {"tone": {"field": "How dark"}}
STEP_MM = 3.0
POSE_TITLES = {"flexed": "Skin, muscles flexed", "bent": "Skin, joints bent", "breathed in": "Skin, a deep breath in",
               "arm raised": "Skin, arms as high as they go", "blades together": "Skin, shoulder blades drawn together"}
LIMB_MODEL = ("How far skin stretches (+) or shrinks (\u2212), along or round, whichever is more. A simple model from "
              "memory, no published source; where skin folds nothing is foretold.")
TRUNK_MODEL = ("How far skin stretches (+) or shrinks (\u2212), up and down or across, whichever is more. A simple "
               "model: the back with raised arms and the breath after published figures, all else from memory; where "
               "skin folds it says little.")
VIOLET, DIM = (91, 63, 160), (40, 31, 40)
PAST_MM = 60.0
"""Arm zones are drawn so far past the last tape, on a wide sheet up to the armhole; the sheet's edge cuts them."""
APART_MM, TAGS, INSET_MM = 70.0, 4, 18.0
"""Tags of the greatest stretch lie so far apart, and there are so many at most; all stand so far in from the edge."""


@dataclass(frozen=True)
class Tag:
    """A number on the sheet, mm, y down."""

    text: str
    x: float
    y: float


@dataclass(frozen=True)
class Tint:
    """An overlay: SVG in the sheet's mm, tags, its key (css colour, words), `title` and the sentence that says
    what it is and how far to trust it. `choice` is what is shown of it."""

    what: str
    choice: str
    svg: str
    tags: tuple[Tag, ...]
    key: tuple[tuple[str, str], ...]
    title: str
    sentence: str


def choices_of(view: View) -> dict[str, dict[str, str]]:
    """What can be laid over this part, and of each what can be shown. Zones and poses are not known of a limb that was
    taped otherwise."""
    if isinstance(view, WideView):
        from web import wide_tint
        return wide_tint.choices_of(view)
    if not fit.has_poses(view):
        return {"stretch": {"relaxed": "Relaxed"}} | TONE
    return {"stretch": {"worst": "Worst"} | {p: p.capitalize() for p in poses_of(view.part)}, "zones": SCALE_WORDS,
            "seen": {"best": "Best side"} | {v: v.capitalize() for v in views_of(view.part)}} | TONE


def of(desk: Desk, kept: Kept, view: View, what: str, choice: str, piece_id: str = "") -> Tint | None:
    """The overlay that is asked for; None for nothing, or for what this part does not have."""
    known = choices_of(view).get(what)
    if known is None:
        return None
    choice = choice if choice in known else next(iter(known))
    about = piece_id if (what, choice) == ("seen", "best") else ""

    def make() -> Tint:
        if isinstance(view, WideView):
            from web import wide_tint
            return wide_tint.of(desk, kept, view, what, choice, about)
        if what == "zones":
            return _zones(view, choice)
        if what == "seen":
            return _seen(desk, kept, view, choice, about)
        if what == "tone":
            return _tone(desk, kept, view)
        limits = limits_of(kept.plan.settings)
        return _paper(view, limits) if choice == "relaxed" else _moving(view, choice, limits)

    place = view.sheet_name   # a part hangs on a wide sheet otherwise than on its own
    return desk.once(("tint", kept.plan.id, kept.revision, view.part, place, what, choice, about), make)


def _box(view: View) -> tuple[float, float, float, float]:
    ring = view.sheet.border()
    (x0, y0), (x1, y1) = ring.min(axis=0) - STEP_MM, ring.max(axis=0) + STEP_MM
    return float(x0), float(y0), float(x1), float(y1)


def _css(ink: Ink) -> str:
    return f"rgb({ink[0]} {ink[1]} {ink[2]} / {ink[3] / 255:.2f})"


def _inks(*opacities: int, of: tuple[int, int, int] = VIOLET) -> list[Ink]:
    return [(*of, o) for o in opacities]


def _on_skin(view: View, xy: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Skin points (n, 2) under points of the sheet, kept to taped skin, and which really lie on the sheet."""
    us = view.sheet.to_skin(xy)
    if isinstance(view.limb, Panel):
        return us, view.limb.inside(us)
    u, s = us.T
    inside = (u >= view.sheet.seam_u) & (u <= view.sheet.seam_u + 1) & (s >= view.limb.s_min) & (s <= view.limb.s_max)
    return np.column_stack([u, s.clip(view.limb.s_min, view.limb.s_max)]), inside


@lru_cache(maxsize=8)
def _inset(panel: Panel) -> BaseGeometry:
    """Where on the sheet of chest or back a tag may stand, mm."""
    return shapely.buffer(panel.form, -INSET_MM)


def _tag(view: View, text: str, u: float, s_mm: float) -> Tag:
    """A tag at a place on skin, moved in a little where it would stand over the sheet's edge."""
    if isinstance(view.limb, Panel):
        near = shapely.ops.nearest_points(_inset(view.limb), shapely.Point(view.limb.to_mm(np.array([u, s_mm]))))[0]
        x, y = view.sheet.to_flat(view.limb.from_mm(np.array([[near.x, near.y]])))[0]
        return Tag(text, round(float(x), 1), round(float(-y), 1))
    girth = float(view.limb.girth(s_mm))
    left = view.sheet.seam_u
    u = left + (u - left) % 1.0
    u = min(max(u, left + INSET_MM / girth), left + 1.0 - INSET_MM / girth)
    s_mm = min(max(s_mm, view.limb.s_min + INSET_MM * 0.7), view.limb.s_max - INSET_MM * 0.7)
    x, y = view.sheet.to_flat(np.array([[u, s_mm]]))[0]
    return Tag(text, round(float(x), 1), round(float(-y), 1))


def moved_at(view: View, us: np.ndarray, pose: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """At skin points (n, 2) in a pose, or in the worst: the strain that is furthest from rest, signed (n,), in which of
    its two directions (n,), and whether skin folds (n,)."""
    flexed = flexed_of(view.plan.part(view.part))
    if pose == "worst":
        found = worst(view.limb, view.part, us, flexed)
        both, folds = found.strain, found.folds
    else:
        both, folds = strain(view.limb, view.part, us, pose, flexed), folding(view.limb, view.part, us, pose)
    both = np.nan_to_num(both, nan=0.0)
    k = np.abs(both).argmax(axis=1)
    return both[np.arange(len(both)), k], k, folds


def moved_key(limits: Limits) -> tuple[tuple[float, ...], list[Ink], list[tuple[str, str]]]:
    """From which strain each band of the stretch overlay goes, its ink, and both in words."""
    levels, inks = (limits.flex_warn / 3, limits.flex_warn, limits.flex_strong), _inks(38, 88, 150)
    return levels, inks, [(_css(i), f"{100 * a:.0f}%{f' to {100 * b:.0f}%' if b else ' and more'}")
                          for i, a, b in zip(inks, levels, (*levels[1:], 0), strict=True)]


def _moving(view: View, pose: str, limits: Limits) -> Tint:
    """How far skin stretches in a pose, or in the worst of them."""
    box = _box(view)
    xy, shape = grid(box, STEP_MM)
    us, inside = _on_skin(view, xy)
    signed, _, folds = moved_at(view, us, pose)
    levels, inks, key = moved_key(limits)
    image = band_image(np.abs(signed).reshape(shape), box, STEP_MM, levels, inks, folds.reshape(shape), (*DIM, 120))
    pick = inside & ~folds & (np.abs(signed) >= levels[0])
    tags = _peaks(view, us[pick], xy[pick], signed[pick])
    if folds[inside].any():
        key.append(("hatch", "folds"))
    title = POSE_TITLES.get(pose, "Skin, the worst pose")
    return Tint("stretch", pose, f'<g clip-path="url(#skin-edge)">{image}</g>', tags, tuple(key), title,
                TRUNK_MODEL if isinstance(view.limb, Panel) else LIMB_MODEL)


def _peaks(view: View, us: np.ndarray, xy: np.ndarray, signed: np.ndarray) -> tuple[Tag, ...]:
    """Where skin points (n, 2), at `xy` on the sheet, move most; none near another."""
    out: list[int] = []
    for i in np.argsort(-np.abs(signed), kind="stable"):
        if all(np.hypot(*(xy[i] - xy[k])) >= APART_MM for k in out):
            out.append(int(i))
            if len(out) == TAGS:
                break
    return tuple(_tag(view, fit.signed(float(signed[i])), *map(float, us[i])) for i in out)


def _paper(view: View, limits: Limits) -> Tint:
    """How far the paper of each piece is off the skin, limb at rest."""
    box = _box(view)
    xy, shape = grid(box, STEP_MM)
    us, _ = _on_skin(view, xy)
    value = np.zeros(len(xy))
    inside = np.zeros(len(xy), bool)
    clips, tags = [], []
    for la in view.drawn:
        if la.piece.is_filler:
            continue
        rings = rings_on_sheet(la.flat.silhouette, la.patch, view.sheet)
        clips.append(ring_data(rings))
        off = _off(view, la)
        if round(100 * off) >= 1:
            p = shapely.point_on_surface(la.flat.outline)
            u, s = la.patch.to_skin(np.array([[p.x, p.y]]))[0]
            tags.append(_tag(view, f"{100 * off:.0f}%", float(u), float(s)))
        for k in shifts(np.concatenate(la.rings)[:, 0], view.sheet):
            flat = la.patch.to_flat(us - np.array([k, 0.0]))
            (x0, y0), (x1, y1) = (f(np.concatenate(la.flat.silhouette), axis=0) for f in (np.min, np.max))
            near = np.flatnonzero((flat[:, 0] > x0 - 8) & (flat[:, 0] < x1 + 8) & (flat[:, 1] > y0 - 8)
                                  & (flat[:, 1] < y1 + 8))
            if not len(near):
                continue
            own = shapely.contains_xy(la.flat.outline, *flat[near].T)
            both = np.abs(stretches(view.limb, la.patch, flat[near]) - 1).max(axis=1)
            both = np.where(np.isfinite(both), both, 1.0)
            value[near] = np.where(own | ~inside[near], both, value[near])
            inside[near] |= own
    levels = (0.02, limits.stretch_warn, limits.stretch_strong)
    inks = _inks(46, 100, 165)
    image = band_image(value.reshape(shape), box, STEP_MM, levels, inks)
    svg = (f'<clipPath id="tint-clip"><path clip-rule="nonzero" d="{"".join(clips)}"/></clipPath>'
           f'<g clip-path="url(#skin-edge)"><g clip-path="url(#tint-clip)">{image}</g></g>') if clips else ""
    key = [(_css(i), f"{100 * a:.0f}%{f' to {100 * b:.0f}%' if b else ' and more'}")
           for i, a, b in zip(inks, levels, (*levels[1:], 0), strict=True)]
    return Tint("stretch", "relaxed", svg, tuple(tags), tuple(key), "Paper on skin at rest",
                "How far flat paper of each piece is too wide or too narrow for the skin under it; the number is the "
                "most of each.")


def _off(view: View, la: Laid) -> float:
    both = stretches(view.limb, la.patch, np.concatenate(la.flat.silhouette))
    both = both[np.isfinite(both).all(axis=1)]
    return float(np.abs(both - 1).max()) if len(both) else 1.0


def zone_map(view: View) -> Zones:
    """The zones of the part with this client's figures."""
    return zones_on(view.plan, view.part)


def zone_opacity(figure: float) -> float:
    """How dense a zone is painted, by its figure 0 to 10."""
    return 0.03 + 0.052 * figure


def _zones(view: View, scale: str) -> Tint:
    zones = zone_map(view)
    out, tags = ['<g clip-path="url(#skin-edge)" class="zones">'], []
    for i, z in enumerate(zones.zones):
        rings, at = zones.rings(i, PAST_MM), zones.label_at(i)
        if not rings or at is None:
            continue
        figure = float(getattr(z, scale))
        for k in shifts(np.concatenate(rings)[:, 0], view.sheet):
            d = ring_data([view.sheet.to_flat(np.add(r, (k, 0.0))) for r in rings])
            out.append(f'<path d="{d}" fill-opacity="{zone_opacity(figure):.2f}"><title>{escape(z.label)}: {scale} '
                       f'{figure:g}</title></path>')
        tags.append(_tag(view, f"{figure:g}{'*' if scale in z.edited else ''}", *at))
    key = [(f"rgb(91 63 160 / {zone_opacity(v):.2f})", str(v)) for v in (0, 2, 4, 6, 8, 10)]
    title = {"pain": "Pain, 0 to 10", "movement": "Movement of the skin, 0 to 10",
             "visibility": "In view at ease, 0 to 10"}[scale]
    return Tint("zones", scale, "".join([*out, "</g>"]), tuple(tags), tuple(key), title,
                "Common practice, no published source; every client differs. Change any figure in the table"
                + ("; * is this client's own." if any(z.edited for z in zones.zones) else "."))


def best_side(desk: Desk, kept: Kept, view: View, piece_id: str) -> tuple[str, str]:
    """The side that shows most of the piece (of all pieces where none is chosen), and how it is said."""
    laid, views = view.laid(piece_id), views_of(view.part)
    if laid is not None and not laid.piece.is_filler:
        facts = fit.of_piece(desk, kept, view, piece_id).fit.facts
        name = views[facts.view]
        share = f"{100 * facts.seen[facts.view]:.0f}% of it shows"
        return name, f"Best side of \u201c{laid.piece.title}\u201d: {name}, {share}"
    shares = [f.facts for f in fit.of_part(desk, kept, view)]
    if not shares:
        name = "outer" if view.limb.closed else views[0]
        return name, f"Seen from {say_view(name)}"
    area = [sum(f.seen[k] * f.samples.area_mm2 for f in shares) for k in range(len(views))]
    name = views[int(np.argmax(area))]
    return name, f"The side that shows most of all pieces: {name}"


def _seen(desk: Desk, kept: Kept, view: View, side: str, piece_id: str) -> Tint:
    name, title = best_side(desk, kept, view, piece_id) if side == "best" else (side, f"Seen from {say_view(side)}")
    box = _box(view)
    xy, shape = grid(box, STEP_MM)
    us, _ = _on_skin(view, xy)
    square = squarely(view.limb, view.part, us)[:, views_of(view.part).index(name)]
    levels, inks = (-0.5, 0.0), _inks(50, 122, of=DIM)
    image = band_image(-square.reshape(shape), box, STEP_MM, levels, inks)
    key = (("rgb(0 0 0 / 0)", "seen squarely"), (_css(inks[0]), "at a slant, under 30\u00b0"),
           (_css(inks[1]), "not seen"))
    return Tint("seen", side, f'<g clip-path="url(#skin-edge)">{image}</g>', (), key, title,
                "Arms hanging, from level far off. What lies in the dark runs round out of sight"
                + ("; what an arm hides is not looked for." if isinstance(view.limb, Panel) else "."))


def _tone(desk: Desk, kept: Kept, view: View) -> Tint:
    """How dark background may be, as shares of the darkest: what fillers go by."""
    box, field = _box(view), shading.field_of(desk, kept, view)
    xy, shape = grid(box, STEP_MM)
    us, inside = _on_skin(view, xy)
    value = np.where(inside, field.tone(us), 0.0)
    levels, inks = (0.04, 0.2, 0.4, 0.6, 0.8), _inks(26, 58, 92, 130, 172)
    image = band_image(value.reshape(shape), box, STEP_MM, levels, inks)
    key = [("rgb(0 0 0 / 0)", "open skin"), *((_css(i), f"{100 * a:.0f}% and more")
                                              for i, a in zip(inks, levels, strict=True))]
    spots = [g.gap.centre for g in findings.of(desk, kept, view).gaps[:8]]
    tones = field.tone(np.array(spots)) if spots else []
    tags = tuple(_tag(view, f"{100 * t:.0f}%", *map(float, at)) for at, t in zip(spots, tones, strict=True))
    return Tint("tone", "field", f'<g clip-path="url(#skin-edge)">{image}</g>', tags, tuple(key), "How dark it may be",
                "Background as dark as the plan's hand, held apart from each piece in lightness (our own rule), "
                "falling off at cuffs and shade lines. 100% is an even dark wash.")
