"""The kinds of practice problem: what is measured, what is asked, how the answer comes about.

Every problem is a survey that the planner plans; the answers are read off its plan. The lines of the way name the
trade's rule beside the exact figure (rules of thumb: common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable
from math import atan2, cos, degrees, hypot, radians, sin, tan
from random import Random
from typing import Any, Literal, NamedTuple

import msgspec

from racewright.bends import roles
from racewright.operations.common import Part
from racewright.plan.model import MarkedBend, Plan
from racewright.survey.written import WrittenSurvey
from racewright.units.tape import TapeStyle, format_length, read_tape


class PracticeResult(Part, frozen=True, kw_only=True):
    """One thing asked: its name, the answer as text, and the exact figure in `unit` (mm or deg). `within` is how far
    an answer may be off and still count as right, in the same unit."""

    name: str
    text: str
    value: float
    unit: Literal["mm", "deg"]
    within: float


class Problem(Part, frozen=True, kw_only=True):
    """One problem: what was measured, what is asked, the answers, and the way to them line by line. `picture` shows
    what was measured, `answer_picture` the bent conduit (SVG documents). `survey` is the run as a survey file where
    the problem is a whole run, else null."""

    number: int
    kind: str
    title: str
    given: tuple[str, ...]
    asked: tuple[str, ...]
    results: tuple[PracticeResult, ...]
    worked: tuple[str, ...]
    picture: str
    answer_picture: str
    survey: WrittenSurvey | None


ANGLES_DEG = (22.5, 30.0, 45.0)


class Draft(msgspec.Struct, frozen=True, kw_only=True):
    """A problem before it is planned: the walk of the survey, what it says, what it asks."""

    walk: list[dict[str, Any]]
    given: tuple[str, ...]
    asked: tuple[str, ...]


class Dice(NamedTuple):
    """Throws that are the same in every Python: only `random()` is used, whose row a seed fixes for good."""

    source: Random
    style: TapeStyle
    radius_mm: float
    stock_mm: float

    def pick(self, options: tuple[float, ...]) -> float:
        """One of these."""
        return options[int(self.source.random() * len(options))]

    def length(self, low_radii: float, high_radii: float) -> str:
        """A length between so many bend radii, in eighths of an inch or 5 mm, with its unit."""
        return self._between(low_radii * self.radius_mm, high_radii * self.radius_mm)

    def rise(self, low_radii: float, high_radii: float) -> str:
        """A height or a rise, likewise, but one that ends on 1/8, 1/4, 5/8 or 3/4: not the round ones of textbooks."""
        return self._between(low_radii * self.radius_mm, high_radii * self.radius_mm, to=(1, 0, 0, -1))

    def run(self, low_radii: float, high_radii: float) -> str:
        """The same for lengths along the run, which must come out of one stick whatever the radius."""
        unit_mm = min(self.radius_mm, self.stock_mm / 24.0)
        return self._between(low_radii * unit_mm, high_radii * unit_mm)

    def _between(self, low_mm: float, high_mm: float, to: tuple[int, ...] = (0,)) -> str:
        step = 25.4 / 8.0 if self.style.unit == "in" else 5.0
        low, high = round(low_mm / step), round(high_mm / step)
        count = low + int(self.source.random() * (high - low + 1))
        count += to[count % len(to)]
        return f"{read_tape(count * step, self.style).text} {self.style.unit}"


Make = Callable[[Dice], Draft]
Solve = Callable[[Plan], tuple[tuple[PracticeResult, ...], tuple[str, ...]]]


class ProblemKind(NamedTuple):
    """A kind: its title, what to know `before` it, how to make one, how to answer it."""

    title: str
    before: str
    make: Make
    solve: Solve


def _bends(plan: Plan) -> list[MarkedBend]:
    return sorted(plan.pieces[0].bends, key=lambda bend: bend.number)


def _said(value_mm: float, plan: Plan) -> str:
    return format_length(value_mm, plan.tape)


def _length(name: str, value_mm: float, plan: Plan) -> PracticeResult:
    within = 2.0 * float(plan.tape.step_mm) if plan.tape.unit == "in" else 3.0
    return PracticeResult(name=name, text=_said(value_mm, plan), value=value_mm, unit="mm", within=within)


def _angle(name: str, value_rad: float) -> PracticeResult:
    value = degrees(value_rad)
    return PracticeResult(name=name, text=f"{value:.1f}°", value=value, unit="deg", within=0.5)


def _cut(plan: Plan) -> PracticeResult:
    return _length("length to cut", plan.pieces[0].cut_length_mm, plan)


def _stub(dice: Dice) -> Draft:
    height, leg = dice.length(2.6, 5.5), dice.length(4.0, 9.0)
    return Draft(
        walk=[{"leg": height}, {"turn": "away"}, {"leg": leg}],
        given=(f"A 90: the stub at end A is {height} to its back, the other leg is {leg} to its back.",),
        asked=("Where does the arrow's mark go, from end A, hook toward end A?", "How long is the piece cut?"),
    )


def _solve_stub(plan: Plan) -> tuple[tuple[PracticeResult, ...], tuple[str, ...]]:
    (bend,) = _bends(plan)
    mark = bend.all_marks_mm["A arrow"]
    take_up, gain = plan.shoe.take_up_mm, plan.shoe.gain_mm
    stub = mark + take_up
    cut = plan.pieces[0].cut_length_mm
    return (_length("mark at the arrow", mark, plan), _cut(plan)), (
        f"This shoe's take-up is {_said(take_up, plan)}: from the arrow's mark to the back of a 90.",
        f"Mark: {_said(stub, plan)} - {_said(take_up, plan)} = {_said(mark, plan)}.",
        f"A 90 saves the gain, {_said(gain, plan)}: stub + leg - gain = {_said(cut, plan)}.",
    )


def _two_nineties(dice: Dice) -> Draft:
    first, middle, last = dice.length(2.6, 4.5), dice.length(5.0, 12.0), dice.length(2.6, 4.5)
    return Draft(
        walk=[{"leg": first}, {"turn": "away"}, {"leg": middle}, {"turn": "away"}, {"leg": last}],
        given=(f"A U of two 90s: stubs {first} at A and {last} at B to their backs, {middle} back to back.",),
        asked=(
            "Where does the first mark go (arrow, hook toward A)?",
            "Where does the second mark go (star, hook toward B)?",
            "How long is the piece cut?",
        ),
    )


def _solve_two_nineties(plan: Plan) -> tuple[tuple[PracticeResult, ...], tuple[str, ...]]:
    first, second = _bends(plan)
    one, two = first.all_marks_mm["A arrow"], second.all_marks_mm["B star"]
    stub = one + plan.shoe.take_up_mm
    between = two - stub + plan.shoe.gain_mm
    take_up = plan.shoe.take_up_mm
    return (_length("first mark", one, plan), _length("second mark", two, plan), _cut(plan)), (
        f"First mark: stub - take-up = {_said(stub, plan)} - {_said(take_up, plan)} = {_said(one, plan)}.",
        f"The star stands at the back of a 90. Along the conduit that back is stub + middle - gain: "
        f"{_said(stub, plan)} + {_said(between, plan)} - {_said(plan.shoe.gain_mm, plan)} = {_said(two, plan)}.",
        "Taking the back-to-back measure without the gain puts the second stub too far out by the whole gain.",
        f"Cut: the three legs less two gains = {_said(plan.pieces[0].cut_length_mm, plan)}.",
    )


def _offset(dice: Dice) -> Draft:
    rise, start, leg = dice.rise(0.7, 2.2), dice.run(3.0, 5.0), dice.run(14.0, 18.0)
    angle = dice.pick(ANGLES_DEG)
    return Draft(
        walk=[{"leg": leg, "features": [{"offset": {"rise": rise, "starts_at": start, "angle": f"{angle:g}"}}]}],
        given=(f"An offset of {rise} at {angle:g}°; it begins {start} from end A. The run is {leg} long.",),
        asked=(
            "How far apart are the two marks?",
            "How much longer is the conduit than the run?",
            "Where do the marks go (arrow, hook toward A)?",
        ),
    )


def _solve_offset(plan: Plan) -> tuple[tuple[PracticeResult, ...], tuple[str, ...]]:
    one, two = _bends(plan)
    marks = one.all_marks_mm["A arrow"], two.all_marks_mm["A arrow"]
    angle = radians(one.angle_deg)
    rise = hypot(plan.corners_mm[2][1] - plan.corners_mm[1][1], plan.corners_mm[2][2] - plan.corners_mm[1][2])
    spacing, rule = marks[1] - marks[0], rise / sin(angle)
    shrink = plan.developed_length_mm - (plan.corners_mm[-1][0] - plan.corners_mm[0][0])
    return (
        _length("distance between the marks", spacing, plan),
        _length("longer by", shrink, plan),
        _length("first mark", marks[0], plan),
        _length("second mark", marks[1], plan),
    ), (
        f"Rule: rise x 1/sin {one.angle_deg:g}° = {_said(rise, plan)} x {1.0 / sin(angle):.2f} = {_said(rule, plan)}.",
        f"Exact: the rule's line cuts both corners; arcs of radius {_said(plan.shoe.radius_mm, plan)} save "
        f"{_said(rule - spacing, plan)}, so {_said(spacing, plan)}.",
        f"Longer by: rise x tan({one.angle_deg / 2.0:g}°) = {_said(rise * tan(angle / 2.0), plan)} by the corners, "
        f"{_said(shrink, plan)} with the arcs.",
        f"Marks from end A: {_said(marks[0], plan)} and {_said(marks[1], plan)}.",
    )


def _rolling(dice: Dice) -> Draft:
    rise, shift, start = dice.rise(0.7, 1.5), dice.rise(0.7, 1.8), dice.run(3.0, 5.0)
    angle, leg = dice.pick(ANGLES_DEG), dice.run(14.0, 18.0)
    feature = {"rise": rise, "shift": shift, "starts_at": start, "angle": f"{angle:g}"}
    return Draft(
        walk=[{"leg": leg, "features": [{"offset": feature}]}],
        given=(
            f"A rolling offset at {angle:g}°: {rise} away from the surface and {shift} to the left; it begins {start} "
            f"from end A. The run is {leg} long.",
        ),
        asked=(
            "What is the true offset?",
            "What is the roll: the angle of its plane, counted from straight away from the surface?",
            "How far apart are the two marks?",
        ),
    )


def _solve_rolling(plan: Plan) -> tuple[tuple[PracticeResult, ...], tuple[str, ...]]:
    one, two = _bends(plan)
    dy = plan.corners_mm[2][1] - plan.corners_mm[1][1]
    dz = plan.corners_mm[2][2] - plan.corners_mm[1][2]
    true, roll, angle = hypot(dy, dz), atan2(abs(dy), abs(dz)), radians(one.angle_deg)
    spacing = two.all_marks_mm["A arrow"] - one.all_marks_mm["A arrow"]
    return (
        _length("true offset", true, plan),
        _angle("roll", roll),
        _length("distance between the marks", spacing, plan),
    ), (
        f"True offset: the root of {_said(abs(dz), plan)}² + {_said(abs(dy), plan)}² = {_said(true, plan)}.",
        f"Roll: the angle whose tangent is {_said(abs(dy), plan)} / {_said(abs(dz), plan)} = {degrees(roll):.1f}°.",
        f"Rule: {_said(true, plan)} x {1.0 / sin(angle):.2f} = {_said(true / sin(angle), plan)}; "
        f"exact with the arcs {_said(spacing, plan)}.",
    )


def _saddle(dice: Dice, bends: str) -> Draft:
    height, leg = dice.rise(0.35, 0.9), dice.run(15.0, 19.0)
    thing: dict[str, Any] = {"height": height, "bends": bends}
    words = "a pipe"
    if bends == "4":
        width = dice.length(1.0, 2.5)
        thing |= {"over": "square", "width": width}
        words = f"a duct {width} wide,"
    centre = dice.run(6.5, 8.5)
    angle = dice.pick((22.5, 30.0))
    thing |= {"centre": centre, "angle": f"{angle:g}"}
    count = "three" if bends == "3" else "four"
    return Draft(
        walk=[{"leg": leg, "features": [{"saddle": thing}]}],
        given=(
            f"A saddle of {count} bends over {words} {height} high, its middle {centre} from end A. "
            f"The {'outer bends are' if bends == '3' else 'bends are'} {angle:g}°. The run is {leg} long.",
        ),
        asked=("Where do the marks go?", "How long is the piece cut?"),
    )


def _solve_saddle(plan: Plan) -> tuple[tuple[PracticeResult, ...], tuple[str, ...]]:
    bends = _bends(plan)
    results = []
    for bend in bends:
        middle = bend.role == roles.SADDLE_CENTER
        value = bend.all_marks_mm["A center" if middle else "A arrow"]
        name = "middle mark (center mark of the shoe)" if middle else f"mark {bend.number} (arrow, hook toward A)"
        results.append(_length(name, value, plan))
    angle = radians(bends[0].angle_deg)
    rise = max(p[2] for p in plan.corners_mm) - plan.corners_mm[0][2]
    apart, slope = _said(rise / tan(angle), plan), _said(rise / sin(angle), plan)
    times = f"rise x {1.0 / sin(angle):.2f}"
    lines = [f"The corners lie {apart} apart along the run: rise / tan {bends[0].angle_deg:g}°."]
    if len(bends) == 3:
        lines.append(
            f"On the slope that is {slope} from corner to corner ({times}); the rule of thumb marks the outer bends "
            "that far from the middle."
        )
        lines.append(
            f"The saddle takes up length before its middle, so the middle mark lies beyond the measured place: "
            f"at {results[1].text}."
        )
    else:
        lines.append(f"Each side is an offset: {times} = {slope} by the rule.")
        lines.append("The two inner corners stand over the edges, with room for the conduit's half beside them.")
    lines.append("Exact marks take the arcs into account: " + ", ".join(r.text for r in results) + ".")
    lines.append(f"Cut: the conduit's axis is {_said(plan.developed_length_mm, plan)} long.")
    return (*results, _cut(plan)), tuple(lines)


def _kick(dice: Dice) -> Draft:
    rise, start, leg = dice.rise(0.5, 1.4), dice.run(3.0, 5.0), dice.run(9.0, 13.0)
    up = dice.length(3.0, 5.5)
    return Draft(
        walk=[
            {"leg": leg, "features": [{"kick": {"rise": rise, "toward": "left", "starts_at": start}}]},
            {"turn": "away"},
            {"leg": up},
        ],
        given=(
            f"A kick and a 90: the kick begins {start} from end A and has gone {rise} to the left where the 90 turns "
            f"up. The first leg is {leg} to the 90's back, the other {up} to its back.",
        ),
        asked=(
            "What is the kick's angle?",
            "Where do the two marks go (arrow, hook toward A)?",
            "How long is the cut?",
        ),
    )


def _solve_kick(plan: Plan) -> tuple[tuple[PracticeResult, ...], tuple[str, ...]]:
    one, two = _bends(plan)
    aside = abs(plan.corners_mm[2][1] - plan.corners_mm[1][1])
    along = plan.corners_mm[2][0] - plan.corners_mm[1][0]
    angle = radians(one.angle_deg)
    marks = one.all_marks_mm["A arrow"], two.all_marks_mm["A arrow"]
    return (
        _angle("angle of the kick", angle),
        _length("first mark", marks[0], plan),
        _length("second mark", marks[1], plan),
        _cut(plan),
    ), (
        f"From the kick's corner to the 90's corner it goes {_said(along, plan)} along and {_said(aside, plan)} aside.",
        f"Angle: the one whose tangent is {_said(aside, plan)} / {_said(along, plan)}: {one.angle_deg:.1f}°.",
        f"On the slope it is {_said(along / cos(angle), plan)}, longer than along the wall.",
        f"Exact marks: {_said(marks[0], plan)} and {_said(marks[1], plan)}; for the 90 it is rotated 90°.",
    )


def _combined(dice: Dice) -> Draft:
    up, rise, height = dice.length(2.8, 4.0), dice.rise(0.5, 1.0), dice.rise(0.35, 0.6)
    centre, start, leg = dice.run(7.0, 8.0), dice.run(12.5, 13.5), dice.run(17.5, 18.5)
    angle = dice.pick((22.5, 30.0))
    return Draft(
        walk=[
            {"leg": up},
            {"turn": "away"},
            {
                "leg": leg,
                "features": [
                    {"saddle": {"height": height, "bends": "3", "centre": centre, "angle": f"{angle:g}"}},
                    {"offset": {"rise": rise, "starts_at": start, "angle": f"{angle:g}"}},
                ],
            },
        ],
        given=(
            f"One piece with a stub, a saddle and an offset. The stub at end A is {up} to the back of its 90.",
            f"From that back: a saddle of three bends over a pipe {height} high, its middle at {centre}, its outer "
            f"bends {angle:g}°; an offset of {rise} away from the surface at {angle:g}°, which begins at {start}. The "
            f"leg is {leg} long.",
        ),
        asked=("Where do the six marks go?", "How long is the piece cut?"),
    )


def _solve_combined(plan: Plan) -> tuple[tuple[PracticeResult, ...], tuple[str, ...]]:
    bends = _bends(plan)
    ninety, one, two = bends[0], *bends[-2:]
    results = []
    for bend in bends:
        middle = bend.role == roles.SADDLE_CENTER
        name = f"mark {bend.number} ({'center mark' if middle else 'arrow'}, hook toward A)"
        results.append(_length(name, bend.all_marks_mm["A center" if middle else "A arrow"], plan))
    shoe = plan.shoe
    stub = ninety.all_marks_mm["A arrow"] + shoe.take_up_mm
    spacing = two.all_marks_mm["A arrow"] - one.all_marks_mm["A arrow"]
    return (*results, _cut(plan)), (
        f"The 90 first: stub - take-up = {_said(stub, plan)} - {_said(shoe.take_up_mm, plan)} = {results[0].text}.",
        f"All that is measured from the back of the 90 lies the gain, {_said(shoe.gain_mm, plan)}, nearer to end A "
        "along the conduit.",
        f"The saddle's marks in this piece: {', '.join(r.text for r in results[1:4])}. What it is longer by moves all "
        "marks after it toward end B.",
        f"The offset's marks are {_said(spacing, plan)} apart, as for an offset alone.",
        f"Cut: the conduit's axis is {_said(plan.developed_length_mm, plan)} long.",
    )


#: In the order in which they are learned.
PROBLEM_KINDS: dict[str, ProblemKind] = {
    "stub": ProblemKind(
        "A 90 with a stub",
        "A tape read to 1/16 inch or to the millimeter; your shoe's arrow and its take-up.",
        _stub,
        _solve_stub,
    ),
    "back to back": ProblemKind(
        "Two 90s back to back",
        "A stub that comes out; the star of the shoe; the gain, and the hook turned toward the other end.",
        _two_nineties,
        _solve_two_nineties,
    ),
    "offset": ProblemKind(
        "An offset",
        "An angle read with a level after letting go; sighting for a dog-leg; one over the sine of the angle.",
        _offset,
        _solve_offset,
    ),
    "saddle 3": ProblemKind(
        "A saddle of three bends",
        "An offset without a dog-leg; the center mark of the shoe; bending with the handle on the floor.",
        lambda dice: _saddle(dice, "3"),
        _solve_saddle,
    ),
    "saddle 4": ProblemKind(
        "A saddle of four bends",
        "Two offsets alike; a saddle of three bends that lies flat.",
        lambda dice: _saddle(dice, "4"),
        _solve_saddle,
    ),
    "kick": ProblemKind(
        "A kick and a 90",
        "A stub; an angle from its tangent; turning the conduit by 90° in the shoe.",
        _kick,
        _solve_kick,
    ),
    "rolling offset": ProblemKind(
        "A rolling offset",
        "An offset; the true offset from rise and shift, by the square root or with a square.",
        _rolling,
        _solve_rolling,
    ),
    "combined": ProblemKind(
        "A stub, a saddle and an offset in one piece",
        "Each of the three alone; all marks counted from one end; the order in which nothing hits the shoe.",
        _combined,
        _solve_combined,
    ),
}
