"""The kits of a job: what goes to each room."""

from __future__ import annotations

from racewright.cards.takeoff_tables import kit_tables
from racewright.cautions import cautions_for
from racewright.job.left_out import left_out_of_kits
from racewright.job.materials import job_tape, materials_of
from racewright.job.plan_job import plan_job
from racewright.operations.as_tables import ListAnswer, ListRequest, listed
from racewright.operations.common import Known, Name, TapeUnit
from racewright.operations.jobs import about_records, in_areas, only_area, problems_of
from racewright.records.naming import told_apart
from racewright.takeoff.kits import Kit, make_kits


class JobKitsRequest(ListRequest, frozen=True, kw_only=True):
    """What goes to each room of the job, or of one `area` alone."""

    area: Name = ""


class JobKitsAnswer(ListAnswer, frozen=True, kw_only=True):
    """The kits of the job called `name`, their lengths to be read on a tape in `units`; wire holds `wire_waste_percent`
    for waste."""

    name: str
    units: TapeUnit
    wire_waste_percent: float
    kits: tuple[Kit, ...]


def job_kits(request: JobKitsRequest, _: Known) -> JobKitsAnswer:
    """Plan every run and put together what each room needs. Raises UnknownName for an area that no run has,
    InputError."""
    job = only_area(told_apart(request.job), request.area)
    planned = in_areas(job, list(plan_job(job, choices=False)))
    materials = [one for one in materials_of(job, planned) if one.run or not request.area]
    tape, waste = job_tape(job.head), job.head.wire_waste
    kits = make_kits(materials, tape, wire_waste_percent=waste)
    answer = JobKitsAnswer(
        name=job.head.name,
        units=job.head.units,
        wire_waste_percent=waste,
        kits=kits,
        findings=(*about_records(request.job), *problems_of(planned)),
        not_included=left_out_of_kits(job, planned, area=request.area),
        cautions=cautions_for("order"),
    )
    return listed(answer, request, kit_tables(kits, tape))
