"""What a job or several runs need, and how their conduit is cut: the bill and the cut list."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated

import msgspec

from racewright.cards.takeoff_tables import bill_tables, cut_tables
from racewright.cautions import cautions_for
from racewright.errors import InputError, LimitError
from racewright.job.cut_already import copies_to_cut, to_cut
from racewright.job.left_out import left_out_of_bill, left_out_of_cuts
from racewright.job.materials import billed, cuts_of, job_tape
from racewright.job.plan_job import plan_job
from racewright.operations.as_tables import ListAnswer, ListRequest, PlainTable, listed, plain
from racewright.operations.common import Answer, BenderRecord, Known, Name, Request, TapeUnit
from racewright.operations.jobs import MOST_RUNS, about_records, problems_of
from racewright.operations.planned import check_size
from racewright.operations.which_tool import asked_name
from racewright.records.entry import Entry, Status, StatusSet
from racewright.records.fields import MOST_COPIES, Times
from racewright.records.model import Job, JobHead, JobRun
from racewright.records.naming import told_apart
from racewright.records.tool import ToolAt
from racewright.survey.written import WrittenSurvey
from racewright.takeoff.bill_model import JobBill, RacewayCuts
from racewright.takeoff.cutting_model import Least
from racewright.takeoff.on_hand import offcuts_twice

#: What a phone has room for, of the tables' columns.
_SHOWN_OF_BILL = (1, 2, 3)
_SHOWN_OF_CUTS = (0, 1, 2, 4, 6, 7, 8, 9)


class JobBillRequest(ListRequest, frozen=True, kw_only=True):
    """What the job needs, with its own prices and hours."""


class JobBillAnswer(ListAnswer, frozen=True, kw_only=True):
    """The bill of the job called `name`."""

    name: str
    bill: JobBill


def job_bill(request: JobBillRequest, _: Known) -> JobBillAnswer:
    """Plan every run and add up what they need. Raises InputError, LimitError for what no stick can give."""
    job = told_apart(request.job)
    planned = list(plan_job(job, choices=False))
    bill = billed(job, planned)
    answer = JobBillAnswer(
        name=job.head.name,
        bill=bill,
        findings=(*about_records(request.job), *problems_of(planned), *offcuts_twice(bill.cuts, job_tape(job.head))),
        not_included=left_out_of_bill(job, planned, bill),
        cautions=cautions_for("order"),
    )
    return listed(answer, request, bill_tables(bill))


class JobCutRequest(ListRequest, frozen=True, kw_only=True):
    """The cut list of the runs that are not bent yet, or of all. `raceway`: only this one. `least`: buy the fewest
    sticks, or the least length. `effort`: 0 quick, 1 usual, up to 5: longer. `prove`: by an outside solver."""

    all: bool = False
    raceway: Name = ""
    least: Least = "sticks"
    effort: Annotated[int, msgspec.Meta(ge=0, le=5)] = 1
    prove: bool = False


class JobCutAnswer(ListAnswer, frozen=True, kw_only=True):
    """A cut list for each raceway, to be read on a tape in `units`. `not_included`: a proof that was not had too."""

    units: TapeUnit
    cuts: tuple[RacewayCuts, ...]


def job_cut(request: JobCutRequest, _: Known) -> JobCutAnswer:
    """Plan the runs and cut their pieces. Raises InputError, LimitError, MissingExtra for a proof without a solver."""
    job = told_apart(request.job)
    left = copies_to_cut(job)
    wanted = tuple(run for run in job.runs if request.all or run.key in left)
    planned = list(plan_job(msgspec.structs.replace(job, runs=wanted), choices=False))
    cuts = cuts_of(job, planned, again=request.all, raceway=request.raceway, least=request.least, effort=request.effort)
    unproved: list[str] = []
    told = tuple(_proved(one, unproved) for one in cuts) if request.prove else cuts
    answer = JobCutAnswer(
        units=job.head.units,
        cuts=told,
        findings=(*about_records(request.job), *problems_of(planned), *offcuts_twice(cuts, job_tape(job.head))),
        not_included=(*left_out_of_cuts(job, planned, cuts, job_tape(job.head), again=request.all), *unproved),
        cautions=cautions_for("cut"),
    )
    return listed(answer, request, cut_tables(told, job_tape(job.head)))


def _proved(cuts: RacewayCuts, unproved: list[str]) -> RacewayCuts:
    """With the outside solver's bound; a list that is too fine for it keeps its own."""
    from racewright.takeoff.proof import prove

    try:
        return msgspec.structs.replace(cuts, plan=prove(cuts.plan))
    except LimitError as err:
        unproved.append(f"{cuts.raceway}: not proved: {err.in_sentences}")
        return cuts


