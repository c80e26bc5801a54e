"""The offsets and saddles of a plan at the usual angles, side by side, as far as geometry says.

A plan does not hold these tables: they are worked out from it where somebody looks at them. They are quick and stand on
the page beside the plan; what a hand makes of each row, `plan/choices.py` works out for the card.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, radians, tan

import msgspec

from racewright.bends.choices import USUAL_ANGLES_DEG, Choice, ChoiceShape, choices
from racewright.bends.offset import offset
from racewright.bends.saddle import four_bend_saddle, three_bend_saddle
from racewright.bends.shape import Shape
from racewright.plan.model import Plan, PlannedShape
from racewright.route.choose import bends_that_clear
from racewright.route.model import BendLimits, Crossing
from racewright.units.said import said, said_in

#: Angles nearer to one another than this are one: no level shows it.
_SAME_RAD = radians(0.05)


class AngleRow(msgspec.Struct, frozen=True, kw_only=True):
    """One angle, with how many bends and the rise that it needs; `made` None: it cannot be made there. `planned`: the
    plan takes it; `clears`: where the survey leaves the number of bends open, this angle takes this many."""

    choice: Choice
    bends: int
    rise_mm: float
    made: Shape | None
    planned: bool
    clears: bool


class AngleTable(msgspec.Struct, frozen=True, kw_only=True):
    """The rows of one shape: its own kind at the usual angles and its own, a saddle with three and with four bends.
    `room_mm`: the stretch of run it may take."""

    shape: PlannedShape
    rows: tuple[AngleRow, ...]
    room_mm: float

    def taken(self, *, free: bool) -> tuple[AngleRow, ...]:
        """What becomes of it at each angle where nothing else is changed. `free`: the survey leaves the number of bends
        open."""
        kept = [row for row in self.rows if row.bends == self.shape.count]
        other = [row for row in self.rows if row.bends != self.shape.count] or kept
        return tuple(there if free and not own.clears else own for own, there in zip(kept, other, strict=True))


def angle_tables(plan: Plan) -> tuple[AngleTable, ...]:
    """A table for every offset and saddle of the plan, in the order of the run."""
    if plan.bender is None:
        return ()
    limits = BendLimits(plan.shoe.radius_mm, plan.shoe.least_straight_mm)
    arcs = [(p.run_start_mm + b.arc_start_mm, p.run_start_mm + b.arc_end_mm) for p in plan.pieces for b in p.bends]
    with said_in(plan.tape):
        return tuple(
            _table(shape, arcs, plan.developed_length_mm, limits)
            for shape in plan.shapes
            if shape.count and shape.kind not in ("turn", "kick")
        )


def _table(
    shape: PlannedShape, arcs: Sequence[tuple[float, float]], length_mm: float, limits: BendLimits
) -> AngleTable:
    first, last = shape.first, shape.first + shape.count - 1
    start = arcs[first - 1][1] if first else 0.0
    end = arcs[last + 1][0] if last + 1 < len(arcs) else length_mm
    middle = 0.5 * (arcs[first][0] + arcs[last][1])
    lost = shape.rise_mm * tan(radians(shape.angle_deg) / 2.0)  # shrink, near enough for a room that a tape measures
    before, after = middle - start - lost / 2.0, end - middle - lost / 2.0
    saddle = shape.kind in ("saddle 3", "saddle 4")
    room = 2.0 * min(before, after) if saddle else before + after  # a saddle's middle stays where the obstacle is
    rows: list[AngleRow] = []
    for count in (3, 4) if saddle else (2,):
        for angle in _angles(shape):
            planned = count == shape.count and abs(angle - radians(shape.angle_deg)) < _SAME_RAD
            choice, made, rise, clears = _at(shape, angle, count, limits, room)
            rows.append(
                AngleRow(choice=choice, bends=count, rise_mm=rise, made=made, planned=planned, clears=planned or clears)
            )
    return AngleTable(shape=shape, rows=tuple(rows), room_mm=room)


def _angles(shape: PlannedShape) -> list[float]:
    """The usual angles, and the planned one where it is none of them (rad)."""
    angles = [radians(angle) for angle in USUAL_ANGLES_DEG]
    own = radians(shape.angle_deg)
    return angles if any(abs(own - angle) < _SAME_RAD for angle in angles) else sorted([*angles, own])


def _at(
    shape: PlannedShape, angle: float, count: int, limits: BendLimits, room: float
) -> tuple[Choice, Shape | None, float, bool]:
    if shape.crossing is not None:
        return _clearing(shape.crossing, angle, count, limits, room)
    kind: ChoiceShape = "offset" if count == 2 else "saddle 3" if count == 3 else "saddle 4"
    rise, radius, need = shape.rise_mm, limits.radius_mm, limits.least_straight_mm
    flat = max(shape.flat_mm, need)
    choice = choices(kind, rise, radius, need, flat_mm=flat, room_mm=room, angles_deg=[degrees(angle)])[0]
    made: Shape | None = None
    if choice.possible and count == 2:
        made = offset(rise, angle, radius)
    elif choice.possible:
        made = three_bend_saddle(rise, angle, radius) if count == 3 else four_bend_saddle(rise, angle, flat, radius)
    return choice, made, rise, count == shape.count


def _clearing(
    crossing: Crossing, angle: float, count: int, limits: BendLimits, room: float
) -> tuple[Choice, Shape | None, float, bool]:
    """The saddle of this angle that clears what it goes over, raised or with a flat top as far as that needs."""
    answer = crossing.clear(angle, limits)
    made = answer.three if count == 3 else answer.four
    fits = made.plan_mm <= room + 1e-9
    choice = Choice(
        angle_rad=angle,
        possible=fits,
        reason="" if fits else f"needs {said(made.plan_mm)} of run, {said(room)} there",
        limit="" if fits else "room",
        limit_mm=0.0 if fits else room,
        straight_mm=made.straight_mm,
        total_rad=made.total_rad,
        plan_mm=made.plan_mm,
        shrink_mm=made.shrink_mm,
        developed_mm=made.developed_mm,
        spacing_mm=made.turns[1].arc_start_mm,
    )
    return choice, made if fits else None, made.rise_mm, count == bends_that_clear(answer)
