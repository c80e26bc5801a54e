"""What the bender or the tape does wrong, from two or more finished pieces.

Notation
    T, R, m     error of take-up, of the shoe's radius, and a bias that all marks share (mm)
    b0, b1      overbend: a bend of angle A comes out as A + b0 + b1 A (rad, 1)
    J           readings by causes, each reading in units of its own doubt, each cause in units of a usual size
One piece never tells: its own marks, angles, rolls, radius and cut are more unknowns than the far end's three
lengths and three angles. Several pieces share the causes, and then J's singular values say what can be told.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, pi, radians, sqrt
from typing import Literal, NamedTuple

import msgspec

from racewright.bends.model import BentPiece
from racewright.budget import ROUNDS
from racewright.errors import LimitError
from racewright.fit.accuracy import Tolerance
from racewright.fit.jacobian import Walk, end_columns, walk
from racewright.fit.measured import INCHES, Measured, check_measured, finer, misfit, shown, tolerance_of
from racewright.geometry.linalg import Matrix, Row, svd
from racewright.tools.benders import HookEnd, Reference
from racewright.units.tape import TapeStyle, format_length

Cause = Literal["take-up", "radius", "overbend", "overbend per angle", "mark bias"]
Unit = Literal["mm", "rad", "1"]
ALL_CAUSES: tuple[Cause, ...] = ("take-up", "radius", "overbend", "overbend per angle", "mark bias")
# A usual size of each cause, only to make the condition number mean something. Common practice, no source.
_SIZES: dict[Cause, float] = {
    "take-up": 3.0,
    "radius": 5.0,
    "overbend": radians(1.5),
    "overbend per angle": 0.03,
    "mark bias": 3.0,
}
# Past this the readings' doubt is blown up so far that the figures mean nothing.
WORST_CONDITION = 200.0
#: Rounds in which the equations settle, as a rule.
_SETTLE_IN = 4
#: Units that a reading takes in one round.
_A_READING = 6


class FinishedPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One finished piece: as planned, which end each hook faced (all 'A' unless told), which mark of the shoe stood
    on the pencil mark (all 'arrow' unless told), what was measured."""

    name: str
    piece: BentPiece
    measured: tuple[Measured, ...]
    hooks: tuple[HookEnd, ...] = ()
    references: tuple[Reference, ...] = ()


class CauseFound(msgspec.Struct, frozen=True, kw_only=True):
    """One cause: `value` and its standard error in `unit` ('mm', 'rad', '1'), both as a person reads them, in words."""

    cause: Cause
    value: float
    standard_error: float
    unit: Unit
    found: str
    give_or_take: str
    words: str


class Diagnosis(msgspec.Struct, frozen=True, kw_only=True):
    """What several pieces say. `rank` of `unknowns`, `condition` of the scaled system; `left` is the root mean
    square of what the causes do not explain, in tolerances (about 1 or less: explained)."""

    causes: tuple[CauseFound, ...]
    rank: int
    unknowns: int
    readings: int
    condition: float
    left: float


class _System(NamedTuple):
    rows: Matrix
    right: Row


def with_causes(finished: FinishedPiece, causes: Sequence[Cause], values: Sequence[float]) -> BentPiece:
    """The piece as it comes out when these causes are at work. The arrow's lead is take-up less radius less half
    the diameter, so a true take-up above the one used moves an arc away from its hook. Centre and star sit where
    the radius puts them (R pi/8 and R (pi/2 - 1) - D/2 from the tangent point), whatever the take-up is."""
    error = dict(zip(causes, values, strict=True))
    bends = []
    for i, bend in enumerate(finished.piece.bends):
        away = -1.0 if i < len(finished.hooks) and finished.hooks[i] == "B" else 1.0
        b1 = error.get("overbend per angle", 0.0)
        angle = bend.angle_rad + error.get("overbend", 0.0) + b1 * bend.angle_rad
        radius = bend.radius_mm + error.get("radius", 0.0)
        hook_side = bend.arc_start_mm if away > 0.0 else bend.arc_end_mm
        hook_side += error.get("mark bias", 0.0) + away * _set_off(finished, i, error)
        start = hook_side if away > 0.0 else hook_side - radius * angle
        bends.append(msgspec.structs.replace(bend, arc_start_mm=start, angle_rad=angle, radius_mm=radius))
    return msgspec.structs.replace(finished.piece, bends=tuple(bends))


def _set_off(finished: FinishedPiece, bend: int, error: dict[Cause, float]) -> float:
    """How far the hook-side tangent point of a bend (from 0) moves away from the hook (mm)."""
    reference = finished.references[bend] if bend < len(finished.references) else "arrow"
    radius = error.get("radius", 0.0)
    if reference == "arrow":
        return error.get("take-up", 0.0) - radius
    return -(pi / 8.0 if reference == "center" else pi / 2.0 - 1.0) * radius