class RunToOrder(Request, frozen=True, kw_only=True):
    """One run of those that are ordered together. `bender` is the asker's own shoe for its raceway, else the
    trade's. By its `status` the cut list leaves out what is cut already; of so many `times` alike `bent` of them, be
    they further than the status."""

    key: Annotated[str, msgspec.Meta(min_length=1, max_length=60)]
    survey: WrittenSurvey
    bender: BenderRecord | None = None
    status: Status = "measured"
    times: Times = 1
    bent: Annotated[int, msgspec.Meta(ge=0, le=MOST_COPIES)] = 0


class OrderRequest(Request, frozen=True, kw_only=True):
    """The bill and the cut list of several runs. The first run's unit is the tape's."""

    runs: Annotated[tuple[RunToOrder, ...], msgspec.Meta(min_length=1, max_length=MOST_RUNS)]


class OrderAnswer(Answer, frozen=True, kw_only=True):
    """What to buy and how to cut it, as tables. A run that has no plan is left out; why, and the problems of
    the other runs, are findings by their names."""

    bill: PlainTable
    cuts: PlainTable
    stops: PlainTable
    sums: PlainTable


def order(request: OrderRequest, known: Known) -> OrderAnswer:
    """Plan every run, add up what they need, and cut the pieces of those that are not cut yet.

    Raises InputError for two runs of one key or a raceway that does not exist, LimitError for a run too large.
    """
    keys = [run.key for run in request.runs]
    twice = next((key for i, key in enumerate(keys) if key in keys[:i]), None)
    if twice is not None:
        raise InputError(f"runs: two runs are called '{twice}'.", hint="give each run a key of its own", field="runs")
    for run in request.runs:
        check_size(run.survey)
    tools = {
        run.key: ToolAt(id=f"{i:032x}", revision=1, name=f"own {i}", profile=run.bender)
        for i, run in enumerate(request.runs)
        if run.bender and asked_name(run.bender, "", run.survey)
    }
    for tool in tools.values():
        tool.worked_out()  # refused here where its figures cannot be read
    head = JobHead(name="order", units=request.runs[0].survey.units)
    runs = tuple(_record(run, tools) for run in request.runs)
    entries = [entry for of, run in zip(request.runs, runs, strict=True) for entry in _entries(of, run)]
    job = Job(head=head, runs=runs, entries=tuple(entries), tools=tuple(tools.values()))
    names = {run.key: run.name for run in job.runs}
    planned = list(plan_job(job, choices=False))
    bill = billed(job, planned)
    copies = copies_to_cut(job)
    cutting = [p for p in planned if p.key in copies]
    cuts = cuts_of(job, cutting)
    marks, stops, sums, _ = cut_tables(cuts, job_tape(head))
    return OrderAnswer(
        bill=plain(bill_tables(bill)[0], _SHOWN_OF_BILL),
        cuts=plain(marks, _SHOWN_OF_CUTS),
        stops=plain(stops),
        sums=plain(sums),
        findings=(
            *(msgspec.structs.replace(f, where=names.get(f.where) or f.where) for f in problems_of(planned)),
            *offcuts_twice(bill.cuts, job_tape(head), names),
        ),
        not_included=tuple(
            dict.fromkeys(
                (
                    *left_out_of_cuts(job, cutting, cuts, job_tape(head), names),
                    *left_out_of_bill(job, planned, bill, names, money=False),
                )
            )
        ),
        cautions=cautions_for("order", "cut"),
    )


def _record(run: RunToOrder, tools: Mapping[str, ToolAt]) -> JobRun:
    """The run as a job keeps it, on the asker's own bender where one came along."""
    tool = tools[run.key].pin if run.key in tools else None
    return JobRun(key=run.key, survey=run.survey, times=run.times, tool=tool)


def _entries(run: RunToOrder, kept: JobRun) -> Iterator[Entry]:
    """What is said of how far the run is."""
    yield Entry(run=kept.id, what=StatusSet(status=run.status))
    if to_cut(run.status):
        for copy in range(1, min(run.bent, run.times) + 1):
            yield Entry(run=kept.id, copy=copy, what=StatusSet(status="bent"))
