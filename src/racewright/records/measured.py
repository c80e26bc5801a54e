"""What a person measured on a bent piece, or on one that is half bent: lengths as text with or without a unit."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

LengthText = Annotated[str, msgspec.Meta(max_length=60, extra={"metavar": "LENGTH"})]
Degrees = Annotated[float, msgspec.Meta(ge=-180.0, le=180.0)]
BendNumber = Annotated[int, msgspec.Meta(ge=1, le=60)]
PieceNumber = Annotated[int, msgspec.Meta(ge=1, le=60)]
LeanWay = Literal["up", "down", "left", "right"]
EndWay = Literal["up", "down", "left", "right", "long", "short"]


class _Measured(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of what was measured: a field that is not known is refused by name."""


class OffReading(_Measured, frozen=True, kw_only=True, tag_field="what", tag="off"):
    """The piece is off by so much that way at `station` along it from end A ('' = at end B): long and short are along
    the first leg, beyond end B and back from it. Daylight under the conduit is off 'up' at its station."""

    way: EndWay
    off: LengthText
    station: LengthText = ""


class RiseReading(_Measured, frozen=True, kw_only=True, tag_field="what", tag="rise"):
    """The rise measured under the middle of bend `number` (None: the piece's one saddle center, or its only bend),
    from the surface the first leg lies on to the conduit's underside."""

    rise: LengthText
    number: BendNumber | None = None


class LeanReading(_Measured, frozen=True, kw_only=True, tag_field="what", tag="lean"):
    """The last leg leans that way by so many degrees more than it should."""

    way: LeanWay
    lean_deg: Degrees


class AngleReading(_Measured, frozen=True, kw_only=True, tag_field="what", tag="angle"):
    """The angle that bend `number` really has, read with a level after letting go."""

    number: BendNumber
    angle_deg: Degrees


Reading = OffReading | RiseReading | LeanReading | AngleReading


class MadeReading(_Measured, frozen=True, kw_only=True):
    """A bend that is made already, as measured; what is left away is as planned. `mark` is where the plan's reference
    mark really stood, from end A; `start` where the bend begins, instead of the mark; `roll_off_deg` how far its plane
    is off the plan, clockwise seen from end A (a dog-leg)."""

    number: BendNumber
    mark: LengthText = ""
    start: LengthText = ""
    angle_deg: Degrees | None = None
    roll_off_deg: Degrees | None = None
