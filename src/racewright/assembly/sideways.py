"""The last of the way of a piece that comes in sideways: held between what stands at its ends, it can only be moved
square to them, past its neighbors, the surfaces and what else stands around.

Notation (lengths mm)
    d    a direction in which the piece would leave its place again, straight
    w    the way in which an end goes into what it faces; d . w <= 0 where that stands
Each d that is tried leads off a surface, square to an end, or halfway between two such; the path is certified as every
straight way is (`way_in.path_margin`). A piece that is brought in with a twist of the hand is not looked at.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

from racewright.assembly.going_up import GoingUp, bars_of, shortened
from racewright.assembly.joints import Joint, Move
from racewright.budget import Budget
from racewright.fit.way_in import Solid, line_of, path_margin
from racewright.geometry.solids import Cylinder, HalfSpace, OutsideCorner
from racewright.geometry.vector import Frame, Vec, add, distance, dot, norm, scale, unit

#: What a piece has to be clear by before it can be turned and tilted as one likes, mm (our own choice).
OUT_MM = 150.0
#: A direction that leads into what an end faces by no more than this (cosine) is square to it.
_SQUARE = 1e-6


class Sideways(NamedTuple):
    """A piece (from 1) that has no straight way out of its place, and what it meets on the way that was tried first;
    `surface`: the run lies on that."""

    piece: int
    hits: str
    surface: bool


def held_sideways(
    pieces: Sequence[GoingUp],
    joints: Sequence[Joint],
    moves: Sequence[Move],
    solids: Sequence[Solid],
    budget: Budget,
) -> Iterator[Sideways]:
    """The pieces that come sideways into their places, and cannot by any straight way that was tried. Where the budget
    is spent, the rest of the pieces is not looked at."""
    standing: set[int] = set()
    for move in moves:
        k = move.piece - 1
        if move.act in ("slide back", "close", "through"):
            continue
        piece = pieces[k]
        made = [side for side, joint in enumerate(piece.joints) if joint is not None and joint + 1 in move.joints]
        faced = [side for side in (0, 1) if side in made or _stands(k, side, piece, joints, standing)]
        # with a free end it is drawn back along the way of the other one
        if len(faced) == 2 and len(made) < 2:
            if budget.spent:
                return
            hits = _blocked(pieces, k, made, move.by_mm, standing, solids, budget)
            if hits:
                yield Sideways(move.piece, hits, any(s.surface and s.name == hits for s in solids))
        standing.add(k)


def _stands(k: int, side: int, piece: GoingUp, joints: Sequence[Joint], standing: set[int]) -> bool:
    """Whether anything stands at the joint of that end: a piece that is up, or the run's own end."""
    joint = piece.joints[side]
    if joint is None:
        return False
    beside = joints[joint].after if side else joints[joint].before
    return beside is None or beside - 1 in standing


def _blocked(
    pieces: Sequence[GoingUp],
    k: int,
    made: Sequence[int],
    depth_mm: float,
    standing: set[int],
    solids: Sequence[Solid],
    budget: Budget,
) -> str:
    """What stops a piece on the first of the ways that were tried, where all are stopped; '' where one is clear, and
    where the budget is spent before all were tried."""
    piece = pieces[k]
    part = piece.part
    # held back by the depth of the joint that it will be pushed or turned into
    back = scale(piece.ways[made[0]], -depth_mm) if made else (0.0, 0.0, 0.0)
    start = part.frame._replace(origin=add(part.frame.origin, back))
    others = [
        bar
        for i in sorted(standing)
        for bar in _facing(bars_of(pieces[i].part, i + 1), i - k, piece)
        if _near(bar, start, piece)
    ]
    first = ""
    for way in _ways(piece, start, solids):
        if budget.spent:
            return ""
        into = scale(way, -1.0)
        margins = ((s.name, path_margin(part.piece, start, into, OUT_MM, s, budget)) for s in (*solids, *others))
        hits = next((name for name, margin in margins if margin.stops), "")
        if not hits:
            return ""
        first = first or hits
    return first or "what its ends face"


def _facing(bars: Sequence[Solid], away: int, piece: GoingUp) -> Sequence[Solid]:
    """The bars of a piece that stands; of one that faces an end, less a bit at that end."""
    for side, beside in ((1, -1), (0, 1)):
        if away == beside:
            return shortened(bars, away, side, piece.part)
    return bars


def _near(bar: Solid, start: Frame, piece: GoingUp) -> bool:
    """Whether a bar may be met on the way: by their middles and lengths alone."""
    assert isinstance(bar.solid, Cylinder)
    middle = scale(add(bar.solid.start, bar.solid.end), 0.5)
    reach = piece.part.piece.cut_length_mm + OUT_MM + distance(bar.solid.start, bar.solid.end)
    return distance(middle, start.origin) < reach + bar.solid.radius_mm


def _ways(piece: GoingUp, start: Frame, solids: Sequence[Solid]) -> Iterator[Vec]:
    """Straight ways out that lead into nothing that the ends face: off the surfaces first."""
    walls: list[Vec] = []
    for thing in solids:
        faces = [thing.solid] if isinstance(thing.solid, HalfSpace) else []
        faces = list(thing.solid.faces) if isinstance(thing.solid, OutsideCorner) else faces
        walls += [face.normal for face in faces]
    ends = (start, line_of(piece.part.piece, start).end_frame)
    square = [scale(v, sign) for at in ends for v in (at.normal, at.binormal) for sign in (1.0, -1.0)]
    single = [*walls, *square]
    double = [add(a, b) for a, b in combinations(single, 2)]
    told: list[Vec] = []
    for rough in (*single, *double):
        if norm(rough) < 0.1:
            continue
        way = unit(rough)
        if any(dot(way, w) > _SQUARE for w in piece.ways) or any(dot(way, t) > 1.0 - 1e-9 for t in told):
            continue
        told.append(way)
        yield way
