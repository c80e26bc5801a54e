"""The same shape at the usual angles, side by side: room, degrees, handling, forgiveness; the chosen row is marked.

Handling is the order search's effort for the shape alone between the straights it has; forgiveness is how far its far
end would scatter sideways for this person's hands, over the same stretch of run.
"""

from __future__ import annotations

from math import degrees, isclose, radians, tan

import msgspec

from racewright.bends.choices import USUAL_ANGLES_DEG, Choice, ChoiceShape, choices
from racewright.bends.model import BentPiece
from racewright.bends.offset import offset
from racewright.bends.saddle import four_bend_saddle, three_bend_saddle
from racewright.bends.shape import Shape
from racewright.fit.accuracy import Accuracy
from racewright.fit.forecast import forecast
from racewright.geometry.vector import even
from racewright.plan.model import NoteBlock
from racewright.route.model import BendLimits, Crossing, Route, RoutedShape
from racewright.sequence.machine import HandlingSettings
from racewright.sequence.order import find_order
from racewright.tools.benders import BenderProfile
from racewright.units.angle import format_angle
from racewright.units.said import said
from racewright.units.tape import TapeStyle, format_length

HEADER = ("angle", "bends", "rise", "room", "shrink", "straight between", "total", "effort", "scatter", "")


class Option(msgspec.Struct, frozen=True, kw_only=True):
    """One row: the choice, how many bends, the effort of the best order (None: no order), and the scatter sideways."""

    choice: Choice
    bends: int
    rise_mm: float
    effort: float | None
    scatter_mm: float | None
    chosen: bool


def option_blocks(
    route: Route, run: BentPiece, bender: BenderProfile, limits: BendLimits, accuracy: Accuracy, tape: TapeStyle
) -> tuple[NoteBlock, ...]:
    """A table of choices for every offset and saddle of the run."""
    out = []
    for shape in route.shapes:
        if shape.kind in ("turn", "kick"):
            continue
        rows = options_of(shape, run, bender, limits, accuracy, tape)
        out.append(_block(shape, rows, tape))
    return tuple(out)


def options_of(
    shape: RoutedShape, run: BentPiece, bender: BenderProfile, limits: BendLimits, accuracy: Accuracy, tape: TapeStyle
) -> tuple[Option, ...]:
    """The rows for one shape: its own kind at the usual angles and, for a saddle, three and four bends."""
    before, after = _stretches(shape, run)
    room = before + after
    need = limits.least_straight_mm
    radius = limits.radius_mm
    rows: list[Option] = []
    if shape.kind in ("saddle 3", "saddle 4"):
        room = 2.0 * min(before, after)  # the middle stays where the obstacle is
        flat = max(shape.flat_mm, need)
        for count in (3, 4):
            for angle in (radians(a) for a in USUAL_ANGLES_DEG):
                if shape.crossing is not None:
                    choice, made, rise = _clearing(shape.crossing, angle, count, limits, room)
                else:
                    rise = shape.rise_mm
                    kind: ChoiceShape = "saddle 3" if count == 3 else "saddle 4"
                    only = [degrees(angle)]
                    choice = choices(kind, rise, radius, need, flat_mm=flat, room_mm=room, angles_deg=only)[0]
                    made = _saddle(rise, choice, radius, flat if count == 4 else None)
                chosen = shape.kind == f"saddle {count}" and isclose(angle, shape.angle_rad, abs_tol=1e-9)
                rows.append(_option(choice, count, rise, made, room, shape, run, bender, accuracy, tape, chosen=chosen))
        return tuple(rows)
    angles = list(USUAL_ANGLES_DEG)
    own = degrees(shape.angle_rad)
    if not any(isclose(a, own, abs_tol=1e-6) for a in angles):
        angles = sorted([*angles, own])
    for choice in choices("offset", shape.rise_mm, radius, need, room_mm=room, angles_deg=angles):
        made = offset(shape.rise_mm, choice.angle_rad, radius) if choice.possible else None
        chosen = isclose(choice.angle_rad, shape.angle_rad, abs_tol=1e-9)
        rows.append(_option(choice, 2, shape.rise_mm, made, room, shape, run, bender, accuracy, tape, chosen=chosen))
    return tuple(rows)


