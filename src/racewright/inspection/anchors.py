"""What holds the conduit fast where expansion fittings let it move: each part of a run at one place, and no more.

Notation (stations mm along the run, from end A)
    part     the conduit from one piston to the next, or from an end to the first: it moves as one
    straight between bends; one with an expansion fitting in it slides in its straps, one without moves less than the
             article's limit and is held by all of its own
    reach    of a fitting: from what holds the conduit fast on its one side to what does on its other, both as places on
             the line of its own straight

What holds a part: the box at the run's end, or the straps of a straight in it that does not slide. Where it has
neither, one strap does, tight: on one side of its bends (a bend counts as securely mounted, 352.44, so something has to
mount it) the strap that leaves the least to the one of the two fittings that takes more, of equals the nearest to a
bend; at a free end or one that goes on as another run the strap nearest it, and between two fittings of one straight
the one nearest to where the two share its movement evenly. Every other strap of a straight that slides is a guide, on
the barrel's side as on the piston's: tight as well, it would hold its part at two places, and the conduit between them
could not move.

Beyond a bend: a body that warms grows by the same part of its size every way, so from what holds it a piston is pushed
by what the line of its own straight shows of the way to there. A saddle, an offset or a slight turn so pushes along
with all that lies in it up to what holds it. An elbow does not: what grows behind it springs it sideways, and it holds.

That the middle between two fittings is held, so that each takes its share: NEMA FB 2.40 5.1.3.2 (as quoted by others).
The rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import cos, pi

import msgspec

from racewright.errors import Finding
from racewright.geometry.chain import Centreline, Line
from racewright.geometry.vector import dot, even, sub
from racewright.inspection.supports import Span, Wanted, bodies_of
from racewright.route.run_line import RunShape, arc_spans, straights_of
from racewright.units.said import said

#: Conduit that runs off by more than this from the straight of a fitting does not push along it: an elbow (own choice;
#: 45 degrees, to rounding).
_ELBOW_COS = cos(pi / 4.0) - 1e-9


class Unheld(msgspec.Struct, frozen=True):
    """A part that nothing holds fast, and where it wants to be held."""

    from_mm: float
    to_mm: float
    near_mm: float


class Alone(msgspec.Struct, frozen=True):
    """A strap that alone holds its part fast, and from where to where that reaches."""

    at_mm: float
    from_mm: float
    to_mm: float


class Reach(msgspec.Struct, frozen=True):
    """An expansion fitting, and on the line of its straight the places on both its sides that hold the conduit fast (or
    ought to). `held_mm`: where these stand along the run."""

    at_mm: float
    low_mm: float
    high_mm: float
    held_mm: Span


class StrapHolds(msgspec.Struct, frozen=True):
    """Straps that only guide, those that alone hold their part fast, the parts that nothing holds, the expansion
    fittings with their reaches, in order along the run, and the straights that slide."""

    guides_mm: tuple[float, ...] = ()
    alone: tuple[Alone, ...] = ()
    unheld: tuple[Unheld, ...] = ()
    reaches: tuple[Reach, ...] = ()
    slides: tuple[Span, ...] = ()

    @property
    def fast_mm(self) -> tuple[float, ...]:
        """Where the straps stand that alone hold their part."""
        return tuple(one.at_mm for one in self.alone)


class _Run:
    """A run with expansion fittings: its straights, and what of the way to a place the line of a fitting shows."""

    def __init__(self, shape: RunShape) -> None:
        self.shape, self.straights, self.pistons = shape, straights_of(shape), _pistons(shape)
        self.line = Centreline.from_turns(shape.length_mm, shape.turns, shape.frame)

    def straight(self, at: float) -> Span:
        """The straight that a place lies on."""
        return next(s for s in self.straights if s[0] <= at <= s[1])

    def share(self, piston: float) -> float:
        """The length that a fitting takes where all of its straight take the same."""
        low, high = self.straight(piston)
        return (high - low) / sum(low <= at <= high for at in self.pistons)

    def seen(self, piston: float, hold: float) -> tuple[float, float]:
        """Where a hold lies on the line of a fitting's straight, and where along the run it stands; of one behind an
        elbow the elbow's near end."""
        axis, stand = self.line.tangent_at(piston), hold
        lines = [one for one in self.line.segments if isinstance(one, Line) and dot(one.frame.axis, axis) < _ELBOW_COS]
        if hold > piston:
            off = [one.start_s for one in lines if piston < one.start_s <= hold]
            if off:
                stand = max(arc[0] for arc in arc_spans(self.shape) if arc[0] < min(off))
        else:
            off = [one.end_s for one in lines if hold <= one.end_s < piston]
            if off:
                stand = min(arc[1] for arc in arc_spans(self.shape) if arc[1] > max(off))
        way = sub(self.line.point_at(stand), self.line.point_at(piston))
        return piston + dot(way, axis), stand

    def load(self, low: float, high: float, hold: float) -> float:
        """The most that one of the fittings at a part's two ends takes with a hold beside the part's bends, in mm of
        conduit; at least what they were counted for."""
        loads = [0.0]
        if low > 0.0:
            loads.append(self.share(low) + max(0.0, self.seen(low, hold)[0] - self.straight(low)[1]))
        if high < self.shape.length_mm:
            loads.append(self.share(high) + max(0.0, self.straight(high)[0] - self.seen(high, hold)[0]))
        return max(loads)


def _pistons(shape: RunShape) -> tuple[float, ...]:
    return tuple(sorted(c.at_mm for c in shape.couplings if c.expands))


