"""What neither the record of a half-bent piece tells of it nor what is read now: refused, with what to measure."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Mapping, Sequence
from math import degrees

from racewright.errors import InputError
from racewright.fit.words import trim_words
from racewright.operations.bent import Bent
from racewright.operations.kept_before import (
    SAME_CUT_MM,
    SAME_PLANE_DEG,
    plane_off_deg,
    plane_words,
)
from racewright.plan.model import MarkedBend
from racewright.records.bends_left import OtherMade, SoFar, as_recorded, carried, twisted_before, twisted_rad
from racewright.records.entry import Anew, BendMade, Made
from racewright.records.model import MadeReading
from racewright.records.other_marks import (
    listed,
    on_twice_words,
    step_words,
    was_taken,
)
from racewright.sequence.words import mark_names, mark_words
from racewright.units.angle import format_degrees


def is_to_measure(one: OtherMade, now: SoFar, read: Mapping[int, BendMade]) -> bool:
    """No marks say where a bend is that was made by other marks than those that hold."""
    if one.gone or one.bend.number in read:
        return one.gone
    return abs(one.trim_mm) > SAME_CUT_MM or any(bend.number == one.bend.number for bend in now.since)


def check_known(asked: Bent, now: SoFar, read: Mapping[int, BendMade], said: Mapping[int, MadeReading]) -> None:
    """Raises InputError where bends were made by other marks than those that hold, and neither these nor what is `read`
    or `said` tell what the piece is: marks that are not on record any more, that turn a plane, or that cut the piece at
    end A, or twist it, which those that hold know nothing of."""
    there = {*read, *said, *(bend.number for bend in now.since), *(one.bend.number for one in now.other)}
    lacks: dict[str, set[int]] = {"angle": set(), "place": set(), "plane": set()}
    why: dict[str, None] = {}
    for one in now.other:
        number, later = one.bend.number, as_recorded(one.later if one.gone else ())
        placed = {at for at, bend in later.items() if bend.mark_mm is not None}
        laid = {at for at, bend in later.items() if bend.roll_off_rad is not None}
        new, kept = said.get(number, MadeReading(number=number)), read.get(number)
        # what marks that are gone did to a bend after it was read for those that hold nobody knows
        seen = kept is not None and not was_taken(one, kept) and not (one.gone and one.after)
        if is_to_measure(one, now, read):
            angle = one.bend.angle_rad is None and new.angle_deg is None
            angle = angle and (number not in later or later[number].angle_rad is None)
            lacks["angle"] |= {number} if angle and not (seen and kept and kept.angle_rad is not None) else set()
            lacks["place"] |= set() if seen and kept and kept.mark_mm is not None else {number} - placed
            why[f"mark {number} was not bent by the marks that hold, and where it is now is not known"] = None
        if not seen and (one.gone or abs(one.trim_mm) > SAME_CUT_MM):
            lacks["place"] |= there - placed
            why[f"end A may be cut by the marks that mark {number} was bent by"] = None
        if not seen and one.gone:
            lacks["plane"] |= there - laid
            why[f"{mark_names(sorted(there))} may be twisted or turned by them"] = None
        if not seen and one.carried:
            lacks["plane"] |= set(one.carried)
            why[f"{mark_names(one.carried)} may be twisted by the marks that mark {number} was bent by"] = None
        turns = _plane_otherwise(one, asked.bends[number - 1])
        if turns and one.bend.roll_off_rad is None and not (seen and kept and kept.roll_off_rad is not None):
            lacks["plane"].add(number)
            why[f"mark {number} was bent by marks that do not hold any more, and these say: {turns}"] = None
    untold = twisted_before(now) - lacks["plane"]
    if untold:
        lacks["plane"] |= untold
        why[f"{mark_names(sorted(untold))} may be twisted by new marks that were kept before"] = None
    for step in now.other_steps:
        if step.kind == "cut":
            lacks["place"] |= there
        else:
            lacks["plane"] |= {number for number in there if number >= (step.number or 0)}
    why |= dict.fromkeys(listed(step_words(step, asked.tape, now) for step in now.other_steps))
    on_twice = {n for n in now.on_twice if n not in said or said[n].angle_deg is None}
    lacks["angle"] |= on_twice
    why |= dict.fromkeys(on_twice_words(number) for number in sorted(on_twice))
    lacks["place"] -= {number for number, new in said.items() if has_place(new)}
    lacks["plane"] -= {number for number, new in said.items() if new.roll_off_deg is not None}
    if any(lacks.values()):
        raise InputError(f"{'; '.join(why)}.", hint=measure_words(lacks), field="made")


def by_card_words(asked: Bent, now: SoFar, said: Mapping[int, MadeReading]) -> str:
    """That the place read of a bend which was made by marks that are not on record any more, nor by which line, counts
    as that of the card's mark; '' where none is."""
    read = {number for number, one in said.items() if one.mark}
    gone = {one.bend.number for one in now.other if one.gone} & read
    taken = []
    for bend in (bend for bend in asked.bends if bend.number in gone):
        placed = mark_words(bend.reference, bend.hook, on_shoe=not asked.shoe.radius_only)
        taken.append(f"{mark_names([bend.number])} ({', '.join(part for part in placed if part)})")
    if not taken:
        return ""
    return (
        f"The place is taken as that of the card's mark: {', '.join(taken)}. What was bent by another line, as with the"
        " hook the other way, is measured where the bend begins."
    )