def one_piece_rank(piece: BentPiece, hooks: Sequence[HookEnd] = ()) -> tuple[int, int]:
    """(rank, unknowns) of one piece's own errors, marks, angles, rolls, the cut and the shared radius, against
    everything that can be measured at its far end (three lengths, three angles)."""
    columns = end_columns(piece, hooks)
    scaled = [
        [*(v / 1.0 for v in c.move), *(w * 100.0 for w in c.turn)]
        if c.kind in ("mark", "cut")
        else [*(v * 0.01 for v in c.move), *(w * 1.0 for w in c.turn)]
        for c in columns
    ]
    # the radius moves the end within the planes that the angles span; it adds an unknown, seldom a direction
    # a row for each error: turned over, the six measures would have their rank found among as many columns as errors
    rank = svd(scaled).rank(1e-6) if scaled else 0
    return rank, len(columns) + 1


def diagnose(
    pieces: Sequence[FinishedPiece],
    *,
    causes: Sequence[Cause] = ALL_CAUSES,
    tolerance: Tolerance | None = None,
    worst_condition: float = WORST_CONDITION,
    tape: TapeStyle = INCHES,
) -> Diagnosis:
    """Fit the causes that the pieces share by Gauss-Newton least squares, with their standard uncertainties.

    `tolerance` stands for the doubt of one reading (1/16 in, 1/2 degree unless told). `tape`: how the words
    show lengths.
    Raises LimitError from one piece (said with its rank against its unknowns), and where the readings of several
    do not determine what is asked: which causes cannot be told apart, and what to measure.
    """
    tolerance = tolerance or Tolerance()
    for finished in pieces:
        for item in finished.measured:
            check_measured(finished.piece, item, tape)
    if len(pieces) < 2:
        raise _too_few(pieces)
    values = [0.0] * len(causes)
    for _ in range(ROUNDS):
        system = _linear(pieces, causes, values, tolerance)
        parts = svd(system.rows)
        rank = parts.rank(1e-6)
        # at first, and where readings far off lead the steps to where nothing can be told
        if len(system.right) < len(causes) or rank < len(causes) or parts.condition() > worst_condition:
            raise _undetermined(pieces, causes, len(system.right), rank, parts.condition(), parts.v)
        step = parts.solution(system.right)
        values = [v + s * _SIZES[c] for v, s, c in zip(values, step, causes, strict=True)]
        if max(abs(s) for s in step) < 1e-12:
            break
    left = _linear(pieces, causes, values, tolerance).right
    free = len(left) - len(causes)
    rms = sqrt(sum(r * r for r in left) / free) if free > 0 else 0.0
    # JCGM 100:2008, H.3: covariance of least squares is s^2 (J^T J)^-1; s is not taken below the readings' doubt
    grow = max(1.0, rms)
    covariance = parts.covariance()
    found = []
    for j, cause in enumerate(causes):
        found.append(_found(cause, values[j], grow * sqrt(covariance[j][j]) * _SIZES[cause], finer(tape)))
    return Diagnosis(
        causes=tuple(found), rank=rank, unknowns=len(causes), readings=len(left), condition=parts.condition(), left=rms
    )


def units_of(piece: BentPiece, readings: int, causes: int) -> int:
    """What a piece takes in as many rounds as they settle in: its bends and readings for each cause, both ways."""
    return (2 * causes + 2) * (len(piece.bends) + _A_READING * readings) * _SETTLE_IN


def _walked(finished: FinishedPiece, causes: Sequence[Cause], values: Sequence[float]) -> tuple[BentPiece, Walk]:
    piece = with_causes(finished, causes, values)
    return piece, walk(piece)


def _linear(
    pieces: Sequence[FinishedPiece], causes: Sequence[Cause], values: Sequence[float], tolerance: Tolerance
) -> _System:
    """Readings not yet explained (in tolerances), and how they change with each cause (central differences)."""
    rows: Matrix = []
    right: Row = []
    h = 1e-4
    for finished in pieces:
        around = [_walked(finished, causes, values)]
        for j, cause in enumerate(causes):
            for step in (h * _SIZES[cause], -h * _SIZES[cause]):
                moved = [v + (step if k == j else 0.0) for k, v in enumerate(values)]
                around.append(_walked(finished, causes, moved))
        plan = walk(finished.piece)
        for item in finished.measured:
            unit = tolerance_of(item, tolerance)
            now, *both = (shown(piece, item, walked) for piece, walked in around)
            explained = now - shown(finished.piece, item, plan)
            right.append((misfit(finished.piece, item, plan) - explained) / unit)
            steps = zip(both[::2], both[1::2], strict=True)
            rows.append([(high - low) / (2.0 * h) / unit for high, low in steps])
    return _System(rows, right)


