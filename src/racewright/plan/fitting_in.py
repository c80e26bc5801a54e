"""Will it fit, and will it go in: the forecast for this person's hands, and the way between the fittings."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.catalogue.model import Raceway
from racewright.errors import Finding
from racewright.fit.accuracy import Accuracy
from racewright.fit.forecast import forecast
from racewright.fit.insertion import EndFitting, InsertionAnswer, Solid, put_in
from racewright.geometry.frame import Frame
from racewright.plan.model import PlannedPiece
from racewright.survey.model import EndFitting as SurveyedEnd
from racewright.survey.model import Survey
from racewright.units.tape import format_length

#: How the solids are called that stand for the surfaces the run lies on.
SURFACE = "the surface behind leg"


def hand_accuracy(survey: Survey) -> Accuracy:
    """The survey's own spreads where they are given, the usual ones elsewhere."""
    usual, own = Accuracy(), survey.accuracy
    return Accuracy(
        mark_mm=usual.mark_mm if own.mark_mm is None else own.mark_mm,
        angle_rad=usual.angle_rad if own.angle_rad is None else own.angle_rad,
        roll_rad=usual.roll_rad if own.roll_rad is None else own.roll_rad,
        cut_mm=usual.cut_mm if own.cut_mm is None else own.cut_mm,
    )


def with_fit(
    survey: Survey, raceway: Raceway, pieces: Sequence[PlannedPiece], solids: Sequence[Solid]
) -> tuple[tuple[PlannedPiece, ...], list[Finding]]:
    """The pieces with forecast and way in, and what is worth a warning."""
    out: list[PlannedPiece] = []
    findings: list[Finding] = []
    for number, piece in enumerate(pieces):
        first, last = number == 0, number == len(pieces) - 1
        forecasted = forecast(piece.piece, hand_accuracy(survey), hooks=[b.hook for b in piece.bends], tape=survey.tape)
        answer = put_in(
            piece.piece,
            _end(survey.start if first else None, piece.fitting_a, piece.insert_a_mm),
            _end(survey.end if last else None, piece.fitting_b, piece.insert_b_mm),
            start=Frame(piece.start_point, piece.start_axis, piece.start_normal),
            obstacles=solids,
            raceway_type=raceway.type,
            tape=survey.tape,
        )
        if answer.captured:
            findings.append(_captured(survey, piece, answer, number, len(pieces)))
        findings.extend(_in_the_way(f, piece) for f in answer.findings if f.rule != "insertion.captured")
        out.append(msgspec.structs.replace(piece, forecast=forecasted, insertion=answer))
    return tuple(out), findings


def _in_the_way(finding: Finding, piece: PlannedPiece) -> Finding:
    """A wall that the piece lies on stops a straight push, and both fittings pushed back onto the conduit cure it: a
    note. Anything else in the way stays what it is."""
    placed = msgspec.structs.replace(finding, where=finding.where or piece.label)
    if SURFACE not in finding.message:
        return placed
    message = (
        f"{piece.label} lies against a surface and cannot be pushed straight into its fitting: push both fittings back"
        " onto the conduit before it goes up, or stand it off by more than they are deep."
    )
    return msgspec.structs.replace(placed, severity="info", message=message)


def _captured(survey: Survey, piece: PlannedPiece, answer: InsertionAnswer, number: int, count: int) -> Finding:
    """Both ends captured: a problem where the survey says that neither fitting gives way, else which one to leave
    loose."""
    both = number == 0 and count == 1 and bool(survey.start.fixed) and bool(survey.end.fixed)
    slide = format_length(answer.slide_mm, survey.tape)
    what = f"it must give way by {slide}" + (f", or take {answer.coupling}" if answer.coupling else "")
    return Finding(
        rule="insertion.captured",
        severity="problem" if both else "info",
        message=(
            f"{piece.label} is captured between its fittings: "
            + ("neither can be moved, so it cannot go in. " if both else "")
            + f"Leave the one at end {answer.loosen or 'B'} loose: {what}."
        ),
        citation="geometry",
        where=piece.label,
        measured=answer.slide_mm,
        unit="mm",
    )


def _end(end: SurveyedEnd | None, name: str, insertion_mm: float) -> EndFitting:
    """A coupling between pieces can be slid or taken off; a surveyed end is fixed unless the survey says otherwise."""
    if not name:
        return EndFitting(mobility="open")
    if end is None or end.fixed is False:
        return EndFitting(name=name, insertion_mm=insertion_mm, mobility="loose")
    return EndFitting(name=name, insertion_mm=insertion_mm)
