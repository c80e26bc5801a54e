"""What a job is made of. Inputs only: plans, bills and cutting lists are derived from it and never stored in it.

Lengths and money stay text as the person wrote them ('31 5/16', '795 mm', '14.20'); plain numbers are in the job's
`units`. A run's survey is a survey file as data, with its own `units`. How far a run has come, and what was seen and
done on it, are entries of their own (`records/entry.py`).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Annotated, Literal

import msgspec

from racewright.fit.measured import BendNumber
from racewright.records.bends_left import reopened
from racewright.records.entry import (
    NO_PINS,
    NOT_BENT,
    Corrected,
    Entry,
    Made,
    Readings,
    Status,
    as_read,
    by_copy,
    called_anew,
    least_status,
    statuses_by,
)
from racewright.records.fields import Count, Input, Key, Name, Percent, Some, Text, Times
from racewright.records.ids import Id, new_id
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, Prices
from racewright.records.tool import ToolAt, ToolPin
from racewright.survey.draft import is_finished
from racewright.survey.written import LengthText, Written, WrittenSurvey

Degrees = Annotated[float, msgspec.Meta(ge=-180.0, le=180.0)]
LeanWay = Literal["up", "down", "left", "right"]
EndWay = Literal["up", "down", "left", "right", "long", "short"]


class OffReading(Input, frozen=True, kw_only=True, tag_field="what", tag="off"):
    """The piece is off by so much that way at `station` along it from end A ('' = at end B): long and short are along
    the first leg, beyond end B and back from it. Daylight under the conduit is off 'up' at its station."""

    way: EndWay
    off: LengthText
    station: LengthText = ""


class RiseReading(Input, frozen=True, kw_only=True, tag_field="what", tag="rise"):
    """The rise measured under the middle of bend `number` (None: the piece's one saddle center, or its only bend),
    from the surface the first leg lies on to the conduit's underside."""

    rise: LengthText
    number: BendNumber | None = None


class LeanReading(Input, frozen=True, kw_only=True, tag_field="what", tag="lean"):
    """The last leg leans that way by so many degrees more than it should."""

    way: LeanWay
    lean_deg: Degrees


class AngleReading(Input, frozen=True, kw_only=True, tag_field="what", tag="angle"):
    """The angle that bend `number` really has, read with a level after letting go."""

    number: BendNumber
    angle_deg: Degrees


Reading = OffReading | RiseReading | LeanReading | AngleReading


class MadeReading(Input, frozen=True, kw_only=True):
    """A bend that is made already, as measured; what is left out is as planned. `mark` is where the plan's reference
    mark really stood, from end A; `start` where the bend begins, instead of the mark; `roll_off_deg` how far its plane
    is off the plan, clockwise seen from end A (a dog-leg)."""

    number: BendNumber
    mark: LengthText = ""
    start: LengthText = ""
    angle_deg: Degrees | None = None
    roll_off_deg: Degrees | None = None


JOB_FORMAT = 4


class Area(Input, frozen=True, kw_only=True):
    """A part of the site: a building, a floor. Runs name it; the order of the list is the order of the bill."""

    name: Name
    note: Text = ""


class Wire(Input, frozen=True, kw_only=True):
    """`count` wires of one size ('12' AWG, '250' kcmil), insulation, metal and colour in one run."""

    size: Name
    count: Some = 1
    colour: Text = ""
    insulation: Name = "THWN-2"
    material: Literal["copper", "aluminum"] = "copper"


class Item(Input, frozen=True, kw_only=True):
    """Something for the bill that no plan shows: a box, a bushing, a cover. `item` is its name in the price list."""

    item: Name
    count: Some = 1


class JobRun(Input, frozen=True, kw_only=True):
    """One run of the job. `key` is its label for people ('PH-07'); where two runs of a job bear the same, that is a
    finding, and their ids tell them apart. `area` is the name of an Area or ''. `times`: so many alike are made, each
    a copy with a number of its own (from 1). `tool`: what it is bent on; None: what its survey says, else the trade's
    shoe. `wire_slack` is added to the wires' length at each end."""

    id: Id = msgspec.field(default_factory=new_id)
    key: Key
    survey: WrittenSurvey
    area: Text = ""
    times: Times = 1
    tool: ToolPin | None = None
    wires: tuple[Wire, ...] = ()
    wire_slack: Written | None = None
    items: tuple[Item, ...] = ()
    note: Text = ""

    @property
    def alike(self) -> str:
        """'20 alike', '' for a run that there is once."""
        return f"{self.times} alike" if self.times > 1 else ""

    @property
    def name(self) -> str:
        """The survey's name for the run: where it goes."""
        return self.survey.run.name

    @property
    def raceway(self) -> str:
        """'EMT 1/2', as written in the survey."""
        return self.survey.run.raceway


#: Bought, as many as are needed; so many there; offcuts of another job.
Stands = Literal["as needed", "on hand", "offcuts"]


class Stock(Input, frozen=True, kw_only=True):
    """Sticks of one raceway ('EMT 1/2') and length. `count` None: bought, as many as are needed; else so many are on
    hand. `offcut`: left of another job, cut from where that saves a new stick. `price` for one stick,
    where it is bought."""

    raceway: Name
    length: Written
    count: Count | None = None
    offcut: bool = False
    price: Written | None = None
    note: Text = ""

    @property
    def stands(self) -> Stands:
        """Whether they are bought, there, or offcuts."""
        return "offcuts" if self.offcut else "as needed" if self.count is None else "on hand"


class Cutting(Input, frozen=True, kw_only=True):
    """`kerf`: what the saw eats. `keep`: an offcut at least so long is kept, a shorter one is scrap."""

    kerf: Written = "1/16 in"
    keep: Written = "24 in"


class JobHead(Input, frozen=True, kw_only=True):
    """Everything of a job but its runs. `wire_waste` is percent."""

    name: Name
    units: Literal["in", "mm"] = "in"
    areas: tuple[Area, ...] = ()
    stock: tuple[Stock, ...] = ()
    cutting: Cutting = Cutting()
    wire_slack: Written = "12 in"
    wire_waste: Percent = 5.0
    items: tuple[Item, ...] = ()
    note: Text = ""


class Job(Input, frozen=True, kw_only=True, dict=True):
    """A whole job: one plain JSON file holds exactly this. The entries stand in the order in which they came in.
    `tools`: those that its runs name, as they stood at the revisions that are named, and as they stand now. `prices`:
    its own, else those of its shop; `people`: those of its shop."""

    id: Id = msgspec.field(default_factory=new_id)
    head: JobHead
    runs: tuple[JobRun, ...] = ()
    entries: tuple[Entry, ...] = ()
    tools: tuple[ToolAt, ...] = ()
    prices: Prices = NO_PRICES
    people: tuple[Person, ...] = ()
    racewright_job: Annotated[int, msgspec.Meta(ge=JOB_FORMAT, le=JOB_FORMAT)] = JOB_FORMAT

    @cached_property
    def _by_run(self) -> dict[Id, list[Entry]]:
        found: dict[Id, list[Entry]] = {}
        for entry in as_read(self.entries):
            found.setdefault(entry.run, []).append(entry)
        return found

    def entries_of(self, run: JobRun) -> tuple[Entry, ...]:
        """What was seen and done on this run, oldest first."""
        return tuple(self._by_run.get(run.id, ()))

    def status(self, run: JobRun) -> Status:
        """How far this run has come, all its copies: 'measured' unless an entry says otherwise, and while readings that
        a plan needs are still to be taken."""
        return least_status(self.statuses(run))

    def statuses(self, run: JobRun) -> tuple[Status, ...]:
        """How far each copy of this run has come: see `statuses_of`."""
        return statuses_of(run, self._by_run.get(run.id, ()))

    def said_of(self, run: JobRun) -> tuple[Status, ...]:
        """How far each copy of this run has come by the last that somebody, or work, said."""
        return statuses_by(self._by_run.get(run.id, ()), run.times)

    def tool_of(self, run: JobRun) -> ToolAt | None:
        """The tool that the run names, as it stood then; None where it names none, or the job does not hold it."""
        return next((tool for tool in self.tools if tool.pin == run.tool), None)

    def newer_tool(self, run: JobRun) -> ToolAt | None:
        """That tool as it was measured since; None where it was not."""
        newest = max(
            (t for t in self.tools if run.tool and t.id == run.tool.id), key=lambda t: t.revision, default=None
        )
        return newest if newest and run.tool and newest.revision > run.tool.revision else None

    def is_begun(self, run: JobRun) -> bool:
        """Whether the run is marked or bent, in any of its copies, as far as its entries say."""
        return bool(self.copies_begun(run))

    def copies_begun(self, run: JobRun) -> tuple[int, ...]:
        """The copies that are marked or bent, as far as the run's entries say, since they were last set back."""
        return tuple(
            copy
            for (copy, of), status in zip(by_copy(self.entries_of(run), run.times), self.statuses(run), strict=True)
            if status not in NOT_BENT or any(isinstance(entry.what, Made | Readings | Corrected) for entry in of)
        )

    def tool_words(self, run: JobRun) -> str:
        """'blue half, revision 2': the tool that the run is planned on, where it names one; else ''."""
        named = self.tool_of(run) if run.survey.run.bend_radius in (None, "") else None
        return f"{named.name}, revision {named.revision}" if named else ""

    def of_no_revision(self) -> Job:
        """The same job outside its shop file: what revision its entries were made on is not known there, as the numbers
        of its runs' revisions begin anew."""
        pins = (msgspec.structs.replace(entry.pins, run=0) for entry in self.entries)
        # the one that is left out when written
        said = (NO_PINS if one == NO_PINS else one for one in pins)
        entries = (msgspec.structs.replace(e, pins=one) for e, one in zip(self.entries, said, strict=True))
        return msgspec.structs.replace(self, entries=tuple(entries))

    def with_new_ids(self) -> Job:
        """The same job under ids of its own, its entries with the runs that they are of."""
        runs = {run.id: new_id() for run in self.runs}
        entries = {entry.id: new_id() for entry in self.entries}
        return msgspec.structs.replace(
            self,
            id=new_id(),
            runs=tuple(msgspec.structs.replace(run, id=runs[run.id]) for run in self.runs),
            entries=tuple(called_anew(msgspec.structs.replace(e, run=runs[e.run]), entries) for e in self.entries),
        )


def statuses_of(run: JobRun, entries: Sequence[Entry]) -> tuple[Status, ...]:
    """How far each copy of a run has come by these entries of it, oldest first: as it was said, but planned where it is
    bent and new marks that were kept since want more of it bent; measured while readings that a plan needs are still to
    be taken."""
    said = statuses_by(entries, run.times)
    if "bent" in said:
        copies = zip(said, by_copy(entries, run.times), strict=True)
        said = tuple("planned" if status == "bent" and reopened(of) else status for status, (_, of) in copies)
    if "planned" not in said or is_finished(run.survey):
        return said
    return tuple("measured" if status == "planned" else status for status in said)
