"""Templates and the few things every page needs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.templating import Jinja2Templates

from composer.body.joins_wide import PAIRS, WIDE
from composer.body.kinds import UNPLANNED
from composer.body.units import format_length, number
from composer.plan.model import STATES
from web.desk import Desk
from web.fit import TITLES
from web.places import PART_NAMES, SHOWN, WIDE_WORDS, far_word, is_limb, limb_word, wide_sheets

STEPS = (("measure", "Measure"), ("compose", "Compose"), ("tie-in", "Tie in"), ("print", "Print"),
         ("stencils", "Stencils"))

def span(low_mm: float, high_mm: float, unit: str) -> str:
    """A range of lengths for reading: '9 to 22 cm'."""
    low, high = (number(mm, unit).removesuffix(".0") for mm in (low_mm, high_mm))
    return f"{low} to {high} {unit}"


_env = Environment(loader=FileSystemLoader(Path(__file__).parent / "templates"), autoescape=select_autoescape(),
                   undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
_env.globals.update(PART_NAMES=PART_NAMES, PARTS=SHOWN, STATES=STATES, STEPS=STEPS, length=format_length,
                    number=number, span=span, limb_word=limb_word, far_word=far_word, is_limb=is_limb, WIDE=WIDE,
                    wide_sheets=wide_sheets, PAIRS=PAIRS, WIDE_WORDS=WIDE_WORDS, UNPLANNED=UNPLANNED)
_env.globals["titles"] = TITLES
_env.filters["raw"] = Markup
templates = Jinja2Templates(env=_env)


def page(request: Request, name: str, context: dict[str, Any], status: int = 200,
         headers: dict[str, str] | None = None) -> HTMLResponse:
    """Render a template; pages are never kept by the browser."""
    response = templates.TemplateResponse(request, name, context, status_code=status, headers=headers)
    response.headers.setdefault("Cache-Control", "no-store")
    return response


def desk_of(request: Request) -> Desk:
    return request.app.state.desk


def is_part_request(request: Request) -> bool:
    """Whether htmx asked for a part of a page."""
    return request.headers.get("hx-request") == "true"


def area(mm2: float) -> str:
    """An area for reading: square centimetres."""
    cm2 = mm2 / 100
    return f"{cm2:.1f} cm\u00b2" if cm2 < 10 else f"{cm2:.0f} cm\u00b2"


_env.filters["area"] = area
