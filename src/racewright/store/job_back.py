"""One run taken back: its last entries, or its survey as it stood before, with the status that belongs to that."""

from __future__ import annotations

from collections.abc import Callable, Sequence, Set
from typing import TYPE_CHECKING, NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.records.anew import first_unsaid
from racewright.records.entry import (
    NOT_BENT,
    STATUSES,
    Entry,
    Made,
    Pins,
    Status,
    StatusSet,
    by_copy,
    is_work,
    set_by,
    sets,
    statuses_by,
    to_set,
)
from racewright.records.model import Job, JobRun, statuses_of
from racewright.records.superseded import Far, far_made, further
from racewright.store.job_reader import Kept, Revision
from racewright.store.job_rows import now
from racewright.store.job_store import JobStore, Save

if TYPE_CHECKING:
    from racewright.job.plan_job import RunSummary


class WentBack(NamedTuple):
    """What became of a run: the entries that were taken back, the revision that it says again (None: its own stood),
    the status of its copies now; `past`: what is there of it and has another plan now; `stands`: what of it is on
    record with new marks all the same, in words."""

    run: JobRun
    entries: tuple[Entry, ...]
    revision: int | None
    statuses: tuple[Status, ...]
    past: Far
    stands: str = ""


def go_back(store: JobStore, job: str, name: str, to: int | None, *, by: str = "", anyone: bool = False) -> WentBack:
    """One run back to what it said at revision `to`; None: the newest thing of it that stands taken back, be it what
    one person added at one time or its survey. Somebody else's only where `anyone` says so. Raises InputError where
    there is none, StaleSave."""
    run = store.run_ever(job, name)
    revisions = store.history(run.id)
    mine = [kept for kept in store.entries_read(job) if kept.value.run == run.id]
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
    check_whose(run, "the last change", whose, by=by, anyone=anyone)
    taken = {kept.value.id for kept in gone}
    left = [kept for kept in mine if kept.value.id not in taken]
    if target is None:  # a status of another survey, which what is taken back covered, goes with it
        stale = _of_another_survey(store, job, revisions, left)
        gone, left = [*gone, *stale], [kept for kept in left if kept not in stale]
    entries = tuple(kept.value for kept in left)
    saves = [Save("entry", kept.value.id, kept.revision, None) for kept in gone]
    past: Far = ""
    what = f"{len(gone)} entries" if len(gone) > 1 else "an entry"
    if target is not None and isinstance(target.value, JobRun):
        before, standing, run = revisions[0], revisions[0].value, target.value
        saves.insert(0, Save("run", run.id, before.number, run))
        if not isinstance(standing, JobRun) or standing.survey != run.survey:
            plans = PlansOf(store, job, run)
            past = made_of_another(plans, revisions, left)
            news = status_entries(plans, revisions, left, before.number + 1, by)
            saves += [Save.of(entry) for entry in news]
            entries = (*entries, *news)
    told = f"taken back: {what}" if target is None else f"back to revision {target.number}"
    store.save(job, saves, by=by, what=f"run {run.key}: {told}")
    revision, statuses = target.number if target else None, statuses_of(run, entries)
    return WentBack(run, tuple(kept.value for kept in gone), revision, statuses, past)


def asked_of_marks(before: Job, after: Job) -> tuple[str, ...]:
    """What is to be asked where new marks of a job are not on record any more: see `first_unsaid`."""
    left = {entry.id for entry in after.entries}
    return tuple(words for run in before.runs for words in first_unsaid(run, before.entries_of(run), left))


def check_whose(run: JobRun, what: str, whose: Set[str], *, by: str, anyone: bool) -> None:
    """Raises InputError where `what` is taken back of a run is somebody else's, and `anyone` does not say so."""
    others = sorted(whose - {by})
    if others and not anyone:
        raise InputError(
            f"{what} of run {run.key} is not yours: by {', '.join(one or 'somebody' for one in others)}.",
            hint="`racewright job log RUN` shows it; talk to them, or give --anyone",
        )


