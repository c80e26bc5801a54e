"""What is to be added to the record of a run of a job, held to its plan."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from math import radians
from typing import Annotated

import msgspec
from msgspec.structs import replace

from racewright import __version__
from racewright.cards.entry_words import kept_lines
from racewright.errors import Finding, InputError, RacewrightError, below
from racewright.fit.measured import ApexRise, BendNumber, Measured, check_bend, check_correction
from racewright.fit.unmeasured import record_finding
from racewright.job.cut_already import straight_left
from racewright.job.plan_job import not_finished, plan_one
from racewright.operations.bends_recorded import (
    as_kept,
    held_to,
    held_to_lines,
    new_marks_after,
)
from racewright.operations.bent import Bent, bent_as_planned, readings
from racewright.operations.common import Answer, Known, Name, Request
from racewright.operations.job_run import run_of
from racewright.operations.job_status import Revision
from racewright.operations.jobs import JobRequest
from racewright.operations.kept_before import SAME_CUT_MM
from racewright.operations.not_known import has_place
from racewright.operations.other_plan import by_this_plan, of_another_plan
from racewright.operations.remark import RemarkAnswer
from racewright.operations.steps_recorded import StepPlanned, StepSaid, early_steps, steps_done, steps_of, steps_told
from racewright.plan.digest import called_now, is_digest
from racewright.plan.model import Plan
from racewright.records.bends_left import as_recorded, bends_left, read_otherwise_since, so_far, status_at_bench
from racewright.records.ends_cut import EndsCut, ends_cut
from racewright.records.entry import (
    BY_PLAN,
    NOT_BENT,
    Corrected,
    Entry,
    Made,
    MadeEntry,
    MoveMade,
    Noted,
    Pins,
    Readings,
    Status,
    StatusSet,
    What,
    by_copy,
    for_marks,
    is_further,
    least_status,
    made_of,
    planned_done,
)
from racewright.records.far_off import far_off
from racewright.records.fields import MOST_COPIES, PieceNumber, Text, Times
from racewright.records.ids import new_id
from racewright.records.model import Degrees, Job, JobRun, MadeReading, Reading
from racewright.records.naming import piece_name
from racewright.records.of_plan import of_plan
from racewright.records.other_marks import other_findings, told_otherwise
from racewright.records.read_otherwise import read_otherwise
from racewright.survey.written import LengthText
from racewright.units.said import said_in
from racewright.units.tape import TapeUnit, style_of

#: Of readings and a correction that are recorded at once.
_BEFORE = "What was measured counts as before the correction: what is measured after it is recorded by itself."


class CorrectionMade(Request, frozen=True, kw_only=True):
    """A correction that was made: bend `number` closed by so many degrees (negative: opened)."""

    number: BendNumber
    by_deg: Degrees


class JobRecordRequest(JobRequest, frozen=True, kw_only=True):
    """Add to the record of `run`, which stands at `revision` where it is kept: how far it came (`status`), and what was
    measured, corrected and made on one of its pieces. `copies`: of these of the runs alike (none: the status or note of
    all of them; what was made and measured on a piece is of one, `steps` that are done may be of several). Lengths
    without a unit are as the run's tape shows them. `plan`:
    the digest on the card that the piece was bent from; '' for the present plan's. `anew`: the bends made, now or on
    record, are not as planned, and new marks for the rest are worked out and kept with them; `in_hand`: how long the
    conduit is ('' and from where: as for `remark`). `steps`: what new marks want done before the bends, and
    steps of the plan, that are done. `by_card`: the bends were made by the marks of the plan, whatever new marks were
    kept; else they were made by the marks that hold."""

    run: Name
    revision: Revision = 0
    piece: PieceNumber = 1
    copies: Annotated[tuple[Times, ...], msgspec.Meta(max_length=MOST_COPIES)] = ()
    status: Status | None = None
    measured: Annotated[tuple[Reading, ...], msgspec.Meta(max_length=60)] = ()
    corrected: Annotated[tuple[CorrectionMade, ...], msgspec.Meta(max_length=60)] = ()
    made: Annotated[tuple[MadeReading, ...], msgspec.Meta(max_length=120)] = ()
    steps: Annotated[tuple[StepSaid, ...], msgspec.Meta(max_length=120)] = ()
    anew: bool = False
    in_hand: LengthText = ""
    by_card: bool = False
    note: Text = ""
    plan: Text = ""


class JobRecordAnswer(Answer, frozen=True, kw_only=True):
    """What is to be added to the record of the run, in this order, each an entry of its own with these `pins`; those
    that set a status are of the whole run, the others of `piece`; each again for every one of `copies` (none: of all;
    what was done on a piece of a run of which one is wanted is of copy 1).
    `status`: how far these copies are from then on. `remark`: the new marks for the rest, where they were asked for;
    they hold from then on where it has something to `keep`. `words`: the entries of the piece as they are understood,
    with lengths as the run's tape shows them."""

    run: str
    piece: int
    copies: tuple[int, ...]
    what: tuple[What, ...]
    words: tuple[str, ...]
    pins: Pins
    status: Status
    remark: RemarkAnswer | None = None


