"""Captured or not, which end gives way, and the certified way in against dense sampling."""

from math import cos, pi, radians, sin

import pytest

from racewright.bends.model import Bend, BentPiece
from racewright.errors import InputError
from racewright.fit.insertion import EndFitting, Solid, path_margin, put_in
from racewright.fit.jacobian import walk
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import Cylinder, HalfSpace
from racewright.geometry.vector import Frame, along

R = 113.6
D = 17.9


def piece(*bends: tuple[float, float, float], length: float) -> BentPiece:
    return BentPiece(
        cut_length_mm=length,
        outside_diameter_mm=D,
        bends=tuple(Bend(arc_start_mm=s, angle_rad=radians(a), roll_rad=radians(r), radius_mm=R) for s, a, r in bends),
    )


OFFSET = piece((250.0, 30.0, 0.0), (480.0, 30.0, 180.0), length=900.0)
STUB = piece((250.0, 90.0, 0.0), length=900.0)
U_SHAPE = piece((250.0, 90.0, 0.0), (600.0, 90.0, 0.0), length=600.0 + R * pi / 2 + 250.0)
BOX = EndFitting(name="pump house box", insertion_mm=20.0)
SLEEVE = EndFitting(name="coupling", insertion_mm=25.0, mobility="loose")


def test_an_offset_between_two_fixed_fittings_is_captured() -> None:
    way_in, _ = put_in(OFFSET, BOX, EndFitting(name="panel", insertion_mm=15.0), raceway_type="RMC")
    assert way_in.captured
    assert not way_in.possible
    assert way_in.loosen == "B"
    assert way_in.slide_mm == pytest.approx(15.0)
    assert "three-piece" in way_in.coupling


def test_one_that_is_loose_frees_it() -> None:
    way_in, found = put_in(OFFSET, BOX, SLEEVE, raceway_type="EMT")
    assert way_in.captured
    assert way_in.possible
    assert (way_in.loosen, way_in.slide_mm) == ("B", 25.0)
    assert found == []
    assert "pump house box" in way_in.steps[1]


def test_a_stub_between_fixed_fittings_is_captured_too() -> None:
    way_in, _ = put_in(STUB, BOX, EndFitting(insertion_mm=15.0))
    assert way_in.captured
    loose, _ = put_in(STUB, EndFitting(insertion_mm=20.0, mobility="loose"), EndFitting(insertion_mm=15.0))
    assert loose.possible
    assert loose.loosen == "A"


def test_a_u_goes_in_with_one_push() -> None:
    way_in, _ = put_in(U_SHAPE, BOX, EndFitting(name="panel", insertion_mm=15.0))
    assert not way_in.captured
    assert way_in.possible
    assert way_in.loosen == ""
    assert "pump house box and panel" in way_in.steps[0]


def test_one_open_end_is_never_captured() -> None:
    nothing = EndFitting(mobility="open")
    assert not put_in(OFFSET, BOX, nothing)[0].captured
    assert not put_in(OFFSET, nothing, BOX)[0].captured
    assert put_in(OFFSET, nothing, nothing)[0].possible


def test_a_piece_on_its_wall_slides_along_it() -> None:
    wall = Solid(name="wall", solid=HalfSpace(point=(0.0, 0.0, -D / 2), normal=(0.0, 0.0, 1.0)))
    way_in, _ = put_in(OFFSET, BOX, EndFitting(mobility="open"), obstacles=[wall])
    assert way_in.path_clear
    assert path_margin(OFFSET, Frame(), (-1.0, 0.0, 0.0), 20.0, wall).margin_mm == pytest.approx(0.0, abs=1e-5)


def test_a_pipe_in_the_way_back_is_found_and_the_other_end_taken() -> None:
    """A pipe just beyond the rise of the offset: backing off along +x (out of end A) hits it."""
    end = walk(OFFSET).end
    pipe = Solid(
        name="water pipe",
        solid=Cylinder(
            start=along(end.origin, (1.0, 0.0, 0.0), 12.0 + 6.0),
            end=along(along(end.origin, (1.0, 0.0, 0.0), 18.0), (0.0, 0.0, 1.0), 300.0),
            radius_mm=6.0,
        ),
    )
    into_a, hit = put_in(OFFSET, BOX, EndFitting(mobility="open"), obstacles=[pipe])
    assert not into_a.possible
    assert [item.rule for item in hit] == ["insertion.path"]
    both_loose, _ = put_in(
        OFFSET,
        EndFitting(insertion_mm=20.0, mobility="loose"),
        EndFitting(insertion_mm=20.0, mobility="loose"),
        obstacles=[pipe],
    )
    assert both_loose.possible
    assert both_loose.loosen == "A"


@pytest.mark.parametrize("seed", range(6))
def test_the_certified_margin_is_the_least_of_dense_samples(seed: int) -> None:
    spot = 300.0 + 60.0 * seed
    solid = Cylinder(
        start=(spot, -200.0, 100.0 + 20.0 * seed),
        end=(spot + 80.0 * cos(seed), 200.0, 100.0 + 30.0 * sin(seed)),
        radius_mm=15.0,
    )
    way = (-1.0, 0.0, 0.0)
    told = path_margin(OFFSET, Frame(), way, 60.0, Solid(name="x", solid=solid))
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in OFFSET.bends]
    sampled = min(
        least_distance(
            Centreline.from_turns(OFFSET.cut_length_mm, turns, Frame(along((0.0, 0.0, 0.0), way, -t * 0.1))), solid
        ).distance_mm
        - D / 2
        for t in range(601)
    )
    if told.certified:
        # between two looked-at places the air is never less than half of it at either, so never below zero
        assert sampled > -0.5 - 1e-6
        assert told.margin_mm >= sampled - 1e-6
    else:
        assert sampled < 0.0


def test_a_senseless_insertion_is_refused() -> None:
    with pytest.raises(InputError):
        put_in(OFFSET, EndFitting(insertion_mm=-1.0), BOX)
