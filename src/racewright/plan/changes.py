"""What a person can change where a piece cannot be bent, one thing at a time, as a foreman would try it.

Each change is the survey (or the bender) with it made, and the words and fields that tell it.

Nothing here says that a change helps: `plan/advice.py` tries them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, radians
from typing import Literal

import msgspec
from msgspec.structs import replace

from racewright.assembly.between import sold_mm
from racewright.bends.choices import USUAL_ANGLES_DEG
from racewright.plan.model import Plan, PlannedShape
from racewright.survey.model import EndFitting, Feature, KeepClear, Kick, Leg, Offset, Saddle, Survey
from racewright.tools.benders import BenderProfile, is_taught
from racewright.units.tape import TapeStyle, format_length, read_tape

#: Angles nearer to one another than this are one: no level shows it (degrees).
_SAME_DEG = 0.05
#: Steps by which a place or a leg is moved: what a person would say, and how many of them are tried.
STEP_MM = {"in": 25.4, "mm": 25.0}
MOST_STEPS = 48
#: Legs that are tried longer where it is known which bends bind.
_MOST_LEGS = 4
LONGER_STICKS = "longer sticks"
#: Sticks are longer by such steps (a foot, 300 mm), and none is sold that is longer than the most (20 ft and 6 m,
#: common practice, no source); a grip is shorter by such.
_STICK_STEP_MM = {"in": 304.8, "mm": 300.0}
_LONGEST_SOLD_MM = {"in": 6096.0, "mm": 6000.0}
_GRIP_STEP_MM = {"in": 12.7, "mm": 10.0}


class Change(msgspec.Struct, frozen=True):
    """`does`: what to do, in words; `fields`: what to write where ('' : leave it out); the survey and bender of it;
    `behind`: what lies behind a pull fitting, a run of its own."""

    does: str
    fields: dict[str, str]
    survey: Survey
    bender: BenderProfile | None
    behind: Survey | None = None

    @property
    def runs(self) -> tuple[Survey, ...]:
        """The runs that it makes of the one."""
        return (self.survey,) if self.behind is None else (self.survey, self.behind)


class Kind(msgspec.Struct, frozen=True):
    """Changes of one kind, of which the first that works is told; `name`: what was tried, where none does. With
    `by_steps` there may be several ladders, the changes of each are ever greater, and the least of all that works is
    looked for."""

    name: str
    ladders: tuple[Sequence[Change], ...]
    by_steps: bool = False


def kinds(
    plan: Plan,
    survey: Survey,
    bender: BenderProfile,
    shop: Sequence[BenderProfile],
    *,
    near: Sequence[int],
    of_a_piece: bool,
    outer_legs: bool = False,
) -> Iterator[Kind]:
    """All that is tried for a run; `near` are the bends that bind (from 0, along the run), none where that is not
    known: shapes and legs next to them come first. `of_a_piece`: a piece has no order; else the run has no split.
    `outer_legs`: the run's first and last leg may be longer too. `shop`: all benders there are."""
    shapes = _by_distance(plan, near)
    features = {f.field: f for leg in survey.legs for f in leg.features}
    angled = [(shape, features[shape.field]) for shape in shapes if shape.field in features]
    for shape, feature in angled:
        yield Kind(f"another angle for {feature.label}", (_angles(survey, bender, [(shape, feature)]),))
    for shape, feature in angled:
        if isinstance(feature, Saddle) and feature.rise_mm is None:
            yield Kind(f"{feature.label} with other bends", (_saddle_bends(survey, bender, shape, feature),))
    if len(angled) > 1:
        yield Kind("one angle for all of them", (_angles(survey, bender, angled),))
    yield from _other_places(survey, bender, [feature for _, feature in angled])
    if of_a_piece and len(plan.pieces) == 1 and not survey.coupled:
        does = "join it from pieces by a coupling: set coupled: true"
        changed = replace(survey, coupled=True)
        yield Kind("a coupling", ([Change(does, {"run.coupled": "true"}, changed, bender)],))
    if of_a_piece and survey.cut_after_bending:
        before = replace(survey, cut_after_bending=False)
        yield Kind("cut: before", ([Change("cut it first: set cut: before", {"run.cut": "before"}, before, bender)],))
    if survey.bend_radius_mm is None:
        yield _benders(survey, bender, shop)
    if not of_a_piece:
        yield from _of_a_split(plan, survey, bender)
    yield from _longer_leg(survey, bender, _legs(survey, shapes, near, outer=outer_legs))


