"""How the pieces of a planned run are put up: the order, each move, the joints that give way, what stands in the way.

The joints between pieces are given as ordinary couplings; where one has to give way, it becomes a union (threads) or
a slip coupling. A union is taken to be as long as the coupling in whose place it stands, and the step says to measure
it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import radians, sin
from typing import NamedTuple

from msgspec.structs import replace

from racewright.catalogue.fittings import find_fitting, fitting_kinds
from racewright.catalogue.raceways import Raceway
from racewright.errors import Finding
from racewright.fit.way_in import TURNING_ROOM_MM, Solid, line_of, path_margin, swing
from racewright.geometry.chain import Arc
from racewright.geometry.solids import Cylinder
from racewright.geometry.vector import Frame, Vec, along, cross, distance, dot, norm, scale, sub
from racewright.plan.assembly import COUPLING, NOT_POSSIBLE, Body, Order, Seat, find_order
from racewright.plan.joints import KNOCKOUT, Assembly, Joint
from racewright.plan.model import PlannedPiece
from racewright.plan.moves import Ends, Moved, moves_of
from racewright.plan.pieces import Part
from racewright.survey.model import EndFitting, Survey
from racewright.units.said import said, said_least

#: How far out of line an end may be while it goes in (common practice, no source).
PLAY_RAD = radians(2.0)
#: What it costs, in couplings, that a fitting gives way of which the survey says nothing; a hub more than a union.
_UNSAID = {"slides": 0.5, "cemented": 0.5, "threads": 1.5}
#: And that the piece which goes in last is then pushed past something in its way.
_BLOCKED = 0.25
#: An expansion fitting that is there anyway gives way for nothing; this keeps a run with one from being split at two.
_THERE = 0.1
_PRACTICE = "geometry; how joints are made: common practice, no source"
_CHORDS = 4


class PutUp(NamedTuple):
    """The joints with those that give way and the last, the way of putting the run up, and what was found."""

    joints: tuple[Joint, ...]
    assembly: Assembly
    findings: tuple[Finding, ...]


class _Piece(NamedTuple):
    """A piece with its joints, the ways in which its ends go in, and what is in the way of a turn about each end."""

    part: Part
    joints: tuple[int | None, int | None]
    ways: tuple[Vec, Vec]
    turn_stopped_by: tuple[str, str]

    @property
    def in_line(self) -> float:
        return max(0.0, -dot(*self.ways))

    @property
    def span_mm(self) -> float:
        line = line_of(self.part.piece, self.part.frame)
        return distance(line.point_at(0.0), line.end_frame.origin)


def put_up(
    survey: Survey, raceway: Raceway, parts: Sequence[Part], joints: Sequence[Joint], solids: Sequence[Solid]
) -> PutUp:
    """How the run is put up between its ends, past what stands around it."""
    pieces = _pieces(parts, joints, solids)
    order = _order(survey, raceway, pieces, joints, solids)
    ends = [
        Ends(joints=p.joints, inserts_mm=p.part.inserts_mm, in_line=p.in_line, one_way=dot(*p.ways) > 0.999)
        for p in pieces
    ]
    coupling = find_fitting(_coupling(joints, raceway), raceway)
    gap = max(0.0, coupling.length_mm - 2.0 * coupling.insertion_mm)
    bounds = [pieces[g.last].joints[1] for g in order.groups[:-1]]
    given = [_giving(j, i in bounds) for i, j in enumerate(joints)]
    moved = moves_of(order, ends, given, gap_mm=gap, slip_mm=0.5 * (coupling.length_mm + gap))
    made = tuple(replace(j, last=i == moved.last) for i, j in enumerate(given))
    assembly = Assembly(
        order=tuple(k + 1 for g in order.groups for k in g.order),
        trapped=tuple(k + 1 for k in moved.trapped),
        possible=order.cost < NOT_POSSIBLE,
        moves=moved.moves,
    )
    findings = [
        *_trapped(survey, pieces, made, assembly, moved),
        *_stopped(survey, pieces, made, moved),
        *_paths(pieces, made, moved, solids),
        *_beside(pieces, moved),
    ]
    return PutUp(made, assembly, tuple(findings))


def _coupling(joints: Sequence[Joint], raceway: Raceway) -> str:
    between = [j.kind for j in joints if j.before and j.after and j.how != "expands"]
    return between[0] if between else next(k for k in fitting_kinds(raceway) if k.endswith("coupling"))


def _giving(joint: Joint, gives: bool) -> Joint:
    """A coupling that has to give way as what does."""
    if not gives or joint.how == "expands":
        return joint
    if joint.how == "threads":
        return replace(joint, kind="union", how="union")
    return replace(joint, kind="slip coupling")


def with_joints(pieces: Sequence[PlannedPiece], joints: Sequence[Joint]) -> tuple[PlannedPiece, ...]:
    """The pieces, with what gives way named at their ends."""
    out = list(pieces)
    for joint in joints:
        if joint.before is not None and joint.after is not None:
            a, b = out[joint.before - 1], out[joint.after - 1]
            out[joint.before - 1] = replace(a, end_b=replace(a.end_b, fitting=joint.kind))
            out[joint.after - 1] = replace(b, end_a=replace(b.end_a, fitting=joint.kind))
    return tuple(out)


# --- what can be done with each piece


def _pieces(parts: Sequence[Part], joints: Sequence[Joint], solids: Sequence[Solid]) -> list[_Piece]:
    left = {j.after - 1: i for i, j in enumerate(joints) if j.after is not None}
    right = {j.before - 1: i for i, j in enumerate(joints) if j.before is not None}
    bars = [_bars(part, number) for number, part in enumerate(parts, start=1)]
    out = []
    for k, part in enumerate(parts):
        end = line_of(part.piece, part.frame).end_frame
        ends = (left.get(k), right.get(k))
        stopped = ["", ""]
        for side, joint in enumerate(ends):
            if joint is not None and joints[joint].how == "threads" and part.piece.bends:
                # whatever may stand by then: all the others, less what turns on the spot or ends where this one will
                # face it
                at = end if side else part.frame
                others = [bar for i, row in enumerate(bars) if i != k for bar in _shortened(row, i - k, side, part)]
                near = [*solids, *(bar for bar in others if not _coaxial(bar, at))]
                stopped[side] = swing(part.piece, part.frame, "B" if side else "A", near).blocked_by
        out.append(_Piece(part, ends, (scale(part.frame.axis, -1.0), end.axis), (stopped[0], stopped[1])))
    return out


def _bars(part: Part, number: int) -> list[Solid]:
    """A piece as round bars."""
    line = line_of(part.piece, part.frame)
    points: list[Vec] = []
    for segment in line.segments:
        steps = _CHORDS if isinstance(segment, Arc) else 1
        points += [
            segment.point_at(segment.start_s + (segment.end_s - segment.start_s) * i / steps) for i in range(steps)
        ]
    points.append(line.end_frame.origin)
    half = 0.5 * part.piece.outside_diameter_mm
    bars = [Cylinder(start=a, end=b, radius_mm=half) for a, b in pairwise(points) if distance(a, b) > 1e-3]
    return [Solid(name=f"piece {number}", solid=bar) for bar in bars]


def _shortened(row: Sequence[Solid], away: int, side: int, part: Part) -> Sequence[Solid]:
    """A piece's bars; of the piece that faces the free end of what is turned in, less a bit at that end: there the ends
    pass each other in the gap of the joint."""
    if away != (1 if side == 0 else -1) or not row:
        return row
    last = row[0 if away > 0 else -1]
    assert isinstance(last.solid, Cylinder)
    bit = part.piece.outside_diameter_mm + TURNING_ROOM_MM
    whole = distance(last.solid.start, last.solid.end)
    rest = row[1:] if away > 0 else row[:-1]
    if whole <= bit:
        return rest
    axis = scale(sub(last.solid.end, last.solid.start), 1.0 / whole)
    start, end = last.solid.start, last.solid.end
    start, end = (along(start, axis, bit), end) if away > 0 else (start, along(end, axis, -bit))
    return [*rest, Solid(name=last.name, solid=Cylinder(start=start, end=end, radius_mm=last.solid.radius_mm))]


def _coaxial(bar: Solid, at: Frame) -> bool:
    """Whether a bar lies on an axis: what turns about that axis comes no nearer to it."""
    assert isinstance(bar.solid, Cylinder)
    return all(norm(cross(sub(p, at.origin), at.axis)) < 1.0 for p in (bar.solid.start, bar.solid.end))


def _order(
    survey: Survey, raceway: Raceway, pieces: Sequence[_Piece], joints: Sequence[Joint], solids: Sequence[Solid]
) -> Order:
    bodies = [
        Body(
            length_mm=p.part.piece.cut_length_mm,
            straight=not p.part.piece.bends,
            by_a=not p.turn_stopped_by[0],
            by_b=not p.turn_stopped_by[1],
            one_way=dot(*p.ways) > 0.999 and all(j is not None and joints[j].how != "threads" for j in p.joints),
        )
        for p in pieces
    ]
    slip = find_fitting("slip coupling", raceway).length_mm if "slip coupling" in fitting_kinds(raceway) else 0.0
    costs = []
    for p, after in pairwise(pieces):
        joint = joints[p.joints[1] or 0]
        straight = max(_straight_mm(p.part, 1), _straight_mm(after.part, 0))
        costs.append(_THERE if joint.how == "expands" else COUPLING if straight >= slip else NOT_POSSIBLE)
    seats = (
        _seat(survey.start, pieces[0], 0, joints, solids, alone=len(pieces) == 1),
        _seat(survey.end, pieces[-1], 1, joints, solids, alone=len(pieces) == 1),
    )
    return find_order(bodies, costs, seats)


def _straight_mm(part: Part, side: int) -> float:
    bends = part.piece.bends
    if not bends:
        return part.piece.cut_length_mm
    return part.piece.cut_length_mm - bends[-1].arc_end_mm if side else bends[0].arc_start_mm


def _seat(
    end: EndFitting, piece: _Piece, side: int, joints: Sequence[Joint], solids: Sequence[Solid], *, alone: bool
) -> Seat:
    """What stands at an end of the run, and what it costs when it gives way."""
    joint = piece.joints[side]
    if joint is None or piece.part.inserts_mm[side] <= 0.0:
        return Seat("free")
    kind, how = joints[joint].kind, joints[joint].how
    cost = 0.0 if end.fixed is False else NOT_POSSIBLE if end.fixed else _UNSAID[how]
    other = 1 - side
    depth = piece.part.inserts_mm[other]
    if piece.joints[other] is not None and depth > 0.0:
        margins = (path_margin(piece.part.piece, piece.part.frame, piece.ways[other], depth, s) for s in solids)
        if not all(m.certified or m.surface for m in margins):
            cost += _BLOCKED
    return Seat("hole" if kind == KNOCKOUT else "seat", cost)


# --- what is worth saying


def _trapped(
    survey: Survey, pieces: Sequence[_Piece], joints: Sequence[Joint], assembly: Assembly, moved: Moved
) -> Iterator[Finding]:
    """A piece between two parts that stand: what must give way, and by how much; a problem where it cannot."""
    for move in moved.moves:
        if move.act != "slide back" or move.piece not in assembly.trapped:
            continue
        joint = joints[move.joints[0] - 1]
        at_end = "A" if joint.before is None else "B" if joint.after is None else ""
        end = survey.start if at_end == "A" else survey.end
        what = f"the fitting at end {at_end}" if at_end else "the slip coupling"
        stuck = bool(at_end and end.fixed)
        if stuck:
            message = (
                f"piece {move.piece} is trapped between its fittings and cannot go in: neither gives way."
                f" {what.capitalize()}"
                f" must slide back {said_least(move.by_mm)}, or the run needs a joint that does: {_which(joint)}."
            )
        else:
            message = (
                f"piece {move.piece} goes in last, trapped between its fittings: {what} must slide back"
                f" {said_least(move.by_mm)}."
            )
            if at_end and end.fixed is None:
                message += " Where it cannot, write `fixed: true` at that end."
        yield Finding(
            rule="assembly.trapped",
            severity="problem" if stuck else "info",
            message=message,
            citation=_PRACTICE,
            where=f"piece {move.piece}",
            measured=move.by_mm,
            unit="mm",
        )


def _which(joint: Joint) -> str:
    if joint.how == "threads":
        return "cut it in two and join it with a union"
    return "cut it in two and join it with a slip coupling"


def _stopped(survey: Survey, pieces: Sequence[_Piece], joints: Sequence[Joint], moved: Moved) -> Iterator[Finding]:
    """Pieces that cannot be turned in, and what gives way for them; a problem where that is an end that stays."""
    for number, p in enumerate(pieces, start=1):
        names = [name for name in p.turn_stopped_by if name]
        if not names:
            continue
        ends = "either end" if all(p.turn_stopped_by) else f"end {'A' if p.turn_stopped_by[0] else 'B'}"
        message = f"piece {number} cannot be turned in by {ends}: it would hit {names[0]}."
        closed = [j for j in p.joints if j is not None and j in moved.closed]
        unions = [j for j in closed if joints[j].how == "union"]
        stuck = False
        if unions:
            message += f" So a union joins it at {' and '.join(said(joints[j].at_mm) for j in unions)}."
        for j in closed:
            if j in unions:
                continue
            letter, end = ("A", survey.start) if joints[j].before is None else ("B", survey.end)
            stuck = stuck or bool(end.fixed)
            message += (
                f" The fitting at end {letter} is fixed: a union and a nipple have to stand there, and the piece be"
                f" shorter by"
                " their length."
                if end.fixed
                else f" So the fitting at end {letter} is turned onto it first, and made fast to its box after that."
            )
        if not closed:
            message += " So it stands first, and the others are turned onto it."
        yield Finding(
            rule="assembly.turn",
            severity="problem" if stuck else "info",
            message=message,
            citation=_PRACTICE,
            where=f"piece {number}",
        )


def _paths(
    pieces: Sequence[_Piece], joints: Sequence[Joint], moved: Moved, solids: Sequence[Solid]
) -> Iterator[Finding]:
    """What stands in the way of a piece while it goes straight in."""
    for move in moved.moves:
        if move.act not in ("push", "turn", "cement"):
            continue
        piece = pieces[move.piece - 1]
        side = piece.joints.index(move.joints[0] - 1)
        for solid in solids:
            margin = path_margin(piece.part.piece, piece.part.frame, piece.ways[side], move.by_mm, solid)
            if not margin.certified:
                yield _in_the_way(
                    f"piece {move.piece}", "AB"[side], margin.name, margin.margin_mm, margin.at_mm, solid.surface
                )


def _in_the_way(label: str, end: str, name: str, margin_mm: float, at_mm: float, surface: bool) -> Finding:
    """A wall that the piece lies on stops a straight push, and giving way at both ends cures it: a note. Anything
    else in the way is a problem."""
    if surface:
        message = (
            f"{label} lies against a surface and cannot be moved straight into its fitting at end {end}: that"
            f" fitting must slide"
            " back too, or the piece stand off by more than the fitting is deep."
        )
    else:
        message = f"on the way in {label} hits {name}; it still touches when it is {said(at_mm)} short of its place."
    return Finding(
        rule="assembly.path",
        severity="info" if surface else "problem",
        message=message,
        citation="geometry",
        where=label,
        measured=margin_mm,
        allowed=0.0,
        unit="mm",
        values={"against": "surface" if surface else "obstacle"},
    )


def _beside(pieces: Sequence[_Piece], moved: Moved) -> Iterator[Finding]:
    """A piece whose other end has to pass beside what it will face, and is too short to swing that far."""
    for move in moved.moves:
        piece = pieces[move.piece - 1]
        need = piece.part.piece.outside_diameter_mm
        aside = piece.span_mm * sin(PLAY_RAD)
        if move.past_mm > 0.0 and aside < need:
            yield Finding(
                rule="assembly.beside",
                severity="caution",
                message=f"piece {move.piece} goes in last, and its other end has to pass {said(move.past_mm)}"
                f" beside the"
                " end"
                f" that it faces. So short a piece swings aside by {said(aside)}, and {said(need)} is needed: take the"
                " piece before it out of its straps while this one goes in.",
                citation=_PRACTICE,
                where=f"piece {move.piece}",
                measured=aside,
                allowed=need,
                unit="mm",
            )