def job_record(request: JobRecordRequest, _: Known) -> JobRecordAnswer:
    """Hold the record to the run's plan. Raises InputError for a copy, piece, bend or place that the run does not have,
    for work on a piece of a copy that is not named, where nothing is to be recorded, and where a run is called planned
    that is still to be measured; LimitError for a correction or a lean that is none. A run that has no plan, or a piece
    that was bent from another one, is not held. A run (of runs alike the copy) is planned once a bend or a step of it
    is recorded as made by its plan, and bent once every bend of its pieces is, or a finished piece of it was measured
    or corrected."""
    job = request.job
    run, _at = run_of(job, request.run)
    on_piece = bool(request.measured or request.corrected or request.made or request.steps)
    if not (request.status or on_piece or request.note or request.anew):
        raise InputError(
            "there is nothing to record.", hint="say what was measured or corrected, or write a note", field="measured"
        )
    unfinished = not_finished(run, job) if request.status == "planned" else None
    if unfinished:
        raise InputError(f"run {run.key} is not planned: {unfinished.message}", hint=unfinished.hint, field="status")
    _check_copies(run, request)
    now = _plan(job, run)
    bent_from = _digest(request.plan, now) or (now.digest if now else "")
    plan = now if now and now.digest == bent_from else None
    piece = _piece(plan, request.piece) if plan else None
    of_copies = _of_copies(job, run, now)
    of_copy = of_copies[request.copies[0] if request.copies else 1]
    made = made_of(of_copy, bent_from)
    record = made.get(request.piece, [])
    kept = so_far(record).kept
    planned = steps_of(plan, request.piece)
    steps = _steps_done(request, of_copies, bent_from, planned)
    record = [*record, *_as_made(steps)]
    tape = style_of(run.survey.units, run.survey.fraction)
    with said_in(tape):
        by_new = None if kept is None or request.by_card else kept.what
        with _of_piece(run, plan, request.piece):
            what = list(_said(request, tape.unit, piece, record, by_new))
        if piece and not request.by_card:
            held_to_lines(piece, request.made, record, read=request.anew)
        whole = made_of(of_copy, bent_from, whole=True).get(request.piece, [])
        whole += [MadeEntry(id=new_id(), what=one) for one in steps]
        new = _new_marks(request, run, piece, whole)
        if new is not None and new.keep is not None and not request.made:
            note = "" if request.measured or request.corrected else request.note
            again = () if kept and _are_kept(request, new.keep, kept.what, record) else (replace(new.keep, note=note),)
            what = [*(one for one in what if not again or not isinstance(one, Noted)), *again]
        elif new is not None and new.keep is not None:
            what = [replace(new.keep, note=one.note) if isinstance(one, Made) else one for one in what]
        elif bent_from:
            by_marks = BY_PLAN if kept is None or by_new is None else kept.id
            what = [_made_by(one, by_marks) if isinstance(one, Made) else one for one in what]
    record_now = [*record, *_as_made(what)]
    what = [*steps, *what]
    # work is of the first, also where one is wanted: more may be by the time that it is heard of
    alone: tuple[int, ...] = (1,) if on_piece else ()
    copies, now_are = (request.copies if run.alike else alone), job.statuses(run)
    of = [now_are[copy - 1] for copy in copies] or now_are
    stood, told = least_status(of), request.status
    if told is None and stood in NOT_BENT:
        if request.measured or request.corrected:
            told = "bent"
        elif (request.made or steps) and plan is not None:
            now_made = {**made, request.piece: record_now}
            begun: Status = "planned" if stood == "measured" else stood
            told = status_at_bench(begun, [[bend.number for bend in one.bends] for one in plan.pieces], now_made)
    set_back = _is_set_back(run, of, told, on_piece=on_piece)
    straight = _straight_cut(job, run, plan, copies) if request.status == "bent" and not on_piece else set()
    by_hand = bool(straight) and all(status == told for status in of)  # bent by its bends alone until now
    if told is not None and (by_hand or any(status != told for status in of)):
        if not what:
            copies = tuple(copy for copy in copies if now_are[copy - 1] != told or (by_hand and copy in straight))
        what.append(StatusSet(status=told))
    pins = Pins(
        run=request.revision if plan or not bent_from else 0,
        tool=plan.bender.name if plan and plan.bender else "",
        engine=__version__,
        marks="" if set_back or by_hand else bent_from,  # with them it would lower none, or say nothing new
    )
    return JobRecordAnswer(
        run=run.key,
        piece=request.piece,
        copies=copies,
        what=tuple(what),
        words=(
            *kept_lines(run, request.piece, copies, what, len(now.pieces) if now else 0, _ends(run, of_copy, steps)),
            *steps_told(request.steps, planned),
            *([_BEFORE] if request.measured and request.corrected else []),
        ),
        pins=pins,
        status="planned" if told is None and stood == "bent" and _keeps_marks(what) else told or stood,
        remark=new,
        not_included=new.not_included if new else (),
        cautions=new.cautions if new else (),
        findings=(
            *(new.findings if new else ()),
            *of_another_plan(run, bent_from, now),
            *(
                by_this_plan(run, request.piece, request.steps, of_copy, now)
                if on_piece and not request.plan and now
                else ()
            ),
            *(early_steps(run, plan, request.piece, request.steps, record_now) if plan else ()),
            *_made_twice(run, request.made, _earlier(of_copy, record), record),
            *_by_other(run, request, piece, record_now),
            *(record_finding(_measured(of_copy, request.piece, bent_from, what), run.key) if request.measured else ()),
            *_beside_the_rest(job, run, request.piece, copies, what, bent_from, now),
        ),
    )


