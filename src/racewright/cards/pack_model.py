"""What the hand-over pack is made from: the records of a job, its plans, its bill; and what comes of it."""

from __future__ import annotations

import msgspec

from racewright.drawing.scene import Box, Scene
from racewright.errors import Finding
from racewright.job.bench_list import BenchList, bench_list
from racewright.job.left_out import left_out_of_bill, left_out_of_cuts
from racewright.job.materials import from_sticks, job_tape, run_materials
from racewright.job.plan_job import PlannedRun
from racewright.plan.model import Plan
from racewright.records.entry import NOT_BENT
from racewright.records.model import Job, JobRun
from racewright.takeoff.bill_model import JobBill, RacewayCuts, RunMaterials
from racewright.takeoff.price_names import prices_of_another_measure
from racewright.units.tape import TapeStyle


class Pack(msgspec.Struct, frozen=True, kw_only=True):
    """All of it: `runs` are those of the job that it tells of. `made_on` (a date) and `made_by` are printed as they
    are; '' leaves room to write them in. `bill`: None where no run has a plan. `only`: the area that it is of, if it is
    not of the whole job; `elsewhere`: so many runs of other areas are left out."""

    job: Job
    runs: tuple[PlannedRun, ...]
    made_on: str = ""
    made_by: str = ""
    bill: JobBill | None = None
    only: str = ""
    elsewhere: int = 0

    @property
    def title(self) -> str:
        """The job's name."""
        return self.job.head.name

    @property
    def all_of_it(self) -> str:
        """What its totals are of: 'whole job', else the one area."""
        return self.only or "whole job"

    @property
    def tape(self) -> TapeStyle:
        """How lengths of the whole job read."""
        return job_tape(self.job.head)

    @property
    def cuts(self) -> tuple[RacewayCuts, ...]:
        """The cut lists that the bill counts by."""
        return self.bill.cuts if self.bill else ()

    @property
    def counted(self) -> tuple[tuple[Plan, RunMaterials], ...]:
        """The runs that the bill counts, each with what it needs."""
        return tuple((plan, run_materials(run, plan, self.job)) for run, plan in from_sticks(self.in_order))

    @property
    def bench(self) -> BenchList:
        """What of it is still to be bent."""
        return bench_list(self.job, self.in_order, NOT_BENT)

    @property
    def not_in_bill(self) -> tuple[str, ...]:
        """What its bill leaves out."""
        return (*self._not_here, *left_out_of_bill(self.job, self.in_order, self.bill))

    @property
    def prices_of_another_measure(self) -> tuple[Finding, ...]:
        """The prices that lines of its bill cannot take."""
        return tuple(prices_of_another_measure(self.job.prices.items, self.bill.job)) if self.bill else ()

    @property
    def not_in_cuts(self) -> tuple[str, ...]:
        """What its cut list leaves out."""
        return (*self._not_here, *left_out_of_cuts(self.job, self.in_order, self.cuts, self.tape, again=True))

    @property
    def not_included(self) -> tuple[str, ...]:
        """What either leaves out, each once."""
        return tuple(dict.fromkeys((*self.not_in_cuts, *self.not_in_bill)))

    @property
    def _not_here(self) -> tuple[str, ...]:
        if not self.elsewhere:
            return ()
        runs = "1 run" if self.elsewhere == 1 else f"{self.elsewhere} runs"
        return (
            f"This is of {self.only} alone: {runs} of other areas are left out. What the job itself names, and has on"
            " hand, is counted whole.",
        )

    @property
    def areas(self) -> tuple[str, ...]:
        """The areas in the order in which runs name them."""
        return tuple(dict.fromkeys(run.area for run in self.runs))

    @property
    def in_order(self) -> tuple[PlannedRun, ...]:
        """The runs as the pack lists them: area by area."""
        return tuple(run for area in self.areas for run in self.runs if run.area == area)


class Entry(msgspec.Struct, frozen=True, kw_only=True):
    """A place in the pack: its heading, the page it begins on (from 1), and whether it stands below another."""

    title: str
    page: int
    level: int = 0


class Link(msgspec.Struct, frozen=True, kw_only=True):
    """A place on page `page` (from 1) that leads to page `target` (from 1)."""

    page: int
    box: Box
    target: int


class PackDocument(msgspec.Struct, frozen=True, kw_only=True):
    """The finished pack: its pages, its outline and its links. `first_pages`: run's key -> page its card begins on."""

    scene: Scene
    outline: tuple[Entry, ...]
    links: tuple[Link, ...]
    first_pages: dict[str, int]


def named_plan(run: JobRun, plan: Plan, *, key: bool = True) -> Plan:
    """The run's plan under the name that its card bears: its `key` before it, behind it how many are alike."""
    name = plan.name if not key or plan.name.startswith(run.key) else f"{run.key}  {plan.name}"
    return msgspec.structs.replace(plan, name=f"{name}, {run.alike}" if run.alike else name)


def short_name(name: str, area: str) -> str:
    """The name without the area that it begins with: under the area's heading it need not be said again."""
    head, comma, rest = name.partition(", ")
    return rest if comma and area and head.casefold() == area.casefold() else name


def wire_lines(run: JobRun) -> tuple[str, ...]:
    """What is pulled into the run, in words; the survey's wires where the run names none of its own."""
    if run.wires:
        return tuple(
            " ".join(part for part in (f"{w.count} × {w.size}", w.insulation, w.material, w.colour) if part)
            for w in run.wires
        )
    return tuple(str(wire) for wire in run.survey.run.wires)
