"""Finished pieces as written become numbers: each with its plan, its hooks, and what was measured on it."""

from __future__ import annotations

from math import radians
from pathlib import Path
from typing import NamedTuple

from racewright.cli.planned_pieces import Job, planned_pieces
from racewright.errors import InputError
from racewright.fit.accuracy import Tolerance
from racewright.fit.diagnose import ALL_CAUSES, Cause, FinishedPiece
from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured, OffAt, Way, check_measured
from racewright.store.finished_file import WrittenFinished, WrittenPiece, WrittenReading
from racewright.units.angle import read_degrees
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, TapeUnit, style_of

_ENDS: dict[str, tuple[Way, float]] = {
    "up": ("up", 1.0),
    "down": ("up", -1.0),
    "left": ("left", 1.0),
    "right": ("left", -1.0),
    "long": ("forward", 1.0),
    "short": ("forward", -1.0),
}
_PAIRS = (("bend", "angle"), ("bend", "rise"), ("end", "off"), ("leg", "lean"), ("at", "daylight"))


class Finished(NamedTuple):
    """What a diagnosis needs. `tape` is the first plan's, in the file's unit."""

    pieces: tuple[FinishedPiece, ...]
    causes: tuple[Cause, ...]
    tolerance: Tolerance
    tape: TapeStyle


def finished_pieces(written: WrittenFinished, folder: Path) -> Finished:
    """Plan every piece and read what was measured on it. Plans lie beside the file, in `folder` or from there.

    Raises InputError naming the place in the file, and where the pieces were bent on different shoes.
    """
    jobs: list[Job] = []
    pieces: list[FinishedPiece] = []
    for index, item in enumerate(written.pieces):
        where = f"pieces[{index}]"
        job = planned_pieces(str(folder / item.plan), item.bender)
        pieces.append(_piece(job, item, written.units, where))
        jobs.append(job)
    shoes = {(job.bender.raceway_type, job.bender.trade_size, job.bender.name) for job in jobs}
    if len(shoes) > 1:
        named = ", ".join(sorted(f"{name} ({kind} {size})" for kind, size, name in shoes))
        raise InputError(
            f"the pieces were bent on different shoes: {named}.",
            hint="only pieces of one shoe share its causes; write a file for each shoe",
            field="pieces",
        )
    for index, piece in enumerate(pieces):
        _on_piece(piece, f"pieces[{index}]")
    tape = jobs[0].tape if jobs and jobs[0].tape.unit == written.units else style_of(written.units)
    tolerance = Tolerance(
        length_mm=float(parse_length(written.doubt.length, written.units, field="doubt.length", allow_zero=False)),
        angle_rad=radians(_angle(written.doubt.angle, "doubt.angle", above=0.0)),
    )
    return Finished(tuple(pieces), _causes(written), tolerance, tape)


def _causes(written: WrittenFinished) -> tuple[Cause, ...]:
    for name in written.causes:
        if name not in ALL_CAUSES:
            raise InputError(
                f"causes: '{name}' is no cause that can be looked for.",
                hint=f"the causes are: {', '.join(ALL_CAUSES)}",
                field="causes",
            )
    return tuple(c for c in ALL_CAUSES if c in written.causes) or ALL_CAUSES


def _piece(job: Job, item: WrittenPiece, unit: TapeUnit, where: str) -> FinishedPiece:
    number = _number(item.piece, f"{where}.piece")
    if not 1 <= number <= len(job.pieces):
        raise InputError(
            f"{where}.piece: piece {number} was named, and the run has {len(job.pieces)}.",
            hint="pieces count from end A, the first is 1",
            field=f"{where}.piece",
        )
    piece = job.pieces[number - 1]
    return FinishedPiece(
        name=item.name or f"{job.name}, {piece.label}",
        piece=piece.piece,
        measured=tuple(_reading(r, unit, f"{where}.measured[{k}]") for k, r in enumerate(item.measured)),
        hooks=piece.hooks,
        references=tuple(bend.reference for bend in piece.bends),
    )


def _reading(item: WrittenReading, unit: TapeUnit, where: str) -> Measured:
    given = {name for name in item.__struct_fields__ if getattr(item, name)}
    pair = next((p for p in _PAIRS if given == set(p)), None)
    if pair is None:
        raise InputError(
            f"{where}: {' and '.join(sorted(given)) or 'nothing'} does not make a reading.",
            hint=f"a reading is one of: {'; '.join(f'{a} with {b}' for a, b in _PAIRS)}",
            field=where,
            example="{bend: 2, angle: 46.5}",
        )
    place, figure = pair
    at = f"{where}.{figure}"
    if figure == "angle":
        return BendAngle(number=_number(item.bend, f"{where}.bend"), angle_rad=radians(_angle(item.angle, at)))
    if figure == "lean":
        way, sign = _ENDS[item.leg]
        return LegLean(way=way, lean_rad=sign * radians(_angle(item.lean, at)))
    length = float(parse_length(getattr(item, figure), unit, field=at, allow_negative=True))
    if figure == "rise":
        return ApexRise(rise_mm=length, number=_number(item.bend, f"{where}.bend"))
    if place == "end":
        way, sign = _ENDS[item.end]
        return OffAt(way=way, off_mm=sign * length)
    return OffAt(way="up", off_mm=length, station_mm=float(parse_length(item.at, unit, field=f"{where}.at")))


def _on_piece(finished: FinishedPiece, where: str) -> None:
    """A reading that names a bend or a place that the piece does not have is refused with its field."""
    for k, reading in enumerate(finished.measured):
        try:
            check_measured(finished.piece, reading)
        except InputError as err:
            err.field = f"{where}.measured[{k}].{'at' if isinstance(reading, OffAt) else 'bend'}"
            raise


def _number(text: str, where: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise InputError(f"{where}: '{text}' is no whole number.", hint="count from end A, the first is 1", field=where)
    return int(text)


def _angle(text: str, where: str, *, above: float = -180.0) -> float:
    least = above if above < 0.0 else above + 1e-9
    return read_degrees(text, least=least, most=180.0, field=where, hint="write it as 47 or 46.5", example="46.5")
