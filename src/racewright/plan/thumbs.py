"""The rule of thumb beside the exact marks, for every shape of the run that the trade has a rule for.

A rule counts from the base of its shape: the end of the bend before it, or end A. What it would make is worked out
on this very bender, for the stretch up to the next bend. Its marks are shown for the hook and the shoe mark that the
card uses, so that the exact mark beside them is the card's own; where the trade teaches another way, `rule` says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import degrees, hypot, tan

import msgspec

from racewright.assembly.part import Part
from racewright.bends.landing import Landing, between_backs_mm, land, land_stub
from racewright.bends.model import Bend, BentPiece
from racewright.errors import RacewrightError
from racewright.marks import thumb
from racewright.marks.mark import mark_mm
from racewright.plan.model import MarkedBend, ThumbComparison, ThumbMark
from racewright.plan.pieces import Pieces
from racewright.route.model import Route, RoutedShape
from racewright.survey.model import Survey
from racewright.tools.benders import BenderProfile
from racewright.units.tape import TapeStyle, format_length, read_tape


def compare_with_thumb(
    survey: Survey, route: Route, run: BentPiece, bender: BenderProfile, cut: Pieces
) -> tuple[ThumbComparison, ...]:
    """One comparison a shape; a shape for which the trade has no rule, or whose rule fails here, has none. Nor has what
    is bent without a shoe: the rules are for a shoe's marks."""
    out: list[ThumbComparison] = []
    if bender.radius_only:
        return ()
    for index, shape in enumerate(route.shapes):
        try:
            found = _compare(survey, route.shapes, index, shape, run, bender, cut)
        except RacewrightError:
            found = None  # the rule itself gives marks that cannot be bent here: nothing to compare
        if found is not None:
            out.append(found)
    return tuple(out)


def _holder(shape: RoutedShape, cut: Pieces) -> tuple[Part, tuple[MarkedBend, ...]]:
    """The part that holds a shape's first bend, with its marks."""
    found = max(i for i, part in enumerate(cut.parts) if part.first_bend <= shape.first)
    return cut.parts[found], cut.pieces[found].bends


def _compare(
    survey: Survey,
    shapes: Sequence[RoutedShape],
    index: int,
    shape: RoutedShape,
    run: BentPiece,
    bender: BenderProfile,
    cut: Pieces,
) -> ThumbComparison | None:
    holder, marked = _holder(shape, cut)
    if shape.first + shape.count > holder.first_bend + len(holder.piece.bends):
        return None  # the shape is made of two pieces: no rule of thumb covers that
    run, plan = _within(shape, run, holder)
    shape = msgspec.structs.replace(shape, first=shape.first - holder.first_bend, plan_from_base_mm=plan)
    bends = run.bends[shape.first : shape.first + shape.count]
    base = run.bends[shape.first - 1].arc_end_mm if shape.first else 0.0
    after = shape.first + shape.count
    stretch = (run.bends[after].arc_start_mm if after < len(run.bends) else run.cut_length_mm) - base
    local = _moved(bends, -base)
    tape = survey.tape
    made = marked[shape.first : after]
    if shape.kind == "saddle 3":
        rule = thumb.saddle_rule(
            shape.rise_mm, shape.angle_rad, plan, from_centre=survey.saddle_method == "centre-outward"
        )
        return _side_by_side(shape, rule, local, made, base, stretch, bender, tape, _saddle_words)
    if shape.kind == "saddle 4":
        near = plan - shape.flat_mm / 2.0
        rule = thumb.four_bend_rule(shape.rise_mm, shape.angle_rad, near, shape.flat_mm)
        return _side_by_side(shape, rule, local, made, base, stretch, bender, tape, _saddle_words)
    if shape.kind in ("offset", "rolling offset", "box offset"):
        reach = plan + shape.rise_mm / tan(shape.angle_rad) + bender.radius_mm * tan(shape.angle_rad / 2.0)
        hook = made[0].hook if made[0].hook == made[1].hook else "A"  # the rule leaves the hook's end open
        if shape.kind == "rolling offset":
            rule = thumb.rolling_offset_rule(shape.away_mm, shape.left_mm, shape.angle_rad, reach, hook=hook)
        else:
            rule = thumb.offset_rule(shape.rise_mm, shape.angle_rad, reach, hook=hook)
        return _side_by_side(shape, rule, local, made, base, stretch, bender, tape, _offset_words)
    if shape.kind == "turn" and abs(degrees(shape.angle_rad) - 90.0) < 1e-6:
        if shape.first == 0:
            return _stub(shape, bends[0], made, run, bender, tape)
        if index and shapes[index - 1].kind == "turn" and abs(degrees(shapes[index - 1].angle_rad) - 90.0) < 1e-6:
            return _back_to_back(shape, run.bends[shape.first - 1], bends[0], made, run, bender, tape)
    return None


def _within(shape: RoutedShape, run: BentPiece, holder: Part) -> tuple[BentPiece, float]:
    """The piece that holds the shape, and the shape's plan distance from the base as that piece has it: what lies
    before a coupling is gone from it, all of it straight."""
    if shape.first > holder.first_bend:
        return holder.piece, shape.plan_from_base_mm
    before = run.bends[shape.first - 1].arc_end_mm if shape.first else 0.0
    return holder.piece, shape.plan_from_base_mm - (holder.start_mm - before)


