"""The bends of a half-bent piece as they were measured; what of it cannot be so is refused with the least reading that
can.

Two arcs never share conduit, none begins before end A or what is left on beyond it, none ends past the conduit. Less
than a step of the tape is the readings' own: such arcs touch. A bend that is not made yet may give way: only where no
way to finish finds it a place is a reading refused for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import degrees, floor, radians
from typing import NamedTuple

from msgspec.structs import replace

from racewright.errors import InputError
from racewright.fit.made import MadeBend
from racewright.fit.measured import MARKS_COUNT
from racewright.marks.mark import arc_start_from_mark_mm
from racewright.operations.bent import Bent
from racewright.records.model import MadeReading
from racewright.units.angle import format_angle
from racewright.units.length import parse_length
from racewright.units.said import said, said_least, said_most

#: Arcs that share no more than this touch (mm), beside what their readings leave open.
_TOUCH_MM = 1e-6
#: What to do where the conduit is longer than it was said to be.
_LONGER = "say how long the conduit is, if it is longer"
#: The least angle that a hint names, and the steps in which it does (degrees).
_STEP_DEG = 0.25


class _Arc(NamedTuple):
    """Where a bend begins and ends along the conduit from end A, and what was read of it (None: it is not made)."""

    number: int
    begins_mm: float
    ends_mm: float
    reading: MadeReading | None


def made_bends(
    asked: Bent, written: Sequence[MadeReading], conduit_mm: float, *, longer: str = _LONGER
) -> list[MadeBend]:
    """The bends that are made, in the plan's order. An angle that came out wrong keeps the tangent point on the hook's
    side, because the mark put it there. `conduit_mm`: how long the conduit is, from where end A will be; `longer`: what
    to do where it is longer.

    Raises InputError for a bend that the piece does not have, and for readings that cannot all be so.
    """
    if not written:
        raise InputError(
            "no bend is said to be made.", hint="say which bend is made and what was measured on it", field="made"
        )
    made: list[MadeBend] = []
    for index, item in enumerate(written):
        at = f"made[{index}]"
        if not 1 <= item.number <= len(asked.bends):
            raise InputError(
                f"mark {item.number} is said to be bent, and the piece has {len(asked.bends)} marks.",
                hint=MARKS_COUNT,
                field=f"{at}.number",
            )
        if any(other.number == item.number for other in made):
            raise InputError(
                f"mark {item.number} is said to be bent twice.",
                hint="say all that was measured on it at once",
                field=f"{at}.number",
            )
        made.append(_made_bend(asked, item, at))
    made = _apart(asked, written, sorted(made, key=lambda item: item.number))
    arcs = [arc for arc in _arcs(asked, written, made) if arc.reading is not None]
    _on_the_conduit(asked, written, arcs, conduit_mm, longer)
    return sorted(made, key=lambda item: asked.bends[item.number - 1].order)


def _apart(asked: Bent, written: Sequence[MadeReading], made: Sequence[MadeBend]) -> list[MadeBend]:
    """The made bends from end A, those that overlap by less than a step of the tape moved to touch."""
    out: list[MadeBend] = []
    before: _Arc | None = None
    for item in made:
        arc = _arcs(asked, written, [item])[item.number - 1]
        over = before.ends_mm - arc.begins_mm if before else 0.0
        if before and over > float(asked.tape.step_mm) + _TOUCH_MM:
            raise _refused(
                asked, written, f"{_runs(asked, before)}, and {_runs(asked, arc)}: they overlap", (before, arc)
            )
        if over > 0.0:
            arc = arc._replace(begins_mm=arc.begins_mm + over, ends_mm=arc.ends_mm + over)
            item = replace(item, arc_start_mm=arc.begins_mm)
        out.append(item)
        before = arc
    return out


def no_place(asked: Bent, written: Sequence[MadeReading], made: Sequence[MadeBend]) -> InputError:
    """No way to finish was found that has a place for each bend that is left: the one that stands in the way of the
    rest as planned."""
    for before, after in pairwise(_arcs(asked, written, made)):
        if before.ends_mm > after.begins_mm + _TOUCH_MM:
            read, left = (after, before) if before.reading is None else (before, after)
            what = f"{_runs(asked, read)}, which leaves no place for mark {left.number}: {_runs(asked, left)}"
            return _refused(asked, written, what, (before, after), "if it is so, make the piece again")
    return InputError(
        "no place was found for the bends that are left.", hint="measure again, or make the piece again", field="made"
    )


def check_one_place(item: MadeReading, at: str) -> None:
    """Raises InputError for a bend, read at this place of the request, that has its place twice."""
    if item.mark and item.start:
        raise InputError(
            f"mark {item.number}: both the tape reading and where the bend starts are given.",
            hint="give the mark that the shoe stood on, or the start of the arc, not both",
            field=f"{at}.start",
        )


def _made_bend(asked: Bent, item: MadeReading, at: str) -> MadeBend:
    bend, unit = asked.bends[item.number - 1], asked.tape.unit
    check_one_place(item, at)
    if item.angle_deg is not None and not 0.0 <= item.angle_deg <= 180.0:
        raise InputError(
            f"{at}.angle_deg: {item.angle_deg:g} is no angle that a bend has: from 0 to 180 degrees belong here.",
            hint="write it as 47 or 46.5",
            field=f"{at}.angle_deg",
        )
    angle = radians(bend.angle_deg if item.angle_deg is None else item.angle_deg)
    if item.start:
        start = float(parse_length(item.start, unit, field=f"{at}.start"))
    else:
        mark = float(parse_length(item.mark, unit, field=f"{at}.mark")) if item.mark else bend.mark_mm
        start = arc_start_from_mark_mm(mark, angle, bend.hook, bend.reference, asked.shoe)
    roll = radians(bend.roll_deg + (item.roll_off_deg or 0.0))
    return MadeBend(number=item.number, arc_start_mm=start, angle_rad=angle, roll_rad=roll)


def _arcs(asked: Bent, written: Sequence[MadeReading], made: Sequence[MadeBend]) -> list[_Arc]:
    """Every bend from end A: the made ones as measured, the others as planned."""
    read: Mapping[int, MadeReading] = {item.number: item for item in written}
    found = {item.number: item for item in made}
    arcs = []
    for number, bend in enumerate(asked.arcs.bends, 1):
        now = found.get(number)
        start = bend.arc_start_mm if now is None or now.arc_start_mm is None else now.arc_start_mm
        angle = bend.angle_rad if now is None or now.angle_rad is None else now.angle_rad
        arcs.append(_Arc(number, start, start + bend.radius_mm * angle, read.get(number)))
    return arcs


def _on_the_conduit(
    asked: Bent, written: Sequence[MadeReading], arcs: Sequence[_Arc], conduit_mm: float, longer: str
) -> None:
    first, last, beyond = arcs[0], arcs[-1], asked.piece.extra_a_mm
    if first.begins_mm < -beyond - _TOUCH_MM:
        what = (
            f"{_runs(asked, first)}, and the conduit begins {f'{said(beyond)} before end A' if beyond else 'at end A'}"
        )
        edge = _Arc(0, -beyond, -beyond, None)
        raise _refused(asked, written, what, (edge, first))
    if last.ends_mm > conduit_mm + _TOUCH_MM:
        what = f"{_runs(asked, last)}, and the conduit ends {said(conduit_mm)} from there"
        edge = _Arc(len(asked.bends) + 1, conduit_mm, conduit_mm, None)
        raise _refused(asked, written, what, (last, edge), longer)


def _runs(asked: Bent, arc: _Arc) -> str:
    """'mark 2 (start 17") is bent from 17" to 20 1/2" from end A'."""
    taken = f"from {said(arc.begins_mm)} to {said(arc.ends_mm)} from end A"
    if arc.reading is None:
        return f"as planned it is bent {taken}"
    return f"mark {arc.number} ({_read(asked, arc.reading)}) is bent {taken}"


def _read(asked: Bent, item: MadeReading) -> str:
    """What was read of a bend's place and angle, as the tape shows it."""
    unit = asked.tape.unit
    out = [f"{name} {said(float(parse_length(text, unit)))}" for name, text in _place(item)]
    if item.angle_deg is not None:
        out.append(f"angle {format_angle(radians(item.angle_deg))}")
    return ", ".join(out) or "as planned"


