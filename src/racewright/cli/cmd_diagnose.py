"""`racewright diagnose FILE`: what the bender or the tape does wrong, from two or more finished pieces."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from racewright.cli.finished_pieces import Finished
    from racewright.fit.diagnose import CauseFound, Diagnosis
    from racewright.units.tape import TapeStyle

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
    from pathlib import Path

    import msgspec

    from racewright.cli.finished_pieces import finished_pieces
    from racewright.fit.diagnose import diagnose
    from racewright.store.finished_file import load_finished
    from racewright.units.said import said_in
    from racewright.units.tape import style_of

    file = load_finished(args.file)
    written = file.written
    if args.cause:
        written = msgspec.structs.replace(written, causes=tuple(args.cause))
    with file.told_by_line(), said_in(style_of(written.units)):
        finished = finished_pieces(written, Path(args.file).parent)
        told = diagnose(finished.pieces, causes=finished.causes, tolerance=finished.tolerance, tape=finished.tape)
    print(_as_json(finished, told) if args.json else _as_text(finished, told))
    return 0


def _as_text(finished: Finished, told: Diagnosis) -> str:
    from racewright.cautions import cautions_text
    from racewright.fit.measured import finer

    fine = finer(finished.tape)
    lines = [f"From {len(finished.pieces)} finished pieces and {told.readings} readings:"]
    lines += [f"  {piece.name}" for piece in finished.pieces]
    lines += ["", f"  {'cause':<20}{'found':<16}standard error"]
    for found in told.causes:
        value, doubt = _shown(found, found.value, fine), _shown(found, found.doubt, fine)
        lines.append(f"  {found.cause:<20}{value:<16}{doubt}")
    lines += ["", *(f"- {found.words}" for found in told.causes), ""]
    lines.append(
        f"{told.unknowns} causes from {told.readings} readings, rank {told.rank}, condition number "
        f"{told.condition:.0f} (about 1: told apart as well as can be; past 200 it refuses)."
    )
    if told.readings > told.unknowns:
        fits = "the causes explain the readings" if told.left <= 1.5 else "something else is at work as well"
        lines.append(f"What is left over: {told.left:.1f} times the doubt of a reading; {fits}.")
    else:
        lines.append("There are no more readings than causes, so nothing checks them: measure another piece.")
    lines.append("Before you change a profile, make a test bend: `racewright bender calibrate`.")
    lines.append(cautions_text("bend"))
    return "\n".join(lines)


def _shown(found: CauseFound, value: float, fine: TapeStyle) -> str:
    from math import degrees

    from racewright.units.tape import format_length

    if found.unit == "mm":
        return format_length(value, fine)
    return f"{degrees(value):.2f}°" if found.unit == "rad" else f"{value * 90.0:.2f}° in a 90"


def _as_json(finished: Finished, told: Diagnosis) -> str:
    import json

    from racewright.cautions import cautions_for

    return json.dumps(
        {
            "pieces": [piece.name for piece in finished.pieces],
            "causes": [
                {"cause": f.cause, "value": f.value, "standard_error": f.doubt, "unit": f.unit, "words": f.words}
                for f in told.causes
            ],
            "rank": told.rank,
            "unknowns": told.unknowns,
            "readings": told.readings,
            "condition": told.condition,
            "left": told.left,
            "cautions": cautions_for("bend"),
        },
        indent=2,
        ensure_ascii=False,
    )
