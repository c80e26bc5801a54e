"""One run of a job: what was written down about it, and its card."""

from __future__ import annotations

from racewright.cards.run_words import as_built_lines, wire_lines
from racewright.cards.text.bend_card import text_card
from racewright.errors import InputError, RacewrightError
from racewright.job.plan_job import plan_one
from racewright.operations.common import Answer
from racewright.operations.jobs import JobRequest
from racewright.operations.known import Known
from racewright.records.model import Job, JobRun, Key, Status


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
    try:
        plan = plan_one(run, request.job.head.benders)
    except RacewrightError as err:
        err.field = f"{at}.survey.{err.field}".rstrip(".")
        raise
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