def _place(item: MadeReading) -> list[tuple[str, str]]:
    return [(name, text) for name, text in (("mark", item.mark), ("start", item.start)) if text]


def _refused(
    asked: Bent, written: Sequence[MadeReading], what: str, pair: tuple[_Arc, _Arc], else_: str = ""
) -> InputError:
    """`pair` shares conduit: the readings of both that would not, one at a time, the later bend's first."""
    would = [*_limits(asked, *pair, later=True), *_limits(asked, *pair, later=False)]
    numbers = [arc.number for arc in reversed(pair) if arc.reading is not None]
    index = next(k for k, item in enumerate(written) if item.number == numbers[0])
    hint = "; ".join(part for part in ("measure again" + (f": {', or '.join(would)}" if would else ""), else_) if part)
    return InputError(f"{what}.", hint=hint, field=f"made[{index}]")


def _limits(asked: Bent, before: _Arc, after: _Arc, *, later: bool) -> list[str]:
    """What the reading of one of the two must be for them to touch, the other left as it is."""
    own = after if later else before
    item = own.reading
    if item is None:
        return []
    over = before.ends_mm - after.begins_mm
    bend, out = asked.bends[own.number - 1], []
    for name, text in _place(item):
        read = float(parse_length(text, asked.tape.unit))
        if later:
            out.append(f"mark {own.number}: {name} {said_least(read + over)} or more")
        elif read >= over:
            out.append(f"mark {own.number}: {name} {said_most(read - over)} or less")
    # the tangent point on the hook's side stays: an angle takes conduit on the other side alone
    grows = (bool(item.start) or bend.hook == "A") != later
    if item.angle_deg is not None and grows:
        radius = asked.arcs.bends[own.number - 1].radius_mm
        most = floor((item.angle_deg - degrees(over / radius)) / _STEP_DEG + 1e-9) * _STEP_DEG
        if most >= _STEP_DEG:
            out.append(f"mark {own.number}: angle {format_angle(radians(most))} or less")
    return out
