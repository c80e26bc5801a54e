"""What to check on a piece while it is bent: each check at the bend after which it can first be made.

Rises and heights are those of the finished piece: what the tape must read.

Notation: R centerline radius, D outside diameter, A angle of the first of two bends, L straight between their arcs.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import cos, degrees, isclose, pi, sin

import msgspec

from racewright.bends import roles
from racewright.bends.model import Bend, BentPiece
from racewright.sequence.words import same_plane
from racewright.units.tape import TapeStyle, format_length

#: Angles nearer than this are the same (rad).
_SAME_RAD = 1e-6


class BenchCheck(msgspec.Struct, frozen=True):
    """One check in words, and the bends (from 0, along the conduit) that must be made before it can be; `or_else`:
    others that do as well."""

    words: str
    needs: tuple[int, ...]
    or_else: tuple[int, ...] = ()

    def can_be(self, made: Sequence[int]) -> bool:
        """Whether it can be made once these bends are."""
        return any(bends and set(made).issuperset(bends) for bends in (self.needs, self.or_else))


def bench_checks(piece: BentPiece, tape: TapeStyle, *, cut_later: tuple[bool, bool]) -> list[BenchCheck]:
    """Every check of a piece's shape. `cut_later`: whether end A, end B is cut after bending. A shape that a coupling
    cuts in two is checked on the wall."""
    out: list[BenchCheck] = []
    for _, group in groupby(range(len(piece.bends)), key=lambda i: piece.bends[i].shape):
        out += _of_shape(piece, tuple(group), tape)
    squares = [i for i, bend in enumerate(piece.bends) if isclose(bend.angle_rad, pi / 2.0, abs_tol=_SAME_RAD)]
    for i in squares:
        out.append(BenchCheck("Check that the 90 is square.", (i,)))
        if i == 0:
            out.append(_stub(piece, i, piece.bends[i].arc_start_mm, tape, "cut line A" if cut_later[0] else "end A"))
        if i == len(piece.bends) - 1:
            beyond = piece.cut_length_mm - piece.bends[i].arc_end_mm
            out.append(_stub(piece, i, beyond, tape, "cut line B" if cut_later[1] else "end B"))
        if i - 1 in squares:
            out += _two_squares(piece, i - 1, tape)
    return out


def checks_after(checks: Sequence[BenchCheck], made: Sequence[int]) -> str:
    """The checks that hang on the last of the bends `made` (from 0, in bending order)."""
    return " ".join(c.words for c in checks if c.can_be(made) and not c.can_be(made[:-1]))


def plane_check(spin_deg: float) -> str:
    """How a bend's plane is held to those of the bends made before it."""
    if same_plane(spin_deg):
        return "Sight along it for a dog-leg first."
    return "Set the rotation with an angle finder."


def _of_shape(piece: BentPiece, bends: tuple[int, ...], tape: TapeStyle) -> list[BenchCheck]:
    """The checks of a saddle, an offset or a kick."""
    found = [piece.bends[i] for i in bends]
    kinds = [bend.role for bend in found]
    out = [
        BenchCheck("Check the angle with a level after letting go.", (i,))
        for i in bends
        if piece.bends[i].role in (roles.KICK, roles.SADDLE_CENTER)
    ]
    rise = format_length(_rise_mm(found[0], found[1]), tape) if len(found) > 1 else ""
    if kinds == [roles.OFFSET_FIRST, roles.OFFSET_SECOND]:
        out.append(BenchCheck(f"Check that both legs are parallel, {rise} apart center to center.", bends))
    elif kinds == [roles.SADDLE_OUTER, roles.SADDLE_CENTER, roles.SADDLE_OUTER]:
        out.append(BenchCheck(f"Check the rise, {rise}, and that both legs lie on one line.", bends))
    elif kinds == [roles.SADDLE_FOUR] * 4:
        words = f"Check the rise, {rise}, and that the top is parallel to the leg."
        out.append(BenchCheck(words, bends[:2], or_else=bends[2:]))
        out.append(BenchCheck("Check that both legs lie on one line.", bends))
    return out


def _rise_mm(first: Bend, second: Bend) -> float:
    """How far an offset, or a saddle up to its top, moves over: 2 R (1 - cos A) + L sin A."""
    angle = first.angle_rad
    straight = second.arc_start_mm - first.arc_end_mm
    return 2.0 * first.radius_mm * (1.0 - cos(angle)) + straight * sin(angle)


def _stub(piece: BentPiece, i: int, straight_mm: float, tape: TapeStyle, start: str) -> BenchCheck:
    """A 90 with nothing but its end beyond: from there to the back are the straight, R and half of D."""
    height = format_length(straight_mm + piece.bends[i].radius_mm + piece.outside_diameter_mm / 2.0, tape)
    return BenchCheck(f"Check {height} from {start} to the back.", (i,))


def _two_squares(piece: BentPiece, i: int, tape: TapeStyle) -> list[BenchCheck]:
    """Two 90s in a row: back to back where both turn the same way, a Z where they turn opposite ways."""
    first, second = piece.bends[i], piece.bends[i + 1]
    turn = abs((degrees(second.roll_rad - first.roll_rad) + 180.0) % 360.0 - 180.0)
    apart = second.arc_start_mm - first.arc_end_mm + 2.0 * first.radius_mm
    both = (i, i + 1)
    if turn < 0.05:
        backs = format_length(apart + piece.outside_diameter_mm, tape)
        return [BenchCheck(f"Check {backs} back to back, and that both stubs are parallel.", both)]
    if turn > 179.95:
        legs = format_length(apart, tape)
        return [BenchCheck(f"Check that both legs are parallel, {legs} apart center to center.", both)]
    if abs(turn - 90.0) < 0.05:
        return [BenchCheck("Check that both legs are square to each other.", both)]
    return []
