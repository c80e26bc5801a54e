from fractions import Fraction

import pytest

from racewright.errors import InputError
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, coarseness, format_length, read_tape

INCH = Fraction(254, 10)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ('31 5/16"', Fraction(501, 16)),
        ("31-5/16", Fraction(501, 16)),
        ("31 5/16 in", Fraction(501, 16)),
        ("2' 7 5/16\"", Fraction(501, 16)),
        ("2'-7 5/16\"", Fraction(501, 16)),
        ("2′ 7 5⁄16″", Fraction(501, 16)),
        ("2 ft 7 in", Fraction(31)),
        ("10'", Fraction(120)),
        ("4 7/8 in", Fraction(39, 8)),
        ("31 ½", Fraction(63, 2)),
        ("31½", Fraction(63, 2)),
        ("31,5", Fraction(63, 2)),
        ("7/8", Fraction(7, 8)),
        (".5", Fraction(1, 2)),
        ("12.", Fraction(12)),
        ("0.1", Fraction(1, 10)),
        (0.1, Fraction(1, 10)),
        (6, Fraction(6)),
    ],
)
def test_inches_are_read_exactly(text: float | str, inches: Fraction) -> None:
    assert parse_length(text) == inches * INCH


@pytest.mark.parametrize(
    ("text", "mm"),
    [("795 mm", 795), ("79.5 cm", 795), ("1.2 m", 1200), ("795", 795), (795, 795), ("31 5/16 in", "795.3375")],
)
def test_millimetres_are_read_exactly(text: int | str, mm: int | str) -> None:
    assert parse_length(text, "mm") == Fraction(mm)


@pytest.mark.parametrize(
    "text",
    ["31 5/0", "0/0", "nan", "NaN", "inf", "", "  ", "-", "3 5/4", "12 mm 3", "4 parsec", "1/2/3", "1..2", "7\" 2'",
     "1e9", "1,5,2", "1,250", "99999999999", "0x10", "--3",
     "5 in 3 in", "\x00", "1 /2 /", float("nan"), float("inf"), 10**12, 1e-308, -1e-200],
)  # fmt: skip
def test_what_is_no_length_is_refused_with_an_example(text: float | str) -> None:
    with pytest.raises(InputError) as caught:
        parse_length(text, field="run.walk[0].leg")
    assert caught.value.field == "run.walk[0].leg"
    assert "31 5/16" in caught.value.hint
    assert "hint:" in str(caught.value)


def test_signs_are_refused_only_where_they_mean_nothing() -> None:
    assert parse_length("-3", allow_negative=True) == -3 * INCH
    with pytest.raises(InputError, match="negative"):
        parse_length("-3")
    with pytest.raises(InputError, match="zero"):
        parse_length("0", allow_zero=False)


@pytest.mark.parametrize(
    ("mm", "style", "text"),
    [
        (Fraction(501, 16) * INCH, TapeStyle(), "31 5/16"),
        (Fraction(1, 32) * INCH, TapeStyle(), "1/16"),  # halves away from zero
        (Fraction(1, 33) * INCH, TapeStyle(), "0"),
        (31.99 * 25.4, TapeStyle(), "32"),
        (31.28 * 25.4, TapeStyle("in", 8), "31 1/4"),
        (31.28 * 25.4, TapeStyle("in", 32), "31 9/32"),
        (-12.7, TapeStyle(), "-1/2"),
        (795.4, TapeStyle("mm", 1), "795"),
        (795.4, TapeStyle("mm", 2), "795.5"),
    ],
)
def test_readings_are_rounded_once_and_keep_the_rounding(mm: float | Fraction, style: TapeStyle, text: str) -> None:
    reading = read_tape(mm, style)
    assert reading.text == text
    assert abs(reading.off_mm) <= float(style.step_mm) / 2 + 1e-12
    assert reading.shown_mm - float(mm) == pytest.approx(reading.off_mm, abs=1e-9)


def test_units_follow_the_reading() -> None:
    assert format_length(25.4, TapeStyle()) == '1"'
    assert format_length(25.4, TapeStyle("mm", 1)) == "25 mm"


def test_coarse_marks_are_known() -> None:
    assert coarseness(31.5 * 25.4, TapeStyle()) == 2
    assert coarseness(31.0625 * 25.4, TapeStyle()) == 16
    assert coarseness(31 * 25.4, TapeStyle()) == 1
