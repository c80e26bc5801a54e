"""The people of a shop, and how well their hands work: records of the whole shop."""

from __future__ import annotations

from math import radians
from typing import Literal

import msgspec

from racewright.fit.accuracy import Accuracy
from racewright.records.fields import Input, Name
from racewright.records.ids import Id, new_id
from racewright.survey.written import Written
from racewright.units.length import parse_length


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
        return float(parse_length(value, person.units, field=f"{field}.{name}", allow_zero=True))

    accuracy = Accuracy(
        mark_mm=length(person.mark, "mark"),
        angle_rad=radians(person.angle_deg),
        roll_rad=radians(person.roll_deg),
        cut_mm=length(person.cut, "cut"),
    )
    accuracy.check()
    return accuracy
