"""How ink looks in pictures that stand alone; static/css/ink.css says the same for the desk."""

from __future__ import annotations

from composer.plan.model import Settings
from web.paint.colour import mixed, skin_of

INK, HEALED, PEN = "#1d1923", "#55606a", "#5b3fa0"
TONES = {"light": 0.16, "mid": 0.36, "dark": 0.62}


def ink_css(settings: Settings) -> str:
    """Style rules for a picture on this client's skin."""
    skin = skin_of(settings)
    rules = [f"svg{{--skin:{skin}}}.piece .skin{{fill:{skin};stroke:{skin};stroke-linejoin:round;"
             f"stroke-width:{settings.skin_break_mm * 200:.0f}}}path{{fill-rule:evenodd}}"]
    for state, ink in (("planned", INK), ("healed", HEALED), ("freehand", PEN)):
        rules.append(f".{state} .ink path{{fill:{ink}}}")
        rules += [f".{state} .ink .{role}{{fill:{mixed(ink, skin, share)}}}" for role, share in TONES.items()]
    return "".join(rules)