def _clearing(
    crossing: Crossing, angle: float, count: int, limits: BendLimits, room: float
) -> tuple[Choice, Shape | None, float]:
    """The saddle of this angle that clears what it goes over, raised or with a flat top as far as that needs."""
    answer = crossing.clear(angle, limits)
    made = answer.three if count == 3 else answer.four
    fits = made.plan_mm <= room + 1e-9
    choice = Choice(
        angle_rad=angle,
        possible=fits,
        reason="" if fits else f"needs {said(made.plan_mm)} of run, {said(room)} there",
        straight_mm=made.straight_mm,
        total_rad=made.total_rad,
        plan_mm=made.plan_mm,
        shrink_mm=made.shrink_mm,
        developed_mm=made.developed_mm,
        spacing_mm=made.turns[1].arc_start_mm,
    )
    return choice, made if fits else None, made.rise_mm


def _saddle(rise: float, choice: Choice, radius: float, flat: float | None) -> Shape | None:
    if not choice.possible:
        return None
    if flat is None:
        return three_bend_saddle(rise, choice.angle_rad, radius)
    return four_bend_saddle(rise, choice.angle_rad, flat, radius)


def _stretches(shape: RoutedShape, run: BentPiece) -> tuple[float, float]:
    """Plan length free before and after the shape's middle, between the bends beside it (or the ends)."""
    first, last = shape.first, shape.first + shape.count - 1
    start = run.bends[first - 1].arc_end_mm if first else 0.0
    end = run.bends[last + 1].arc_start_mm if last + 1 < len(run.bends) else run.cut_length_mm
    middle = 0.5 * (run.bends[first].arc_start_mm + run.bends[last].arc_end_mm)
    lost = shape.rise_mm * tan(shape.angle_rad / 2.0)  # shrink, near enough for a room that a tape measures
    return middle - start - lost / 2.0, end - middle - lost / 2.0


def _option(
    choice: Choice,
    count: int,
    rise: float,
    made: Shape | None,
    room: float,
    shape: RoutedShape,
    run: BentPiece,
    bender: BenderProfile,
    accuracy: Accuracy,
    tape: TapeStyle,
    *,
    chosen: bool,
) -> Option:
    if made is None:
        return Option(choice=choice, bends=count, rise_mm=rise, effort=None, scatter_mm=None, chosen=chosen)
    spare = max(0.0, room - made.plan_mm) / 2.0
    bends = made.bends(spare)
    length = made.developed_mm + 2.0 * spare
    piece = BentPiece(cut_length_mm=length, outside_diameter_mm=run.outside_diameter_mm, bends=bends)
    # handled on the straight conduit, before any other bend of the run exists
    lead = run.bends[shape.first].arc_start_mm
    tail = run.cut_length_mm - run.bends[shape.first + shape.count - 1].arc_end_mm
    answer = find_order(
        made.bends(lead),
        lead + made.developed_mm + tail,
        run.outside_diameter_mm,
        bender,
        HandlingSettings(tape=tape, other_ways=0),
    )
    scatter = forecast(piece, accuracy)
    return Option(
        choice=choice,
        bends=count,
        rise_mm=rise,
        effort=answer.ways[0].cost if answer.ways else None,
        scatter_mm=scatter.across_most_mm,
        chosen=chosen,
    )


def _block(shape: RoutedShape, options: tuple[Option, ...], tape: TapeStyle) -> NoteBlock:
    possible = [o for o in options if o.choice.possible and o.effort is not None]
    calmest = min(possible, key=lambda o: even(o.scatter_mm or 0.0), default=None)
    easy = min(possible, key=lambda o: even(o.effort or 0.0), default=None)
    rows = []
    for o in options:
        c = o.choice
        if not c.possible:
            rows.append((format_angle(c.angle_rad), str(o.bends), "", "", "", "", "", "", "", c.reason))
            continue
        assert c.plan_mm is not None
        assert c.shrink_mm is not None
        notes = ["chosen"] if o.chosen else []
        notes += ["least effort"] if o is easy else []
        notes += ["least sensitive to error"] if o is calmest else []
        notes += [] if o.effort is not None else ["no bending order here"]
        rows.append(
            (
                format_angle(c.angle_rad),
                str(o.bends),
                format_length(o.rise_mm, tape),
                format_length(c.plan_mm, tape),
                format_length(c.shrink_mm, tape),
                format_length(c.straight_mm, tape),
                format_angle(c.total_rad),
                "-" if o.effort is None else f"{o.effort:.1f}",
                "" if o.scatter_mm is None else f"± {format_length(o.scatter_mm, tape)}",
                ", ".join(notes),
            )
        )
    return NoteBlock(title=f"Choices for {shape.label}", header=HEADER, rows=tuple(rows))