class PlansOf:
    """What a run's surveys of before have in common with the one that it has now. Plans only where these differ, and
    each once."""

    def __init__(self, store: JobStore, job: str, run: JobRun) -> None:
        self.run = run
        self._store, self._job = store, job
        self._made: dict[JobRun, RunSummary] = {}

    def alike(self, was: JobRun) -> bool:
        """Whether the run as it was has the plan that it has now. Surveys that differ in names alone have one plan."""
        return was.survey == self.run.survey or self._now(was).marks == self._now(self.run).marks != ""

    def says(self, before: JobRun | None) -> Callable[[JobRun], bool]:
        """Whether a status that was set on the run as it was is one of it now too: its survey is the same, or that of
        `before`, and has the same plan, in which no check finds a problem."""

        def of_now(was: JobRun) -> bool:
            if was.survey == self.run.survey:
                return True
            same = before is not None and was.survey == before.survey and self.alike(was)
            return same and self._now(self.run).outcome == "planned"

        return of_now

    def _now(self, of: JobRun) -> RunSummary:
        from racewright.job.plan_job import chunks_of, plan_chunk  # every command that changes a job would wait for it

        if of not in self._made:
            alone = Job(head=self._store.head(self._job).value, runs=(of,), tools=self._store.tools_of((of,)))
            (self._made[of],) = plan_chunk(chunks_of(alone, (of,))[0])
        return self._made[of]


def made_of_another(plans: PlansOf, revisions: Sequence[Revision], entries: Sequence[Kept[Entry]]) -> Far:
    """What of the run, as these entries of it say, was made by another plan than that of the survey that it has now."""
    times = plans.run.times
    standing = statuses_by((kept.value for kept in entries), times)
    if any(status not in NOT_BENT for status in standing):
        had = _statuses_with(plans.alike, times, revisions, entries)
        if any(status not in NOT_BENT and was in NOT_BENT for status, (was, _) in zip(standing, had, strict=True)):
            return "bent"
    on = {kept.number: kept.value for kept in revisions}
    made: dict[int, Far] = {}
    for _, of in by_copy((kept.value for kept in entries), times):
        for entry in of:
            if isinstance(entry.what, Made):
                made[entry.pins.run] = further(made.get(entry.pins.run, ""), far_made(entry.what))
    others = (n for n in made if not (isinstance(was := on.get(n), JobRun) and plans.alike(was)))
    return further(*(made[number] for number in others))


def _of_another_survey(
    store: JobStore, job: str, revisions: Sequence[Revision], entries: Sequence[Kept[Entry]]
) -> list[Kept[Entry]]:
    """The last of these entries, oldest first, that set a status short of bent which the run had with another survey
    than it has now, but for names."""
    now_it_is = revisions[0].value
    stale: list[Kept[Entry]] = []
    left = list(entries)
    plans = PlansOf(store, job, now_it_is) if isinstance(now_it_is, JobRun) else None
    while plans is not None:
        said = (kept for kept in reversed(left) if isinstance(kept.value.what, StatusSet))
        last = next((kept for kept in said if (kept.value.copy or 1) <= plans.run.times), None)
        of = _pinned(last, revisions) if last is not None else None
        standing = statuses_by((kept.value for kept in left), plans.run.times)
        had = _statuses_with(plans.says(_run_of(of)), plans.run.times, revisions, left)
        stays = (status not in NOT_BENT or status == before for status, (before, _) in zip(standing, had, strict=True))
        if last is None or all(fine for copy, fine in enumerate(stays, 1) if last.value.copy in (None, copy)):
            break
        stale.append(last)
        left.remove(last)
    return stale


