"""How far the runs of a job are and what is known of their plans; what is not known, planned now."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import chain
from typing import Annotated

import msgspec

from racewright.cautions import cautions_for
from racewright.errors import Finding
from racewright.job.plan_job import RunSummary, chunks_of, not_finished, plan_chunk, plan_one, run_digest
from racewright.operations.common import Answer, Known, Part
from racewright.operations.jobs import JobRequest, JobsRequest, about_records, areas_unlisted
from racewright.records.entry import NOT_BENT, Readings, Status, counted
from racewright.records.far_off import tells_bends
from racewright.records.ids import Id
from racewright.records.model import Job, JobRun
from racewright.records.naming import told_apart
from racewright.records.of_plan import of_digests
from racewright.records.other_marks import may_differ
from racewright.records.read_otherwise import read_otherwise
from racewright.records.superseded import against_card
from racewright.units.tape import format_length, style_of

Revision = Annotated[int, msgspec.Meta(ge=0)]


class JobStatusRequest(JobRequest, frozen=True, kw_only=True):
    """How far every run is. `revisions`: at which revision each run stands where it is kept, by the run's id; the
    answer tells it."""

    revisions: dict[str, Revision] = msgspec.field(default_factory=dict)


class RunRow(Part, frozen=True, kw_only=True):
    """One run: its key (with the beginning of its id behind it where two runs share it) and its id. `status`: how far
    all its copies are, `statuses` each of them; `becomes`: what that of the copies that are not bent is by what is
    known of its plan. `readings`: how often a bent piece was measured. `length`: the finished run
    along its axis, as its tape shows it. `plan` None: not planned, or not known here."""

    run: str
    id: Id
    name: str
    area: str
    raceway: str
    status: Status
    becomes: Status
    statuses: tuple[Status, ...]
    revision: int
    readings: int
    length: str
    plan: RunSummary | None


class JobStatusAnswer(Answer, frozen=True, kw_only=True):
    """The runs in the job's order; `areas` in the order of the bill, then those that only runs name; how many runs,
    each copy counted, have each status, and how many of those measured are still to be measured to the end (`open`)."""

    name: str
    areas: tuple[str, ...]
    runs: tuple[RunRow, ...]
    status: dict[Status, int]
    open: int


class JobRow(Part, frozen=True, kw_only=True):
    """One job: how many runs, each copy counted, how many have each status (those that none has are left out), and how
    many of those measured are still to be measured to the end (`open`)."""

    job: str
    name: str
    runs: int
    status: dict[Status, int]
    open: int


class JobsAnswer(Answer, frozen=True, kw_only=True):
    """The jobs in the order in which they were given."""

    jobs: tuple[JobRow, ...]


def job_status(request: JobStatusRequest, known: Known) -> JobStatusAnswer:
    """Every run with its status and what is known of its plan; nothing is planned for it but a run of which new marks,
    or bends by other marks, are to be told, angles are recorded, or readings cannot both be right. What is still to be
    measured is known without a plan."""
    job = request.job
    known_here = ((run.id, known.plans.get(run_digest(run, job)) or not_finished(run, job)) for run in job.runs)
    return status_of(request.job, {run_id: found for run_id, found in known_here if found}, request.revisions)


def jobs(request: JobsRequest, _: Known) -> JobsAnswer:
    """How far each job is."""
    rows = []
    for key, job in request.jobs.items():
        count = counted(chain.from_iterable(job.statuses(run) for run in job.runs))
        found = {s: n for s, n in count.items() if n}
        open_runs = sum(
            job.statuses(run).count("measured")
            for run in job.runs
            if (left := not_finished(run, job)) and left.outcome == "to measure"
        )
        rows.append(JobRow(job=key, name=job.head.name, runs=sum(count.values()), status=found, open=open_runs))
    return JobsAnswer(jobs=tuple(rows))


def status_of(job: Job, plans: Mapping[Id, RunSummary], revisions: Mapping[Id, int]) -> JobStatusAnswer:
    """The answer from what is known of the plans, by the runs' ids."""
    apart = told_apart(job)
    rows = tuple(_row(apart, run, plans.get(run.id), revisions.get(run.id, 0)) for run in apart.runs)
    return JobStatusAnswer(
        name=job.head.name,
        areas=(*(area.name for area in job.head.areas), *areas_unlisted(job)),
        runs=rows,
        status=counted(chain.from_iterable(row.statuses for row in rows)),
        open=sum(row.statuses.count("measured") for row in rows if row.plan and row.plan.outcome == "to measure"),
        findings=(
            *about_records(job),
            *(trouble(row.run, row.plan) for row in rows if row.plan and row.plan.message),
            *(found for run in apart.runs for found in _against_card(apart, run, plans.get(run.id))),
        ),
        cautions=cautions_for("plan"),
    )


