"""The piece that a question about bent conduit speaks of, and what was measured on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from math import radians
from typing import Any, NamedTuple

import msgspec

from racewright.bends import roles
from racewright.bends.model import BentPiece
from racewright.errors import InputError, LimitError, RacewrightError, below, told_of
from racewright.fit.measured import (
    MARKS_COUNT,
    ApexRise,
    BendAngle,
    LegLean,
    Measured,
    OffAt,
    Way,
    check_lean,
    check_measured,
)
from racewright.operations.common import (
    BenderRecord,
    Fraction,
    Known,
    Length,
    Name,
    Part,
    Request,
    SurveyRequest,
    length_of,
)
from racewright.operations.planned import check_survey, planned
from racewright.plan.from_json import read_plan
from racewright.plan.lying import up_roll_rad
from racewright.plan.model import MOST_BENDS, MarkedBend, Plan, PlannedPiece
from racewright.plan.recheck import Rechecked
from racewright.records.fields import PieceNumber
from racewright.records.model import AngleReading, JobHead, LeanReading, OffReading, Reading, RiseReading
from racewright.sequence.machine import Stance
from racewright.survey.written import WrittenSurvey
from racewright.tools.benders import BenderProfile, HookEnd, Reference
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, TapeUnit

_WAYS: dict[str, tuple[Way, float]] = {
    "up": ("up", 1.0),
    "down": ("up", -1.0),
    "left": ("left", 1.0),
    "right": ("left", -1.0),
    "long": ("forward", 1.0),
    "short": ("forward", -1.0),
}


class BentRequest(Request, frozen=True, kw_only=True):
    """A request about one bent piece of a run: of a `survey` (a survey file as data), which is planned now, or of a
    `plan` that was written before, as data; exactly one of the two. `piece` counts from end A, from 1. `bender` (a
    profile of the asker's own), `bender_name` (one of the catalogue's) and `fraction` (rounds marks) go with a survey:
    a plan has its own; so does the `head` of the job that the run is of (see `SurveyRequest`)."""

    survey: WrittenSurvey | None = None
    head: JobHead | None = None
    plan: dict[str, Any] | None = None
    bender: BenderRecord | None = None
    bender_name: Name = ""
    fraction: Fraction | None = None
    piece: PieceNumber = 1


class Bent(NamedTuple):
    """A piece with its plan, and its bends as arcs. `uncut`: the piece as it was planned, where its ends were cut since
    (None: they are not)."""

    plan: Plan
    piece: PlannedPiece
    arcs: BentPiece
    uncut: PlannedPiece | None = None

    @property
    def planned(self) -> PlannedPiece:
        """The piece as it was planned, however it was cut since."""
        return self.uncut or self.piece

    @property
    def tape(self) -> TapeStyle:
        """The tape that its plan is read on."""
        return self.plan.tape

    @property
    def shoe(self) -> BenderProfile:
        """The shoe that it is bent on."""
        return self.plan.shoe

    @property
    def bends(self) -> tuple[MarkedBend, ...]:
        """Its bends in the order from end A."""
        return self.piece.bends

    @property
    def hooks(self) -> tuple[HookEnd, ...]:
        """Which end each bend's hook faces."""
        return tuple(bend.hook for bend in self.bends)

    @property
    def stances(self) -> tuple[Stance, ...]:
        """How the bender is held for each bend."""
        return tuple(bend.stance for bend in self.bends)

    @property
    def references(self) -> tuple[Reference, ...]:
        """Which mark of the shoe stands on each bend's pencil mark."""
        return tuple(bend.reference for bend in self.bends)


class RoomLeft(Part, frozen=True, kw_only=True):
    """What the finished piece leaves to a thing or a wall: `left_mm`, and as the tape shows it."""

    name: str
    left: Length


def room_left(plan: Plan, checked: Rechecked) -> tuple[RoomLeft, ...]:
    """What was found of each thing and wall, by name; nothing where the piece could not be looked at."""
    names = [thing.name for thing in plan.obstacles] + [wall.name for wall in plan.surfaces]
    found = zip(names, checked.left_mm, strict=False)
    return tuple(RoomLeft(name=name, left=length_of(clear, plan.tape)) for name, clear in found)


def bent(request: BentRequest, known: Known, at: str = "") -> Bent:
    """The piece asked for, with its bends. `at` is where the request stands in a larger one ('pieces[0].').

    Raises InputError for a piece that is not there or has no bend; errors of the survey or the plan name their field
    from the request's top ('survey.run.walk[0].leg').
    """
    with _standing(at):
        plan = _plan(request, known)
        if not 1 <= request.piece <= len(plan.pieces):
            raise InputError(
                f"piece {request.piece} was asked, and the run has {len(plan.pieces)}.",
                hint="pieces count from end A, the first is 1",
                field="piece",
            )
        piece = plan.pieces[request.piece - 1]
        if plan.bender is None or not piece.bends:
            raise InputError(
                f"{piece.label} has no bend, so there is nothing to correct.", hint="name another piece", field="piece"
            )
        if len(piece.bends) > MOST_BENDS:
            raise LimitError(
                f"{piece.label} has {len(piece.bends)} bends; corrections are worked out for {MOST_BENDS} at most.",
                hint="cut it at a coupling and plan each part as a run of its own",
                quantity="bends",
                asked=len(piece.bends),
                limit=MOST_BENDS,
                unit="",
                field="piece",
            )
    return bent_as_planned(plan, piece)


