"""What was changed of a job, newest first: where each record differs from what it said before, in words; and as a
device is told it, with what stood before, so that it can be taken back by a next revision of each like any other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from racewright.records.differ import fields_changed
from racewright.records.ids import Id
from racewright.records.kinds import KINDS, called
from racewright.records.model import JobRun
from racewright.store.job_rows import Change, Row, Rows
from racewright.store.job_store import JobStore
from racewright.store.job_values import value_of
from racewright.store.told_to import as_told, is_whole, told_body

#: So many changes are told, and so much of what stood before (bytes, and records of one change).
MOST_CHANGES, MOST_BEFORE, MOST_RECORDS = 40, 120_000, 200
#: So many fields are told of one change.
MOST_FIELDS = 12


class Before(msgspec.Struct, frozen=True, kw_only=True):
    """A record that a change wrote, as it stands since (`revision`, `digest`; `gone`: taken out), and what it said
    before (`data` None: it was not there)."""

    kind: str
    id: Id
    job: Id
    revision: int
    digest: str
    gone: bool
    data: Any


class Logged(msgspec.Struct, frozen=True, kw_only=True):
    """A change: what, by whom and when. `differs`: where records differ from what they said before, a field each
    ("wire slack: '18 in', was '12 in'"). `mine`: by who asks. `before`: what taking it back brings back; empty where
    something was changed since, where it is the job's beginning, or where it is too much to be told."""

    number: int
    at: str
    by: str
    what: str
    differs: tuple[str, ...]
    undone: bool
    mine: bool
    before: tuple[Before, ...]


class JobLog(msgspec.Struct, frozen=True, kw_only=True):
    """The last changes of a job, newest first, those of its prices and of the shop's people among them. `older`: there
    are more, which `racewright job log` lists."""

    changes: tuple[Logged, ...]
    older: bool = False


def job_log(store: JobStore, job: Id, kinds: Sequence[str], *, by: str) -> JobLog:
    """What a device that is told these kinds may know of the changes of this job; none of one that is not there."""
    rows = store.rows
    with rows.reading():
        row = rows.job_by_id(job)
        if row is None or not row.key:  # the shop's own row holds no job
            return JobLog(changes=())
        changes = {change.number: change for change in (*rows.changes(row), *store.list_changes(row.key))}
        told: list[Logged] = []
        room = MOST_BEFORE
        for _, change in sorted(changes.items(), reverse=True):
            wrote = rows.of_change(change.number)
            if wrote and not any(one.kind in kinds for one in wrote):
                continue
            if len(told) == MOST_CHANGES:
                return JobLog(changes=tuple(told), older=True)
            told.append(_logged(store, change, wrote, kinds, by, room))
            room -= sum(len(one.data or b"") for one in told[-1].before)
    return JobLog(changes=tuple(told))


def changed_fields(store: JobStore, change: int, kinds: Sequence[str] = tuple(KINDS)) -> tuple[str, ...]:
    """Where the records of these kinds that a change wrote anew differ from what they said before, a field each in
    words, with the record's name where there are several; the first of them, and how many more."""
    rewritten = [pair for pair in store.rows.rewritten(change) if pair[0].kind in KINDS]
    values = [
        tuple(as_told(value_of(row.kind, row.body, store.path), kinds) for row in pair)
        for pair in rewritten
        if pair[0].kind in kinds
    ]
    tools = store.tools_of([value for pair in values for value in pair if isinstance(value, JobRun)])
    told = [
        f"{f'{called(now)}, ' if len(rewritten) > 1 else ''}{line}"
        for now, was in values
        if now is not None and was is not None
        for line in fields_changed(now, was, tools)
    ]
    more = len(told) - MOST_FIELDS
    return (*told[:MOST_FIELDS], *([f"and {more} more"] if more > 0 else []))


def _logged(store: JobStore, change: Change, wrote: Sequence[Row], kinds: Sequence[str], by: str, room: int) -> Logged:
    before: list[Before] = []
    whole = all(one.kind in kinds for one in wrote) and all(
        is_whole(value_of(now.kind, now.body, store.path), value_of(was.kind, was.body, store.path), kinds)
        for now, was in store.rows.rewritten(change.number)
        if now.kind == "job"
    )
    if len(wrote) <= MOST_RECORDS and whole:
        firsts = store.rows.before(change.number)
        before = [
            one
            for row, had in firsts.values()
            if (one := _before(row, had, change.number, store.rows, kinds)) is not None
        ]
        if len(before) < len(firsts) or sum(len(one.data or b"") for one in before) > room:
            before = []
    return Logged(
        number=change.number,
        at=change.at,
        by=change.by,
        what=change.what if whole else _told_of(store, wrote, kinds),
        differs=changed_fields(store, change.number, kinds),
        undone=change.undone,
        mine=change.by == by,
        before=tuple(before),
    )


def _told_of(store: JobStore, wrote: Sequence[Row], kinds: Sequence[str]) -> str:
    """What a change wrote of these kinds, in words; its own words may name what is not told."""
    values = (value_of(one.kind, one.body, store.path) for one in wrote if one.kind in kinds)
    named = dict.fromkeys("taken out" if value is None else called(value) for value in values)
    return f"{', '.join(named)}, and what this device is not told"[:200]


def _before(row: Row, had: Row | None, change: int, rows: Rows, kinds: Sequence[str]) -> Before | None:
    """None where it was changed since, or begins a job."""
    stands = rows.standing(row.record)
    if stands is None or stands.change != change or (row.kind == "job" and not row.base):
        return None
    body = None if had is None else told_body(had.kind, had.body, kinds)[0]
    return Before(
        kind=row.kind,
        id=row.record,
        job=row.job,
        revision=stands.number,
        digest=told_body(stands.kind, stands.body, kinds)[1],
        gone=stands.body is None,
        data=None if body is None else msgspec.Raw(body.encode()),
    )
