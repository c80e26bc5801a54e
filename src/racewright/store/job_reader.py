"""What a shop file says: its jobs, their runs and entries as they stand, their history, and what was refused."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Generic, NamedTuple, TypeVar

import msgspec

from racewright.errors import InputError
from racewright.records.entry import Entry, as_read
from racewright.records.ids import Id
from racewright.records.kinds import Value
from racewright.records.model import Job, JobHead, JobRun
from racewright.records.naming import keys_told_apart, runs_called, short_ids
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, PriceList, list_id
from racewright.records.tool import Tool, ToolAt
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_rows import Change, RefusedRow, Row, Rows
from racewright.store.job_values import value_as, value_of

T = TypeVar("T", JobRun, JobHead, Entry, Tool, Person, PriceList)


class Kept(msgspec.Struct, Generic[T], frozen=True, kw_only=True):
    """A record as it stands, with the revision to give back when saving a change of it, and the number of the change
    that made it."""

    value: T
    revision: int
    at: str
    by: str
    change: int


class Revision(NamedTuple):
    """One revision of a record, newest first in a history, made from revision `base`. `value` None: removed."""

    number: int
    base: int
    at: str
    by: str
    what: str
    change: int
    value: Value | None


class Refused(NamedTuple):
    """A save that was refused; `value` None: a removal. `kind` and `record` (its id) say of what."""

    kind: str
    record: Id
    base: int
    found: int
    at: str
    by: str
    value: Value | None


class JobReader:
    """What is asked of an open shop file."""

    def __init__(self, rows: Rows) -> None:
        self.rows = rows

    @property
    def path(self) -> Path:
        """Where the file is."""
        return self.rows.path

    def jobs(self) -> tuple[str, ...]:
        """The keys of the jobs, oldest first."""
        with self.rows.reading():
            return self.rows.job_keys()

    def job_key(self, job: str) -> str:
        """A job's key as it was given, whatever the case it is asked in. Raises InputError where there is no such
        job."""
        with self.rows.reading():
            return self.rows.job(job).key

    def head(self, job: str) -> Kept[JobHead]:
        """A job's head. Raises InputError where there is no such job."""
        with self.rows.reading():
            row = self.rows.standing(self.rows.job(job).id)
        if row is None or row.body is None:
            raise StoreTrouble(f"{self.path}: job '{job}' has no head.", hint="`racewright job check` looks further")
        return self._kept(JobHead, row, row.body)

    def runs(self, job: str) -> tuple[Kept[JobRun], ...]:
        """All runs as they stand, in the order in which they came."""
        with self.rows.reading():
            rows = self.rows.all_standing(self.rows.job(job), "run")
        return tuple(self._kept(JobRun, row, row.body) for row in rows if row.body is not None)

    def entries(self, job: str) -> tuple[Kept[Entry], ...]:
        """All entries as they stand, in the order in which they came; those of runs that were taken out too."""
        with self.rows.reading():
            rows = self.rows.all_standing(self.rows.job(job), "entry")
        return tuple(self._kept(Entry, row, row.body) for row in rows if row.body is not None)

    def entries_read(self, job: str) -> tuple[Kept[Entry], ...]:
        """All entries as they stand, each of the copy that it is of (`as_read`)."""
        kept = self.entries(job)
        read = as_read([one.value for one in kept])
        return tuple(
            one if value is one.value else msgspec.structs.replace(one, value=value)
            for one, value in zip(kept, read, strict=True)
        )

    def tools(self) -> tuple[Kept[Tool], ...]:
        """The tools of the shop as they stand, in the order in which they came."""
        with self.rows.reading():
            shop = self.rows.shop()
            rows = self.rows.all_standing(shop, "tool") if shop else ()
        return tuple(self._kept(Tool, row, row.body) for row in rows if row.body is not None)

    def people(self) -> tuple[Kept[Person], ...]:
        """The people of the shop as they stand, in the order in which they came."""
        with self.rows.reading():
            shop = self.rows.shop()
            rows = self.rows.all_standing(shop, "person") if shop else ()
        return tuple(self._kept(Person, row, row.body) for row in rows if row.body is not None)

    def price_list(self, of: Id) -> Kept[PriceList] | None:
        """The price list of this job or shop; None where it has none."""
        with self.rows.reading():
            row = self.rows.standing(list_id(of))
        return self._kept(PriceList, row, row.body) if row is not None and row.body is not None else None

    def prices(self, job: str) -> PriceList | None:
        """What counts for a job: its own list, else the shop's; None where neither has one."""
        with self.rows.reading():
            own = self.price_list(self.rows.job(job).id)
            return own.value if own else self.shop_prices()

    def shop_prices(self) -> PriceList | None:
        """The shop's own list; None where it has none."""
        with self.rows.reading():
            kept = self.price_list(self.rows.shop_id() or "")
        return kept.value if kept else None

    def entries_taken_back(self, job: str) -> tuple[tuple[Kept[Entry], str, str], ...]:
        """The entries that were taken back, as they were added, each with by whom and when."""
        with self.rows.reading():
            gone = [row for row in self.rows.all_standing(self.rows.job(job), "entry") if row.body is None]
            added = [(self.rows.following(row.record, 0), row) for row in gone]
        return tuple(
            (self._kept(Entry, first, first.body), row.by, row.at)
            for first, row in added
            if first is not None and first.body is not None
        )

    def entries_ever(self, job: str, run: Id) -> tuple[Kept[Entry], ...]:
        """What was added to the record of a run, as it was added, in the order in which it came; what was taken back
        since, whole or in part, too."""
        with self.rows.reading():
            rows = self.rows.all_standing(self.rows.job(job), "entry")
            firsts = [self.rows.following(row.record, 0) for row in rows if row.body is None or run in row.body]
        kept = (self._kept(Entry, first, first.body) for first in firsts if first and first.body is not None)
        return tuple(one for one in kept if one.value.run == run)

    def brought_by(self, kept: Kept[Entry]) -> str:
        """Who added an entry, whoever it says that it is by, and whoever brought it back since."""
        with self.rows.reading():
            first = self.rows.following(kept.value.id, 0)
        return first.by if first is not None else kept.by

    def run(self, job: str, name: str) -> Kept[JobRun]:
        """The run of this key or beginning of an id, as it stands. Raises InputError where there is none, or more than
        one: then with whose they are."""
        return self.runs_named(job, [name])[0]

    def runs_named(self, job: str, names: Sequence[str]) -> tuple[Kept[JobRun], ...]:
        """The runs of these keys or beginnings of ids, each once. Raises InputError as `run`."""
        kept = {k.value.id: k for k in self.runs(job)}
        found = [self._named(job, kept, name) for name in names]
        return tuple({one.value.id: one for one in found}.values())

    @staticmethod
    def _named(job: str, kept: dict[Id, Kept[JobRun]], name: str) -> Kept[JobRun]:
        runs = [k.value for k in kept.values()]
        found = [kept[run.id] for run in runs_called(runs, name)]
        if len(found) == 1:
            return found[0]
        if found:
            begins = short_ids(runs)
            told = ((begins[k.value.id], f"{k.value.name}, by {k.by or 'somebody'} {k.at}") for k in found)
            named = "; ".join(f"{begin} ({words})" for begin, words in told)
            raise InputError(
                f"job '{job}' has {len(found)} runs called '{name}'.",
                hint=f"name one by the beginning of its id: {named}",
                field="run",
            )
        known = ", ".join(keys_told_apart(runs)[:12])
        raise InputError(
            f"job '{job}' has no run '{name}'.",
            hint=f"runs: {known}" if known else "it has no runs yet",
            field="run",
        )

    def run_ever(self, job: str, name: str) -> JobRun:
        """The run of this key or beginning of an id as it stands, else the last taken out that was called so. Raises
        InputError as `run`."""
        with self.rows.reading():
            if not runs_called([k.value for k in self.runs(job)], name):
                for row in self.rows.all_standing(self.rows.job(job), "run")[::-1]:
                    last = self.rows.revision(row.record, row.base) if row.body is None else None
                    past = value_as(JobRun, last.body, self.path) if last and last.body is not None else None
                    if past is not None and runs_called([past], name):
                        return past
            return self.run(job, name).value

    def load(self, job: str) -> Job:
        """The whole job, all of one moment."""
        with self.rows.reading():
            runs = tuple(k.value for k in self.runs(job))
            there = {run.id for run in runs}
            entries = tuple(k.value for k in self.entries(job) if k.value.run in there)
            head, tools = self.head(job).value, self.tools_of(runs)
            prices, people = self.prices(job), tuple(kept.value for kept in self.people())
            return Job(
                id=self.rows.job(job).id,
                head=head,
                runs=runs,
                entries=entries,
                tools=tools,
                prices=prices.prices if prices else NO_PRICES,
                people=people,
            )

    def handed_on(self, job: str) -> Job:
        """The whole job as it goes out of its shop: its entries name no revision, and say by whom and when; what they
        do not say themselves is that of the change that added them."""
        with self.rows.reading():
            whole = self.load(job).of_no_revision()
            entries = tuple(one if one.by and one.at else self._signed(one) for one in whole.entries)
        return msgspec.structs.replace(whole, entries=entries)

    def _signed(self, entry: Entry) -> Entry:
        first = self.rows.following(entry.id, 0)
        return msgspec.structs.replace(entry, by=entry.by or first.by, at=entry.at or first.at) if first else entry

    def tools_of(self, runs: Sequence[JobRun]) -> tuple[ToolAt, ...]:
        """The tools that these runs name: each as it stood at the revisions that they name, and as it stands now; and
        those whose names alone their surveys say."""
        pins = dict.fromkeys(run.tool for run in runs if run.tool)
        said = {run.survey.run.bender.strip().casefold() for run in runs if not run.tool} - {""}
        if not pins and not said:
            return ()
        with self.rows.reading():
            wanted = {pin.id for pin in pins}
            stand = [k for k in self.tools() if k.value.id in wanted or k.value.name.casefold() in said]
            found = {(kept.value.id, kept.revision): kept.value for kept in stand}
            for pin in pins:
                row = self.rows.revision(pin.id, pin.revision)
                if row is not None and row.kind == "tool" and row.body is not None:
                    found[pin.id, pin.revision] = value_as(Tool, row.body, self.path)
        return tuple(
            ToolAt(id=tool_id, revision=revision, name=tool.name, profile=tool.profile)
            for (tool_id, revision), tool in sorted(found.items())
        )

    def load_with_revisions(self, job: str) -> tuple[Job, dict[Id, int]]:
        """The whole job, and at which revision each of its runs stands."""
        with self.rows.reading():
            return self.load(job), {kept.value.id: kept.revision for kept in self.runs(job)}

    def load_named(self, job: str, names: Sequence[str]) -> tuple[Job, tuple[Kept[JobRun], ...]]:
        """The whole job and the runs of these names, all of one moment. Raises InputError as `run`."""
        with self.rows.reading():
            return self.load(job), self.runs_named(job, names)

    def history(self, record: Id) -> tuple[Revision, ...]:
        """All revisions of a record, newest first."""
        with self.rows.reading():
            rows = self.rows.history(record)
        return tuple(
            Revision(r.number, r.base, r.at, r.by, r.what, r.change, value_of(r.kind, r.body, self.path)) for r in rows
        )

    def changes(self, job: str) -> tuple[Change, ...]:
        """All changes of a job, newest first."""
        with self.rows.reading():
            return self.rows.changes(self.rows.job(job))

    def list_changes(self, job: str) -> tuple[Change, ...]:
        """All changes of the prices that count or counted for a job, its own and the shop's, and of people, newest
        first."""
        with self.rows.reading():
            lists = [list_id(self.rows.job(job).id), list_id(self.rows.shop_id() or "")]
            return self.rows.changes_of("person", lists)

    def refused(self, job: str) -> tuple[Refused, ...]:
        """Saves that were refused, newest first."""
        with self.rows.reading():
            rows = self.rows.refused(self.rows.job(job))
        return tuple(self._refused(row) for row in rows)

    def _refused(self, row: RefusedRow) -> Refused:
        value = value_of(row.kind, row.body, self.path)
        return Refused(row.kind, row.record, row.base, row.found, row.at, row.by, value)

    def _kept(self, kind: type[T], row: Row, body: str) -> Kept[T]:
        value = value_as(kind, body, self.path)
        return Kept(value=value, revision=row.number, at=row.at, by=row.by, change=row.change)
