"""The batch list of a job: what is still to be bent, by tool and angle."""

from __future__ import annotations

from typing import Annotated

import msgspec

from racewright.cards.takeoff_tables import batch_tables
from racewright.cautions import cautions_for
from racewright.job.bench_list import BenchList, bench_list
from racewright.job.left_out import left_out_of_batch
from racewright.job.plan_job import plan_job
from racewright.operations.as_tables import ListAnswer, ListRequest, listed
from racewright.operations.common import Known, Name
from racewright.operations.jobs import about_records, in_areas, only_area, problems_of
from racewright.records.entry import NOT_BENT, Status
from racewright.records.naming import told_apart


class JobBatchRequest(ListRequest, frozen=True, kw_only=True):
    """What is to be bent of the job, or of one `area` alone: the runs, and of runs alike the copies, that have one of
    these statuses (`status`; none named: those that are not bent). `through`: each piece is bent through before the
    next is begun."""

    area: Name = ""
    status: Annotated[tuple[Status, ...], msgspec.Meta(max_length=5)] = ()
    through: bool = False


class JobBatchAnswer(ListAnswer, frozen=True, kw_only=True):
    """The list of the job called `name`. `through`: the kinds are bent in their order, each piece through, and no
    settings are told."""

    name: str
    through: bool
    bench: BenchList


def job_batch(request: JobBatchRequest, _: Known) -> JobBatchAnswer:
    """Plan every run and put like work together. Raises UnknownName for an area that no run has."""
    job = only_area(told_apart(request.job), request.area)
    planned = in_areas(job, list(plan_job(job, choices=False)))
    bench = bench_list(job, planned, request.status or NOT_BENT, through=request.through)
    answer = JobBatchAnswer(
        name=job.head.name,
        through=request.through,
        bench=bench,
        findings=(*about_records(request.job), *problems_of(planned)),
        not_included=left_out_of_batch(planned, bench),
        cautions=cautions_for(*bench.care),
    )
    return listed(answer, request, batch_tables(bench))