def _moved(bends: Sequence[Bend], by_mm: float) -> tuple[Bend, ...]:
    first_roll = bends[0].roll_rad
    return tuple(
        msgspec.structs.replace(b, arc_start_mm=b.arc_start_mm + by_mm, roll_rad=b.roll_rad - first_roll) for b in bends
    )


def _marks(
    rule: thumb.Rule, made: Sequence[MarkedBend], base: float, bender: BenderProfile, tape: TapeStyle
) -> tuple[ThumbMark, ...]:
    """The rule's bends and the card's, both by the card's own hook and shoe mark."""
    out = []
    for mark, by_rule, card in zip(rule.marks, thumb.bends_of_rule(rule, bender), made, strict=True):
        at = mark_mm(by_rule.arc_start_mm, by_rule.arc_end_mm, card.hook, card.reference, bender) + base
        out.append(
            ThumbMark(
                label=f"{mark.label} ({card.reference}, hook {card.hook})",
                rule_mm=at,
                rule_tape=read_tape(at, tape).text,
                exact_mm=card.mark_mm,
                exact_tape=card.mark_tape,
            )
        )
    return tuple(out)


def _told(rule: thumb.Rule, made: Sequence[MarkedBend], base: float, tape: TapeStyle, more: str = "") -> str:
    """The rule in words; where the card bends another way than the trade teaches, the marks as they are taught."""
    text = f"{rule.name}: {rule.how}{more}"
    other = [
        f"{mark.label} {format_length(mark.mark_mm + base, tape)}, {mark.reference}, hook {mark.hook}"
        for mark, card in zip(rule.marks, made, strict=True)
        if (mark.reference, mark.hook) != (card.reference, card.hook)
    ]
    if not other:
        return text
    return (
        f"{text}. This card bends another way than the trade teaches, so the rule's marks below are carried over to"
        f" the card's hook and shoe mark; as taught they are: {'; '.join(other)}"
    )


def _side_by_side(
    shape: RoutedShape,
    rule: thumb.Rule,
    local: tuple[Bend, ...],
    made: Sequence[MarkedBend],
    base: float,
    stretch: float,
    bender: BenderProfile,
    tape: TapeStyle,
    words: Callable[[Landing, str, TapeStyle], str],
) -> ThumbComparison:
    by_rule = thumb.land_rule(rule, bender, stretch)
    counted = "from the bend before" if base else "from end A"
    return ThumbComparison(
        shape=shape.label,
        rule=_told(rule, made, base, tape),
        marks=_marks(rule, made, base, bender, tape),
        landing_rule=words(by_rule, counted, tape),
        landing_exact=words(land(local, stretch), counted, tape),
    )


def _saddle_words(landing: Landing, counted: str, tape: TapeStyle) -> str:
    return (
        f"top rises {format_length(landing.apex_mm, tape)} at {format_length(landing.apex_plan_mm, tape)} {counted},"
        f" far end {format_length(hypot(landing.end_rise_mm, landing.end_aside_mm), tape)} off the line"
    )


def _offset_words(landing: Landing, counted: str, tape: TapeStyle) -> str:
    return (
        f"rises {format_length(landing.leg_rise_mm, tape)}, on its new line at"
        f" {format_length(landing.leg_plan_mm, tape)} {counted}, end at {format_length(landing.end_plan_mm, tape)}"
    )


def _stub(
    shape: RoutedShape, bend: Bend, card: Sequence[MarkedBend], run: BentPiece, bender: BenderProfile, tape: TapeStyle
) -> ThumbComparison | None:
    # the deduct is one figure for the angle it was taught for; it knows nothing of the conduit's real radius
    rule = thumb.deduct_rule(shape.plan_from_base_mm, float(_taught(bender.take_up_mm)))
    made = thumb.bends_of_rule(rule, bender)
    length = run.cut_length_mm
    diameter = run.outside_diameter_mm
    return ThumbComparison(
        shape=shape.label,
        rule=_told(rule, card, 0.0, tape, f" ({format_length(_taught(bender.take_up_mm), tape)})"),
        marks=_marks(rule, card, 0.0, bender, tape),
        landing_rule=f"stub to back {format_length(land_stub(made, length, diameter), tape)}",
        landing_exact=f"stub to back {format_length(land_stub((bend,), length, diameter), tape)}",
    )


def _taught(take_up_mm: float) -> float:
    """Take-ups are taught and stamped in whole quarters of an inch."""
    return round(take_up_mm / 6.35) * 6.35


def _back_to_back(
    shape: RoutedShape,
    before: Bend,
    bend: Bend,
    card: Sequence[MarkedBend],
    run: BentPiece,
    bender: BenderProfile,
    tape: TapeStyle,
) -> ThumbComparison | None:
    diameter = run.outside_diameter_mm
    twist = bend.roll_rad - before.roll_rad
    if abs(twist) > 1e-9:
        return None
    before, bend = (msgspec.structs.replace(b, roll_rad=0.0) for b in (before, bend))
    backs = between_backs_mm((before, bend), diameter)
    rule = thumb.star_rule(before, backs, diameter)
    made = (before, *thumb.bends_of_rule(rule, bender))
    return ThumbComparison(
        shape=shape.label,
        rule=_told(rule, card, 0.0, tape),
        marks=_marks(rule, card, 0.0, bender, tape),
        landing_rule=f"backs {format_length(between_backs_mm(made, diameter), tape)} apart",
        landing_exact=f"backs {format_length(backs, tape)} apart",
    )
