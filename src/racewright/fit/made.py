"""A half-bent piece as it is: what is bent stays as measured, the rest as the plan has it; and what a hand does about
that before it looks for new marks.

The rolls of a piece count from its first bend made: before that there is nothing that they could be off against, and
the piece goes into its fitting at end A in any direction. A bend made too small is bent further: the shoe stands on its
mark again, the conduit lies in it as far as it is bent, and the arc goes on from where it ends, away from the hook. So
the tangent point on the hook's side stays, and the straight beyond the arc gives what the arc takes. One made a little
too large is opened, and the straight beyond takes what the arc gives back. One whose plane is off is twisted back. A
bend made too far along is brought to its place by trimming end A.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import radians, remainder, tau
from typing import NamedTuple, Protocol

import msgspec

from racewright.bends.model import BentPiece
from racewright.errors import InputError
from racewright.fit.accuracy import Tolerance
from racewright.fit.measured import MARKS_COUNT
from racewright.tools.benders import HookEnd

#: A bend of a finished piece is closed by no more than this. Common practice, from memory, no source.
CLOSING_LIMIT_RAD = radians(15.0)
#: Opening more than this flattens or kinks thin-walled conduit. Common practice, from memory, no source.
OPENING_LIMIT_RAD = radians(5.0)
#: More twist than this is another bend. Common practice, from memory, no source.
ROLL_LIMIT_RAD = radians(10.0)
#: Less than this is not bent by hand.
LEAST_MADE_RAD = radians(0.25)
#: Bends that are bent further together, at most, where all are tried; of more bends made too small than so many only
#: each alone, and all of them.
_MOST_FURTHER, _TRIED_TOGETHER = 3, 12


class MadeBend(msgspec.Struct, frozen=True, kw_only=True):
    """A bend that is made, as measured: None keeps what the plan had. `number` counts from end A, from 1."""

    number: int
    arc_start_mm: float | None = None
    angle_rad: float | None = None
    roll_rad: float | None = None


class EndA(NamedTuple):
    """What end A allows: `turns`: the piece can be turned in its fitting; `trim`: so much at most can be cut off there
    (mm), and `spare_mm` is left on beyond it, to be cut."""

    turns: bool = False
    trim: bool = False
    spare_mm: float = 0.0


class Further(NamedTuple):
    """A made bend, by its number from 1, that is bent further by so much (negative: opened)."""

    number: int
    by_rad: float


class Twist(NamedTuple):
    """A made bend, by its number from 1, that is twisted with all that follows it by so much about the axis from A to B
    (right-handed)."""

    number: int
    by_rad: float


class Mended(Protocol):
    """How what is made is mended; see `Begun`."""

    @property
    def further(self) -> tuple[Further, ...]:
        """Bends that are bent further, or opened."""

    @property
    def twisted(self) -> tuple[Twist, ...]:
        """Bends that are twisted back."""

    @property
    def trim_mm(self) -> float:
        """What comes off at end A."""

    @property
    def turned_rad(self) -> float:
        """How far the piece is turned in its fitting."""


class Begun(NamedTuple):
    """A half-bent piece with the rest as planned. `further`: bends that are made and bent further, or opened,
    `twisted`: those that are twisted back. `trim_mm`: so much comes off at end A, from where all counts (negative: so
    much more of what is left on beyond it stays). `turned_rad`: so much the whole piece is turned in its fitting
    against what was measured."""

    piece: BentPiece
    further: tuple[Further, ...] = ()
    trim_mm: float = 0.0
    turned_rad: float = 0.0
    twisted: tuple[Twist, ...] = ()


def begun(plan: BentPiece, made: Sequence[MadeBend], end_a: EndA, hooks: Sequence[HookEnd] = ()) -> tuple[Begun, ...]:
    """The piece as it is made, then with what is made mended: further bent, opened, twisted back, and more than one of
    these. `made` in the order in which it was bent. Raises InputError for bends that the piece does not have."""
    base, done = as_made(plan, made), [item.number for item in made]
    turned = 0.0
    if end_a.turns and made:
        first = made[0].number - 1
        turned = plan.bends[first].roll_rad - base.bends[first].roll_rad
        for item in made:
            base = _with(base, item.number, roll_rad=base.bends[item.number - 1].roll_rad + turned)
    out = [Begun(base, turned_rad=turned)]
    out += [_further(out[0], chosen, hooks) for chosen in _off(plan, base, made)]
    twists = _dog_legs(plan, base, made)
    if twists:
        right = made[0].number if end_a.turns else 1
        out += [_twisted(way, twists, done, right) for way in (out if len(out) == 1 else (out[0], out[-1]))]
    return tuple(out)


def trimmed(plan: BentPiece, ways: Sequence[Begun], made: Sequence[MadeBend], end_a: EndA) -> Iterator[Begun]:
    """The same ways with what comes off at end A, each as it is asked for: many made bends allow many lengths."""
    if end_a.trim:
        for way in ways:
            yield from _trimmed(plan, way, made, end_a)


def as_made(piece: BentPiece, made: Sequence[MadeBend]) -> BentPiece:
    """The piece with what was measured on its made bends, the rest as planned. Raises InputError for bends that it does
    not have."""
    for item in made:
        if not 1 <= item.number <= len(piece.bends):
            raise InputError(
                f"mark {item.number} is said to be bent, and the piece has {len(piece.bends)} marks.",
                hint=MARKS_COUNT,
                field="number",
            )
        said = {"arc_start_mm": item.arc_start_mm, "angle_rad": item.angle_rad, "roll_rad": item.roll_rad}
        piece = _with(piece, item.number, **{name: value for name, value in said.items() if value is not None})
    return piece


def _with(piece: BentPiece, number: int, **values: float) -> BentPiece:
    bends = list(piece.bends)
    bends[number - 1] = msgspec.structs.replace(bends[number - 1], **values)
    return msgspec.structs.replace(piece, bends=tuple(bends))


def _off(plan: BentPiece, base: BentPiece, made: Sequence[MadeBend]) -> Iterator[tuple[Further, ...]]:
    """The bends made too small that can be bent further: one, or some, or all; then those made too large that can be
    opened: one, or all, or all with those made too small."""
    small, large = [], []
    for item in made:
        by = plan.bends[item.number - 1].angle_rad - base.bends[item.number - 1].angle_rad
        if by >= LEAST_MADE_RAD:
            small.append(Further(item.number, by))
        elif -OPENING_LIMIT_RAD <= by <= -LEAST_MADE_RAD:
            large.append(Further(item.number, by))
    together = _MOST_FURTHER if len(small) <= _TRIED_TOGETHER else 1
    for count in range(1, min(len(small), together) + 1):
        yield from combinations(small, count)
    if len(small) > together:
        yield tuple(small)
    yield from ((item,) for item in large)
    if len(large) > 1:
        yield tuple(large)
    if large and small:
        yield (*small, *large)


def _dog_legs(plan: BentPiece, base: BentPiece, made: Sequence[MadeBend]) -> tuple[Twist, ...]:
    """The twists, from end A on, that bring the planes of the made bends to each other as planned; none where one of
    them is more than a hand twists."""
    numbers = sorted(item.number for item in made)
    off = {n: base.bends[n - 1].roll_rad - plan.bends[n - 1].roll_rad for n in numbers}
    twists, carried = [], 0.0
    for number in numbers[1:]:
        by = remainder(off[numbers[0]] - off[number] - carried, tau)
        if abs(by) > ROLL_LIMIT_RAD:
            return ()
        if abs(by) >= LEAST_MADE_RAD:
            twists.append(Twist(number, by))
            carried += by
    return tuple(twists)


def _twisted(begun_: Begun, twists: tuple[Twist, ...], made: Sequence[int], right: int) -> Begun:
    """Its made bends twisted so, and the piece turned in its fitting so that the bend `right` stays in its plane."""
    piece, back = begun_.piece, twist_rad(twists, right)
    for number in made:
        rolled = piece.bends[number - 1].roll_rad + twist_rad(twists, number) - back
        piece = _with(piece, number, roll_rad=rolled)
    return begun_._replace(piece=piece, twisted=twists, turned_rad=begun_.turned_rad - back)


def twist_rad(twists: Sequence[Twist], number: int) -> float:
    """How far the conduit at a bend is turned by the twists before it."""
    return sum(twist.by_rad for twist in twists if twist.number <= number)


def _further(begun_: Begun, chosen: tuple[Further, ...], hooks: Sequence[HookEnd]) -> Begun:
    piece = begun_.piece
    for number, by in chosen:
        old = piece.bends[number - 1]
        back = old.radius_mm * by if number <= len(hooks) and hooks[number - 1] == "B" else 0.0
        piece = _with(piece, number, angle_rad=old.angle_rad + by, arc_start_mm=old.arc_start_mm - back)
    return begun_._replace(piece=piece, further=chosen)


def _trimmed(plan: BentPiece, begun_: Begun, made: Sequence[MadeBend], end_a: EndA) -> Iterator[Begun]:
    """With each made bend where the plan has it, by what is cut off at end A: one for each such length."""
    done = {item.number - 1 for item in made}
    told: list[float] = []
    for k in sorted(done):
        trim = begun_.piece.bends[k].arc_start_mm - plan.bends[k].arc_start_mm
        same = any(abs(trim - other) < Tolerance().length_mm / 2.0 for other in (0.0, *told))
        if same or trim < -end_a.spare_mm:
            continue
        told.append(trim)
        bends = [
            msgspec.structs.replace(bend, arc_start_mm=bend.arc_start_mm - trim) if i in done else bend
            for i, bend in enumerate(begun_.piece.bends)
        ]
        yield begun_._replace(piece=msgspec.structs.replace(begun_.piece, bends=tuple(bends)), trim_mm=trim)
