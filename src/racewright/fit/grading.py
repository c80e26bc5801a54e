"""What a teacher measures on a finished piece, and which slip of the hand explains what is off.

Notation
    m     what was measured less what the planned piece shows, check by check (mm or rad)
    s     a slip: one mark, angle, plane or the cut off by x, or all angles or all marks alike
    d(x)  what the piece with the slip shows less what the planned one shows
    w     one over what a check may be off: misfits are weighed by it
Slips are sought one after the other: the one whose d(x) takes most of the weighed misfit, while it takes at least a
part `_EXPLAINS` of what is left.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import pairwise
from math import radians, tan
from typing import Literal, NamedTuple

from msgspec.structs import replace

from racewright.bends import roles
from racewright.bends.model import Bend, BentPiece
from racewright.fit.jacobian import walk
from racewright.fit.measured import ApexRise, BendAngle, Measured, shown
from racewright.geometry.vector import Frame, Vec, along, cross, dot, even, norm, sub
from racewright.sequence.words import mark_names
from racewright.tools.benders import HookEnd

CheckKind = Literal["length", "rise", "angle", "dog-leg"]
SlipKind = Literal["mark", "angle", "twist", "cut", "angles", "marks"]
#: A bend this large ends a leg, whose length is then measured to its back.
_TURN_RAD = radians(75.0)
#: A slip that takes less than this part of the misfit is not told (our own choice).
_EXPLAINS = 0.5
_MOST_SLIPS = 3
#: How far a slip is tried for its slope.
_TRY_MM, _TRY_RAD = 1.0, radians(0.5)


class GradedCheck(NamedTuple):
    """One thing to measure: its `key` ('rise 2'), its kind, what it is in words, and what a piece shows there."""

    key: str
    kind: CheckKind
    words: str
    shows: Callable[[BentPiece], float]


class Slip(NamedTuple):
    """One slip of the hand and how far it went (mm or rad); `number`: at which mark, 0: at none alone. `by_check`: what
    it makes each check be off."""

    kind: SlipKind
    number: int
    by: float
    by_check: tuple[float, ...]


def graded_checks(piece: BentPiece) -> tuple[GradedCheck, ...]:
    """What is measured on a piece: its legs, to the backs of its 90s; the rises of its offsets and saddles, as from the
    leg before to the conduit's underside; each angle by a level; and how far end B is out of the plane that it belongs
    in (of the whole piece where that is flat, else of its last bend)."""
    return (*_legs(piece), *_rises(piece), *_angles(piece), _dog_leg(piece))


def _legs(piece: BentPiece) -> Iterator[GradedCheck]:
    ends = [-1, *(k for k, bend in enumerate(piece.bends) if bend.angle_rad > _TURN_RAD), len(piece.bends)]
    for number, (a, b) in enumerate(pairwise(ends), 1):
        first, last = a < 0, b == len(piece.bends)
        words = {
            (True, True): "end A to end B, along the first leg",
            (True, False): f"end A to the back of the 90 at mark {b + 1}",
            (False, True): f"the back of the 90 at mark {a + 1} to end B",
            (False, False): f"back to back, marks {a + 1} and {b + 1}",
        }[first, last]

        def shows(now: BentPiece, a: int = a, b: int = b) -> float:
            walked = walk(now)
            corners = [along(p.start.origin, p.start.axis, _tangent(p.bend)) for p in walked.bends]
            start = Frame().origin if a < 0 else corners[a]
            end = walked.end.origin if b == len(now.bends) else corners[b]
            way = Frame().axis if a < 0 else walked.bends[a].end.axis
            backs = (a >= 0) + (b < len(now.bends))
            return abs(dot(sub(end, start), way)) + backs * now.outside_diameter_mm / 2.0

        yield GradedCheck(f"length {number}", "length", words, shows)


def _tangent(bend: Bend) -> float:
    """From where a bend begins to its corner."""
    return bend.radius_mm * tan(bend.angle_rad / 2.0)


def _rises(piece: BentPiece) -> Iterator[GradedCheck]:
    for k, bend in enumerate(piece.bends):
        flat = bend.role == roles.SADDLE_FOUR and k > 0 and piece.bends[k - 1].shape == bend.shape
        if flat and k > 1 and piece.bends[k - 2].shape == bend.shape:
            continue
        if not flat and bend.role not in (roles.SADDLE_CENTER, roles.OFFSET_SECOND):
            continue
        what = ApexRise(rise_mm=0.0, number=k + 1)
        words = "rise of the offset" if bend.role == roles.OFFSET_SECOND else "rise of the saddle"
        yield GradedCheck(f"rise {k + 1}", "rise", f"{words}, at mark {k + 1}", partial(_shown_at, what))


def _shown_at(what: Measured, now: BentPiece) -> float:
    return shown(now, what)


def _angles(piece: BentPiece) -> Iterator[GradedCheck]:
    for k in range(len(piece.bends)):
        what = BendAngle(number=k + 1, angle_rad=0.0)
        yield GradedCheck(f"angle {k + 1}", "angle", f"angle at mark {k + 1}", partial(_shown_at, what))


def _dog_leg(piece: BentPiece) -> GradedCheck:
    walked = walk(piece)
    flat_normal = cross(Frame().axis, walked.bends[0].toward)
    flat = all(abs(dot(bend.toward, flat_normal)) < 1e-6 for bend in walked.bends)
    normal: Vec = flat_normal if flat else cross(walked.bends[-1].start.axis, walked.bends[-1].toward)

    def shows(now: BentPiece) -> float:
        # as it lies: its first bend in the plane that is wanted
        turned = now.bends[0].roll_rad - piece.bends[0].roll_rad
        there = walk(replace(now, bends=tuple(replace(b, roll_rad=b.roll_rad - turned) for b in now.bends)))
        last = there.bends[-1]
        foot = Frame().origin if flat else along(last.start.origin, last.start.axis, _tangent(last.bend))
        return dot(sub(there.end.origin, foot), normal) / norm(normal)

    words = "end B off the flat floor (dog-leg)" if flat else "end B out of the plane of the last bend (dog-leg)"
    return GradedCheck("dog-leg", "dog-leg", words, shows)


def slips(
    piece: BentPiece,
    checks: Sequence[GradedCheck],
    off: Sequence[float],
    may_be_off: Sequence[float],
    hooks: Sequence[HookEnd],
    first: int = 1,
) -> tuple[Slip, ...]:
    """The slips that likely made what is off, the one that explains most first. `off`: what was measured less what is
    wanted; `first`: the mark that was bent first, on which the others are sighted."""
    wanted = [check.shows(piece) for check in checks]
    left, found = list(off), list[Slip]()
    for _ in range(_MOST_SLIPS):
        if all(abs(value) <= limit for value, limit in zip(left, may_be_off, strict=True)):
            break
        tried = [_tried(piece, slip, checks, wanted, left, may_be_off, hooks) for slip in _possible(piece, first)]
        taken, best = max(tried, key=lambda item: even(item[0]))
        if taken < _EXPLAINS:
            break
        found.append(best)
        left = [value - made for value, made in zip(left, best.by_check, strict=True)]
    return tuple(found)


def _possible(piece: BentPiece, first: int) -> Iterator[tuple[SlipKind, int]]:
    """Shared slips come first: of equal ones the one that explains more pieces is told."""
    several = len(piece.bends) > 1
    if several:
        yield "angles", 0
        yield "marks", 0
    for number in range(1, len(piece.bends) + 1):
        yield "angle", number
        yield "mark", number
        if number != first:
            yield "twist", number
    yield "cut", 0


def _tried(
    piece: BentPiece,
    slip: tuple[SlipKind, int],
    checks: Sequence[GradedCheck],
    wanted: Sequence[float],
    left: Sequence[float],
    may_be_off: Sequence[float],
    hooks: Sequence[HookEnd],
) -> tuple[float, Slip]:
    """How much of the weighed misfit a slip takes at best (0..1), and that slip: least squares on its slope, and once
    more about where that leads."""
    step = _TRY_RAD if slip[0] in ("angle", "angles", "twist") else _TRY_MM

    def makes(by: float) -> list[float]:
        now = _with(piece, slip, by, hooks)
        return [check.shows(now) - value for check, value in zip(checks, wanted, strict=True)]

    def weighed(a: Sequence[float], b: Sequence[float]) -> float:
        return sum(x * y / limit**2 for x, y, limit in zip(a, b, may_be_off, strict=True))

    by = 0.0
    for _ in range(2):
        here = makes(by)
        slope = [(there - value) / step for there, value in zip(makes(by + step), here, strict=True)]
        rest = [value - made for value, made in zip(left, here, strict=True)]
        size = weighed(slope, slope)
        if size <= 0.0:
            break
        by += weighed(slope, rest) / size
    made = makes(by)
    rest = [value - one for value, one in zip(left, made, strict=True)]
    whole = weighed(left, left)
    return 1.0 - weighed(rest, rest) / whole if whole > 0.0 else 0.0, Slip(slip[0], slip[1], by, tuple(made))


def _with(piece: BentPiece, slip: tuple[SlipKind, int], by: float, hooks: Sequence[HookEnd]) -> BentPiece:
    """The piece with a slip: a bend whose angle is off keeps the tangent point at its hook."""
    kind, number = slip
    if kind == "cut":
        return replace(piece, cut_length_mm=piece.cut_length_mm + by)
    bends = list(piece.bends)
    for k, bend in enumerate(bends):
        if number not in (0, k + 1):
            continue
        if kind in ("mark", "marks"):
            bends[k] = replace(bend, arc_start_mm=bend.arc_start_mm + by)
        elif kind == "twist":
            bends[k] = replace(bend, roll_rad=bend.roll_rad + by)
        else:
            back = bend.radius_mm * by if hooks[k] == "B" else 0.0
            bends[k] = replace(bend, angle_rad=bend.angle_rad + by, arc_start_mm=bend.arc_start_mm - back)
    return replace(piece, bends=tuple(bends))


#: What to do about a slip.
CARE: dict[SlipKind, str] = {
    "mark": "measure each mark twice from end A, and stand the shoe's own mark on the middle of the line",
    "marks": "hook the tape on end A, and take the mark of the shoe that the card names",
    "angle": "read the angle with a level after letting go",
    "angles": "read the angle with a level after letting go; the conduit springs back",
    "twist": "draw a line along the conduit at the first bend and sight along it before each pull",
    "cut": "measure the cut along the straight conduit, and square",
}


def slip_words(slip: Slip, size: str) -> str:
    """'mark 2 stood 1/2" too far from end A'; `size` is how far it went, as the tape or the level shows it."""
    mark = mark_names([slip.number]) if slip.number else ""
    more = slip.by > 0.0
    if slip.kind == "mark":
        return f"the bend at {mark} stands {size} too {'far from' if more else 'near to'} end A"
    if slip.kind == "marks":
        return f"all bends stand {size} too {'far from' if more else 'near to'} end A"
    if slip.kind == "angle":
        return f"{mark} was bent {size} too {'far' if more else 'little'}"
    if slip.kind == "angles":
        return f"every bend came out {size} too {'large' if more else 'small'}"
    if slip.kind == "twist":
        return f"the conduit was turned by {size} too much or too little for {mark}"
    return f"the piece is cut {size} too {'long' if more else 'short'}"
