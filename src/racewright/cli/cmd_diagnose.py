"""`racewright diagnose FILE`: what the bender or the tape does wrong, from two or more finished pieces."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from collections.abc import Sequence

    from racewright.operations.diagnose import DiagnoseRequest
    from racewright.store.finished_file import FinishedFile

HELP = "What the bender or the tape does wrong, from what you measured on two or more finished pieces."

EPILOG = """\
FILE lists the pieces, each with its survey or plan and your readings:

  units: in
  pieces:
    - plan: ../pump-house-saddle.yaml
      measured:
        - {bend: 2, angle: 46.5}      the angle that a bend has, read with a level
        - {bend: 2, rise: 3 5/16}     the rise under the middle of a bend, to the middle of the conduit
        - {end: up, off: 3/8}         end B lies off: up, down, left, right, long, short
        - {leg: up, lean: 1}          the last leg leans, in degrees
        - {at: 30, daylight: 1/8}     daylight at a place, along the conduit from end A

A piece that got new marks half way is no piece of its plan: leave it out.

Example:
  racewright diagnose examples/finished/orchard-three-pieces.yaml
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright diagnose`."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = EPILOG
    parser.add_argument("file", metavar="FILE", help="a file of finished pieces (docs/fit.md says how it is written)")
    parser.add_argument(
        "--cause",
        action="append",
        default=[],
        metavar="CAUSE",
        help="look for this cause: take-up, radius, overbend, 'overbend per angle', 'mark bias'; may be given again",
    )
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(args: argparse.Namespace) -> int:
    """Print what is found. Errors: 2 the file cannot be used, 3 the readings do not tell the causes apart."""
    from racewright.cards.text.corrections import diagnose_text
    from racewright.cli.answers import asked, show
    from racewright.operations.diagnose import DiagnoseAnswer
    from racewright.store.finished_file import load_finished

    file = load_finished(args.file)
    with file.told_by_line():
        answer = asked("diagnose", request_of(file, args.cause), options={"causes": "--cause"} if args.cause else {})
    return show(cast(DiagnoseAnswer, answer), diagnose_text, as_json=args.json)


def request_of(file: FinishedFile, causes: Sequence[str] = ()) -> DiagnoseRequest:
    """What a file of finished pieces asks; `causes` instead of its own."""
    from racewright.operations.diagnose import DiagnoseRequest, MeasuredPiece

    written = file.written
    told = {"doubt_length": written.doubt.length, "doubt_deg": file.doubt_deg}
    return DiagnoseRequest(
        pieces=tuple(
            MeasuredPiece(
                survey=piece.file.survey,
                plan=piece.file.plan,
                piece=piece.piece,
                bender_name=piece.written.bender,
                name=piece.written.name,
                measured=piece.measured,
            )
            for piece in file.pieces
        ),
        unit=written.units,
        causes=cast(Any, tuple(causes) or written.causes),
        **cast(Any, {name: value for name, value in told.items() if value}),
    )
