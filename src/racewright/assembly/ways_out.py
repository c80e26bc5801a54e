"""What would let a run go up that cannot as it is: each is tried, and told only where the run then goes up.

An end that the survey calls fixed gives way; a piece is cut in two and joined by a union or a slip coupling in a
straight of it; an expansion fitting is set on a colder day. A cut is tried in the middle of a straight, the longest
first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import chain

from msgspec.structs import replace

from racewright.assembly.joints import Joint, WayOut, joint_how, stays
from racewright.assembly.part import Part
from racewright.assembly.threads import DIE_MM
from racewright.bends.model import Bend, BentPiece
from racewright.catalogue.fittings import Fitting
from racewright.fit.way_in import line_of
from racewright.geometry.vector import even
from racewright.sticks.model import HAND_MM
from racewright.survey.model import Survey

#: Straights that are tried for a cut (our own choice: each is an order to find).
MOST_CUTS = 6

#: Whether a survey's run of these parts and joints goes up.
GoesUp = Callable[[Survey, Sequence[Part], Sequence[Joint]], bool]


def ways_out(
    survey: Survey, parts: Sequence[Part], joints: Sequence[Joint], coupling: Fitting, goes_up: GoesUp
) -> Iterator[WayOut]:
    """What would do, each by itself, the least work first. `coupling`: the one whose place a new joint takes."""
    yield from _colder(survey, parts, joints, goes_up)
    yield from _ends(survey, parts, joints, goes_up)
    places = sorted(_straights(parts), key=lambda place: (-even(place[2]), place[0], place[1]))
    for k, at_mm, straight_mm in places[:MOST_CUTS]:
        threaded = coupling.kind == "threaded coupling"
        # the ends hold their thread and the die, or the coupling slides whole onto one of them; a hand wants room too
        if 0.5 * straight_mm < max(HAND_MM, coupling.insertion_mm + DIE_MM if threaded else coupling.length_mm):
            continue
        cut, joined = cut_in_two(parts, joints, k, at_mm, coupling)
        if goes_up(survey, cut, joined):
            kind = "union" if threaded else "slip coupling"
            yield WayOut(what="cut in two", piece=k + 1, kind=kind, at_mm=parts[k].start_mm + at_mm)
            return


def _colder(survey: Survey, parts: Sequence[Part], joints: Sequence[Joint], goes_up: GoesUp) -> Iterator[WayOut]:
    """A day on which every piston stands all the way out."""
    out = [j if j.piston is None else replace(j, piston=replace(j.piston, open_mm=j.piston.travel_mm)) for j in joints]
    if out != list(joints) and goes_up(survey, parts, out):
        yield WayOut(what="colder day")


def _ends(survey: Survey, parts: Sequence[Part], joints: Sequence[Joint], goes_up: GoesUp) -> Iterator[WayOut]:
    """An end that is fixed; both, where one is not enough."""
    fixed = [number for number, j in enumerate(joints, start=1) if stays(survey, j)]
    freed = [(number, goes_up(_freed(survey, [joints[number - 1]]), parts, joints)) for number in fixed]
    alone = [number for number, enough in freed if enough]
    for number in alone:
        yield WayOut(what="slide back", joints=(number,))
    if not alone and len(fixed) > 1 and goes_up(_freed(survey, [joints[n - 1] for n in fixed]), parts, joints):
        yield WayOut(what="slide back", joints=tuple(fixed))


def _freed(survey: Survey, joints: Sequence[Joint]) -> Survey:
    for joint in joints:
        if joint.run_end == "A":
            survey = replace(survey, start=replace(survey.start, fixed=False))
        else:
            survey = replace(survey, end=replace(survey.end, fixed=False))
    return survey


def _straights(parts: Sequence[Part]) -> Iterator[tuple[int, float, float]]:
    """Each straight of each piece (from 0): its middle from the piece's end A, and how long it is."""
    for k, part in enumerate(parts):
        ends = [0.0, *chain(*((b.arc_start_mm, b.arc_end_mm) for b in part.piece.bends)), part.piece.cut_length_mm]
        for low, high in zip(ends[::2], ends[1::2], strict=True):
            yield k, 0.5 * (low + high), high - low


def cut_in_two(
    parts: Sequence[Part], joints: Sequence[Joint], k: int, at_mm: float, coupling: Fitting
) -> tuple[list[Part], list[Joint]]:
    """The parts with the one of them (from 0) cut in two, `at_mm` from its end A, and all the joints then."""
    part = parts[k]
    half = 0.5 * coupling.gap_mm
    low, high = at_mm - half, at_mm + half
    before = [b for b in part.piece.bends if b.arc_end_mm <= at_mm]
    after = [replace(b, arc_start_mm=b.arc_start_mm - high) for b in part.piece.bends if b.arc_end_mm > at_mm]
    a = replace(
        part,
        piece=_as_long(part.piece, low, before),
        ends=(part.ends[0], coupling.kind),
        inserts_mm=(part.inserts_mm[0], coupling.insertion_mm),
    )
    b = replace(
        part,
        piece=_as_long(part.piece, part.piece.cut_length_mm - high, after),
        frame=line_of(part.piece, part.frame).frame_at(high),
        start_mm=part.start_mm + high,
        first_bend=part.first_bend + len(before),
        ends=(coupling.kind, part.ends[1]),
        inserts_mm=(coupling.insertion_mm, part.inserts_mm[1]),
    )
    new = Joint(
        at_mm=part.start_mm + at_mm,
        before=k + 1,
        after=k + 2,
        kind=coupling.kind,
        how=joint_how(coupling.kind),
    )
    # what stood at the piece's end B, and all that lies beyond it, is one piece farther on
    first = [j for j in joints if j.after is not None and j.after <= k + 1]
    rest = [
        replace(j, before=(j.before or 0) + 1, after=None if j.after is None else j.after + 1)
        for j in joints
        if j not in first
    ]
    return [*parts[:k], a, b, *parts[k + 1 :]], [*first, new, *rest]


def _as_long(piece: BentPiece, length_mm: float, bends: Sequence[Bend]) -> BentPiece:
    return replace(piece, cut_length_mm=length_mm, bends=tuple(bends))
