"""At which pencil line a made bend is read: the plan's, its own by new marks with the shoe turned, or the new one by
which it is bent on."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from math import radians

from msgspec.structs import replace

from racewright.errors import InputError
from racewright.operations.bent import Bent
from racewright.records.bends_left import so_far
from racewright.records.entry import BendMade, Made, MadeEntry, MarkAnew
from racewright.records.ids import new_id
from racewright.records.model import MadeReading
from racewright.records.other_marks import planned_mark_mm
from racewright.records.own_lines import OwnLine, lines_of
from racewright.sequence.words import mark_names, mark_words
from racewright.units.length import parse_length
from racewright.units.tape import format_length


def own_lines(asked: Bent, record: Sequence[MadeEntry], read: Mapping[int, MadeReading]) -> dict[int, OwnLine]:
    """The bends of the piece that were bent by another line than the plan's, with that; of one that new marks bend
    further with the shoe turned, the line of its first bend. Raises InputError where the place is `read` of one that
    may have been bent by one line or another."""
    kept = so_far(record).kept
    turned = {} if kept is None else turned_marks(asked, kept.what)
    before = [] if kept is None else record[: record.index(kept) + 1]
    found = {}
    for bend in asked.bends:
        lines = {
            None if line is None or (line.hook, line.reference) == (bend.hook, bend.reference) else line
            for line in lines_of(before if bend.number in turned else record, bend.number)
        }
        if len(lines) > 1 and bend.number in read and read[bend.number].mark:
            either = sorted(line_words(asked, bend.number, line) for line in lines)
            raise InputError(
                f"{mark_names([bend.number])} is ticked off by different marks, and may be bent by the line"
                f" {' or by that '.join(either)}: where it is by its line is not known.",
                hint="measure where the bend begins, and give that instead of its mark",
                field="made",
            )
        line = lines.pop() if len(lines) == 1 else None
        if line is not None:
            found[bend.number] = line
    return found


def lines_once_made(asked: Bent, record: Sequence[MadeEntry], made: Iterable[MadeReading]) -> dict[int, OwnLine]:
    """The same once that is recorded as made by the marks that hold."""
    bends = tuple(BendMade(number=one.number) for one in made)
    return own_lines(asked, [*record, MadeEntry(id=new_id(), what=Made(bends=bends))], {})


def line_words(asked: Bent, number: int, line: OwnLine | None) -> str:
    """'arrow, hook toward B': how the shoe stood on the line of a bend; None: the plan's."""
    bend = asked.bends[number - 1]
    reference, hook = (line.reference or bend.reference, line.hook) if line else (bend.reference, bend.hook)
    return ", ".join(part for part in mark_words(reference, hook, on_shoe=not asked.shoe.radius_only) if part)


def by_plan_mm(asked: Bent, number: int, at_mm: float, angle_rad: float, line: OwnLine | None) -> float:
    """Where the plan's own mark stands of a bend that is read at its own line."""
    if line is None:
        return at_mm
    angle_rad = angle_rad if line.angle_rad is None else line.angle_rad
    return planned_mark_mm(asked.bends[number - 1], asked.shoe, at_mm, angle_rad, line.hook, line.reference)


def by_line_mm(asked: Bent, number: int, at_mm: float, angle_rad: float, line: OwnLine | None) -> float:
    """The other way: where its own line stands of a bend whose mark stands there by the plan's."""
    return at_mm if line is None else 2.0 * at_mm - by_plan_mm(asked, number, at_mm, angle_rad, line)


def stands_mm(asked: Bent, bend: BendMade, line: OwnLine | None) -> float:
    """Where its own line stands of a bend that was there when new marks were kept."""
    planned = asked.bends[bend.number - 1]
    angle = radians(planned.angle_deg) if bend.angle_rad is None else bend.angle_rad
    return by_line_mm(asked, bend.number, planned.mark_mm if bend.mark_mm is None else bend.mark_mm, angle, line)


def turned_marks(asked: Bent, kept: Made) -> dict[int, MarkAnew]:
    """The new marks of bends that are bent further with another hook or reference mark than the plan's."""
    assert kept.anew is not None
    before = {bend.number for bend in kept.bends}
    planned = {bend.number: (bend.hook, bend.reference) for bend in asked.bends if bend.number in before}
    return {
        mark.number: mark
        for mark in kept.anew.marks
        if mark.hook and mark.number in planned and planned[mark.number] != (mark.hook, mark.reference)
    }


