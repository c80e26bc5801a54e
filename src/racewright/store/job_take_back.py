"""Particular entries of a run taken back, or parts of them, as a person names them, with the status they made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from msgspec.structs import replace

from racewright.cards.entry_words import said_line
from racewright.errors import InputError, RacewrightError
from racewright.records.bends_left import status_at_bench
from racewright.records.entry import (
    Corrected,
    Entry,
    Readings,
    Status,
    by_copy,
    copy_of,
    is_further,
    is_work,
    made_of,
    set_by,
    statuses_by,
)
from racewright.records.model import JobRun
from racewright.records.naming import LEAST_DIGITS
from racewright.records.of_plan import of_plan
from racewright.records.parts_said import Part, part_words, parted, parts_of
from racewright.store.job_back import WentBack, check_whose
from racewright.store.job_reader import Kept
from racewright.store.job_store import JobStore, Save

if TYPE_CHECKING:
    from racewright.plan.model import Plan

#: Of so many entries it is told which one a person may mean, and by so many digits of its id at least.
_TOLD, _SHOWN_DIGITS = 12, 6


class Meant(NamedTuple):
    """What is to be taken back of a run's record: these `parts` (none: all that the entry says) of the entry whose id
    begins so ('': of the one that says them), on this piece (None: on any) of these copies (none: of any)."""

    parts: tuple[Part, ...] = ()
    entry: str = ""
    piece: int | None = None
    copies: tuple[int, ...] = ()


def take_back(store: JobStore, job: str, name: str, meant: Meant, *, by: str = "", anyone: bool = False) -> WentBack:
    """What is meant is taken back, whatever came after it, with the status that came of it alone: what a run's bends
    make of it is worked out from those that are left. Somebody else's only where `anyone` says so. Raises InputError
    where nothing that stands says so, or more than one entry does: then with who said each, and when; StaleSave."""
    run = store.run(job, name).value
    mine = [kept for kept in store.entries_read(job) if kept.value.run == run.id]
    plan = _plan(store, job, run)
    takes = _meant(run, mine, meant, len(plan.pieces) if plan else 0)
    gone: list[Entry] = []
    left: list[Kept[Entry]] = []
    saves: list[Save] = []
    for kept in mine:
        parts = takes.get(kept.value.id)
        goes, stays = (None, kept.value.what) if parts is None else parted(kept.value.what, parts)
        if goes is not None:
            gone.append(replace(kept.value, what=goes))
            rest = None if stays is None else replace(kept.value, what=stays)
            saves.append(Save("entry", kept.value.id, kept.revision, rest))
        if stays is not None:
            left.append(kept if goes is None else _with(kept, replace(kept.value, what=stays)))
    for copy, marks in dict.fromkeys((copy_of(entry) or 1, entry.pins.marks) for entry in gone):
        for kept in _came_of_work(run, plan, left, copy, marks):
            left.remove(kept)
            gone.append(kept.value)
            saves.append(Save("entry", kept.value.id, kept.revision, None))
    whose = {kept.value.by or kept.by for kept in mine if kept.value.id in {entry.id for entry in gone}}
    check_whose(run, "what is to be taken back", whose, by=by, anyone=anyone)
    what = f"{len(saves)} entries" if len(saves) > 1 else "an entry"
    store.save(job, saves, by=by, what=f"run {run.key}: taken back: {what}")
    return WentBack(run, tuple(gone), None, statuses_by((kept.value for kept in left), run.times), "")


def _with(kept: Kept[Entry], value: Entry) -> Kept[Entry]:
    return Kept(value=value, revision=kept.revision, at=kept.at, by=kept.by, change=kept.change)


def _plan(store: JobStore, job: str, run: JobRun) -> Plan | None:
    """The run's plan; None where it has none."""
    from racewright.job.plan_job import plan_one  # every command that changes a job would wait for it

    try:
        return plan_one(run, store.load(job))
    except RacewrightError:
        return None


