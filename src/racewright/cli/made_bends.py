"""What a person says about bends that are made: '1: angle 47, mark 19 11/16' becomes numbers."""

from __future__ import annotations

from collections.abc import Sequence
from math import radians

from racewright.cli.planned_pieces import Job, JobPiece
from racewright.errors import InputError
from racewright.fit.replan import MadeBend
from racewright.marks.mark import arc_start_from_mark_mm
from racewright.plan.model import MarkedBend
from racewright.units.angle import read_degrees
from racewright.units.length import parse_length

EXAMPLE = "1: angle 47, mark 19 11/16"
_WORDS = ("angle", "mark", "start", "roll")


def made_bends(texts: Sequence[str], job: Job, piece: JobPiece) -> list[MadeBend]:
    """The bends that are made, as measured. What is not said is as planned: the angle, the plane, the mark. An angle
    that came out wrong keeps the tangent point on the hook's side, because the mark put it there.
    Raises InputError for bends that the piece does not have, unknown words, figures that are none."""
    made: list[MadeBend] = []
    for text in texts:
        number, said = _split(text)
        if not 1 <= number <= len(piece.bends):
            raise _refused(
                f"bend {number} is said to be made, and the piece has {len(piece.bends)} bends.",
                "bends count from end A, the first is 1",
            )
        if any(item.number == number for item in made):
            raise _refused(f"bend {number} is said to be made twice.", "put all of a bend into one --made")
        made.append(_made(piece.bends[number - 1], said, job))
    return made


def _made(planned: MarkedBend, said: dict[str, str], job: Job) -> MadeBend:
    unit = job.tape.unit
    angle = radians(_degrees(said["angle"], 0.0) if "angle" in said else planned.angle_deg)
    roll = radians(planned.roll_deg + (_degrees(said["roll"], -180.0) if "roll" in said else 0.0))
    if "start" in said:
        start = float(parse_length(said["start"], unit, field="--made"))
    else:
        mark = float(parse_length(said["mark"], unit, field="--made")) if "mark" in said else planned.mark_mm
        start = arc_start_from_mark_mm(mark, angle, planned.hook, planned.reference, job.bender)
    return MadeBend(number=planned.number, arc_start_mm=start, angle_rad=angle, roll_rad=roll)


def _split(text: str) -> tuple[int, dict[str, str]]:
    head, _, tail = text.partition(":")
    head = head.strip().removeprefix("bend").strip()
    if not head.isascii() or not head.isdigit() or len(head) > 9:
        raise _refused(f"'{text}' does not begin with a bend's number.", "bends count from end A, the first is 1")
    said: dict[str, str] = {}
    for part in (p.strip() for p in tail.split(",")):
        if not part:
            continue
        word, _, value = part.partition(" ")
        if word not in _WORDS or not value.strip():
            raise _refused(
                f"'{part}' says nothing about a bend.",
                f"after the number say what was measured: {', '.join(_WORDS)}, each with its figure",
            )
        if word in said:
            raise _refused(f"'{text}' gives the {word} twice.", "keep one of the two")
        said[word] = value.strip()
    if "mark" in said and "start" in said:
        raise _refused(
            f"'{text}' gives both the mark and where the bend starts.",
            "give the mark that the shoe stood on, or the start of the arc, not both",
        )
    return int(head), said


def _degrees(text: str, least: float) -> float:
    hint = f"write it as 47 or 46.5; for example --made '{EXAMPLE}'"
    return read_degrees(text, least=least, most=180.0, field="--made", hint=hint, example=EXAMPLE)


def _refused(message: str, hint: str) -> InputError:
    return InputError(message, hint=f"{hint}; for example --made '{EXAMPLE}'", field="--made", example=EXAMPLE)
