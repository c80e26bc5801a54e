"""What older files hold, read only; the ids of what that becomes are made from what it says.

Runs as job files of format 1 and shop files before version 3 have them: with their status, what was measured and what
was corrected inside. Heads as files have them before tools were records (job files of formats 1 and 2, shop files
before version 5): with the profiles of the tools inside, which runs named in their surveys; and before prices and
people were (job files up to format 3, shop files before version 7)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

import msgspec

from racewright.fit.measured import Measured
from racewright.records.entry import Corrected, Entry, MoveMade, Noted, Readings, Status, StatusSet, What
from racewright.records.fields import Input, Key, Name, PieceNumber, Text
from racewright.records.ids import Id, digest, new_id
from racewright.records.model import Item, Job, JobHead, JobRun, Wire
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, Prices
from racewright.records.tool import ToolAt
from racewright.survey.written import Written, WrittenSurvey
from racewright.tools.benders import BenderProfile, as_written
from racewright.tools.written import whole_record

#: What the page called a status before it had those of a job.
STATUS_BEFORE: dict[str, Status] = {"bending": "planned", "in-place": "in"}


class AsBent(Input, frozen=True, kw_only=True):
    """What was measured on one finished piece."""

    piece: PieceNumber = 1
    measured: tuple[Measured, ...]
    by: Text = ""
    at: Text = ""
    note: Text = ""


class TweakMade(Input, frozen=True, kw_only=True):
    """A correction that was made on one finished piece."""

    piece: PieceNumber = 1
    moves: tuple[MoveMade, ...]
    by: Text = ""
    at: Text = ""
    note: Text = ""


class RunBefore(Input, frozen=True, kw_only=True):
    """One run."""

    key: Key
    survey: WrittenSurvey
    area: Text = ""
    status: Status = "measured"
    wires: tuple[Wire, ...] = ()
    wire_slack: Written | None = None
    items: tuple[Item, ...] = ()
    as_bent: tuple[AsBent, ...] = ()
    tweaks: tuple[TweakMade, ...] = ()
    note: Text = ""


class PersonBefore(Input, frozen=True, kw_only=True):
    """How well one person's hands work; plain numbers in the units of the job."""

    name: Name
    mark: Written = "1/16 in"
    angle_deg: float = 1.0
    roll_deg: float = 1.5
    cut: Written = "1/16 in"

    def now(self, units: Literal["in", "mm"]) -> Person:
        """The person as a record of the shop; one of the same name is the same person."""
        person_id = digest("person", self.name.casefold())
        return Person(id=person_id, units=units, **msgspec.structs.asdict(self))


class HeadOfThree(JobHead, frozen=True, kw_only=True):
    """Everything of a job but its runs, with its prices and people."""

    prices: Prices = NO_PRICES
    people: tuple[PersonBefore, ...] = ()

    def now(self) -> JobHead:
        """The head without them."""
        return JobHead(**{name: getattr(self, name) for name in JobHead.__struct_fields__})


class HeadBefore(HeadOfThree, frozen=True, kw_only=True):
    """The same; `benders`: the profiles as they stood when they were put in."""

    benders: tuple[BenderProfile, ...] = ()

    def of_three(self) -> HeadOfThree:
        """The head without them."""
        return HeadOfThree(**{name: getattr(self, name) for name in HeadOfThree.__struct_fields__})


class JobBefore(Input, frozen=True, kw_only=True):
    """A whole job: a job file of format 1."""

    head: HeadBefore
    runs: tuple[RunBefore, ...] = ()
    racewright_job: Annotated[int, msgspec.Meta(ge=1, le=1)] = 1


class JobOfTwo(Input, frozen=True, kw_only=True):
    """A whole job: a job file of format 2."""

    id: Id = msgspec.field(default_factory=new_id)
    head: HeadBefore
    runs: tuple[JobRun, ...] = ()
    entries: tuple[Entry, ...] = ()
    racewright_job: Annotated[int, msgspec.Meta(ge=2, le=2)] = 2


class JobOfThree(Input, frozen=True, kw_only=True):
    """A whole job: a job file of format 3."""

    id: Id = msgspec.field(default_factory=new_id)
    head: HeadOfThree
    runs: tuple[JobRun, ...] = ()
    entries: tuple[Entry, ...] = ()
    tools: tuple[ToolAt, ...] = ()
    racewright_job: Annotated[int, msgspec.Meta(ge=3, le=3)] = 3


