"""A finished practice piece by its own kinematics: what tape, level and angle finder read on it at each check.

Shares no code with the program: a piece is the JSON of its plan, its bends are tuples that a slip may change, and a
check is known by its key. Vectors: x along the first leg, z the side that a roll of 0 turns to; lengths in mm.
"""

from __future__ import annotations

from math import atan2, cos, degrees, pi, radians, remainder, sin, tan
from typing import Any, NamedTuple

from rebuilt import Vec, add, cross, dot, less, mix

INCH = 25.4


class Made(NamedTuple):
    """A bend as made: where its arc begins along the conduit, its angle, its roll about the conduit."""

    start_mm: float
    angle: float
    roll: float


class Corner(NamedTuple):
    """A bend in space: arc's begin and end, the leg's direction before and after, the side it turns to, its corner."""

    begin: Vec
    end: Vec
    before: Vec
    after: Vec
    toward: Vec
    away: Vec
    at: Vec
    middle: Vec


def drawn(piece: dict[str, Any]) -> list[Made]:
    return [Made(b["arc_start_mm"], radians(b["angle_deg"]), radians(b["roll_deg"])) for b in piece["bends"]]


def made_piece(piece: dict[str, Any], bends: list[Made], cut_mm: float) -> tuple[list[Corner], Vec]:
    """The corners of a piece, and its end B."""
    radius: float = piece["bend_radius_mm"]
    point, axis, up, at = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.0
    out: list[Corner] = []
    for bend in bends:
        point = add(point, axis, bend.start_mm - at)
        toward = mix(up, cos(bend.roll), cross(axis, up), sin(bend.roll))
        across = cross(toward, axis)  # square to the bend's plane: it keeps its direction round the bend
        after = mix(axis, cos(bend.angle), toward, sin(bend.angle))
        away = mix(toward, cos(bend.angle), axis, -sin(bend.angle))

        def on_arc(turn: float, point: Vec = point, axis: Vec = axis, toward: Vec = toward) -> Vec:
            return add(add(point, axis, radius * sin(turn)), toward, radius * (1.0 - cos(turn)))

        end = on_arc(bend.angle)
        corner = add(point, axis, radius * tan(bend.angle / 2.0))
        out.append(Corner(point, end, axis, after, toward, away, corner, on_arc(bend.angle / 2.0)))
        # the line that a roll of 0 points at, beyond the bend: up = toward cos(roll) + across sin(roll)
        up = mix(away, cos(bend.roll), across, sin(bend.roll))
        point, axis, at = end, after, bend.start_mm + radius * bend.angle
    return out, add(point, axis, cut_mm - at)


def lean(corners: list[Corner], k: int) -> float:
    """The angle across their leg from where bend k - 1 came to where bend k turns to."""
    one, two = corners[k - 1].away, corners[k].toward
    return atan2(dot(cross(one, two), corners[k].before), dot(one, two))


def shapes(piece: dict[str, Any]) -> list[list[int]]:
    """The bends of each shape."""
    out: list[list[int]] = []
    for k, bend in enumerate(piece["bends"]):
        if out and bend["shape"] and piece["bends"][k - 1]["shape"] == bend["shape"]:
            out[-1].append(k)
        else:
            out.append([k])
    return out


def measured(piece: dict[str, Any], bends: list[Made], cut_mm: float) -> dict[str, str]:
    """What is read at each check, to 1/16 in and half a degree."""
    corners, end = made_piece(piece, bends, cut_mm)
    lengths = _lengths(piece, corners, end)
    out = {key: f"{max(0, round(value / INCH * 16.0)) / 16.0:g}" for key, value in lengths.items()}
    planned, _ = made_piece(piece, drawn(piece), piece["cut_length_mm"])
    for k, bend in enumerate(bends):
        out[f"angle {k + 1}"] = _degrees(bend.angle)
        if k:
            as_drawn, now = lean(planned, k), lean(corners, k)
            skew = abs(remainder(as_drawn, pi / 2.0)) > radians(5.0)
            out[f"lean {k + 1}"] = _degrees(abs(remainder(now, pi) if skew else remainder(now - as_drawn, 2.0 * pi)))
    for own in shapes(piece)[1:]:
        off = bends[own[0]].roll - radians(piece["bends"][own[0]]["roll_deg"])
        out[f"side {own[0] + 1}"] = "yes" if cos(off) > 0.0 else "no"
    return out


def _degrees(angle: float) -> str:
    return f"{round(degrees(angle) * 2.0) / 2.0:g}"


def _lengths(piece: dict[str, Any], corners: list[Corner], end: Vec) -> dict[str, float]:
    planned, half = piece["bends"], piece["outside_diameter_mm"] / 2.0
    large = [k for k, bend in enumerate(planned) if bend["angle_deg"] > 75.0]

    def held(a: int | None, point: Vec) -> float:
        """Along a leg from end A, or from the back of the 90 before it."""
        return point[0] if a is None else dot(less(point, corners[a].at), corners[a].after) + half

    out: dict[str, float] = {}
    for n, (a, b) in enumerate(zip([None, *large], [*large, None], strict=True), 1):
        out[f"length {n}"] = held(a, end) if b is None else held(a, corners[b].at) + half
    for own in shapes(piece):
        k, role = own[0], planned[own[0]]["role"]
        a = max((n for n in large if n < k), default=None)

        def above(point: Vec, k: int = k) -> float:
            return dot(less(point, corners[k].begin), corners[k].toward)

        if "saddle" in role:
            middle = (own[(len(own) - 1) // 2], own[len(own) // 2])
            out[f"place {k + 1}"] = sum(held(a, corners[n].at) for n in middle) / 2.0
            top = corners[own[1]].middle if len(own) == 3 else corners[own[1]].end
            out[f"rise {own[1] + 1}"] = above(top)
            last = own[-1] + 1
            out[f"flat {k + 1}"] = abs(above(end if last == len(planned) else corners[last].begin))
        elif "offset" in role:
            out[f"place {k + 1}"] = held(a, corners[k].at)
            out[f"rise {own[-1] + 1}"] = above(corners[own[-1]].end)
        elif "kick" in role:
            out[f"place {k + 1}"] = held(a, corners[k].at)
            next_90 = next((n for n in large if n > k), None)
            out[f"rise {k + 1}"] = above(end if next_90 is None else corners[next_90].at)
    out["dog-leg"] = _dog_leg(piece, corners, end)
    return out


def _dog_leg(piece: dict[str, Any], corners: list[Corner], end: Vec) -> float:
    """End B out of the floor that the first bend lies on; of a piece that is not flat out of the last bend's plane as
    drawn, the first bend lying as drawn."""
    planned, _ = made_piece(piece, drawn(piece), piece["cut_length_mm"])
    flat = all(abs(dot(one.toward, cross((1.0, 0.0, 0.0), planned[0].toward))) < 1e-6 for one in planned)
    one, wanted = corners[0].toward, planned[0].toward
    if flat:
        return abs(dot(end, cross((1.0, 0.0, 0.0), one)))
    normal = cross(planned[-1].before, planned[-1].toward)
    # turned about the first leg so that the first bend lies as drawn
    turn = atan2(wanted[2], wanted[1]) - atan2(one[2], one[1])
    x, y, z = less(end, corners[-1].at)
    return abs(dot((x, y * cos(turn) - z * sin(turn), y * sin(turn) + z * cos(turn)), normal))
