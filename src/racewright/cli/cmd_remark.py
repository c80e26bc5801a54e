"""`racewright remark FILE --made '1: angle 47'`: a half-bent piece is not as planned; new marks for the rest."""

from __future__ import annotations

import argparse
from functools import partial
from typing import TYPE_CHECKING, cast

from racewright.cli.options import piece_arguments

if TYPE_CHECKING:
    from racewright.errors import InputError
    from racewright.records.model import MadeReading

HELP = "A half-bent piece is not as planned: new marks and angles for the rest, so that the end meets its fitting."

EPILOG = """\
What is bent stays as it is. Say what you measured on each bend that is made, by its mark; what
you leave out is as planned:
  angle 47        the angle that it has, in degrees
  mark 19 11/16   where on the conduit, from end A, the shoe's mark stood (the mark that the plan names for it)
  start 17        where the bend begins, from end A, instead of the mark
  roll 2          how many degrees its plane is off, clockwise seen from end A (-2: counterclockwise)

Examples:
  racewright remark examples/pump-house-saddle.yaml --made "1: angle 25"
  racewright remark examples/pump-house-saddle.yaml --made "1: angle 24, mark 19 15/16" --made "2: angle 47" --have 120
"""

EXAMPLE = "1: angle 47, roll 2"
_WORDS = ("angle", "mark", "start", "roll")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright remark`."""
    parser.add_argument(
        "--made",
        action="append",
        default=[],
        metavar="MARK",
        help="a made bend's mark and what was measured on it, '1: angle 47, mark 19 11/16'; may be given again",
    )
    parser.add_argument(
        "--have",
        metavar="LENGTH",
        help="how long the conduit in hand is, from end A as it is now, or from cut line A where that is cut last "
        "(the plan's cut length, or the least stick of a plan that cuts after bending)",
    )
    piece_arguments(parser, EPILOG)


def run(args: argparse.Namespace) -> int:
    """Find the new marks and print them. 1 for a problem: the end, a hit, a bend that cannot be made; 2 bad input."""
    from racewright.cards.text.corrections import remark_text
    from racewright.cli.answers import asked, show
    from racewright.operations.remark import RemarkAnswer, RemarkRequest
    from racewright.store.survey_file import read_planned_file

    file = read_planned_file(args.file)
    request = RemarkRequest(
        survey=file.survey,
        plan=file.plan,
        piece=args.piece,
        bender_name=args.bender or "",
        made=tuple(made_reading(text) for text in args.made),
        stock=args.have or "",
    )
    options = {"made": "--made", "stock": "--have", "piece": "--piece", "bender_name": "--bender"}
    with file.told_by_line():
        answer = asked("remark", request, options=options, examples={"--made": f"--made '{EXAMPLE}'"})
    return show(cast(RemarkAnswer, answer), partial(remark_text, have=bool(args.have)), as_json=args.json)


def made_reading(text: str) -> MadeReading:
    """'1: angle 47, mark 19 11/16' as a reading. Raises InputError for words and figures that are none."""
    from racewright.records.model import MadeReading

    head, _, tail = text.partition(":")
    head = head.strip().removeprefix("mark").strip()
    if not head.isascii() or not head.isdigit() or len(head) > 9:
        raise _refused(f"'{text}' does not begin with a mark's number.", "marks count from end A, the first is 1")
    said: dict[str, str] = {}
    for part in (p.strip() for p in tail.split(",")):
        if not part:
            continue
        word, _, value = part.partition(" ")
        if word not in _WORDS or not value.strip():
            raise _refused(
                f"'{part}' says nothing of a bend.",
                f"after the number say what was measured: {', '.join(_WORDS)}, each with its figure",
            )
        if word in said:
            raise _refused(f"'{text}' gives the {word} twice.", "keep one of the two")
        said[word] = value.strip()
    return MadeReading(
        number=int(head),
        mark=said.get("mark", ""),
        start=said.get("start", ""),
        angle_deg=_degrees(said["angle"], least=0.0) if "angle" in said else None,
        roll_off_deg=_degrees(said["roll"], least=-180.0) if "roll" in said else None,
    )


def _degrees(text: str, *, least: float) -> float:
    from racewright.units.angle import read_degrees

    hint = f"write it as 47 or 46.5; for example --made '{EXAMPLE}'"
    return read_degrees(text, least=least, most=180.0, field="--made", hint=hint, example=EXAMPLE)


def _refused(message: str, hint: str) -> InputError:
    from racewright.errors import InputError

    return InputError(message, hint=f"{hint}; for example --made '{EXAMPLE}'", field="--made", example=EXAMPLE)
