"""Which angle, and three bends or four, where the survey leaves it open. Every choice says why it was made.

The order of the angles is the trade's own: 30 degrees for offsets, 22 1/2 beside 45 for saddles, and flatter or
steeper ones only where those do not fit (common practice, no source).
"""

from __future__ import annotations

from math import radians

import msgspec

from racewright.bends.choices import Choice, ChoiceShape, choices
from racewright.bends.saddle import Saddle as SaddleShape
from racewright.bends.saddle import four_bend_saddle, three_bend_saddle
from racewright.bends.saddle_clearance import BoxObstacle, RoundObstacle, SaddleClearance
from racewright.errors import Finding, LimitError
from racewright.geometry.vector import even
from racewright.route.model import BendLimits, Crossing
from racewright.survey.model import Saddle
from racewright.units.angle import format_angle
from racewright.units.said import said_least, said_most
from racewright.units.tape import TapeStyle, format_length

OFFSET_ORDER_DEG = (30.0, 22.5, 45.0, 15.0, 60.0, 10.0)
BOX_OFFSET_ORDER_DEG = (10.0, 7.5, 5.0, 15.0, 3.0)
SADDLE_ORDER_DEG = (22.5, 30.0, 15.0, 10.0, 45.0)
#: A three-bend saddle is raised by no more than this before four bends are the better answer (mm; our own choice).
MOST_RAISE_MM = 6.35


class PlacedSaddle(msgspec.Struct, frozen=True, kw_only=True):
    """The saddle chosen; `bends` 0 where the thing lies under the conduit anyway."""

    bends: int
    angle_rad: float = 0.0
    rise_mm: float = 0.0
    flat_mm: float = 0.0
    detail: str = ""
    crossing: Crossing | None = None
    findings: tuple[Finding, ...] = ()


def choose_offset_angle(rise_mm: float, room_mm: float, limits: BendLimits, *, small: bool = False) -> float:
    """The first angle of the trade's order that fits; for a small rise at a box, flat ones.

    Raises LimitError where none of them fits: says for each why.
    """
    order = BOX_OFFSET_ORDER_DEG if small else OFFSET_ORDER_DEG
    room = max(room_mm, 0.0)
    rows = choices("offset", rise_mm, limits.radius_mm, limits.least_straight_mm, room_mm=room, angles_deg=order)
    return _first(rows, "offset", rise_mm)


def _first(rows: tuple[Choice, ...], what: str, rise_mm: float) -> float:
    found = next((row for row in rows if row.possible), None)
    if found is None:
        raise _none_fits(rows, what, rise_mm)
    return found.angle_rad


def _none_fits(rows: tuple[Choice, ...], what: str, rise_mm: float) -> LimitError:
    """Why no angle does: of those that want more run than there is, the one that wants least."""
    long = [(row.plan_mm, row) for row in rows if row.limit == "room" and row.plan_mm is not None]
    reasons = [f"{format_angle(row.angle_rad)}: {row.reason}" for row in rows if row.limit != "room"]
    hint = "give an angle of your own, more room, or a larger rise"
    if long:
        need, shortest = min(long, key=lambda item: even(item[0]))
        there = said_most(shortest.limit_mm) if shortest.limit_mm > 0.0 else "none"
        angle = format_angle(shortest.angle_rad)
        reasons.insert(0, f"{there} of the run is free for it, and the shortest, {angle}, takes {said_least(need)}")
        hint = f"give it more room, {said_least(need)} of the run, or an angle of your own, or another rise"
    return LimitError(
        f"no usual angle makes this {what}: {'; '.join(reasons)}.", hint=hint, quantity="rise", asked=rise_mm
    )


def place_saddle(saddle: Saddle, level_mm: float, half_mm: float, limits: BendLimits, tape: TapeStyle) -> PlacedSaddle:
    """Three bends or four, the angle and the rise for a surveyed saddle.

    `level_mm`: the axis over the surface before the saddle (0 for a saddle to a side, counted from the axis);
    `half_mm`: half the outside diameter. Raises LimitError where nothing fits.
    """
    if saddle.rise_mm is not None:
        return _bare_rise(saddle, saddle.rise_mm, limits)
    top = saddle.height_mm if saddle.height_mm is not None else saddle.reach_mm
    assert top is not None
    standoff = level_mm - half_mm
    # the clearance module counts from a surface under everything: lift conduit and obstacle alike
    diameter = 0.0
    if saddle.over == "round":
        diameter = top - saddle.lift_mm if saddle.height_mm is not None else saddle.width_mm or 0.0
    up = max(0.0, -standoff, diameter - top)
    if top + saddle.clearance_mm <= standoff + 1e-9:
        return PlacedSaddle(
            bends=0,
            findings=(
                Finding(
                    rule="saddle.not-needed",
                    severity="info",
                    message=(
                        f"{saddle.label}: the conduit passes over it with"
                        f" {format_length(standoff - top, tape)} to spare; no bends."
                    ),
                    citation="geometry",
                    where=saddle.label,
                ),
            ),
        )
    obstacle: RoundObstacle | BoxObstacle
    if saddle.over == "round":
        obstacle = RoundObstacle(diameter_mm=diameter, lift_mm=max(0.0, top + up - diameter))
    else:
        assert saddle.width_mm is not None
        obstacle = BoxObstacle(height_mm=top + up, width_mm=saddle.width_mm)
    crossing = Crossing(
        obstacle=obstacle,
        clearance_mm=saddle.clearance_mm,
        standoff_mm=standoff + up,
        outside_diameter_mm=2.0 * half_mm,
    )
    fixed = [saddle.angle_rad] if saddle.angle_rad is not None else [radians(a) for a in SADDLE_ORDER_DEG]
    tried: list[tuple[float, SaddleClearance]] = []
    for angle in fixed:
        answer = crossing.clear(angle, limits)
        tried.append((angle, answer))
        if bends_that_clear(answer) == 3:
            break
    return msgspec.structs.replace(_decide(saddle, tried, tape), crossing=crossing)


