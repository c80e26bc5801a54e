"""The bends of a piece that are recorded as made at the bench: held to its conduit, and the new marks for the rest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import degrees, radians

from racewright.errors import InputError, told_of
from racewright.fit.measured import BendNumber
from racewright.operations.bent import Bent
from racewright.operations.common import Request, TapeUnit
from racewright.operations.half_bent import made_bends
from racewright.operations.remark import RemarkAnswer, remarked
from racewright.records.entry import BendMade, Made
from racewright.records.model import Degrees, MadeReading
from racewright.sequence.words import mark_names
from racewright.survey.written import LengthText
from racewright.units.length import parse_length

_LONGER = "name the plan that it was bent from, if that is another one"


class BendDone(Request, frozen=True, kw_only=True):
    """A bend that was made at the bench: its angle, and where its mark stands from end A, where these were measured."""

    number: BendNumber
    angle_deg: Degrees | None = None
    mark: LengthText = ""


def held_to(piece: Bent, made: Sequence[BendDone], unit: TapeUnit, earlier: Sequence[BendMade]) -> None:
    """Raises InputError for bends that cannot all be made so on the piece's conduit: these, and beside those that were
    recorded before and not again, where such can be made themselves."""
    now = []
    for index, bend in enumerate(made):
        place = parse_length(bend.mark, unit, field=f"made[{index}].mark") if bend.mark else None
        now.append(_reading(bend.number, None if place is None else float(place), bend.angle_deg))
    planned = piece.piece
    stick_mm = max(planned.stock_mm, planned.least_stock_mm) if planned.trim_after else planned.least_stock_mm
    conduit_mm = stick_mm - planned.extra_a_mm
    made_bends(piece, now, conduit_mm, longer=_LONGER)
    again = {bend.number for bend in made}
    rest = [_as_read(bend) for bend in earlier if bend.number not in again]
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


def new_marks_after(
    piece: Bent,
    made: Sequence[BendDone],
    in_hand: str,
    unit: TapeUnit,
    earlier: Mapping[int, BendMade],
    kept: Made | None,
) -> RemarkAnswer:
    """The new marks that the bends made, these and those recorded before, leave for the rest. `kept`: with which new
    marks were kept before, by which the bends since are made. Raises InputError where they cannot be told: nothing is
    said to be made, or what was made by those does not tell what the piece is."""
    if not made:
        raise InputError(
            "new marks are worked out from the bends that are made, and none is recorded here.",
            hint="say what each bend that is made has",
            field="made",
        )
    here = {bend.number for bend in made}
    now = [as_kept(bend, unit, f"made[{index}].mark") for index, bend in enumerate(made)]
    now += [bend for number, bend in earlier.items() if number not in here]
    if kept is not None:
        now = list(_since(piece, now, kept))
    stock = f"{float(parse_length(in_hand, unit, field='in_hand'))} mm" if in_hand else ""
    with told_of({"stock": "in_hand"}):
        return remarked(piece, [_as_read(bend) for bend in now], stock)


def _since(piece: Bent, now: Sequence[BendMade], kept: Made) -> Iterator[BendMade]:
    """The bends made, those since by the marks that were kept with these. Raises InputError where these do not tell
    what the piece is."""
    assert kept.anew is not None
    before = {bend.number for bend in kept.bends}
    since = sorted(bend.number for bend in now if bend.number not in before)
    stock = "" if kept.anew.in_hand_mm is None else f"{kept.anew.in_hand_mm} mm"
    told = remarked(piece, [_as_read(bend) for bend in kept.bends], stock).by_marks if since else ()
    marks = {mark.number: mark for mark in kept.anew.marks if mark.number in {one.number for one in told}}
    other = [number for number in since if number not in marks]
    if other:
        are = "is" if len(other) == 1 else "are"
        raise InputError(
            f"{mark_names(other)} {are} bent by new marks that were kept before, and these turn, open, bend further"
            " or cut the piece otherwise than planned: what it is now cannot be told from its angles.",
            hint="finish the piece by the marks kept, and measure it then",
            field="made",
        )
    for bend in now:
        mark = None if bend.number in before else marks[bend.number]
        yield (
            bend
            if mark is None
            else BendMade(
                number=bend.number,
                angle_rad=mark.angle_rad if bend.angle_rad is None else bend.angle_rad,
                mark_mm=mark.mark_mm if bend.mark_mm is None else bend.mark_mm,
            )
        )


def _as_read(bend: BendMade) -> MadeReading:
    return _reading(bend.number, bend.mark_mm, None if bend.angle_rad is None else degrees(bend.angle_rad))


def _reading(number: int, mark_mm: float | None, angle_deg: float | None) -> MadeReading:
    return MadeReading(number=number, mark="" if mark_mm is None else f"{mark_mm:.6f} mm", angle_deg=angle_deg)


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
    )
