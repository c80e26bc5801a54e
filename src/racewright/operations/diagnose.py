"""What the shoe or the tape does wrong, from several finished pieces."""

from __future__ import annotations

from collections.abc import Sequence
from math import radians
from typing import Annotated

import msgspec

from racewright.budget import DIAGNOSIS, PLANNED_FOR_DIAGNOSIS, READ_A_PLAN, Budget
from racewright.cautions import cautions_for
from racewright.errors import Finding, InputError, LimitError
from racewright.fit.accuracy import Tolerance
from racewright.fit.diagnose import ALL_CAUSES, Cause, CauseFound, Diagnosis, FinishedPiece, units_of
from racewright.fit.diagnose import diagnose as shared_causes
from racewright.fit.measured import Measured, check_measured
from racewright.fit.words import measured_words
from racewright.operations.bent import Bent, BentRequest, bent, check_before, check_readable, readings
from racewright.operations.common import Answer, Known, LengthText, Name, Request
from racewright.plan.digest import called_now
from racewright.records.model import Reading
from racewright.records.parts_said import part_read, part_words
from racewright.records.superseded import plan_differs
from racewright.sequence.care import bending_care
from racewright.units.length import parse_length
from racewright.units.said import said_in
from racewright.units.tape import TapeUnit, style_of

NOT_INCLUDED = ("No bender's profile is changed by this.",)


class MeasuredPiece(BentRequest, frozen=True, kw_only=True):
    """One finished piece and what was measured on it, as written, or (`kept`) as a job keeps it. `name` is the run's
    and the piece's unless told. `marks`: the digest of the plan that it was bent by; where that is not its plan now,
    the piece is left out, and told. So is one of which the rest was bent by new marks in place of the plan's
    (`anew`), and a reading that is kept and that the piece cannot show (`diagnose.left_out`)."""

    measured: Annotated[tuple[Reading, ...], msgspec.Meta(max_length=200)] = ()
    kept: Annotated[tuple[Measured, ...], msgspec.Meta(max_length=200)] = ()
    marks: Name = ""
    anew: bool = False
    name: Name = ""


class DiagnoseRequest(Request, frozen=True, kw_only=True):
    """Finished pieces bent on one shoe. `unit` of lengths without one. `causes`: what to look for (none: all that can
    be). `doubt_length`, `doubt_deg`: how far one reading may be off (standard deviation)."""

    pieces: Annotated[tuple[MeasuredPiece, ...], msgspec.Meta(max_length=200)]
    unit: TapeUnit = "in"
    causes: tuple[Cause, ...] = ()
    doubt_length: LengthText = "1/16 in"
    doubt_deg: float = 0.5


class DiagnoseAnswer(Answer, frozen=True, kw_only=True):
    """`pieces` by name; `rank` of `unknowns` from the `readings`, `condition` of the scaled system; `left` what the
    causes do not explain, in doubts of a reading (about 1 or less: explained). `words` say what that means. Of more
    than can be looked at, `pieces` are the first, and a finding says so."""

    pieces: tuple[str, ...]
    causes: tuple[CauseFound, ...]
    rank: int
    unknowns: int
    readings: int
    condition: float
    left: float
    words: tuple[str, ...]


def diagnose(request: DiagnoseRequest, known: Known) -> DiagnoseAnswer:
    """The causes that the pieces share. Raises InputError for readings that are not on a piece and for pieces of
    different shoes, LimitError where the readings do not tell the causes apart."""
    unit = request.unit
    causes, doubt = _causes(request), _doubt(request)
    for index, written in enumerate(request.pieces):
        check_readable(written.measured, unit, f"pieces[{index}].measured")
    _check_before(request.pieces, known)
    budget = Budget(DIAGNOSIS)
    pieces, asked, others, findings = _finished(request, len(causes), budget, known)
    looked_at = len(pieces) + len(others)
    tape = asked[0].tape if asked and asked[0].tape.unit == unit else style_of(unit)
    if looked_at < len(request.pieces):
        findings.insert(0, _cut_short(looked_at, len(request.pieces)))
    with said_in(tape):
        try:
            told = shared_causes(pieces, causes=causes, tolerance=doubt, tape=tape)
        except LimitError as error:
            left_out = (*(finding.message for finding in findings), *others)
            error.hint = "; ".join((error.hint, *(words.rstrip(".") for words in left_out)))
            raise
    return DiagnoseAnswer(
        pieces=tuple(piece.name for piece in pieces),
        **msgspec.structs.asdict(told),
        words=_words(told),
        findings=tuple(findings),
        not_included=(*NOT_INCLUDED, *others),
        cautions=cautions_for(*bending_care(asked[0].shoe)),
    )


def _same(piece: MeasuredPiece) -> bytes:
    """What it was bent from, alike for all pieces of one plan."""
    return msgspec.json.encode(msgspec.structs.replace(piece, measured=(), kept=(), marks="", anew=False, name=""))


def _check_before(pieces: Sequence[MeasuredPiece], known: Known) -> None:
    """Refuse what can be refused of any piece before one is planned."""
    checked: set[bytes] = set()
    for index, piece in enumerate(pieces):
        same = _same(piece)
        if same not in checked:
            checked.add(same)
            check_before(piece, known, f"pieces[{index}].")