def bends_that_clear(answer: SaddleClearance) -> int:
    """How many bends a saddle of this angle takes where the survey leaves that open: three where they clear with
    little raising, else four."""
    return 3 if _raised(answer) <= MOST_RAISE_MM else 4


def _raised(answer: SaddleClearance) -> float:
    return answer.three.rise_mm - answer.apex_rise_mm


def _decide(saddle: Saddle, tried: list[tuple[float, SaddleClearance]], tape: TapeStyle) -> PlacedSaddle:
    """Three bends where one angle clears with little raising, else the first angle's four bends."""
    good = next(((a, s) for a, s in tried if bends_that_clear(s) == 3), None)
    angle, answer = good or min(tried, key=lambda pair: even(_raised(pair[1])))
    four_angle, four_answer = min(
        tried, key=lambda pair: (pair[1].four.rise_mm - pair[1].apex_rise_mm > 0.5, tried.index(pair))
    )
    use_four = saddle.bends == "4" or (saddle.bends == "auto" and good is None)
    shape: SaddleShape = four_answer.four if use_four else answer.three
    chosen_angle = four_angle if use_four else angle
    findings = []
    lift = _raised(answer)
    if answer.apex_gap is None or answer.apex_short_mm > 1e-6 or lift > 1e-6:
        if answer.apex_gap is None:
            apex = format_length(answer.apex_rise_mm, tape)
            why = f"{format_angle(angle)} bends on this bender cannot rise as little as {apex}"
        else:
            why = (
                f"with its apex just clear ({format_length(answer.apex_rise_mm, tape)} rise) the underside would"
                f" {_left(answer.apex_gap.gap_mm, tape)} instead of leaving {format_length(answer.clearance_mm, tape)}"
            )
        four = four_answer.four
        findings.append(
            Finding(
                rule="saddle.whole-width",
                severity="caution" if lift > MOST_RAISE_MM else "info",
                message=(
                    f"{saddle.label}: {why}. Three bends at {format_angle(angle)} clear it with a rise of"
                    f" {format_length(answer.three.rise_mm, tape)}; four bends at {format_angle(four_angle)} with a"
                    f" rise of {format_length(four.rise_mm, tape)} and {format_length(four.flat_mm, tape)} straight"
                    f" on top. Planned: {'four' if use_four else 'three'} bends."
                ),
                citation="geometry",
                where=saddle.label,
                measured=answer.apex_gap.gap_mm if answer.apex_gap else None,
                allowed=answer.clearance_mm,
                unit="mm",
            )
        )
    return PlacedSaddle(
        bends=4 if use_four else 3,
        angle_rad=chosen_angle,
        rise_mm=shape.rise_mm,
        flat_mm=shape.flat_mm,
        detail="four bends" if use_four else "three bends",
        findings=tuple(findings),
    )


def _left(gap_mm: float, tape: TapeStyle) -> str:
    """What the underside of the conduit would do beside a thing."""
    return f"leave {format_length(gap_mm, tape)}" if gap_mm >= 0.0 else f"run {format_length(-gap_mm, tape)} into it"


def _bare_rise(saddle: Saddle, rise_mm: float, limits: BendLimits) -> PlacedSaddle:
    """A saddle given by its rise alone: three bends unless four are asked; the width is the person's own matter."""
    need = limits.least_straight_mm
    four = saddle.bends == "4"
    flat = max(need, saddle.width_mm or 0.0) if four else 0.0
    angle = saddle.angle_rad
    if angle is None:
        kind: ChoiceShape = "saddle 4" if four else "saddle 3"
        rows = choices(kind, rise_mm, limits.radius_mm, need, flat_mm=flat, angles_deg=SADDLE_ORDER_DEG)
        angle = _first(rows, "saddle", rise_mm)
    if four:
        four_bend_saddle(rise_mm, angle, flat, limits.radius_mm)
    else:
        three_bend_saddle(rise_mm, angle, limits.radius_mm)
    return PlacedSaddle(bends=4 if four else 3, angle_rad=angle, rise_mm=rise_mm, flat_mm=flat, detail="rise as given")
