"""Handling collisions against an outside collision library (python-fcl: the Flexible Collision Library).

The bender's capsules are placed by their own formula here (4x4-free, from the drawing in docs/bending-order.md), the
conduit comes from the package's exact centreline at the part-made angle, cut into short chords; the library measures
the distances. Tolerance 1 mm: the package's own chords of arcs carry a sagitta of 0.44 mm at most at R = 114 mm.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import pairwise
from math import cos, gcd, hypot, pi, radians, sin
from random import Random
from typing import Any

import pytest

from racewright.bends.model import Bend
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.vector import Frame, cross, dot, scale, sub
from racewright.sequence.collide import (
    FAR_MM,
    RESOLUTION_MM,
    Hit,
    grip_side_hit,
    grip_side_over_floor,
    grip_side_over_ground,
    hook_side_hit,
    hook_side_over_floor,
    hook_side_over_ground,
    least_body_gap,
    segment_distance,
    self_hit,
)
from racewright.sequence.machine import Capsule, HandlingSettings
from racewright.sequence.state import Piece, Site
from racewright.tools.benders import default_bender

fcl = pytest.importorskip("fcl")
np = pytest.importorskip("numpy")

pytestmark = pytest.mark.oracle

BENDER = default_bender("EMT", "1/2")
R = BENDER.radius_mm
TUBE = BENDER.outside_diameter_mm / 2.0
SETTINGS = HandlingSettings()


def solid(start: Sequence[float], end: Sequence[float], radius: float) -> Any:
    """A library capsule on the segment from start to end (its own axis is z)."""
    along = [b - a for a, b in zip(start, end, strict=True)]
    length = hypot(*along)
    zx, zy, zz = (part / length for part in along) if length > 1e-9 else (0.0, 0.0, 1.0)
    # square to z and to the axis of space that z is least near; in plain numbers, which for three take no array's time
    xx, xy, xz = (0.0, zz, -zy) if abs(zx) < 0.9 else (-zz, 0.0, zx)
    size = hypot(xx, xy, xz)
    xx, xy, xz = xx / size, xy / size, xz / size
    turn = [[xx, zy * xz - zz * xy, zx], [xy, zz * xx - zx * xz, zy], [xz, zx * xy - zy * xx, zz]]
    middle = [(a + b) / 2 for a, b in zip(start, end, strict=True)]
    return fcl.CollisionObject(fcl.Capsule(radius, length), fcl.Transform(np.array(turn), np.array(middle)))


def apart(one: Any, other: Any) -> float:
    return float(fcl.distance(one, other, fcl.DistanceRequest(), fcl.DistanceResult()))


def together(solids: Sequence[Any]) -> Any:
    """Solids whose nearest to others the library finds by their boxes first."""
    group = fcl.DynamicAABBTreeCollisionManager()
    group.registerObjects(list(solids))
    group.setup()
    return group


def least_apart(some: Sequence[Any], others: Sequence[Any]) -> float:
    """The least distance between one of some and one of the others; 1e9 where there are none."""
    if not some or not others:
        return 1e9
    found = fcl.DistanceData()
    together(some).distance(together(others), found, fcl.defaultDistanceCallback)
    return float(found.result.min_distance)


def pipe_of(points: Sequence[Sequence[float]]) -> list[Any]:
    """Conduit along these axis points."""
    return [solid(a, b, TUBE) for a, b in pairwise(points)]


def random_piece(rng: Random, count: int) -> Piece:
    at, bends = rng.uniform(100, 500), []
    for _ in range(count):
        bend = Bend(
            arc_start_mm=at,
            angle_rad=radians(rng.choice((22.5, 30, 45, 60, 90))),
            roll_rad=radians(rng.choice((0, 90, 180, 270, rng.uniform(0, 360)))),
            radius_mm=R,
        )
        bends.append(bend)
        at = bend.arc_end_mm + rng.uniform(45, 500)
    return Piece(bends, at + 50.0, 2 * TUBE, BENDER, SETTINGS)


def situation(rng: Random) -> tuple[Piece, int, int, int]:
    piece = random_piece(rng, rng.randint(2, 4))
    i = rng.randrange(piece.count)
    made = rng.randrange(1 << piece.count) & ~(1 << i) or (1 << ((i + 1) % piece.count))
    return piece, i, rng.randrange(2), made


def placed(piece: Piece, i: int, hook: int, made: int, alpha: float) -> tuple[list[tuple[float, ...]], ...]:
    """(hook side, grip side) as lists of axis points in the plane of the bend, from the exact centreline with bend
    i made to alpha: the grip straight lies on y = 0 and the contact is at x = R alpha."""
    turns = []
    for j, bend in enumerate(piece.bends):
        if j == i:
            # the arc grows from the hook's tangent point
            start = bend.arc_start_mm if hook == 0 else bend.arc_end_mm - R * alpha
            turns.append(Turn(start, alpha, bend.roll_rad, R))
        elif made >> j & 1:
            turns.append(Turn(bend.arc_start_mm, bend.angle_rad, bend.roll_rad, bend.radius_mm))
    line = Centreline.from_turns(piece.length_mm, turns, Frame())
    me = piece.bends[i]
    hook_s = me.arc_start_mm if hook == 0 else me.arc_end_mm
    grip_s = me.arc_start_mm + R * alpha if hook == 0 else me.arc_end_mm - R * alpha
    frame = line.frame_at(grip_s + (1e-6 if hook == 0 else -1e-6))
    x_axis = scale(frame.axis, 1.0 if hook == 0 else -1.0)
    y_axis = frame.toward(me.roll_rad)
    z_axis = cross(x_axis, y_axis)
    origin = sub(line.point_at(grip_s), scale(x_axis, R * alpha))

    def local(s: float) -> tuple[float, ...]:
        d = sub(line.point_at(s), origin)
        return (dot(d, x_axis), dot(d, y_axis), dot(d, z_axis))

    def stations(start: Any, end: Any) -> Any:
        count = max(2, int(abs(end - start) / 10.0))
        return [start + (end - start) * k / count for k in range(count + 1)]

    hook_end, grip_end = (0.0, piece.length_mm) if hook == 0 else (piece.length_mm, 0.0)
    # only what lies beyond the straight beside the bend counts against shoe and handle
    room = piece.room(i, hook, made)
    sign = 1 if hook == 0 else -1
    hook_far = hook_s - sign * room.hook_mm
    grip_far = hook_s + sign * (me.arc_length_mm + room.grip_mm)
    hook_points = [local(s) for s in stations(hook_far, hook_end)] if abs(hook_far - hook_end) > 1e-6 else []
    grip_points = [local(s) for s in stations(grip_far, grip_end)] if abs(grip_far - grip_end) > 1e-6 else []
    everything = [local(s) for s in stations(hook_s, hook_end) + stations(grip_s, grip_end)]
    return hook_points, grip_points, everything


def bender_solids(alpha: float) -> list[Any]:
    """Shoe and handle by the words of the drawing, turned by -alpha about the centre (R alpha, R)."""
    cx, cy = R * alpha, R
    half = BENDER.shoe_width_mm / 2.0
    rib = R + TUBE - half
    first = float(np.arcsin(half / rib))
    shoe = []
    for angle in np.linspace(-pi / 2 + first, -first, 5) - alpha:
        shoe.append(solid((cx, cy, 0), (cx + rib * cos(angle), cy + rib * sin(angle), 0), half))
    lean = SETTINGS.handle_upright_at_rad - alpha
    reach = BENDER.handle_length_mm
    handle = solid((cx, cy, 0), (cx - reach * sin(lean), cy + reach * cos(lean), 0), SETTINGS.handle_radius_mm)
    return [*shoe, handle]


def library_gap(piece: Piece, i: int, hook: int, made: int, alpha: float) -> float:
    hook_points, grip_points, _ = placed(piece, i, hook, made, alpha)
    return least_apart([*pipe_of(hook_points), *pipe_of(grip_points)], bender_solids(alpha))


def test_segment_distance_agrees_with_the_library() -> None:
    rng = random.Random(4)
    for _ in range(600):
        p = [rng.uniform(-300, 300) for _ in range(12)]
        a = Capsule(p[0], p[1], p[2], p[3], p[4], p[5], 5.0)
        b = Capsule(p[6], p[7], p[8], p[9], p[10], p[11], 7.0)
        expected = apart(solid(p[:3], p[3:6], 5.0), solid(p[6:9], p[9:], 7.0))
        ours = segment_distance(a, b) - 12.0
        if expected > 0:
            assert ours == pytest.approx(expected, abs=1e-3)
        else:
            assert ours <= 1e-3


def tight_situation(rng: Random) -> tuple[Piece, int, int, int]:
    """Near bends in or about one plane with long ends: shoe, handle and conduit are near."""
    at, bends = rng.uniform(250, 500), []
    for _ in range(rng.randint(2, 4)):
        bend = Bend(
            arc_start_mm=at,
            angle_rad=radians(rng.choice((60, 90, 90))),
            roll_rad=radians(rng.choice((0, 0, 0, 15, 180))),
            radius_mm=R,
        )
        bends.append(bend)
        at = bend.arc_end_mm + rng.uniform(45, 250)
    piece = Piece(bends, at + rng.uniform(50.0, 500.0), 2 * TUBE, BENDER, SETTINGS)
    i = rng.randrange(piece.count)
    made = ((1 << piece.count) - 1) & ~(1 << i)
    return piece, i, rng.randrange(2), made


def library_self_gap(piece: Piece, i: int, hook: int, made: int, alpha: float) -> float:
    """Conduit of the hook side against conduit of the grip side, the two straights beside the bend left out."""
    hook_points, grip_points, _ = placed(piece, i, hook, made, alpha)
    return least_apart(pipe_of(hook_points), pipe_of(grip_points))


def body_hit(site: Site, needed_mm: float) -> Hit | None:
    """The first of shoe, handle or conduit that comes nearer than `needed_mm`, asked as the search asks."""
    looks = (hook_side_hit, grip_side_hit, self_hit)
    return next((hit for look in looks if (hit := look(site, needed_mm + RESOLUTION_MM, needed_mm))), None)


def test_what_is_said_to_clear_clears_and_what_hits_hits() -> None:
    rng = random.Random(11)
    cleared = 0
    hits = {"shoe": 0, "handle": 0}
    for _ in range(60):
        piece, i, hook, made = tight_situation(rng)
        found = body_hit(piece.site(i, hook, made), SETTINGS.clearance_mm)
        angle = piece.bends[i].angle_rad
        if found is None:
            cleared += 1
            assert library_gap(piece, i, hook, made, 0.0) >= SETTINGS.clearance_mm - 1.0
            assert min(library_gap(piece, i, hook, made, angle * k / 12) for k in range(13)) >= 2.0
        elif found.limit in hits:
            hits[found.limit] += 1
            # looked at every half degree: conduit 300 mm off the contact travels 2.6 mm between two looks
            steps = 180 if found.gap_mm > -20.0 else 60
            gaps = (library_gap(piece, i, hook, made, angle * k / steps) for k in coarse_first(steps))
            assert any(gap < SETTINGS.clearance_mm + 2.0 for gap in gaps)
    assert cleared >= 10
    assert hits["handle"] >= 5


def coarse_first(steps: int) -> list[int]:
    """All of 0 to `steps`, every 32nd first, then those between: what is near at many is found soon."""
    return sorted(range(steps + 1), key=lambda k: (-gcd(k, 32), k))


def nearest_axis_points(piece: Piece, i: int, hook: int, made: int, alpha: float) -> float:
    """Least distance between axis points of the two sides, both more than 60 mm of conduit off the bend."""
    _, _, points = placed(piece, i, hook, made, alpha)
    points = np.array(points)
    contact = np.array([R * alpha, 0.0, 0.0])
    # the list runs outward on the hook side, then outward from the contact on the grip side
    split = int(np.argmin(np.linalg.norm(points[1:] - contact, axis=1))) + 1
    hook_side, grip_side = points[7:split], points[split + 7 :]
    return float(np.linalg.norm(hook_side[:, None, :] - grip_side[None, :, :], axis=2).min())


def test_conduit_that_would_hit_itself_is_found() -> None:
    rng = random.Random(3)
    clear = hit = 0
    for _ in range(400):
        piece, i, hook, made = tight_situation(rng)
        site = piece.site(i, hook, made)._replace(machine=None)  # the conduit alone
        found = body_hit(site, SETTINGS.clearance_mm)
        angle = piece.bends[i].angle_rad
        if found is None and clear < 12 and piece.count > 2:
            clear += 1
            assert min(library_self_gap(piece, i, hook, made, angle * k / 8) for k in range(9)) >= 2.0
        if found is not None and hit < 10:
            hit += 1
            assert found.limit == "conduit itself"
            # points every 10 mm and angles every half degree may miss the nearest by some mm
            near = 2 * TUBE + SETTINGS.clearance_mm + 6.0
            looks = (nearest_axis_points(piece, i, hook, made, angle * k / 180) for k in coarse_first(180))
            assert any(gap < near for gap in looks)
    assert clear == 12
    assert hit >= 3


def test_least_gap_agrees_with_fine_steps_of_the_library() -> None:
    rng = random.Random(5)
    compared = 0
    for _ in range(40):
        piece, i, hook, made = situation(rng)
        found = least_body_gap(piece.site(i, hook, made))
        if found is None or found.limit == "conduit itself":
            continue
        if found.gap_mm <= 1.0:  # the library says only that solids overlap
            continue
        angle = piece.bends[i].angle_rad
        least = min(library_gap(piece, i, hook, made, angle * k / 60) for k in range(61))
        compared += 1
        assert found.gap_mm <= least + 1.0
        # a step is at most 1.5 degrees: about 1 mm of travel for 40 mm off the contact
        assert found.gap_mm >= least - 12.0
        if compared >= 8:
            break
    assert compared >= 6


def test_heights_over_the_floor_agree_with_the_exact_centreline() -> None:
    rng = random.Random(9)
    for _ in range(60):
        piece, i, hook, made = situation(rng)
        site = piece.site(i, hook, made)
        angle = piece.bends[i].angle_rad
        lowest = 0.0
        ground = 0.0
        for k in range(61):
            alpha = angle * k / 60
            _, _, points = placed(piece, i, hook, made, alpha)
            lowest = min(lowest, min(y for _, y, _ in points))
            lean = SETTINGS.handle_upright_at_rad - alpha
            down = (-sin(lean), cos(lean))
            depth = max((x - R * alpha) * down[0] + (y - R) * down[1] for x, y, _ in points)
            ground = min(ground, BENDER.handle_length_mm - depth - TUBE)
        assert min(hook_side_over_floor(site), grip_side_over_floor(site)) == pytest.approx(lowest, abs=1.0)
        # conduit of some metres travels up to 1.3 mm between two looks
        over_ground = min(hook_side_over_ground(site), grip_side_over_ground(site))
        assert over_ground == pytest.approx(ground, abs=3.0)
        assert over_ground <= ground + 0.01


def test_far_means_far() -> None:
    rng = random.Random(2)
    piece, i, hook, made = situation(rng)
    while least_body_gap(piece.site(i, hook, made)) is not None:
        piece, i, hook, made = situation(rng)
    angle = piece.bends[i].angle_rad
    assert min(library_gap(piece, i, hook, made, angle * k / 20) for k in range(21)) >= FAR_MM - 1.0
