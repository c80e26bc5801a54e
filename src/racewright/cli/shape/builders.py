"""From the arguments of `racewright shape NAME` to a report: one function a shape."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import sin

import msgspec

from racewright.bends import choices, landing
from racewright.bends.back_to_back import back_to_back
from racewright.bends.kick import Kick, kick, kick_at_angle, kick_beside_90
from racewright.bends.model import Bend
from racewright.bends.offset import Offset, box_offset, offset, rolling_offset
from racewright.bends.stub import stub_up
from racewright.cards.text.shape import Report, Table
from racewright.cli.shape.asked import Asked, add_rule, room_note
from racewright.cli.shape.racks import concentric, rack, segmented
from racewright.cli.shape.saddles import saddle, saddle_of_four
from racewright.errors import InputError
from racewright.marks import thumb
from racewright.marks.mark import HookEnd
from racewright.units.angle import format_angle


def stub(asked: Asked) -> Report:
    """Stub-up 90."""
    bender, to = asked.bender, asked.args.to
    made = stub_up(asked.length("height"), bender.radius_mm, bender.outside_diameter_mm, measured_to=to)
    report = asked.report(f"Stub-up: {asked.said('height')} to the {to}, 90°")
    report.length("stub to the back", made.height_mm)
    report.length("least stub to the back", made.least_height_mm)
    report.length("gain over the backs", made.back_gain_mm)
    leg = asked.maybe("leg")
    if leg is not None:
        report.length("leg to the back", leg)
        report.cut(made.cut_length_mm(leg))
    bends = made.bends(made.arc_start_mm, "stub")
    report.bends = bends
    diameter = bender.outside_diameter_mm

    def words(rule_bends: Sequence[Bend], length: float) -> str:
        stands = landing.land_stub(rule_bends, length, diameter).height_to_back_mm
        return f"stub stands {report.shown(stands)} to the back"

    add_rule(report, lambda: thumb.deduct_rule(made.height_mm, bender.take_up_mm), bends, None, words)
    return report


def two_nineties(asked: Asked) -> Report:
    """Back-to-back 90s."""
    bender, to = asked.bender, asked.args.to
    diameter = bender.outside_diameter_mm
    made = back_to_back(asked.length("distance"), bender.radius_mm, diameter, measured_to=to)
    report = asked.report(f"Two 90s, {asked.said('distance')} apart, {to} to {to}")
    report.length("between the backs", made.between_backs_mm)
    report.length("straight between the arcs", made.straight_mm)
    report.length("least between the backs", made.least_between_backs_mm)
    first_stub = asked.maybe("stub")
    start = bender.arrow_lead_mm
    report.counted_from = "the first bend's arrow mark (give --stub to count from end A)"
    if first_stub is not None:
        start = stub_up(first_stub, bender.radius_mm, diameter).arc_start_mm
        report.counted_from = "end A"
        second = asked.maybe("second_stub")
        if second is not None:
            stub_up(second, bender.radius_mm, diameter)
            report.cut(made.cut_length_mm(first_stub, second))
    bends = made.bends(start, "back-to-back")
    report.bends = bends

    def words(rule_bends: Sequence[Bend], _length: float) -> str:
        pair = (bends[0], *rule_bends[-1:])
        return f"backs {report.shown(landing.between_backs_mm(pair, diameter))} apart"

    add_rule(report, lambda: thumb.star_rule(bends[0], made.between_backs_mm, diameter), bends[1:], None, words)
    room_note(report, made.straight_mm, asked)
    return report


def one_kick(asked: Asked) -> Report:
    """Kick, alone or beside a 90."""
    bender, rise = asked.bender, asked.length("rise")
    travel = asked.maybe("travel")
    if (travel is None) == (asked.args.angle is None):
        raise InputError(
            "a kick needs --travel or --angle, one of them.", hint="give --travel 20, or --angle 30", field="--travel"
        )
    if travel is not None:
        made = kick(rise, travel, bender.radius_mm)
    else:
        made = kick_at_angle(rise, asked.angle(), bender.radius_mm)
    if asked.args.beside_90:
        return _beside_90(asked, kick_beside_90(rise, made.travel_mm, bender.radius_mm))
    report = asked.report(f"Kick: end A lifted {asked.said('rise')}")
    report.length("travel, end A to the far end of the arc", made.travel_mm)
    _kick_facts(report, made, with_plain=travel is not None)
    # The lifted end is end A, so the kick is used the other way round: its arc ends one travel from end A.
    bends = made.bends(made.straight_mm, "kick")
    report.bends = bends

    def words(rule_bends: Sequence[Bend], length: float) -> str:
        flipped = [msgspec.structs.replace(b, arc_start_mm=length - b.arc_end_mm) for b in rule_bends]
        return f"end A is lifted {report.shown(landing.land(flipped, length).end_rise_mm)}"

    add_rule(report, lambda: thumb.kick_rule(rise, made.angle_rad), bends, None, words)
    return report


def _beside_90(asked: Asked, made: Kick) -> Report:
    bender, half = asked.bender, asked.bender.outside_diameter_mm / 2.0
    report = asked.report(f"Kick beside a 90: {asked.said('rise')} off the run")
    back = made.middle_to_far_mm + half
    report.length("from the back of the 90 to the middle of the kick", back)
    report.length("from the kick's start to the 90's corner, along the conduit", made.travel_mm)
    _kick_facts(report, made, with_plain=False)
    report.bends = made.bends(bender.arrow_lead_mm, "kick")
    report.counted_from = "the kick's arrow mark; the 90 stands across the kick's plane, toward end B"
    rows = [
        (
            f"{how} ({source})",
            report.shown(by_rule),
            report.shown(back),
            report.shown(made.rise_mm + (by_rule - back) * sin(made.angle_rad)),
        )
        for how, by_rule, source in thumb.kick_beside_90_rules(made.rise_mm, made.angle_rad)
    ]
    report.tables.append(
        Table(
            title="Rule of thumb, from the back of the 90 to the middle of the kick",
            head=("rule", "by the rule", "exact", "the rule sets the 90 off by"),
            rows=tuple(rows),
        )
    )
    room_note(report, made.straight_mm, asked)
    return report


def two_bend_offset(asked: Asked) -> Report:
    """Offset."""
    rise, bender = asked.length("rise"), asked.bender
    made = offset(rise, asked.angle(), bender.radius_mm)
    report = asked.report(f"Offset: {asked.said('rise')} at {format_angle(made.angle_rad)}")
    _offset_report(report, asked, made, lambda at, hook: thumb.offset_rule(rise, made.angle_rad, at, hook=hook))
    return report


def small_offset(asked: Asked) -> Report:
    """Box offset."""
    made = box_offset(
        asked.length("rise"),
        asked.bender.radius_mm,
        spacing_mm=asked.maybe("spacing"),
        plan_mm=asked.maybe("room"),
        least_straight_mm=0.0 if asked.args.spacing or asked.args.room else asked.hook_room,
    )
    report = asked.report(f"Box offset: {asked.said('rise')}")
    report.angle("angle of both bends", made.angle_rad)
    _offset_report(report, asked, made, None)
    return report


def tilted_offset(asked: Asked) -> Report:
    """Rolling offset."""
    up, aside, bender = asked.length("rise", signed=True), asked.length("roll", signed=True), asked.bender
    made = rolling_offset(up, aside, asked.angle(), bender.radius_mm)
    report = asked.report(
        f"Rolling offset: {asked.said('rise')} up, {asked.said('roll')} to the right, at {format_angle(made.angle_rad)}"
    )
    report.length("true offset", made.rise_mm)
    report.angle("plane tilted from the rise, to the right looking from A to B", made.roll_angle_rad)
    roll = made.roll_angle_rad
    _offset_report(
        report,
        asked,
        made,
        lambda at, hook: thumb.rolling_offset_rule(up, aside, made.angle_rad, at, hook=hook, roll_rad=roll),
    )
    return report


def _kick_facts(report: Report, made: Kick, *, with_plain: bool) -> None:
    report.rise_mm = made.rise_mm
    report.angle("angle", made.angle_rad)
    if made.plain_angle_rad is not None and with_plain:
        report.angle("angle without the radius (rise over travel)", made.plain_angle_rad)
    report.length("straight between" if len(made.turns) > 1 else "straight from end A to the arc", made.straight_mm)
    report.length("reach in plan", made.reach_mm)


def _offset_report(
    report: Report, asked: Asked, made: Offset, rule: Callable[[float, HookEnd], thumb.Rule] | None
) -> None:
    at = asked.maybe("at")
    report.rise_mm = made.rise_mm
    report.length("spacing, mark to mark", made.spacing_mm)
    report.length("straight between the arcs", made.straight_mm)
    report.length("shrink", made.shrink_mm)
    report.length("room along the run", made.plan_mm)
    report.length("least rise at this angle", made.least_rise_mm)
    start = asked.bender.arrow_lead_mm
    report.counted_from = "the first arrow mark (give --at to count from end A)"
    if at is not None:
        start = made.start_for_full_rise_mm(at)
        report.counted_from = "end A"
        report.length("whole rise reached, from end A", at)
    bends = made.bends(start, "offset", 0.0)
    report.bends = bends

    def words(rule_bends: Sequence[Bend], length: float) -> str:
        got = landing.land(rule_bends, length)
        rise = (got.leg_rise_mm**2 + got.leg_aside_mm**2) ** 0.5
        text = f"rises {report.shown(rise)}"
        return f"{text}, whole rise reached {report.shown(got.leg_plan_mm)} from end A" if at is not None else text

    if rule is not None and at is None:
        # The rule's first mark goes on the exact first mark, so that only the spacing is compared.
        spot = 1e6 - rule(1e6, "A").marks[0].mark_mm
        add_rule(report, lambda: rule(spot, "A"), bends, None, words)
    elif rule is not None and at is not None:
        distance = at
        hooks: tuple[HookEnd, ...] = ("A", "B")
        for hook in hooks:
            add_rule(report, partial(rule, distance, hook), bends, None, words)
    room_note(report, made.straight_mm, asked)
    rows = choices.offset_choices(made.rise_mm, made.radius_mm, asked.hook_room, room_mm=asked.maybe("room"))
    report.choices.append(("Other angles for this rise", rows))


BUILDERS: dict[str, Callable[[Asked], Report]] = {
    "stub": stub,
    "back-to-back": two_nineties,
    "kick": one_kick,
    "offset": two_bend_offset,
    "box-offset": small_offset,
    "rolling-offset": tilted_offset,
    "saddle": saddle,
    "four-bend-saddle": saddle_of_four,
    "parallel-offset": rack,
    "parallel-kick": rack,
    "concentric": concentric,
    "segmented": segmented,
}