def check_lines(
    asked: Bent,
    kept: Made,
    places_mm: Iterable[tuple[int, float]],
    lines: Mapping[int, OwnLine],
    on: Container[int] | None = None,
) -> None:
    """Raises InputError where a bend that was bent further with the shoe turned, by its number, is read at a place that
    fits the line of its first bend better than the new one, whether end A is cut by then or not: which of them was
    read is not known, and they put the bend elsewhere. One that is to be bent so and is not known to be (`on`: which
    are, None: all) is not read at its new line. The same of one of those `lines`, that is read where the plan's mark
    would stand of it."""
    assert kept.anew is not None
    turned, cuts_mm = turned_marks(asked, kept), (0.0, kept.anew.trim_mm)
    first = {bend.number: bend for bend in kept.bends}
    for number, at_mm in places_mm:
        mark, line = turned.get(number), lines.get(number)
        if mark is None and line is not None and number in first:
            _check_own_line(asked, first[number], at_mm, line, cuts_mm)
        if mark is None:
            continue
        old_mm = stands_mm(asked, first[number], line)
        by_old = min(abs(at_mm - old_mm + cut) for cut in cuts_mm)
        by_new = min(abs(at_mm - mark.mark_mm - cut) for cut in cuts_mm)
        old, new = format_length(old_mm, asked.tape), format_length(mark.mark_mm, asked.tape)
        is_on = on is None or number in on
        if by_new < by_old and not is_on:
            raise InputError(
                f"mark {number} at {format_length(at_mm, asked.tape)}: that is by its new line, {new}, and that it is"
                " bent on there is not told.",
                hint="give the angle that it has now with the place, or measure where the bend begins",
                field="made",
            )
        if by_old < by_new and is_on:
            raise InputError(
                f"mark {number} at {format_length(at_mm, asked.tape)}: that is by the line of its first bend, {old}. It"
                f" was to be bent on at its new line, {new}, with the {mark.reference}, hook toward {mark.hook}.",
                hint=f"give the place of the new line, near {new}, or measure where the bend begins",
                field="made",
            )


def _check_own_line(asked: Bent, bend: BendMade, at_mm: float, line: OwnLine, cuts_mm: Iterable[float]) -> None:
    card_mm, own_mm = (stands_mm(asked, bend, of) for of in (None, line))
    off_card, off_own = (min(abs(at_mm - place + cut) for cut in cuts_mm) for place in (card_mm, own_mm))
    if off_card < off_own:
        card, own = (format_length(place, asked.tape) for place in (card_mm, own_mm))
        raise InputError(
            f"{mark_names([bend.number])} at {format_length(at_mm, asked.tape)}: that is nearer to where the card's"
            f" mark would stand, {card} ({line_words(asked, bend.number, None)}), than to the line by which it was"
            f" bent, {own} ({line_words(asked, bend.number, line)}).",
            hint=f"give the place of that line, near {own}, or measure where the bend begins",
            field="made",
        )


def taken_by_line(asked: Bent, written: Sequence[MadeReading], record: Sequence[MadeEntry]) -> str:
    """Which places that are read now are those of another line than the plan's, in words; '': none."""
    said = {one.number: one for one in written if one.mark}
    kept, lines = so_far(record).kept, own_lines(asked, record, said)
    turned = {} if kept is None else turned_marks(asked, kept.what)
    numbers = sorted((said.keys() & lines.keys()) - turned.keys())
    told = [f"{mark_names([number])} ({line_words(asked, number, lines[number])})" for number in numbers]
    return f"The place is taken as that of the line by which it was bent: {', '.join(told)}." if told else ""


def by_plan(asked: Bent, one: MadeReading, had_deg: float | None, line: OwnLine | None) -> MadeReading:
    """A reading of a bend that was there, its place by the plan's own mark; `had_deg`: its angle, where none is
    read."""
    if line is None or not one.mark:
        return one
    at_mm = float(parse_length(one.mark, asked.tape.unit, field="made"))
    angles = (one.angle_deg, had_deg, asked.bends[one.number - 1].angle_deg)
    angle = next(deg for deg in angles if deg is not None)
    return replace(one, mark=f"{by_plan_mm(asked, one.number, at_mm, radians(angle), line):.6f} mm")
