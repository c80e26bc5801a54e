"""Particular entries of a run taken back, or parts of them, as a person names them, with the status they made."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from msgspec.structs import replace

from racewright.cards.entry_words import said_line
from racewright.errors import InputError, RacewrightError
from racewright.records.bends_left import reopened, status_at_bench
from racewright.records.entry import (
    Corrected,
    Entry,
    Made,
    Readings,
    Status,
    StatusSet,
    What,
    by_copy,
    copy_of,
    is_further,
    is_work,
    made_of,
    statuses_by,
)
from racewright.records.ids import Id
from racewright.records.model import JobRun, statuses_of
from racewright.records.naming import LEAST_DIGITS
from racewright.records.of_plan import of_plan
from racewright.records.parts_said import Part, along, part_words, parted, parts_of, with_marks
from racewright.store.job_back import WentBack, check_whose
from racewright.store.job_reader import Kept
from racewright.store.job_rows import now
from racewright.store.job_store import JobStore, Save
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, style_of

if TYPE_CHECKING:
    from racewright.plan.model import Plan

#: Of so many entries it is told which one a person may mean, and by so many digits of its id at least.
_TOLD, _SHOWN_DIGITS = 12, 6


class OffThere(NamedTuple):
    """A reading that way at a place of the piece, from end A, as a person writes it."""

    way: str
    place: str


class Meant(NamedTuple):
    """What is to be taken back of a run's record: these `parts` (none: all that the entry says) of the entry whose id
    begins so ('': of the one that says them), on this piece (None: on any) of these copies (none: of any)."""

    parts: tuple[Part | OffThere, ...] = ()
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
    whose = {kept.value.by or kept.by for kept in mine if kept.value.id in takes}
    check_whose(run, "what is to be taken back", whose, by=by, anyone=anyone)
    gone: list[Kept[Entry]] = []
    left: list[Kept[Entry]] = []
    saves: list[Save] = []
    for kept in mine:
        parts = takes.get(kept.value.id)
        goes, stays = (None, kept.value.what) if parts is None else parted(kept.value.what, parts)
        if goes is not None:
            gone.append(_saying(kept, goes))
            rest = None if stays is None else replace(kept.value, what=stays)
            saves.append(Save("entry", kept.value.id, kept.revision, rest))
        if stays is not None:
            left.append(_saying(kept, stays))
    news: list[Entry] = []
    ever = store.entries_ever(job, run.id)
    for copy, marks in dict.fromkeys((copy_of(kept.value) or 1, kept.value.pins.marks) for kept in gone):
        of_copy = _OfCopy(run, plan, copy, marks)
        came = of_copy.came_of_work(ever, left, takes)
        left = [kept for kept in left if kept not in came]
        saves += [Save("entry", kept.value.id, kept.revision, None) for kept in came]
        gone += came
        if came and (status := of_copy.status_left(left)) is not None:
            news.append(
                Entry(run=run.id, copy=copy, what=StatusSet(status=status), pins=came[-1].value.pins, by=by, at=now())
            )
    what = f"{len(saves)} entries" if len(saves) > 1 else "an entry"
    store.save(job, [*saves, *map(Save.of, news)], by=by, what=f"run {run.key}: taken back: {what}")
    statuses = statuses_of(run, (*(kept.value for kept in left), *news))
    order = {kept.value.id: at for at, kept in enumerate(mine)}
    later = [(one, kept) for one in gone for kept in left if order[kept.value.id] > order[one.value.id]]
    stands = _with_new_marks(run, later, len(plan.pieces) if plan else 0)
    return WentBack(run, tuple(kept.value for kept in gone), None, statuses, "", stands)


def _saying(kept: Kept[Entry], what: What) -> Kept[Entry]:
    value = kept.value if what is kept.value.what else replace(kept.value, what=what)
    return Kept(value=value, revision=kept.revision, at=kept.at, by=kept.by, change=kept.change)


def _with_new_marks(run: JobRun, later: Iterable[tuple[Kept[Entry], Kept[Entry]]], pieces: int) -> str:
    """What is taken back and stands on with new marks that were kept since (`later`: each that goes with each that came
    after it and is left), in words; '' for nothing."""
    parts: dict[Part, None] = {}
    found: dict[Id, Kept[Entry]] = {}
    for one, kept in later:
        both = [part for part in with_marks(kept.value.what) if part in parts_of(one.value.what)]
        if both and _where(kept.value) == _where(one.value):
            parts |= dict.fromkeys(both)
            found[kept.value.id] = kept
    if not found:
        return ""
    words, told = " and ".join(map(part_words, parts)), _listed(run, found.values(), pieces)
    return f"{words} stands on with new marks, and goes with these alone (--new-marks, or --entry): {told}"


def _where(entry: Entry) -> tuple[int | None, int, str]:
    return copy_of(entry), entry.piece or 1, entry.pins.marks


def _plan(store: JobStore, job: str, run: JobRun) -> Plan | None:
    """The run's plan; None where it has none."""
    from racewright.job.plan_job import plan_one  # every command that changes a job would wait for it

    try:
        return plan_one(run, store.load(job))
    except RacewrightError:
        return None