def _row(job: Job, run: JobRun, plan: RunSummary | None, revision: int) -> RunRow:
    statuses, status = job.statuses(run), job.status(run)
    becomes = status
    if plan is not None and status in NOT_BENT:
        becomes = "planned" if plan.outcome == "planned" else "measured"
    style = style_of(run.survey.units, run.survey.fraction)
    return RunRow(
        run=run.key,
        id=run.id,
        name=run.name,
        area=run.area,
        raceway=run.raceway,
        status=status,
        becomes=becomes,
        statuses=statuses,
        revision=revision,
        readings=sum(isinstance(entry.what, Readings) for entry in job.entries_of(run)),
        length=format_length(plan.developed_length_mm, style) if plan and plan.pieces else "",
        plan=plan,
    )


def _against_card(job: Job, run: JobRun, plan: RunSummary | None) -> tuple[Finding, ...]:
    entries = job.entries_of(run)
    if plan is None and (tells_bends(entries) or read_otherwise(run, entries, "", ())):
        # how its pieces are called, whether new marks are of its card, and what a bend should have, the plan alone says
        plan = plan_chunk(chunks_of(job, [run])[0])[0]
    now = plan.marks if plan and plan.outcome != "fault" else None
    entries = of_digests(entries, plan.marks, plan.marks_before, plan.bends_planned) if plan else entries
    # what its marks reckon with, the whole plan alone says
    whole = plan_one(run, job) if now and may_differ(run, entries, now) else None
    return against_card(run, entries, now, plan.bends_planned if plan else (), whole)


def trouble(run: str, plan: RunSummary) -> Finding:
    """Why a run has no plan, or the first problem that its plan has."""
    return Finding(
        rule="job.open" if plan.outcome == "to measure" else "job.plan",
        severity="problem",
        message=("" if plan.outcome in ("problem", "to measure") else f"{plan.outcome}: ")
        + plan.message
        + (f" hint: {plan.hint}" if plan.hint else ""),
        where=run,
    )


class JobPlanRequest(JobStatusRequest, frozen=True, kw_only=True):
    """Plan every run. `again`: also those whose plan is known."""

    again: bool = False


class JobPlanAnswer(JobStatusAnswer, frozen=True, kw_only=True):
    """How the planning of every run went; `planned_now`: so many were not known before."""

    planned_now: int


def job_plan(request: JobPlanRequest, known: Known) -> JobPlanAnswer:
    """Plan what is not planned yet, by `known.workers` where the asker has some. A run without a plan is a finding."""
    job, runs = request.job, request.job.runs
    digests = {run.id: run_digest(run, job) for run in runs}
    plans = {} if request.again else {d: found for d in digests.values() if (found := known.plans.get(d))}
    todo = [run for run in runs if digests[run.id] not in plans]
    chunks = chunks_of(job, todo)
    for part in known.workers(chunks) if known.workers else map(plan_chunk, chunks):
        plans.update((found.digest, found) for found in part)
    by_run = {run_id: found for run_id, d in digests.items() if (found := plans.get(d))}
    answer = status_of(request.job, by_run, request.revisions)
    return JobPlanAnswer(**{name: getattr(answer, name) for name in answer.__struct_fields__}, planned_now=len(todo))
