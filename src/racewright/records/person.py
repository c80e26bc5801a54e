"""The people of a shop, and how well their hands work: records of the whole shop."""

from __future__ import annotations

from math import radians
from typing import Literal

import msgspec

from racewright.errors import InputError
from racewright.fit.accuracy import Accuracy
from racewright.records.fields import Input, Name
from racewright.records.ids import Id, new_id
from racewright.survey.written import Written
from racewright.units.length import parse_length

#: No hand is nearer than this, nor further off, two times in three (own values; the angle as a survey's): degrees, mm.
LEAST_SPREAD_DEG, MOST_SPREAD_DEG = 0.05, 20.0
LEAST_SPREAD_MM, MOST_SPREAD_MM = 0.1, 304.8
_MOST_SIGNS = 60


class Person(Input, frozen=True, kw_only=True):
    """How well one person's hands work: standard deviations. Lengths as written, plain numbers in `units`; angles in
    degrees."""

    id: Id = msgspec.field(default_factory=new_id)
    name: Name
    units: Literal["in", "mm"] = "in"
    mark: Written = "1/16 in"
    angle_deg: float = 1.0
    roll_deg: float = 1.5
    cut: Written = "1/16 in"


def accuracy_of(person: Person, field: str = "person") -> Accuracy:
    """A person's figures as the fit takes them. Raises InputError."""

    def length(value: Written, name: str) -> float:
        if len(str(value)) > _MOST_SIGNS:
            raise _refused(f"{field}.{name}", f"a length of {len(str(value))} signs", "a length", "1/16 in")
        mm = float(parse_length(value, person.units, field=f"{field}.{name}", allow_zero=True))
        if not LEAST_SPREAD_MM <= mm <= MOST_SPREAD_MM:
            raise _refused(f"{field}.{name}", f"'{value}'", "from 0.1 mm to 12 in", "1/16 in")
        return mm

    def angle(value: float, name: str) -> float:
        if not LEAST_SPREAD_DEG <= value <= MOST_SPREAD_DEG:
            limits = f"from {LEAST_SPREAD_DEG:g} to {MOST_SPREAD_DEG:g} degrees"
            raise _refused(f"{field}.{name}", f"{value:g} degrees", limits, "1")
        return radians(value)

    return Accuracy(
        mark_mm=length(person.mark, "mark"),
        angle_rad=angle(person.angle_deg, "angle_deg"),
        roll_rad=angle(person.roll_deg, "roll_deg"),
        cut_mm=length(person.cut, "cut"),
    )


def _refused(field: str, got: str, expected: str, example: str) -> InputError:
    return InputError(
        f"{field}: cannot take {got} as how far a hand is off; it must be {expected}.",
        hint="give how far several repeats of the same step are off, two times in three",
        field=field,
        expected=expected,
        example=example,
    )
