"""Where the parts of a half-bent piece stand, against the exact centreline of the same piece."""

from __future__ import annotations

import random
from math import radians

import pytest

from racewright.bends.model import Bend
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.vector import Vec, along, cross, distance, dot, sub
from racewright.sequence.machine import HandlingSettings, build_machine, rolled
from racewright.sequence.state import Piece
from racewright.tools.benders import default_bender

BENDER = default_bender("EMT", "1/2")
R = BENDER.radius_mm


def random_piece(rng: random.Random) -> Piece:
    at, bends = rng.uniform(50, 300), []
    for _ in range(rng.randint(2, 6)):
        bends.append(
            Bend(
                arc_start_mm=at,
                angle_rad=radians(rng.uniform(5, 100)),
                roll_rad=radians(rng.uniform(-180, 180)),
                radius_mm=R,
            )
        )
        at = bends[-1].arc_end_mm + rng.uniform(10, 300)
    return Piece(bends, at, BENDER.outside_diameter_mm, BENDER, HandlingSettings())


def exact_points(piece: Piece, i: int, hook: int, made: int, alpha: float) -> tuple[list[Vec], list[Vec]]:
    """Axis points every 2 mm of the hook side and of the grip side, in the plane of the bend made to alpha."""
    turns = []
    for j, bend in enumerate(piece.bends):
        if j == i:
            start = bend.arc_end_mm - R * alpha if hook else bend.arc_start_mm
            turns.append(Turn(start, alpha, bend.roll_rad, R))
        elif made >> j & 1:
            turns.append(Turn(bend.arc_start_mm, bend.angle_rad, bend.roll_rad, R))
    line = Centreline.from_turns(piece.length_mm, turns)
    me = piece.bends[i]
    sign = -1.0 if hook else 1.0
    tangent = me.arc_end_mm if hook else me.arc_start_mm
    contact = tangent + sign * R * alpha
    frame = line.frame_at(contact + sign * 1e-7)
    x = (sign * frame.axis[0], sign * frame.axis[1], sign * frame.axis[2])
    y = frame.toward(me.roll_rad)
    z = cross(x, y)
    origin = along(line.point_at(contact), x, -R * alpha)

    def local(s: float) -> Vec:
        p = sub(line.point_at(s), origin)
        return (dot(p, x), dot(p, y), dot(p, z))

    def every(start: float, end: float) -> list[Vec]:
        count = int(abs(end - start) / 2.0) + 1
        return [local(start + (end - start) * k / count) for k in range(count + 1)]

    near, far = (piece.length_mm, 0.0) if hook else (0.0, piece.length_mm)
    return every(tangent, near), every(contact, far)


def nearest(point: Vec, points: list[Vec]) -> float:
    return min(distance(point, other) for other in points)


@pytest.mark.parametrize("seed", range(12))
def test_parts_stand_where_the_exact_centreline_stands(seed: int) -> None:
    rng = random.Random(seed)
    piece = random_piece(rng)
    i = rng.randrange(piece.count)
    made = rng.randrange(1 << piece.count) & ~(1 << i)
    for hook in (0, 1):
        site = piece.site(i, hook, made)
        alpha = piece.bends[i].angle_rad * rng.choice((0.3, 0.7, 1.0))
        hook_points, grip_points = exact_points(piece, i, hook, made, alpha)
        # joints of the chords lie on the axis itself: 1.01 mm is half the spacing of the points
        for part in site.hook_parts:
            _, _, _, bx, by, bz, _, _ = rolled(part, R, alpha)
            assert nearest((bx, by, bz), hook_points) < 1.01
        for part in site.grip_parts:
            assert nearest((part.bx, part.by, part.bz), grip_points) < 1.01
        # and the ends of the conduit are exact
        end = rolled(site.hook_parts[-1], R, alpha)
        assert distance((end.bx, end.by, end.bz), hook_points[-1]) < 1e-3
        end = site.grip_parts[-1]
        assert distance((end.bx, end.by, end.bz), grip_points[-1]) < 1e-3


def test_parts_hold_the_whole_tube_of_the_arcs() -> None:
    bends = [
        Bend(arc_start_mm=300.0, angle_rad=radians(90), roll_rad=0.0, radius_mm=R),
        Bend(arc_start_mm=900.0, angle_rad=radians(90), roll_rad=0.0, radius_mm=R),
    ]
    piece = Piece(bends, 1400.0, BENDER.outside_diameter_mm, BENDER, HandlingSettings())
    for part in piece.site(1, 0, 1).hook_parts[1:-1]:
        chord = distance((part.ax, part.ay, part.az), (part.bx, part.by, part.bz))
        # sagitta of a chord: R - sqrt(R^2 - (chord / 2)^2)
        assert part.radius - piece.tube_mm == pytest.approx(R - (R**2 - (chord / 2) ** 2) ** 0.5)
        assert 0.0 < part.radius - piece.tube_mm < 0.45


def test_rooms_count_made_bends_only() -> None:
    bends = [Bend(arc_start_mm=s, angle_rad=radians(30), roll_rad=0.0, radius_mm=R) for s in (300.0, 600.0, 900.0)]
    piece = Piece(bends, 1400.0, BENDER.outside_diameter_mm, BENDER, HandlingSettings())
    arc = R * radians(30)
    assert piece.room(1, 0, 0) == pytest.approx((600.0, 800.0 - arc))
    assert piece.room(1, 0, 0b001) == pytest.approx((300.0 - arc, 800.0 - arc))
    assert piece.room(1, 1, 0b101) == pytest.approx((300.0 - arc, 300.0 - arc))
    assert piece.room(0, 0, 0b100) == pytest.approx((300.0, 600.0 - arc))


def test_the_shoe_starts_at_the_tangent_line_and_ends_at_its_reach() -> None:
    machine = build_machine(R, BENDER.outside_diameter_mm, BENDER.shoe_width_mm, 965.2, 13.35, radians(45))
    first, last = machine.shoe[0], machine.shoe[-1]
    assert first.bx - first.radius == pytest.approx(0.0)
    assert last.by + last.radius == pytest.approx(R)
    for rib in machine.shoe:
        assert distance((rib.bx, rib.by, 0.0), (0.0, R, 0.0)) + rib.radius == pytest.approx(machine.shoe_reach_mm)
    assert machine.shoe_reach_mm == pytest.approx(R + BENDER.outside_diameter_mm / 2)
    # 45 degrees into the bend the handle stands square to the conduit
    handle = rolled(machine.handle, R, radians(45))
    assert handle.bx == pytest.approx(handle.ax)
    assert handle.by == pytest.approx(R + 965.2)
