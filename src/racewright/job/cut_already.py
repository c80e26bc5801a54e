"""Which pieces of a run are cut already: all of a copy that somebody called bent, and each of which a bend is made or a
step done that cuts it, or that comes after that (`cut` in the table of steps). A copy that is bent by its recorded
bends alone has its bent pieces; of a straight one nobody said that it is cut, where no such step of it is done."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from typing import Literal, NamedTuple

from racewright.plan.model import Plan
from racewright.records.anew import marked_anew
from racewright.records.bends_left import bends_left
from racewright.records.entry import (
    NOT_BENT,
    STATUS_WORDS,
    Corrected,
    Entry,
    Readings,
    Status,
    by_copy,
    counted,
    for_marks,
    made_of,
    set_by,
)
from racewright.records.far_off import far_off_pieces
from racewright.records.model import Job, JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.records.of_plan import of_plan
from racewright.records.other_marks import bent_by_other, kept_without
from racewright.records.read_otherwise import open_readings
from racewright.records.superseded import made_by_other, pieces_begun
from racewright.takeoff.bill_model import CopyPiece

#: Of which copies the cut list is, by the key of their run.
Copies = Mapping[str, tuple[int, ...]]


def to_cut(status: Status) -> bool:
    """Whether conduit of this status is not bent yet, so that it is still to be cut."""
    return status in NOT_BENT


def copies_to_cut(job: Job, plans: Mapping[str, Plan] | None = None) -> Copies:
    """The copies of which a piece is still to be cut, by the key of their run; runs of which none is are left out.
    `plans`: of these runs, by their keys; a copy that is bent by its recorded bends counts where it may have a straight
    piece."""
    left: dict[str, tuple[int, ...]] = {}
    for run in job.runs:
        plan = (plans or {}).get(run.key)
        straight = {copy for copy, _ in straight_left(job, run, plan)} if plan else set(_bent_by_work(job, run, None))
        left[run.key] = tuple(n for n, s in enumerate(job.statuses(run), 1) if to_cut(s) or n in straight)
    return {key: copies for key, copies in left.items() if copies}


def straight_left(job: Job, run: JobRun, plan: Plan) -> set[CopyPiece]:
    """The straight pieces of bent copies that are still to be cut: the copy is bent as bends of its other pieces are
    recorded, nobody set it to bent, or further, and no step says that they are cut."""
    straight = [number for number, piece in enumerate(plan.pieces, 1) if not piece.bends]
    left = {(copy, number) for copy in (_bent_by_work(job, run, plan) if straight else ()) for number in straight}
    return left.difference(_begun_pieces(job, run)) if left else left


def _bent_by_work(job: Job, run: JobRun, plan: Plan | None) -> Iterator[int]:
    """The copies that are bent by what is recorded of their pieces; None for the plan: those that may be."""
    entries = of_plan(job.entries_of(run), plan)
    said = set_by(entries, run.times)
    for copy, of in by_copy(entries, run.times):
        status, by = said[copy - 1]
        if status == "bent" and by is not None and by.pins.marks and by in of and _is_bent_by(of[: of.index(by)], plan):
            yield copy


def _is_bent_by(before: Sequence[Entry], plan: Plan | None) -> bool:
    """Whether what was recorded of a copy, till it was called bent, makes it so: a finished piece was measured or
    corrected, or no bend is left."""
    if any(isinstance(entry.what, Readings | Corrected) for entry in before):
        return True
    made = [entry for entry in before if for_marks(entry.what) is not None]
    if plan is None or any(entry.pins.marks != plan.digest for entry in made):
        return bool(made)
    record = made_of(made, plan.digest)
    bends = [[bend.number for bend in piece.bends] for piece in plan.pieces]
    return bool(record) and not any(bends_left(of, record.get(number, ())) for number, of in enumerate(bends, 1))


def _begun_pieces(job: Job, run: JobRun) -> tuple[CopyPiece, ...]:
    """The pieces that are cut, or of which bends are made, also of copies that are bent by now."""
    return tuple(
        (copy, number) for copy, entries in by_copy(job.entries_of(run), run.times) for number in pieces_begun(entries)
    )


#: What the rest of a piece that is begun is bent by.
RestBy = Literal["card", "card once cut", "new marks", "other plan", "done", "none"]


def cut_for(plan: str) -> str:
    """That a piece is cut for another plan than its run's present one, in words."""
    return f"cut for plan {plan}"


class Begun(NamedTuple):
    """A piece that is begun, and what its rest is bent by: 'done' where no bend is left, 'none' where bends were made
    by other marks than those that hold, or are recorded far from what they should be, or otherwise by two people, 'card
    once cut' where it is only cut, for another plan. `other`: the plans of what is done of it that are not the run's
    present one, '' where there is none. `bent`: bends of it are made, it is not only cut."""

    copy: int
    number: int
    rest_by: RestBy
    other: str
    bent: bool


