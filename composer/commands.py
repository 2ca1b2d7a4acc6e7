"""What each command does: returns exit code, report for --json, and words for people."""

from __future__ import annotations

import argparse
import secrets
from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from composer.body.units import format_area
from composer.plan.form import piece_to_json
from composer.plan.model import Piece, Plan
from composer.plan.scene import scene
from composer.plan.steps import apply
from composer.plan.twins import OTHER, limb_of, twin_deviation
from composer.sheets.layout import layout_pdf
from composer.sheets.svg import layout_svg
from composer.store.files import SUFFIX, can_write, read_plan_file, write_plan_file, write_whole

if TYPE_CHECKING:
    from composer.compose.gaps import Survey

Result = tuple[int, Any, str]
# What gaps and background need is brought in by the commands that use it: a print starts sooner without.


def demo(args: argparse.Namespace) -> Result:
    """Write the demo plan into a folder."""
    from composer.demo import demo_plan

    path = Path(args.folder) / f"estuary{SUFFIX}"
    if path.exists():
        raise ValueError(f"{path} is there already and may hold your changes; move it, or name another folder.")
    can_write(path)
    with progress(args, 100, "composing the demo") as step:
        plan, gallery = demo_plan(lambda share: step(100 * share, 100))
    write_plan_file(path, plan, gallery)
    return 0, {"plan": str(path), "pieces": len(plan.pieces)}, f"Wrote {path} with {len(plan.pieces)} pieces."


def check(args: argparse.Namespace) -> Result:
    """Read a plan and list what is worth a look."""
    from composer.compose.readings import read_pieces

    plan, gallery = read_plan_file(args.plan)
    found = []
    for part in plan.parts:
        here = scene(plan, part.name, limb_of(plan, part.name), gallery)
        for reading in read_pieces(here, plan.settings.skin_break_mm):
            found += [{"piece": reading.piece_id, "title": reading.title, "part": part.name, "sentence": s}
                      for s in reading.warnings]
    head = f"{plan.title}: {len(plan.parts)} parts, {len(plan.pieces)} pieces and fillers. "
    words = head + ("Nothing to remark." if not found else "\n" + "\n".join(f"- {f['sentence']}" for f in found))
    return int(bool(found)), {"plan": plan.title, "findings": found}, words


def gaps(args: argparse.Namespace) -> Result:
    """List gaps and ties."""
    from composer.compose.words import border_titles

    plan, gallery = read_plan_file(args.plan)
    report, lines = [], []
    for part, found in _surveys(args, plan, gallery):
        names = {p.id: p.title for p in plan.pieces} | border_titles(part)
        report.append({"part": part, "gaps": [
            {"key": g.key, "number": g.number, "area_cm2": round(g.area_mm2 / 100, 2),
             "widest_mm": round(g.widest_mm, 1), "u": round(g.centre[0], 4), "s_mm": round(g.centre[1], 1),
             "neighbours": list(g.neighbours), "flow_deg": round(g.flow_deg, 1)} for g in found.gaps],
            "ties": [{"a": t.a, "b": t.b, "clearance_mm": round(t.clearance_mm, 1),
                      "strength": round(t.strength, 3), "reason": t.reason} for t in found.ties]})
        lines.append(f"{part.replace('_', ' ').capitalize()}: {len(found.gaps)} gaps, {len(found.ties)} ties")
        lines += [f"  gap {g.number}: {format_area(g.area_mm2)}, widest circle {g.widest_mm:.0f} mm, between "
                  f"{', '.join(names.get(n, n) for n in g.neighbours)}" for g in found.gaps]
        lines += [f"  tie {names.get(t.a, t.a)} - {names.get(t.b, t.b)}: {t.reason}" for t in found.ties]
    return 0, report, "\n".join(lines) or "The plan has no part yet; measure one first."


def theme_names() -> list[str]:
    """Short names of the themes for a whole sleeve."""
    from composer.filler.fabric_plan import THEMES

    return list(THEMES)


