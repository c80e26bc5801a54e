"""The hand bender as a few solids, and the settings of handling.

Notation (mm, radians). The plane of the bend: x along the conduit away from the hook, y toward the inside of the
bend, z = x cross y. The origin is the hook-side tangent point before the pull.
    R      centreline radius of the bend          D      outside diameter of the conduit
    alpha  how far the bend is made, 0 .. A       beta   handle_upright_at_rad
    c      centre of the shoe's circle: (R alpha, R, 0), it rolls along the conduit
    L      handle length, from c to the handle's end
The shoe and the handle are one rigid body with the hook-side conduit; it turns by -alpha about z and rolls with c.
    shoe    `SHOE_RIBS` capsules as wide as the shoe, from c outward, filling the quarter circle of radius R + D/2
            that starts at the hook-side tangent line (the conduit lies in the shoe's groove)
    handle  one capsule from c, at beta from the line square to the conduit, leaning to the hook side at alpha = 0
Figures of the settings: common practice, no source; the user measures his own.
"""

from __future__ import annotations

from functools import lru_cache
from math import asin, ceil, cos, inf, pi, sin, tau
from typing import Literal, NamedTuple

import msgspec

from racewright.units.tape import TapeStyle

Stance = Literal["floor", "upside down"]
STANCES: tuple[Stance, Stance] = ("floor", "upside down")
SHOE_RIBS = 5


class Effort(msgspec.Struct, frozen=True, kw_only=True):
    """What each thing costs, in points: a bend upside down costs 1 more than on the floor. Common practice, no source.

    `push_per_m` for each meter of pushing along, `rotate_half_turn` for rotating the conduit half round about its axis,
    seen in the room (`rotated_rad`; less in proportion), `swap_ends`, `stance_change` between the two,
    `upside_down_bend` for each bend made with the bender upside down, `lift_per_m` for each meter of conduit on the
    hook's side (it rises or hangs; so the hook goes toward the short end where nothing speaks against it).
    """

    push_per_m: float = 0.5
    rotate_half_turn: float = 0.5
    swap_ends: float = 2.0
    stance_change: float = 0.5
    upside_down_bend: float = 1.0
    lift_per_m: float = 0.25


class HandlingSettings(msgspec.Struct, frozen=True, kw_only=True):
    """How the bender is held and how much room is asked for. All are defaults to change.

    `clearance_mm`: least gap to shoe, handle and the conduit itself. `floor_give_mm`: how far a part may dip under
    the floor (hands lift a little). `handle_upright_at_rad`: the bend at which the handle stands square to the
    conduit that lies on the floor. `stances`: those that may be used. `other_ways`: how many ways to look for
    beside the best. `stick_mm`: the stick that the piece is cut from, what may be left on at most (inf: as long as
    wanted).
    """

    effort: Effort = Effort()
    clearance_mm: float = 3.0
    floor_give_mm: float = 1.0
    handle_radius_mm: float = 13.35
    handle_upright_at_rad: float = pi / 4
    stances: tuple[Stance, ...] = STANCES
    tape: TapeStyle = TapeStyle()
    other_ways: int = 2
    stick_mm: float = inf


def wrapped(angle_rad: float) -> float:
    """The same turn in (-pi, pi]; -pi by rounding counts as pi, next to nothing as 0."""
    turn = angle_rad - tau * ceil(angle_rad / tau - 0.5)
    if turn <= -pi + 1e-9:
        return pi
    return 0.0 if abs(turn) < 1e-9 else turn


def rotated_rad(spin_rad: float, *, stance_change: bool) -> float:
    """How far the conduit is rotated in the room from one bend to another, from how far it turns in the bender
    (clockwise seen from A, -pi < rotated <= pi).

    The inside of a bend faces up on the floor, and down where the bender stands upside down: with a change of the
    stance the bender itself is turned over.
    """
    return wrapped(spin_rad + pi * stance_change)


class Capsule(NamedTuple):
    """All points within `radius` of the segment a-b. For conduit, `turned` is how much the conduit turns between
    the bend at hand and the far end of this part (rad)."""

    ax: float
    ay: float
    az: float
    bx: float
    by: float
    bz: float
    radius: float
    turned: float = 0.0


class Machine(msgspec.Struct, frozen=True):
    """Shoe and handle at alpha = 0, in the plane of the bend. `handle_length_mm` counts from the shoe's centre."""

    radius_mm: float
    shoe: tuple[Capsule, ...]
    shoe_reach_mm: float
    handle: Capsule
    handle_length_mm: float
    upright_at_rad: float


@lru_cache(maxsize=64)
def build_machine(
    radius_mm: float,
    outside_diameter_mm: float,
    shoe_width_mm: float,
    handle_length_mm: float,
    handle_radius_mm: float,
    upright_at_rad: float,
) -> Machine:
    """The bender's solids for a bend of this radius (mm, rad)."""
    reach = radius_mm + outside_diameter_mm / 2.0
    half = min(shoe_width_mm / 2.0, reach / 2.0)
    rib = reach - half
    # the outer ribs touch the two end lines of the quarter from inside
    first = asin(half / rib)
    step = (pi / 2.0 - 2.0 * first) / (SHOE_RIBS - 1)
    shoe = []
    for k in range(SHOE_RIBS):
        angle = -pi / 2.0 + first + k * step
        shoe.append(Capsule(0.0, radius_mm, 0.0, rib * cos(angle), radius_mm + rib * sin(angle), 0.0, half))
    hx, hy = -sin(upright_at_rad), cos(upright_at_rad)
    handle = Capsule(
        0.0, radius_mm, 0.0, handle_length_mm * hx, radius_mm + handle_length_mm * hy, 0.0, handle_radius_mm
    )
    return Machine(radius_mm, tuple(shoe), reach, handle, handle_length_mm, upright_at_rad)


def rolled(body: Capsule, radius_mm: float, alpha_rad: float) -> Capsule:
    """A body of the hook side (shoe, handle, hook-side conduit) after the bend has grown by alpha."""
    c, s = cos(alpha_rad), sin(alpha_rad)
    x0 = radius_mm * alpha_rad
    ax, ay, az, bx, by, bz, r, turned = body
    ay -= radius_mm
    by -= radius_mm
    return Capsule(
        x0 + ax * c + ay * s,
        radius_mm - ax * s + ay * c,
        az,
        x0 + bx * c + by * s,
        radius_mm - bx * s + by * c,
        bz,
        r,
        turned,
    )
