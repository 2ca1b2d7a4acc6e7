"""The body as a small drawing: choose a part, see which are measured."""

from __future__ import annotations

from markupsafe import escape

from web.places import PART_NAMES

# Seen from the front: the client's left is at the right. Our own outline, in a 120 x 236 box.
_TRUNK = (
    "M60 6c7 0 11 6 11 13 0 7-3 13-6 15 0 4 1 6 4 7 6 2 13 3 17 7"
    "M60 6c-7 0-11 6-11 13 0 7 3 13 6 15 0 4-1 6-4 7-6 2-13 3-17 7"
    "M41 62c1 14 2 24 1 34-1 9-4 16-5 26M79 62c-1 14-2 24-1 34 1 9 4 16 5 26"
    "M104 132c2 5 3 10 2 16-1 3-4 3-5 0-2-4-4-9-4-14M16 132c-2 5-3 10-2 16 1 3 4 3 5 0 2-4 4-9 4-14"
    "M76 216c2 4 5 7 7 10 1 2-1 4-4 4h-9c-3 0-4-2-4-5v-9M44 216c-2 4-5 7-7 10-1 2 1 4 4 4h9c3 0 4-2 4-5v-9")
_LIMBS = {
    "left_arm": "M86 48c5 4 7 10 7 18 0 12 2 20 4 30 2 12 5 24 7 36l-7 2"
                "c-4-12-8-23-11-35-3-12-6-22-7-37-1-7 0-12 7-14z",
    "right_arm": "M34 48c-5 4-7 10-7 18 0 12-2 20-4 30-2 12-5 24-7 36l7 2"
                 "c4-12 8-23 11-35 3-12 6-22 7-37 1-7 0-12-7-14z",
    "left_leg": "M83 122c3 18 0 32-2 46-1 8 0 14-1 22-1 10-3 18-4 26h-10c0-10-2-18-3-28-1-8 1-12 0-20-1-12-2-22-2-33"
                " 9-1 17-5 22-13z",
    "right_leg": "M37 122c-3 18 0 32 2 46 1 8 0 14 1 22 1 10 3 18 4 26h10c0-10 2-18 3-28 1-8-1-12 0-20 1-12 2-22 2-33"
                 "-9-1-17-5-22-13z",
}
_PANELS = {
    "chest": "M60 49c5-1 11-2 16-4l8 3c-6 5-7 12-6 20 1 9 0 18-1 26-6 3-11 4-17 4s-11-1-17-4c-1-8-2-17-1-26"
             " 1-8 0-15-6-20l8-3c5 2 11 3 16 4z",
    "upper_back": "M131 180c4 2 8 3 12 4 6 2 10 6 11 11l-8 4c-1 8-2 15-3 20h-24c-1-5-2-12-3-20l-8-4c1-5 5-9 11-11"
                  " 4-1 8-2 12-4z",
}
_BEHIND = ("M127 168c0 5 0 9-2 12M135 168c0 5 0 9 2 12M119 219c0 5 0 8-1 12M143 219c0 5 0 8 1 12"
           "M131 184v44M124 190c-2 6-1 12 3 17M138 190c2 6 1 12-3 17")
"""The back stands beside the legs, as seen from behind: the client's left is at the left there."""
_LABEL = {"left_arm": (110, 74, "start", "left", "arm"), "right_arm": (10, 74, "end", "right", "arm"),
          "left_leg": (88, 176, "start", "left", "leg"), "right_leg": (32, 176, "end", "right", "leg"),
          "chest": (60, 77, "middle", "chest"), "upper_back": (162, 246, "end", "upper back")}
"""Where each name stands (first baseline), its anchor, and its lines."""
_LINE = 15
_ASIDE = ' transform="translate(10 0)"'
"""The back stands clear of the name of the leg."""
_AROUND = {"start": -4, "middle": -18, "end": -38}
"""Left edge of the ground that a name answers to, from its anchor."""


def body_svg(plan_id: str, part: str, step: str, measured: set[str], skin: str) -> str:
    """The drawing with a link on each part that can be planned."""
    out = [f'<svg class="body" viewBox="-30 0 204 252" role="group" aria-label="Choose a part of the body" '
           f'style="--skin:{escape(skin)}"><path class="trunk" d="{_TRUNK}"/>'
           f'<path class="trunk behind" d="{_BEHIND}"{_ASIDE}/>']
    for name, d in (_PANELS | _LIMBS).items():
        words = PART_NAMES[name].lower()
        state = "here" if name == part else "measured" if name in measured else "open"
        spoken = {"here": "shown", "measured": "measured", "open": "not measured yet"}[state]
        page = step if name in measured or step == "measure" else "measure"
        here = ' aria-current="true"' if name == part else ""
        x, y, anchor, *lines = _LABEL[name]
        reach = "reach inner" if name in _PANELS else "reach"
        inside = ' class="inside"' if name == "chest" else ""
        text = " ".join(f'<tspan x="{x}" y="{y + _LINE * k}">{line}</tspan>' for k, line in enumerate(lines))
        ground = "" if inside else (f'<rect class="around" x="{x + _AROUND[anchor]}" y="{y - 16}" width="42" '
                                    f'height="{_LINE * len(lines) + 10}"/>')
        aside = _ASIDE if name == "upper_back" else ""
        out.append(f'<a href="/plans/{escape(plan_id)}/{page}/{name}" aria-label="{words}, {spoken}"{here}{aside}>'
                   f'<path class="limb {state}" d="{d}"/><path class="{reach}" d="{d}"/>{ground}'
                   f'<text{inside} text-anchor="{anchor}">{text}</text></a>')
    return "".join(out) + "</svg>"
