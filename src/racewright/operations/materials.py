"""What a job needs, and how its conduit is cut: the bill and the cut list."""

from __future__ import annotations

from typing import Annotated

import msgspec

from racewright.cards.takeoff_tables import bill_tables, cut_tables
from racewright.catalogue.raceways import raceway_by_name
from racewright.cautions import cautions_for
from racewright.errors import LimitError, RacewrightError, UnknownName
from racewright.job.cut_already import copies_to_cut
from racewright.job.left_out import left_out_of_bill, left_out_of_cuts
from racewright.job.materials import billed, cuts_of, job_tape, sticks_priced_twice
from racewright.job.plan_job import plan_job
from racewright.operations.as_tables import ListAnswer, ListRequest, listed
from racewright.operations.common import Known, Name, TapeUnit
from racewright.operations.jobs import about_records, in_areas, problems_of
from racewright.records.model import Job
from racewright.records.naming import told_apart
from racewright.takeoff.bill_model import JobBill, RacewayCuts
from racewright.takeoff.cutting_model import Least
from racewright.takeoff.on_hand import offcuts_twice
from racewright.takeoff.on_tape import cards_read
from racewright.takeoff.price_names import prices_of_another_measure, prices_of_nothing


class JobBillRequest(ListRequest, frozen=True, kw_only=True):
    """What the job needs, with its own prices and hours. `item`: one of its price list, to be told of where nothing of
    the job is called so; of the others, those that may be meant for what has no price."""

    item: Name = ""


class JobBillAnswer(ListAnswer, frozen=True, kw_only=True):
    """The bill of the job called `name`."""

    name: str
    bill: JobBill


def job_bill(request: JobBillRequest, _: Known) -> JobBillAnswer:
    """Plan every run and add up what they need. Raises InputError, LimitError for what no stick can give."""
    job = told_apart(request.job)
    planned = in_areas(job, list(plan_job(job, choices=False)))
    bill = billed(job, planned)
    answer = JobBillAnswer(
        name=job.head.name,
        bill=bill,
        findings=(
            *about_records(request.job),
            *problems_of(planned),
            *offcuts_twice(bill.cuts, job_tape(job.head)),
            *sticks_priced_twice(job.head, job.prices),
            *prices_of_another_measure(job.prices.items, bill.job),
            *prices_of_nothing((price.item for price in job.prices.items), bill.job, request.item),
        ),
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
    """Plan the runs and cut their pieces. Raises InputError, LimitError, UnknownName for a raceway that no run is of,
    MissingExtra for a proof without a solver."""
    job = told_apart(request.job)
    raceway = _raceway(job, request.raceway) if request.raceway else ""
    copies = copies_to_cut(job)
    wanted = tuple(run for run in job.runs if request.all or run.key in copies)
    planned = list(plan_job(msgspec.structs.replace(job, runs=wanted), choices=False))
    cuts = cuts_of(job, planned, again=request.all, raceway=raceway, least=request.least, effort=request.effort)
    unproved: list[str] = []
    tape = job_tape(job.head)
    left = left_out_of_cuts(job, planned, cuts, tape, again=request.all, raceway=raceway)
    told = tuple(_proved(one, unproved) for one in cuts) if request.prove else cuts
    answer = JobCutAnswer(
        units=job.head.units,
        cuts=told,
        findings=(
            *about_records(request.job),
            *problems_of(planned),
            *offcuts_twice(cuts, tape),
            *cards_read(cuts),
        ),
        not_included=(*left, *unproved),
        cautions=cautions_for("cut"),
    )
    return listed(answer, request, cut_tables(told, tape))


def _raceway(job: Job, asked: str) -> str:
    """The raceway that is asked for, as plans call it. Raises UnknownName where no run of the job is of it."""
    there = dict.fromkeys(_called(run.raceway) for run in job.runs)
    name = _called(asked)
    if name.casefold() not in {one.casefold() for one in there}:
        names = ", ".join(sorted(there)[:12]) or "none yet"
        raise UnknownName(f"the job has no run of {name}.", hint=f"raceways: {names}", field="raceway", expected=names)
    return name


def _called(raceway: str) -> str:
    try:
        return raceway_by_name(raceway).name
    except RacewrightError:  # of a run that is not finished
        return " ".join(raceway.split())


def _proved(cuts: RacewayCuts, unproved: list[str]) -> RacewayCuts:
    """With the outside solver's bound; a list that is too fine for it keeps its own."""
    from racewright.takeoff.proof import prove

    try:
        return msgspec.structs.replace(cuts, plan=prove(cuts.plan))
    except LimitError as err:
        unproved.append(f"{cuts.raceway}: not proved: {err.in_sentences}")
        return cuts
