"""The bent piece is off: what to correct."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees
from typing import Annotated, Literal

import msgspec

from racewright.bends.model import BentPiece
from racewright.cautions import cautions_for
from racewright.drawing.project import trace
from racewright.fit.left_words import Left, leave_words, left_words, moved_words, readings_finding, unmeasured_finding
from racewright.fit.measured import BendAngle, Measured
from racewright.fit.tweak import tweak as least_correction
from racewright.fit.unmeasured import (
    Corrected,
    Hand,
    end_measured,
    first_words,
    not_measured_words,
    unmeasured_problem,
)
from racewright.fit.words import Move
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.vector import Vec
from racewright.operations.bent import BentRequest, RoomLeft, bent, readings, room_left
from racewright.operations.common import Answer, Known, Part
from racewright.plan.model import PlannedPiece
from racewright.plan.recheck import Rechecked, against_the_run, recheck, room_words, surroundings
from racewright.records.model import Reading
from racewright.sequence.care import correcting_care
from racewright.tools.benders import made_by
from racewright.units.said import said_in

NOT_INCLUDED = ("No cause is looked for; several finished pieces may tell one.",)
#: What stands with a correction.
_STRAPS = "Straps are not placed again."
_LIKELY = "What was measured does not tell how each bend lies: room and hits are those of the likeliest piece."
_UNLIKELY = "What the conduit goes over and walls: no piece near the plan shows all that was measured."


class TweakRequest(BentRequest, frozen=True, kw_only=True):
    """The finished piece is off: what to correct. `may_spin`: it can be turned in the fitting at end A."""

    measured: Annotated[tuple[Reading, ...], msgspec.Meta(min_length=1, max_length=20)]
    may_spin: bool = False


class Correction(Part, frozen=True, kw_only=True):
    """One correction. 'angle': bend `number` gets `by_deg` more (negative: open it); 'roll': it and all that follows
    is rolled about the axis from A to B; 'spin': the whole piece is turned in the fitting at end A. `words` say it."""

    number: int
    what: Literal["angle", "roll", "spin"]
    by_deg: float
    words: str


class FarEnd(Part, frozen=True, kw_only=True):
    """How far the far end moves, seen along the first leg from end A."""

    up: float
    left: float
    forward: float


class TweakAnswer(Answer, frozen=True, kw_only=True):
    """`run` and `piece` name what is corrected. `first` is to be known before all else: that the far end was not
    measured, and what that leaves open ('': it was, or a finding says so). `moves` in the order in which they are made;
    none where the piece is within the tolerance as it is. `words` say what the moves do to the far end and what stays
    off, or that it is left as it is; `left_mm`, `left_deg` what stays off; `planned`, `now` and `corrected` are the
    axis as planned, as it likely is by what was measured (none: no piece near the plan shows it) and as it will be
    (room, mm). `room`: what is then left to each obstacle and each surface of the plan, by name; findings: what is hit
    or passed too close, and what stands against the run as planned."""

    run: str
    piece: str
    first: str
    moves: tuple[Correction, ...]
    words: tuple[str, ...]
    left_mm: float
    left_deg: float
    far_end_moves_mm: FarEnd
    last_leg_turns_deg: float
    planned: tuple[Vec, ...]
    now: tuple[Vec, ...]
    corrected: tuple[Vec, ...]
    room: tuple[RoomLeft, ...]


def tweak(request: TweakRequest, known: Known) -> TweakAnswer:
    """What to correct. Raises InputError for readings that are not on the piece, LimitError where nothing helps."""
    asked = bent(request, known)
    piece, tape = asked.piece, asked.tape
    with said_in(tape):
        measured = readings(asked, request.measured, tape.unit, "measured")
        around, how = surroundings(asked.plan, piece), made_by(asked.shoe)
        answer = least_correction(
            asked.arcs, measured, hooks=asked.hooks, may_spin=request.may_spin, around=around, how=how
        )
        done = Corrected(
            asked.arcs,
            measured,
            answer,
            hooks=asked.hooks,
            hand=Hand(asked.plan.hand, min(piece.bends, key=lambda bend: bend.order).number),
            open_end=not piece.end_b.fitting,
            may_spin=request.may_spin,
            around=around,
            how=how,
        )
        checked = recheck(asked.plan, piece, answer.piece) if answer.told else None
        room = () if checked is None else room_left(asked.plan, checked)
    left_off = Left(answer.left_mm, answer.left_rad, answer.piece, answer.moves)
    right = left_words(asked.arcs, measured, left_off, tape)
    first = first_words(done, tape)
    more = unmeasured_problem(done, tape) or unmeasured_finding(asked.arcs, measured, left_off, tape)
    if answer.moves:
        words: tuple[str, ...] = (moved_words(answer.end_mm, answer.lean_rad, tape), right)
    else:
        against = first or more or any(f.severity == "problem" for f in (checked.findings if checked else ()))
        words = (right if against else leave_words(left_off, right, tape, open_end=not piece.end_b.fitting),)
    fit = (*more, *readings_finding(asked.arcs, measured, asked.hooks, tape, told=answer.told))
    up, left, forward = answer.end_mm
    return TweakAnswer(
        run=asked.plan.name,
        piece=piece.label,
        first=first,
        moves=tuple(
            Correction(number=move.number, what=move.kind, by_deg=round(degrees(move.by_rad), 9), words=said)
            for move, said in zip(answer.moves, answer.words, strict=True)
        ),
        words=(*words, *(room_words(asked.plan, checked) if checked else ())),
        left_mm=answer.left_mm,
        left_deg=degrees(answer.left_rad),
        far_end_moves_mm=FarEnd(up=up, left=left, forward=forward),
        last_leg_turns_deg=degrees(answer.lean_rad),
        planned=_axis(asked.arcs, piece),
        now=_axis(answer.now, piece) if answer.told else (),
        corrected=_axis(answer.piece, piece),
        room=room,
        findings=(*fit, *answer.findings, *(checked.findings if checked else ()), *against_the_run(asked.plan)),
        not_included=(
            *_not_checked(asked.arcs, measured, checked),
            *((_STRAPS,) if answer.moves else ()),
            *NOT_INCLUDED,
        ),
        cautions=cautions_for(*(correcting_care(asked.shoe, asked.stances) if _bends(answer.moves) else ())),
    )


def _bends(moves: Sequence[Move]) -> bool:
    """Whether a bend is opened, closed or twisted; turning the whole piece in its fitting bends nothing."""
    return any(move.kind != "spin" for move in moves)


def _not_checked(plan: BentPiece, measured: Sequence[Measured], checked: Rechecked | None) -> tuple[str, ...]:
    free = not_measured_words(plan, measured)
    partly = bool(free) and end_measured(measured)
    end = (f"The far end was not measured {free}: it may move there. Say 0 for what is right.",) if partly else ()
    if checked is None:
        return (*end, _UNLIKELY)
    known = all(isinstance(item, BendAngle) for item in measured)
    return (*end, *checked.not_checked) if known else (*end, *checked.not_checked, _LIKELY)


def _axis(now: BentPiece, piece: PlannedPiece) -> tuple[Vec, ...]:
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in now.bends]
    return trace(Centreline.from_turns(now.cut_length_mm, turns, piece.frame), step_deg=5.0)
