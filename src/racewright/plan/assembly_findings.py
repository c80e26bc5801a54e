"""What is worth saying of how a run is put up: who is trapped, what cannot turn, what is in the way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import radians, sin

from racewright.errors import Finding
from racewright.fit.way_in import Solid
from racewright.plan.going_up import GoingUp
from racewright.plan.joints import Assembly, Joint, is_coupling
from racewright.plan.moves import Moved, is_stuck
from racewright.survey.model import Survey
from racewright.units.said import said, said_least

#: How far out of line an end may be while it goes in (common practice, no source).
PLAY_RAD = radians(2.0)
_PRACTICE = "geometry; how joints are made: common practice, no source"


def assembly_findings(
    survey: Survey,
    pieces: Sequence[GoingUp],
    joints: Sequence[Joint],
    assembly: Assembly,
    moved: Moved,
    solids: Sequence[Solid],
) -> Iterator[Finding]:
    """All of it, by the moves that it is said of."""
    yield from _trapped(survey, pieces, joints, assembly, moved)
    yield from _stopped(survey, pieces, joints, moved)
    yield from _paths(pieces, joints, moved, solids)
    yield from _beside(pieces, moved)


def _trapped(
    survey: Survey, pieces: Sequence[GoingUp], joints: Sequence[Joint], assembly: Assembly, moved: Moved
) -> Iterator[Finding]:
    """A piece between two parts that stand: what must give way, and by how much; a problem where it cannot."""
    for move in moved.moves:
        if move.act != "slide back" or move.piece not in assembly.trapped:
            continue
        joint = joints[move.joints[0] - 1]
        at_end = "A" if joint.before is None else "B" if joint.after is None else ""
        end = survey.start if at_end == "A" else survey.end
        what = f"the {joint.kind}" if is_coupling(joint) else f"the fitting at end {at_end}"
        if joint.how == "expands":
            what = f"the piston of the {joint.kind}"
        stuck = bool(at_end and end.fixed)
        if is_stuck(joints, move):
            stuck = True
            message = (
                f"piece {move.piece} is trapped between its fittings and cannot go in: {what} stands out less than the"
                f" {said_least(move.by_mm)} that it has to go in. Put the run up on a colder day, with the setting for"
                " it, or let the fitting at one of its ends slide back."
            )
        elif stuck:
            message = (
                f"piece {move.piece} is trapped between its fittings and cannot go in: neither gives way."
                f" {what[0].upper()}{what[1:]} must slide back {said_least(move.by_mm)}, or the run needs a joint that"
                f" does: {_which(joint)}."
            )
        else:
            goes = "is" if len(pieces) == 1 else "goes in last,"
            message = (
                f"piece {move.piece} {goes} trapped between its fittings: {what} must slide back"
                f" {said_least(move.by_mm)}."
            )
            if end.fixed is None and not is_coupling(joint):
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


def _stopped(survey: Survey, pieces: Sequence[GoingUp], joints: Sequence[Joint], moved: Moved) -> Iterator[Finding]:
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
            places = " and ".join(said(joints[j].at_mm) for j in unions)
            message += f" So it is joined by {'unions' if len(unions) > 1 else 'a union'} at {places}."
        for j in closed:
            if j in unions:
                continue
            letter, end = ("A", survey.start) if joints[j].before is None else ("B", survey.end)
            stuck = stuck or bool(end.fixed)
            message += (
                f" The fitting at end {letter} is fixed: a union and a nipple have to stand there, and the piece be"
                " shorter by their length."
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
    pieces: Sequence[GoingUp], joints: Sequence[Joint], moved: Moved, solids: Sequence[Solid]
) -> Iterator[Finding]:
    """What stands in the way of a piece while it goes straight in."""
    for move in moved.moves:
        if move.act not in ("push", "turn", "cement"):
            continue
        piece = pieces[move.piece - 1]
        side = piece.joints.index(move.joints[0] - 1)
        for solid in solids:
            margin = piece.path(side, move.by_mm, solid)
            if not margin.certified:
                yield _in_the_way(
                    f"piece {move.piece}", "AB"[side], margin.name, margin.margin_mm, margin.at_mm, solid.surface
                )


def _in_the_way(label: str, end: str, name: str, margin_mm: float, at_mm: float, surface: bool) -> Finding:
    """A wall that the piece lies on stops a straight push, and giving way at both ends cures it: a note. Anything
    else in the way is a problem."""
    if surface:
        message = (
            f"{label} lies against a surface and cannot be moved straight into its fitting at end {end}: that fitting"
            " must slide back too, or the piece stand off by more than the fitting is deep."
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


def _beside(pieces: Sequence[GoingUp], moved: Moved) -> Iterator[Finding]:
    """A piece whose other end has to pass beside what it will face, and is too short to swing that far."""
    for move in moved.moves:
        piece = pieces[move.piece - 1]
        need = piece.part.piece.outside_diameter_mm
        aside = piece.span_mm * sin(PLAY_RAD)
        if move.past_mm > 0.0 and aside < need:
            yield Finding(
                rule="assembly.beside",
                severity="caution",
                message=f"piece {move.piece} goes in last, and its other end has to pass {said(move.past_mm)} beside"
                f" the end that it faces. So short a piece swings aside by {said(aside)}, and {said(need)} is needed:"
                " leave the piece that it faces out of its straps until this one is in.",
                citation=_PRACTICE,
                where=f"piece {move.piece}",
                measured=aside,
                allowed=need,
                unit="mm",
            )
