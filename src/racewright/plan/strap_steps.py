"""The straps of a piece as it goes up, and those that stand where a slip coupling has to slide back."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

import msgspec

from racewright.assembly.joints import Joint, Move
from racewright.inspection.anchors import Alone, StrapHolds
from racewright.inspection.check_run import RunCheck
from racewright.inspection.supports import SupportSettings
from racewright.plan.model import PlannedPiece, Step
from racewright.survey.model import Survey
from racewright.units.tape import TapeStyle, format_length

#: What a place may miss by and still be the same (mm).
SAME_MM = 1e-6


class SlidBack(msgspec.Struct, frozen=True):
    """Where a slip coupling waits: the piece (from 1) and its end, and the straps there that are in its way (from end A
    of that piece, mm)."""

    piece: int
    end: str
    straps_mm: tuple[float, ...]


def slid_back(move: Move, joints: Sequence[Joint], pieces: Sequence[PlannedPiece], checks: RunCheck) -> SlidBack:
    """The piece that a slip coupling is slid onto by the move: one with enough straight and no strap there; of equals
    the one that stands. Where straps are in the way on both, the one that comes, whose straps are not set yet."""
    joint = joints[move.joints[0] - 1]
    gap = 0.0
    if joint.before is not None and joint.after is not None:
        gap = pieces[joint.after - 1].run_start_mm - pieces[joint.before - 1].run_end_mm
    # its whole length, and half a strap
    long = 2.0 * move.by_mm - gap
    near = long + SupportSettings().strap_half_width_mm
    found = []
    for number, end in ((joint.before, "B"), (joint.after, "A")):
        if number is None:
            continue
        piece = pieces[number - 1]
        from_end = [(s if end == "A" else piece.cut_length_mm - s, s) for s in strap_places_mm(piece, checks)]
        straps = tuple(s for away, s in from_end if away < near)
        coming = number == move.piece
        short = piece.piece.straights_mm()[0 if end == "A" else -1] < long
        found.append(((short, bool(straps), coming != bool(straps)), SlidBack(number, end, straps)))
    return min(found, key=lambda one: one[0])[1]


_SLIDES = "not tight; the conduit slides as it grows and shrinks."
_TIGHT = "tight."
#: Said once of the run (its article as makers and inspectors cite it).
_SUPPORTS = (
    "A guide is a support as well, beside a box too: PVC is fastened so that it can move (NFPA 70 352.30, from memory)."
)


def guides_words(piece: PlannedPiece, checks: RunCheck, joints: Sequence[Joint], tape: TapeStyle) -> str:
    """Which of a piece's straps only guide, and which alone holds its part of the run fast; '' where there is no
    expansion fitting to do so for."""
    places, sliding = strap_places_mm(piece, checks), piece.on_it_mm(checks.holds.guides_mm)
    words = ""
    if sliding:
        at = ", ".join(format_length(place, tape) for place in sliding)
        those = f"At {at}" if len(sliding) < len(places) else "All" if len(places) > 1 else "It"
        words = f" {those}: {_guides(len(sliding))}"
    for one in checks.holds.alone:
        for place in piece.on_it_mm((one.at_mm,)):
            words += f" At {format_length(place, tape)}: {_fast(one, joints)}"
    return words


def _fast(one: Alone, joints: Sequence[Joint]) -> str:
    """What a strap that alone holds its part does: the pieces that lie from one expansion fitting to the next."""
    between = [joint.at_mm for joint in joints if joint.before and joint.after]
    first = 1 + sum(at < one.from_mm + SAME_MM for at in between)
    last = 1 + sum(at < one.to_mm - SAME_MM for at in between)
    those = f"piece {first}" if first == last else f"pieces {first} {'and' if last == first + 1 else 'to'} {last}"
    return f"tight; it alone holds {those} fast."


def _guides(count: int) -> str:
    return f"{'guides' if count > 1 else 'a guide'}, {_SLIDES}"


def guides_lines(
    stations_mm: Sequence[float], holds: StrapHolds, joints: Sequence[Joint], tape: TapeStyle
) -> list[str]:
    """The same of the whole run, by rows of straps that stand one after another and hold alike; none where all hold as
    straps do anyway."""

    alone = {one.at_mm: one for one in holds.alone}

    def how(station: float) -> tuple[bool, float]:
        return station in holds.guides_mm, station if station in alone else -1.0

    lines = []
    for (guides, fast), stations in groupby(stations_mm, how):
        row = list(stations)
        at = f"s from {format_length(row[0], tape)} to" if len(row) > 1 else " at"
        said = _guides(len(row)) if guides else _fast(alone[fast], joints) if fast in alone else _TIGHT
        lines.append(f"Strap{at} {format_length(row[-1], tape)}: {said}")
    if holds.guides_mm:
        return [*lines, _SUPPORTS]
    return lines if holds.fast_mm else []


def strap_step(
    survey: Survey,
    piece: PlannedPiece,
    number: int,
    checks: RunCheck,
    joints: Sequence[Joint],
    *,
    several: bool,
    waiting: tuple[str, Sequence[float]] = ("", ()),
) -> Step:
    """Level and strap a piece. `waiting`: the coupling that some of its straps are in the way of, and those straps."""
    where = f" ({piece.label})" if several else ""
    places = strap_places_mm(piece, checks)
    if not places:
        return Step(
            kind="strap",
            piece=number,
            care=("height",),
            title=f"Level it{where}",
            detail=f"Level or plumb. No strap stands on this piece{_held(piece, checks, several=several)}",
        )
    at = ", ".join(format_length(s, survey.tape) for s in places)
    detail = f"Level or plumb; {survey.strap or 'straps'} at {at} along the conduit from end A."
    detail += guides_words(piece, checks, joints, survey.tape)
    coupling, straps = waiting
    if straps:
        those = ", ".join(format_length(s, survey.tape) for s in straps)
        detail += f" {'Those' if len(straps) > 1 else 'That'} at {those} after the {coupling} is back in its place."
    return Step(kind="strap", piece=number, care=("height", "drill"), title=f"Level and strap it{where}", detail=detail)


def _held(piece: PlannedPiece, checks: RunCheck, *, several: bool) -> str:
    """What holds a piece on which no strap stands."""
    short = () if checks.supports is None else checks.supports.shortfalls
    if any(s.from_mm < piece.run_end_mm and s.to_mm > piece.run_start_mm for s in short):
        return ", and none beside it is near enough: hold it as the checks below say of its supports."
    return ": those beside it hold it." if several else "."


def strap_places_mm(piece: PlannedPiece, checks: RunCheck) -> tuple[float, ...]:
    """Where straps stand on a piece, from its end A."""
    return () if checks.supports is None else piece.on_it_mm(checks.supports.stations_mm)
