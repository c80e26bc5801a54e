r"""What an electrician writes for a length, read exactly.

Understood: `31 5/16"`, `31-5/16`, `31 5/16 in`, `31½`, `2' 7 5/16"`, `2 ft 7 in`, `4 7/8 in`, `.5`, `26,5`, `7/8`,
`795 mm`, `79.5 cm`, `1.2 m`, and plain numbers in the file's own unit. The result is a Fraction of millimetres: no
digit that was written is lost.
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import isfinite

from racewright.errors import InputError
from racewright.units.number import NUMBER, plain, value_of
from racewright.units.tape import MM_PER_INCH, TapeUnit

#: A run longer than this is a slip of the pen, not a run (common practice, no source).
ABSURD_MM = Fraction(1_000_000)
#: What is less, and not zero, was measured by nobody, and squares of it are lost in a float (no source).
NOTHING_MM = Fraction(1, 10**30)
EXAMPLES = {"in": '31 5/16", 31-5/16, 2\' 7 5/16", 4 7/8 in, 795 mm', "mm": "795, 795 mm, 79.5 cm, 1.2 m"}

_UNIT_MM = {
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "ft": MM_PER_INCH * 12,
    "foot": MM_PER_INCH * 12,
    "feet": MM_PER_INCH * 12,
    "'": MM_PER_INCH * 12,
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
}
_NUMBER_RE = re.compile(NUMBER)
_UNIT_RE = re.compile(r"\s*(inches|inch|in\b|feet|foot|ft\b|mm\b|cm\b|m\b|\"|')\.?", re.IGNORECASE)
_TYPOGRAPHIC = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'"})


def parse_length(
    text: str | int | float | Fraction,
    default_unit: TapeUnit = "in",
    *,
    field: str = "",
    allow_negative: bool = False,
    allow_zero: bool = True,
    limit_mm: Fraction = ABSURD_MM,
) -> Fraction:
    """The length that was written, in mm, exactly.

    `default_unit` applies to numbers without a unit. Raises InputError (naming `field`) for what is no length, for a
    zero denominator, NaN or infinity, a sense-less sign, a size beyond `limit_mm`, or next to nothing.
    """
    if isinstance(text, str):
        value = _parse_text(text, default_unit, field)
    else:
        if isinstance(text, float) and not isfinite(text):
            raise _bad(str(text), field, "a length must be a finite number", default_unit)
        if not -(10**15) <= text <= 10**15:
            raise _bad("a number of more than 15 digits", field, "no run is that long", default_unit)
        value = Fraction(str(text)) if isinstance(text, float) else Fraction(text)
        value *= _UNIT_MM[default_unit]
    if value < 0 and not allow_negative:
        raise _bad(str(text), field, "it is negative, and a length here counts from zero up", default_unit)
    if 0 < abs(value) < NOTHING_MM:
        raise _bad(str(text), field, "it is less than anything that can be measured", default_unit)
    if value == 0 and not allow_zero:
        raise _bad(str(text), field, "it is zero, and something must be there", default_unit)
    if abs(value) > limit_mm:
        per, unit = (_UNIT_MM["ft"], "ft") if default_unit == "in" else (_UNIT_MM["m"], "m")
        raise _bad(
            str(text),
            field,
            f"it is {float(abs(value) / per):.6g} {unit}, and the most taken is {float(limit_mm / per):.6g} {unit}",
            default_unit,
        )
    return value


def names_unit(text: str) -> bool:
    """Whether a unit is written in the text: '100 ft', but not '100'."""
    return _UNIT_RE.search(text.translate(_TYPOGRAPHIC)) is not None


def is_metric(text: str) -> bool:
    """Whether every unit written in the text is metric, and one is: '45 m'."""
    units = {unit.lower() for unit in _UNIT_RE.findall(text.translate(_TYPOGRAPHIC))}
    return bool(units) and units <= {"mm", "cm", "m"}


def _bad(text: str, field: str, why: str, unit: TapeUnit) -> InputError:
    where = f"{field}: " if field else ""
    shown = text if len(text) <= 40 else text[:37] + "..."
    return InputError(
        f"{where}cannot take '{shown}' as a length: {why}{'' if why.endswith('?') else '.'}",
        hint=f"write it like one of these: {EXAMPLES[unit]}",
        field=field,
        expected="a length",
        example='31 5/16"' if unit == "in" else "795 mm",
    )


def _parse_text(text: str, default_unit: TapeUnit, field: str) -> Fraction:
    rest = plain(text.translate(_TYPOGRAPHIC))
    if not rest:
        raise _bad(text, field, "nothing is written", default_unit)
    sign = 1
    if rest[0] in "+-":
        sign = -1 if rest[0] == "-" else 1
        rest = rest[1:].lstrip()
        if not rest:
            raise _bad(text, field, "only a sign is written", default_unit)
    total = Fraction(0)
    last_factor: Fraction | None = None
    while rest:
        number = _NUMBER_RE.match(rest)
        if not number:
            raise _bad(text, field, f"'{rest[:12]}' is not a number", default_unit)
        try:
            value = value_of(number)
        except ValueError as err:
            raise _bad(text, field, str(err), default_unit) from None
        rest = rest[number.end() :]
        unit = _UNIT_RE.match(rest)
        if unit:
            rest = rest[unit.end() :]
            factor = _UNIT_MM[unit.group(1).lower()]
        elif rest.strip():
            raise _bad(text, field, f"'{rest.strip()[:12]}' after the number is no unit known here", default_unit)
        elif last_factor is not None:
            factor = _UNIT_MM["in"]  # 2' 7 5/16: what follows the feet is inches
        else:
            factor = _UNIT_MM[default_unit]
        if last_factor is not None and not (last_factor == _UNIT_MM["ft"] and factor == _UNIT_MM["in"]):
            raise _bad(text, field, "only feet may be followed by a second number, and that in inches", default_unit)
        total += value * factor
        last_factor = factor
        rest = re.sub(r"^\s*(-\s*(?=[0-9]))?", "", rest)
    return sign * total
