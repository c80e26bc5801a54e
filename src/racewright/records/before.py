"""Runs as job files of format 1 and shop files before version 3 hold them: with their status, what was measured and
what was corrected inside. Read only; the ids of what they become are made from what they say."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

import msgspec

from racewright.fit.measured import Measured
from racewright.records.entry import Corrected, Entry, MoveMade, Noted, Readings, Status, StatusSet, What
from racewright.records.fields import Input, Key, PieceNumber, Text
from racewright.records.ids import Id, digest
from racewright.records.model import Item, Job, JobHead, JobRun, Wire
from racewright.survey.written import Written, WrittenSurvey

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


class JobBefore(Input, frozen=True, kw_only=True):
    """A whole job: a job file of format 1."""

    head: JobHead
    runs: tuple[RunBefore, ...] = ()
    racewright_job: Annotated[int, msgspec.Meta(ge=1, le=1)] = 1


def job_now(old: JobBefore) -> Job:
    """The job as it is kept now."""
    job_id = digest("job", msgspec.json.encode(old).decode())
    ids = [digest("run", job_id, index, run.key.casefold()) for index, run in enumerate(old.runs)]
    entries: list[Entry] = []
    for run_id, run in zip(ids, old.runs, strict=True):
        entries += noted_in(run, run_id)
        if run.status != "measured":
            entries.append(status_entry(run.status, run_id, "file"))
    runs = tuple(run_now(run, run_id) for run_id, run in zip(ids, old.runs, strict=True))
    return Job(id=job_id, head=old.head, runs=runs, entries=tuple(entries))


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
