"""A survey as it is written: every length and angle still text. This is the shape of the file, and of its schema."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from racewright.codebook.edition import DEFAULT_EDITION

Written = str | int | float
_LENGTH, _ANGLE, _WARMTH = (msgspec.Meta(extra={"is": kind}) for kind in ("length", "angle", "temperature"))
#: What is written is one of three. A plain number of a length or temperature is in the survey's units.
Length = Annotated[Written, _LENGTH]
MaybeLength = Annotated[Written | None, _LENGTH]
Angle = Annotated[Written, _ANGLE]
MaybeAngle = Annotated[Written | None, _ANGLE]
Warmth = Annotated[Written, _WARMTH]
#: A name fits on a card, and a note on its page.
LengthText = Annotated[str, msgspec.Meta(max_length=60, extra={"metavar": "LENGTH"})]
Name = Annotated[str, msgspec.Meta(max_length=200)]
Note = Annotated[str, msgspec.Meta(max_length=4000)]
FORMAT_VERSION = 1

TurnWay = Literal["left", "right", "away", "toward"]
Shift = Literal["away", "toward", "left", "right"]
MeasuredTo = Literal["face", "stop", "wall", "back", "centre", "inside", "edge"]


class _Strict(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    pass


class WrittenFitting(_Strict, frozen=True, kw_only=True):
    """What stands at an end of the run. `fitting`: set-screw, compression, threaded (a knockout and
    locknuts), hub, socket or none (a free end).
    `insertion`: how far the conduit goes in past the face; `height`: the knockout's center above the surface;
    `fixed`: false where the fitting can be loosened, slid or swung, true where it cannot."""

    name: Name = ""
    fitting: Name = "set-screw"
    insertion: MaybeLength = None
    height: MaybeLength = None
    fixed: bool | None = None


class WrittenSaddle(_Strict, frozen=True, kw_only=True):
    """Up and over something whose middle lies at tape reading `centre`. Give the thing (`over`, `height`, `width`,
    `lift`) or the bare `rise`. `height` is its top above the surface, `lift` its underside above the surface (left
    out: 0, or for a round thing what height and width leave); for a saddle to the left or right `reach` is how far it
    comes past the conduit's centerline."""

    centre: Length
    over: Literal["round", "square"] = "round"
    height: MaybeLength = None
    width: MaybeLength = None
    lift: MaybeLength = None
    reach: MaybeLength = None
    rise: MaybeLength = None
    clearance: MaybeLength = None
    toward: Shift = "away"
    bends: Literal["auto", "3", "4"] = "auto"
    angle: Angle = "auto"
    name: Name = ""


class WrittenOffset(_Strict, frozen=True, kw_only=True):
    """Two equal bends that move the run over: by `rise` (away from the surface), `shift` (to a side), or both
    (a rolling offset). Place it by exactly one of `starts_at`, `middle_at`, `done_by` (tape readings)."""

    rise: MaybeLength = None
    shift: MaybeLength = None
    side: Literal["left", "right"] = "left"
    toward: Literal["away", "toward"] = "away"
    starts_at: MaybeLength = None
    middle_at: MaybeLength = None
    done_by: MaybeLength = None
    angle: Angle = "auto"
    name: Name = ""


class WrittenBoxOffset(_Strict, frozen=True, kw_only=True):
    """The small offset between a knockout's height and the strap's height. `rise` is worked out when left out."""

    rise: MaybeLength = None
    toward: Literal["away", "toward"] = "away"
    starts_at: MaybeLength = None
    done_by: MaybeLength = None
    angle: Angle = "auto"
    name: Name = ""


class WrittenKick(_Strict, frozen=True, kw_only=True):
    """One bend that sends the run aside until the next turn: aside by `rise` there. Give `starts_at` or `angle`."""

    rise: Length
    toward: Shift = "away"
    starts_at: MaybeLength = None
    angle: MaybeAngle = None
    name: Name = ""


