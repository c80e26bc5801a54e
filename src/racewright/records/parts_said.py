"""What an entry says, part by part: a bend made, a step done, a reading, a correction, new marks, a note."""

from __future__ import annotations

from collections.abc import Collection
from itertools import compress
from typing import Literal, NamedTuple

from msgspec.structs import replace

from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured
from racewright.records.entry import Corrected, Entry, Made, Noted, Readings, StatusSet, What
from racewright.records.steps import STEPS, StepName, numbered, step_name
from racewright.units.tape import TapeStyle, read_tape

PartKind = StepName | Literal["made", "angle", "rise", "off", "lean", "corrected", "new marks", "note", "status"]
#: A reading that way and the other way is one reading, more or less than nothing.
_AXES = {"down": "up", "right": "left", "forward": "long", "short": "long"}


class Part(NamedTuple):
    """One thing that an entry says: of which bend (0: of none), which way ('': none), how far from end A (None: at end
    B, or nowhere)."""

    kind: PartKind
    number: int = 0
    way: str = ""
    place_mm: float | None = None


def along(way: str) -> str:
    """The way by which a reading that way, or the other way, is known."""
    return _AXES.get(way, way)


def parts_of(what: What) -> tuple[Part, ...]:
    """All that it says. Bends that were kept with new marks are a part of these."""
    if isinstance(what, StatusSet):
        return (Part("status"),)
    if isinstance(what, Noted):
        return (Part("note"),)
    return (*_work_in(what), *([Part("note")] if what.note else []))


def _work_in(what: Readings | Corrected | Made) -> tuple[Part, ...]:
    if isinstance(what, Readings):
        return tuple(part_read(one) for one in what.measured)
    if isinstance(what, Corrected):
        return tuple(Part("corrected", move.number) for move in what.moves)
    if what.anew is not None:
        return (Part("new marks"),)
    return (
        *(Part("made", bend.number) for bend in what.bends),
        *(step_part(step.kind, step.number) for step in what.steps),
    )


def with_marks(what: What) -> tuple[Part, ...]:
    """The bends and steps that new marks were kept with, which go with these alone."""
    return _work_in(replace(what, anew=None)) if isinstance(what, Made) and what.anew is not None else ()


def said_of(what: What, parts: Collection[Part]) -> What | None:
    """What it says of these parts; None for nothing. Of work with a note the note alone may be left."""
    if isinstance(what, StatusSet | Noted):
        return what if parts_of(what)[0] in parts else None
    are = [part in parts for part in _work_in(what)]
    note = what.note if Part("note") in parts else ""
    if not any(are):
        return Noted(note=note) if note else None
    if isinstance(what, Readings):
        return replace(what, measured=tuple(compress(what.measured, are)), note=note)
    if isinstance(what, Corrected):
        return replace(what, moves=tuple(compress(what.moves, are)), note=note)
    if what.anew is not None:
        return replace(what, note=note)
    bends, steps = compress(what.bends, are), compress(what.steps, are[len(what.bends) :])
    return replace(what, bends=tuple(bends), steps=tuple(steps), note=note)


def parted(what: What, parts: Collection[Part]) -> tuple[What | None, What | None]:
    """What it says of these parts, and what it says beside them; None for nothing."""
    return said_of(what, parts), said_of(what, set(parts_of(what)).difference(parts))


def says_no_more(entry: Entry, than: Entry) -> bool:
    """Whether an entry says a part of what it said as it was once (`than`), or all of that, and nothing beside it."""
    what = said_of(than.what, parts_of(entry.what))
    if what is None:
        return False
    was = replace(than, what=what)
    return entry == was or is_same(entry, was)


def is_same(entry: Entry, stands: Entry) -> bool:
    """Whether an entry says the same as that which stands, but for what came with a job file: of its run no revision,
    and by whom and when it was added where it did not say so itself."""
    pins = replace(entry.pins, run=stands.pins.run)
    same = replace(entry, pins=pins, by=entry.by or stands.by, at=entry.at or stands.at)
    return not stands.pins.run and same == stands


def part_words(part: Part, tape: TapeStyle | None = None) -> str:
    """A part as a command names it: '--made 2', '--done cut', '--off up', by the run's `tape` '--off "up@30 1/2"'."""
    kind = next((kind for kind in STEPS if kind == part.kind), None)
    if kind is not None:
        name = step_name(kind, part.number or None)
        return f'--done "{name}"' if " " in name else f"--done {name}"
    tail = str(part.number) if part.number else part.way
    if part.place_mm is not None:
        tail += f"@{read_tape(part.place_mm, tape or TapeStyle()).text}"
        tail = f'"{tail}"' if " " in tail else tail
    return f"--{part.kind.replace(' ', '-')} {tail}".rstrip()


def part_read(one: Measured) -> Part:
    """What was measured, of which bend or which way."""
    if isinstance(one, BendAngle):
        return Part("angle", one.number)
    if isinstance(one, ApexRise):
        return Part("rise", one.number)
    if isinstance(one, LegLean):
        return Part("lean", way=along(one.way))
    return Part("off", way=along(one.way), place_mm=one.station_mm)


def step_part(kind: StepName, number: int | None) -> Part:
    """A step that is done, by its number as a person says it."""
    return Part(kind, numbered(kind, number) or 0)
