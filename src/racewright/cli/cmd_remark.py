"""`racewright remark FILE --made '1: angle 47'`: a half-bent piece is not as planned; new marks for the rest."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from racewright.cli.figures import whole

if TYPE_CHECKING:
    from racewright.cards.text.remark import NewMark
    from racewright.cli.planned_pieces import Job, JobPiece
    from racewright.errors import Finding
    from racewright.fit.replan import MadeBend, ReplanAnswer
    from racewright.plan.model import MarkedBend

HELP = "A half-bent piece is not as planned: new marks and angles for the rest, so that the end meets its fitting."

EPILOG = """\
What is bent stays as it is. Say for each bend that is made what you measured on it; what you leave out is as planned:
  angle 47        the angle that it has, in degrees
  mark 19 11/16   where on the conduit, from end A, the shoe's mark stood (the mark that the plan names for it)
  start 17        where the bend begins, from end A, instead of the mark
  roll 2          how many degrees its plane is off, clockwise seen from end A (-2: anticlockwise)

Examples:
  racewright remark examples/pump-house-saddle.yaml --made "1: angle 25"
  racewright remark examples/pump-house-saddle.yaml --made "1: angle 24, mark 19 15/16" --made "2: angle 47" --have 120
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright remark`."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = EPILOG
    parser.add_argument(
        "file", metavar="FILE", help="the survey file that the piece was planned from, or the plan as JSON"
    )
    parser.add_argument(
        "--made",
        action="append",
        default=[],
        metavar="BEND",
        help="a bend that is made and what was measured on it, '1: angle 47, mark 19 11/16'; may be given again",
    )
    parser.add_argument(
        "--piece", type=whole("--piece", 1, 1000), default=1, metavar="N", help="which piece of the run (1)"
    )
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's (not with a plan)")
    parser.add_argument(
        "--have",
        metavar="LENGTH",
        help="how long the conduit in hand is, from where end A will be (the plan's cut length, "
        "or the stick where the plan cuts after bending)",
    )
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(args: argparse.Namespace) -> int:
    """Find the new marks and print them. 1 where the end cannot be met or a bend cannot be made, 2 bad input."""
    import msgspec

    from racewright.cards.text.remark import as_json, as_text
    from racewright.cli.made_bends import EXAMPLE, made_bends
    from racewright.cli.planned_pieces import planned_pieces
    from racewright.errors import InputError
    from racewright.fit.by_hand import largest_angle_rad
    from racewright.fit.replan import replan
    from racewright.units.said import said_in

    job = planned_pieces(args.file, args.bender or "")
    if not 1 <= args.piece <= len(job.pieces):
        raise InputError(
            f"piece {args.piece} was asked, and the run has {len(job.pieces)}.",
            hint="pieces count from end A, the first is 1",
            field="--piece",
        )
    piece = job.pieces[args.piece - 1]
    made = made_bends(args.made, job, piece)
    if not made:
        raise InputError(
            "no bend is said to be made.",
            hint=f"say what was measured: --made '{EXAMPLE}'",
            field="--made",
            example=EXAMPLE,
        )
    have = _have(args.have, job, piece)
    largest = largest_angle_rad(piece.piece)
    with said_in(job.tape):
        answer = replan(piece.piece, made, stock_length_mm=have, largest_angle_rad=largest, tape=job.tape)
        marks, blocked = _new_marks(job, piece, answer, made, have)
    answer = msgspec.structs.replace(answer, findings=(*answer.findings, *blocked))
    print(as_json(job, piece, answer, marks) if args.json else as_text(job, piece, answer, marks, made, have))
    return 1 if any(f.severity == "problem" for f in answer.findings) else 0


def _have(text: str | None, job: Job, piece: JobPiece) -> float:
    """How much conduit there is from end A (mm)."""
    from racewright.fit.by_hand import in_hand_mm
    from racewright.units.length import parse_length

    if text is None:
        return in_hand_mm(piece.piece.cut_length_mm, piece.stock_mm, piece.extra_a_mm, piece.trim_after)
    return float(parse_length(text, job.tape.unit, field="--have", allow_zero=False))


def _new_marks(
    job: Job, piece: JobPiece, answer: ReplanAnswer, made: list[MadeBend], have_mm: float
) -> tuple[list[NewMark], list[Finding]]:
    """The bends left in the plan's order with hook and shoe mark as planned; what of it cannot be made so."""
    from math import degrees

    from racewright.cards.text.remark import NewMark
    from racewright.fit.by_hand import ByHand
    from racewright.marks.mark import mark_mm
    from racewright.plan.pieces import spin_words

    done = {item.number for item in made}
    ordered = sorted(piece.bends, key=lambda b: (b.number not in done, b.order))
    hand = ByHand(answer.piece, job.bender, job.tape, extra_a_mm=piece.extra_a_mm, have_mm=have_mm)
    before: MarkedBend | None = None
    marks: list[NewMark] = []
    findings: list[Finding] = []
    for bend in ordered:
        new = answer.piece.bends[bend.number - 1]
        if bend.number not in done:
            words = ""
            spin = 0.0
            if before is not None:
                # the conduit turns the other way than the plane of the next bend lies
                last = answer.piece.bends[before.number - 1].roll_rad
                spin = round((degrees(last - new.roll_rad) + 180.0) % 360.0 - 180.0, 6)
                spin = 180.0 if spin == -180.0 else spin + 0.0
                words = "Turn it end for end. " if before.hook != bend.hook else ""
                words += spin_words(spin, first=False)
            stance, refused = hand.next_bend(bend.number, bend.hook, bend.stance)
            findings += [refused] if refused else []
            angle = degrees(new.angle_rad)
            at = mark_mm(new.arc_start_mm, new.arc_end_mm, bend.hook, bend.reference, job.bender)
            pointer = bend.pointer_deg + _pointer_slope(piece) * (angle - bend.angle_deg)
            marks.append(NewMark(bend, at, angle, pointer, spin, words, stance))
        else:
            hand.is_made(bend.number)
        before = bend
    return marks, findings


def _pointer_slope(piece: JobPiece) -> float:
    """How much the pointer moves for a degree of bend: the plan's own springback, from two of its bends."""
    ordered = sorted(piece.bends, key=lambda b: b.angle_deg)
    least, most = ordered[0], ordered[-1]
    if most.angle_deg - least.angle_deg < 1.0:
        return 1.0
    return (most.pointer_deg - least.pointer_deg) / (most.angle_deg - least.angle_deg)
