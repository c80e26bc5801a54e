"""One run of a job: what was written down about it, its card, and what was measured on it added to its record."""

from __future__ import annotations

from math import radians
from typing import Annotated

import msgspec

from racewright.cards.pack_model import as_built_lines, wire_lines
from racewright.cards.text.bend_card import text_card
from racewright.errors import InputError, RacewrightError, below
from racewright.fit.measured import ApexRise, check_bend
from racewright.job.plan_job import plan_one
from racewright.operations.bent import Bent, bent_as_planned, readings
from racewright.operations.common import Answer, Known, Request
from racewright.operations.jobs import JobRequest
from racewright.records.model import (
    AsBent,
    BendNumber,
    Degrees,
    Job,
    JobRun,
    Key,
    MoveMade,
    PieceNumber,
    Reading,
    Status,
    Text,
    TweakMade,
)
from racewright.units.said import said_in
from racewright.units.tape import style_of


class JobRunRequest(JobRequest, frozen=True, kw_only=True):
    """The run of the job that is called `run`."""

    run: Key


class JobRunAnswer(Answer, frozen=True, kw_only=True):
    """`wires` and `as_built` (what was measured and corrected on bent pieces) in lines of words; `card`: the bend card
    as text, which holds the findings and the cautions of the plan as well."""

    run: str
    status: Status
    area: str
    wires: tuple[str, ...]
    as_built: tuple[str, ...]
    note: str
    card: str


def job_run(request: JobRunRequest, _: Known) -> JobRunAnswer:
    """Plan the run with the job's own tools. Raises InputError for a run that is not there, and as a plan does."""
    run, at = run_of(request.job, request.run)
    with below(f"{at}.survey"):
        plan = plan_one(run, request.job.head)
    return JobRunAnswer(
        run=run.key,
        status=run.status,
        area=run.area,
        wires=wire_lines(run),
        as_built=as_built_lines(run),
        note=run.note,
        card=text_card(plan, colour=False),
        findings=plan.findings,
        cautions=plan.cautions,
    )


def run_of(job: Job, key: str) -> tuple[JobRun, str]:
    """The run of this key, whatever the case, and its path in the request. Raises InputError."""
    for index, run in enumerate(job.runs):
        if run.key.casefold() == key.casefold():
            return run, f"job.runs[{index}]"
    known = ", ".join(run.key for run in job.runs[:12])
    raise InputError(
        f"the job has no run '{key}'.", hint=f"runs: {known}" if known else "it has no runs yet", field="run"
    )


class CorrectionMade(Request, frozen=True, kw_only=True):
    """A correction that was made: bend `number` closed by so many degrees (negative: opened)."""

    number: BendNumber
    by_deg: Degrees


class JobRecordRequest(JobRequest, frozen=True, kw_only=True):
    """Add to the record of `run` what was measured and what was corrected on one of its pieces, who says so and when.
    Lengths without a unit are in the job's."""

    run: Key
    piece: PieceNumber = 1
    measured: Annotated[tuple[Reading, ...], msgspec.Meta(max_length=60)] = ()
    corrected: Annotated[tuple[CorrectionMade, ...], msgspec.Meta(max_length=60)] = ()
    note: Text = ""
    by: Text = ""
    at: Text = ""


class JobRecordAnswer(Answer, frozen=True, kw_only=True):
    """The run as it is to be kept: with what was recorded, and bent where it was only planned."""

    run: JobRun


def job_record(request: JobRecordRequest, _: Known) -> JobRecordAnswer:
    """Hold the record to the run's plan. Raises InputError for a piece, bend or place that the run does not have, and
    where nothing is to be recorded; a run that has no plan is not held."""
    run, _at = run_of(request.job, request.run)
    if not request.measured and not request.corrected and not request.note:
        raise InputError(
            "there is nothing to record.", hint="say what was measured or corrected, or write a note", field="measured"
        )
    piece = _piece(request.job, run, request.piece)
    with said_in(piece.tape if piece else style_of(request.job.head.units)):
        measured = readings(piece, request.measured, request.job.head.units, "measured")
        for index, item in enumerate(measured):
            if isinstance(item, ApexRise) and item.rise_mm < 0.0:
                raise InputError(
                    "a rise is not below zero.", hint="measure up from the surface", field=f"measured[{index}].rise"
                )
        for index, correction in enumerate(request.corrected):
            if piece:
                with below(f"corrected[{index}]"):
                    check_bend(piece.arcs, correction.number)
    return JobRecordAnswer(run=_recorded(request, run, AsBent(piece=request.piece, measured=measured)))


def _recorded(request: JobRecordRequest, run: JobRun, seen: AsBent) -> JobRun:
    note, by, at = request.note, request.by, request.at
    if seen.measured or not request.corrected:
        seen = msgspec.structs.replace(seen, note=note, by=by, at=at)
        run = msgspec.structs.replace(run, as_bent=(*run.as_bent, seen))
    if request.corrected:
        moves = tuple(MoveMade(number=c.number, by_rad=radians(c.by_deg)) for c in request.corrected)
        made = TweakMade(piece=request.piece, moves=moves, note=note, by=by, at=at)
        run = msgspec.structs.replace(run, tweaks=(*run.tweaks, made))
    bent = (seen.measured or request.corrected) and run.status in ("measured", "planned")
    return msgspec.structs.replace(run, status="bent") if bent else run


def _piece(job: Job, run: JobRun, number: int) -> Bent | None:
    """The piece as planned; None where the run has no plan."""
    try:
        plan = plan_one(run, job.head)
    except RacewrightError:
        return None
    count = len(plan.pieces)
    if number > count:
        raise InputError(
            f"piece {number} was named, and the run has {count} piece{'' if count == 1 else 's'}.",
            hint="pieces count from end A, the first is 1",
            field="piece",
        )
    piece = plan.pieces[number - 1]
    return bent_as_planned(plan, piece)