def wanted_straps(shape: RunShape) -> tuple[Wanted, ...]:
    """Between two expansion fittings of one straight, where a strap that holds the conduit lets all the straight's
    fittings take the same."""
    out = []
    for low, high in straights_of(shape):
        there = [at for at in _pistons(shape) if low <= at <= high]
        for k, (a, b) in enumerate(pairwise(there), start=1):
            even_share = low + k * (high - low) / len(there)
            out.append(Wanted(min(max(even_share, a), b), a, b))
    return tuple(out)


def strap_holds(shape: RunShape, stations_mm: Sequence[float]) -> StrapHolds:
    """How each strap of a run with expansion fittings holds. `stations_mm`: where its straps stand."""
    run = _Run(shape)
    if not run.pistons:
        return StrapHolds()
    slides = [s for s in run.straights if any(s[0] <= at <= s[1] for at in run.pistons)]
    loose = {s for s in stations_mm if any(a <= s <= b for a, b in slides)}
    places = {(want.low_mm, want.high_mm): want.at_mm for want in wanted_straps(shape)}
    alone: list[Alone] = []
    unheld: list[Unheld] = []
    parts: list[list[float]] = []
    for low, high in pairwise((0.0, *run.pistons, shape.length_mm)):
        straps = [s for s in stations_mm if low < s < high]
        stays = [*_boxes(shape, low, high), *(s for s in straps if s not in loose)]
        if not stays:
            strap = _one_that_holds(run, (low, high), straps, places)
            if straps:
                alone.append(Alone(strap, low, high))
            else:
                unheld.append(Unheld(low, high, strap))
            stays = [strap]
        parts.append(stays)
    reaches = []
    for at, (before, after) in zip(run.pistons, pairwise(parts), strict=True):
        (low, stands), (high, ends) = run.seen(at, max(before)), run.seen(at, min(after))
        reaches.append(Reach(at, low, high, (stands, ends)))
    guides = tuple(sorted(loose - {one.at_mm for one in alone}))
    return StrapHolds(guides, tuple(alone), tuple(unheld), tuple(reaches), tuple(slides))


def _one_that_holds(run: _Run, part: Span, straps: Sequence[float], places: dict[Span, float]) -> float:
    """The strap that is to hold a part which nothing else does; of one without straps, where it wants to be held."""
    low, high = part
    bends = [at for arc in arc_spans(run.shape) for at in arc if low < at < high]
    if not bends:
        wanted = _open_end(run.shape, low, high, places)
        return min(straps, key=lambda s: (even(abs(s - wanted)), s), default=wanted)
    # straps between bends would hold a straight that does not slide: these stand before the first or after the last
    beside = [*[s for s in straps if s < bends[0]][-1:], *[s for s in straps if s > bends[-1]][:1]]
    among = beside or [bends[0], bends[-1]]
    return min(among, key=lambda s: (even(run.load(low, high, s)), even(min(abs(s - at) for at in bends)), s))


def _boxes(shape: RunShape, low: float, high: float) -> list[float]:
    """The boxes in which a part begins or ends."""
    at_a = [0.0] if low <= 0.0 and _is_fast(shape.start) else []
    return at_a + ([shape.length_mm] if high >= shape.length_mm and _is_fast(shape.end) else [])


def _is_fast(end: str) -> bool:
    """A free end holds nothing, nor does one that goes on as another run."""
    return end not in ("free", "coupling")


def _open_end(shape: RunShape, low: float, high: float, places: dict[Span, float]) -> float:
    """Where a straight part that no box holds wants to be held."""
    if low <= 0.0:
        return 0.0
    return shape.length_mm if high >= shape.length_mm else places[low, high]


def swept_spans(shape: RunShape, reaches: Sequence[Reach], grows: float, shrinks: float) -> tuple[Span, ...]:
    """Where the body of each coupling of the run comes over the year, in the order of its couplings. `grows`,
    `shrinks`: by what part of its length conduit grows and shrinks from the day on which it is put up."""
    straights = straights_of(shape)
    out = []
    for coupling, (low, high) in zip(shape.couplings, bodies_of(shape), strict=True):
        at = coupling.at_mm
        straight = next((s for s in straights if s[0] <= at <= s[1]), (at, at))
        there = [reach for reach in reaches if straight[0] <= reach.at_mm <= straight[1]]
        if coupling.expands:
            # its two ends go apart as the conduit on both sides shrinks, each toward what holds its own side
            own = [reach for reach in there if reach.at_mm == at]
            out.append(
                (low - sum(at - r.low_mm for r in own) * shrinks, high + sum(r.high_mm - at for r in own) * shrinks)
            )
            continue
        anchors = [r.high_mm for r in there if r.at_mm < at][-1:] + [r.low_mm for r in there if r.at_mm > at][:1]
        anchor = min(anchors, key=lambda place: even(abs(at - place)), default=at)
        days = [face + (face - anchor) * by for face in (low, high) for by in (grows, -shrinks)]
        out.append((min(low, *days), max(high, *days)) if anchors else (low, high))
    return tuple(out)


def anchor_findings(holds: StrapHolds) -> Iterator[Finding]:
    """Parts that nothing holds fast."""
    for part in holds.unheld:
        at_end = part.near_mm in (part.from_mm, part.to_mm)
        yield Finding(
            rule="run.anchor",
            severity="caution",
            message=f"Nothing holds the conduit fast from {said(part.from_mm)} to {said(part.to_mm)}: hold it tight"
            f" near {'the end' if at_end else said(part.near_mm)}, so that each expansion fitting takes its own share;"
            " whatever else carries it is to guide.",
            citation="common practice, no source",
        )
