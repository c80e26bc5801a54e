"""How near a piece will come to its fittings, bent by this person's hands."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.assembly.part import Part
from racewright.fit.accuracy import Accuracy
from racewright.fit.forecast import forecast
from racewright.plan.model import PlannedPiece
from racewright.survey.model import Survey


def hand_accuracy(survey: Survey) -> Accuracy:
    """The survey's own spreads where they are given, the usual ones elsewhere."""
    own = msgspec.structs.asdict(survey.accuracy)
    return Accuracy(**{name: value for name, value in own.items() if value is not None})


def with_forecast(survey: Survey, pieces: Sequence[PlannedPiece], parts: Sequence[Part]) -> tuple[PlannedPiece, ...]:
    """The pieces, each with its forecast."""
    hand = hand_accuracy(survey)
    out = []
    for piece, part in zip(pieces, parts, strict=True):
        first_made = min(piece.bends, key=lambda b: b.order).number if piece.bends else 1
        hooks = [b.hook for b in piece.bends]
        open_end = not piece.end_b.fitting
        told = forecast(part.piece, hand, hooks=hooks, first=first_made, open_end=open_end, tape=survey.tape)
        out.append(msgspec.structs.replace(piece, forecast=told))
    return tuple(out)
