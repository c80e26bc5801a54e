"""Which slip of the hand explains what is off on a finished piece.

Notation
    m     what was measured less what the planned piece shows, check by check (mm or rad)
    s     a slip: one mark, angle or the cut off by x, the plane of one bend or of several that follow each other, or
          all angles or all marks alike
    d(x)  what the piece with the slip shows less what the planned one shows
    w     one over what a check may be off: misfits are weighed by it
Slips are sought one after the other: those whose d(x) takes most of the weighed misfit, while it takes at least a
part `_EXPLAINS` of what is left. Of those that take equally much the nearest to zero is told, with the others; a length
or an angle much larger than another that explains as much is not. What is read without its sign has the one that the
slip would give it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import copysign, radians
from typing import Literal, NamedTuple

from msgspec.structs import replace

from racewright.bends.model import BentPiece
from racewright.fit.grading import GradedCheck
from racewright.fit.jacobian import walk
from racewright.geometry.vector import even
from racewright.sequence.words import mark_names
from racewright.tools.benders import HookEnd

SlipKind = Literal["mark", "angle", "twist", "cut", "angles", "marks"]
#: A slip that takes less than this part of the misfit is not told (our own choice).
_EXPLAINS = 0.5
_MOST_SLIPS = 3
#: Slips whose weighed misfits differ by less explain alike: half of what a check may be off, squared (our own choice).
_ALIKE = 0.25
#: Of lengths, or of angles, that explain alike one so many times the smallest is not told (our own choice).
_FAR_FETCHED = 4.0
#: Of more that cannot be told apart the planes are named as one.
_MOST_NAMED = 3
#: How far a slip is tried for its slope.
_TRY_MM, _TRY_RAD = 1.0, radians(0.5)
#: A slip that makes less of the weighed misfit when tried makes none of it: a float's last bits.
_NOTHING = 1e-12
#: What a tape and a level tell apart.
_READ_MM, _READ_RAD = 25.4 / 16.0, radians(0.5)


class Slip(NamedTuple):
    """One slip of the hand and how far it went (mm or rad); `marks`: at which, none: at none alone. `by_check`: what it
    makes each check be off."""

    kind: SlipKind
    marks: tuple[int, ...]
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
    are sighted."""
    walked = walk(piece)
    wanted = [check.shows(piece, walked) for check in checks]
    return _one_by_one(_Tried(piece, checks, wanted, may_be_off, hooks, first), list(off))


#: A kind of slip and its marks.
_Kind = tuple[SlipKind, tuple[int, ...]]


class _Tried(NamedTuple):
    """What slips are tried on: the piece, what is checked and wanted, and how far it may be off."""

    piece: BentPiece
    checks: Sequence[GradedCheck]
    wanted: Sequence[float]
    may_be_off: Sequence[float]
    hooks: Sequence[HookEnd]
    first: int

    def makes(self, slip: _Kind, by: float) -> list[float]:
        """What a slip makes each check be off."""
        now = _with(self.piece, slip, by, self.hooks)
        walked = walk(now)
        return [check.shows(now, walked) - value for check, value in zip(self.checks, self.wanted, strict=True)]

    def weighed(self, a: Sequence[float], b: Sequence[float]) -> float:
        """The weighed product."""
        return sum(x * y / limit**2 for x, y, limit in zip(a, b, self.may_be_off, strict=True))


class _Fitted(NamedTuple):
    """What a slip leaves of the weighed misfit at best, that slip, and what is off with the signs that go with it."""

    rest: float
    slip: Slip
    off: list[float]


def _one_by_one(tried: _Tried, off: list[float]) -> tuple[tuple[Slip, ...], ...]:
    left, found = off, list[tuple[Slip, ...]]()
    unsigned = {k for k, check in enumerate(tried.checks) if check.either}
    while len(found) < _MOST_SLIPS and any(
        abs(value) > limit for value, limit in zip(left, tried.may_be_off, strict=True)
    ):
        misfit = tried.weighed(left, left)
        fitted = [_fitted(tried, slip, left, unsigned) for slip in _possible(tried.piece, tried.first)]
        least = min(one.rest for one in fitted)
        if least > (1.0 - _EXPLAINS) * misfit:
            break
        near = _near([one for one in fitted if one.rest <= least + _ALIKE])
        near.sort(key=lambda one: even(one.slip.size))
        found.append(tuple(one.slip for one in near))
        made = near[0].slip.by_check
        unsigned -= {k for k in unsigned if abs(made[k]) > tried.may_be_off[k] / 2.0}
        left = [value - one for value, one in zip(near[0].off, made, strict=True)]
    return tuple(found)