class WrittenObstacle(_Strict, frozen=True, kw_only=True):
    """Something that the run must keep clear of without bending for it. `side` moves its middle to the left (+)."""

    centre: Length
    over: Literal["round", "square"] = "square"
    height: Length
    width: Length
    lift: MaybeLength = None
    side: Length = "0"
    depth: Length = "12 in"
    clearance: MaybeLength = None
    name: Name = ""


class WrittenFeature(_Strict, frozen=True, kw_only=True):
    """One thing met along a leg: exactly one of these."""

    saddle: WrittenSaddle | None = None
    offset: WrittenOffset | None = None
    box_offset: WrittenBoxOffset | None = None
    kick: WrittenKick | None = None
    keep_clear: WrittenObstacle | None = None


class WrittenPart(_Strict, frozen=True, kw_only=True, rename={"start": "from"}):
    """A leg (`leg`, its length) or a turn (`turn`, its way). `from` and `to` say what the leg was measured from and
    to; `gap` is the room between conduit and wall at a turn measured to the wall."""

    leg: MaybeLength = None
    start: MeasuredTo | None = None
    to: MeasuredTo | None = None
    features: tuple[WrittenFeature, ...] = ()
    turn: TurnWay | None = None
    angle: Angle = "90"
    gap: MaybeLength = None
    note: Note = ""


class WrittenAccuracy(_Strict, frozen=True, kw_only=True):
    """How well this person's hands repeat each step (standard deviations): a mark, an angle and a roll in degrees, a
    cut."""

    mark: MaybeLength = None
    angle: MaybeAngle = None
    roll: MaybeAngle = None
    cut: MaybeLength = None


class WrittenClimate(_Strict, frozen=True, kw_only=True):
    """Temperatures for the run's growth over the year: `lowest` and `highest` air, and the conduit's own when it is put
    up (`install`): '-10 C', '95 F', plain numbers in F with inches and in C with mm. `sun`: it lies in direct sun.
    `travel`: that of the expansion fittings in hand, 4 in unless told."""

    lowest: Warmth
    highest: Warmth
    install: Warmth
    sun: bool = False
    travel: Length | None = None


class WrittenRun(_Strict, frozen=True, kw_only=True):
    """One run: raceway, ends, and the walk from the one to the other. `stock` are the stick lengths sold, `offcuts`
    those on hand; `coupled`: a bent run is joined from pieces by couplings, even where one stick is long enough;
    `wires` like '3 x 12 THHN'; `surface` and `going` (on a wall, as one faces it) say which way is down."""

    name: Name
    raceway: Name
    walk: tuple[WrittenPart, ...]
    bender: Name = ""
    start: WrittenFitting = WrittenFitting()
    end: WrittenFitting = WrittenFitting()
    stand_off: Length = "0"
    clearance: Length = "0"
    strap: Name = ""
    cut: Literal["before", "after"] = "before"
    saddle_method: Literal["push-through", "centre-outward"] = "push-through"
    bend_radius: MaybeLength = None
    stock: tuple[Length, ...] = ()
    offcuts: tuple[Length, ...] = ()
    coupled: bool = False
    accuracy: WrittenAccuracy = WrittenAccuracy()
    wires: tuple[Name, ...] = ()
    climate: WrittenClimate | None = None
    surface: Literal["wall", "floor", "ceiling"] = "wall"
    going: Literal["right", "left", "up", "down"] = "right"


class WrittenSurvey(_Strict, frozen=True, kw_only=True):
    """A survey file. One run for now; `racewright` is the format's version, and a job will list `runs`."""

    run: WrittenRun
    racewright: Annotated[int, msgspec.Meta(ge=1, le=FORMAT_VERSION)] = FORMAT_VERSION
    units: Literal["in", "mm"] = "in"
    fraction: Literal[1, 2, 4, 8, 16, 32] | None = None

    @property
    def edition(self) -> str:
        """The edition of the wiring code that the run is checked against: the file has no field for it."""
        return DEFAULT_EDITION
