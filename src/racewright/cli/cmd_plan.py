"""`racewright plan FILE`: a surveyed run becomes a bend card."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from racewright.cli.out_files import ending
from racewright.cli.terminal import own_codes

HELP = "Plan a surveyed run: print the bend card, and write it as PDF, SVG or JSON."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright plan`."""
    parser.add_argument("file", metavar="FILE", help="a survey file (YAML); see docs/survey-file.md and examples/")
    parser.add_argument("--json", action="store_true", help="print the plan as JSON instead of the card")
    parser.add_argument("--pdf", metavar="OUT", type=ending(".pdf"), help="write the card as PDF")
    parser.add_argument("--svg", metavar="OUT", type=ending(".svg"), help="write the card as SVG")
    strip = "write the 1:1 mark strip, PDF or SVG by the name's ending"
    parser.add_argument("--strip", metavar="OUT", type=ending(".pdf", ".svg"), help=strip)
    parser.add_argument("--paper", choices=("letter", "a4"), help="paper size (letter for inches, a4 for mm)")
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's")
    parser.add_argument("--fraction", type=int, choices=(1, 2, 4, 8, 16, 32), help="round to 1/N of an inch (or mm)")
    parser.add_argument("--colour", choices=("auto", "always", "never"), default="auto", help="colours in the card")


def run(args: argparse.Namespace) -> int:
    """Plan, print, write. Returns 1 where a finding is a problem."""
    from racewright.store.bender_file import find_bender
    from racewright.store.survey_file import plan_file

    plan = plan_file(args.file, bender_name=args.bender or "", fraction=args.fraction, find=find_bender)
    paper = args.paper or ("letter" if plan.tape.unit == "in" else "a4")
    if args.json:
        from racewright.json_text import plain_json

        print(plain_json(plan))
    else:
        from racewright.cards.text.bend_card import text_card

        colour = args.colour == "always" or (args.colour == "auto" and sys.stdout.isatty())
        with own_codes(sys.stdout):
            print(text_card(plan, colour=colour))
    if args.pdf or args.svg or args.strip:
        from racewright.exports.output_file import write_scene

        if args.pdf or args.svg:
            from racewright.cards.bend_card import card_pages

            scene = card_pages(plan, paper)
            for out in filter(None, (args.pdf, args.svg)):
                write_scene(Path(out), scene, "pdf" if out == args.pdf else "svg")
                print(f"card written to {out}", file=sys.stderr)
        if args.strip:
            from racewright.cards.strip import strip_pages

            write_scene(Path(args.strip), strip_pages(plan, paper), Path(args.strip).suffix.lstrip(".").lower())
            print(f"mark strip written to {args.strip}: print it at 100 %", file=sys.stderr)
    return 1 if any(f.severity == "problem" for f in plan.findings) else 0
