"""A run told in words."""

from __future__ import annotations

from math import degrees

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.errors import InputError
from racewright.geometry.chain import Centreline
from racewright.route.run_line import RunShape, clipped, parts_of, slope_rad, turned_round
from racewright.wires.pull_path import length_words, parse_path, path_words

EMT = find_raceway("EMT", "1")
FT = 304.8


def _slopes(shape: RunShape) -> list[float]:
    return [degrees(slope_rad(p.axis, shape.down)) for p in parts_of(shape) if not p.is_bend]


def test_level_then_up() -> None:
    shape = parse_path("straight 200, bend 90 r 24, straight 30 up", EMT)
    assert shape.length_mm == pytest.approx(230 * FT + 24 * 25.4 * 1.5707963, abs=1e-3)
    assert _slopes(shape) == pytest.approx([0.0, 90.0], abs=1e-9)
    end = Centreline.from_turns(shape.length_mm, shape.turns, shape.frame).end_frame
    assert end.origin[2] == pytest.approx(30 * FT + 24 * 25.4)


def test_level_bend_stays_level() -> None:
    shape = parse_path("straight 10, bend 45, straight 10, bend 30 r 12 in, straight 6 ft 2 in", EMT)
    assert _slopes(shape) == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    assert shape.turns[0].radius_mm == EMT.least_radius_mm
    assert shape.turns[1].radius_mm == pytest.approx(304.8)


def test_radius_that_is_not_said_passes_the_rule() -> None:
    pvc = find_raceway("PVC-40", "1-1/4")
    assert parse_path("straight 5, bend 90, straight 5", pvc).turns[0].radius_mm == pvc.least_radius_other_mm


def test_slope_in_degrees_and_two_bends_in_a_row() -> None:
    shape = parse_path("straight 10 slope 30; bend 60 r 10; straight 5 up; bend 90 r 10; bend 90 r 10", EMT)
    assert _slopes(shape) == pytest.approx([30.0, 90.0], abs=1e-9)
    assert len(shape.turns) == 3


def test_pull_point_station_and_joined_straights() -> None:
    shape = parse_path("straight 10, pull point, straight 20", EMT)
    assert shape.pull_points_mm == pytest.approx((10 * FT,))
    after = parse_path("straight 10, bend 90 r 10, pull point, straight 20", EMT)
    assert after.pull_points_mm == pytest.approx((10 * FT + 254.0 * 1.57079633,))


@pytest.mark.parametrize(
    "text",
    [
        "", "straight", "bend", "straight 10, bend 45 r 10, straight 5 up", "straight ten", "bend 200 r 10",
        "bend 0 r 10", "straight 10, straight 5 up", "straight 0", "straight 10 slope 95", "wiggle 3", "bend 90 r 0",
        "straight -5", "straight 5 slope .", "pull point",
    ],
)  # fmt: skip
def test_refused_with_a_hint(text: str) -> None:
    with pytest.raises(InputError) as refusal:
        parse_path(text, EMT)
    assert refusal.value.hint


def test_turned_round_twice_is_the_same() -> None:
    parts = parts_of(parse_path("straight 10 slope 20, bend 70 r 24, straight 8, bend 90 r 12, straight 3 down", EMT))
    again = turned_round(turned_round(parts))
    for one, two in zip(parts, again, strict=True):
        assert one.axis == pytest.approx(two.axis, abs=1e-12)
        assert one.toward == pytest.approx(two.toward, abs=1e-12)
        assert (one.start_mm, one.end_mm) == (two.start_mm, two.end_mm)


def test_clipped_arc_keeps_its_direction() -> None:
    parts = parts_of(parse_path("bend 90 r 24, straight 1", EMT))
    half = parts[0].length_mm / 2.0
    first, second = clipped(parts, 0.0, half)[0], clipped(parts, half, 2 * half)[0]
    assert first.out_axis() == pytest.approx(second.axis, abs=1e-12)
    assert second.out_axis() == pytest.approx(parts[1].axis, abs=1e-12)


@pytest.mark.parametrize(
    "words",
    [
        "straight 200, bend of 90 r 24, straight 30 up",
        "straight 1.5, bend of 22.5 r 4.25, straight 0.75 slope 22.5, bend of 22.5 r 4.25, straight 3",
        "straight 0 up, bend of 90 r 4, straight 0, bend of 90 r 4, straight 2 down",
    ],
)
def test_a_run_is_told_in_the_words_that_are_read(words: str) -> None:
    assert path_words(parse_path(words, EMT), metric=False) == words
    assert parse_path(words.replace("bend of", "bend"), EMT) == parse_path(words, EMT)


def test_a_run_in_m_and_what_two_slopes_need_of_the_bend_between_them() -> None:
    shape = parse_path("straight 2.5 m slope -12.3456, bend 24.6912 r 105.5 mm, straight 0.125 m slope 12.3456", EMT)
    told = path_words(shape, metric=True)
    assert told == "straight 2.5 m slope -12.3456, bend of 24.6912 r 105.5 mm, straight 0.125 m slope 12.3456"
    assert parse_path(told, EMT).length_mm == pytest.approx(shape.length_mm, abs=0.1)


def test_how_long_a_run_is() -> None:
    assert length_words(85.25 * FT, metric=False) == "85.25 ft"
    assert length_words(25984.4, metric=True) == "25.984 m"
