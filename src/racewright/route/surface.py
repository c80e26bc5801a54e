"""The run over the surface that carries it: where a strap holds it, and what a box offset has to take out.

Notation (mm): heights are of the axis above the surface that carries the leg
    u, n    unit direction of a straight, and the normal of the surface that carries its leg
    foot    a point of that surface; the axis lies `strap_mm` off it where a strap holds the conduit
A box offset with a rise of its own is left alone. Without one it takes out the difference at one end of the run:
    at end A    start.height -> the strap's height (whatever offset stands before or after it on the leg)
    at end B    the height where the run lies there -> end.height
The last box offset of the last leg meets end B where `end.height` is given, the first one of the first leg end A where
`start.height` is; so a lone one between two given heights takes the run from the one knockout to the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf
from typing import Literal

import msgspec

from racewright.errors import InputError
from racewright.geometry.vector import Vec, along, dot, norm, scale, sub
from racewright.survey.model import Leg, Offset, Survey

#: A strap takes up a difference in height of this much (mm; common practice, no source).
GIVE_MM = 0.5

Span = tuple[float, float]


class LegSurface(msgspec.Struct, frozen=True):
    """The surface that carries a leg, and which point of the path the leg begins at. `outside`: the leg before it came
    round an outside corner, so that each of the two surfaces ends at their edge."""

    first_point: int
    foot: Vec
    normal: Vec
    outside: bool


def lying_spans(points: Sequence[Vec], legs: Sequence[LegSurface], strap_mm: float) -> tuple[Span | None, ...]:
    """For each straight between two points of the path: from where to where along it (mm from its first point) the run
    lies at the strap's height on its surface; None where it nowhere does."""
    out: list[Span | None] = []
    leg = 0
    for index, (p, q) in enumerate(pairwise(points)):
        while leg + 1 < len(legs) and legs[leg + 1].first_point <= index:
            leg += 1
        carrier = legs[leg]
        if any(abs(dot(sub(at, carrier.foot), carrier.normal) - strap_mm) > GIVE_MM for at in (p, q)):
            out.append(None)
            continue
        low, high = 0.0, norm(sub(q, p))
        if carrier.outside:
            low, high = _behind(p, q, carrier, legs[leg - 1], low, high)
        if leg + 1 < len(legs) and legs[leg + 1].outside:
            low, high = _behind(p, q, carrier, legs[leg + 1], low, high)
        out.append((low, high) if low < high else None)
    return tuple(out)


def _behind(p: Vec, q: Vec, carrier: LegSurface, other: LegSurface, low: float, high: float) -> Span:
    """What of [low, high] along p to q has the carrier's surface under it, where the other surface cuts it off."""
    length = norm(sub(q, p))
    u = scale(sub(q, p), 1.0 / length) if length else (0.0, 0.0, 0.0)
    under = along(p, carrier.normal, -dot(sub(p, carrier.foot), carrier.normal))
    past, rate = dot(sub(under, other.foot), other.normal), dot(u, other.normal)
    if abs(rate) < 1e-12:
        return (low, high) if past <= 0.0 else (inf, -inf)
    cut = -past / rate
    return (low, min(high, cut)) if rate > 0.0 else (max(low, cut), high)


#: A straight conduit is sprung into a knockout that it misses by up to this (mm; 3/4 in, common practice, no source).
SPRUNG_MM = 19.05


def box_offset_ends(survey: Survey) -> dict[str, Literal["start", "end"]]:
    """The end of the run that each box offset without a rise meets, by the offset's field."""
    ends: dict[str, Literal["start", "end"]] = {}
    first, last = _box_offsets(survey.legs[0]), _box_offsets(survey.legs[-1])
    if survey.start.height_mm is not None and first:
        ends[first[0].field] = "start"
    if survey.end.height_mm is not None and last:
        ends[last[-1].field] = "end"
    return ends


def box_rise_mm(
    offset: Offset, survey: Survey, ends: dict[str, Literal["start", "end"]], *, height_mm: float, strap_mm: float
) -> float:
    """How far a box offset without a rise moves the run off the surface (signed).

    `height_mm`: where the run lies before it, `strap_mm`: the strap's height. Raises InputError where no knockout's
    height is known for it, or where there is nothing to take out.
    """
    which = ends.get(offset.field)
    if which is None:
        raise InputError.at(
            offset.field,
            "no knockout's height is given for this box offset, so its rise cannot be worked out.",
            hint="give start.height (first leg) or end.height (last leg), the knockout's middle above the surface;"
            " or write its rise; away from a box use an offset",
            expected="start.height, end.height or rise",
            example="rise: 3/8",
        )
    if which == "end":
        assert survey.end.height_mm is not None
        rise = survey.end.height_mm - height_mm
    else:
        assert survey.start.height_mm is not None
        rise = strap_mm - survey.start.height_mm
    if abs(rise) <= GIVE_MM:
        raise InputError.at(
            offset.field,
            f"the conduit already lies at the {'knockout' if which == 'end' else 'strap'}'s height,"
            " so there is nothing to offset.",
            hint="leave the box offset out, check start.height and end.height (the knockout's middle above the"
            " surface), or give a rise",
        )
    return rise


def _box_offsets(leg: Leg) -> list[Offset]:
    return [f for f in leg.features if isinstance(f, Offset) and f.box]
