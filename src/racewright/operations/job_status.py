"""How far the runs of a job are and what is known of their plans; what is not known, planned now."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Annotated

import msgspec

from racewright.cautions import cautions_for
from racewright.errors import Finding
from racewright.job.plan_job import RunSummary, chunks_of, plan_chunk, run_digest
from racewright.operations.common import Answer, Known, Part
from racewright.operations.jobs import JobRequest, JobsRequest
from racewright.records.model import STATUSES, Job, JobRun, Status
from racewright.units.tape import format_length, style_of

Revision = Annotated[int, msgspec.Meta(ge=0)]


class JobStatusRequest(JobRequest, frozen=True, kw_only=True):
    """How far every run is. `revisions`: at which revision each run stands where it is kept; the answer tells it."""

    revisions: dict[str, Revision] = msgspec.field(default_factory=dict)


class RunRow(Part, frozen=True, kw_only=True):
    """One run. `becomes`: its status by what is known of its plan. `as_bent`: how often a bent piece was measured.
    `length`: the finished run along its axis, as its tape shows it. `plan` None: not planned, or not known here."""

    run: str
    name: str
    area: str
    raceway: str
    status: Status
    becomes: Status
    revision: int
    as_bent: int
    length: str
    plan: RunSummary | None


class JobStatusAnswer(Answer, frozen=True, kw_only=True):
    """The runs in the job's order; `areas` in the order of the bill; how many runs have each status."""

    name: str
    areas: tuple[str, ...]
    runs: tuple[RunRow, ...]
    status: dict[Status, int]


class JobRow(Part, frozen=True, kw_only=True):
    """One job: how many runs, and how many have each status (those that none has are left out)."""

    job: str
    name: str
    runs: int
    status: dict[Status, int]


class JobsAnswer(Answer, frozen=True, kw_only=True):
    """The jobs in the order in which they were given."""

    jobs: tuple[JobRow, ...]


def job_status(request: JobStatusRequest, known: Known) -> JobStatusAnswer:
    """Every run with its status and what is known of its plan; nothing is planned for it."""
    head = request.job.head
    return status_of(
        request.job,
        {run.key: found for run in request.job.runs if (found := known.plans.get(run_digest(run, head)))},
        request.revisions,
    )


def jobs(request: JobsRequest, _: Known) -> JobsAnswer:
    """How far each job is."""
    rows = []
    for key, job in request.jobs.items():
        count = _counted(run.status for run in job.runs)
        rows.append(
            JobRow(job=key, name=job.head.name, runs=len(job.runs), status={s: n for s, n in count.items() if n})
        )
    return JobsAnswer(jobs=tuple(rows))


def status_of(job: Job, plans: Mapping[str, RunSummary], revisions: Mapping[str, int]) -> JobStatusAnswer:
    """The answer from what is known of the plans, by the runs' keys."""
    return JobStatusAnswer(
        name=job.head.name,
        areas=tuple(area.name for area in job.head.areas),
        runs=tuple(_row(run, plans.get(run.key), revisions.get(run.key, 0)) for run in job.runs),
        status=_counted(run.status for run in job.runs),
        findings=tuple(_trouble(found) for run in job.runs if (found := plans.get(run.key)) and found.message),
        cautions=cautions_for("plan"),
    )


def _counted(statuses: Iterable[Status]) -> dict[Status, int]:
    count = Counter(statuses)
    return {status: count[status] for status in STATUSES}


def _row(run: JobRun, plan: RunSummary | None, revision: int) -> RunRow:
    becomes = run.status
    if plan is not None and run.status in ("measured", "planned"):
        becomes = "planned" if plan.outcome == "planned" else "measured"
    style = style_of(run.survey.units, run.survey.fraction)
    return RunRow(
        run=run.key,
        name=run.name,
        area=run.area,
        raceway=run.raceway,
        status=run.status,
        becomes=becomes,
        revision=revision,
        as_bent=len(run.as_bent),
        length=format_length(plan.developed_length_mm, style) if plan and plan.pieces else "",
        plan=plan,
    )


def _trouble(plan: RunSummary) -> Finding:
    """Why a run has no plan, or the first problem that its plan has."""
    return Finding(
        rule="job.plan",
        severity="problem",
        message=("" if plan.outcome == "problem" else f"{plan.outcome}: ")
        + plan.message
        + (f" hint: {plan.hint}" if plan.hint else ""),
        where=plan.key,
    )


class JobPlanRequest(JobStatusRequest, frozen=True, kw_only=True):
    """Plan every run. `again`: also those whose plan is known."""

    again: bool = False


class JobPlanAnswer(JobStatusAnswer, frozen=True, kw_only=True):
    """How the planning of every run went; `planned_now`: so many were not known before."""

    planned_now: int


def job_plan(request: JobPlanRequest, known: Known) -> JobPlanAnswer:
    """Plan what is not planned yet, by `known.workers` where the asker has some. A run without a plan is a finding."""
    head, runs = request.job.head, request.job.runs
    plans = {}
    for run in () if request.again else runs:
        if (found := known.plans.get(run_digest(run, head))) is not None:
            plans[run.key] = found
    todo = [run for run in runs if run.key not in plans]
    chunks = chunks_of(head, todo)
    for part in known.workers(chunks) if known.workers else map(plan_chunk, chunks):
        plans.update((found.key, found) for found in part)
    answer = status_of(request.job, plans, request.revisions)
    return JobPlanAnswer(**{name: getattr(answer, name) for name in answer.__struct_fields__}, planned_now=len(todo))