def measure_words(lacks: Mapping[str, Collection[int]]) -> str:
    """'measure mark 2: give its angle, and where its mark stands from end A'."""
    asks = []
    if lacks.get("angle"):
        asks.append(f"the angle of {mark_names(sorted(lacks['angle']))}")
    if lacks.get("place"):
        names = mark_names(sorted(lacks["place"]))
        asks.append(f"where the mark of {names} stands from end A as it is now, or where the bend begins")
    if lacks.get("plane"):
        asks.append(
            f"how far the plane of {mark_names(sorted(lacks['plane']))} is off the plan now (0: it is not; `roll` in a"
            ' command, "Its plane is off" in Check)'
        )
    return f"measure and give {', and '.join(asks)}"


def _plane_otherwise(one: OtherMade, bend: MarkedBend) -> str:
    """How the new marks that a bend was made by turn its plane; '' where they do not, as far as a hand can tell."""
    if one.mark is None or one.mark.hook is None:  # one that is opened stays in its plane
        return ""
    if one.mark.roll_rad is None:
        return f"in which plane {bend.name} is bent is not known"
    roll_deg = degrees(one.mark.roll_rad)
    return plane_words(roll_deg, bend) if abs(plane_off_deg(roll_deg, bend)) >= SAME_PLANE_DEG else ""


def check_first(kept: Made, since: dict[int, BendMade], said: dict[int, MadeReading], by_marks: Sequence[int]) -> None:
    """Raises InputError where a made bend that comes before the rest is not known to be bent further or opened."""
    assert kept.anew is not None
    made = {bend.number for bend in kept.bends}
    open_ = [
        mark.number
        for mark in kept.anew.marks
        if mark.number in made
        and mark.number not in since
        and (mark.number not in said or said[mark.number].angle_deg is None)
    ]
    if open_:
        names, one = mark_names(open_), len(open_) == 1
        are, is_ = ("is", "that is") if one else ("are", "it is")
        raise InputError(
            f"{names} {are} to be bent further or opened before the rest by the new marks that were kept, and {is_} not"
            f" recorded: what the piece is now, with {mark_names(by_marks)} bent, is not known.",
            hint=f"record {names} as made first, with the angle that {'it has' if one else 'they have'} now; then ask"
            " for new marks",
            field="made",
        )


def has_place(reading: MadeReading) -> bool:
    """Whether it is read where the bend is."""
    return bool(reading.mark or reading.start)


def check_cut(asked: Bent, kept: Anew, not_placed: Sequence[int], *, done: bool) -> None:
    """Raises InputError where the marks kept count from an end that they have cut, and bends are read without their
    place: whether it is cut by now is not known, or (`done`) they were read before."""
    if not_placed:
        names, one = mark_names(not_placed), len(not_placed) == 1
        known = "that is done" if done else "whether that is done is not known"
        raise InputError(
            f"the new marks that were kept {trim_words(kept.trim_mm, asked.tape)}, and {known}: where {names}"
            f" {'is' if one else 'are'} now is not told.",
            hint=f"measure {names} from end A as it is now, and give the place{'' if one else 's'} with the"
            f" angle{'' if one else 's'}",
            field="made",
        )


def check_twists(
    kept: Made, since: dict[int, BendMade], said: dict[int, MadeReading], done: Container[int | None]
) -> None:
    """Raises InputError where the marks kept twist made bends, and the plane of one that this carries along is not read
    since: whether it is done by now is not known, or (of these that are `done`) it may not be so far as was said."""
    assert kept.anew is not None
    again = {n for n, bend in since.items() if bend.roll_off_rad is not None}
    again |= {n for n, one in said.items() if one.roll_off_deg is not None}
    not_read = [number for number in sorted(carried(kept)) if number not in again]
    if not_read:
        names = mark_names(not_read)
        known = all(twist.number in done for twist in kept.anew.twisted)
        raise InputError(
            f"the new marks that were kept say: {'; '.join(twist.how for twist in kept.anew.twisted)}; and"
            f" {'that is done, but not measured' if known else 'whether that is done is not known'}: how {names}"
            f" {'lies' if len(not_read) == 1 else 'lie'} now is not told.",
            hint="say how far off the plan their planes are now, counted as before from the line at end A (`roll` in a"
            f' command, "Its plane is off" in Check): {"; ".join(_if_twisted(kept, number) for number in not_read)}',
            field="made",
        )


def _if_twisted(kept: Made, number: int) -> str:
    """'mark 2 by roll 4 if it is twisted as said, by roll 0 if not'."""
    off = next((bend.roll_off_rad for bend in kept.bends if bend.number == number), None) or 0.0
    angles = (off + twisted_rad(kept, number), off)
    done, before = (format_degrees(degrees(angle)).removesuffix("°") for angle in angles)
    return f"{mark_names([number])} by roll {done} if it is twisted as said, by roll {before} if not"


def what_lacks(numbers: Iterable[int], said: Mapping[int, MadeReading]) -> dict[str, set[int]]:
    """What of these bends was not read now: with all of it nothing needs to be known of how they were made."""
    new = {number: said.get(number, MadeReading(number=number)) for number in numbers}
    return {
        "angle": {number for number, one in new.items() if one.angle_deg is None},
        "place": {number for number, one in new.items() if not has_place(one)},
        "plane": {number for number, one in new.items() if one.roll_off_deg is None},
    }
