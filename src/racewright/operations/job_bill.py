"""What a job needs: the whole job, by area and by run."""

from __future__ import annotations

import msgspec

from racewright.cautions import cautions_for
from racewright.job.materials import billed
from racewright.job.plan_job import plan_job
from racewright.operations.common import Answer
from racewright.operations.jobs import JobRequest, left_out
from racewright.operations.known import Known
from racewright.takeoff.bill_model import Bill, RacewayCuts


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