def tie(args: argparse.Namespace) -> Result:
    """Tie in every part and write the plan."""
    from composer.filler.fabric import tie_in
    from composer.filler.ground import Wish

    plan, gallery = read_plan_file(args.plan)
    theme = args.theme or theme_names()[0]
    if theme not in theme_names():
        raise ValueError(f"There is no theme '{theme}'; known are {', '.join(theme_names())}.")
    report = []
    for part, found in _surveys(args, plan, gallery):
        with progress(args, 100, f"tying in the {part.replace('_', ' ')}") as step:
            made = tie_in(found.scene, found, theme, plan.settings.hand, Wish(), args.seed, settings=plan.settings,
                          progress=lambda share, step=step: step(100 * share, 100))
        old = [p.id for p in plan.on(part) if p.is_filler and not p.stays]
        pieces = []
        for proposal in made:
            gallery[proposal.drawing.digest] = proposal.drawing
            pieces.append(as_piece(proposal, part))
        plan = apply(plan, {"do": "tie_in", "replace_ids": old, "pieces": [piece_to_json(p) for p in pieces]})
        report.append({"part": part, "theme": theme, "fillers": len(pieces)})
    write_plan_file(args.out, plan, gallery)
    return 0, report, "\n".join(f"{r['part'].replace('_', ' ').capitalize()}: {r['fillers']} fillers, {r['theme']}."
                                for r in report) + f"\nWrote {args.out}."


def as_piece(proposal: Any, part: str) -> Piece:
    """A proposal as a filler piece of a part, with a fresh id."""
    return Piece("f" + secrets.token_hex(5), part, proposal.drawing.digest, proposal.title, proposal.u, proposal.s_mm,
                 depth=proposal.depth, recipe=proposal.recipe)


def mirror(args: argparse.Namespace) -> Result:
    """Mirror pieces onto the other arm and report the deviation."""
    plan, gallery = read_plan_file(args.plan)
    wanted = [plan.piece(i) for i in args.piece] if args.piece else list(plan.on(args.source))
    have = {p.twin_of for p in plan.pieces if p.part == OTHER[args.source] and p.axis_u is None}
    report = []
    for piece in wanted:
        if piece.id in have or (piece.twin_of and piece.axis_u is None):
            continue
        new_id = "m" + secrets.token_hex(5)
        plan = apply(plan, {"do": "twin", "id": piece.id, "new_id": new_id, "linked": not args.free})
        off = twin_deviation(plan, plan.piece(new_id), gallery)
        report.append({"piece": piece.id, "title": piece.title, "twin": new_id, "largest_mm": round(off.largest_mm, 2),
                       "mean_mm": round(off.mean_mm, 2), "from_girth_mm": round(off.from_girth_mm, 2),
                       "from_length_mm": round(off.from_length_mm, 2), "from_taper_mm": round(off.from_taper_mm, 2),
                       "sentence": off.sentence})
    write_plan_file(args.out, plan, gallery)
    words = "\n".join(f"{r['title']}: {r['sentence']}" for r in report) or "There was nothing left to mirror."
    return 0, report, f"{words}\nWrote {args.out}."


def sheet(args: argparse.Namespace) -> Result:
    """Write the layout sheet."""
    if not args.out.lower().endswith((".svg", ".pdf")):
        raise ValueError(f"{args.out} names no kind of file; end it with .pdf, or with .svg for one part.")
    plan, gallery = read_plan_file(args.plan)
    if args.out.lower().endswith(".svg"):
        parts = args.part or [p.name for p in plan.parts if plan.on(p.name)][:1]
        if len(parts) != 1:
            raise ValueError("An SVG holds one part; name it with --part.")
        data = layout_svg(plan, parts[0], gallery, args.mirrored)
    else:
        with progress(args, 1, "laying out") as step:
            parts = list(dict.fromkeys(args.part)) if args.part else None
            data = layout_pdf(plan, gallery, parts, args.paper, args.mirrored, step)
    write_whole(args.out, data)
    return 0, {"file": args.out, "bytes": len(data)}, f"Wrote {args.out}. Print at 100 %, then measure both rules."


def _surveys(args: argparse.Namespace, plan: Plan, gallery: Any) -> Iterable[tuple[str, Survey]]:
    """Each part as far as its sleeve goes, with what leans in from its neighbours, as the desk has it."""
    from composer.compose.gaps import survey
    from composer.compose.planned import planned
    from composer.plan.over_joins import scene_with_neighbours

    names = [args.part] if args.part else [p.name for p in plan.parts]
    for name in names:
        plan.part(name)
        here = planned(plan, name, scene_with_neighbours(plan, name, gallery))
        yield name, survey(here, plan.settings.skin_break_mm)


def progress(args: argparse.Namespace, total: int, what: str) -> AbstractContextManager[Callable[..., None]]:
    """A progress bar on standard error; nothing where --quiet, or where nobody looks."""
    return nullcontext(lambda *_: None) if args.quiet else _bar(total, what)


@contextmanager
def _bar(total: int, what: str):
    from tqdm import tqdm

    with tqdm(total=total, desc=what, disable=None, leave=False, bar_format="{desc} {bar} {percentage:3.0f} %") as bar:
        def step(done: float, total: float, words: str = "") -> None:
            bar.total = total
            bar.n = done
            if words:
                bar.set_description_str(words)
            bar.refresh()

        yield step