class _OfCopy:
    """How far a copy of a run is by the work by these marks, as its record grew."""

    def __init__(self, run: JobRun, plan: Plan | None, copy: int, marks: str) -> None:
        self.run, self.plan, self.copy, self.marks = run, plan, copy, marks

    def came_of_work(
        self, ever: Sequence[Kept[Entry]], left: Sequence[Kept[Entry]], goes: Collection[Id]
    ) -> list[Kept[Entry]]:
        """Which of the entries that are `left` said a status that came of work, by what was `ever` on record then or
        with what `goes`, and that the work which is left does not make. What is in place stays so."""
        if not self.marks or self.copy > self.run.times or self._said(left) not in ("planned", "bent"):
            return []
        changes = {kept.change for kept in ever if kept.value.id in goes}
        came = {
            kept.value.id
            for kept, status in self._grown(ever)
            if isinstance(kept.value.what, StatusSet)
            and (kept.change in changes or not is_further(kept.value.what.status, status))
        }
        has = self._grown(left)
        found: list[Kept[Entry]] = []
        for at, (kept, _) in enumerate(has):
            said = kept.value.what
            if kept.value.id not in came or not isinstance(said, StatusSet):
                continue
            if self._may_come_of_work(kept.value, said.status) and all(
                is_further(said.status, status) for _, status in has[at:]
            ):
                found.append(kept)
        return found

    def status_left(self, left: Sequence[Kept[Entry]]) -> Status | None:
        """How far the copy is by the work that is left, where these entries say less of it; None: no further."""
        status = self._by_work([kept.value for kept in left])
        return status if is_further(status, self._said(left)) else None

    def _said(self, entries: Sequence[Kept[Entry]]) -> Status:
        return statuses_by((kept.value for kept in entries), self.run.times)[self.copy - 1]

    def _may_come_of_work(self, entry: Entry, status: Status) -> bool:
        is_of_it = entry.copy == self.copy or (status == "bent" and not self.run.alike)
        return is_of_it and status in ("planned", "bent") and entry.pins.marks == self.marks

    def _grown(self, entries: Sequence[Kept[Entry]]) -> list[tuple[Kept[Entry], Status]]:
        """Each of the entries that are of the copy, with how far it was by its work then."""
        of_it = [kept for kept in entries if copy_of(kept.value) in (None, self.copy)]
        values = [kept.value for kept in of_it]
        return [(kept, self._by_work(values[: at + 1])) for at, kept in enumerate(of_it)]

    def _by_work(self, entries: Sequence[Entry]) -> Status:
        """How far the copy is by the work that these entries of it say. By another plan, whose bends are not known, it
        may be bent by any of it."""
        of = dict(by_copy(of_plan(entries, self.plan), self.run.times))[self.copy]
        work = [entry for entry in of if is_work(entry)]
        if self.plan is None or self.marks not in (self.plan.digest, self.plan.digest_before):
            return "bent" if any(entry.pins.marks == self.marks for entry in work) else "measured"
        if any(isinstance(entry.what, Readings | Corrected) for entry in work) and not reopened(work):
            return "bent"
        made = [one for one in work if isinstance(one.what, Made) and one.pins.marks == self.plan.digest]
        pieces = [[bend.number for bend in piece.bends] for piece in self.plan.pieces]
        return status_at_bench("planned", pieces, made_of(made, self.plan.digest)) if made else "measured"


def _meant(run: JobRun, mine: Sequence[Kept[Entry]], meant: Meant, pieces: int) -> dict[str, set[Part]]:
    """The entries that are meant, by their ids, with what of each. Raises InputError where that is not one for each
    part."""
    fits = [kept for kept in mine if _is_of(kept.value, meant)]
    if not meant.parts:
        found = [kept for kept in fits if meant.entry]
        one = _the_one(run, found, fits or mine, "that" if meant.entry else "", pieces)
        return {one.value.id: set(parts_of(one.value.what))}
    takes: dict[str, set[Part]] = {}
    tape = style_of(run.survey.units, run.survey.fraction)
    for said in meant.parts:
        part = _as_read(said, fits, tape) if isinstance(said, OffThere) else said
        found = [kept for kept in fits if part in parts_of(kept.value.what)]
        if not found and (kept := [kept for kept in fits if part in with_marks(kept.value.what)]):
            raise InputError(
                f"run {run.key}: {part_words(part, tape)} stands with new marks, and goes with these alone.",
                hint=f"take them back with --new-marks, or --entry: {_listed(run, kept, pieces)}",
                field="entry",
            )
        one = _the_one(run, found, fits or mine, part_words(part, tape), pieces)
        takes.setdefault(one.value.id, set()).add(part)
    return takes


def _as_read(said: OffThere, entries: Iterable[Kept[Entry]], tape: TapeStyle) -> Part:
    """The part that is read there, as exactly as the tape has it."""
    place_mm = float(parse_length(said.place, tape.unit, field="--off"))
    asked = Part("off", way=along(said.way), place_mm=place_mm)
    words = part_words(asked, tape)
    there = (part for kept in entries for part in parts_of(kept.value.what))
    return next((part for part in there if part_words(part, tape) == words), asked)


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
