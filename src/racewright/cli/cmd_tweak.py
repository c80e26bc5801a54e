"""`racewright tweak FILE --end-up 3/8`: the bent piece is off; what to open, close or roll, and by how much."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from racewright.cli.figures import whole

if TYPE_CHECKING:
    from racewright.cli.planned_pieces import Job, JobPiece
    from racewright.fit.measured import Measured, Way
    from racewright.fit.tweak import TweakAnswer

HELP = "The bent piece is off: from what you measured on it, the least correction by as few bends as will do."

EPILOG = """\
Directions: hold the piece as it will lie, and look along it from end A. Up is away from the surface that the first
leg lies on, left is to your left hand. What you did not measure is left free, so say 0 for what is right already. A
rise alone is mended by the bends of its own shape together, and the far end is taken as right.

Examples:
  racewright tweak examples/pump-house-saddle.yaml --end-up 3/8 --end-left 1/4
  racewright tweak examples/pump-house-saddle.yaml --rise 2-15/16 --end-up 0
  racewright tweak examples/pump-house-saddle.yaml --angle 2=47
"""

_OFFS: tuple[tuple[str, Way, float], ...] = (
    ("end_up", "up", 1.0),
    ("end_down", "up", -1.0),
    ("end_left", "left", 1.0),
    ("end_right", "left", -1.0),
    ("end_long", "forward", 1.0),
    ("end_short", "forward", -1.0),
)
_LEANS: tuple[tuple[str, Way, float], ...] = (
    ("lean_up", "up", 1.0),
    ("lean_down", "up", -1.0),
    ("lean_left", "left", 1.0),
    ("lean_right", "left", -1.0),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright tweak`."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = EPILOG
    parser.add_argument(
        "file", metavar="FILE", help="the survey file that the piece was planned from, or the plan as JSON"
    )
    parser.add_argument(
        "--piece", type=whole("--piece", 1, 1000), default=1, metavar="N", help="which piece of the run (1)"
    )
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's (not with a plan)")
    for name in ("up", "down", "left", "right"):
        parser.add_argument(f"--end-{name}", metavar="LENGTH", help=f"end B lies too far {name} by this")
    parser.add_argument("--end-long", metavar="LENGTH", help="end B lies too far on, along the first leg")
    parser.add_argument("--end-short", metavar="LENGTH", help="end B lies too far back, along the first leg")
    for name in ("up", "down", "left", "right"):
        parser.add_argument(f"--lean-{name}", metavar="DEGREES", help=f"the last leg leans too far {name}")
    parser.add_argument("--rise", metavar="[N=]HEIGHT", help="rise measured under the middle of bend N")
    parser.add_argument(
        "--daylight",
        action="append",
        default=[],
        metavar="PLACE=GAP",
        help="daylight under the conduit at a place, measured along it from end A; may be given again",
    )
    parser.add_argument(
        "--angle", action="append", default=[], metavar="N=DEGREES", help="angle that bend N has; may be given again"
    )
    parser.add_argument("--may-turn", action="store_true", help="the whole piece may be turned in its fitting as well")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(args: argparse.Namespace) -> int:
    """Find the correction and print it. Errors: 2 what was measured cannot be used, 3 no sensible correction."""
    from racewright.cautions import cautions_text
    from racewright.cli.planned_pieces import planned_pieces
    from racewright.errors import InputError
    from racewright.fit.tweak import tweak
    from racewright.units.said import said_in

    job = planned_pieces(args.file, args.bender or "")
    if not 1 <= args.piece <= len(job.pieces):
        raise InputError(
            f"piece {args.piece} was asked, and the run has {len(job.pieces)}.",
            hint="pieces count from end A, the first is 1",
            field="--piece",
        )
    piece = job.pieces[args.piece - 1]
    if not piece.piece.bends:
        raise InputError(
            f"{piece.label} has no bend, so there is nothing to correct.", hint="name another piece", field="--piece"
        )
    with said_in(job.tape):
        measured = _measured(args, job, piece)
        answer = tweak(piece.piece, measured, hooks=piece.hooks, may_spin=args.may_turn)
    print(_as_json(answer) if args.json else _as_text(job, piece, answer) + "\n" + cautions_text("correct"))
    return 0


def _measured(args: argparse.Namespace, job: Job, piece: JobPiece) -> list[Measured]:
    from racewright.fit.measured import ApexRise, BendAngle, LegLean, OffAt
    from racewright.units.angle import rad

    unit = job.tape.unit
    out: list[Measured] = []
    for name, way, sign in _OFFS:
        text = getattr(args, name)
        if text is not None:
            out.append(OffAt(way=way, off_mm=sign * _length(text, unit, name)))
    for name, way, sign in _LEANS:
        text = getattr(args, name)
        if text is not None:
            out.append(LegLean(way=way, lean_rad=sign * rad(_number(text, name))))
    if args.rise is not None:
        number, height = _pair(args.rise) if "=" in args.rise else ("", args.rise)
        which = _middle_bend(piece) if not number else _bend(number, "rise")
        out.append(ApexRise(rise_mm=_length(height, unit, "rise"), number=which))
    for text in args.daylight:
        place, gap = _pair(text, "daylight", "30=1/8")
        station = _length(place, unit, "daylight")
        out.append(OffAt(way="up", off_mm=_length(gap, unit, "daylight"), station_mm=station))
    for text in args.angle:
        number, angle = _pair(text, "angle", "2=47")
        out.append(BendAngle(number=_bend(number, "angle"), angle_rad=rad(_number(angle, "angle"))))
    return out


def _option(name: str) -> str:
    return "--" + name.replace("_", "-")


def _length(text: str, unit: str, name: str) -> float:
    from racewright.units.length import parse_length

    return float(parse_length(text, "mm" if unit == "mm" else "in", field=_option(name), allow_negative=True))


def _number(text: str, name: str) -> float:
    from racewright.units.angle import read_degrees

    return read_degrees(
        text, least=-180.0, most=180.0, field=_option(name), hint="write it as 47 or 46.5", example="47"
    )


def _pair(text: str, name: str = "rise", example: str = "2=3-5/8") -> tuple[str, str]:
    from racewright.errors import InputError

    left, equals, right = text.partition("=")
    if not equals or not left.strip() or not right.strip():
        raise InputError(
            f"'{text}' does not say where and how much.",
            hint=f"write {_option(name)} {example}",
            field=_option(name),
            example=example,
        )
    return left.strip(), right.strip()


def _bend(text: str, name: str) -> int:
    from racewright.errors import InputError

    if not text.isascii() or not text.isdigit():
        raise InputError(
            f"'{text}' is no bend number.", hint="bends count from end A, the first is 1", field=_option(name)
        )
    return int(text)


def _middle_bend(piece: JobPiece) -> int:
    """The piece's one saddle centre, or its only bend."""
    from racewright.bends import roles
    from racewright.errors import InputError

    bends = piece.piece.bends
    centres = [k for k, bend in enumerate(bends, 1) if bend.role == roles.SADDLE_CENTER or len(bends) == 1]
    if len(centres) == 1:
        return centres[0]
    raise InputError(
        "it is not clear under which bend the rise was measured.",
        hint="name the bend: --rise 2=3-5/8",
        field="--rise",
        example="2=3-5/8",
    )


