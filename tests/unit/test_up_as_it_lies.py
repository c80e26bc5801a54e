"""Up is away from the surface that carries the conduit at end A, whichever way the first bend turns."""

from math import asin, degrees, radians

import msgspec
import pytest

from racewright.bends.model import BentPiece
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.vector import Frame, sub
from racewright.operations.common import NOTHING_KNOWN
from racewright.operations.tweak import TweakAnswer, TweakRequest, tweak
from racewright.plan.lying import up_roll_rad
from racewright.plan.model import Plan, PlannedPiece
from racewright.plan.plan_run import plan_run
from racewright.records.model import LeanReading, OffReading, Reading, RiseReading
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.survey.written import WrittenSurvey


def _leg(length: str, *features: dict[str, object], start: str = "back", to: str = "back") -> dict[str, object]:
    return {"leg": length, "from": start, "to": to, "features": list(features)}


#: First an offset along the wall, to the left, then a 90 to the left: the first bend turns along the wall.
ALONG_THE_WALL: list[dict[str, object]] = [
    _leg("44 1/2", {"offset": {"shift": "3 3/4", "side": "left", "starts_at": 9}}, start="face"),
    {"turn": "left"},
    _leg("21 3/4", to="face"),
]
#: The same to the right.
DOWN_THE_WALL: list[dict[str, object]] = [
    _leg("44 1/2", {"offset": {"shift": "3 3/4", "side": "right", "starts_at": 9}}, start="face"),
    {"turn": "right"},
    _leg("21 3/4", to="face"),
]


def _survey(walk: list[dict[str, object]]) -> WrittenSurvey:
    return survey_from_data({"units": "in", "run": {"name": "along the wall", "raceway": "EMT 1/2", "walk": walk}})


def _far_end(piece: PlannedPiece, now: BentPiece) -> Frame:
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in now.bends]
    return Centreline.from_turns(now.cut_length_mm, turns, piece.frame).frame_at(now.cut_length_mm)


def _off(plan: Plan, now: BentPiece) -> tuple[OffReading | LeanReading, ...]:
    """What a tape and a level show of the far end in the room: x along the first leg, y to its left, z up."""
    (piece,) = plan.pieces
    end = _far_end(piece, now)
    x, y, z = sub(end.origin, _far_end(piece, piece.piece).origin)
    return (
        LeanReading(way="up", lean_deg=degrees(asin(end.axis[2]))),
        OffReading(way="long", off=f"{x:.4f} mm"),
        OffReading(way="left", off=f"{y:.4f} mm"),
        OffReading(way="up", off=f"{z:.4f} mm"),
    )


def _tweaked(survey: WrittenSurvey, measured: tuple[Reading, ...]) -> TweakAnswer:
    return tweak(TweakRequest(survey=survey, measured=measured), NOTHING_KNOWN)


@pytest.mark.parametrize("walk", [ALONG_THE_WALL, DOWN_THE_WALL])
def test_a_twist_shows_off_the_wall_and_an_angle_along_it(walk: list[dict[str, object]]) -> None:
    survey = _survey(walk)
    plan = plan_run(read_survey(survey))
    (piece,) = plan.pieces
    *first, last = piece.piece.bends
    twisted = msgspec.structs.replace(last, roll_rad=last.roll_rad + radians(2.0))
    now = msgspec.structs.replace(piece.piece, bends=(*first, twisted))
    (move,) = _tweaked(survey, _off(plan, now)).moves
    assert (move.number, move.what, move.by_deg) == (3, "roll", pytest.approx(-2.0, abs=0.26))
    off = _far_end(piece, now).origin[2] - piece.start.point_mm[2]
    assert f"the far end goes {'down' if off > 0.0 else 'up'}" in move.words
    opened = msgspec.structs.replace(last, angle_rad=last.angle_rad + radians(2.0))
    now = msgspec.structs.replace(piece.piece, bends=(*first, opened))
    (move,) = _tweaked(survey, _off(plan, now)).moves
    assert (move.number, move.what, move.by_deg) == (3, "angle", pytest.approx(-2.0, abs=0.26))


def test_what_a_correction_does_is_said_in_the_same_directions() -> None:
    survey = _survey(ALONG_THE_WALL)
    answer = _tweaked(survey, (OffReading(way="up", off="3/8"), OffReading(way="left", off="0")))
    moved = answer.far_end_moves_mm
    assert moved.up == pytest.approx(-3 / 8 * 25.4, abs=1.6)
    assert abs(moved.left) < 1.6


@pytest.mark.parametrize("before", [None, {"shift": "3 3/4", "side": "left"}, {"rise": "3 3/4"}])
@pytest.mark.parametrize("rise", ["2 1/8", "2 3/8"])
def test_a_rise_is_taken_from_its_own_leg_the_way_its_own_shape_goes(
    before: dict[str, object] | None, rise: str
) -> None:
    things: list[dict[str, object]] = [{"saddle": {"center": "52", "rise": "2 1/4", "angle": "22.5", "bends": "3"}}]
    if before:
        things.insert(0, {"offset": {**before, "starts_at": 9}})
    survey = _survey([_leg("88", *things, start="face", to="face")])
    (saddle,) = [s for s in plan_run(read_survey(survey)).shapes if s.kind == "saddle 3"]
    outer, middle, other = (saddle.first + k for k in (1, 2, 3))
    assert not _tweaked(survey, (RiseReading(rise="2 1/4", number=middle),)).moves
    answer = _tweaked(survey, (RiseReading(rise=rise, number=middle),))
    assert answer.moves
    assert {move.number for move in answer.moves} <= {outer, middle, other}
    assert all((move.by_deg > 0.0) == (rise == "2 1/8") for move in answer.moves)


def test_each_piece_has_the_surface_it_starts_on() -> None:
    climbing: list[dict[str, object]] = [_leg("130", start="face"), {"turn": "away"}, _leg("170", to="face")]
    plan = plan_run(read_survey(_survey(climbing)))
    assert len(plan.pieces) > 2
    for piece in plan.pieces:
        up = piece.frame.toward(up_roll_rad(plan, piece))
        away = (0.0, 0.0, 1.0) if abs(piece.frame.axis[0]) > 0.5 else (-1.0, 0.0, 0.0)
        assert up == pytest.approx(away, abs=1e-9)
