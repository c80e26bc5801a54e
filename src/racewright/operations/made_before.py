"""What is known of the bends of a half-bent piece from its record: each as it is now, those too that were made by new
marks which were kept before."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from math import degrees, radians
from typing import NamedTuple

from msgspec.structs import replace

from racewright.errors import InputError, MarksLost
from racewright.fit.made import LEAST_MADE_RAD
from racewright.operations.bent import Bent
from racewright.operations.kept_before import (
    SAME_CUT_MM,
    check_since_cut,
    in_its_plane,
    otherwise_words,
    plane_off_deg,
)
from racewright.operations.lines_read import (
    by_line_mm,
    by_plan,
    by_plan_mm,
    check_lines,
    own_lines,
    turned_marks,
)
from racewright.operations.new_marks import NewMark, mark_of_start_mm
from racewright.operations.not_known import (
    by_card_words,
    check_cut,
    check_first,
    check_known,
    check_twists,
    has_place,
    is_to_measure,
    measure_words,
    what_lacks,
)
from racewright.operations.since_first import since_first, taken_words
from racewright.records.bends_left import SoFar, as_recorded, mark_of, so_far, twists_done
from racewright.records.entry import BY_PLAN, Anew, BendMade, Made, MadeEntry, MarkAnew, StepMade
from racewright.records.model import MadeReading
from racewright.records.other_marks import (
    angle_was_taken,
    as_made,
    measured_since,
    other_marks,
    planned_mark_mm,
    was_taken,
)
from racewright.records.own_lines import OwnLine
from racewright.sequence.words import mark_names
from racewright.tools.benders import HookEnd, Reference
from racewright.units.length import parse_length

#: Kept marks are those that are worked out now where they differ by less (mm, degrees).
_SAME_MM = 0.5
_SAME_DEG = 0.1
#: What can be done where what was said does not tell what the piece is, and the marks that hold are to be followed.
_FINISH = "finish the piece by the marks kept, and measure it then; or "


class KeptAgain(NamedTuple):
    """New marks that were kept, as they are worked out now. `first`: how they twist or cut the piece otherwise than
    planned, in words, `turned`: how they turn it; `anew`: as they would be kept."""

    marks: Sequence[NewMark]
    first: Sequence[str]
    turned: Sequence[str]
    anew: Anew | None

    @property
    def moved(self) -> tuple[str, ...]:
        """How the whole piece is made otherwise than planned."""
        return (*self.first, *self.turned)


def as_read(bends: Iterable[BendMade]) -> list[MadeReading]:
    """Recorded bends as readings."""
    return [_reading(bend.number, bend.mark_mm, _deg(bend.angle_rad), _deg(bend.roll_off_rad)) for bend in bends]


def check_as_kept(kept: Anew, again: KeptAgain) -> None:
    """Raises MarksLost where the marks come out otherwise than they were kept, as by another version of the
    program."""
    now = again.anew
    same = (
        now is not None
        and len(now.marks) == len(kept.marks)
        and all(_same_mark(one, other) for one, other in zip(kept.marks, now.marks, strict=True))
        and abs(now.trim_mm - kept.trim_mm) < _SAME_MM
        and _same_deg(now.turned_rad, kept.turned_rad)
        and (not kept.off_b_mm or bool(now.line_b_mm) or abs(now.off_b_mm - kept.off_b_mm) < _SAME_MM)
        and (not kept.line_b_mm or abs(now.line_b_mm - kept.line_b_mm) < _SAME_MM)
        and [one.number for one in now.twisted] == [one.number for one in kept.twisted]
        and all(_same_deg(one.by_rad, two.by_rad) for one, two in zip(now.twisted, kept.twisted, strict=True))
    )
    if not same:
        raise MarksLost(
            "the new marks that are kept cannot be worked out again as they were kept.",
            hint="bend nothing more by them: measure the bends that are made, and ask for new marks",
            field="record",
        )


def _same_mark(kept: MarkAnew, now: MarkAnew) -> bool:
    """What was kept of a mark comes out so: hook, reference and plane where they were kept. One that is opened is not
    marked."""
    return (
        kept.number == now.number
        and (now.hook is None or abs(kept.mark_mm - now.mark_mm) < _SAME_MM)
        and _same_deg(kept.angle_rad, now.angle_rad)
        and kept.hook in (None, now.hook)
        and kept.reference in (None, now.reference)
        and (kept.roll_rad is None or (now.roll_rad is not None and _same_deg(kept.roll_rad, now.roll_rad)))
    )


def _same_deg(one_rad: float, other_rad: float) -> bool:
    return abs((degrees(one_rad - other_rad) + 180.0) % 360.0 - 180.0) < _SAME_DEG


def check_they_hold(asked: Bent, record: Sequence[MadeEntry]) -> None:
    """Raises MarksLost where bends were made by other marks than those that hold, and these reckon otherwise."""
    told = other_marks(asked.bends, asked.shoe, asked.tape, record)
    if told:
        raise MarksLost(
            f"{'; '.join(told)}: the marks do not hold for the rest.",
            hint="bend nothing more by them: measure the bends that are made, and ask for new marks",
            field="record",
        )


def as_they_are(
    asked: Bent, written: Sequence[MadeReading], record: Sequence[MadeEntry], again: Callable[[Made], KeptAgain]
) -> list[MadeReading]:
    """The bends that are made: those read now and those on record, oldest first; what is left out of a reading is as
    recorded. `again`: new marks that were kept, worked out now. Raises InputError where what is known does not tell
    what the piece is."""
    now = _unsettled(so_far(record))
    said = {one.number: one for one in written}
    read = {} if now.kept is None else {bend.number: bend for bend in now.kept.what.bends}
    check_known(asked, now, read, said)
    others = _by_others(asked, now, read, said)
    if now.kept is None:
        return list(_read_over(written, as_read((as_recorded(now.since) | others).values())))
    kept = _with_others(now.kept.what, others)
    assert kept.anew is not None
    before = {bend.number: bend for bend in kept.bends}
    since = as_recorded(now.since)
    by_marks = [number for number in dict.fromkeys((*since, *said)) if number not in before and number not in others]
    there = dict.fromkeys((*before, *others, *by_marks))
    whole = bool(by_marks) and not any(what_lacks(there, said).values())
    lines = own_lines(asked, record, said)
    check_since_cut(asked, now, places_read(asked, written, lines), lines)
    first = since_first(asked, now, kept, record, said)
    if by_marks and not whole:
        check_first(kept, since, said, by_marks)
    elif not by_marks and abs(kept.anew.trim_mm) > SAME_CUT_MM:
        known = before if first.cut else ()
        open_ = [n for n in there if n not in known and (n not in said or not has_place(said[n]))]
        check_cut(asked, kept.anew, open_, done=any(step.kind == "cut" for step in now.steps))
    if not by_marks and not first.twisted:
        check_twists(kept, since, said, {step.number for step in now.steps if step.kind == "twist"})
    turned = turned_marks(asked, kept)
    on = {
        number for number in turned if number in since or (number in said and _has_more(said[number], before[number]))
    }
    check_lines(asked, kept, _places(asked, since, written).items(), lines, on)
    written = list(written)
    for at, one in enumerate(written):
        if one.number in on and not one.start:
            since[one.number] = _bent_on(asked, one, since.get(one.number))
            written[at] = _angle_alone(one)
    known_now = as_read(_mended(asked, first.kept, since, turned, lines))
    known_now += as_read(bend for number, bend in others.items() if number not in before)
    if whole:
        known_now += [_as_measured(asked, mark_of(kept, number), said[number]) for number in by_marks]
    elif by_marks:
        marks = again(now.kept.what)
        check_as_kept(kept.anew, marks)
        if first.whole:
            marks = marks._replace(first=())
        stop = bool(other_marks(asked.bends, asked.shoe, asked.tape, record))
        known_now += _by_marks(
            asked, kept.anew, marks, by_marks, since, said, else_="" if stop else _FINISH, lacks=what_lacks(there, said)
        )
    angles = {one.number: one.angle_deg for one in known_now}
    written = [
        by_plan(asked, one, angles[one.number], lines.get(one.number)) if one.number in before else _angle_alone(one)
        for one in written
    ]
    return list(_read_over(written, known_now))


def taken_as_ticked(asked: Bent, written: Sequence[MadeReading], record: Sequence[MadeEntry]) -> str:
    """What of these bends is taken as steps that are ticked off have it, in words; '': nothing."""
    now, said = _unsettled(so_far(record)), {one.number: one for one in written}
    if now.kept is None:
        return ""
    return taken_words(asked, since_first(asked, now, now.kept.what, record, said), said)


def taken_by_card(asked: Bent, written: Sequence[MadeReading], record: Sequence[MadeEntry]) -> str:
    """Which places that are read now are taken as those of the card's marks, though the bends are made by others, in
    words; '': none."""
    return by_card_words(asked, _unsettled(so_far(record)), {one.number: one for one in written})


def _unsettled(now: SoFar) -> SoFar:
    """Without what was ticked off by other marks of bends that are measured as made by those that hold."""
    read = set() if now.kept is None else {bend.number for bend in now.kept.what.bends}
    other = tuple(
        one
        for one in now.other
        if one.gone
        or one.carried
        or one.bend.number in read
        or abs(one.trim_mm) > SAME_CUT_MM
        or measured_since(one, now) is None
    )
    return now._replace(other=other)


def _by_others(
    asked: Bent, now: SoFar, read: Mapping[int, BendMade], said: Mapping[int, MadeReading]
) -> dict[int, BendMade]:
    """The bends that were made by other marks than those that hold, by the plan's own marks; what is `read` or `said`
    of one counts before what its marks say."""
    found: dict[int, BendMade] = {}
    for one in now.other:
        number, bend = one.bend.number, asked.bends[one.bend.number - 1]
        new, kept = said.get(number, MadeReading(number=number)), read.get(number)
        was, taken = _said_over(asked, one.bend, new), kept is not None and was_taken(one, kept)
        if is_to_measure(one, now, read):
            later = as_recorded(one.later).get(number)
            was = was if later is None or not one.gone else _filled(_said_over(asked, later, new), was)
            found[number] = was if kept is None or taken else _filled(was, kept)
            continue
        if taken and kept and was.angle_rad is None and not angle_was_taken(kept, bend, now):
            was = replace(was, angle_rad=kept.angle_rad)
        made = as_made(one._replace(bend=was), bend, asked.shoe)
        found[number] = made if kept is None or taken or one.unread else _filled(kept, made)
    return found


def with_marks(keep: Made, record: Sequence[MadeEntry], written: Sequence[MadeReading]) -> Made:
    """New marks to be kept, each bend with the marks that what is not measured of it was taken from, and with what was
    cut and twisted before."""
    by = _taken_from(record, written)
    bends = tuple(replace(bend, by_marks=by.get(bend.number, "")) for bend in keep.bends)
    cuts = (step for one in record if not one.what.anew for step in one.what.steps if step.kind == "cut")
    return replace(keep, bends=bends, steps=(*cuts, *twisted_by_now(record, written)))


def twisted_by_now(record: Sequence[MadeEntry], written: Sequence[MadeReading]) -> tuple[StepMade, ...]:
    """The twists that are done, by the record and by the planes that are read now."""
    rolls = ((one.number, one.roll_off_deg) for one in written if one.roll_off_deg is not None)
    return twists_done(record, [BendMade(number=number, roll_off_rad=radians(deg)) for number, deg in rolls])


def _taken_from(record: Sequence[MadeEntry], written: Sequence[MadeReading]) -> dict[int, str]:
    now = so_far(record)
    holds, read = (BY_PLAN, {}) if now.kept is None else (now.kept.id, {b.number: b for b in now.kept.what.bends})
    by = {one.number: holds for one in written} | {bend.number: bend.by_marks or holds for bend in now.since}
    by |= {number: bend.by_marks for number, bend in read.items()}
    for one in now.other:
        kept = read.get(one.bend.number)
        by[one.bend.number] = one.by if kept is None or was_taken(one, kept) else kept.by_marks
    by |= {one.bend.number: "" for one in now.other if one.gone and measured_since(one, now) is not None}
    by |= {one.number: "" for one in written if has_place(one) and one.angle_deg is not None}
    by |= {one.bend.number: one.by for one in now.other if one.bent_on}
    return by | {bend.number: holds for bend in now.since if bend.number in read}


def _said_over(asked: Bent, made: BendMade, new: MadeReading) -> BendMade:
    return BendMade(
        number=made.number,
        angle_rad=made.angle_rad if new.angle_deg is None else radians(new.angle_deg),
        mark_mm=float(parse_length(new.mark, asked.tape.unit, field="made")) if new.mark else made.mark_mm,
        roll_off_rad=made.roll_off_rad if new.roll_off_deg is None else radians(new.roll_off_deg),
        by_marks=made.by_marks,
    )


def _filled(one: BendMade, other: BendMade) -> BendMade:
    """What is left out of the one, as the other has it."""
    return BendMade(
        number=one.number,
        angle_rad=other.angle_rad if one.angle_rad is None else one.angle_rad,
        mark_mm=other.mark_mm if one.mark_mm is None else one.mark_mm,
        roll_off_rad=other.roll_off_rad if one.roll_off_rad is None else one.roll_off_rad,
    )


def _with_others(kept: Made, others: Mapping[int, BendMade]) -> Made:
    """New marks that were kept, their bends with what others say that made them."""
    return replace(kept, bends=tuple(others.get(bend.number, bend) for bend in kept.bends))


def _turns(numbers: Sequence[int], say: str, hint: str) -> InputError:
    are = "is" if len(numbers) == 1 else "are"
    return InputError(
        f"{mark_names(numbers)} {are} bent by new marks that were kept before, and these say otherwise than planned:"
        f" {say}. What the piece is now cannot be told from its angles.",
        hint=hint,
        field="made",
    )


def _read_over(written: Sequence[MadeReading], known: Sequence[MadeReading]) -> Iterator[MadeReading]:
    """What is known, with what is read now in its place."""
    said = {one.number: one for one in written}
    for one in known:
        new = said.pop(one.number, None)
        yield one if new is None else _over(one, new)
    yield from (one for one in written if one.number in said)


def _over(known: MadeReading, new: MadeReading) -> MadeReading:
    return MadeReading(
        number=new.number,
        mark=new.mark or ("" if new.start else known.mark),
        start=new.start,
        angle_deg=known.angle_deg if new.angle_deg is None else new.angle_deg,
        roll_off_deg=known.roll_off_deg if new.roll_off_deg is None else new.roll_off_deg,
    )


def _places(asked: Bent, since: dict[int, BendMade], written: Sequence[MadeReading]) -> dict[int, float]:
    """Where marks stand that are recorded since, or read now."""
    places = {bend.number: bend.mark_mm for bend in since.values() if bend.mark_mm is not None}
    for one in written:
        if one.start:
            places.pop(one.number, None)
        elif one.mark:
            places[one.number] = float(parse_length(one.mark, asked.tape.unit, field="made"))
    return places


def places_read(
    asked: Bent, written: Iterable[MadeReading], lines: Mapping[int, OwnLine]
) -> Iterator[tuple[int, float]]:
    """Where the lines of bends stand that are read now, of one of which the begin is read too."""
    for one in written:
        if one.number > len(asked.bends):
            continue
        if one.start:
            deg = asked.bends[one.number - 1].angle_deg if one.angle_deg is None else one.angle_deg
            at_mm = mark_of_start_mm(asked, one)
            yield one.number, by_line_mm(asked, one.number, at_mm, radians(deg), lines.get(one.number))
        elif one.mark:
            yield one.number, float(parse_length(one.mark, asked.tape.unit, field="made"))


def _has_more(new: MadeReading, before: BendMade) -> bool:
    """The angle read of a bend is not the one that it had before it was to be bent on."""
    if new.angle_deg is None or before.angle_rad is None:
        return new.angle_deg is not None
    return abs(radians(new.angle_deg) - before.angle_rad) >= LEAST_MADE_RAD


def _bent_on(asked: Bent, new: MadeReading, recorded: BendMade | None) -> BendMade:
    """A bend that was bent further, as it is read now, what is left out as it was recorded since."""
    mark_mm = float(parse_length(new.mark, asked.tape.unit, field="made")) if new.mark else None
    angle_rad = None if new.angle_deg is None else radians(new.angle_deg)
    return BendMade(
        number=new.number,
        angle_rad=recorded.angle_rad if angle_rad is None and recorded else angle_rad,
        mark_mm=recorded.mark_mm if mark_mm is None and recorded else mark_mm,
        roll_off_rad=recorded.roll_off_rad if recorded else None,
    )


def _mended(
    asked: Bent,
    kept: Made,
    since: Mapping[int, BendMade],
    turned: Mapping[int, MarkAnew],
    lines: Mapping[int, OwnLine],
) -> Iterator[BendMade]:
    """The bends that the marks were kept for, by the plan's own marks: as they were measured, or as they are since. A
    bend that is bent further or opened keeps the mark that it had: the hook's side of it stays. One that is bent
    further with the shoe `turned` stands by its new mark, and a place that is read of it is that mark's; of the others
    it is that of their own `lines`."""
    assert kept.anew is not None
    to_get = {mark.number: mark.angle_rad for mark in kept.anew.marks}
    for bend in kept.bends:
        new = since.get(bend.number)
        if new is None:
            yield bend
            continue
        angle = to_get.get(bend.number, bend.angle_rad) if new.angle_rad is None else new.angle_rad
        mark = turned.get(bend.number)
        if mark is None:
            place = bend.mark_mm
            if new.mark_mm is not None:
                has = radians(asked.bends[bend.number - 1].angle_deg) if angle is None else angle
                place = by_plan_mm(asked, bend.number, new.mark_mm, has, lines.get(bend.number))
        else:
            at, angle = mark.mark_mm if new.mark_mm is None else new.mark_mm, mark.angle_rad if angle is None else angle
            place = _by_plan_mm(asked, bend.number, at, angle, mark.hook, mark.reference)
        roll = bend.roll_off_rad if new.roll_off_rad is None else new.roll_off_rad
        yield BendMade(number=bend.number, angle_rad=angle, mark_mm=place, roll_off_rad=roll)


def _by_plan_mm(
    asked: Bent, number: int, at_mm: float, angle_rad: float, hook: HookEnd | None, reference: Reference | None
) -> float:
    return planned_mark_mm(asked.bends[number - 1], asked.shoe, at_mm, angle_rad, hook, reference)


def _by_marks(
    asked: Bent,
    kept: Anew,
    again: KeptAgain,
    numbers: Sequence[int],
    since: dict[int, BendMade],
    said: dict[int, MadeReading],
    *,
    else_: str,
    lacks: Mapping[str, Collection[int]],
) -> Iterator[MadeReading]:
    """The bends made by the marks kept, as readings of the plan's own marks. Raises InputError where these do not tell
    it: what else can be done than to measure what the piece as it is still `lacks`."""
    marks = {mark.number: mark for mark in again.marks}
    at = {mark.number: mark.mark_mm for mark in kept.marks}
    lie = {n for n, bend in since.items() if bend.roll_off_rad is not None}
    lie |= {n for n, one in said.items() if one.roll_off_deg is not None}
    there = not again.moved and all(n in marks for n in numbers)
    other = [n for n in numbers if not there or not (n in lie or in_its_plane(asked, marks[n]))]
    if other:
        hint = measure_words({"plane": other}) if there else f"{else_}{measure_words(lacks)}"
        raise _turns(other, otherwise_words(asked, again.moved, marks, other), hint)
    for number in numbers:
        mark, recorded, new = marks[number], since.get(number), said.get(number)
        place, angle = at[number], radians(mark.angle_deg)
        if recorded is not None:
            place = place if recorded.mark_mm is None else recorded.mark_mm
            angle = angle if recorded.angle_rad is None else recorded.angle_rad
        if new is not None:
            place = float(parse_length(new.mark, asked.tape.unit, field="made")) if new.mark else place
            angle = angle if new.angle_deg is None else radians(new.angle_deg)
        at_mm = _by_plan_mm(asked, number, place, angle, mark.hook, mark.reference)
        roll = None if recorded is None else _deg(recorded.roll_off_rad)
        off = round(plane_off_deg(mark.roll_deg, asked.bends[number - 1]), 6)
        yield _reading(number, at_mm, degrees(angle), (off or None) if roll is None else roll)


def _as_measured(asked: Bent, mark: MarkAnew | None, new: MadeReading) -> MadeReading:
    """A bend of which all is read, its place by the plan's own mark: read at the new one that it was made by, if any,
    or where it begins."""
    if mark is None or new.angle_deg is None or not new.mark:
        return new
    at_mm = float(parse_length(new.mark, asked.tape.unit, field="made"))
    place = _by_plan_mm(asked, new.number, at_mm, radians(new.angle_deg), mark.hook, mark.reference)
    return _reading(new.number, place, new.angle_deg, new.roll_off_deg)


def _angle_alone(reading: MadeReading) -> MadeReading:
    """Without its mark, which is taken up with the marks kept."""
    return MadeReading(
        number=reading.number,
        start=reading.start,
        angle_deg=reading.angle_deg,
        roll_off_deg=reading.roll_off_deg,
    )


def _reading(number: int, at_mm: float | None, angle_deg: float | None, roll_off_deg: float | None) -> MadeReading:
    mark = "" if at_mm is None else f"{at_mm:.6f} mm"
    # as they were written, before they were kept in radians
    angle, roll = (None if deg is None else round(deg, 9) for deg in (angle_deg, roll_off_deg))
    return MadeReading(number=number, mark=mark, angle_deg=angle, roll_off_deg=roll)


def _deg(rad: float | None) -> float | None:
    return None if rad is None else degrees(rad)
