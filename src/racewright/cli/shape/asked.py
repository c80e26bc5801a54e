"""What the shape commands share: the arguments read as numbers, and a rule of thumb put beside exact marks."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from math import radians

from racewright.bends.model import Bend
from racewright.cards.text.shape import Report, RuleView
from racewright.errors import InputError
from racewright.marks import thumb
from racewright.tools.model import BenderProfile
from racewright.units.angle import read_degrees
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, format_length

FAR_LEG_MM = 304.8  # straight drawn beyond the last bend where no length was given


class Asked:
    """The arguments, read as lengths and angles, with the bender and the tape."""

    def __init__(self, args: argparse.Namespace, bender: BenderProfile, tape: TapeStyle) -> None:
        self.args, self.bender, self.tape = args, bender, tape

    def maybe(self, name: str, *, signed: bool = False) -> float | None:
        """A length in mm, or None where it was not given."""
        text = getattr(self.args, name, None)
        if text is None:
            return None
        field = "--" + name.replace("_", "-")
        return float(parse_length(text, self.tape.unit, field=field, allow_negative=signed))

    def length(self, name: str, default: float | None = None, *, signed: bool = False) -> float:
        """A length in mm. Raises InputError where it was not given and has no default."""
        value = self.maybe(name, signed=signed)
        if value is None:
            value = default
        if value is None:
            option = "--" + name.replace("_", "-")
            raise InputError(f"{option} is missing.", hint=f"add {option} with a length, for example 6", field=option)
        return value

    def said(self, name: str) -> str:
        """A length of the arguments for a title, with its unit, as the tape shows it."""
        return format_length(self.length(name, signed=True), self.tape)

    def angle(self, name: str = "angle") -> float:
        """An angle in rad: '30', '22.5', '22 1/2'. Raises InputError."""
        return read_angle(str(getattr(self.args, name)), "--" + name)

    @property
    def hook_room(self) -> float:
        """The straight that the hook needs beside an earlier bend, or what --least-straight says."""
        given = self.maybe("least_straight")
        return self.bender.arrow_lead_mm + self.bender.hook_reach_mm if given is None else given

    def report(self, title: str) -> Report:
        """An empty report for this shape."""
        return Report(shape=self.args.shape_name, title=title, bender=self.bender, tape=self.tape)


def read_angle(text: str, field: str = "angle") -> float:
    """Degrees as written, to rad: '30', '22.5', '22 1/2', '22-1/2', '30°'. Raises InputError."""
    hint = "give degrees above 0 and up to 90: 30, 22.5, 22 1/2"
    return radians(read_degrees(text, least=1e-9, most=90.0, field=field, hint=hint))


def report_length(asked: Asked, value_mm: float) -> str:
    """A length for a title."""
    return format_length(value_mm, asked.tape)


def room_note(report: Report, straight_mm: float, asked: Asked) -> None:
    """Say it where the straight between two bends is less than the hook needs."""
    if straight_mm < asked.hook_room - 1e-9:
        report.notes.append(
            f"{report.shown(straight_mm)} of straight between the bends is less than the "
            f"{report.shown(asked.hook_room)} that the hook needs beside an earlier bend: "
            "try the other order or hook direction, or a smaller angle."
        )


def add_rule(
    report: Report,
    make: Callable[[], thumb.Rule],
    exact: Sequence[Bend],
    length_mm: float | None,
    words: Callable[[Sequence[Bend], float], str],
) -> None:
    """Put a rule beside the exact marks; where the rule cannot be used, say so in a note."""
    try:
        rule = make()
    except InputError as error:
        note = f"rule of thumb: {error.message}"
        if note not in report.notes:
            report.notes.append(note)
        return
    made = thumb.bends_of_rule(rule, report.bender)
    length = length_mm or max(exact[-1].arc_end_mm, made[-1].arc_end_mm) + FAR_LEG_MM
    try:
        by_rule = words(made, length)
    except InputError as error:
        by_rule = f"cannot be bent: {error.message}"
    marks = thumb.exact_marks_mm(rule, exact, report.bender)
    report.rules.append(
        RuleView(
            name=rule.name,
            how=rule.how,
            source=rule.source,
            marks=tuple((m.label, m.reference, m.hook, m.mark_mm, e) for m, e in zip(rule.marks, marks, strict=True)),
            landing_rule=by_rule,
            landing_exact=words(exact, length),
        )
    )
