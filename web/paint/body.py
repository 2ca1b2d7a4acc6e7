"""The body as a small drawing: choose a part, see which are measured."""

from __future__ import annotations

from markupsafe import escape

# Seen from the front: the client's left arm is at the right. Our own outline, in a 120 x 220 box.
_TRUNK = (
    "M60 6c7 0 11 6 11 13 0 7-3 13-6 15 0 4 1 6 4 7 6 2 13 3 17 7"
    "M60 6c-7 0-11 6-11 13 0 7 3 13 6 15 0 4-1 6-4 7-6 2-13 3-17 7"
    "M41 62c1 14 2 24 1 34-1 9-4 15-5 24-1 17 2 33 3 48 1 14 1 30 2 44"
    "M79 62c-1 14-2 24-1 34 1 9 4 15 5 24 1 17-2 33-3 48-1 14-1 30-2 44"
    "M60 132c-1 14-1 26-2 40-1 14-1 26-2 40M60 132c1 14 1 26 2 40 1 14 1 26 2 40")
_ARMS = {
    "left_arm": "M86 48c5 4 7 10 7 18 0 12 2 20 4 30 2 12 5 24 7 36l-7 2"
                "c-4-12-8-23-11-35-3-12-6-22-7-37-1-7 0-12 7-14z",
    "right_arm": "M34 48c-5 4-7 10-7 18 0 12-2 20-4 30-2 12-5 24-7 36l7 2"
                 "c4-12 8-23 11-35 3-12 6-22 7-37 1-7 0-12-7-14z",
}
_HANDS = "M104 132c2 5 3 10 2 16-1 3-4 3-5 0-2-4-4-9-4-14M16 132c-2 5-3 10-2 16 1 3 4 3 5 0 2-4 4-9 4-14"
_LABEL = {"left_arm": (108, 84, "left"), "right_arm": (12, 84, "right")}


def body_svg(plan_id: str, part: str, step: str, measured: set[str], skin: str) -> str:
    """The drawing with a link on each part that can be planned."""
    out = [f'<svg class="body" viewBox="-22 0 164 200" role="group" aria-label="Choose a part of the body" '
           f'style="--skin:{escape(skin)}"><path class="trunk" d="{_TRUNK}"/><path class="trunk" d="{_HANDS}"/>']
    for name, d in _ARMS.items():
        words = name.replace("_", " ")
        state = "here" if name == part else "measured" if name in measured else "open"
        spoken = {"here": "shown", "measured": "measured", "open": "not measured yet"}[state]
        page = step if name in measured or step == "measure" else "measure"
        here = ' aria-current="true"' if name == part else ""
        x, y, side = _LABEL[name]
        out.append(f'<a href="/plans/{escape(plan_id)}/{page}/{name}" aria-label="{words}, {spoken}"{here}>'
                   f'<path class="limb {state}" d="{d}"/><path class="reach" d="{d}"/>'
                   f'<text x="{x}" y="{y}" text-anchor="{"start" if side == "left" else "end"}">{side}</text></a>')
    return "".join(out) + "</svg>"