def begun(job: Job, run: JobRun, plan: Plan) -> tuple[Begun, ...]:
    """The pieces that are begun, also of copies that are bent by now, and what their rest is bent by; `plan`: the run's
    present one."""
    entries = of_plan(job.entries_of(run), plan)
    anew, other = marked_anew(run, entries, None), by_other(job, run, plan)
    others = {one.pins.marks for one in entries} - {"", plan.digest}
    lost = {*bent_by_other(run, entries, plan), *(which for one in others for which in kept_without(run, entries, one))}
    lost |= far_off_pieces(run, entries, plan.digest, plan.bends_planned)
    lost |= open_readings(run, entries, plan.digest, plan.bends_planned)
    done = set(_no_bend_left(run, entries, plan))
    bent = {
        (copy, entry.piece or 1)
        for copy, of in by_copy(entries, run.times)
        for entry in of
        if for_marks(entry.what) is not None
    }
    found, statuses = [], job.statuses(run)
    for which in _begun_pieces(job, run):
        by_plan: Literal["card", "card once cut", "other plan"] = "card"
        if which in other:
            is_made = which in bent or not to_cut(statuses[which[0] - 1])
            by_plan = "other plan" if is_made else "card once cut"
        left_by = "done" if which in done and which not in other else "new marks" if which in anew else by_plan
        found.append(Begun(*which, "none" if which in lost else left_by, other.get(which, ""), which in bent))
    return tuple(found)


def _no_bend_left(run: JobRun, entries: Iterable[Entry], plan: Plan) -> Iterator[CopyPiece]:
    for copy, of in by_copy(entries, run.times):
        for number, record in made_of(of, plan.digest).items():
            if number <= len(plan.pieces) and not bends_left([b.number for b in plan.pieces[number - 1].bends], record):
                yield copy, number


def by_other(job: Job, run: JobRun, plan: Plan) -> dict[CopyPiece, str]:
    """The pieces that are bent or begun by another plan than this, the run's present one, each with what plan."""
    made = made_by_other(run, of_plan(job.entries_of(run), plan), plan.digest, len(plan.pieces))
    left = straight_left(job, run, plan)
    return {which: by for which, by in made.items() if which not in left}


def cut_for_other(job: Job, run: JobRun, plan: Plan) -> dict[CopyPiece, str]:
    """Of these those that are only cut."""
    return {(one.copy, one.number): one.other for one in begun(job, run, plan) if one.rest_by == "card once cut"}


def cut_already(job: Job, run: JobRun, plan: Plan) -> dict[CopyPiece, str]:
    """The pieces of the run that are cut already, each with the plan that it was made by where that is not this, the
    run's present one; so its length is not known."""
    bent = (copy for copy, status in enumerate(job.said_of(run), 1) if not to_cut(status))
    there = {*_begun_pieces(job, run), *((copy, number) for copy in bent for number in range(1, len(plan.pieces) + 1))}
    other = by_other(job, run, plan)
    return {which: other.get(which, "") for which in sorted(there - straight_left(job, run, plan))}


def cut_words(job: Job, run: JobRun, plan: Plan | None = None, but: Container[int] = ()) -> str:
    """Which copies of a run are bent, and how far they are: 'RM-1#1 to 8, 10 (8 bent, 1 in place)', 'PH-1 (bent)';
    '' where none is; where a straight piece of them is still to be cut, the pieces that are bent: 'PH-1-2 (bent)'.
    `but`: of these copies nothing is told."""
    left = straight_left(job, run, plan) if plan else set()
    in_part = {copy for copy, _ in left}
    bent = {copy: s for copy, s in enumerate(job.statuses(run), 1) if not to_cut(s) and copy not in but}
    whole = {copy: status for copy, status in bent.items() if copy not in in_part}
    parts = [_copies_words(run, whole)] if whole else []
    pieces = len(plan.pieces) if plan else 0
    for copy in sorted(bent.keys() & in_part):
        numbers = [number for number in range(1, pieces + 1) if (copy, number) not in left]
        names = (with_copies(piece_name(run.key, n, pieces), [copy] if run.alike else []) for n in numbers)
        parts.append(f"{', '.join(names)} ({STATUS_WORDS[bent[copy]]})")
    return "; ".join(parts)


def _copies_words(run: JobRun, bent: Mapping[int, Status]) -> str:
    copies = list(bent)
    count = {s: n for s, n in counted(bent.values()).items() if n}
    states = ", ".join(f"{n} {STATUS_WORDS[s]}" if len(copies) > 1 else STATUS_WORDS[s] for s, n in count.items())
    return f"{with_copies(run.key, copies if run.alike else [])} ({states})"
