"""One run taken back: its last entries, or its survey as it stood before, with the status that belongs to that."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.records.entry import NOT_BENT, Entry, Pins, Status, StatusSet, status_by
from racewright.records.model import JobRun
from racewright.store.job_reader import Kept, Revision
from racewright.store.job_rows import now
from racewright.store.job_store import JobStore, Save
from racewright.survey.written import WrittenSurvey

#: With these a run may be planned anew; what is bent is bent.


class WentBack(NamedTuple):
    """What became of a run: the entries that were taken back, the revision that it says again (None: its own stood),
    its status now; `past`: it is bent already, and has another survey now."""

    run: JobRun
    entries: tuple[Entry, ...]
    revision: int | None
    status: Status
    past: bool


def go_back(store: JobStore, job: str, name: str, to: int | None, *, by: str = "", anyone: bool = False) -> WentBack:
    """One run back to what it said at revision `to`; None: the newest thing of it that stands taken back, be it what
    one person added at one time or its survey. Somebody else's only where `anyone` says so. Raises InputError where
    there is none, StaleSave."""
    run = store.run_ever(job, name)
    revisions = store.history(run.id)
    mine = [kept for kept in store.entries(job) if kept.value.run == run.id]
    gone: list[Kept[Entry]] = []
    if to is None:
        target, gone, whose = _last_of(run, revisions, mine)
    else:
        target = next((r for r in revisions if r.number == to and r.value is not None), None)
        whose = {revisions[0].by}
        if target is None:
            raise InputError(
                f"run {run.key} has no revision {to} to bring back.", hint="`racewright job log RUN` lists them"
            )
    others = sorted(whose - {by})
    if others and not anyone:
        raise InputError(
            f"the last change of run {run.key} is not yours: by {', '.join(one or 'somebody' for one in others)}.",
            hint="`racewright job log RUN` shows it; talk to them, or give --anyone",
        )
    taken = {kept.value.id for kept in gone}
    left = [kept for kept in mine if kept.value.id not in taken]
    if target is None:  # a status of another survey, which what is taken back covered, goes with it
        stale = _of_another_survey(revisions, left)
        gone, left = [*gone, *stale], [kept for kept in left if kept not in stale]
    status = status_by(kept.value for kept in left)
    saves = [Save("entry", kept.value.id, kept.revision, None) for kept in gone]
    past, what = False, f"{len(gone)} entries" if len(gone) > 1 else "an entry"
    if target is not None and isinstance(target.value, JobRun):
        before, standing, run = revisions[0], revisions[0].value, target.value
        saves.insert(0, Save("run", run.id, before.number, run))
        if not isinstance(standing, JobRun) or standing.survey != run.survey:
            past = status not in NOT_BENT
            entry = status_entry(run, revisions, left, before.number + 1, by)
            if entry is not None and isinstance(entry.what, StatusSet):
                saves.append(Save.of(entry))
                status = entry.what.status
    told = f"taken back: {what}" if target is None else f"back to revision {target.number}"
    store.save(job, saves, by=by, what=f"run {run.key}: {told}")
    return WentBack(run, tuple(kept.value for kept in gone), target.number if target else None, status, past)


def _of_another_survey(revisions: Sequence[Revision], entries: Sequence[Kept[Entry]]) -> list[Kept[Entry]]:
    """The last of these entries, oldest first, that set a status short of bent which the run had with another survey
    than it has now."""
    now_it_is = revisions[0].value
    stale: list[Kept[Entry]] = []
    left = list(entries)
    while isinstance(now_it_is, JobRun):
        last = next((kept for kept in reversed(left) if isinstance(kept.value.what, StatusSet)), None)
        standing = status_by(kept.value for kept in left)
        if last is None or standing not in NOT_BENT or standing == _status_with(now_it_is.survey, revisions, left)[0]:
            break
        stale.append(last)
        left.remove(last)
    return stale


def status_entry(
    run: JobRun, revisions: Sequence[Revision], entries: Sequence[Kept[Entry]], number: int, by: str
) -> Entry | None:
    """The entry that gives a run, whose survey is another from revision `number` on, the status that it had when that
    survey stood before (measured, where it never did). None where these entries of it, oldest first, say so already, or
    say that it is bent: what is bent is bent."""
    standing = status_by(kept.value for kept in entries)
    status, pins = _status_with(run.survey, revisions, entries)
    if standing not in NOT_BENT or standing == status:
        return None
    pinned = msgspec.structs.replace(pins, run=number)
    return Entry(run=run.id, what=StatusSet(status=status), pins=pinned, by=by, at=now())


def _status_with(
    survey: WrittenSurvey, revisions: Sequence[Revision], entries: Sequence[Kept[Entry]]
) -> tuple[Status, Pins]:
    """The last status that was set while the run had this survey, with its pins."""
    for kept in reversed(entries):
        what = kept.value.what
        if isinstance(what, StatusSet):
            of = _pinned(kept, revisions)
            if of is not None and isinstance(of.value, JobRun) and of.value.survey == survey:
                return what.status, kept.value.pins
    return "measured", Pins()


def _pinned(kept: Kept[Entry], revisions: Sequence[Revision]) -> Revision | None:
    """The revision of its run that an entry was made on; where it is not known, the one that stood when it came."""
    said = next((r for r in revisions if r.number == kept.value.pins.run), None)
    return said or next((r for r in revisions if r.change <= kept.change), None)


def _last_of(
    run: JobRun, revisions: Sequence[Revision], mine: Sequence[Kept[Entry]]
) -> tuple[Revision | None, list[Kept[Entry]], set[str]]:
    """What undoing a run takes back: the revision to go back to, or None; the entries that go; whose that all is. A
    status that came with another survey goes with it. Raises InputError where there is nothing."""
    later = {r.change: r for r in revisions if r.number > 1}
    along: list[Kept[Entry]] = []
    own: list[Kept[Entry]] = []
    for kept in mine:
        came, of = later.get(kept.change), _pinned(kept, revisions)
        goes_along = came and of and isinstance(kept.value.what, StatusSet) and came.value == of.value
        (along if goes_along else own).append(kept)
    chain = _chain(revisions)
    top, last = chain[-1], max(reversed(own), key=lambda kept: kept.change, default=None)
    if last is not None and last.change >= top.change:
        gone = [kept for kept in own if _by_at(kept) == _by_at(last)]
        whose = {kept.value.by or kept.by for kept in gone}
        if any(isinstance(kept.value.what, StatusSet) for kept in gone):  # what was said again of its survey goes too
            of = _pinned(last, revisions)
            gone += [k for k in along if k.change > last.change and _same_survey(_pinned(k, revisions), of)]
        return None, gone, whose
    before = [r for r in chain[:-1] if r.value is not None]
    if not before:
        raise InputError(
            f"run {run.key}: there is nothing to take back but its beginning, and that stands.",
            hint="`racewright job log RUN` lists its revisions; `racewright job undo RUN --to N` brings one back",
        )
    gone = [kept for kept in along if kept.change == top.change]
    return before[-1], gone, {top.by}


def _same_survey(one: Revision | None, other: Revision | None) -> bool:
    values = [revision.value if revision else None for revision in (one, other)]
    first, second = (value.survey if isinstance(value, JobRun) else None for value in values)
    return first is not None and first == second


def _by_at(kept: Kept[Entry]) -> tuple[int, str, str]:
    """What one person added at one time has this in common; a device may bring the work of a whole day at once."""
    return kept.change, kept.value.by, kept.value.at


def _chain(revisions: Sequence[Revision]) -> list[Revision]:
    """The revisions that going back leads through, the one that stands last: where a run said again what it said
    before, it stands there again, and what lay between is left."""
    chain: list[Revision] = []
    for revision in reversed(revisions):
        at = next((i for i, one in enumerate(chain) if one.value == revision.value), None)
        if at is None:
            chain.append(revision)
        else:
            del chain[at + 1 :]
    return chain
