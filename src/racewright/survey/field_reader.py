"""How one field of a survey is read, in the file's own unit: lengths, angles, spreads, temperatures."""

from __future__ import annotations

from math import radians

from racewright.errors import InputError
from racewright.survey.written import Written, WrittenSurvey
from racewright.units.angle import read_degrees
from racewright.units.factors import celsius
from racewright.units.length import parse_length
from racewright.units.number import read_number
from racewright.units.tape import TapeStyle, TapeUnit, style_of
from racewright.units.warmth import Scale

#: Bends flatter than this are no bends, and steeper ones no hand bender makes in one shot (common practice, no source).
LEAST_DEG, MOST_DEG = 1.0, 120.0


class FieldReader:
    """Reads the fields of one survey; a thing without a name is counted by its kind."""

    def __init__(self, written: WrittenSurvey) -> None:
        self.written = written
        self.unit: TapeUnit = written.units
        self.counts: dict[str, int] = {}

    def eg(self, inches: str, mm: str) -> str:
        """An example in the file's own unit."""
        return inches if self.unit == "in" else mm

    def length(self, value: Written, field: str, *, allow_zero: bool = True, allow_negative: bool = False) -> float:
        """A length in mm."""
        return float(parse_length(value, self.unit, field=field, allow_zero=allow_zero, allow_negative=allow_negative))

    def maybe(self, value: Written | None, field: str, *, allow_zero: bool = True) -> float | None:
        """A length in mm, or None where none is written."""
        return None if value is None else self.length(value, field, allow_zero=allow_zero)

    def lengths(self, values: tuple[Written, ...], field: str) -> tuple[float, ...]:
        """Lengths in mm, each by its index."""
        return tuple(self.length(v, f"{field}[{i}]", allow_zero=False) for i, v in enumerate(values))

    def scale(self, value: Written) -> Scale:
        """The scale that a temperature is written in."""
        last = _bare(value)[-1:]
        return "F" if last == "F" or (last != "C" and self.unit == "in") else "C"

    def temperature(self, value: Written, field: str) -> float:
        """Degrees Celsius, from '35 C', '95 F' or a plain number in the file's own scale."""
        text, scale = _bare(value), self.scale(value)
        try:
            degrees = read_number(text.removesuffix("C").removesuffix("F"))
        except ValueError:
            degrees = float("nan")
        warmth_c = celsius(degrees) if scale == "F" else degrees
        if not -90.0 <= warmth_c <= 150.0:
            raise InputError.at(
                field,
                f"cannot take '{value}' as a temperature: it must lie from -90 to 150 °C (-130 to 302 °F).",
                hint="write it like -10 C or 95 F",
                expected="a temperature",
                example="95 F",
            )
        return warmth_c

    def spread(self, value: Written | None, field: str) -> float | None:
        """A spread in degrees, from 0 up to 20."""
        if value is None:
            return None
        hint = "1 means that two bends in three come out within 1 degree"
        return radians(
            read_degrees(str(value), least=0.0, most=20.0, field=field, what="a spread", hint=hint, example="1")
        )

    def angle(self, value: Written | None, field: str) -> float | None:
        """An angle in rad; None where it is left open."""
        if value is None or value == "auto":
            return None
        hint = "write degrees such as 30, 22.5 or 22 1/2, or auto"
        return radians(read_degrees(str(value), least=LEAST_DEG, most=MOST_DEG, field=field, hint=hint))

    def label(self, kind: str, name: str) -> str:
        """What a thing is called: by its name, or by its kind and count."""
        self.counts[kind] = self.counts.get(kind, 0) + 1
        return name or f"{kind} {self.counts[kind]}"

    def tape(self) -> TapeStyle:
        """How the survey's tape reads."""
        return style_of(self.unit, self.written.fraction)


def _bare(value: Written) -> str:
    """A temperature as written, without its degree sign."""
    return str(value).strip().upper().replace("°", "").strip()
