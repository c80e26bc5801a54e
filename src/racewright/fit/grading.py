"""What a teacher measures on a finished piece, with tape and level."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from itertools import pairwise
from math import cos, degrees, pi, radians, remainder, tan, tau
from typing import Literal, NamedTuple

from msgspec.structs import replace

from racewright.bends import roles
from racewright.bends.model import Bend, BentPiece
from racewright.fit.jacobian import PlacedBend, Walk, walk
from racewright.fit.measured import ApexRise, BendAngle, Measured, shown
from racewright.geometry.vector import Frame, Vec, along, cross, dot, norm, scale, sub
from racewright.sequence.words import mark_names

CheckKind = Literal["length", "rise", "angle", "lean", "dog-leg", "side"]
#: A bend this large ends a leg, whose length is then measured to its back.
_TURN_RAD = radians(75.0)
_SADDLES = (roles.SADDLE_OUTER, roles.SADDLE_FOUR)
#: Planes that are so far from alike, or from square, are read as the angle between them (our own choice).
_SKEW_RAD = radians(5.0)

Shows = Callable[[BentPiece, Walk], float]


class GradedCheck(NamedTuple):
    """One thing to measure: its `key` ('rise 2'), its kind, what it is in words, and what a piece shows there (a side:
    1 as drawn, 0 the other). `either`: it is read without its sign, so it may be off to either side."""

    key: str
    kind: CheckKind
    words: str
    shows: Shows
    either: bool = False


def graded_checks(piece: BentPiece) -> tuple[GradedCheck, ...]:
    """What is measured on a piece: its legs, to the backs of its 90s; where each offset, saddle and kick stands on its
    leg; their rises, as from the leg before to the conduit's underside, and how far the leg after a saddle is off the
    line of the one before; each angle by a level; how each bend's plane leans about the leg before it; to which side
    each shape turns; and how far end B is out of the plane that it belongs in (of the whole piece where that is flat,
    else of its last bend)."""
    return (
        *_legs(piece),
        *_places(piece),
        *_rises(piece),
        *_angles(piece),
        *_leans(piece),
        *_sides(piece),
        _dog_leg(piece),
    )


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


def _leans(piece: BentPiece) -> Iterator[GradedCheck]:
    """How each bend leans about the leg that it has in common with the one before: with that leg level and the bend
    before turned straight up, an angle finder across the leg shows it. As drawn most planes are one, or square to each
    other: how far off that is read, to either side, up to a half turn; else the angle between the two."""
    for own in _shapes(piece):
        for k in own:
            if not k:
                continue
            name = _name(piece, own) if len(own) == 1 else f"the bend at mark {k + 1}"
            if k == own[0] and len(own) > 1:
                name = f"{_name(piece, own)}, at mark {k + 1},"
            turn = abs(remainder(piece.bends[k].roll_rad - piece.bends[k - 1].roll_rad, pi))
            from_plane = f"the plane of the bend at mark {k}"
            if turn < _SKEW_RAD:
                yield _lean(piece, k, f"lean of {name} out of {from_plane}")
            elif abs(turn - pi / 2.0) < _SKEW_RAD:
                yield _lean(piece, k, f"lean of {name} off square to {from_plane}")
            else:
                yield _lean(piece, k, f"lean of {name} from {from_plane}", turn)


def _lean(piece: BentPiece, k: int, words: str, skew_rad: float = 0.0) -> GradedCheck:
    """`skew_rad`: the angle between the two planes as drawn, 0 where what is read is how far off the bend leans."""
    drawn = piece.bends[k].roll_rad - piece.bends[k - 1].roll_rad
    sign = -1.0 if skew_rad and remainder(drawn, pi) < 0.0 else 1.0

    def shows(now: BentPiece, _walked: Walk) -> float:
        turn = now.bends[k].roll_rad - now.bends[k - 1].roll_rad
        return skew_rad + sign * remainder(turn - drawn, tau)

    return GradedCheck(f"lean {k + 1}", "lean", words, shows, either=not skew_rad)


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
