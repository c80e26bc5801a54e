"""What a teacher measures on a finished piece, and which slip of the hand explains what is off.

Notation
    m     what was measured less what the planned piece shows, check by check (mm or rad)
    s     a slip: one mark, angle, plane or the cut off by x, or all angles or all marks alike
    d(x)  what the piece with the slip shows less what the planned one shows
    w     one over what a check may be off: misfits are weighed by it
Slips are sought one after the other: those whose d(x) takes most of the weighed misfit, while it takes at least a
part `_EXPLAINS` of what is left. Of those that take equally much the nearest to zero is told, with the others that are
about as small.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import pairwise, product
from math import cos, degrees, radians, tan
from typing import Literal, NamedTuple

from msgspec.structs import replace

from racewright.bends import roles
from racewright.bends.model import Bend, BentPiece
from racewright.fit.jacobian import PlacedBend, Walk, walk
from racewright.fit.measured import ApexRise, BendAngle, Measured, shown
from racewright.geometry.vector import Frame, Vec, along, cross, dot, even, norm, scale, sub
from racewright.sequence.words import mark_names
from racewright.tools.benders import HookEnd

CheckKind = Literal["length", "rise", "angle", "dog-leg", "side"]
SlipKind = Literal["mark", "angle", "twist", "cut", "angles", "marks"]
#: A bend this large ends a leg, whose length is then measured to its back.
_TURN_RAD = radians(75.0)
#: A slip that takes less than this part of the misfit is not told (our own choice).
_EXPLAINS = 0.5
_SADDLES = (roles.SADDLE_OUTER, roles.SADDLE_FOUR)
_MOST_SLIPS = 3
#: Slips whose weighed misfits differ by less explain alike: half of what a check may be off, squared (our own choice).
_ALIKE = 0.25
#: Of slips that explain alike one so many times the smallest of its unit is not told (our own choice).
_FAR_FETCHED = 4.0
#: How far a slip is tried for its slope.
_TRY_MM, _TRY_RAD = 1.0, radians(0.5)
#: What a tape and a level tell apart.
_READ_MM, _READ_RAD = 25.4 / 16.0, radians(0.5)

Shows = Callable[[BentPiece, Walk], float]


class GradedCheck(NamedTuple):
    """One thing to measure: its `key` ('rise 2'), its kind, what it is in words, and what a piece shows there (a side:
    1 as drawn, 0 the other). `either`: it is read without its sign, so it may be off to either side."""

    key: str
    kind: CheckKind
    words: str
    shows: Shows
    either: bool = False


class Slip(NamedTuple):
    """One slip of the hand and how far it went (mm or rad); `number`: at which mark, 0: at none alone. `by_check`: what
    it makes each check be off."""

    kind: SlipKind
    number: int
    by: float
    by_check: tuple[float, ...]

    @property
    def turned(self) -> bool:
        """`by` is an angle."""
        return self.kind in ("angle", "angles", "twist")

    @property
    def size(self) -> float:
        """How far it went, in what a tape or a level tells apart."""
        return abs(self.by) / (_READ_RAD if self.turned else _READ_MM)


def graded_checks(piece: BentPiece) -> tuple[GradedCheck, ...]:
    """What is measured on a piece: its legs, to the backs of its 90s; where each offset, saddle and kick stands on its
    leg; their rises, as from the leg before to the conduit's underside, and how far the leg after a saddle is off the
    line of the one before; each angle by a level; to which side each shape turns; and how far end B is out of the plane
    that it belongs in (of the whole piece where that is flat, else of its last bend)."""
    return (*_legs(piece), *_places(piece), *_rises(piece), *_angles(piece), *_sides(piece), _dog_leg(piece))


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

        def shows(now: BentPiece, walked: Walk, a: int = a, b: int = b) -> float:
            last = b == len(now.bends)
            end = walked.end.origin if last else _corner(walked.bends[b])
            return _from_leg_s_start(now, walked, a, end) + (0.0 if last else now.outside_diameter_mm / 2.0)

        yield GradedCheck(f"length {number}", "length", words, shows)


def _from_leg_s_start(now: BentPiece, walked: Walk, a: int, to: Vec) -> float:
    """Along a leg from where a tape is held, end A (`a` below 0) or the back of the 90 `a`, to beside a point."""
    if a < 0:
        return abs(dot(sub(to, Frame().origin), Frame().axis))
    placed = walked.bends[a]
    return abs(dot(sub(to, _corner(placed)), placed.end.axis)) + now.outside_diameter_mm / 2.0


def _tangent(bend: Bend) -> float:
    """From where a bend begins to its corner."""
    return bend.radius_mm * tan(bend.angle_rad / 2.0)


def _corner(placed: PlacedBend) -> Vec:
    return along(placed.start.origin, placed.start.axis, _tangent(placed.bend))


def _shapes(piece: BentPiece) -> list[list[int]]:
    """The bends of each shape, from 0, as they follow from end A."""
    out: list[list[int]] = []
    for k, bend in enumerate(piece.bends):
        if k and bend.shape and bend.shape == piece.bends[k - 1].shape:
            out[-1].append(k)
        else:
            out.append([k])
    return out


def _name(piece: BentPiece, own: list[int]) -> str:
    """'the offset at marks 2 and 3'."""
    first = piece.bends[own[0]]
    kinds = {
        roles.OFFSET_FIRST: "offset",
        roles.SADDLE_OUTER: "saddle",
        roles.SADDLE_FOUR: "saddle",
        roles.KICK: "kick",
    }
    kind = kinds.get(first.role, "90" if first.angle_rad > _TURN_RAD else "bend")
    return f"the {kind} at {mark_names([k + 1 for k in own])}"


def _places(piece: BentPiece) -> Iterator[GradedCheck]:
    """Where each offset and kick has its first corner (two straightedges find it; where an arc begins is
    not to be seen), and where each saddle has its middle."""
    for own in _shapes(piece):
        role = piece.bends[own[0]].role
        saddle = role in _SADDLES
        if not saddle and role not in (roles.OFFSET_FIRST, roles.KICK):
            continue
        a = max((k for k in range(own[0]) if piece.bends[k].angle_rad > _TURN_RAD), default=-1)
        to = "the middle of" if saddle else "the first corner of"
        held = "end A" if a < 0 else f"the back of the 90 at mark {a + 1}"
        more = "" if saddle else " (where the middle lines of its slope and of the leg meet)"

        def shows(now: BentPiece, walked: Walk, a: int = a, own: list[int] = own, *, saddle: bool = saddle) -> float:
            middle = (own[(len(own) - 1) // 2], own[len(own) // 2]) if saddle else (own[0],)
            return sum(_from_leg_s_start(now, walked, a, _corner(walked.bends[k])) for k in middle) / len(middle)

        yield GradedCheck(f"place {own[0] + 1}", "length", f"{held} to {to} {_name(piece, own)}{more}", shows)


def _rises(piece: BentPiece) -> Iterator[GradedCheck]:
    for own in _shapes(piece):
        first, last = own[0], own[-1]
        role = piece.bends[last].role
        name = _name(piece, own)
        if role == roles.KICK:
            to = next((k for k in range(last + 1, len(piece.bends)) if piece.bends[k].angle_rad > _TURN_RAD), None)
            where = "at end B" if to is None else f"at the 90 of mark {to + 1}"
            words = f"rise of {name}, {where}, from the line of the leg before it"
            yield GradedCheck(f"rise {first + 1}", "rise", words, partial(_off_the_leg, first, to))
        if role == roles.OFFSET_SECOND:
            yield _apex(last, f"rise of {name}")
        if role in _SADDLES and len(own) > 2:
            yield _apex(own[1], f"rise of {name}, at mark {own[1] + 1}")
            words = f"the leg after {name}, at its far end, off the line of the leg before it"
            yield GradedCheck(f"flat {first + 1}", "rise", words, partial(_leg_s_end, first, last), either=True)


def _apex(k: int, words: str) -> GradedCheck:
    return GradedCheck(f"rise {k + 1}", "rise", words, partial(_shown_at, ApexRise(rise_mm=0.0, number=k + 1)))


def _shown_at(what: Measured, now: BentPiece, walked: Walk) -> float:
    return shown(now, what, walked)


def _off_the_leg(first: int, to: int | None, now: BentPiece, walked: Walk) -> float:
    """How far the corner of bend `to` (None: end B) is off the leg before bend `first`, the way that this one turns."""
    return _above(walked.bends[first], walked.end.origin if to is None else _corner(walked.bends[to]))


def _leg_s_end(first: int, last: int, now: BentPiece, walked: Walk) -> float:
    """The same for where the leg after bend `last` ends."""
    ends = last + 1 == len(now.bends)
    return _above(walked.bends[first], walked.end.origin if ends else walked.bends[last + 1].start.origin)


def _above(placed: PlacedBend, point: Vec) -> float:
    return dot(sub(point, placed.start.origin), placed.toward)


def _angles(piece: BentPiece) -> Iterator[GradedCheck]:
    for k in range(len(piece.bends)):
        what = BendAngle(number=k + 1, angle_rad=0.0)
        yield GradedCheck(f"angle {k + 1}", "angle", f"angle at mark {k + 1}", partial(_shown_at, what))


def _sides(piece: BentPiece) -> Iterator[GradedCheck]:
    """To which side each shape after the first one turns."""
    for own in _shapes(piece)[1:]:
        k = own[0]
        turn_deg = degrees(piece.bends[k].roll_rad - piece.bends[0].roll_rad) % 360.0
        way = {
            0: "to the same side as mark 1",
            1: "to the right (seen toward end B, with mark 1 turning up)",
            2: "to the other side than mark 1",
            3: "to the left (seen toward end B, with mark 1 turning up)",
        }[round(turn_deg / 90.0) % 4]

        def shows(now: BentPiece, walked: Walk, k: int = k) -> float:
            return float(cos(now.bends[k].roll_rad - piece.bends[k].roll_rad) > 0.0)

        yield GradedCheck(f"side {k + 1}", "side", f"{_name(piece, own)} turns {way}", shows)


def _dog_leg(piece: BentPiece) -> GradedCheck:
    walked = walk(piece)
    flat_normal = cross(Frame().axis, walked.bends[0].toward)
    flat = all(abs(dot(bend.toward, flat_normal)) < 1e-6 for bend in walked.bends)
    normal: Vec = flat_normal if flat else cross(walked.bends[-1].start.axis, walked.bends[-1].toward)
    unit = scale(normal, 1.0 / norm(normal))

    def shows(now: BentPiece, _walked: Walk) -> float:
        # as it lies: its first bend in the plane that is wanted
        turned = now.bends[0].roll_rad - piece.bends[0].roll_rad
        there = walk(replace(now, bends=tuple(replace(b, roll_rad=b.roll_rad - turned) for b in now.bends)))
        foot = Frame().origin if flat else _corner(there.bends[-1])
        return dot(sub(there.end.origin, foot), unit)

    words = "end B off the flat floor (dog-leg)" if flat else "end B out of the plane of the last bend (dog-leg)"
    return GradedCheck("dog-leg", "dog-leg", words, shows, either=True)


def slips(
    piece: BentPiece,
    checks: Sequence[GradedCheck],
    off: Sequence[float],
    may_be_off: Sequence[float],
    hooks: Sequence[HookEnd],
    first: int = 1,
) -> tuple[tuple[Slip, ...], ...]:
    """The slips that likely made what is off, the one that explains most first, each with those that cannot be told
    from it. `off`: what was measured less what is wanted; `first`: the mark that was bent first, on which the others
    are sighted. What is read without its sign is tried to both sides."""
    walked = walk(piece)
    tried = _Tried(piece, checks, [check.shows(piece, walked) for check in checks], may_be_off, hooks, first)
    signs = product(*((1.0, -1.0) if check.either and one else (1.0,) for check, one in zip(checks, off, strict=True)))
    found = [_one_by_one(tried, [one * sign for one, sign in zip(off, row, strict=True)]) for row in signs]
    return min(found, key=lambda item: even(item[0]))[1]


class _Tried(NamedTuple):
    """What slips are tried on: the piece, what is checked and wanted, and how far it may be off."""

    piece: BentPiece
    checks: Sequence[GradedCheck]
    wanted: Sequence[float]
    may_be_off: Sequence[float]
    hooks: Sequence[HookEnd]
    first: int

    def makes(self, slip: tuple[SlipKind, int], by: float) -> list[float]:
        """What a slip makes each check be off."""
        now = _with(self.piece, slip, by, self.hooks)
        walked = walk(now)
        return [check.shows(now, walked) - value for check, value in zip(self.checks, self.wanted, strict=True)]

    def weighed(self, a: Sequence[float], b: Sequence[float]) -> float:
        """The weighed product."""
        return sum(x * y / limit**2 for x, y, limit in zip(a, b, self.may_be_off, strict=True))


def _one_by_one(tried: _Tried, off: list[float]) -> tuple[float, tuple[tuple[Slip, ...], ...]]:
    """The misfit that is left, and the slips that took the rest."""
    left, found = off, list[tuple[Slip, ...]]()
    misfit = tried.weighed(left, left)
    while len(found) < _MOST_SLIPS and any(
        abs(value) > limit for value, limit in zip(left, tried.may_be_off, strict=True)
    ):
        slips_tried = [_fitted(tried, slip, left) for slip in _possible(tried.piece, tried.first)]
        least = min(rest for rest, _ in slips_tried)
        if least > (1.0 - _EXPLAINS) * misfit:
            break
        alike = [slip for rest, slip in slips_tried if rest <= least + _ALIKE]
        small = {turned: min((s.size for s in alike if s.turned == turned), default=0.0) for turned in (False, True)}
        near = [slip for slip in alike if slip.size <= _FAR_FETCHED * small[slip.turned]]
        near.sort(key=lambda slip: even(slip.size))
        found.append(tuple(near))
        left = [value - made for value, made in zip(left, near[0].by_check, strict=True)]
        misfit = tried.weighed(left, left)
    return misfit, tuple(found)


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


def _fitted(tried: _Tried, slip: tuple[SlipKind, int], left: Sequence[float]) -> tuple[float, Slip]:
    """What a slip leaves of the weighed misfit at best, and that slip: least squares on its slope, and once more about
    where that leads."""
    step = _TRY_RAD if slip[0] in ("angle", "angles", "twist") else _TRY_MM
    by = 0.0
    for _ in range(2):
        here = tried.makes(slip, by)
        slope = [(there - value) / step for there, value in zip(tried.makes(slip, by + step), here, strict=True)]
        rest = [value - made for value, made in zip(left, here, strict=True)]
        size = tried.weighed(slope, slope)
        if size <= 0.0:
            break
        by += tried.weighed(slope, rest) / size
    made = tried.makes(slip, by)
    rest = [value - one for value, one in zip(left, made, strict=True)]
    return tried.weighed(rest, rest), Slip(slip[0], slip[1], by, tuple(made))


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
