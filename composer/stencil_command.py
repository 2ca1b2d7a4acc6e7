"""The `stencil` command: papers to be put on skin, as PDF, working SVG or PNG."""

from __future__ import annotations

import argparse
import datetime
import json
from dataclasses import replace
from typing import Any

from composer.art.shelf import HOUSE
from composer.plan.model import Plan
from composer.plan.sittings import of_sitting, sittings
from composer.sheets.calibrate import Correction, calibration_pdf, corrected
from composer.sheets.over_join import apart_mm, side_of, stencils
from composer.sheets.slits import WAYS, Limits, prepare
from composer.sheets.stencil import KEEP
from composer.sheets.stencil_pages import Print, Ready, stencil_pdf
from composer.sheets.stencil_png import stencil_png
from composer.sheets.stencil_svg import stencil_svg
from composer.sheets.stencil_twins import cut_alike, measure_page, pair
from composer.store.files import read_plan_file, write_whole

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")


def long_date(day: datetime.date) -> str:
    """'25 November 2026'."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def arguments(p: argparse.ArgumentParser) -> None:
    """What the command takes."""
    p.add_argument("-o", "--out", required=True, metavar="OUT", help="file to write: .pdf, .svg (one stencil, to be "
                   "drawn over elsewhere) or .png (one paper)")
    p.add_argument("--piece", action="append", metavar="ID", help="this piece or filler; may be given again (default: "
                   "every planned piece)")
    p.add_argument("--part", help="only pieces of this part")
    p.add_argument("--sitting", type=int, metavar="N", help="the work of this sitting: all that is planned in it, "
                   "background too")
    p.add_argument("--together", action="store_true", help="all of them on one stencil")
    p.add_argument("--way", default="auto", choices=WAYS, help="how paper is cut where it won't lie (default auto)")
    p.add_argument("--fine", action="store_true", help="as many cuts as it takes, not only a few, until every "
                   "paper is as right as the plan asks (1 mm)")
    p.add_argument("--twins", action="store_true", help="both sides, with points to tape on each")
    p.add_argument("--no-shades", action="store_true", help="lines and blacks only")
    p.add_argument("--paper", default="A4", help="A4, A3, Letter, Legal or Tabloid (default A4)")
    p.add_argument("--roll", type=float, metavar="MM", help="print on a roll of this width instead")
    p.add_argument("--mirrored", action="store_true", help="mirrored, for a printer with stencil ink")
    p.add_argument("--dpi", type=int, default=300, help="resolution of a PNG (default 300)")
    p.add_argument("--measured", nargs=2, type=float, metavar=("ACROSS", "ALONG"), help="what a ruler says of the two "
                   "rules of the calibration page, mm")
    p.add_argument("--printer", default="this printer", help="the printer's name, with --measured")
    p.add_argument("--calibration", action="store_true", help="write the calibration page for the paper instead")


def run(args: argparse.Namespace) -> tuple[int, Any, str]:
    """Write stencils. Raises ValueError or KeyError with a sentence."""
    if args.calibration:
        write_whole(args.out, calibration_pdf(args.paper))
        words = f"Wrote {args.out}. Print it at 100 %, measure both rules, and give their lengths as --measured."
        return 0, {"file": args.out}, words
    plan, gallery = read_plan_file(args.plan)
    groups = [chosen(plan, args)] if args.together else [[i] for i in chosen(plan, args)]
    limits = limits_of(plan, args.fine)
    fix = corrected(args.printer, args.paper, *args.measured) if args.measured else Correction()
    day, keep = long_date(datetime.date.today()), kept_whole(plan)
    ready, pairs = [], []
    for ids in groups:
        if args.twins and len(ids) == 1:
            two = pair(plan, ids[0], gallery, keep, day, not args.no_shades, apart_mm(limits, args.way))
            pairs.append(two)
            ready += [Ready(*one) for one in cut_alike(two, limits, args.way)]
        else:
            every = stencils(plan, ids, gallery, keep, day, not args.no_shades, apart_mm(limits, args.way))
            ready += [Ready(s, prepare(s, limits, args.way), side_of(s, every)) for s in every]
    kind = args.out.lower().rpartition(".")[2]
    if kind in ("svg", "png") and len(ready) != 1:
        raise ValueError(f"A .{kind} file holds one stencil; name one --piece, or use --together.")
    if kind == "svg":
        data = stencil_svg(ready[0].stencil, prepare(ready[0].stencil, limits, "whole"))
    elif kind == "png":
        if len(ready[0].cut.leaves) > 1:
            raise ValueError("A .png file holds one paper, and this stencil has several; use --way whole, or write "
                             "a .pdf.")
        data = stencil_png(ready[0], ready[0].cut.leaves[0], args.dpi, args.mirrored)
    elif kind == "pdf":
        data = stencil_pdf(ready, Print(args.paper, args.mirrored, args.roll, fix),
                           measure_page(pairs, args.paper) if pairs else ())
    else:
        raise ValueError(f"'{args.out}' should end in .pdf, .svg or .png.")
    write_whole(args.out, data)
    report: list[dict[str, Any]] = [
        {"pieces": [p.id for p in r.stencil.pieces], "part": r.stencil.part, "title": r.stencil.title,
         "way": r.cut.way, "papers": len(r.cut.leaves), "stretch": round(r.cut.stretch, 4),
         "error_mm": round(r.cut.error_mm, 2), "sentence": r.cut.sentence, "notes": list(r.stencil.notes)}
        for r in ready]
    words = "\n".join(f"{r['title']}: {' '.join([r['sentence'], *r['notes']])}" for r in report)
    return 0, {"file": args.out, "stencils": report}, f"{words}\nWrote {args.out}. Print at 100 %."


def chosen(plan: Plan, args: argparse.Namespace) -> list[str]:
    """Ids to print. Raises ValueError where there are none."""
    if args.part:
        plan.part(args.part)
    if args.piece:
        return list(args.piece)
    if args.sitting is not None:
        ids = [p.id for p in of_sitting(plan, args.sitting, args.part)]
        if not ids:
            known = ", ".join(map(str, sittings(plan, args.part)))
            raise ValueError(f"Nothing planned is in sitting {args.sitting}; "
                             + (f"there is work in {known}." if known else "no piece has a sitting yet."))
        return ids
    ids = [p.id for p in plan.pieces if not p.is_filler and p.state == "planned" and args.part in (None, p.part)]
    if not ids:
        raise ValueError("The plan has no planned piece to print; name one with --piece.")
    return ids


def limits_of(plan: Plan, fine: bool = False) -> Limits:
    """The plan's limits; `fine` asks for as many cuts as it takes, not only a few."""
    own = Limits.of(plan.settings.extra)
    return replace(own, few=not fine)


def kept_whole(plan: Plan) -> dict[str, Any]:
    """By id of pieces what their motifs of the house say that must not be cut."""
    named = {p.motif for p in plan.pieces}
    said = {path.stem: json.loads(path.read_text("utf-8")).get(KEEP) for path in HOUSE.glob("*.json")
            if path.stem in named}
    return {p.id: said[p.motif] for p in plan.pieces if p.motif and said.get(p.motif)}