def _check_copies(run: JobRun, request: JobRecordRequest) -> None:
    if request.copies and max(request.copies) > run.times:
        there = f"{run.times} times" if run.alike else "once"
        raise InputError(
            f"run {run.key} has no copy {max(request.copies)}: it is there {there}.",
            hint=f"copies count from 1 to {run.times}" if run.alike else "leave the copy out",
            field="copies",
        )
    of_one = request.measured or request.corrected or request.made or (request.anew and request.steps)
    if run.alike and len(request.copies) != 1 and (of_one or (request.steps and not request.copies)):
        raise InputError(
            f"run {run.key} is {run.alike}, and what was measured, corrected or made on a piece is of one of them.",
            hint=f"name the copy, 1 to {run.times}; it stands behind the # on the piece and its label",
            field="copies",
        )


def _steps_done(
    request: JobRecordRequest, copies: Mapping[int, Sequence[Entry]], marks: str, planned: Sequence[StepPlanned] | None
) -> tuple[Made, ...]:
    """What is recorded of steps that are no bends, held to each of the copies that are named. Raises InputError where
    one has them done already, or is not made by the same marks as the others."""
    named, found = request.copies or (1,), []
    for copy in named if request.steps else ():
        record = made_of(copies[copy], marks).get(request.piece, [])
        kept = so_far(record).kept
        over = planned_done(copies[copy], marks, request.piece, BY_PLAN if kept is None else kept.id)
        try:
            found.append(steps_done(request.steps, record, planned, over))
        except InputError as err:
            err.message = f"copy {copy}: {err.message}" if len(named) > 1 else err.message
            raise
        if found[-1] != found[0]:
            raise InputError(
                f"copy {copy} is made by other marks than copy {named[0]}.",
                hint="record what is done of each by itself",
                field="copies",
            )
    return found[0] if found else ()


def _is_set_back(run: JobRun, of: Iterable[Status], told: Status | None, *, on_piece: bool) -> bool:
    """Whether what stood so is less from then on. Raises InputError where it is worked `on_piece` at once."""
    back = told is not None and any(is_further(status, told) for status in of)
    if back and on_piece:
        raise InputError(
            f"run {run.key} is set back, and work on it is recorded at once.",
            hint="record the work first, then set it back; or the other way round, if it is of the next piece",
            field="status",
        )
    return back


def _straight_cut(job: Job, run: JobRun, plan: Plan | None, copies: Collection[int]) -> set[int]:
    """Of these copies (none: of all) those whose straight pieces are cut where somebody says that they are bent."""
    left = straight_left(job, run, plan) if plan else ()
    return {copy for copy, _ in left if not copies or copy in copies}