def job_now(old: JobOfThree) -> Job:
    """The job as it is kept now: its prices and people are records of their own."""
    people = tuple(person.now(old.head.units) for person in old.head.people)
    more = {name: getattr(old, name) for name in ("id", "runs", "entries", "tools")}
    return Job(head=old.head.now(), prices=old.head.prices, people=people, **more)


def job_of_three(old: JobOfTwo) -> JobOfThree:
    """The job as files of format 3 hold it: the profiles of its head are tools, which the runs name that named them."""
    tools = [tool_before(profile) for profile in old.head.benders]
    pinned = {as_written(run.survey.run.bender, (tool.name for tool in tools)) or "": None for run in old.runs}
    runs = tuple(on_tool(run, tools) for run in old.runs)
    kept = tuple(tool for tool in tools if tool.name in pinned)
    return JobOfThree(id=old.id, head=old.head.of_three(), runs=runs, entries=old.entries, tools=kept)


def tool_before(profile: BenderProfile, revision: int = 1) -> ToolAt:
    """The tool that a profile becomes; one of the same name for the same conduit is the same tool."""
    tool_id = digest("tool", profile.name.casefold(), profile.raceway_type, profile.trade_size)
    return ToolAt(id=tool_id, revision=revision, name=profile.name, profile=whole_record(profile))


def on_tool(run: JobRun, tools: Sequence[ToolAt]) -> JobRun:
    """The run on the tool among these that its survey names, if it names one."""
    name = as_written(run.survey.run.bender, (tool.name for tool in tools))
    found = next((tool for tool in tools if tool.name == name), None)
    return msgspec.structs.replace(run, tool=found.pin) if found else run


def job_of_two(old: JobBefore) -> JobOfTwo:
    """The job as files of format 2 hold it."""
    job_id = digest("job", msgspec.json.encode(old).decode())
    ids = [digest("run", job_id, index, run.key.casefold()) for index, run in enumerate(old.runs)]
    entries: list[Entry] = []
    for run_id, run in zip(ids, old.runs, strict=True):
        entries += noted_in(run, run_id)
        if run.status != "measured":
            entries.append(status_entry(run.status, run_id, "file"))
    runs = tuple(run_now(run, run_id) for run_id, run in zip(ids, old.runs, strict=True))
    return JobOfTwo(id=job_id, head=old.head, runs=runs, entries=tuple(entries))


def run_now(old: RunBefore, run_id: Id) -> JobRun:
    """The run alone, without what became entries."""
    kept = {name: getattr(old, name) for name in old.__struct_fields__ if name in JobRun.__struct_fields__}
    return JobRun(id=run_id, **kept)


def noted_in(old: RunBefore, run_id: Id) -> Iterator[Entry]:
    """What was measured and corrected on the run, each an entry, but for what lists nothing and notes nothing. Where it
    says the same twice, they count."""
    said: dict[str, int] = {}
    every: tuple[AsBent | TweakMade, ...] = (*old.as_bent, *old.tweaks)
    for made in every:
        text = msgspec.json.encode(made).decode()
        said[text] = said.get(text, 0) + 1
        entry_id = digest("entry", run_id, type(made).__name__, text, said[text])
        if what := _what(made):
            yield Entry(id=entry_id, run=run_id, piece=made.piece, what=what, by=made.by, at=made.at)


def status_entry(status: Status, run_id: Id, *when: object, by: str = "", at: str = "") -> Entry:
    """The run's status, set at a place in its history that `when` names: two histories that went apart there have
    another who or when."""
    entry_id = digest("entry", run_id, "status", status, *when, by, at)
    return Entry(id=entry_id, run=run_id, what=StatusSet(status=status), by=by, at=at)


def _what(made: AsBent | TweakMade) -> What | None:
    if isinstance(made, TweakMade) and made.moves:
        return Corrected(moves=made.moves, note=made.note)
    if isinstance(made, AsBent) and made.measured:
        return Readings(measured=made.measured, note=made.note)
    return Noted(note=made.note) if made.note else None
