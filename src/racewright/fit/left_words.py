"""What is said of the readings of a finished piece: how right they are once it is corrected or left as it is, and where
two of them do not fit each other.

An angle that was read is the piece's own. What else was measured may be right all the same, where another bend makes up
for it: then the mark is named that stays off its plan, and by how much. No figure is said that is less than what is.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, degrees, radians
from typing import NamedTuple

from racewright.bends.model import BentPiece
from racewright.errors import Finding
from racewright.fit.accuracy import OPEN_END, Capture, Tolerance
from racewright.fit.correction import corrected
from racewright.fit.measured import (
    BACK,
    ApexRise,
    BendAngle,
    LegLean,
    Measured,
    OffAt,
    misfit,
    shown,
    tolerance_of,
)
from racewright.fit.words import Move
from racewright.geometry.vector import Vec, even
from racewright.sequence.words import mark_names
from racewright.tools.benders import HookEnd
from racewright.units.angle import format_angle
from racewright.units.tape import TapeStyle, format_length

# Turned by less than this the last leg is said to keep its direction.
_NO_TURN_RAD = radians(0.05)
_QUARTER_RAD = radians(0.25)


class Left(NamedTuple):
    """What is left of the misfit, but for the angles that were read (mm, rad), on the piece as it is after `moves`."""

    length_mm: float
    angle_rad: float
    piece: BentPiece
    moves: tuple[Move, ...]


def moved_words(end_mm: Vec, lean_rad: float, tape: TapeStyle) -> str:
    """What moves do to the far end: how far it goes (`end_mm`: up, left, forward), in the tape's steps, and how far the
    last leg turns."""
    names = (("up", "down"), ("left", "right"), ("forward", "back"))
    moves = [
        f"{format_length(abs(size), tape)} {there if size > 0.0 else back}"
        for size, (there, back) in zip(end_mm, names, strict=True)
        if abs(size) > float(tape.step_mm) / 2.0
    ]
    place = f"The far end moves {' and '.join(moves)}" if moves else "The far end keeps its place"
    turned = lean_rad > _NO_TURN_RAD
    turns = f", and the last leg turns by {format_angle(lean_rad)}" if turned else "; the last leg keeps its direction"
    return f"{place}{turns}."


def left_words(plan: BentPiece, measured: Sequence[Measured], left: Left, tape: TapeStyle) -> str:
    """How right is what was measured, by the most that is left of it, and which marks stay off their plan: they were
    read so, and no move mends them."""
    usual = Tolerance()
    off = {
        item.number: left.piece.bends[item.number - 1].angle_rad - plan.bends[item.number - 1].angle_rad
        for item in measured
        if isinstance(item, BendAngle)
    }
    far = {number: by for number, by in off.items() if abs(by) > usual.angle_rad + 1e-9}
    mended = {move.number for move in left.moves if move.kind == "angle"}
    all_angles = len(off) == len(measured)
    angle = max(left.angle_rad, *(abs(by) for number, by in off.items() if number not in far), 0.0)
    some = "By these angles the far end" if all_angles else "All else that you measured"
    what = some if far else "What you measured"
    length, turn = _up_to(left.length_mm, float(tape.step_mm)), _up_to(angle, _QUARTER_RAD)
    right = (
        f"{what} is {'then ' if left.moves else ''}right within {format_length(length, tape)} and {format_angle(turn)}."
    )
    stays = [
        f"Mark {number} stays {format_angle(abs(by))} {'over' if by > 0.0 else 'short of'} its planned angle."
        for number, by in sorted(far.items())
        if number not in mended
    ]
    return " ".join((right, *stays))


def leave_words(left: Left, right: str, tape: TapeStyle, *, open_end: bool) -> str:
    """'Leave it.' before how right it is, where nothing is to be corrected. Several ways together may be off by more
    than each alone may: then with why it stays, or without those words where no end is taken so."""
    if left.length_mm <= Tolerance().length_mm + 1e-9:
        return f"Leave it. {right}"
    takes = OPEN_END if open_end else Capture()
    if left.length_mm > min(takes.across_mm, takes.along_mm):
        return right
    across, along, each = (
        format_length(mm, tape)
        for mm in (takes.across_mm, takes.along_mm, _up_to(Tolerance().length_mm, float(tape.step_mm)))
    )
    who = "an open end may be" if open_end else "a fitting takes an end that is"
    return f"Leave it. {right} Each way alone it is within {each}; {who} off by {across} across and {along} along."


def _up_to(value: float, step: float) -> float:
    """The next whole step that is no less, one at least."""
    return step * max(1, ceil(value / step - 1e-6))


def readings_finding(
    plan: BentPiece, measured: Sequence[Measured], hooks: Sequence[HookEnd], tape: TapeStyle, *, told: bool
) -> tuple[Finding, ...]:
    """That the angles that were read would put another reading elsewhere than it was measured. `told`: a piece near the
    plan shows both (another bend is off too); else they do not fit each other."""
    read = [item for item in measured if isinstance(item, BendAngle)]
    rest = [item for item in measured if not isinstance(item, BendAngle)]
    usual = Tolerance()
    if told and all(abs(misfit(plan, item)) <= usual.angle_rad + 1e-9 for item in read):
        return ()
    by_read = corrected(plan, [Move(item.number, "angle", misfit(plan, item)) for item in read], hooks)
    found = [(shown(by_read, item) - shown(plan, item), misfit(plan, item), item) for item in rest] if read else []
    alone, was, item = max(
        found, key=lambda f: even(abs(f[0] - f[1]) / tolerance_of(f[2], usual)), default=(0.0, 0.0, None)
    )
    if item is None or abs(alone - was) <= tolerance_of(item, usual):
        return ()
    names = mark_names([one.number for one in read])
    message = (
        f"{names} as read{' and the rest as planned' if len(read) < len(plan.bends) else ''}, {_place(item, tape)}"
        f" would be {_off(item, alone, tape)}, and it was measured {_off(item, was, tape)}"
    )
    why = "another bend is off too, or a reading is wrong" if told else "they do not fit each other; measure again"
    return (
        Finding(
            rule="tweak.readings",
            severity="info" if told else "caution",
            message=f"{message}: {why}.",
            citation="geometry",
            where=names,
            measured=degrees(was) if isinstance(item, LegLean) else was,
            allowed=degrees(alone) if isinstance(item, LegLean) else alone,
            unit="deg" if isinstance(item, LegLean) else "mm",
        ),
    )


def unmeasured_finding(
    plan: BentPiece, measured: Sequence[Measured], left: Left, tape: TapeStyle
) -> tuple[Finding, ...]:
    """Where nothing is to be corrected by what was measured, and a mark was read off its plan: that by it the far end
    lies elsewhere in a way that was not measured."""
    usual = Tolerance()
    read = [item for item in measured if isinstance(item, BendAngle)]
    taken = {item.way for item in measured if isinstance(item, OffAt) and item.station_mm is None}
    ends = [OffAt(way=way, off_mm=0.0) for way in BACK]
    off = [(shown(left.piece, item) - shown(plan, item), item) for item in ends if item.way not in taken]
    by, item = max(off, key=lambda one: even(abs(one[0])), default=(0.0, ends[0]))
    if left.moves or not read or abs(by) <= usual.length_mm:
        return ()
    names = mark_names([one.number for one in read])
    return (
        Finding(
            rule="tweak.readings",
            severity="caution",
            message=f"{names} as read: by that the far end lies {_off(item, by, tape)} of its place, as far as the"
            " readings tell, and that was not measured. Measure it that way too.",
            citation="geometry",
            where=names,
            measured=by,
            allowed=usual.length_mm,
            unit="mm",
        ),
    )


def _place(item: Measured, tape: TapeStyle) -> str:
    if isinstance(item, ApexRise):
        return f"the rise at mark {item.number}"
    if isinstance(item, LegLean):
        return "the last leg"
    station = getattr(item, "station_mm", None)
    return "the far end" if station is None else f"the conduit at {format_length(station, tape)}"


def _off(item: Measured, by: float, tape: TapeStyle) -> str:
    """'1/2" down', 'as planned', '1° left'."""
    size = format_angle(abs(by)) if isinstance(item, LegLean) else format_length(abs(by), tape)
    if abs(by) < (_NO_TURN_RAD if isinstance(item, LegLean) else float(tape.step_mm) / 2.0):
        return "as planned"
    if isinstance(item, ApexRise):
        return f"{size} {'higher' if by > 0.0 else 'lower'}"
    assert not isinstance(item, BendAngle)
    return f"{size} {item.way if by > 0.0 else BACK[item.way]}"
