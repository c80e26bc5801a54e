"""What readings of a bent piece that are put on record leave open: among them two of one thing that cannot both be
right, with no correction between them."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence

from racewright.cards.entry_words import measured_words
from racewright.errors import Finding
from racewright.fit.accuracy import Tolerance
from racewright.fit.measured import BendAngle, LegLean, Measured, OffAt, tolerance_of
from racewright.fit.unmeasured import record_finding
from racewright.records.entry import Corrected, Made, Readings, What
from racewright.units.tape import TapeStyle


def questions_of_readings(
    before: Sequence[What], new: Sequence[What], tape: TapeStyle, where: str
) -> Iterator[Finding]:
    """What readings that are recorded now leave open: the far end, and which of two is right."""
    measured = tuple(item for one in (*before, *new) if isinstance(one, Readings) for item in one.measured)
    yield from record_finding(measured, where)
    yield from _read_otherwise(before, new, tape, where)


def _read_otherwise(before: Sequence[What], new: Sequence[What], tape: TapeStyle, where: str) -> Iterator[Finding]:
    """A caution for each reading of `new` that differs from what was read there `before`, or in `new` itself, by more
    than both may be misread. Oldest first; a bend that was made with an angle is read with it."""
    had: dict[Hashable, Measured] = {}
    made: set[int] = set()
    for one in before:
        if isinstance(one, Readings):
            had |= {_what_of(item): item for item in one.measured}
        else:
            _changes(one, had, made)
    for one in new:
        if isinstance(one, Made):
            _changes(one, had, made)
    for item in (item for one in new if isinstance(one, Readings) for item in one.measured):
        was = had.get(_what_of(item))
        if was is not None and abs(_value(item) - _value(was)) > 2.0 * tolerance_of(item, Tolerance()):
            yield Finding(
                rule="job.read_otherwise",
                severity="caution",
                message=f"'{measured_words(was, tape)}' and '{measured_words(item, tape)}' cannot both be right."
                " Both are kept: record what was corrected between, or take back the one that is wrong.",
                where=where,
            )
        had[_what_of(item)] = item


def _changes(one: What, had: dict[Hashable, Measured], made: set[int]) -> None:
    """What a correction, new marks, a step or a bend made leave of what was read before; `made`: the bends that were
    made since the first two. A bend or a step more moves what lies beyond it, and leaves the angles of the others."""
    if isinstance(one, Corrected) or (isinstance(one, Made) and one.anew is not None):
        had.clear()
        made.clear()
    elif isinstance(one, Made):
        if one.steps or not made.issuperset(bend.number for bend in one.bends):
            for what in [what for what, item in had.items() if not isinstance(item, BendAngle)]:
                del had[what]
        for bend in one.bends:
            made.add(bend.number)
            had.pop((BendAngle, bend.number), None)
            if bend.angle_rad is not None:
                has = BendAngle(number=bend.number, angle_rad=bend.angle_rad)
                had[_what_of(has)] = has


def _what_of(item: Measured) -> Hashable:
    """The same for readings of the same thing."""
    if isinstance(item, OffAt):
        return OffAt, item.way, item.station_mm
    return type(item), item.way if isinstance(item, LegLean) else item.number


def _value(item: Measured) -> float:
    if isinstance(item, OffAt):
        return item.off_mm
    if isinstance(item, LegLean):
        return item.lean_rad
    return item.angle_rad if isinstance(item, BendAngle) else item.rise_mm
