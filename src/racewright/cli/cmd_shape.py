"""`racewright shape NAME`: one shape on its own, its exact marks, and the rule of thumb beside them."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from racewright.cli.figures import whole
from racewright.cli.spelling import GivenOnce
from racewright.field_words import one_word

if TYPE_CHECKING:
    from racewright.cards.text.shape import Report
    from racewright.units.tape import TapeStyle

HELP = (
    "One bend shape, without a survey: marks from your bender's figures, the rule of thumb beside them, other angles."
)

#: shape -> what it is, its required lengths, its optional lengths, angle default ('' = must be given, None = no angle)
SHAPES: dict[str, tuple[str, tuple[str, ...], tuple[str, ...], str | None]] = {
    "stub": ("a 90 whose short leg stands a wanted height", ("height",), ("leg",), None),
    "back-to-back": ("two 90s a distance apart", ("distance",), ("stub", "second-stub"), None),
    "kick": ("one bend that lifts the end of the conduit", ("rise",), ("travel",), "optional"),
    "offset": ("over to a parallel line", ("rise",), ("at", "room"), "30"),
    "box-offset": ("the small offset into a box: finds its angle", ("rise",), ("spacing", "room", "at"), None),
    "rolling-offset": ("up and aside at once", ("rise", "roll"), ("at", "room"), "30"),
    "saddle": ("over an obstacle with three bends", (), ("rise", "centre", "length", "room"), "22.5"),
    "four-bend-saddle": ("over an obstacle with a flat top", (), ("rise", "flat", "centre", "length", "room"), "30"),
    "parallel-offset": ("the same offset through a rack", ("rise",), (), "30"),
    "parallel-kick": ("the same kick through a rack", ("rise",), (), "30"),
    "concentric": ("90s about one centre through a rack", (), ("radius",), None),
    "segmented": ("a 90 of a larger radius than the shoe's, in shots", ("radius",), ("stub",), None),
}

_MEANING = {
    "height": "stub height",
    "leg": "the other leg, to the back: gives the cut length",
    "distance": "between the two bends, measured as --to says",
    "stub": "stub height to the back: marks count from end A",
    "second-stub": "second stub to the back: gives the cut length",
    "rise": "how far it moves over, axis to axis",
    "roll": "how far to the right, looking from A to B (negative: left)",
    "travel": "along the conduit, from the lifted end to the far end of the bend (beside a 90: to its corner)",
    "at": "from end A to where the whole rise must be reached",
    "room": "room along the run",
    "spacing": "between the marks",
    "centre": "from end A to the middle of the obstacle",
    "length": "overall length of the piece",
    "flat": "straight on top",
    "radius": "centreline radius wanted",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One sub-command a shape; without one, the shapes are listed."""
    common = argparse.ArgumentParser(add_help=False)
    common.add_argument("--bender", metavar="NAME", help="a bender profile (`racewright bender` lists them)")
    common.add_argument("--raceway", default="EMT", metavar="TYPE", help="raceway, for the trade's hand shoe (EMT)")
    common.add_argument("--size", default="1/2", metavar="SIZE", help="trade size (1/2)")
    common.add_argument("--bend-radius", metavar="LENGTH", help="no shoe: centreline radius of the bend (heated PVC)")
    common.add_argument("--unit", choices=("in", "mm"), default="in", help="unit of the tape and of plain numbers")
    common.add_argument("--fraction", type=int, choices=(1, 2, 4, 8, 16, 32), help="round to 1/N of an inch (or mm)")
    common.add_argument("--least-straight", metavar="LENGTH", help="straight that the bender needs between two bends")
    common.add_argument("--json", action="store_true", help="print the result as JSON, lengths in mm")
    shapes = parser.add_subparsers(dest="shape_name", metavar="SHAPE")
    for name, (what, needed, optional, angle) in SHAPES.items():
        one = shapes.add_parser(name, parents=[common], help=what, description=what)
        for option in (*needed, *optional):
            names = ("--centre", "--center") if option == "centre" else (f"--{option}",)
            action = GivenOnce if option == "centre" else "store"
            one.add_argument(*names, action=action, metavar="LENGTH", required=option in needed, help=_MEANING[option])
        if angle == "optional":
            one.add_argument("--angle", metavar="DEG", help="instead of --travel: gives how far back the kick is")
        elif angle is not None:
            one.add_argument("--angle", metavar="DEG", default=angle, help=f"angle of the (outer) bends ({angle})")
        _special(one, name)


