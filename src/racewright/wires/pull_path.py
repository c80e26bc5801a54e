"""A run told in words, for a single question on pulling: 'straight 200, bend 90 r 24, straight 30 up'.

Words, separated by commas
    straight LENGTH [level | up | down | slope DEGREES]      a bare number is feet; level where nothing is said
    bend [of] DEGREES [r RADIUS]                             a bare radius is inches; the raceway's least radius else
                                                             beside lengths in meters every length wants its unit
    pull point                                               a place where wires can be pulled
A bend turns from the straight before it to the straight after it; between two level straights it is level.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from math import atan2, cos, degrees, hypot, pi, radians, sin, sqrt
from typing import NamedTuple

from racewright.catalogue.raceways import Raceway
from racewright.errors import InputError
from racewright.geometry.chain import Turn, any_normal
from racewright.geometry.vector import Frame, Vec, dot, scale, sub, unit
from racewright.route.run_line import RunShape, parts_of, slope_rad
from racewright.units.factors import MM_PER_FOOT
from racewright.units.length import is_metric, names_unit, parse_length
from racewright.units.tape import MM_PER_INCH

EXAMPLE = "straight 200, bend 90 r 24, straight 30 up"
_STRAIGHT = re.compile(r"^straight\s+(?P<length>.+?)(?:\s+(?P<way>level|up|down|slope\s+-?[\d.]+))?$")
_BEND = re.compile(
    r"^bend\s+(?:of\s+)?(?P<angle>\d+(?:\.\d+)?)\s*(?:deg|degrees|°)?(?:\s+r(?:adius)?\s+(?P<radius>.+))?$"
)
#: A run between two pull points has a handful (our own bound).
_MOST_PARTS = 200
_STEEPEST = radians(90.0)
#: A slope that is nearer than this to level or upright is said so.
_AS_SAID_DEG = 2e-5


class _Leg(NamedTuple):
    length_mm: float
    slope_rad: float


class _Bend(NamedTuple):
    angle_rad: float
    radius_mm: float
    text: str


def parse_path(text: str, raceway: Raceway) -> RunShape:
    """The run that the words tell, box to box. Raises InputError for words that are not understood or a bend that
    cannot join the straights on its two sides."""
    items, pulls = _items(text, raceway)
    legs: list[_Leg] = []
    bends: list[_Bend] = []
    points: list[tuple[int, int]] = []
    for at, item in enumerate(items):
        if at in pulls:
            points.append((len(legs), len(bends)))
        if isinstance(item, _Bend):
            if len(legs) == len(bends):
                legs.append(_Leg(0.0, 0.0))
            bends.append(item)
        else:
            if len(legs) > len(bends):
                legs.append(item)
                bends.append(_Bend(0.0, 1.0, ""))
            else:
                legs.append(item)
    if len(legs) == len(bends):
        legs.append(_Leg(0.0, 0.0))
    return _shape(legs, bends, points, raceway)


def path_words(shape: RunShape, *, metric: bool) -> str:
    """The run in the words that `parse_path` reads, to a thousandth of a foot and of an inch, or to a mm; a bend with
    'of', as 'bend 30' would name the thirtieth. Which way it turns is not said: the pull does not hang on it. Raises
    LimitError for a shape whose arcs overlap."""
    words: list[str] = []
    straight = False
    for part in parts_of(shape):
        if part.is_bend and not straight:
            words.append(_straight_words(0.0, part.axis, shape, metric=metric))
        if part.is_bend:
            radius = f"{_number(part.radius_mm, 1)} mm" if metric else _number(part.radius_mm / float(MM_PER_INCH), 3)
            words.append(f"bend of {_number(degrees(part.angle_rad), 6)} r {radius}")
            last = part.out_axis()
        else:
            words.append(_straight_words(part.length_mm, part.axis, shape, metric=metric))
        straight = not part.is_bend
    if words and not straight:
        words.append(_straight_words(0.0, last, shape, metric=metric))
    return ", ".join(words)


def length_words(length_mm: float, *, metric: bool) -> str:
    """How long a circuit is, in the unit that one is told in: '85.25 ft', '25.984 m'."""
    return f"{_number(length_mm / 1000.0, 3)} m" if metric else f"{_number(length_mm / MM_PER_FOOT, 3)} ft"


def _straight_words(length_mm: float, axis: Vec, shape: RunShape, *, metric: bool) -> str:
    length = length_words(length_mm, metric=metric).removesuffix(" ft")
    slope = degrees(slope_rad(axis, shape.down))
    if abs(slope) < _AS_SAID_DEG:
        return f"straight {length}"
    if abs(slope) > 90.0 - _AS_SAID_DEG:
        return f"straight {length} {'up' if slope > 0.0 else 'down'}"
    return f"straight {length} slope {_number(slope, 6)}"


def _number(value: float, places: int) -> str:
    """'24' for 24.000: plain, without zeros behind."""
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _items(text: str, raceway: Raceway) -> tuple[list[_Leg | _Bend], set[int]]:
    items: list[_Leg | _Bend] = []
    pulls: set[int] = set()
    parts = re.split(r"[,;]", text.lower())
    if len(parts) > _MOST_PARTS:
        raise _bad(f"path: has {len(parts)} parts; the most taken is {_MOST_PARTS}.")
    metric = is_metric(text)
    for number, raw in enumerate(parts, 1):
        word = " ".join(raw.split())
        if not word:
            continue
        if word in ("pull point", "pullpoint"):
            pulls.add(len(items))
            continue
        straight, bend = _STRAIGHT.match(word), _BEND.match(word)
        written = straight["length"] if straight else bend["radius"] if bend else None
        if metric and written and not names_unit(written):
            raise _bad(f"path: '{word}' has no unit, and other lengths are metric; write {'m' if straight else 'mm'}.")
        if straight:
            items.append(_Leg(_length(straight["length"], "'"), _slope(straight["way"] or "level", word)))
        elif bend:
            radius = bend["radius"]
            least = raceway.field_radius_mm or 0.0
            items.append(_Bend(radians(float(bend["angle"])), _length(radius, '"') if radius else least, word))
        else:
            raise _bad(f"path, part {number}: '{word}' is not understood.")
    if not items:
        raise _bad("path: nothing is written.")
    return items, pulls


def _shape(
    legs: Sequence[_Leg], bends: Sequence[_Bend], points: Sequence[tuple[int, int]], raceway: Raceway
) -> RunShape:
    axis = _axis(0.0, legs[0].slope_rad)
    frame = start = Frame(axis=axis, normal=any_normal(axis))
    heading = s = 0.0
    turns: list[Turn] = []
    ends: dict[tuple[int, int], float] = {(0, 0): 0.0}
    for i, leg in enumerate(legs):
        frame, s = frame.advanced(leg.length_mm), s + leg.length_mm
        ends[i + 1, i] = s
        if i == len(bends):
            break
        bend = bends[i]
        if not bend.text:
            if abs(legs[i + 1].slope_rad - leg.slope_rad) > 1e-9:
                raise _bad("path: two straights in a row at different slopes want a bend between them.")
            ends[i + 1, i + 1] = s
            continue
        heading += _heading_change(leg.slope_rad, legs[i + 1].slope_rad, bend)
        out = _axis(heading, legs[i + 1].slope_rad)
        toward = unit(sub(out, scale(frame.axis, dot(frame.axis, out))))
        roll = atan2(dot(toward, frame.binormal), dot(toward, frame.normal))
        turns.append(Turn(s, bend.angle_rad, roll, bend.radius_mm))
        frame = frame.bent(bend.radius_mm, bend.angle_rad, roll)
        s += bend.radius_mm * bend.angle_rad
        ends[i + 1, i + 1] = s
    if s <= 0.0:
        raise _bad("path: the run has no length.")
    return RunShape(
        raceway=raceway,
        length_mm=s,
        turns=tuple(turns),
        frame=start,
        pull_points_mm=tuple(ends.get(point, 0.0) for point in points),
    )


def _heading_change(slope_in: float, slope_out: float, bend: _Bend) -> float:
    """How far the bend turns in plan, from cos A = sin a sin b + cos a cos b cos(change)."""
    if not 0.0 < bend.angle_rad < pi:
        raise _bad(f"path: '{bend.text}' wants an angle above 0 and below 180 degrees.")
    if bend.radius_mm <= 0.0:
        raise _bad(f"path: '{bend.text}' wants a radius above zero.")
    level = cos(slope_in) * cos(slope_out)
    least = abs(slope_in - slope_out)
    if abs(bend.angle_rad - least) < 1e-6:
        return 0.0
    wanted = (cos(bend.angle_rad) - sin(slope_in) * sin(slope_out)) / level if level > 1e-9 else 2.0
    if not -1.0 - 1e-9 <= wanted <= 1.0 + 1e-9:
        raise InputError(
            f"path: '{bend.text}' cannot turn a straight at {degrees(slope_in):.3g} degrees of slope into one at "
            f"{degrees(slope_out):.3g}.",
            hint=f"give the bend {degrees(least):.3g} degrees or more, or say the slopes: straight 30 up.",
            field="path",
            example=EXAMPLE,
        )
    wanted = max(-1.0, min(1.0, wanted))
    return atan2(sqrt(1.0 - wanted * wanted), wanted)


def _axis(heading: float, slope: float) -> Vec:
    u = (cos(heading) * cos(slope), sin(heading) * cos(slope), sin(slope))
    size = hypot(*u)
    return (u[0] / size, u[1] / size, u[2] / size)


def _slope(way: str, word: str) -> float:
    if way in ("level", "up", "down"):
        return {"level": 0.0, "up": _STEEPEST, "down": -_STEEPEST}[way]
    try:
        slope = radians(float(way.split()[1]))
    except ValueError:
        raise _bad(f"path: '{word}' has no slope in degrees.") from None
    if abs(slope) > _STEEPEST:
        raise _bad(f"path: '{word}' is steeper than upright (90 degrees).")
    return slope


def _length(text: str, bare_unit: str) -> float:
    bare = re.fullmatch(r"[\d.]+", text.strip()) is not None
    length: Fraction = parse_length(text + bare_unit if bare else text, field="path", allow_zero=True)
    return float(length)


def _bad(message: str) -> InputError:
    return InputError(message, hint=f"write it like this: {EXAMPLE}", field="path", example=EXAMPLE)
