"""The bends of a piece that are recorded as made at the bench: held to its conduit, and the new marks for the rest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import radians

from racewright.errors import Finding, InputError, RacewrightError, told_of
from racewright.operations.as_cut import as_cut
from racewright.operations.bent import Bent, bent_as_planned
from racewright.operations.common import TapeUnit
from racewright.operations.half_bent import check_one_place, made_bends
from racewright.operations.kept_before import check_since_cut, words_otherwise
from racewright.operations.lines_read import by_line_mm, check_lines, lines_once_made, own_lines
from racewright.operations.made_before import as_read, places_read
from racewright.operations.new_marks import mark_of_start_mm
from racewright.operations.remark import RemarkAnswer, as_kept_before, remarked
from racewright.plan.model import Plan
from racewright.records.bends_left import line_is_lost, mark_of, read_otherwise_since, so_far
from racewright.records.entry import (
    Anew,
    BendMade,
    Entry,
    Made,
    MadeEntry,
    MarkAnew,
    by_copy,
    made_of,
)
from racewright.records.model import JobRun, MadeReading
from racewright.records.naming import piece_name, with_copies
from racewright.records.own_lines import OwnLine
from racewright.units.length import parse_length

#: So many kept new marks of a run are worked out again at a look at it: each takes up to a second.
_MOST_AGAIN = 6
_LONGER = "name the plan that it was bent from, if that is another one"


def held_to(piece: Bent, made: Sequence[MadeReading], earlier: Sequence[BendMade]) -> None:
    """Raises InputError for bends that cannot all be made so on the piece's conduit: these, and beside those that were
    recorded before and not again, where such can be made themselves."""
    planned = piece.piece
    stick_mm = max(planned.stock_mm, planned.least_stock_mm) if planned.trim_after else planned.least_stock_mm
    conduit_mm = stick_mm - planned.extra_a_mm
    made_bends(piece, made, conduit_mm, longer=_LONGER)
    again = {bend.number for bend in made}
    rest = as_read(bend for bend in earlier if bend.number not in again)
    if not _can_be(piece, rest, conduit_mm):
        return
    try:
        made_bends(piece, [*made, *rest], conduit_mm, longer=_LONGER)
    except InputError as err:
        numbers = ", ".join(str(bend.number) for bend in rest)
        raise InputError(
            f"beside what is recorded as bent already (mark {numbers}): {err.message}",
            hint="one of them is wrong: take it back, or record its bend again as it is",
            field="made",
        ) from None


def held_to_lines(piece: Bent, made: Sequence[MadeReading], record: Sequence[MadeEntry], *, read: bool) -> None:
    """Raises InputError where a bend that was bent on by new marks is recorded with the place of its first line, or one
    that was there with its place before end A was cut. `read`: they are read for the next new marks, which see
    themselves whether it is bent on."""
    now = so_far(record)
    if now.kept is not None:
        lines = own_lines(piece, record, {one.number: one for one in made})
        check_since_cut(piece, now, places_read(piece, made, lines), lines)
        if not read:
            check_lines(piece, now.kept.what, places_read(piece, (one for one in made if one.mark), lines), lines)


def new_marks_after(
    piece: Bent, made: Sequence[MadeReading], in_hand: str, record: Sequence[MadeEntry]
) -> RemarkAnswer:
    """The new marks that the bends made, these and those on record (oldest first), leave for the rest. Raises
    InputError where they cannot be told: nothing is said to be made, or what was made does not tell what the piece
    is."""
    if not made and not record:
        raise InputError(
            "new marks are worked out from the bends that are made, and none is recorded.",
            hint="say what each bend that is made has",
            field="made",
        )
    with told_of({"stock": "in_hand"}):
        return remarked(piece, made, in_hand, record, since=read_otherwise_since(record))


def kept_otherwise(plan: Plan, run: JobRun, entries: Iterable[Entry]) -> Iterator[Finding]:
    """A caution for each piece of the run whose kept new marks come out otherwise now; so many are looked at, the first
    of them, and one more caution says of how many that was not done."""
    told: dict[tuple[int, Made, bool, float], str] = {}
    passed_over = 0
    for copy, of in by_copy(entries, run.times):
        whole = made_of(of, plan.digest, whole=True)
        for number, record in made_of(of, plan.digest).items():
            kept = so_far(record).kept
            if kept is None or number > len(plan.pieces):
                continue
            piece = bent_as_planned(plan, plan.pieces[number - 1])
            cut = as_cut(piece, whole[number])
            key = (number, kept.what, line_is_lost(record, for_kept=True), cut.kept(kept.what).piece.least_stock_mm)
            if key not in told and len(told) == _MOST_AGAIN:
                passed_over += 1
                continue
            if key not in told:
                told[key] = _why_otherwise(piece, kept.what.anew, whole[number])
            if told[key]:
                name = with_copies(piece_name(run.key, number, len(plan.pieces)), [copy] if run.alike else [])
                yield Finding(
                    severity="caution", rule="job.kept_otherwise", message=f"{name}: {told[key]}", where=run.key
                )
    if passed_over:
        message = (
            f"the new marks of {passed_over} more were not worked out again here: Bend does, of the piece at hand."
        )
        yield Finding(severity="caution", rule="job.kept_otherwise", message=message, where=run.key)


def _why_otherwise(piece: Bent, kept: Anew | None, record: Sequence[MadeEntry]) -> str:
    try:
        answer = as_kept_before(piece, record)
    except RacewrightError as err:
        return err.in_sentences
    now = answer.keep.anew if answer.keep else None
    return words_otherwise(kept, now, piece.tape) if kept and now else ""


def _can_be(piece: Bent, made: Sequence[MadeReading], conduit_mm: float) -> bool:
    try:
        return bool(made and made_bends(piece, made, conduit_mm))
    except InputError:
        return False


def as_kept(
    made: Sequence[MadeReading],
    unit: TapeUnit,
    piece: Bent | None,
    by: Made | None = None,
    record: Sequence[MadeEntry] = (),
) -> tuple[BendMade, ...]:
    """The bends as a record keeps them, one of which the begin was read by the mark that puts it there: the plan's,
    that of the new marks which it was made `by`, or the one by whose line it was bent by the `record`. Raises
    InputError for a place that is none; and for the begin of a bend of which no plan is known, or that begins so near
    end A that its mark is not on the conduit."""
    lines = lines_once_made(piece, record, made) if piece and by else {}
    marks = {bend.number: mark_of(by, bend.number) if by else None for bend in made}
    return tuple(
        BendMade(
            number=bend.number,
            angle_rad=None if bend.angle_deg is None else radians(bend.angle_deg),
            mark_mm=_mark_mm(bend, f"made[{index}]", unit, piece, marks[bend.number], lines.get(bend.number)),
            roll_off_rad=None if bend.roll_off_deg is None else radians(bend.roll_off_deg),
        )
        for index, bend in enumerate(made)
    )


def _mark_mm(
    bend: MadeReading, at: str, unit: TapeUnit, piece: Bent | None, new: MarkAnew | None, line: OwnLine | None
) -> float | None:
    check_one_place(bend, at)
    if not bend.start:
        return float(parse_length(bend.mark, unit, field=f"{at}.mark")) if bend.mark else None
    if piece is None:
        raise InputError(
            f"mark {bend.number}: where it begins cannot be kept, as there is no plan that it is of.",
            hint="give the place of its mark, or its angle alone",
            field=f"{at}.start",
        )
    mark_mm = mark_of_start_mm(piece, bend, new, at)
    if new is None or new.hook is None:
        deg = piece.bends[bend.number - 1].angle_deg if bend.angle_deg is None else bend.angle_deg
        mark_mm = by_line_mm(piece, bend.number, mark_mm, radians(deg), line)
    if mark_mm < 0.0:
        raise InputError(
            f"mark {bend.number}: a bend that begins there has its mark off the conduit, before end A.",
            hint="measure again, or give its angle alone",
            field=f"{at}.start",
        )
    return mark_mm