def check_before(request: BentRequest, known: Known, at: str = "") -> None:
    """Refuse what can be refused before anything is planned, as `bent` would."""
    with _standing(at):
        _check_one_of(request)
        if request.survey is not None:
            with _of_survey():
                check_survey(_asked(request, request.survey), known)


@contextmanager
def _standing(at: str) -> Iterator[None]:
    """What is refused inside is told of where the request stands in a larger one."""
    try:
        yield
    except RacewrightError as err:
        if at:
            err.message = err.message.replace(err.field or "\0", at + err.field)
            err.field = at + err.field
        raise


@contextmanager
def _of_survey() -> Iterator[None]:
    try:
        yield
    except RacewrightError as err:
        err.field = err.field or "survey"
        raise


def bent_as_planned(plan: Plan, piece: PlannedPiece) -> Bent:
    """A piece of a plan with its bends, and with what is up for who holds it as it will lie."""
    return Bent(plan, piece, msgspec.structs.replace(piece.piece, up_roll_rad=up_roll_rad(plan, piece)))


def _check_one_of(request: BentRequest) -> None:
    if (request.survey is None) == (request.plan is None):
        raise InputError(
            "a survey or a plan belongs here, one of the two.", hint="send the run's survey", field="survey"
        )
    for field in ("bender", "bender_name", "fraction") if request.plan is not None else ():
        if getattr(request, field):
            raise InputError(
                "a written plan has its bender and its tape, and no other can be taken.",
                hint="leave it out, or send the survey instead",
                field=field,
            )


def _plan(request: BentRequest, known: Known) -> Plan:
    _check_one_of(request)
    if request.survey is not None:
        with _of_survey():
            return planned(_asked(request, request.survey), known, bent=True)
    with below("plan"):
        return read_plan(request.plan)


def _asked(request: BentRequest, survey: WrittenSurvey) -> SurveyRequest:
    return SurveyRequest(
        survey=survey,
        head=request.head,
        bender=request.bender,
        bender_name=request.bender_name,
        fraction=request.fraction,
    )


def readings(piece: Bent | None, written: Sequence[Reading], unit: TapeUnit, field: str) -> tuple[Measured, ...]:
    """What was measured, as numbers. `field` names the list in the request; lengths without a unit are in `unit`.
    Without a `piece` (its run has no plan) they are read and held to nothing.

    Raises InputError for a length that cannot be read or shown by it, a bend or a place that the piece does not have,
    LimitError for a lean that is none.
    """
    out: list[Measured] = []
    for index, item in enumerate(written):
        at = f"{field}[{index}]"
        measured = _reading(piece, item, unit, at)
        if piece is not None:
            with below(at), told_of({"station_mm": "station", "off_mm": "off", "rise_mm": "rise"}):
                check_measured(piece.arcs, measured)
        out.append(measured)
    return tuple(out)


def check_readable(written: Sequence[Reading], unit: TapeUnit, field: str) -> None:
    """Raises InputError for a length that cannot be read, before the piece is known."""
    for index, item in enumerate(written):
        # under which bend a rise is meant is asked once the piece is known
        named = msgspec.structs.replace(item, number=item.number or 1) if isinstance(item, RiseReading) else item
        _reading(None, named, unit, f"{field}[{index}]")


def _reading(piece: Bent | None, item: Reading, unit: TapeUnit, at: str) -> Measured:
    if isinstance(item, OffReading):
        way, sign = _WAYS[item.way]
        off = float(parse_length(item.off, unit, field=f"{at}.off", allow_negative=True))
        station = float(parse_length(item.station, unit, field=f"{at}.station")) if item.station else None
        return OffAt(way=way, off_mm=sign * off, station_mm=station)
    if isinstance(item, RiseReading):
        rise = float(parse_length(item.rise, unit, field=f"{at}.rise", allow_negative=True))
        return ApexRise(rise_mm=rise, number=item.number or _middle_bend(piece, f"{at}.number"))
    if isinstance(item, LeanReading):
        way, sign = _WAYS[item.way]
        check_lean(radians(item.lean_deg), f"{at}.lean_deg")
        return LegLean(way=way, lean_rad=sign * radians(item.lean_deg))
    assert isinstance(item, AngleReading)
    return BendAngle(number=item.number, angle_rad=radians(item.angle_deg))


def _middle_bend(piece: Bent | None, field: str) -> int:
    """The piece's one saddle center, or its only bend."""
    bends = piece.bends if piece is not None else ()
    centers = [b.number for b in bends if b.role == roles.SADDLE_CENTER or len(bends) == 1]
    if len(centers) == 1:
        return centers[0]
    raise InputError(
        "it is not clear under which bend the rise was measured.",
        hint=f"name the bend by its mark; {MARKS_COUNT}",
        field=field,
    )