def _other_places(survey: Survey, bender: BenderProfile, features: Sequence[Feature]) -> Iterator[Kind]:
    for feature in features:
        places = tuple(tuple(_places(survey, bender, feature, later=later)) for later in (True, False))
        yield Kind(f"another place for {feature.label}", places, by_steps=True)


def _longer_leg(survey: Survey, bender: BenderProfile, legs: Sequence[Leg]) -> Iterator[Kind]:
    if legs:
        ladders = tuple(tuple(_longer(survey, bender, leg)) for leg in legs)
        yield Kind(f"a longer {_listed([leg.label for leg in legs], 'or')}", ladders, by_steps=True)


def _of_a_split(plan: Plan, survey: Survey, bender: BenderProfile) -> Iterator[Kind]:
    """What only a run has that no split was found for: a longer stick, a shorter grip where it is the person's to set,
    a pull fitting."""
    sticks = tuple(_longer_sticks(plan, survey, bender))
    if sticks:
        yield Kind(LONGER_STICKS, (sticks,), by_steps=True)
    if not is_taught(bender) and bender.grip_mm > 0.0:
        yield Kind("a shorter grip", (tuple(_grips(survey, bender)),), by_steps=True)
    pulls = tuple(_pull_fittings(survey, bender))
    if pulls:
        yield Kind("a pull fitting", (pulls,))


def _longer_sticks(plan: Plan, survey: Survey, bender: BenderProfile) -> Iterator[Change]:
    """Ever longer sticks than the longest there is, as far as such are sold and the run is no shorter."""
    step, most = _STICK_STEP_MM[survey.tape.unit], _LONGEST_SOLD_MM[survey.tape.unit]
    sold = sold_mm(survey)
    longest = max(*sold, *survey.offcuts_mm, 0.0)
    if plan.developed_length_mm <= longest:
        return
    for steps in range(int(longest / step + 1e-6) + 1, round(most / step) + 1):
        at = read_tape(steps * step, survey.tape)
        text = format_length(at.shown_mm, survey.tape)
        changed = replace(survey, stock_mm=(*sold, at.shown_mm))
        yield Change(f"take a stick {text} long: add {text} to stock", {"run.stock": f"+ {text}"}, changed, bender)


def _grips(survey: Survey, bender: BenderProfile) -> Iterator[Change]:
    """An ever shorter grip of a bender of one's own, at last none."""
    step = _GRIP_STEP_MM[survey.tape.unit]
    for steps in range(1, ceil(bender.grip_mm / step) + 1):
        at = read_tape(max(0.0, bender.grip_mm - steps * step), survey.tape)
        text = format_length(at.shown_mm, survey.tape)
        does = f"bend it with a grip of {text} instead of {format_length(bender.grip_mm, survey.tape)}"
        if at.shown_mm <= 0.0:
            does = "bend it on a bender that needs no grip beyond the arc (a bench or power bender)"
        yield Change(does, {"bender.grip": text}, survey, replace(bender, grip_mm=at.shown_mm))


def _pull_fittings(survey: Survey, bender: BenderProfile) -> Iterator[Change]:
    """A pull fitting in place of each turn: what lies before it is one run and what lies behind it another. A kick that
    leads into its turn has no place without it."""
    kind = survey.end.kind if survey.start.kind == "none" else survey.start.kind
    fitting = EndFitting(name="pull fitting", kind=kind, insertion_mm=None, height_mm=None, fixed=None)
    for i, turn in enumerate(survey.turns):
        before, behind = survey.legs[: i + 1], survey.legs[i + 1 :]
        if any(isinstance(f, Kick) and f.starts_at_mm is None for f in before[-1].features):
            continue
        yield Change(
            f"put a pull fitting in place of turn {i + 1}, a run of its own before it and one behind it",
            {turn.field: "two runs"},
            replace(survey, legs=before, turns=survey.turns[:i], end=fitting),
            bender,
            replace(survey, legs=behind, turns=survey.turns[i + 1 :], start=fitting),
        )


