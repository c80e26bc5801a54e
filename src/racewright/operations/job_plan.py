"""Every run of a job planned: what is known stays known, the rest is worked out now."""

from __future__ import annotations

from racewright.job.plan_job import chunks_of, plan_chunk, run_digest
from racewright.operations.job_status import JobStatusAnswer, JobStatusRequest, status_of
from racewright.operations.known import Known


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
        if (found := known.plans.get(run_digest(run, head.benders))) is not None:
            plans[run.key] = found
    todo = [run for run in runs if run.key not in plans]
    chunks = chunks_of(head, todo)
    for part in known.workers(chunks) if known.workers else map(plan_chunk, chunks):
        plans.update((found.key, found) for found in part)
    answer = status_of(request.job, plans, request.revisions)
    return JobPlanAnswer(**{name: getattr(answer, name) for name in answer.__struct_fields__}, planned_now=len(todo))
