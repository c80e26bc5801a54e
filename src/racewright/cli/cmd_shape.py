"""`racewright shape NAME`: one shape on its own, its exact marks, and the rule of thumb beside them."""

from __future__ import annotations

import argparse
from inspect import getdoc

HELP = (
    "One bend shape, without a survey: marks from your bender's figures, the rule of thumb beside them, other angles."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One sub-command a shape; without one, the shapes are listed."""
    from racewright.cli.options import add_options
    from racewright.operations.shape import SHAPES, ShapeRequest

    common = argparse.ArgumentParser(add_help=False)
    add_options(common, ShapeRequest, leave_out=("shape", "bender"))
    common.add_argument("--json", action="store_true", help="print the answer as JSON")
    shapes = parser.add_subparsers(dest="shape_name", metavar="SHAPE")
    for shape in SHAPES:
        one = shapes.add_parser(shape.label(), parents=[common], help=getdoc(shape), description=getdoc(shape))
        add_options(one, shape)
        one.set_defaults(shape_type=shape)


def run(args: argparse.Namespace) -> int:
    """Print the shape; 1 where it does not clear the obstacle that was given, or the shoe's figures have a problem."""
    from racewright.cards.text.shape import as_text
    from racewright.cli.answers import asked, show
    from racewright.cli.options import given, options_of
    from racewright.operations.shape import SHAPES, ShapeRequest

    if not args.shape_name:
        print("Shapes (`racewright shape NAME --help` says what each takes):")
        for shape in SHAPES:
            print(f"  {shape.label():17} {getdoc(shape)}")
        print("\nTry: racewright shape offset --rise 6 --angle 30 --at 30")
        return 0
    shape = args.shape_type(**given(args, args.shape_type))
    request = ShapeRequest(**given(args, ShapeRequest) | {"shape": shape})
    options = {**options_of(args.shape_type, "shape"), **options_of(ShapeRequest)}
    return show(asked("shape", request, options=options), as_text, as_json=args.json)
