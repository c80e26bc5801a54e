"""What is worth saying of how a run is put up: who is trapped, what cannot turn, what is in the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import radians, sin

from msgspec.structs import replace

from racewright.assembly.going_up import GoingUp
from racewright.assembly.joints import Joint, WayOut, end_of, is_coupling, stays
from racewright.assembly.moves import Moved, is_stuck
from racewright.assembly.sideways import OUT_MM, Sideways
from racewright.errors import Finding
from racewright.survey.model import Survey
from racewright.units.said import said, said_least

#: How far out of line an end may be while it goes in (common practice, no source).
PLAY_RAD = radians(2.0)
_PRACTICE = "geometry; how joints are made: common practice, no source"
SIDEWAYS_CUT_SHORT = Finding(
    rule="assembly.search",
    severity="info",
    message="with so many pieces and things around, not all of the pieces that come in sideways were looked at: see for"
    " yourself that each can be brought to its place.",
    citation="geometry",
)
WAYS_CUT_SHORT = Finding(
    rule="assembly.search",
    severity="info",
    message="with so many pieces and things around, not all that may let the run go up was tried: there may be more"
    " that does.",
    citation="geometry",
)


def assembly_findings(
    survey: Survey, pieces: Sequence[GoingUp], joints: Sequence[Joint], moved: Moved
) -> Iterator[Finding]:
    """All of it, by the moves that it is said of."""
    yield from _trapped(survey, pieces, joints, moved)
    yield from _stopped(survey, pieces, joints, moved)
    yield from _beside(pieces, moved)
    yield from _other_coupling(survey, joints)


def with_ways_out(
    findings: Sequence[Finding], ways: Sequence[WayOut], joints: Sequence[Joint], *, left_out: bool
) -> tuple[Finding, ...]:
    """The findings of a run that cannot be put up, the last problem with what would do; `left_out`: not all that may do
    was tried, and a finding of its own says so."""
    told = [i for i, f in enumerate(findings) if f.severity == "problem"]
    out = list(findings)
    if told:
        last = out[told[-1]]
        out[told[-1]] = replace(last, message=f"{last.message} {_ways_words(ways, joints, left_out=left_out)}")
    return (*out, *((WAYS_CUT_SHORT,) if left_out else ()))


def _ways_words(ways: Sequence[WayOut], joints: Sequence[Joint], *, left_out: bool) -> str:
    if not ways:
        tried = "were not all tried, and of those that were none does" if left_out else "were tried, and none does"
        return (
            f"Freeing a fixed end, a colder day, and a cut in the middle of a long straight {tried}:"
            " measure another way for the run, or set a box where its parts can meet."
        )
    words = []
    for way in ways:
        if way.what == "colder day":
            words.append("put the run up on a colder day, with the setting for it")
        elif way.what == "cut in two":
            words.append(
                f"cut piece {way.piece} apart and join it with a {way.kind}, its middle {said(way.at_mm)} along the"
                " conduit from end A"
            )
        else:
            ends = " and ".join(joints[number - 1].run_end for number in way.joints)
            one = len(way.joints) == 1
            words.append(
                f"let the fitting{'' if one else 's'} at end{'' if one else 's'} {ends} give way"
                f" ({'not fixed there' if one else 'fixed at neither'})"
            )
    if len(words) == 1:
        return f"What would do: {words[0]}."
    return f"Each of these would do: {'; or '.join(words)}."


def _trapped(survey: Survey, pieces: Sequence[GoingUp], joints: Sequence[Joint], moved: Moved) -> Iterator[Finding]:
    """A piece between two parts that stand: what must give way, and by how much; a problem where it cannot."""
    for move in moved.moves:
        trapped = move.piece - 1 in moved.trapped
        if move.act != "slide back" or not (trapped or is_stuck(joints, move)):
            continue
        joint = joints[move.joints[0] - 1]
        end = end_of(survey, joint)
        what = f"the {joint.kind}" if is_coupling(joint) else f"the fitting at end {joint.run_end}"
        if joint.how == "expands":
            what = f"the piston of the {joint.kind}"
        stuck = stays(survey, joint)
        if is_stuck(joints, move):
            stuck = True
            message = (
                f"piece {move.piece}{' is trapped between its fittings and' if trapped else ''} cannot go in:"
                f" {what} stands out less than the"
                f" {said_least(move.by_mm)} that it has to go in."
            )
        elif stuck:
            neither = "neither gives way" if survey.start.fixed and survey.end.fixed else f"{what} is fixed"
            message = (
                f"piece {move.piece} is trapped between its fittings and cannot go in: {neither}."
                f" {what[0].upper()}{what[1:]} would have to slide back {said_least(move.by_mm)}."
            )
        else:
            goes = "is" if len(pieces) == 1 else "goes in last,"
            message = (
                f"piece {move.piece} {goes} trapped between its fittings: {what} must slide back"
                f" {said_least(move.by_mm)}."
            )
            if end is not None and end.fixed is None and not is_coupling(joint):
                message += " Where it cannot, say that this end is fixed."
        yield Finding(
            rule="assembly.trapped",
            severity="problem" if stuck else "info",
            message=message,
            citation=_PRACTICE,
            where=f"piece {move.piece}",
            measured=move.by_mm,
            unit="mm",
        )


def _stopped(survey: Survey, pieces: Sequence[GoingUp], joints: Sequence[Joint], moved: Moved) -> Iterator[Finding]:
    """Pieces that cannot be turned or pushed in, and what gives way for them; a problem where that is an end that
    stays."""
    placed = {move.piece for move in moved.moves if move.act == "place"}
    for number, p in enumerate(pieces, start=1):
        closed = [j for j in p.joints if j is not None and j in moved.closed]
        for turned in (True, False):
            sides = [s for s in (0, 1) if p.stopped_by[s] and (_how(p, s, joints) == "threads") == turned]
            # a push that is not wanted is none to speak of
            mine = [j for j in (p.joints[s] for s in sides) if j is not None]
            stuck = [j for j in mine if j in closed and stays(survey, joints[j])]
            if not sides or not (turned or number in placed or stuck):
                continue
            message = f"piece {number} cannot be {'turned in' if turned else 'pushed straight in'} by {_ends(sides)}:"
            message += f" it would hit {p.stopped_by[sides[0]]}."
            here = [j for j in closed if j in mine]
            message += _instead(survey, p, joints, here or closed, turned=turned)
            yield Finding(
                rule="assembly.turn" if turned else "assembly.path",
                severity="problem" if any(stays(survey, joints[j]) for j in here or closed) else "info",
                message=message,
                citation=_PRACTICE,
                where=f"piece {number}",
                values={"hits": p.stopped_by[sides[0]]},
            )


def _instead(survey: Survey, piece: GoingUp, joints: Sequence[Joint], closed: Sequence[int], *, turned: bool) -> str:
    """What gives way for a piece that cannot come in, or what would have to."""
    between = [j for j in closed if is_coupling(joints[j]) and not stays(survey, joints[j])]
    words = ""
    if between:
        kind = joints[between[0]].kind
        one = f"an {kind}" if joints[between[0]].how == "expands" else f"a {kind}"
        places = " and ".join(said(joints[j].at_mm) for j in between)
        words += f" So it is joined by {f'{kind}s' if len(between) > 1 else one} at {places}."
    stay = [j for j in closed if stays(survey, joints[j])]
    for j in stay:
        words += f" The fitting at end {joints[j].run_end} is fixed."
    back = [j for j in closed if j not in between and j not in stay]
    if len(back) > 1:
        words += " So the fittings at both ends go onto it first, and are made fast to their boxes after that."
    elif back:
        at = joints[back[0]].run_end
        words += f" So the fitting at end {at} goes onto it first, and is made fast to its box after that."
    if not closed:
        words += f" So it stands first, and the others are {'turned' if turned else 'pushed'} onto it."
    return words


def _ends(sides: Sequence[int]) -> str:
    return "either end" if len(sides) > 1 else f"end {'AB'[sides[0]]}"


def _how(piece: GoingUp, side: int, joints: Sequence[Joint]) -> str:
    joint = piece.joints[side]
    return "" if joint is None else "threads" if joints[joint].how == "union" else joints[joint].how


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


def _other_coupling(survey: Survey, joints: Sequence[Joint]) -> Iterator[Finding]:
    """An end of the run that the survey joins by one coupling and the plan by another, which gives way."""
    for joint in joints:
        end = end_of(survey, joint)
        if end is None or joint.kind not in ("union", "slip coupling") or end.kind.strip().lower() == joint.kind:
            continue
        cannot = "closes between ends that do not turn" if joint.how == "union" else "has no stop, so it slides back"
        yield Finding(
            rule="assembly.other_coupling",
            severity="info",
            message=f"end {joint.run_end} is joined by a {joint.kind} in place of the {end.kind} that the survey names:"
            f" it {cannot}, and one joint has to give way. The bill has the {joint.kind}.",
            citation=_PRACTICE,
            where=f"end {joint.run_end}",
        )


def sideways_findings(held: Iterable[Sideways]) -> Iterator[Finding]:
    """Pieces that come sideways into their places, past something that stops them on every straight way."""
    for piece, hits, surface in held:
        after = "" if surface else f", or put {hits} up after it"
        yield Finding(
            rule="assembly.sideways",
            severity="caution",
            message=f"piece {piece} comes in sideways between what stands at its ends, and no straight way that was"
            f" tried is clear for its last {said(OUT_MM)}: it would hit {hits}. Where it cannot be tilted in either,"
            f" let a fitting at an end of the run give way (`fixed: false`){after}.",
            citation=_PRACTICE,
            where=f"piece {piece}",
            values={"hits": hits},
        )
