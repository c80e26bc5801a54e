"""The figures of the documents show what the engine makes of the words they explain, and can be read on a phone."""

import itertools
import subprocess
import sys
from pathlib import Path

import pytest

from figures import first_run, legs, shapes, turns
from figures.kit import WIDTH_MM, Run
from make_pictures import FIGURES
from racewright.drawing.metrics import MM_PER_PT
from racewright.drawing.scene import Box, Text
from racewright.geometry.solids import Cylinder
from racewright.geometry.vector import Vec, cross, distance

ROOT = Path(__file__).parents[2]


def _same(a: Run, b: Run) -> bool:
    return all(distance(p, q) < 1e-6 for p, q in zip(a.points, b.points, strict=True))


def test_the_pictures_are_what_their_drawings_give() -> None:
    script = str(ROOT / "docs" / "make_pictures.py")
    done = subprocess.run([sys.executable, script, "--check"], check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("word", legs.AT_TURN_MM)
def test_each_word_at_a_turn_is_the_line_that_the_figure_shows(word: str) -> None:
    assert _same(legs.turn_run(word), legs.turn_run("back"))


@pytest.mark.parametrize("word", legs.AT_EDGE_MM)
def test_each_word_at_an_outside_corner_is_the_line_that_the_figure_shows(word: str) -> None:
    assert _same(legs.edge_run(word), legs.edge_run("back"))


def test_each_reading_that_places_an_offset_is_where_the_figure_shows_it() -> None:
    drawn = shapes.leg_run({"offset": shapes.OFFSET})
    start, end = shapes.arc_places(drawn)
    assert start == pytest.approx(shapes.OFFSET["starts_at"])
    placed = {word: value for word, value in shapes.OFFSET.items() if word != "starts_at"}
    for word, at in {"middle_at": (start + end) / 2.0, "done_by": end}.items():
        assert _same(drawn, shapes.leg_run({"offset": {**placed, word: at}}))
    assert drawn.points[-1][2] - drawn.points[0][2] == pytest.approx(shapes.OFFSET["rise"])


def test_a_box_offset_is_done_where_the_figure_shows_it() -> None:
    drawn = shapes.box_run(shapes.BOX)
    start, end = shapes.arc_places(drawn)
    assert start == pytest.approx(shapes.BOX["starts_at"])
    assert _same(drawn, shapes.box_run({"done_by": end, "angle": shapes.BOX["angle"]}))
    assert drawn.points[0][2] == pytest.approx(shapes.KNOCKOUT_MM)


def test_the_saddle_clears_the_pipe_by_what_the_figure_says() -> None:
    run = shapes.leg_run({"saddle": shapes.PIPE}, radius_mm=75.0)
    (pipe,) = (thing.solid for thing in run.route.obstacles)
    assert isinstance(pipe, Cylinder)
    middle = (float(shapes.PIPE["centre"]), 0.0, float(shapes.PIPE["height"]) - pipe.radius_mm)
    line = (run.line.point_at(k * run.line.length_mm / 2000.0) for k in range(2001))
    near = min(distance(p, middle) for p in line) - shapes.HALF - pipe.radius_mm
    assert near == pytest.approx(shapes.PIPE["clearance"], abs=0.05)


def test_rise_and_shift_are_the_two_ways_of_a_rolling_offset() -> None:
    a, b = (shapes.leg_run({"offset": shapes.ROLLING}).points[k] for k in (0, -1))
    assert (b[2] - a[2], b[1] - a[1]) == (pytest.approx(90), pytest.approx(110))


def test_a_kick_is_aside_by_its_rise_at_the_turn() -> None:
    assert shapes.kick_run().points[-1][1] == pytest.approx(shapes.KICK["rise"])


def test_the_first_run_passes_the_vent_on_its_lines() -> None:
    plan = first_run.planned()
    (piece,) = plan.pieces
    left, right, _, top = (25.4 * value for value in first_run.VENT)
    line = [piece.centreline.point_at(k * piece.cut_length_mm / 2000.0) for k in range(2001)]
    past = [p for p in line if left <= p[0] <= right]
    assert all(p[1] == pytest.approx(4.5 * 25.4) for p in past)
    assert past[0][1] - piece.outside_diameter_mm / 2.0 > top + 12.0
    assert line[-1][0] == pytest.approx((46 + 3 / 8) * 25.4)
    assert line[-1][1] == pytest.approx((4.5 + 25 + 5 / 8 + 3 / 4) * 25.4)  # the fitting takes 3/4 in


UP, DOWN, RIGHT, LEFT = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)
WAYS: dict[str, Vec] = {"up": UP, "down": DOWN, "right": RIGHT, "left": LEFT}


@pytest.mark.parametrize(("way", "told"), [("left", UP), ("right", DOWN), ("away", (0, -1, 0)), ("toward", (0, 1, 0))])
def test_a_turn_goes_where_the_figure_of_the_wall_says(way: str, told: Vec) -> None:
    room = turns.placed(turns.WALL_RIGHT)
    run = turns.turn_run(way)
    corner, end = room(run.route.corners[0].point), room(run.points[-1])
    assert distance(end, tuple(c + 190.0 * t for c, t in zip(corner, told, strict=True))) < 1e-6  # type: ignore[arg-type]


@pytest.mark.parametrize("going", turns.FACING)
def test_left_and_right_on_a_wall_are_what_the_figure_says(going: str) -> None:
    left = cross(turns.WALL_RIGHT[1], WAYS[going])  # n x h: facing the heading with the wall underfoot
    assert [WAYS[word] for word in turns.FACING[going]] == [left, tuple(-c for c in left)]


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_can_be_read_on_a_phone(name: str) -> None:
    (page,) = FIGURES[name]().pages
    px_per_mm = 360.0 / WIDTH_MM
    boxes = []
    for item in (item for item in page.items if isinstance(item, Text)):
        high = item.size_pt * MM_PER_PT
        assert high * px_per_mm >= 11.5, item.text
        left = item.at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * item.width_mm
        boxes.append((Box(left, item.at[1] - 0.75 * high, left + item.width_mm, item.at[1] + 0.2 * high), item.text))
        assert boxes[-1][0].inside(Box(0.0, 0.0, page.width_mm, page.height_mm)), item.text
    for (a, text), (b, other) in itertools.combinations(boxes, 2):
        assert not a.overlaps(b), (text, other)
