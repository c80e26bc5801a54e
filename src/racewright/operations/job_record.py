"""What was measured and corrected on a bent piece, held to the run and added to its record."""

from __future__ import annotations

from math import radians
from typing import Annotated

import msgspec

from racewright.errors import InputError, RacewrightError
from racewright.fit.measured import ApexRise, check_bend
from racewright.job.plan_job import plan_one
from racewright.operations.bent import Bent, readings
from racewright.operations.common import Answer, Request
from racewright.operations.job_run import run_of
from racewright.operations.jobs import JobRequest
from racewright.operations.known import Known
from racewright.records.measured import BendNumber, Degrees, PieceNumber, Reading
from racewright.records.model import AsBent, Job, JobRun, Key, MoveMade, Text, TweakMade
from racewright.units.said import said_in
from racewright.units.tape import style_of


class Correction(Request, frozen=True, kw_only=True):
    """A correction that was made: bend `number` closed by so many degrees (negative: opened)."""

    number: BendNumber
    by_deg: Degrees


class JobRecordRequest(JobRequest, frozen=True, kw_only=True):
    """Add to the record of `run` what was measured and what was corrected on one of its pieces, who says so and when.
    Lengths without a unit are in the job's."""

    run: Key
    piece: PieceNumber = 1
    measured: Annotated[tuple[Reading, ...], msgspec.Meta(max_length=60)] = ()
    corrected: Annotated[tuple[Correction, ...], msgspec.Meta(max_length=60)] = ()
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
            try:
                if piece:
                    check_bend(piece.arcs, correction.number)
            except InputError as err:
                err.field = f"corrected[{index}].number"
                raise
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
        plan = plan_one(run, job.head.benders)
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
    return Bent(plan, piece, piece.piece)
