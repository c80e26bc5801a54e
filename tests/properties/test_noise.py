"""The last digits of a worked-out length, which differ from machine to machine, change no printed figure: halves of the
tape's step are settled by a stated tolerance, wherever the noise comes from."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from racewright.errors import InputError, LimitError
from racewright.geometry.chain import CornerFit, corners_to_turns
from racewright.plan import layout
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text
from racewright.units.angle import format_degrees, hand_angle
from racewright.units.nearest import HALF_DEG, HALF_MM
from racewright.units.said import said, said_in
from racewright.units.tape import TapeStyle, coarseness, format_length, read_tape
from survey_writer import write_survey

STYLES = st.sampled_from([TapeStyle("in", d) for d in (8, 16, 32, 64)] + [TapeStyle("mm", 1), TapeStyle("mm", 2)])
#: Ten thousand times what a float loses in one sum; choices between ways of equal effort bear less than figures do.
RELATIVE = 1e-11
#: The longest length that is taken, and noise on it.
LONGEST_MM, NOISE = 1e6, 1e-10


@given(st.integers(0, 1_000_000), st.booleans(), st.floats(-NOISE, NOISE), STYLES)
def test_noise_on_a_half_changes_no_reading(steps: int, negative: bool, noise: float, style: TapeStyle) -> None:
    half = (steps + Fraction(1, 2)) * style.step_mm
    if half > LONGEST_MM:
        return
    exact = -half if negative else half
    wanted = (steps + 1) * style.step_mm * (-1 if negative else 1)
    noisy = float(exact) * (1.0 + noise)
    for length in (exact, float(exact), noisy):
        assert read_tape(length, style).shown_mm == pytest.approx(float(wanted), rel=1e-15)
        assert format_length(length, style) == format_length(wanted, style)
        assert coarseness(length, style) == coarseness(wanted, style)
    with said_in(style):
        assert said(noisy) == format_length(wanted, style)


@given(st.integers(0, 100_000), st.floats(-3.0, 3.0), STYLES)
def test_what_is_no_noise_is_rounded_as_it_is(steps: int, beyond: float, style: TapeStyle) -> None:
    """A fraction is exact to the last digit; a float is, but for the stated tolerance under a half."""
    step = style.step_mm
    half = (steps + Fraction(1, 2)) * step
    below = half - Fraction(1, 10**9)
    assert read_tape(below, style).shown_mm == pytest.approx(float(steps * step), abs=1e-9)
    assert read_tape(half, style).shown_mm == pytest.approx(float((steps + 1) * step), abs=1e-9)
    length = float(half) + beyond * HALF_MM
    up = beyond > -1.0
    if abs(beyond + 1.0) > 1e-3:
        assert read_tape(length, style).shown_mm == pytest.approx(float((steps + up) * step), abs=1e-9)


@given(st.integers(0, 719), st.floats(-0.9, 0.9))
def test_noise_on_a_half_changes_no_angle(halves: int, part: float) -> None:
    noise = part * HALF_DEG
    assert hand_angle((halves + 0.5) / 2.0 + noise) == hand_angle((halves + 1) / 2.0)
    assert format_degrees(halves + 0.05 + noise) == f"{halves}.1°"
    assert format_degrees(-(halves + 0.05) + noise) == f"-{halves}.1°"


def noisy(rng: Random) -> Callable[..., CornerFit]:
    """The run's lengths as they are worked out, each off by the noise one way or the other."""

    def fit(points: Any, radius_mm: Any) -> CornerFit:
        clean = corners_to_turns(points, radius_mm)

        def off(value: float) -> float:
            return value * (1.0 + rng.choice((-1.0, 1.0)) * RELATIVE)

        turns = tuple(turn._replace(arc_start_mm=off(turn.arc_start_mm)) for turn in clean.turns)
        return clean._replace(length_mm=off(clean.length_mm), turns=turns)

    return fit


@pytest.mark.parametrize("first", range(0, 60, 15))
def test_a_plan_of_noisy_lengths_is_the_same_plan(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Random surveys, most of them measured in whole steps of their tape, so that halves are common; of the noisy plan
    the run and its ends are called otherwise too, which is no other plan either."""
    planned = 0
    for seed in range(first, first + 15):
        try:
            survey = survey_from_text(write_survey(seed)).survey
            plan = plan_run(survey)
        except (InputError, LimitError):
            continue
        planned += 1
        with monkeypatch.context() as patched:
            patched.setattr(layout, "corners_to_turns", noisy(Random(seed)))
            ends = {end: replace(getattr(survey, end), name="cutout") for end in ("start", "end")}
            again = plan_run(replace(survey, name="Workshop, press", **ends))
            assert again.digest == plan.digest, seed
            assert again.digest_before != plan.digest_before, seed
    assert planned > 11
