"""Which straps of a run with expansion fittings hold the conduit fast, and which only guide it.

The conduit slides at the piston's side of an expansion fitting, so the straps there must not grip it, as far as the
next fixed point: the end of the straight, or, where another fitting stands on the same straight, one strap between the
two that grips. Without it nothing says which of the two takes the movement (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from racewright.assembly.joints import Joint
from racewright.errors import Finding
from racewright.geometry.vector import even
from racewright.units.said import said


class StrapHolds(NamedTuple):
    """Places along the run (mm): straps that only guide, straps that hold it fast between two expansion fittings, and
    the pairs of fittings between which no strap stands."""

    guides_mm: tuple[float, ...]
    fast_mm: tuple[float, ...]
    none_between: tuple[tuple[float, float], ...]


def strap_holds(
    joints: Sequence[Joint], arcs: Sequence[tuple[float, float]], length_mm: float, stations_mm: Sequence[float]
) -> StrapHolds:
    """How each strap holds. `arcs`: where the run's bends begin and end; `stations_mm`: where its straps stand."""
    guides: set[float] = set()
    fast: list[float] = []
    none: list[tuple[float, float]] = []
    edges = [0.0, *(at for arc in arcs for at in arc), length_mm]
    for low, high in zip(edges[::2], edges[1::2], strict=True):
        there = [j for j in joints if j.piston is not None and low <= j.at_mm <= high]
        if not there:
            continue
        stops = [low, *_between(there, stations_mm, fast, none), high]
        for joint, (before, after) in zip(there, pairwise(stops), strict=True):
            assert joint.piston is not None
            near, far = (joint.at_mm, after) if joint.piston.barrel == "A" else (before, joint.at_mm)
            guides |= {s for s in stations_mm if near < s < far}
    return StrapHolds(tuple(sorted(guides - set(fast))), tuple(fast), tuple(none))


def _between(
    there: Sequence[Joint], stations_mm: Sequence[float], fast: list[float], none: list[tuple[float, float]]
) -> Iterator[float]:
    """The fixed points between the fittings of one straight: the strap nearest to the middle of the two."""
    for a, b in pairwise(there):
        middle = 0.5 * (a.at_mm + b.at_mm)
        between = [s for s in stations_mm if a.at_mm < s < b.at_mm]
        if between:
            fast.append(min(between, key=lambda s: (even(abs(s - middle)), s)))
        else:
            none.append((a.at_mm, b.at_mm))
        yield fast[-1] if between else middle


def anchor_findings(holds: StrapHolds) -> Iterator[Finding]:
    """Expansion fittings between which nothing holds the conduit fast."""
    for a, b in holds.none_between:
        yield Finding(
            rule="assembly.anchor",
            severity="caution",
            message=f"Between the expansion fittings at {said(a)} and {said(b)} no strap stands: hold the conduit fast"
            f" near {said(0.5 * (a + b))}, so that each takes its own half of the movement.",
            citation="common practice, no source",
        )