def _special(one: argparse.ArgumentParser, name: str) -> None:
    if name in ("stub", "back-to-back"):
        to, what = ("back", "centre", "inside"), "measured to the back, center or inside (back)"
        one.add_argument("--to", type=one_word, choices=to, default="back", help=what)
    if name == "kick":
        one.add_argument("--beside-90", action="store_true", help="a 90 follows the kick; --travel runs to its corner")
    if name in ("saddle", "four-bend-saddle"):
        one.add_argument("--obstacle", choices=("round", "square"), help="what is crossed: finds the rise that clears")
        one.add_argument("--height", metavar="LENGTH", help="the obstacle's height (round: its diameter)")
        one.add_argument("--width", metavar="LENGTH", help="a square obstacle's width along the conduit")
        one.add_argument("--lift", metavar="LENGTH", help="a round obstacle's underside above the surface (0)")
        one.add_argument("--clearance", metavar="LENGTH", help="to keep between obstacle and conduit (0)")
        one.add_argument("--standoff", metavar="LENGTH", help="conduit's underside above the surface beside it (0)")
    if name in ("parallel-offset", "parallel-kick", "concentric"):
        one.add_argument(
            "--count", type=whole("--count", 1, 60), default=3, metavar="N", help="how many conduits of one size (3)"
        )
        one.add_argument("--sizes", metavar="LIST", help="trade sizes from the inside out: 1/2,1/2,3/4")
        one.add_argument("--spacing", metavar="LENGTH", help="centre to centre")
        one.add_argument("--gap", metavar="LENGTH", help="clear between conduits, instead of --spacing")
    if name in ("concentric", "segmented"):
        one.add_argument(
            "--fit",
            choices=("inscribed", "circumscribed"),
            default="circumscribed",
            help="wanted circle touched by the arcs (inscribed) or the straights (circumscribed)",
        )
    if name == "concentric":
        one.add_argument("--shot", default="10", metavar="DEG", help="largest shot (10)")
    if name == "segmented":
        one.add_argument("--shots", type=whole("--shots", 1, 180), default=9, metavar="N", help="number of shots (9)")


def run(args: argparse.Namespace) -> int:
    """Print the shape; 1 where it does not clear the obstacle that was given, or the shoe's figures have a problem."""
    if not args.shape_name:
        print("Shapes (`racewright shape NAME --help` says what each takes):")
        for name, (what, *_) in SHAPES.items():
            print(f"  {name:17} {what}")
        print("\nTry: racewright shape offset --rise 6 --angle 30 --at 30")
        return 0
    from racewright.cards.text.shape import as_builtins, as_text
    from racewright.units.said import said_in
    from racewright.units.tape import style_of

    tape = style_of(args.unit, args.fraction)
    with said_in(tape):
        report = _report(args, tape)
    if args.json:
        import json

        print(json.dumps(as_builtins(report), indent=2, ensure_ascii=False))
    else:
        print(as_text(report))
    return 1 if report.problem else 0


def _report(args: argparse.Namespace, tape: TapeStyle) -> Report:
    from racewright.catalogue.raceways import find_raceway
    from racewright.cli.shape.asked import Asked
    from racewright.cli.shape.builders import BUILDERS
    from racewright.cli.shape.words import check_shoes, hold_notes, measured_to
    from racewright.store.bender_file import find_bender
    from racewright.tools.benders import default_bender, radius_only_profile
    from racewright.units.length import parse_length

    if args.bend_radius:
        radius = parse_length(args.bend_radius, tape.unit, field="--bend-radius", allow_zero=False)
        bender = radius_only_profile(find_raceway(args.raceway, args.size), float(radius))
    else:
        bender = find_bender(args.bender) if args.bender else default_bender(args.raceway, args.size)
    report = BUILDERS[args.shape_name](Asked(args, bender, tape))
    report.measured = measured_to(report)
    hold_notes(report)
    check_shoes(report)
    return report
