"""`racewright tweak FILE --end-up 3/8`: the bent piece is off; what to open, close or roll, and by how much."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, cast

from racewright.cli.options import degrees, mark_number, pair, piece_arguments

if TYPE_CHECKING:
    from collections.abc import Iterator

    from racewright.records.model import EndWay, LeanWay, Reading

HELP = "The bent piece is off: from what you measured on it, the least correction by as few bends as will do."

EPILOG = """\
Directions: hold the piece as it will lie, and look along it from end A. Up is away from the surface that the first
leg lies on, left is to your left hand. What you did not measure is left free, so say 0 for what is right already. A
rise alone is mended by the bends of its own shape together, and the far end is taken as right; with angles alone it is
not known, and the answer says first what that leaves open.

Examples:
  racewright tweak examples/pump-house-saddle.yaml --end-up 3/8 --end-left 1/4
  racewright tweak examples/pump-house-saddle.yaml --rise 2-15/16 --end-up 0
  racewright tweak examples/pump-house-saddle.yaml --angle 2=47 --end-down 1 --end-left 0
"""

_ENDS: tuple[EndWay, ...] = ("up", "down", "left", "right", "long", "short")
_LEANS: tuple[LeanWay, ...] = ("up", "down", "left", "right")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright tweak`."""
    for name in ("up", "down", "left", "right"):
        parser.add_argument(f"--end-{name}", metavar="LENGTH", help=f"end B lies too far {name} by this")
    parser.add_argument("--end-long", metavar="LENGTH", help="end B lies too far on, along the first leg")
    parser.add_argument("--end-short", metavar="LENGTH", help="end B lies too far back, along the first leg")
    for name in _LEANS:
        parser.add_argument(f"--lean-{name}", metavar="DEGREES", help=f"the last leg leans too far {name}")
    parser.add_argument(
        "--rise",
        metavar="[N=]HEIGHT",
        help="rise measured under the middle of the bend at mark N (an offset's, a flat top's: at the bend's end)",
    )
    daylight = "daylight under the conduit at a place, measured along it from end A; may be given again"
    parser.add_argument("--daylight", action="append", default=[], metavar="PLACE=GAP", help=daylight)
    angle = "angle that the bend at mark N has; may be given again"
    parser.add_argument("--angle", action="append", default=[], metavar="N=DEGREES", help=angle)
    parser.add_argument("--may-turn", action="store_true", help="the whole piece may be rotated in its fitting as well")
    piece_arguments(parser, EPILOG)


def run(args: argparse.Namespace) -> int:
    """Find the correction and print it. 1 where the corrected piece hits something or a problem stands against the run.
    Errors: 2 what was measured cannot be used, 3 no sensible correction."""
    from racewright.cards.text.corrections import tweak_text
    from racewright.cli.answers import asked, show
    from racewright.operations.tweak import TweakAnswer, TweakRequest
    from racewright.store.survey_file import read_planned_file

    file = read_planned_file(args.file)
    given = list(_measured(args))
    request = TweakRequest(
        survey=file.survey,
        plan=file.plan,
        piece=args.piece,
        bender_name=args.bender or "",
        measured=tuple(reading for _, reading in given),
        may_spin=args.may_turn,
    )
    options = {f"measured[{k}]": option for k, (option, _) in enumerate(given)}
    with file.told_by_line():
        answer = asked("tweak", request, options=options | {"piece": "--piece", "bender_name": "--bender"})
    return show(cast(TweakAnswer, answer), tweak_text, as_json=args.json)


def _measured(args: argparse.Namespace) -> Iterator[tuple[str, Reading]]:
    """What was measured, each with the option that says it."""
    from racewright.records.model import AngleReading, LeanReading, OffReading, RiseReading

    for way in _ENDS:
        text = getattr(args, f"end_{way}")
        if text is not None:
            yield f"--end-{way}", OffReading(way=way, off=text)
    for lean in _LEANS:
        text = getattr(args, f"lean_{lean}")
        if text is not None:
            yield f"--lean-{lean}", LeanReading(way=lean, lean_deg=degrees(text, f"--lean-{lean}"))
    if args.rise is not None:
        number, height = pair(args.rise, "--rise", "2=3-5/8") if "=" in args.rise else ("", args.rise)
        yield "--rise", RiseReading(rise=height, number=mark_number(number, "--rise") if number else None)
    for text in args.daylight:
        place, gap = pair(text, "--daylight", "30=1/8")
        yield "--daylight", OffReading(way="up", off=gap, station=place)
    for text in args.angle:
        number, angle = pair(text, "--angle", "2=47")
        yield "--angle", AngleReading(number=mark_number(number, "--angle"), angle_deg=degrees(angle, "--angle"))