def _digest(written: str, now: Plan | None) -> str:
    """A plan's digest as cards print it; the one that the present plan had before is its own. Raises InputError for
    what is none."""
    digest = written.strip().upper()
    if digest and not is_digest(digest):
        raise InputError(
            f"'{written[:40]}' is no plan's digest.",
            hint="it stands on every card: six letters and digits behind the word plan",
            field="plan",
        )
    return called_now(digest, now.digest, now.digest_before) if now else digest


def _of_copies(job: Job, run: JobRun, now: Plan | None) -> dict[int, list[Entry]]:
    """What was seen and done on each copy since it was last set back, oldest first."""
    return dict(by_copy(of_plan(job.entries_of(run), now), run.times))


def _measured(of_copy: Iterable[Entry], piece: int, marks: str, new: Iterable[What]) -> tuple[Measured, ...]:
    """What was measured on the piece of this plan, before and now."""
    before = (entry.what for entry in of_copy if entry.pins.marks == marks and (entry.piece or 1) == piece)
    return tuple(item for one in (*before, *new) if isinstance(one, Readings) for item in one.measured)


def _as_made(what: Iterable[What]) -> Iterator[MadeEntry]:
    """What of this is made of the piece, as marks reckon with it, before it has an id of its own."""
    return (MadeEntry(id=new_id(), what=made) for made in map(for_marks, what) if made is not None)


def _ends(run: JobRun, of_copy: Iterable[Entry], steps: Iterable[Made]) -> EndsCut:
    """Which steps cut end B by new marks, of those that are recorded now too."""
    return ends_cut([*of_copy, *(Entry(run=run.id, what=one) for one in steps)])


def _made_by(what: Made, by_marks: str) -> Made:
    return replace(what, bends=tuple(replace(bend, by_marks=by_marks) for bend in what.bends))


def _earlier(entries: Iterable[Entry], record: Iterable[MadeEntry]) -> dict[int, Entry]:
    """The entries that say the bends of this record are made, the last of each."""
    by_id = {entry.id: entry for entry in entries}
    return {bend.number: by_id[one.id] for one in record for bend in one.what.bends}


def _by_other(
    run: JobRun, request: JobRecordRequest, piece: Bent | None, record: Sequence[MadeEntry]
) -> Iterator[Finding]:
    """A caution where bends are recorded now and the marks for the rest of their piece do not hold."""
    if piece is not None and request.made:
        copy = request.copies[0] if request.copies else 1
        told = told_otherwise(piece.plan, request.piece, record)
        yield from other_findings(run, {(copy, request.piece): told} if told else {}, len(piece.plan.pieces))


def _made_twice(
    run: JobRun, made: Sequence[MadeReading], earlier: Mapping[int, Entry], record: Sequence[MadeEntry]
) -> Iterator[Finding]:
    """By new marks, made bends too are left that are bent further or opened. One whose plane is told is measured again,
    and so is one whose place is, where new marks that hold cut the piece at end A."""
    kept, left = so_far(record).kept, bends_left((), record)
    cut = kept is not None and kept.what.anew is not None and abs(kept.what.anew.trim_mm) > SAME_CUT_MM
    measured = {bend.number for bend in made if bend.roll_off_deg is not None or (cut and has_place(bend))}
    again = (bend.number for bend in made if bend.number in earlier and bend.number not in left)
    for number in dict.fromkeys(number for number in again if number not in measured):
        entry = earlier[number]
        yield Finding(
            severity="caution",
            rule="job.made_twice",
            message=f"mark {number} is recorded as bent already, by {entry.by or 'somebody'} {_when(entry.at)}".rstrip()
            + ": the last one counts. Take back the one that is wrong"
            f" (`racewright job undo {run.key} --made {number}`).",
            where=run.key,
        )


def _when(at: str) -> str:
    """'2026-05-04 10:32 UTC' of '2026-05-04T10:32:07+00:00'; what is none stays as it is."""
    day, _, time = at.partition("T")
    return f"{day} {time[:5]} UTC" if time.endswith(("+00:00", "Z")) else at


def _beside_the_rest(
    job: Job, run: JobRun, piece: int, copies: Sequence[int], what: Sequence[What], marks: str, now: Plan | None
) -> Iterator[Finding]:
    """What is recorded now of bends that are far from what they should be, and of what cannot be right beside what was
    recorded; `marks`: those that it is recorded by."""
    pins, copy = Pins(marks=marks), copies[0] if copies else None
    new = [Entry(run=run.id, piece=piece, copy=copy, what=one, pins=pins) for one in what]
    entries = (*of_plan(job.entries_of(run), now), *new)
    digest, bends = (now.digest, now.bends_planned) if now else ("", ())
    if marks == digest:
        yield from far_off(run, entries, digest, bends, last=len(new))
    yield from read_otherwise(run, entries, digest, bends, last=len(new))


