"""Where the run lies at the strap's height on the surface that carries it: only there a strap holds it.

Notation (mm)
    u, n    unit direction of a straight, and the normal of the surface that carries its leg
    foot    a point of that surface; the axis lies `strap_mm` off it where a strap holds the conduit
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf
from typing import NamedTuple

from racewright.geometry.vector import Vec, along, dot, norm, scale, sub

#: A strap takes up a difference in height of this much (mm; common practice, no source).
GIVE_MM = 0.5

Span = tuple[float, float]


class LegSurface(NamedTuple):
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