def _benders(survey: Survey, bender: BenderProfile, shop: Sequence[BenderProfile]) -> Kind:
    """The other benders for this raceway."""
    same = [b for b in shop if (b.raceway_type, b.trade_size) == (bender.raceway_type, bender.trade_size)]
    changes = [
        Change(f"bend it on {b.name}: set bender: {b.name}", {"run.bender": b.name}, survey, b)
        for b in same
        if b.name != bender.name
    ]
    return Kind("another bender", (changes,))


def pairs(plan: Plan, survey: Survey, bender: BenderProfile, near: Sequence[int]) -> Iterator[Kind]:
    """Another angle of one of the two shapes nearest to what binds, and with it another place or a longer leg."""
    features = {f.field: f for leg in survey.legs for f in leg.features}
    shapes = _by_distance(plan, near)
    angled = [shape for shape in shapes if shape.field in features]
    for shape in angled[:2]:
        for first in _angles(survey, bender, [(shape, features[shape.field])])[:2]:
            now = {f.field: f for leg in first.survey.legs for f in leg.features}
            legs = _legs(first.survey, shapes, near, outer=False)
            yield from (
                _with_first(first, kind)
                for kind in (
                    *_other_places(first.survey, bender, [now[s.field] for s in angled]),
                    *_longer_leg(first.survey, bender, legs),
                )
            )


def _with_first(first: Change, kind: Kind) -> Kind:
    """The same changes, each on top of another."""
    return replace(
        kind,
        ladders=tuple(
            [Change(f"{first.does} and {c.does}", {**first.fields, **c.fields}, c.survey, c.bender) for c in ladder]
            for ladder in kind.ladders
        ),
    )


def cut_after(kind: Kind) -> Kind:
    """The same changes, each with the piece bent from a longer stick besides."""
    return replace(
        kind,
        name=f"{kind.name} with cut: after",
        ladders=tuple(
            [
                Change(
                    f"{change.does}, and cut it after bending: set cut: after",
                    {**change.fields, "run.cut": "after"},
                    replace(change.survey, cut_after_bending=True),
                    change.bender,
                )
                for change in ladder
            ]
            for ladder in kind.ladders
        ),
    )


def _by_distance(plan: Plan, near: Sequence[int]) -> list[PlannedShape]:
    def distance(shape: PlannedShape) -> int:
        last = shape.first + shape.count - 1
        return min((max(shape.first - bend, bend - last, 0) for bend in near), default=0)

    return sorted((s for s in plan.shapes if s.count), key=lambda shape: (distance(shape), shape.first))


def _angles(survey: Survey, bender: BenderProfile, at: Sequence[tuple[PlannedShape, Feature]]) -> tuple[Change, ...]:
    """Each usual angle for these shapes, the nearest to the planned one first, of two as near the flatter."""
    now = at[0][0].angle_deg
    usual = sorted(USUAL_ANGLES_DEG, key=lambda angle: (round(abs(angle - now), 6), angle))
    out = []
    for angle in usual:
        others = [f for shape, f in at if abs(shape.angle_deg - angle) >= _SAME_DEG]
        if len(others) < min(len(at), 2):  # of several shapes one alone has been tried
            continue
        changed, names = survey, []
        fields: dict[str, str] = {}
        for feature in others:
            new, written, name = _with_angle(feature, angle)
            changed = with_feature(changed, feature.field, new)
            fields |= written
            names.append(name)
        does = f"set angle: {angle:g} for {_listed(names)}"
        out.append(Change(does, fields, changed, bender))
    return tuple(out)


def _with_angle(feature: Feature, angle_deg: float) -> tuple[Feature, dict[str, str], str]:
    assert not isinstance(feature, KeepClear)
    fields, name = {f"{feature.field}.angle": f"{angle_deg:g}"}, feature.label
    if isinstance(feature, Kick) and feature.starts_at_mm is not None:
        fields[f"{feature.field}.starts_at"] = ""
        return (
            replace(feature, angle_rad=radians(angle_deg), starts_at_mm=None),
            fields,
            f"{name} in place of starts_at",
        )
    return replace(feature, angle_rad=radians(angle_deg)), fields, name


