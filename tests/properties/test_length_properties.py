from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from racewright.errors import InputError
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, read_tape

STYLES = st.sampled_from([TapeStyle("in", d) for d in (1, 2, 4, 8, 16, 32)] + [TapeStyle("mm", 1), TapeStyle("mm", 2)])


@given(st.integers(0, 30_000), STYLES)
def test_what_the_tape_shows_reads_back_as_the_same_length(steps: int, style: TapeStyle) -> None:
    exact = style.step_mm * steps
    reading = read_tape(exact, style)
    assert reading.off_mm == 0.0
    assert parse_length(reading.text, style.unit) == exact


@given(st.fractions(0, 3000), STYLES)
def test_rounding_is_never_more_than_half_a_step(mm: Fraction, style: TapeStyle) -> None:
    reading = read_tape(mm, style)
    assert abs(parse_length(reading.text, style.unit) - mm) <= style.step_mm / 2


@given(st.text(max_size=30))
def test_any_text_is_either_a_length_or_a_clear_refusal(text: str) -> None:
    value = reading_or_refusal(text)
    assert isinstance(value, Fraction) or value.hint
    assert not isinstance(value, Fraction) or value >= 0


def reading_or_refusal(text: str) -> Fraction | InputError:
    try:
        return parse_length(text)
    except InputError as err:
        return err
