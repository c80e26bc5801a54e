"""Will it fit, and will it go in: the forecast for this person's hands, and the way between the fittings."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.catalogue.raceways import Raceway
from racewright.errors import Finding
from racewright.fit.accuracy import Accuracy
from racewright.fit.forecast import forecast
from racewright.fit.insertion import EndFitting, Solid, WayIn, put_in
from racewright.plan.model import PieceEnd, PlannedPiece
from racewright.plan.pieces import Part
from racewright.survey.model import EndFitting as SurveyedEnd
from racewright.survey.model import Survey
from racewright.units.tape import format_length


def hand_accuracy(survey: Survey) -> Accuracy:
    """The survey's own spreads where they are given, the usual ones elsewhere."""
    own = msgspec.structs.asdict(survey.accuracy)
    return Accuracy(**{name: value for name, value in own.items() if value is not None})


def with_fit(
    survey: Survey, raceway: Raceway, pieces: Sequence[PlannedPiece], parts: Sequence[Part], solids: Sequence[Solid]
) -> tuple[tuple[PlannedPiece, ...], list[Finding]]:
    """The pieces with forecast and way in, and what is worth a warning."""
    out: list[PlannedPiece] = []
    findings: list[Finding] = []
    for number, (piece, part) in enumerate(zip(pieces, parts, strict=True)):
        first, last = number == 0, number == len(pieces) - 1
        forecasted = forecast(part.piece, hand_accuracy(survey), hooks=[b.hook for b in piece.bends], tape=survey.tape)
        way_in, in_the_way = put_in(
            part.piece,
            _end(survey.start if first else None, piece.end_a),
            _end(survey.end if last else None, piece.end_b),
            start=part.frame,
            obstacles=solids,
            raceway_type=raceway.type,
            tape=survey.tape,
        )
        if way_in.captured:
            findings.append(_captured(survey, piece, way_in, number, len(pieces)))
        findings.extend(_in_the_way(finding, piece) for finding in in_the_way)
        out.append(msgspec.structs.replace(piece, forecast=forecasted, insertion=way_in))
    return tuple(out), findings


def _in_the_way(finding: Finding, piece: PlannedPiece) -> Finding:
    """A wall that the piece lies on stops a straight push, and both fittings pushed back onto the conduit cure it: a
    note. Anything else in the way stays what it is."""
    placed = msgspec.structs.replace(finding, where=finding.where or piece.label)
    if finding.values.get("against") != "surface":
        return placed
    message = (
        f"{piece.label} lies against a surface and cannot be pushed straight into its fitting: push both fittings back"
        " onto the conduit before it goes up, or stand it off by more than they are deep."
    )
    return msgspec.structs.replace(placed, severity="info", message=message)


def _captured(survey: Survey, piece: PlannedPiece, way_in: WayIn, number: int, count: int) -> Finding:
    """Both ends captured: a problem where the survey says that neither fitting gives way, else which one to leave
    loose."""
    both = number == 0 and count == 1 and bool(survey.start.fixed) and bool(survey.end.fixed)
    slide = format_length(way_in.slide_mm, survey.tape)
    what = f"it must give way by {slide}" + (f", or take {way_in.coupling}" if way_in.coupling else "")
    return Finding(
        rule="insertion.captured",
        severity="problem" if both else "info",
        message=(
            f"{piece.label} is captured between its fittings: "
            + ("neither can be moved, so it cannot go in. " if both else "")
            + f"Leave the one at end {way_in.loosen or 'B'} loose: {what}."
        ),
        citation="geometry",
        where=piece.label,
        measured=way_in.slide_mm,
        unit="mm",
    )


def _end(end: SurveyedEnd | None, planned: PieceEnd) -> EndFitting:
    """A coupling between pieces can be slid or taken off; a surveyed end is fixed unless the survey says otherwise."""
    if not planned.fitting:
        return EndFitting(mobility="open")
    loose = end is None or end.fixed is False
    return EndFitting(name=planned.fitting, insertion_mm=planned.insertion_mm, mobility="loose" if loose else "fixed")
