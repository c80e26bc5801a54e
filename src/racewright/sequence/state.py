"""The piece between two bends: which bends are made, how much straight conduit there is, where the parts stand.

What can be done next depends on the SET of bends already made, not on their order: the set is a bit mask.

Notation (mm, radians)
    i        bend, in material order from 0        made     bit mask of the bends that are made
    hook     0: hook toward end A, 1: toward end B
    option   i * 4 + hook * 2 + stance (0 floor, 1 upside down): one way to make one bend
    side     the conduit beyond a tangent point, travelled away from the bend: -1 toward A, +1 toward B
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, cos, pi, sin
from typing import Literal, NamedTuple

import msgspec

from racewright.bends.model import Bend
from racewright.sequence.machine import Capsule, HandlingSettings, Machine, Stance, build_machine, rotated_rad
from racewright.sequence.words import mark_names, stance_words
from racewright.tools.benders import BenderProfile, HookEnd, Reference
from racewright.units.tape import TapeStyle, format_length

LimitName = Literal["hook reach", "grip", "shoe", "handle", "floor", "conduit itself"]
# Chords of made arcs; their sagitta is added to the tube's radius, so that the parts hold the whole tube.
CHORD_RAD = pi / 18.0
# Straights shorter by rounding only are long enough.
ROUNDING_MM = 1e-6


class HandlingStep(msgspec.Struct, frozen=True, kw_only=True):
    """One bend as it is handled. `bend_index` counts along the conduit from 0. Lengths mm, angles rad.

    `spin_rad`: how far the conduit turns in the bender since the bend before, right-handed about the axis from A to B
    (roll of the bend before less roll of this one, -pi < spin <= pi); `rotated_rad` is how far in the room. `push_mm`:
    how far the hook's tangent point moves along the conduit toward B (negative: toward A). `hook_room_mm`,
    `grip_room_mm`: straight existing conduit beside the bend; needed are `hook_need_mm` and `grip_need_mm`.
    `hook_side_mm`: conduit on the hook's side.
    """

    bend_index: int
    hook: HookEnd
    stance: Stance
    reference: Reference
    spin_rad: float
    swap_ends: bool
    stance_change: bool
    push_mm: float
    hook_room_mm: float
    hook_need_mm: float
    grip_room_mm: float
    grip_need_mm: float
    hook_side_mm: float

    @property
    def rotated_rad(self) -> float:
        """How far the conduit is rotated in the room since the bend before: what the card says and what it costs."""
        return rotated_rad(self.spin_rad, stance_change=self.stance_change)

    @property
    def hook_is_short(self) -> bool:
        """Whether the hook is on less conduit than a hand holds."""
        return self.hook_room_mm < self.grip_need_mm - ROUNDING_MM

    @property
    def hook_on(self) -> str:
        """What the hook is on: the conduit's 'end', or a 'straight' before a bend that is made."""
        return "end" if self.hook_room_mm >= self.hook_side_mm - ROUNDING_MM else "straight"


class Way(msgspec.Struct, frozen=True, kw_only=True):
    """One way to bend the piece: its steps in bending order, its cost in points of effort, and why."""

    steps: tuple[HandlingStep, ...]
    cost: float
    reasons: tuple[str, ...] = ()

    @property
    def order(self) -> tuple[int, ...]:
        """The bending order, bends counted along the conduit from 0."""
        return tuple(step.bend_index for step in self.steps)

    @property
    def hooks(self) -> str:
        """Which end the hook faces, step by step: 'AAB'."""
        return "".join(step.hook for step in self.steps)

    @property
    def least_slack_mm(self) -> float:
        """The least of what hook and grip have over their need."""
        slacks = [min(s.hook_room_mm - s.hook_need_mm, s.grip_room_mm - s.grip_need_mm) for s in self.steps]
        return min(slacks, default=0.0)


class Blocked(msgspec.Struct, frozen=True, kw_only=True):
    """A limit that binds, of the order that misses by the least: measured against needed (mm). `made` are the bends
    that were made by then, `hook` and `stance` those that come nearest. A negative measure is an overlap."""

    bend_index: int
    limit: LimitName
    measured_mm: float
    needed_mm: float
    hook: HookEnd
    stance: Stance
    made: tuple[int, ...]
    words: str = ""


class OrderAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """`ways`, best first. `proved`: the first is proved to cost least, or, without ways, that there is none.

    `impossible`: what binds in the order that misses by the least, the greatest shortfall first. `nodes`: states
    that the search looked at.
    """

    ways: tuple[Way, ...]
    proved: bool
    impossible: tuple[Blocked, ...] = ()
    nodes: int = 0


class Room(NamedTuple):
    """Straight existing conduit on both sides of a bend (mm)."""

    hook_mm: float
    grip_mm: float


