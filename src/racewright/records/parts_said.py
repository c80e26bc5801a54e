"""What an entry says, part by part: a bend made, a step done, a reading, a correction, new marks, a note."""

from __future__ import annotations

from collections.abc import Collection
from typing import Literal, NamedTuple, TypeVar

from msgspec.structs import replace

from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured
from racewright.records.entry import Corrected, Made, Noted, Readings, StatusSet, What
from racewright.records.steps import STEPS, StepName, numbered, step_name

PartKind = StepName | Literal["made", "angle", "rise", "off", "lean", "corrected", "new marks", "note", "status"]
T = TypeVar("T")
#: A reading that way and the other way is one reading, more or less than nothing.
_AXES = {"down": "up", "right": "left", "forward": "long", "short": "long"}


class Part(NamedTuple):
    """One thing that an entry says: of which bend (0: of none), which way ('': none)."""

    kind: PartKind
    number: int = 0
    way: str = ""


def along(way: str) -> str:
    """The way by which a reading that way, or the other way, is known."""
    return _AXES.get(way, way)


def parts_of(what: What) -> tuple[Part, ...]:
    """All that it says. Bends that were kept with new marks are a part of these."""
    if isinstance(what, Readings):
        return tuple(part_read(one) for one in what.measured)
    if isinstance(what, Corrected):
        return tuple(Part("corrected", move.number) for move in what.moves)
    if isinstance(what, Noted):
        return (Part("note"),)
    if isinstance(what, StatusSet):
        return (Part("status"),)
    if what.anew is not None:
        return (Part("new marks"),)
    return (
        *(Part("made", bend.number) for bend in what.bends),
        *(step_part(step.kind, step.number) for step in what.steps),
    )


def parted(what: What, parts: Collection[Part]) -> tuple[What | None, What | None]:
    """What it says of these parts, and what it says beside them; None for nothing. Its note stays with the rest."""
    are = [part in parts for part in parts_of(what)]
    if all(are):
        return what, None
    if not any(are):
        return None, what
    if isinstance(what, Readings):
        goes, stays = _two(what.measured, are)
        return replace(what, measured=goes, note=""), replace(what, measured=stays)
    if isinstance(what, Corrected):
        moved, stay = _two(what.moves, are)
        return replace(what, moves=moved, note=""), replace(what, moves=stay)
    assert isinstance(what, Made), "a note, a status and new marks are one part each"
    count = len(what.bends)
    bends, steps = _two(what.bends, are[:count]), _two(what.steps, are[count:])
    return replace(what, bends=bends[0], steps=steps[0], note=""), replace(what, bends=bends[1], steps=steps[1])


def part_words(part: Part) -> str:
    """A part as a command names it: '--made 2', '--done cut', '--off up'."""
    kind = next((kind for kind in STEPS if kind == part.kind), None)
    if kind is not None:
        name = step_name(kind, part.number or None)
        return f'--done "{name}"' if " " in name else f"--done {name}"
    tail = str(part.number) if part.number else part.way
    return f"--{part.kind.replace(' ', '-')} {tail}".rstrip()


def _two(all_of: tuple[T, ...], are: list[bool]) -> tuple[tuple[T, ...], tuple[T, ...]]:
    goes = tuple(one for one, is_one in zip(all_of, are, strict=True) if is_one)
    return goes, tuple(one for one, is_one in zip(all_of, are, strict=True) if not is_one)


def part_read(one: Measured) -> Part:
    """What was measured, of which bend or which way."""
    if isinstance(one, BendAngle):
        return Part("angle", one.number)
    if isinstance(one, ApexRise):
        return Part("rise", one.number)
    return Part("lean" if isinstance(one, LegLean) else "off", way=along(one.way))


def step_part(kind: StepName, number: int | None) -> Part:
    """A step that is done, by its number as a person says it."""
    return Part(kind, numbered(kind, number) or 0)
