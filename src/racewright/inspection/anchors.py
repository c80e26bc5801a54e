"""What holds the conduit fast where expansion fittings let it move: each part of a run at one place, and no more.

Notation (stations mm along the run, from end A)
    part     the conduit from one piston to the next, or from an end to the first: it moves as one
    straight between bends; one with an expansion fitting in it slides in its straps, one without moves less than the
             article's limit and is held by all of its own
    reach    of a fitting: from the place that holds the conduit fast on its one side to that on its other

What holds a part: the box at the run's end, or the straps of a straight in it that does not slide. Where it has
neither, one strap does, tight: beside a bend (a bend counts as securely mounted, 352.44, so something has to mount it),
at a free end or one that goes on as another run the strap nearest it, and between two fittings of one straight the one
nearest to where the two share its movement evenly. Every other strap of a straight that slides is a guide, on the
barrel's side as on the piston's: tight as well, it would hold its part at two places, and the conduit between them
could not move.

That the middle between two fittings is held, so that each takes its share: NEMA FB 2.40 5.1.3.2 (as quoted by others).
The rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import msgspec

from racewright.errors import Finding
from racewright.geometry.vector import even
from racewright.inspection.supports import Span, Wanted, bodies_of
from racewright.route.run_line import RunShape, arc_spans
from racewright.units.said import said


class Unheld(msgspec.Struct, frozen=True):
    """A part that nothing holds fast, and where it wants to be held."""

    from_mm: float
    to_mm: float
    near_mm: float


class Reach(msgspec.Struct, frozen=True):
    """An expansion fitting, and the places on both its sides that hold the conduit fast (or ought to)."""

    at_mm: float
    low_mm: float
    high_mm: float


class StrapHolds(msgspec.Struct, frozen=True):
    """Straps that only guide, those that alone hold their part fast, the parts that nothing holds, the expansion
    fittings with their reaches, in order along the run, and the straights that slide."""

    guides_mm: tuple[float, ...] = ()
    fast_mm: tuple[float, ...] = ()
    unheld: tuple[Unheld, ...] = ()
    reaches: tuple[Reach, ...] = ()
    slides: tuple[Span, ...] = ()


class _Held(msgspec.Struct, frozen=True):
    """A part, the ends of the bends in it, and the place of the strap that alone holds it (or ought to); None where it
    is held by what stays."""

    low: float
    high: float
    bends: tuple[float, ...]
    strap: float | None


def straights_of(shape: RunShape) -> tuple[Span, ...]:
    """The straights of a run, from where one bend ends to where the next begins."""
    edges = [0.0, *(at for arc in arc_spans(shape) for at in arc), shape.length_mm]
    return tuple(zip(edges[::2], edges[1::2], strict=True))


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
    pistons = _pistons(shape)
    if not pistons:
        return StrapHolds()
    slides = [s for s in straights_of(shape) if any(s[0] <= at <= s[1] for at in pistons)]
    loose = {s for s in stations_mm if any(a <= s <= b for a, b in slides)}
    places = {(want.low_mm, want.high_mm): want.at_mm for want in wanted_straps(shape)}
    fast: list[float] = []
    unheld: list[Unheld] = []
    parts = []
    for low, high in pairwise((0.0, *pistons, shape.length_mm)):
        straps = [s for s in stations_mm if low < s < high]
        bends = tuple(at for arc in arc_spans(shape) for at in arc if low < at < high)
        strap = None
        if not _stays(shape, low, high) and all(s in loose for s in straps):
            wanted = bends or (_open_end(shape, low, high, places),)
            strap = min(straps, key=lambda s: (even(min(abs(s - at) for at in wanted)), s), default=None)
            if strap is None:
                strap = wanted[0]
                unheld.append(Unheld(low, high, strap))
            else:
                fast.append(strap)
        parts.append(_Held(low, high, bends, strap))
    reaches = tuple(Reach(a.high, _anchor(a, before=True), _anchor(b, before=False)) for a, b in pairwise(parts))
    return StrapHolds(tuple(sorted(loose - set(fast))), tuple(fast), tuple(unheld), reaches, tuple(slides))


def _stays(shape: RunShape, low: float, high: float) -> bool:
    """Whether a part begins or ends in a box."""
    return (low <= 0.0 and _is_fast(shape.start)) or (high >= shape.length_mm and _is_fast(shape.end))


def _is_fast(end: str) -> bool:
    """A free end holds nothing, nor does one that goes on as another run."""
    return end not in ("free", "coupling")


def _open_end(shape: RunShape, low: float, high: float, places: dict[Span, float]) -> float:
    """Where a straight part that no box holds wants to be held."""
    if low <= 0.0:
        return 0.0
    return shape.length_mm if high >= shape.length_mm else places[low, high]


def _anchor(part: _Held, *, before: bool) -> float:
    """What holds the conduit for the fitting at the end of a part (`before` it) or at its beginning."""
    if not part.bends:
        return part.strap if part.strap is not None else part.low if before else part.high
    bend = part.bends[-1] if before else part.bends[0]
    if part.strap is None:
        return bend
    return max(bend, part.strap) if before else min(bend, part.strap)


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
        away = min((at - anchor for anchor in anchors), key=lambda by: even(abs(by)), default=0.0)
        moves = sorted((-away * shrinks, away * grows))
        out.append((low + moves[0], high + moves[1]))
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
