"""What a job needs, and how its conduit is cut: the bill and the cut list."""

from __future__ import annotations

from typing import Annotated

import msgspec

from racewright.cautions import cautions_for
from racewright.errors import LimitError
from racewright.job.materials import billed, cuts_of, to_cut
from racewright.job.plan_job import plan_job
from racewright.operations.common import Answer, Known, Name, TapeUnit
from racewright.operations.jobs import JobRequest, left_out
from racewright.takeoff.bill_model import Bill, RacewayCuts
from racewright.takeoff.cutting_model import Least


class JobBillRequest(JobRequest, frozen=True, kw_only=True):
    """What the job needs, with its own prices and hours."""


class JobBillAnswer(Answer, frozen=True, kw_only=True):
    """The bill of the job called `name`, of its areas and of its runs; `cuts`: the cut lists that its sticks come from.
    The money of all areas, and of all runs, adds up to the job's."""

    name: str
    job: Bill
    areas: tuple[Bill, ...]
    runs: tuple[Bill, ...]
    currency: str
    wire_waste_percent: float
    cuts: tuple[RacewayCuts, ...]


def job_bill(request: JobBillRequest, _: Known) -> JobBillAnswer:
    """Plan every run and add up what they need. Raises InputError, LimitError for what no stick can give."""
    planned = list(plan_job(request.job))
    bill = billed(request.job, planned)
    whole = bill.job
    unpriced = whole.unpriced if whole.material is not None else ()
    return JobBillAnswer(
        name=request.job.head.name,
        **msgspec.structs.asdict(bill),
        findings=left_out(planned),
        not_included=(f"without a price, left out of the money: {'; '.join(unpriced)}",) if unpriced else (),
        cautions=cautions_for("order"),
    )


class JobCutRequest(JobRequest, frozen=True, kw_only=True):
    """The cut list of the runs that are not bent yet, or of all. `raceway`: only this one. `least`: buy the fewest
    sticks, or the least length. `effort`: 0 quick, 1 usual, up to 5: longer. `prove`: by an outside solver."""

    all: bool = False
    raceway: Name = ""
    least: Least = "sticks"
    effort: Annotated[int, msgspec.Meta(ge=0, le=5)] = 1
    prove: bool = False


class JobCutAnswer(Answer, frozen=True, kw_only=True):
    """A cut list for each raceway, to be read on a tape in `units`. `not_included`: a proof that could not be had."""

    units: TapeUnit
    cuts: tuple[RacewayCuts, ...]


def job_cut(request: JobCutRequest, _: Known) -> JobCutAnswer:
    """Plan the runs and cut their pieces. Raises InputError, LimitError, MissingExtra for a proof without a solver."""
    job = request.job
    wanted = job.runs if request.all else to_cut(job.runs)
    planned = list(plan_job(msgspec.structs.replace(job, runs=wanted)))
    cuts = cuts_of(job, planned, raceway=request.raceway, least=request.least, effort=request.effort)
    unproved: list[str] = []
    return JobCutAnswer(
        units=job.head.units,
        cuts=tuple(_proved(one, unproved) for one in cuts) if request.prove else cuts,
        findings=left_out(planned),
        not_included=tuple(unproved),
        cautions=cautions_for("cut"),
    )


def _proved(cuts: RacewayCuts, unproved: list[str]) -> RacewayCuts:
    """With the outside solver's bound; a list that is too fine for it keeps its own."""
    from racewright.takeoff.proof import prove

    try:
        return msgspec.structs.replace(cuts, plan=prove(cuts.plan))
    except LimitError as err:
        unproved.append(f"{cuts.raceway}: not proved: {err.message}" + (f" hint: {err.hint}" if err.hint else ""))
        return cuts
