"""The bends of a piece that are recorded as made at the bench: held to its conduit, and the new marks for the rest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import radians

from racewright.errors import Finding, InputError, RacewrightError, told_of
from racewright.fit.measured import BendNumber
from racewright.operations.bent import Bent, bent_as_planned
from racewright.operations.common import Request, TapeUnit
from racewright.operations.half_bent import made_bends
from racewright.operations.kept_before import check_lines
from racewright.operations.made_before import as_read
from racewright.operations.remark import RemarkAnswer, as_kept_before, remarked
from racewright.plan.model import Plan
from racewright.records.bends_left import so_far
from racewright.records.entry import BendMade, Entry, Made, MadeEntry, by_copy, made_of
from racewright.records.model import Degrees, JobRun, MadeReading
from racewright.records.naming import piece_name, with_copies
from racewright.survey.written import LengthText
from racewright.units.length import parse_length

_LONGER = "name the plan that it was bent from, if that is another one"


class BendDone(Request, frozen=True, kw_only=True):
    """A bend that was made at the bench: its angle, where its mark stands from end A, and how far its plane is off the
    plan, clockwise seen from end A, where these were measured."""

    number: BendNumber
    angle_deg: Degrees | None = None
    mark: LengthText = ""
    roll_off_deg: Degrees | None = None


def held_to(piece: Bent, made: Sequence[BendDone], unit: TapeUnit, earlier: Sequence[BendMade]) -> None:
    """Raises InputError for bends that cannot all be made so on the piece's conduit: these, and beside those that were
    recorded before and not again, where such can be made themselves."""
    now = []
    for index, bend in enumerate(made):
        now += as_read([as_kept(bend, unit, f"made[{index}].mark")])
    planned = piece.piece
    stick_mm = max(planned.stock_mm, planned.least_stock_mm) if planned.trim_after else planned.least_stock_mm
    conduit_mm = stick_mm - planned.extra_a_mm
    made_bends(piece, now, conduit_mm, longer=_LONGER)
    again = {bend.number for bend in made}
    rest = as_read(bend for bend in earlier if bend.number not in again)
    if not _can_be(piece, rest, conduit_mm):
        return
    try:
        made_bends(piece, [*now, *rest], conduit_mm, longer=_LONGER)
    except InputError as err:
        numbers = ", ".join(str(bend.number) for bend in rest)
        raise InputError(
            f"beside what is recorded as bent already (mark {numbers}): {err.message}",
            hint="one of them is wrong: take it back, or record its bend again as it is",
            field="made",
        ) from None


def held_to_lines(piece: Bent, made: Sequence[BendDone], unit: TapeUnit, record: Sequence[MadeEntry]) -> None:
    """Raises InputError where a bend that was bent on by new marks is recorded with the place of its first line."""
    kept = so_far(record).kept
    if kept is not None:
        bends = [as_kept(bend, unit, f"made[{index}].mark") for index, bend in enumerate(made)]
        check_lines(piece, kept.what, [(bend.number, bend.mark_mm) for bend in bends if bend.mark_mm is not None])


def new_marks_after(
    piece: Bent, made: Sequence[BendDone], in_hand: str, unit: TapeUnit, record: Sequence[MadeEntry]
) -> RemarkAnswer:
    """The new marks that the bends made, these and those on record (oldest first), leave for the rest. Raises
    InputError where they cannot be told: nothing is said to be made, or what was made does not tell what the piece
    is."""
    if not made:
        raise InputError(
            "new marks are worked out from the bends that are made, and none is recorded here.",
            hint="say what each bend that is made has",
            field="made",
        )
    now = [as_kept(bend, unit, f"made[{index}].mark") for index, bend in enumerate(made)]
    stock = f"{float(parse_length(in_hand, unit, field='in_hand'))} mm" if in_hand else ""
    with told_of({"stock": "in_hand"}):
        return remarked(piece, as_read(now), stock, record)


def kept_otherwise(plan: Plan, run: JobRun, entries: Iterable[Entry]) -> Iterator[Finding]:
    """A caution for each piece of the run whose kept new marks come out otherwise now."""
    told: dict[tuple[int, Made], str] = {}
    for copy, of in by_copy(entries, run.times):
        for number, record in made_of(of, plan.digest).items():
            kept = so_far(record).kept
            if kept is None or number > len(plan.pieces):
                continue
            key = (number, kept.what)
            if key not in told:
                told[key] = _why_otherwise(bent_as_planned(plan, plan.pieces[number - 1]), kept.what)
            if told[key]:
                name = with_copies(piece_name(run.key, number, len(plan.pieces)), [copy] if run.alike else [])
                yield Finding(
                    severity="caution", rule="job.kept_otherwise", message=f"{name}: {told[key]}", where=run.key
                )


def _why_otherwise(piece: Bent, kept: Made) -> str:
    try:
        as_kept_before(piece, kept)
    except RacewrightError as err:
        return err.in_sentences
    return ""


def _can_be(piece: Bent, made: Sequence[MadeReading], conduit_mm: float) -> bool:
    try:
        return bool(made and made_bends(piece, made, conduit_mm))
    except InputError:
        return False


def as_kept(bend: BendDone, unit: TapeUnit, field: str) -> BendMade:
    """The bend as a record keeps it. Raises InputError, by `field`, for a place that is none."""
    return BendMade(
        number=bend.number,
        angle_rad=None if bend.angle_deg is None else radians(bend.angle_deg),
        mark_mm=float(parse_length(bend.mark, unit, field=field)) if bend.mark else None,
        roll_off_rad=None if bend.roll_off_deg is None else radians(bend.roll_off_deg),
    )