def _as_text(job: Job, piece: JobPiece, answer: TweakAnswer) -> str:
    from racewright.fit.accuracy import Tolerance
    from racewright.fit.tweak_words import after_words
    from racewright.units.angle import format_angle
    from racewright.units.tape import format_length

    if not answer.moves:
        usual = Tolerance()
        return (
            f"{job.name}, {piece.label}: leave it. What you measured is within "
            f"{format_length(usual.length_mm, job.tape)} and {format_angle(usual.angle_rad)}."
        )
    lines = [f"{job.name}, {piece.label}:"]
    lines += [f"  {k}. {words}" for k, words in enumerate(answer.words, 1)]
    lines += after_words(answer.end_mm, answer.lean_rad, answer.left_mm, answer.left_rad, job.tape)
    return "\n".join(lines)


def _as_json(answer: TweakAnswer) -> str:
    import json
    from math import degrees

    from racewright.cautions import cautions_for

    return json.dumps(
        {
            "corrections": [
                {"bend": move.number, "kind": move.kind, "by_deg": round(degrees(move.by_rad), 6), "words": words}
                for move, words in zip(answer.moves, answer.words, strict=True)
            ],
            "left_mm": answer.left_mm,
            "left_deg": degrees(answer.left_rad),
            "far_end_moves_mm": dict(zip(("up", "left", "forward"), answer.end_mm, strict=True)),
            "last_leg_turns_deg": degrees(answer.lean_rad),
            "cautions": cautions_for("correct"),
        },
        indent=2,
        ensure_ascii=False,
    )
