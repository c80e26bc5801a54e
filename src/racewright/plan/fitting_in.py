"""How near a piece will come to its fittings, bent by this person's hands."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.fit.accuracy import Accuracy
from racewright.fit.forecast import forecast
from racewright.plan.model import PlannedPiece
from racewright.plan.pieces import Part
from racewright.survey.model import Survey


def hand_accuracy(survey: Survey) -> Accuracy:
    """The survey's own spreads where they are given, the usual ones elsewhere."""
    usual, own = Accuracy(), survey.accuracy
    return Accuracy(
        mark_mm=usual.mark_mm if own.mark_mm is None else own.mark_mm,
        angle_rad=usual.angle_rad if own.angle_rad is None else own.angle_rad,
        roll_rad=usual.roll_rad if own.roll_rad is None else own.roll_rad,
        cut_mm=usual.cut_mm if own.cut_mm is None else own.cut_mm,
    )


def with_forecast(survey: Survey, pieces: Sequence[PlannedPiece], parts: Sequence[Part]) -> tuple[PlannedPiece, ...]:
    """The pieces, each with its forecast."""
    hand = hand_accuracy(survey)
    out = []
    for piece, part in zip(pieces, parts, strict=True):
        first_made = min(piece.bends, key=lambda b: b.order).number if piece.bends else 1
        hooks = [b.hook for b in piece.bends]
        told = forecast(part.piece, hand, hooks=hooks, first=first_made, tape=survey.tape)
        out.append(msgspec.structs.replace(piece, forecast=told))
    return tuple(out)
