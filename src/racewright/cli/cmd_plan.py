"""`racewright plan FILE`: a surveyed run becomes a bend card."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, cast

from racewright.cli.out_files import ending
from racewright.cli.terminal import own_codes

if TYPE_CHECKING:
    from racewright.operations.export import ExportAnswer, FileKind
    from racewright.operations.plan import PlanAnswer

HELP = "Plan a surveyed run: print the bend card, and write it as PDF, SVG or JSON."
_WRITTEN = {"card": ("card", ""), "bench": ("bench page", ""), "strip": ("mark strip", ": print it at 100 %")}
_OPTIONS = {"bender_name": "--bender"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright plan`."""
    parser.add_argument("file", metavar="FILE", help="a survey file (YAML); see docs/survey-file.md and examples/")
    parser.add_argument("--json", action="store_true", help="print the plan as JSON instead of the card")
    bench = "the bench page alone (cut, marks, order, finished piece, straps, cautions), also in the files"
    parser.add_argument("--bench", action="store_true", help=bench)
    parser.add_argument("--pdf", metavar="OUT", type=ending(".pdf"), help="write the card as PDF")
    parser.add_argument("--svg", metavar="OUT", type=ending(".svg"), help="write the card as SVG")
    strip = "write the 1:1 mark strip, PDF or SVG by the name's ending"
    parser.add_argument("--strip", metavar="OUT", type=ending(".pdf", ".svg"), help=strip)
    parser.add_argument("--paper", choices=("letter", "a4"), help="paper size (letter for inches, a4 for mm)")
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's")
    parser.add_argument("--fraction", type=int, choices=(1, 2, 4, 8, 16, 32), help="round to 1/N of an inch (or mm)")
    parser.add_argument("--colour", choices=("auto", "always", "never"), default="auto", help="colors in the card")


def run(args: argparse.Namespace) -> int:
    """Plan, print, write. Returns 1 where a finding is a problem."""
    from racewright.cards.text.bend_card import text_bench, text_card
    from racewright.cli.answers import show

    answer = _planned(args)
    colour = args.colour == "always" or (args.colour == "auto" and sys.stdout.isatty())
    with own_codes(sys.stdout):
        text = text_bench if args.bench else text_card
        code = show(
            answer, lambda made: text(made.plan, colour=colour), as_json=args.json, brief=args.bench, part=answer.plan
        )
    _write(args, answer)
    return code


def _planned(args: argparse.Namespace) -> PlanAnswer | ExportAnswer:
    """The plan, with the files that were asked for."""
    from racewright.cli.answers import asked
    from racewright.store.survey_file import read_survey_file

    file = read_survey_file(args.file)
    given = {"survey": file.written, "bender_name": args.bender or "", "fraction": args.fraction}
    kinds = tuple(_outs(args))
    with file.told_by_line():
        if kinds:
            from racewright.operations.export import ExportRequest

            request = ExportRequest(**given, kinds=kinds, paper=args.paper)
            return cast("ExportAnswer", asked("export", request, options=_OPTIONS))
        from racewright.operations.plan import PlanRequest

        return cast("PlanAnswer", asked("plan", PlanRequest(**given, pictures=()), options=_OPTIONS))


def _outs(args: argparse.Namespace) -> dict[FileKind, str]:
    """The files to write, by kind."""
    outs: dict[FileKind, str] = {}
    if args.pdf:
        outs["bench.pdf" if args.bench else "card.pdf"] = args.pdf
    if args.svg:
        outs["bench.svg" if args.bench else "card.svg"] = args.svg
    if args.strip:
        outs["strip.pdf" if args.strip.lower().endswith(".pdf") else "strip.svg"] = args.strip
    return outs


def _write(args: argparse.Namespace, answer: PlanAnswer | ExportAnswer) -> None:
    from racewright.exports.output_file import write_whole

    outs = _outs(args)
    for made in getattr(answer, "files", ()):
        write_whole(Path(outs[made.kind]), made.data)
        what, then = _WRITTEN[made.kind.partition(".")[0]]
        print(f"{what} written to {outs[made.kind]}{then}", file=sys.stderr)
