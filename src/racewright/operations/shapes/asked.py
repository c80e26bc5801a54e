"""What the shapes share: their readings as numbers."""

from __future__ import annotations

from math import radians
from typing import Annotated, ClassVar

import msgspec

from racewright.errors import Finding, InputError
from racewright.operations.common import AngleText, LengthText, Request
from racewright.operations.shapes.report import Report
from racewright.tools.benders import BenderProfile
from racewright.units.angle import read_degrees
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, format_length

Rise = Annotated[LengthText, msgspec.Meta(title="Rise", description="how far it moves over, axis to axis")]
At = Annotated[
    LengthText,
    msgspec.Meta(title="End A to where it is over", description="from end A to where the whole rise must be reached"),
]
Room = Annotated[LengthText, msgspec.Meta(title="Room along the run", description="room along the run")]
Angle = Annotated[AngleText, msgspec.Meta(title="Angle", description="angle of the (outer) bends")]


class Shape(Request, frozen=True, kw_only=True, tag_field="name"):
    """Base of the shapes. Its fields are the readings, as text; '' is not given. Its docstring says in one line what it
    is, `measured` what its figures are measured to."""

    measured: ClassVar[str] = "rise, travel and straights to the centerline of the conduit"

    def work_out(self, asked: Asked) -> Report:
        """The shape on the bender asked for. Raises InputError for a reading, LimitError for what cannot be bent."""
        raise NotImplementedError

    @classmethod
    def label(cls) -> str:
        """Its name in a request and on the command line."""
        return str(cls.__struct_config__.tag)


class Asked:
    """The readings of a shape as lengths and angles, with the bender and the tape. `rack_shoe`: the bender is one that
    the asker named, so it stands for its size in a rack of several."""

    def __init__(
        self, shape: Shape, bender: BenderProfile, tape: TapeStyle, *, least_straight: str = "", rack_shoe: bool = False
    ) -> None:
        self.shape, self.bender, self.tape, self.rack_shoe = shape, bender, tape, rack_shoe
        given = float(parse_length(least_straight, tape.unit, field="least_straight")) if least_straight else None
        #: The straight that the hook needs beside an earlier bend, or what the asker says.
        self.hook_room_mm = bender.least_straight_mm if given is None else given

    def maybe(self, name: str, *, signed: bool = False) -> float | None:
        """A length in mm, or None where it was not given."""
        text: str = getattr(self.shape, name)
        if not text:
            return None
        return float(parse_length(text, self.tape.unit, field=f"shape.{name}", allow_negative=signed))

    def length(self, name: str, default: float | None = None, *, signed: bool = False) -> float:
        """A length in mm. Raises InputError where it was not given and has no default."""
        value = self.maybe(name, signed=signed)
        if value is None:
            value = default
        if value is None:
            field = f"shape.{name}"
            raise InputError(f"{field} is missing.", hint="add it with a length, for example 6", field=field)
        return value

    def said(self, name: str) -> str:
        """A length of the readings for a title, with its unit, as the tape shows it."""
        return self.shown(self.length(name, signed=True))

    def shown(self, value_mm: float) -> str:
        """A length as the tape shows it, with its unit."""
        return format_length(value_mm, self.tape)

    def angle(self, name: str = "angle") -> float:
        """An angle in rad: '30', '22.5', '22 1/2'. Raises InputError."""
        return read_angle(str(getattr(self.shape, name)), f"shape.{name}")

    def report(self, title: str) -> Report:
        """An empty report for this shape."""
        return Report(self.shape.label(), title, self.bender, self.tape)


def read_angle(text: str, field: str = "angle") -> float:
    """Degrees as written, to rad: '30', '22.5', '22 1/2', '22-1/2', '30°'. Raises InputError."""
    hint = "give degrees above 0 and up to 90: 30, 22.5, 22 1/2"
    return radians(read_degrees(text, least=1e-9, most=90.0, field=field, hint=hint))


def check_room(report: Report, straight_mm: float, asked: Asked) -> None:
    """Say it where the straight between two bends is less than the hook needs."""
    if straight_mm >= asked.hook_room_mm - 1e-9:
        return
    report.findings.append(
        Finding(
            rule="shape.room",
            severity="caution",
            message=f"{report.shown(straight_mm)} of straight between the bends is less than the "
            f"{report.shown(asked.hook_room_mm)} that the hook needs beside an earlier bend: "
            "try the other order or hook direction, or a smaller angle.",
            citation="common practice, no source",
            measured=straight_mm,
            allowed=asked.hook_room_mm,
            unit="mm",
        )
    )