def status_entries(
    plans: PlansOf, revisions: Sequence[Revision], entries: Sequence[Kept[Entry]], number: int, by: str
) -> tuple[Entry, ...]:
    """The entries that give a run, whose survey is another from revision `number` on, the status that it had when that
    survey stood before (measured, where it never did). None where these entries of it, oldest first, say so already,
    where its plan differs from the last survey's in names alone, and for the copies that they say are bent: what is
    bent is bent."""
    run = plans.run
    standing = statuses_by((kept.value for kept in entries), run.times)
    had = _statuses_with(plans.says(_run_of(revisions[0])), run.times, revisions, entries)
    at = now()
    return tuple(
        Entry(
            run=run.id,
            copy=copy,
            what=StatusSet(status=status),
            pins=msgspec.structs.replace(had[(copy or 1) - 1][1], run=number),
            by=by,
            at=at,
        )
        for copy, status in to_set(standing, [status for status, _ in had])
    )


def _statuses_with(
    alike: Callable[[JobRun], bool], times: int, revisions: Sequence[Revision], entries: Sequence[Kept[Entry]]
) -> list[tuple[Status, Pins]]:
    """Of each copy the last status that was set while its run was `alike`, with its pins."""
    said: list[Entry] = []
    for kept in reversed(entries):
        if isinstance(kept.value.what, StatusSet) and _said_of(alike, kept, revisions):
            said.append(kept.value)
            if kept.value.copy is None and sets(kept.value, STATUSES[-1]):
                break  # whatever stood before
    return [(status, entry.pins if entry else Pins()) for status, entry in set_by(reversed(said), times)]


def _said_of(alike: Callable[[JobRun], bool], kept: Kept[Entry], revisions: Sequence[Revision]) -> bool:
    """Whether an entry was made while its run was `alike`."""
    of = _pinned(kept, revisions)
    return of is not None and isinstance(of.value, JobRun) and alike(of.value)


def _run_of(revision: Revision | None) -> JobRun | None:
    return revision.value if revision is not None and isinstance(revision.value, JobRun) else None


def _pinned(kept: Kept[Entry], revisions: Sequence[Revision]) -> Revision | None:
    """The revision of its run that an entry was made on; where it is not known, the one that stood when it came."""
    said = next((r for r in revisions if r.number == kept.value.pins.run), None)
    return said or next((r for r in revisions if r.change <= kept.change), None)


def _last_of(
    run: JobRun, revisions: Sequence[Revision], mine: Sequence[Kept[Entry]]
) -> tuple[Revision | None, list[Kept[Entry]], set[str]]:
    """What undoing a run takes back: the revision to go back to, or None; the entries that go; whose that all is. A
    status that came with another survey, or with copies, goes with it. Raises InputError where there is nothing."""
    later = {r.change: r for r in revisions if r.base}
    along: list[Kept[Entry]] = []
    own: list[Kept[Entry]] = []
    for kept in mine:
        came, of = later.get(kept.change), _pinned(kept, revisions)
        goes_along = (
            came is not None
            and (isinstance(kept.value.what, StatusSet) or _is_again(kept, mine))
            and ((of is not None and came.value == of.value) or _of_its_copies(kept.value, came, revisions))
        )
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


def _is_again(kept: Kept[Entry], mine: Sequence[Kept[Entry]]) -> bool:
    """Whether work was only said again, of a copy that counts again."""
    now = kept.value
    before = [one.value for one in mine if one.change < kept.change and type(one.value.what) is type(now.what)]
    return is_work(now) and any(msgspec.structs.replace(one, id=now.id, what=now.what) == now for one in before)


def _of_its_copies(entry: Entry, came: Revision, revisions: Sequence[Revision]) -> bool:
    """Whether an entry is of a copy that came, or went, with this revision of its run."""
    before = next((one for one in revisions if one.number == came.base), None)
    times = [one.value.times for one in (before, came) if one is not None and isinstance(one.value, JobRun)]
    return len(times) == 2 and entry.copy is not None and min(times) < entry.copy <= max(times)


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