def _came_of_work(
    run: JobRun, plan: Plan | None, entries: Sequence[Kept[Entry]], copy: int, marks: str
) -> list[Kept[Entry]]:
    """The entries that set the status of a copy for work by these marks that is not on record any more, the last first.
    What is in place stays so, and what was planned by no work."""
    found: list[Kept[Entry]] = []
    while marks and copy <= run.times:
        left = [kept for kept in entries if kept not in found]
        status, said = set_by((kept.value for kept in left), run.times)[copy - 1]
        of = of_plan([one.value for one in left], plan)
        if (
            said is None
            or said.pins.marks != marks
            or not (said.copy == copy or (status == "bent" and not run.alike))
            or status not in ("planned", "bent")
            or not is_further(status, _by_work(plan, dict(by_copy(of, run.times))[copy], marks))
        ):
            break
        found += [kept for kept in left if kept.value.id == said.id]
    return found


def _by_work(plan: Plan | None, entries: Sequence[Entry], marks: str) -> Status:
    """How far a copy is by the work by these marks that is on record of it. By another plan, whose bends are not known,
    it may be bent by any of it."""
    work = [entry for entry in entries if is_work(entry) and entry.pins.marks == marks]
    if plan is None or marks not in (plan.digest, plan.digest_before):
        return "bent" if work else "measured"
    if any(isinstance(entry.what, Readings | Corrected) for entry in entries):
        return "bent"
    pieces = [[bend.number for bend in piece.bends] for piece in plan.pieces]
    return status_at_bench("measured", pieces, made_of(entries, plan.digest))


def _meant(run: JobRun, mine: Sequence[Kept[Entry]], meant: Meant, pieces: int) -> dict[str, set[Part]]:
    """The entries that are meant, by their ids, with what of each. Raises InputError where that is not one for each
    part."""
    fits = [kept for kept in mine if _is_of(kept.value, meant)]
    if not meant.parts:
        found = [kept for kept in fits if meant.entry]
        one = _the_one(run, found, fits or mine, "that" if meant.entry else "", pieces)
        return {one.value.id: set(parts_of(one.value.what))}
    takes: dict[str, set[Part]] = {}
    for part in meant.parts:
        found = [kept for kept in fits if part in parts_of(kept.value.what)]
        one = _the_one(run, found, fits or mine, part_words(part), pieces)
        takes.setdefault(one.value.id, set()).add(part)
    return takes


def _is_of(entry: Entry, meant: Meant) -> bool:
    if meant.entry and not (len(meant.entry) >= LEAST_DIGITS and entry.id.startswith(meant.entry.casefold())):
        return False
    of_piece = meant.piece is None or (entry.piece or 1) == meant.piece
    return of_piece and (not meant.copies or (copy_of(entry) or 0) in meant.copies)


def _the_one(
    run: JobRun, found: Sequence[Kept[Entry]], there: Sequence[Kept[Entry]], words: str, pieces: int
) -> Kept[Entry]:
    if len(found) == 1:
        return found[0]
    told = _listed(run, found or there, pieces)
    if found:
        raise InputError(
            f"run {run.key}: {len(found)} entries say {words}, and one of them is meant.",
            hint=f"name it by the beginning of its id, with --entry: {told}",
            field="entry",
        )
    raise InputError(
        f"run {run.key}: nothing that stands says {words}." if words else f"run {run.key}: it is not said what.",
        hint=f"what stands, each for --entry: {told}" if told else "there is nothing on its record",
        field="entry",
    )


def _listed(run: JobRun, entries: Iterable[Kept[Entry]], pieces: int) -> str:
    """Entries in words, the newest first, each with the beginning of its id, by whom and when."""
    newest = list(entries)[::-1]
    ids = [kept.value.id for kept in newest]
    digits = next((n for n in range(_SHOWN_DIGITS, 32) if len({one[:n] for one in ids}) == len(ids)), 32)
    told = [
        f"{kept.value.id[:digits]} ({said_line(run, kept.value, pieces=pieces)};"
        f" by {kept.value.by or kept.by or 'somebody'} {kept.value.at or kept.at})"
        for kept in newest[:_TOLD]
    ]
    return "; ".join([*told, *([f"and {len(newest) - _TOLD} more"] if len(newest) > _TOLD else [])])