def _said(
    request: JobRecordRequest,
    unit: TapeUnit,
    piece: Bent | None,
    record: Sequence[MadeEntry],
    by: Made | None,
) -> Iterator[What]:
    """What is recorded, in this order: bends are made before the finished piece is measured, but for those of which new
    marks are asked for; the note stands with what was measured, or else with the first of it. `record`: what was made
    of the piece before; `by`: the new marks that they were made by, None: the plan's."""
    note = request.note
    measured = readings(piece, request.measured, unit, "measured")
    for index, item in enumerate(measured):
        if isinstance(item, ApexRise) and item.rise_mm < 0.0:
            raise InputError(
                "a rise is not below zero.", hint="measure up from the surface", field=f"measured[{index}].rise"
            )
    for index, one in enumerate(request.corrected):
        check_correction(radians(one.by_deg), f"corrected[{index}].by_deg")
    numbers = [(f"corrected[{i}]", one.number) for i, one in enumerate(request.corrected)]
    numbers += [(f"made[{i}]", one.number) for i, one in enumerate(request.made)]
    for place, number in numbers:
        if piece:
            with below(place):
                check_bend(piece.arcs, number)
    if request.made and piece and so_far(record).kept is None:  # by new marks it is another piece than its plan's
        held_to(piece, request.made, [*as_recorded(bend for one in record for bend in one.what.bends).values()])
    made: list[What] = []
    if request.made:
        of_made = "" if measured or request.corrected else note
        made = [Made(bends=as_kept(request.made, unit, piece, by, record), note=of_made)]
    if not request.anew:
        yield from made
    if measured:
        yield Readings(measured=measured, note=note)
    if request.corrected:
        moves = tuple(MoveMade(number=c.number, by_rad=radians(c.by_deg)) for c in request.corrected)
        yield Corrected(moves=moves, note="" if measured else note)
    if request.anew:
        yield from made
    if note and not (measured or request.corrected or request.made):
        yield Noted(note=note)


def _new_marks(
    request: JobRecordRequest,
    run: JobRun,
    piece: Bent | None,
    record: Sequence[MadeEntry],
) -> RemarkAnswer | None:
    if not request.anew:
        return None
    if piece is None:
        raise InputError(
            f"run {run.key} has no plan by which the piece was bent, so there are no new marks for it.",
            hint="new marks count from the plan on the card; record the bends without them",
            field="plan",
        )
    return new_marks_after(piece, request.made, request.in_hand, record)


def _keeps_marks(what: Iterable[What]) -> bool:
    return any(isinstance(one, Made) and one.anew is not None for one in what)


def _are_kept(request: JobRecordRequest, new: Made, kept: Made, record: Sequence[MadeEntry]) -> bool:
    """These new marks are on record already: asked for once more, for no other conduit, and for nothing read since."""
    return not (request.in_hand or read_otherwise_since(record)) or replace(new, note=kept.note) == kept


@contextmanager
def _of_piece(run: JobRun, plan: Plan | None, number: int) -> Iterator[None]:
    """What is refused inside for a mark that the piece does not have says which piece that is, and which have some."""
    try:
        yield
    except InputError as err:
        if plan is not None and len(plan.pieces) > 1 and err.field.endswith("number"):
            others = [(n, len(one.bends)) for n, one in enumerate(plan.pieces, 1) if one.bends and n != number]
            have = " and ".join(f"piece {n} has {count} mark{'' if count == 1 else 's'}" for n, count in others)
            err.message = f"{piece_name(run.key, number, len(plan.pieces))}: {err.message}"
            err.hint = f"{err.hint}; name another piece with --piece: {have}" if have else err.hint
        raise


def _plan(job: Job, run: JobRun) -> Plan | None:
    """The run's plan; None where it has none."""
    try:
        return plan_one(run, job)
    except RacewrightError:
        return None


def _piece(plan: Plan, number: int) -> Bent:
    count = len(plan.pieces)
    if number > count:
        raise InputError(
            f"piece {number} was named, and the run has {count} piece{'' if count == 1 else 's'}.",
            hint="pieces count from end A, the first is 1",
            field="piece",
        )
    return bent_as_planned(plan, plan.pieces[number - 1])
