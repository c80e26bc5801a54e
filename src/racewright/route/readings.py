"""Where a leg's tape stands at a turn: from its reading to the corner of the axes, and the zero of the leg after it.

Notation (mm, radians)
  A       angle of the turn; the outer lines of two straights meet D/2 tan(A/2) beyond the axes' corner
  x       along the leg; a reading counts from the leg's own zero
"""

from __future__ import annotations

from math import isclose, pi, tan

from racewright.errors import InputError
from racewright.survey.model import Leg, Survey, Turn, said_place
from racewright.survey.written import MeasuredTo

RIGHT_ANGLE = pi / 2.0


def gap_mm(turn: Turn, survey: Survey) -> float:
    """From the surface that a turn meets to the conduit's back: its own gap, or what the straps add."""
    return survey.stand_off_mm if turn.gap_mm is None else turn.gap_mm


def corner_x_mm(leg: Leg, turn: Turn, x: float, half: float, survey: Survey) -> float:
    """The axes' corner of a leg whose reading ends at `x`; `half` is half the conduit.

    Raises InputError where what it was measured to does not go with the turn.
    """
    to = leg.measured_to
    if turn.gap_mm is not None and turn.way in ("left", "right") and to != "wall":
        raise InputError.at(
            f"{turn.field}.gap",
            f"the leg before this turn is measured to {said_place(to)}, so the room to a wall says nothing.",
            hint="measure that leg to wall, or leave gap out",
        )
    reach = half * tan(turn.angle_rad / 2.0)
    if to == "back":
        return x - reach
    if to == "inside":
        return x + reach
    if to == "centre":
        return x
    _square_turn_only(leg, turn, to)
    if to == "edge":
        if turn.way != "toward":
            raise InputError.at(
                f"{leg.field}.to",
                "'edge' goes with a turn around an outside corner (toward).",
                hint="measure to wall, back, center or inside",
            )
        return x + gap_mm(turn, survey) + half
    if turn.way == "toward":
        raise InputError.at(
            f"{leg.field}.to",
            "a turn toward the surface goes around an outside corner, not up a wall.",
            hint="measure to edge, back, center or inside",
        )
    if turn.gap_mm is None and turn.way != "away":
        gap = "2 in" if survey.tape.unit == "in" else "50 mm"
        raise InputError.at(
            f"{turn.field}.gap",
            "how far off the wall does the conduit run after this turn?",
            hint=f"add gap: {gap} (from wall to conduit) to the turn, or measure the leg to back",
            expected="a length",
            example=gap,
        )
    return x - gap_mm(turn, survey) - half


def zero_x_mm(leg: Leg, turn: Turn, old_height: float, reach: float) -> float:
    """The zero of a leg's tape behind a turn, counted from the axes' corner.

    `old_height`: the axis over the surface before the turn; `reach`: how far the outer lines meet beyond the corner.
    Raises InputError where what it was measured from does not go with the turn.
    """
    start = leg.measured_from
    if start in ("back", "inside", "centre"):
        return {"back": -reach, "inside": reach, "centre": 0.0}[start]
    _square_turn_only(leg, turn, start)
    if start == "wall" and turn.way == "away":
        return -old_height
    if start == "edge" and turn.way == "toward":
        return old_height
    raise InputError.at(
        f"{leg.field}.from",
        f"'{said_place(start)}' does not go with a turn {turn.way}.",
        hint="measure from back, center or inside of the bend before"
        + (" (or from the wall that the run came along)" if turn.way == "away" else ""),
    )


def _square_turn_only(leg: Leg, turn: Turn, what: MeasuredTo) -> None:
    if not isclose(turn.angle_rad, RIGHT_ANGLE, abs_tol=1e-9):
        raise InputError.at(
            leg.field,
            f"measured to or from the {said_place(what)}, but the turn is not square.",
            hint="measure to back, center or inside of the bend",
        )
