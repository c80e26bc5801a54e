"""The closed-form derivative against central differences of the exact chain."""

from functools import partial
from math import radians, sin, tan

import msgspec
import pytest
from piece_factory import R, bent_piece

from racewright.bends.model import BentPiece
from racewright.fit.jacobian import end_columns, point_at, walk
from racewright.geometry.vector import Frame, cross, distance, scale, sub

piece = partial(bent_piece, length=1500.0)
THREE = piece((250.0, 30.0, 0.0), (520.0, 50.0, 170.0), (900.0, 80.0, 60.0))


def changed(base: BentPiece, kind: str, number: int, by: float, hook: str) -> BentPiece:
    if kind == "cut":
        return msgspec.structs.replace(base, cut_length_mm=base.cut_length_mm + by)
    bends = list(base.bends)
    i = number - 1
    old = bends[i]
    if kind == "mark":
        bends[i] = msgspec.structs.replace(old, arc_start_mm=old.arc_start_mm + by)
    elif kind == "angle":
        start = old.arc_start_mm - (old.radius_mm * by if hook == "B" else 0.0)
        bends[i] = msgspec.structs.replace(old, angle_rad=old.angle_rad + by, arc_start_mm=start)
    elif kind == "radius":
        bends[i] = msgspec.structs.replace(old, radius_mm=old.radius_mm + by)
    else:
        bends[i] = msgspec.structs.replace(old, roll_rad=old.roll_rad + by)
    return msgspec.structs.replace(base, bends=tuple(bends))


@pytest.mark.parametrize("hook", ["A", "B"])
def test_columns_agree_with_central_differences(hook: str) -> None:
    columns = end_columns(THREE, [hook] * 3)  # type: ignore[list-item]
    assert [c.step for c in columns].count("cut at end B") == 1
    assert len(columns) == 3 + 3 + 2 + 1
    for column in columns:
        h = 1e-6 if column.kind in ("angle", "roll") else 1e-3
        high = walk(changed(THREE, column.kind, column.number, h, hook)).end
        low = walk(changed(THREE, column.kind, column.number, -h, hook)).end
        move = scale(sub(high.origin, low.origin), 0.5 / h)
        lean = scale(sub(high.axis, low.axis), 0.5 / h)
        assert distance(move, column.move) < 1e-5, column.step
        assert distance(lean, cross(column.turn, walk(THREE).end.axis)) < 1e-7, column.step


def test_the_walk_of_an_offset_ends_at_its_rise() -> None:
    """Physical model, section 1: rise H, straight between the arcs H / sin A - 2 R tan(A/2)."""
    rise, angle = 120.0, radians(30.0)
    straight = rise / sin(angle) - 2.0 * R * tan(angle / 2.0)
    offset = piece((200.0, 30.0, 0.0), (200.0 + R * angle + straight, 30.0, 180.0))
    end = walk(offset).end
    assert end.origin[2] == pytest.approx(rise, abs=1e-9)
    assert end.axis == pytest.approx((1.0, 0.0, 0.0), abs=1e-12)


def test_points_along_the_walk_are_continuous_and_end_at_the_end() -> None:
    start = Frame((10.0, -5.0, 3.0))
    walked = walk(THREE, start)
    assert point_at(walked, 0.0, start) == start.origin
    assert distance(point_at(walked, THREE.cut_length_mm, start), walked.end.origin) < 1e-9
    last = point_at(walked, 0.0, start)
    for k in range(1, 1501):
        here = point_at(walked, float(k), start)
        assert 0.99 < distance(last, here) < 1.0 + 1e-9
        last = here