class Site(NamedTuple):
    """One bend about to be made: the conduit's parts in the plane of the bend, the first of each side its straight.

    `hook_parts` at alpha = 0, moving with the shoe; `grip_parts` as they lie, x counted from the hook-side tangent
    point of the unmade bend. `machine` is None where no shoe and no handle is used (heat).
    """

    angle_rad: float
    tube_mm: float
    hook_parts: tuple[Capsule, ...]
    grip_parts: tuple[Capsule, ...]
    machine: Machine | None
    radius_mm: float


class Piece:
    """Bends, bender and settings, with what does not depend on the order worked out once."""

    def __init__(
        self,
        bends: Sequence[Bend],
        cut_length_mm: float,
        outside_diameter_mm: float,
        bender: BenderProfile,
        settings: HandlingSettings,
    ) -> None:
        self.bends = tuple(bends)
        self.count = len(self.bends)
        self.length_mm = cut_length_mm
        self.tube_mm = outside_diameter_mm / 2.0
        self.bender = bender
        self.settings = settings
        self.hook_need_mm = bender.least_straight_mm
        self.grip_need_mm = bender.grip_mm
        # a profile without hook and grip is a radius only: bends made with heat or on a form
        self.by_hand = bender.hook_reach_mm > 0.0 or bender.grip_mm > 0.0
        self.starts = tuple(bend.arc_start_mm for bend in self.bends)
        self.ends = tuple(bend.arc_end_mm for bend in self.bends)
        self._machines: dict[int, Machine] = {}
        self._sides: dict[tuple[int, int, int], tuple[Capsule, ...]] = {}
        self._hook_parts: dict[tuple[int, int, int], tuple[Capsule, ...]] = {}
        self._grip_parts: dict[tuple[int, int, int], tuple[Capsule, ...]] = {}

    def free_toward_a_mm(self, i: int, made: int) -> float:
        """Straight conduit between bend i and the nearest made bend, or the end, toward A."""
        for j in range(i - 1, -1, -1):
            if made >> j & 1:
                return self.starts[i] - self.ends[j]
        return self.starts[i]

    def free_toward_b_mm(self, i: int, made: int) -> float:
        """The same toward B."""
        for j in range(i + 1, self.count):
            if made >> j & 1:
                return self.starts[j] - self.ends[i]
        return self.length_mm - self.ends[i]

    def room(self, i: int, hook: int, made: int) -> Room:
        """Straight existing conduit on the hook side and on the grip side."""
        a, b = self.free_toward_a_mm(i, made), self.free_toward_b_mm(i, made)
        return Room(b, a) if hook else Room(a, b)

    def hook_at_mm(self, i: int, hook: int) -> float:
        """Where the hook-side tangent point is on the conduit."""
        return self.ends[i] if hook else self.starts[i]

    def hook_side_mm(self, i: int, hook: int) -> float:
        """Conduit on the hook's side of the bend, to its end."""
        return self.length_mm - self.ends[i] if hook else self.starts[i]

    def machine(self, i: int) -> Machine | None:
        """Shoe and handle for bend i, or None where it is made without."""
        if not self.by_hand:
            return None
        if i not in self._machines:
            self._machines[i] = self._machine(i)
        return self._machines[i]

    def _machine(self, i: int) -> Machine:
        return build_machine(
            self.bends[i].radius_mm,
            2.0 * self.tube_mm,
            self.bender.shoe_width_mm,
            self.bender.handle_length_mm,
            self.settings.handle_radius_mm,
            self.settings.handle_upright_at_rad,
        )

    def side_sets(self, i: int, hook: int, made: int) -> tuple[int, int]:
        """The made bends on the hook's side and on the grip's side of bend i."""
        low, high = made & ((1 << i) - 1), made & (-2 << i)
        return (high, low) if hook else (low, high)

    def hook_parts(self, i: int, hook: int, beyond: int) -> tuple[Capsule, ...]:
        """The hook side's parts at alpha = 0, in the plane of the bend; `beyond`: the made bends on that side."""
        key = (i, hook, beyond)
        found = self._hook_parts.get(key)
        if found is None:
            # travelled away from the bend: (t, y, w) -> (-t, y, -w)
            found = self._hook_parts[key] = tuple(
                Capsule(-ax, ay, -az, -bx, by, -bz, r, turned)
                for ax, ay, az, bx, by, bz, r, turned in self.side(i, 1 if hook else -1, beyond)
            )
        return found

    def grip_parts(self, i: int, hook: int, beyond: int) -> tuple[Capsule, ...]:
        """The grip side's parts as they lie, x from the hook-side tangent point of the unmade bend."""
        key = (i, hook, beyond)
        found = self._grip_parts.get(key)
        if found is None:
            arc = self.bends[i].arc_length_mm
            found = self._grip_parts[key] = tuple(
                Capsule(arc + ax, ay, az, arc + bx, by, bz, r, turned)
                for ax, ay, az, bx, by, bz, r, turned in self.side(i, -1 if hook else 1, beyond)
            )
        return found

    def site(self, i: int, hook: int, made: int) -> Site:
        """The parts of both sides as they stand when bend i is about to be made."""
        bend = self.bends[i]
        at_hook, at_grip = self.side_sets(i, hook, made)
        return Site(
            bend.angle_rad,
            self.tube_mm,
            self.hook_parts(i, hook, at_hook),
            self.grip_parts(i, hook, at_grip),
            self.machine(i),
            bend.radius_mm,
        )

    def side(self, i: int, side: int, made: int) -> tuple[Capsule, ...]:
        """The conduit on one side of bend i, travelled from the tangent point: x along, y toward the inside of the
        bend, z = x cross y. The first part is the straight beside the bend."""
        made &= (1 << i) - 1 if side < 0 else -2 << i
        key = (i, side, made)
        found = self._sides.get(key)
        if found is None:
            found = self._sides[key] = self._build_side(i, side, made)
        return found

    def _build_side(self, i: int, side: int, made: int) -> tuple[Capsule, ...]:
        parts: list[Capsule] = []
        at = self.starts[i] if side < 0 else self.ends[i]
        px, py, pz = 0.0, 0.0, 0.0
        u, n, b = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
        turned = 0.0
        indices = range(i - 1, -1, -1) if side < 0 else range(i + 1, self.count)
        for j in indices:
            if not made >> j & 1:
                continue
            bend = self.bends[j]
            near = self.ends[j] if side < 0 else self.starts[j]
            run = abs(near - at)
            qx, qy, qz = px + u[0] * run, py + u[1] * run, pz + u[2] * run
            parts.append(Capsule(px, py, pz, qx, qy, qz, self.tube_mm, turned))
            px, py, pz = qx, qy, qz
            # seen along the travel, rolls are right-handed about it: toward A their sign turns
            phi = side * (bend.roll_rad - self.bends[i].roll_rad)
            c, s = cos(phi), sin(phi)
            d = (n[0] * c + b[0] * s, n[1] * c + b[1] * s, n[2] * c + b[2] * s)
            w = (b[0] * c - n[0] * s, b[1] * c - n[1] * s, b[2] * c - n[2] * s)
            radius, angle = bend.radius_mm, bend.angle_rad
            chords = max(1, ceil(angle / CHORD_RAD - 1e-9))
            tube = self.tube_mm + radius * (1.0 - cos(0.5 * angle / chords))
            ox, oy, oz = px, py, pz
            for k in range(1, chords + 1):
                part = angle * k / chords
                p, q = radius * sin(part), radius * (1.0 - cos(part))
                qx = ox + u[0] * p + d[0] * q
                qy = oy + u[1] * p + d[1] * q
                qz = oz + u[2] * p + d[2] * q
                parts.append(Capsule(px, py, pz, qx, qy, qz, tube, turned + part))
                px, py, pz = qx, qy, qz
            turned += angle
            ca, sa = cos(angle), sin(angle)
            u, d = (
                (u[0] * ca + d[0] * sa, u[1] * ca + d[1] * sa, u[2] * ca + d[2] * sa),
                (d[0] * ca - u[0] * sa, d[1] * ca - u[1] * sa, d[2] * ca - u[2] * sa),
            )
            n = (d[0] * c - w[0] * s, d[1] * c - w[1] * s, d[2] * c - w[2] * s)
            b = (d[0] * s + w[0] * c, d[1] * s + w[1] * c, d[2] * s + w[2] * c)
            at = self.starts[j] if side < 0 else self.ends[j]
        run = at if side < 0 else self.length_mm - at
        parts.append(Capsule(px, py, pz, px + u[0] * run, py + u[1] * run, pz + u[2] * run, self.tube_mm, turned))
        return tuple(parts)