def _near(alike: list[_Fitted]) -> list[_Fitted]:
    """Without lengths and angles that are far-fetched beside others. A plane is told however far it is out."""
    small = {
        turned: min((one.slip.size for one in alike if one.slip.turned == turned), default=0.0)
        for turned in (False, True)
    }
    return [one for one in alike if one.slip.kind == "twist" or one.slip.size <= _FAR_FETCHED * small[one.slip.turned]]


def _possible(piece: BentPiece, first: int) -> Iterator[_Kind]:
    """Shared slips come first: of equal ones the one that explains more pieces is told."""
    count = len(piece.bends)
    if count > 1:
        yield "angles", ()
        yield "marks", ()
    for number in range(1, count + 1):
        yield "angle", (number,)
        yield "mark", (number,)
        if number != first:
            yield "twist", (number,)
    for marks in _turned_together(piece):
        yield "twist", marks
    yield "cut", ()


def _turned_together(piece: BentPiece) -> Iterator[tuple[int, ...]]:
    """The marks whose planes go wrong as one: of a whole shape, or from one on to end B."""
    count = len(piece.bends)
    starts = [k for k in range(1, count) if not _same_shape(piece, k)]
    for a, b in pairwise([0, *starts, count]):
        if 1 < b - a < count and b < count:
            yield tuple(range(a + 1, b + 1))
    for k in range(1, count - 1):
        yield tuple(range(k + 1, count + 1))


def _same_shape(piece: BentPiece, k: int) -> bool:
    return bool(piece.bends[k].shape) and piece.bends[k].shape == piece.bends[k - 1].shape


def _fitted(tried: _Tried, slip: _Kind, left: Sequence[float], unsigned: set[int]) -> _Fitted:
    """A slip at its best, to whichever side fits better where something is read without its sign."""
    ways = (1.0, -1.0) if any(left[k] for k in unsigned) else (1.0,)
    return min((_fitted_to(tried, slip, left, unsigned, way) for way in ways), key=lambda one: even(one.rest))


def _fitted_to(tried: _Tried, slip: _Kind, left: Sequence[float], unsigned: set[int], way: float) -> _Fitted:
    """Least squares on the slip's slope, and again about where that leads. `way`: to which side it starts."""
    step = _TRY_RAD if slip[0] in ("angle", "angles", "twist") else _TRY_MM
    by, off = 0.0, list(left)
    made = tried.makes(slip, by)
    for _ in range(2):
        slope = [(there - value) / step for there, value in zip(tried.makes(slip, by + step), made, strict=True)]
        size = tried.weighed(slope, slope)
        if size * step**2 <= _NOTHING:
            break
        for k in unsigned:
            off[k] = copysign(left[k], made[k] if by else slope[k] * way)
        by += tried.weighed(slope, [value - one for value, one in zip(off, made, strict=True)]) / size
        made = tried.makes(slip, by)
    for k in unsigned:
        off[k] = copysign(left[k], made[k])
    rest = [value - one for value, one in zip(off, made, strict=True)]
    return _Fitted(tried.weighed(rest, rest), Slip(*slip, by, tuple(made)), off)


def _with(piece: BentPiece, slip: _Kind, by: float, hooks: Sequence[HookEnd]) -> BentPiece:
    """The piece with a slip: a bend whose angle is off keeps the tangent point at its hook."""
    kind, marks = slip
    if kind == "cut":
        return replace(piece, cut_length_mm=piece.cut_length_mm + by)
    bends = list(piece.bends)
    for k, bend in enumerate(bends):
        if marks and k + 1 not in marks:
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
    mark = mark_names(slip.marks) if slip.marks else ""
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


def alike_words(said: Sequence[tuple[Slip, str]]) -> str:
    """Slips that cannot be told from each other, each with its words. Planes are named singly up to `_MOST_NAMED`
    slips."""
    planes = [slip for slip, _ in said if slip.kind == "twist"]
    words = [text for _, text in said]
    if len(said) > _MOST_NAMED and len(planes) > 1:
        marks = sorted({number for slip in planes for number in slip.marks})
        words = [text for slip, text in said if slip.kind != "twist"]
        words.append(f"the plane of one bend, or of several alike, is out (at one of {mark_names(marks)})")
    return ", or ".join(words) + (" (these cannot be told apart)" if len(words) > 1 else "")