def _saddle_bends(survey: Survey, bender: BenderProfile, shape: PlannedShape, saddle: Saddle) -> tuple[Change, ...]:
    """Three bends for four or four for three, at the angle that it has by then, and at each of the usual angles, the
    planned one first."""
    bends: Literal["3", "4"] = "3" if shape.count == 4 else "4"
    field = f"{saddle.field}.bends"
    alone = with_feature(survey, saddle.field, replace(saddle, bends=bends))
    out = [Change(f"set bends: {bends} for {saddle.label}", {field: bends}, alone, bender)]
    for angle in sorted(USUAL_ANGLES_DEG, key=lambda angle: (round(abs(angle - shape.angle_deg), 6), angle)):
        new = replace(saddle, bends=bends, angle_rad=radians(angle))
        fields = {field: bends, f"{saddle.field}.angle": f"{angle:g}"}
        does = f"set bends: {bends} and angle: {angle:g} for {saddle.label}"
        out.append(Change(does, fields, with_feature(survey, saddle.field, new), bender))
    return tuple(out)


def _places(survey: Survey, bender: BenderProfile, feature: Feature, *, later: bool) -> Iterator[Change]:
    """An offset or a kick elsewhere on its leg, ever farther from where it is: what it goes by is the person's to
    judge. A saddle stays over its thing."""
    if not isinstance(feature, Offset | Kick):
        return
    leg = next(leg for leg in survey.legs if any(f.field == feature.field for f in leg.features))
    for name in ("starts_at", "middle_at", "done_by"):
        at = getattr(feature, f"{name}_mm", None)
        if at is None:
            continue
        for steps in range(1, MOST_STEPS + 1):
            to, text = _moved(at, steps if later else -steps, survey.tape)
            if not 0.0 <= to <= leg.length_mm:
                return
            new = replace(feature, **{f"{name}_mm": to})
            does = f"set {name}: {text} for {feature.label}, where nothing is in its way"
            yield Change(does, {f"{feature.field}.{name}": text}, with_feature(survey, feature.field, new), bender)


def _longer(survey: Survey, bender: BenderProfile, leg: Leg) -> Iterator[Change]:
    """A leg ever longer. It was measured, and so is what stands at its far end: what lies beyond moves with it."""
    for steps in range(1, MOST_STEPS + 1):
        to, text = _moved(leg.length_mm, steps, survey.tape)
        legs = tuple(replace(each, length_mm=to) if each.field == leg.field else each for each in survey.legs)
        by = format_length(to - leg.length_mm, survey.tape)
        does = f"set leg: {text} for {leg.label}, if {survey.end.name or 'end B'} can stand {by} farther along it"
        yield Change(does, {f"{leg.field}.leg": text}, replace(survey, legs=legs), bender)


def _legs(survey: Survey, shapes: Sequence[PlannedShape], near: Sequence[int], *, outer: bool) -> list[Leg]:
    """The legs whose length is straight between bends, those beside the bends that bind first; with `outer` also the
    last one, and the first with nothing on it, where else a longer stick does what a longer leg would."""
    of_leg = {leg.field: i for i, leg in enumerate(survey.legs)}
    of_turn = {turn.field: i for i, turn in enumerate(survey.turns)}
    order: list[int] = []
    for shape in shapes:
        if shape.field in of_turn:
            order += [of_turn[shape.field] + 1, of_turn[shape.field]]
        else:
            order.append(of_leg[shape.field.partition(".features")[0]])
    last = len(survey.legs) - 1
    apt = range(last + 1) if outer else range(0 if survey.legs[0].features else 1, last)
    legs = [survey.legs[i] for i in dict.fromkeys(order) if i in apt]
    return legs[:_MOST_LEGS] if near else legs


def _moved(from_mm: float, steps: int, tape: TapeStyle) -> tuple[float, str]:
    """A reading so many steps on, as the tape has it."""
    at = read_tape(from_mm + steps * STEP_MM[tape.unit], tape)
    return at.shown_mm, format_length(at.shown_mm, tape)


def with_feature(survey: Survey, field: str, new: Feature) -> Survey:
    """The survey with this in place of the thing that its file has at `field`."""
    legs = tuple(
        replace(leg, features=tuple(new if f.field == field else f for f in leg.features)) for leg in survey.legs
    )
    return replace(survey, legs=legs)


def _listed(names: Sequence[str], last: str = "and") -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {last} {names[-1]}"