def blocked_words(blocked: Blocked, tape: TapeStyle) -> str:
    """What binds, in one sentence."""
    after = ""
    if blocked.made:
        after = f", with {mark_names([index + 1 for index in blocked.made])} bent"
    head = f"mark {blocked.bend_index + 1}{after}, hook toward {blocked.hook}"
    has, needs = format_length(blocked.measured_mm, tape), format_length(blocked.needed_mm, tape)
    if blocked.limit == "hook reach":
        return f"{head}: {has} of straight conduit for the hook, {needs} needed"
    if blocked.limit == "grip":
        return f"{head}: {has} of straight conduit to grip, {needs} needed"
    head += f", {stance_words(blocked.stance)}"
    if blocked.limit == "floor":
        below = format_length(max(0.0, -blocked.measured_mm), tape)
        return f"{head}: a part would be {below} below the floor"
    what = "the conduit itself" if blocked.limit == "conduit itself" else f"the bender's {blocked.limit}"
    if blocked.measured_mm <= 0.0:
        return f"{head}: what is bent already hits {what}"
    return f"{head}: what is bent already passes {what} by {has}, {needs} wanted"


def with_words(blocked: Sequence[Blocked], tape: TapeStyle) -> tuple[Blocked, ...]:
    """The same with their sentence filled in."""
    return tuple(msgspec.structs.replace(b, words=blocked_words(b, tape)) for b in blocked)