def _finished(
    request: DiagnoseRequest, causes: int, budget: Budget, known: Known
) -> tuple[list[FinishedPiece], list[Bent], list[str], list[Finding]]:
    """The pieces with what was measured on them, in their order, until the budget is spent; two at least. What several
    were bent from is planned once. In words, those that were bent by another plan than their present one, or by new
    marks; and a caution for each reading that is left out."""
    made: dict[bytes, Bent] = {}
    out: list[FinishedPiece] = []
    asked: list[Bent] = []
    others: list[str] = []
    findings: list[Finding] = []
    for index, written in enumerate(request.pieces):
        if budget.spent and len(out) > 1:
            break
        same = _same(written)
        if same not in made:
            budget.take(_plan_units(written))
            made[same] = bent(written, known, f"pieces[{index}].")
        piece = made[same]
        asked.append(piece)
        _one_shoe(asked)
        name = written.name or f"{piece.plan.name}, {piece.piece.label}"
        now = piece.plan.digest
        differs = plan_differs(called_now(written.marks, now, piece.plan.digest_before), now)
        if differs:
            others.append(f"{name}: bent {differs}.")
            continue
        if written.anew:
            others.append(f"{name}: its rest was bent by new marks, and what it shows cannot be held to the plan's.")
            continue
        with said_in(piece.tape if piece.tape.unit == request.unit else style_of(request.unit)):
            measured = readings(piece, written.measured, request.unit, f"pieces[{index}].measured")
            cannot = {at: why for at, kept in enumerate(written.kept) if (why := _cannot_be(piece, kept, name))}
        measured = (*measured, *(kept for at, kept in enumerate(written.kept) if at not in cannot))
        findings += cannot.values()
        budget.take(units_of(piece.arcs, len(measured), causes))
        out.append(
            FinishedPiece(
                name=name, piece=piece.arcs, measured=measured, hooks=piece.hooks, references=piece.references
            )
        )
    return out, asked, others, findings


def _cannot_be(piece: Bent, kept: Measured, name: str) -> Finding | None:
    """Why a reading on record is left out: one that the piece cannot show must not hold up all others."""
    try:
        check_measured(piece.arcs, kept)
    except (InputError, LimitError) as error:
        named = part_words(part_read(kept), piece.tape)
        message = (
            f"{name}: the reading '{measured_words(kept, piece.tape)}' is left out: {error.message.rstrip('.')}. "
            f"`racewright job undo RUN {named}` takes it back; record what is right then."
        )
        return Finding(rule="diagnose.left_out", severity="caution", message=message, where=name)
    return None


def _plan_units(piece: MeasuredPiece) -> int:
    """What planning its run takes at most: how its bends are made in an order grows with their square. Of a plan that
    was written before only its reading is work."""
    if piece.survey is None:
        return READ_A_PLAN
    parts = sum(1 + 2 * len(part.features) for part in piece.survey.run.walk)
    return PLANNED_FOR_DIAGNOSIS * parts * parts


def _cut_short(taken: int, pieces: int) -> Finding:
    return Finding(
        rule="diagnose.search",
        severity="info",
        message=f"of the {pieces} pieces only the first {taken} were looked at: so many bends and readings are more "
        "than one answer takes. Ask for the others by themselves.",
        citation="geometry",
    )


def _one_shoe(asked: Sequence[Bent]) -> None:
    shoes = {(piece.shoe.raceway_type, piece.shoe.trade_size, piece.shoe.name) for piece in asked}
    if len(shoes) > 1:
        named = ", ".join(sorted(f"{name} ({kind} {size})" for kind, size, name in shoes))
        raise InputError(
            f"the pieces were bent on different shoes: {named}.",
            hint="only pieces of one shoe share its causes; ask for each shoe alone",
            field="pieces",
        )


def _causes(request: DiagnoseRequest) -> tuple[Cause, ...]:
    for name in request.causes:
        if name not in ALL_CAUSES:
            raise InputError(
                f"causes: '{name}' is no cause that can be looked for.",
                hint=f"the causes are: {', '.join(ALL_CAUSES)}",
                field="causes",
            )
    return tuple(cause for cause in ALL_CAUSES if cause in request.causes) or ALL_CAUSES


def _doubt(request: DiagnoseRequest) -> Tolerance:
    length = parse_length(request.doubt_length, request.unit, field="doubt_length", allow_zero=False)
    if not 0.0 < request.doubt_deg <= 180.0:
        raise InputError(
            f"doubt_deg: {request.doubt_deg:g} is no doubt of an angle: it must be above 0 and at most 180 degrees.",
            hint="write it as 0.5",
            field="doubt_deg",
        )
    return Tolerance(length_mm=float(length), angle_rad=radians(request.doubt_deg))


def _words(told: Diagnosis) -> tuple[str, ...]:
    apart = (
        f"{told.unknowns} causes from {told.readings} readings, rank {told.rank}, condition number "
        f"{told.condition:.0f} (about 1: told apart as well as can be; past 200 it refuses)."
    )
    if told.readings > told.unknowns:
        fits = "the causes explain the readings" if told.left <= 1.5 else "something else is at work as well"
        left = f"What is left over: {told.left:.1f} times the doubt of a reading; {fits}."
    else:
        left = "There are no more readings than causes, so nothing checks them: measure another piece."
    return (apart, left, "Before you change a profile, make a test bend.")
