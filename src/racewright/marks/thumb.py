"""The trade's rules of thumb, with the marks they give and where those marks land on a given bender.

Notation: positions are mm from end A; marks/mark.py says how a mark, a reference and a hook make an arc.
The taught figures are rows of `TAUGHT_OFFSETS`, `TAUGHT_SADDLES`; each says where it comes from. A rule is what is
taught, not what is exact: the exact marks come from the bends and are shown beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, hypot, pi, sin, tan
from typing import Final

import msgspec

from racewright.bends import roles
from racewright.bends.landing import Landing, land
from racewright.bends.model import Bend
from racewright.errors import InputError
from racewright.marks.mark import arc_start_from_mark_mm, mark_mm
from racewright.tools.benders import BenderProfile, HookEnd, Reference
from racewright.units.said import said, said_least, said_ratio

_READ: Final = "taught figure, read in a reprint of a trade text"
_MEMORY: Final = "taught figure, from memory"
_METHOD: Final = "common practice, no source"


class Taught(msgspec.Struct, frozen=True, kw_only=True):
    """What is taught for one angle, per rise: the spacing of the marks (an offset's multiplier; a saddle's from the
    middle outward) and the shrink (a saddle's as far as the middle)."""

    angle_deg: float
    spacing_per_rise: float
    shrink_per_rise: float
    source: str


TAUGHT_OFFSETS: Final = (
    Taught(angle_deg=10.0, spacing_per_rise=6.0, shrink_per_rise=1 / 16, source=_READ),
    Taught(angle_deg=15.0, spacing_per_rise=3.9, shrink_per_rise=1 / 8, source=_MEMORY),
    Taught(angle_deg=22.5, spacing_per_rise=2.6, shrink_per_rise=3 / 16, source=_READ),
    Taught(angle_deg=30.0, spacing_per_rise=2.0, shrink_per_rise=1 / 4, source=_READ),
    Taught(angle_deg=45.0, spacing_per_rise=1.4, shrink_per_rise=3 / 8, source=_READ),
    Taught(angle_deg=60.0, spacing_per_rise=1.2, shrink_per_rise=1 / 2, source=_READ),
)
# Method read in a reprint of a trade text (NJATC, Conduit Bending and Fabrication, 2007, p. 63); figures from memory.
TAUGHT_SADDLES: Final = (
    Taught(angle_deg=15.0, spacing_per_rise=3.9, shrink_per_rise=1 / 8, source=_MEMORY),
    Taught(angle_deg=22.5, spacing_per_rise=2.5, shrink_per_rise=3 / 16, source=_MEMORY),
    Taught(angle_deg=30.0, spacing_per_rise=2.0, shrink_per_rise=1 / 4, source=_MEMORY),
)


class RuleMark(msgspec.Struct, frozen=True):
    """One mark of a rule and how it is bent: `mark_mm` from end A, its reference, the hook's end."""

    label: str
    mark_mm: float
    angle_rad: float
    roll_rad: float
    reference: Reference
    hook: HookEnd
    role: str


class Rule(msgspec.Struct, frozen=True, kw_only=True):
    """A rule of thumb worked out: its marks in order along the conduit, how it goes, and its source."""

    name: str
    marks: tuple[RuleMark, ...]
    how: str
    source: str


def bends_of_rule(rule: Rule, profile: BenderProfile) -> tuple[Bend, ...]:
    """The bends that a rule's marks make on a bender."""
    return tuple(
        Bend(
            arc_start_mm=arc_start_from_mark_mm(m.mark_mm, m.angle_rad, m.hook, m.reference, profile),
            angle_rad=m.angle_rad,
            roll_rad=m.roll_rad,
            radius_mm=profile.radius_mm,
            shape=rule.name,
            role=m.role,
        )
        for m in rule.marks
    )


def land_rule(rule: Rule, profile: BenderProfile, length_mm: float) -> Landing:
    """Where a rule's marks land on a bender, for a piece of `length_mm`.

    Raises InputError where its bends overlap on this bender, or leave the piece.
    """
    return land(bends_of_rule(rule, profile), length_mm)


def exact_marks_mm(rule: Rule, bends: Sequence[Bend], profile: BenderProfile) -> tuple[float, ...]:
    """The exact marks for the same references and hook directions as the rule's."""
    return tuple(
        mark_mm(bend.arc_start_mm, bend.arc_end_mm, mark.hook, mark.reference, profile)
        for mark, bend in zip(rule.marks, bends, strict=True)
    )


def taught_row(rows: Sequence[Taught], angle_rad: float) -> Taught | None:
    """The row for an angle (a saddle's outer one), None where nothing is taught for it."""
    return next((row for row in rows if abs(row.angle_deg - degrees(angle_rad)) < 1e-6), None)


def _offset_figures(rise_mm: float, angle_rad: float) -> tuple[float, float, str]:
    """Spacing and shrink of an offset's marks and their source; for an angle without a taught row the exact cosecant
    and tan(A/2) stand in."""
    row = taught_row(TAUGHT_OFFSETS, angle_rad)
    if row is None:
        exact = "cosecant and tan(A/2): trigonometry without a radius"
        return rise_mm * (1.0 / sin(angle_rad)), rise_mm * tan(angle_rad / 2.0), exact
    return rise_mm * row.spacing_per_rise, rise_mm * row.shrink_per_rise, row.source


def deduct_rule(stub_to_back_mm: float, take_up_mm: float) -> Rule:
    """Stub-up: mark = stub height - take-up, arrow on the mark, hook toward the stub's end.

    Raises InputError where the stub is not longer than the take-up.
    """
    mark = stub_to_back_mm - take_up_mm
    if mark <= 0.0:
        raise InputError(
            f"a stub of {said(stub_to_back_mm)} is not longer than the take-up of {said(take_up_mm)}.",
            hint="bend a longer stub and cut it.",
            field="stub height",
        )
    return Rule(
        name="deduct",
        marks=(RuleMark("90", mark, pi / 2.0, 0.0, "arrow", "A", roles.STUB),),
        how="stub height less the take-up; arrow on the mark, hook toward the stub's end",
        source=_READ,
    )


def star_rule(first_90: Bend, between_backs_mm: float, outside_diameter_mm: float) -> Rule:
    """Second 90 by the star: tape from the back of the first, star on the mark, hook toward the free end.

    The first bend's back lies R + D/2 before its arc's end on the run; the tape starts there.
    """
    back = first_90.arc_end_mm - first_90.radius_mm - outside_diameter_mm / 2.0
    return Rule(
        name="back-to-back star",
        marks=(RuleMark("second 90", back + between_backs_mm, pi / 2.0, 0.0, "star", "B", roles.BACK_TO_BACK),),
        how="tape from the back of the first 90; star on the mark, hook toward the free end",
        source=_METHOD,
    )


def offset_rule(rise_mm: float, angle_rad: float, at_mm: float, *, hook: HookEnd = "A", roll_rad: float = 0.0) -> Rule:
    """Offset by multiplier and shrink: marks at (distance + shrink) and one spacing before it, arrow on both.

    `at_mm`: from end A to where the rise must be reached. For an angle without a taught row the exact cosecant and
    tan(A/2) stand in. Raises InputError where a mark would lie before end A.
    """
    spacing, shrink, source = _offset_figures(rise_mm, angle_rad)
    second = at_mm + shrink
    first = second - spacing
    _before_end(first, at_mm)
    figures = f"multiplier {spacing / rise_mm:.4g}, shrink {said_ratio(shrink / rise_mm)}"
    return Rule(
        name="offset multiplier",
        marks=(
            RuleMark("near A", first, angle_rad, roll_rad, "arrow", hook, roles.OFFSET_FIRST),
            RuleMark("near B", second, angle_rad, roll_rad + pi, "arrow", hook, roles.OFFSET_SECOND),
        ),
        how=f"{figures}; arrow on both marks, hook toward {hook}, the second bend opposite to the first",
        source=source,
    )


def rolling_offset_rule(
    up_mm: float, aside_mm: float, angle_rad: float, at_mm: float, *, hook: HookEnd = "A", roll_rad: float = 0.0
) -> Rule:
    """Rolling offset: the offset rule on the true offset hypot(up, aside)."""
    rule = offset_rule(hypot(up_mm, aside_mm), angle_rad, at_mm, hook=hook, roll_rad=roll_rad)
    return msgspec.structs.replace(rule, name="rolling offset", how="true offset from rise and shift; " + rule.how)


def saddle_rule(rise_mm: float, outer_rad: float, centre_mm: float, *, from_centre: bool = False) -> Rule:
    """Three-bend saddle: centre mark at distance + shrink, outer marks one spacing each way.

    Push-through (hook toward end A throughout): star, centre mark, arrow in order along the conduit. From the centre
    outward (hook facing the centre): arrow on both outer marks. Raises InputError for an outer angle without a taught
    row, or where a mark would lie before end A.
    """
    row = taught_row(TAUGHT_SADDLES, outer_rad)
    if row is None:
        known = ", ".join(f"{r.angle_deg:g}" for r in TAUGHT_SADDLES)
        raise InputError(
            f"no rule of thumb is known here for outer bends of {degrees(outer_rad):g}°.",
            hint=f"the rule is taught for {known} degrees; the exact marks need no rule.",
            field="angle",
        )
    middle = centre_mm + rise_mm * row.shrink_per_rise
    aside = rise_mm * row.spacing_per_rise
    _before_end(middle - aside, centre_mm)
    outer_a: tuple[Reference, HookEnd] = ("arrow", "B") if from_centre else ("star", "A")
    how = (
        "from the center outward: center mark on the middle, then arrow on each outer mark, hook facing the center"
        if from_centre
        else "push-through, hook toward A throughout: star, center mark, arrow"
    )
    return Rule(
        name="saddle, center outward" if from_centre else "saddle, push-through",
        marks=(
            RuleMark("outer near A", middle - aside, outer_rad, 0.0, *outer_a, roles.SADDLE_OUTER),
            RuleMark("middle", middle, 2.0 * outer_rad, pi, "center", "A", roles.SADDLE_CENTER),
            RuleMark("outer near B", middle + aside, outer_rad, 0.0, "arrow", "A", roles.SADDLE_OUTER),
        ),
        how=f"{how}; shrink {said_ratio(row.shrink_per_rise)}, spacing {said_ratio(row.spacing_per_rise)}",
        source=row.source,
    )


def four_bend_rule(rise_mm: float, angle_rad: float, near_face_mm: float, flat_mm: float) -> Rule:
    """Four-bend saddle: two offsets; the second mark at the near face + shrink, the third a flat top further.

    Arrow on every mark; hook toward A on the first pair and toward B on the second, so that the two offsets are mirror
    images. Raises InputError where a mark would lie before end A.
    """
    spacing, shrink, source = _offset_figures(rise_mm, angle_rad)
    second = near_face_mm + shrink
    _before_end(second - spacing, near_face_mm)
    third = second + flat_mm
    places = (second - spacing, second, third, third + spacing)
    hooks: tuple[HookEnd, ...] = ("B", "B", "A", "A")
    rolls = (0.0, pi, pi, 0.0)
    names = ("outer near A", "top near A", "top near B", "outer near B")
    return Rule(
        name="four-bend saddle",
        marks=tuple(
            RuleMark(name, place, angle_rad, roll, "arrow", hook, roles.SADDLE_FOUR)
            for name, place, roll, hook in zip(names, places, rolls, hooks, strict=True)
        ),
        how="two offsets, arrow on every mark, hook facing the middle",
        source=source,
    )


def kick_rule(rise_mm: float, angle_rad: float) -> Rule:
    """Kick of end A: mark at rise x cosecant from end A, arrow on the mark, hook toward A."""
    return Rule(
        name="kick by cosecant",
        marks=(RuleMark("kick", rise_mm / sin(angle_rad), angle_rad, 0.0, "arrow", "A", roles.KICK),),
        how="rise times the cosecant, from the end that is lifted; arrow on the mark, hook toward that end",
        source="trigonometry without a radius; method from memory",
    )


def kick_beside_90_rules(rise_mm: float, angle_rad: float) -> tuple[tuple[str, float, str], ...]:
    """Kick beside a 90, from the back of the 90 to the middle of the kick: each rule in words, its length, source."""
    row = taught_row(TAUGHT_OFFSETS, angle_rad)
    sine = ("rise over the sine", rise_mm / sin(angle_rad), "trigonometry without a radius")
    if row is None:
        return (sine,)
    taught = (f"rise times {row.spacing_per_rise:g}", rise_mm * row.spacing_per_rise)
    return ((*taught, "read in a reprint of a course's quiz"), sine)


def even_shots_rule_mm(
    stub_to_back_mm: float, wanted_radius_mm: float, outside_diameter_mm: float, shots: int
) -> tuple[float, ...]:
    """Middles of the shots of a large 90 as taught: the developed length R pi/2 starts at stub - (R + D/2) and is cut
    into equal parts, a shot in the middle of each."""
    start = stub_to_back_mm - wanted_radius_mm - outside_diameter_mm / 2.0
    spacing = wanted_radius_mm * pi / 2.0 / shots
    return tuple(start + (index + 0.5) * spacing for index in range(shots))


def _before_end(first_mark_mm: float, at_mm: float) -> None:
    if first_mark_mm < 0.0:
        raise InputError(
            f"the rule's first mark would lie {said(-first_mark_mm)} before end A.",
            hint=f"the distance must be {said_least(at_mm - first_mark_mm)} or more, or the angle steeper.",
            field="distance",
        )
