"""The `sleevewright` command. Exit codes: 0 done, 1 something to look at was found, 2 could not be done."""

from __future__ import annotations

import argparse
import json
import sys
from importlib.metadata import entry_points, version
from typing import Any

from composer import commands
from composer.plan.model import PARTS


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    argv = sys.argv[1:] if argv is None else argv
    parser = build_parser("stencil" in argv)
    args = parser.parse_args(argv)
    if not getattr(args, "run", None):
        parser.print_help()
        return 2
    try:
        code, report, words = args.run(args)
    except (ValueError, KeyError, OSError) as err:
        text = str(err.args[0]) if isinstance(err, KeyError) and err.args else str(err)
        if getattr(args, "json", False):
            print(json.dumps({"error": text}))
        print(f"sleevewright: {text}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("sleevewright: stopped.", file=sys.stderr)
        return 2
    if getattr(args, "json", False):
        print(json.dumps(report, indent=1, ensure_ascii=False))
    elif words:
        print(words)
    return int(code)


def build_parser(stencil: bool = True) -> argparse.ArgumentParser:
    """All commands; `serve` comes from whoever offers it under `sleevewright.commands`. What `stencil` takes is left
    out where it is not asked for, since it takes a while to bring in."""
    parser = argparse.ArgumentParser(prog="sleevewright", description=(
        "Composition planner for tattoo artists: measure a limb, place pieces, tie them in, print at true size."))
    parser.add_argument("--version", action="version", version=f"sleevewright {version('sleevewright')}")
    sub = parser.add_subparsers(title="commands", metavar="COMMAND")
    for point in entry_points(group="sleevewright.commands"):
        point.load()(sub)

    def command(name: str, run: Any, help_: str, plan: bool = True, report: bool = True) -> argparse.ArgumentParser:
        p = sub.add_parser(name, help=help_, description=help_)
        if plan:
            p.add_argument("plan", metavar="PLAN", help="a plan file, as exported")
        if report:
            p.add_argument("--json", action="store_true", help="report as JSON")
        p.add_argument("--quiet", action="store_true", help="no progress bar")
        p.set_defaults(run=run)
        return p

    p = command("demo", commands.demo, "Write the demo plan, the estuary sleeve, into a folder.", plan=False)
    p.add_argument("folder", metavar="DIR")
    p = command("check", commands.check, "Read a plan file and say what is wrong with it or worth a look.")
    p = command("gaps", commands.gaps, "List the gaps and ties of each part.")
    p.add_argument("--part", help="only this part")
    p = command("tie", commands.tie, "Tie in the whole sleeve with one theme and write the new plan.")
    p.add_argument("--part", help="only this part")
    p.add_argument("--theme", default=None, help="theme of the background (see --themes)")
    p.add_argument("--themes", action=ListThemes, nargs=0, help="list the themes")
    p.add_argument("--seed", type=int, default=1, help="same seed, same background (default 1)")
    p.add_argument("-o", "--out", required=True, metavar="PLAN", help="where to write the new plan")
    p = command("mirror", commands.mirror, "Mirror pieces onto the other arm, say by how much the twins deviate, "
                                           "and write the new plan.")
    p.add_argument("--from", dest="source", default="left_arm", choices=PARTS)
    p.add_argument("--piece", action="append", metavar="ID", help="only this piece; may be given again")
    p.add_argument("--free", action="store_true", help="twins that do not follow")
    p.add_argument("-o", "--out", required=True, metavar="PLAN", help="where to write the new plan")
    p = command("sheet", commands.sheet, "Print the layout sheet: cover, list and the parts at 1:1.")
    p.add_argument("-o", "--out", required=True, metavar="OUT.pdf", help="PDF to write; with .svg one part as SVG")
    p.add_argument("--part", action="append", help="only this part; may be given again")
    p.add_argument("--paper", default="A4", help="A4, A3, Letter, Legal or Tabloid (default A4)")
    p.add_argument("--mirrored", action="store_true", help="mirrored, for ink printed onto the transfer face")
    p = command("stencil", None, "Print stencils: papers to be put on skin, at 1:1.")
    if stencil:
        from composer import stencil_command

        stencil_command.arguments(p)
        p.set_defaults(run=stencil_command.run)
    return parser


class ListThemes(argparse.Action):
    """--themes: print the themes and end."""

    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> None:
        print("\n".join(commands.theme_names()))
        parser.exit(0)


if __name__ == "__main__":
    sys.exit(main())
