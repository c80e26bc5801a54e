"""What was measured and corrected on a bent piece, held to the run and added to its record."""

from __future__ import annotations

import msgspec

from racewright.bends.model import BentPiece
from racewright.errors import InputError, RacewrightError
from racewright.fit.measured import ApexRise as ApexRise
from racewright.fit.measured import BendAngle as BendAngle
from racewright.fit.measured import LegLean as LegLean
from racewright.fit.measured import Measured as Measured
from racewright.fit.measured import OffAt as OffAt
from racewright.fit.measured import Way as Way
from racewright.fit.measured import check_bend, check_measured
from racewright.job.plan_job import plan_one
from racewright.operations.common import Answer
from racewright.operations.job_run import run_of
from racewright.operations.jobs import JobRequest
from racewright.operations.known import Known
from racewright.plan.model import Plan
from racewright.records.model import AsBent, Job, JobRun, Key, TweakMade
from racewright.units.said import said_in


class JobRecordRequest(JobRequest, frozen=True, kw_only=True):
    """Add to the record of `run` what was measured on one of its pieces (`as_bent`) and what was corrected on it
    (`corrected`), as a job file holds them."""

    run: Key
    as_bent: AsBent | None = None
    corrected: TweakMade | None = None


class JobRecordAnswer(Answer, frozen=True, kw_only=True):
    """The run as it is to be kept: with what was recorded, and bent where it was only planned."""

    run: JobRun


def job_record(request: JobRecordRequest, _: Known) -> JobRecordAnswer:
    """Hold the record to the run's plan. Raises InputError for a piece, bend or place that the run does not have, and
    where nothing is to be recorded; a run that has no plan is not held."""
    run, _at = run_of(request.job, request.run)
    seen, corrected = request.as_bent, request.corrected
    told = seen is not None and (seen.measured or seen.note)
    if not told and (corrected is None or not corrected.moves):
        raise InputError(
            "there is nothing to record.", hint="say what was measured or corrected, or write a note", field="as_bent"
        )
    _check(request.job, run, seen, corrected)
    bent = (seen is not None and seen.measured) or (corrected is not None and corrected.moves)
    return JobRecordAnswer(
        run=msgspec.structs.replace(
            run,
            as_bent=(*run.as_bent, seen) if seen is not None else run.as_bent,
            tweaks=(*run.tweaks, corrected) if corrected is not None else run.tweaks,
            status="bent" if bent and run.status in ("measured", "planned") else run.status,
        )
    )


def _check(job: Job, run: JobRun, seen: AsBent | None, corrected: TweakMade | None) -> None:
    try:
        plan = plan_one(run, job.head.benders)
    except RacewrightError:
        return
    with said_in(plan.tape):
        if seen is not None:
            for item in seen.measured:
                check_measured(_piece(plan, seen.piece), item)
        if corrected is not None:
            for move in corrected.moves:
                check_bend(_piece(plan, corrected.piece), move.number)


def _piece(plan: Plan, number: int) -> BentPiece:
    count = len(plan.pieces)
    if number > count:
        raise InputError(
            f"piece {number} was named, and the run has {count} piece{'' if count == 1 else 's'}.",
            hint="pieces count from end A, the first is 1",
            field="piece",
        )
    return plan.pieces[number - 1].piece