#: A condition number past this says no more than that nothing is told.
_PAST_SAYING = 1e6

_UNITS: dict[Cause, Unit] = {
    "take-up": "mm",
    "radius": "mm",
    "overbend": "rad",
    "overbend per angle": "1",
    "mark bias": "mm",
}


def _found(cause: Cause, value: float, doubt: float, tape: TapeStyle) -> CauseFound:
    sure = abs(value) > 2.0 * doubt
    if cause == "overbend":
        size = f"{abs(degrees(value)):.1f}° (give or take {degrees(doubt):.1f}°)"
        what = f"bends come out {size} {'over' if value > 0 else 'under'}"
    elif cause == "overbend per angle":
        size = f"{abs(value) * 90.0:.1f}° more in a 90 (give or take {doubt * 90.0:.1f}°)"
        what = f"bends come out {'over' if value > 0 else 'under'} by an amount that grows with the angle, {size}"
    else:
        size = f"{format_length(abs(value), tape)} (give or take {format_length(doubt, tape)})"
        sense = {
            "take-up": ("less than the shoe's true take-up", "more than the shoe's true take-up"),
            "radius": ("too small in the profile", "too large in the profile"),
            "mark bias": ("too far from end A, all alike", "too near end A, all alike"),
        }[cause]
        subject = {"take-up": "the take-up used is", "radius": "the radius is", "mark bias": "the marks are"}[cause]
        what = f"{subject} {size} {sense[0] if value > 0 else sense[1]}"
    return CauseFound(
        cause=cause,
        value=value,
        standard_error=doubt,
        unit=_UNITS[cause],
        found=_shown(_UNITS[cause], value, tape),
        give_or_take=_shown(_UNITS[cause], doubt, tape),
        words=what if sure else f"cannot tell the {cause}: {what}",
    )


def _shown(unit: str, value: float, fine: TapeStyle) -> str:
    if unit == "mm":
        return format_length(value, fine)
    return f"{degrees(value):.2f}°" if unit == "rad" else f"{value * 90.0:.2f}° in a 90"


def _too_few(pieces: Sequence[FinishedPiece]) -> LimitError:
    if not pieces:
        return LimitError(
            "no finished piece was given.",
            hint="measure two or more pieces made with the same shoe",
            quantity="pieces",
            asked=0.0,
            limit=2.0,
            unit="",
        )
    rank, unknowns = one_piece_rank(pieces[0].piece, pieces[0].hooks)
    return LimitError(
        f"from one piece the cause cannot be told: rank {rank} against {unknowns} unknowns (each mark, angle and "
        "twist, the cut and the radius can be off on its own).",
        hint=(
            "measure a second piece with other angles made on the same shoe, and read each bend's angle; to make "
            "this piece fit, correct it instead (no cause is needed for that)"
        ),
        quantity="rank",
        asked=float(unknowns),
        limit=float(rank),
        unit="",
    )


def _undetermined(
    pieces: Sequence[FinishedPiece],
    causes: Sequence[Cause],
    readings: int,
    rank: int,
    condition: float,
    directions: Matrix,
) -> LimitError:
    weakest = directions[-1] if directions else [0.0] * len(causes)
    mixed = [cause for cause, part in zip(causes, weakest, strict=True) if abs(part) > 0.25]
    hints = []
    one_way = len({h for f in pieces for h in (f.hooks or ("A",))}) == 1
    if "take-up" in mixed and "mark bias" in mixed and one_way:
        hints.append("measure a piece with the hook the other way round, or leave the mark bias out")
    if "overbend" in mixed and "overbend per angle" in mixed:
        hints.append("measure bends of clearly different angles")
    if "radius" in mixed:
        hints.append("measure a stub's height and leg over a 90")
    if readings < len(causes):
        hints.append(f"take at least {len(causes)} readings")
    badly = "" if rank < len(causes) or condition > _PAST_SAYING else f", condition number {condition:.0f}"
    return LimitError(
        f"the readings do not tell these apart: {', '.join(mixed)} (rank {rank} against {len(causes)} unknowns"
        f"{badly}).",
        hint="; ".join(hints) or "measure more: each bend's angle, the rise at the apex, the far end both ways",
        quantity="rank",
        asked=float(len(causes)),
        limit=float(rank),
        unit="",
    )
