"""A survey as measured: lengths in mm, angles in radians, choices spelled out. Nothing here is derived."""

from __future__ import annotations

from typing import Literal

import msgspec

from racewright.survey.written import MeasuredTo, Shift, TurnWay
from racewright.units.tape import TapeStyle
from racewright.units.warmth import Scale

SUN_KELVIN = 30.0 / 1.8


class _Measured(msgspec.Struct, frozen=True, kw_only=True):
    pass


class EndFitting(_Measured, frozen=True, kw_only=True):
    """An end of the run; None means: the catalogue's figure (insertion), the strap's height, not said (fixed)."""

    name: str
    kind: str
    insertion_mm: float | None
    height_mm: float | None
    fixed: bool | None


class Saddle(_Measured, frozen=True, kw_only=True):
    """Over something. Either `rise_mm` or `height_mm` (away) or `reach_mm` (to a side) is given."""

    label: str
    field: str
    centre_mm: float
    over: Literal["round", "square"]
    height_mm: float | None
    width_mm: float | None
    lift_mm: float
    reach_mm: float | None
    rise_mm: float | None
    clearance_mm: float
    toward: Shift
    bends: Literal["auto", "3", "4"]
    angle_rad: float | None


class Offset(_Measured, frozen=True, kw_only=True):
    """Two equal bends. `away_mm` and `left_mm` are signed; exactly one place is given. `away_mm` None: a box offset
    whose rise is worked out from the heights of knockout and strap."""

    label: str
    field: str
    away_mm: float | None
    left_mm: float
    starts_at_mm: float | None
    middle_at_mm: float | None
    done_by_mm: float | None
    angle_rad: float | None
    box: bool


class Kick(_Measured, frozen=True, kw_only=True):
    """One bend aside by `rise_mm` at the next turn."""

    label: str
    field: str
    rise_mm: float
    toward: Shift
    starts_at_mm: float | None
    angle_rad: float | None


class KeepClear(_Measured, frozen=True, kw_only=True):
    """An obstacle that no bend was asked for."""

    label: str
    field: str
    centre_mm: float
    over: Literal["round", "square"]
    height_mm: float
    width_mm: float
    lift_mm: float
    side_mm: float
    depth_mm: float
    clearance_mm: float


Feature = Saddle | Offset | Kick | KeepClear


def said_place(place: MeasuredTo) -> str:
    """A place that is measured to, as it is said: the file takes two spellings of center."""
    return "center" if place == "centre" else place


class Leg(_Measured, frozen=True, kw_only=True):
    """A straight stretch of the walk with what was met on it."""

    label: str
    field: str
    length_mm: float
    measured_from: MeasuredTo
    measured_to: MeasuredTo
    features: tuple[Feature, ...]
    note: str

    @property
    def span_words(self) -> tuple[str, str]:
        """What it was measured from and to, in words."""
        return said_place(self.measured_from), said_place(self.measured_to)


class Turn(_Measured, frozen=True, kw_only=True):
    """A change of direction. left/right keep the surface; away climbs the one ahead; toward goes around an
    outside corner."""

    field: str
    way: TurnWay
    angle_rad: float
    gap_mm: float | None


class HandAccuracy(_Measured, frozen=True, kw_only=True):
    """Standard deviations of this person's steps; None: the usual figure."""

    mark_mm: float | None
    angle_rad: float | None
    roll_rad: float | None
    cut_mm: float | None


#: The least travel that is taken for an expansion fitting's: a straight that wants one moves as much, 1/4 in.
LEAST_TRAVEL_MM = 6.35


class Climate(_Measured, frozen=True, kw_only=True):
    """Temperatures of the place (degrees Celsius): lowest and highest air over the year, and the conduit's own when
    it is installed. `in_sun` adds 30 F (16.7 K) to the highest for direct sun (PVC makers' handbooks, read in a
    reprint). `travel_mm` is the fitting's (maker's figure; 4 in is common practice, no source). `scale`: the one that
    temperatures are said in."""

    lowest_c: float
    highest_c: float
    install_c: float
    in_sun: bool = False
    travel_mm: float = 101.6
    scale: Scale = "C"

    @property
    def hottest_c(self) -> float:
        """The hottest that the conduit gets."""
        return self.highest_c + (SUN_KELVIN if self.in_sun else 0.0)

    @property
    def swing_k(self) -> float:
        """Hottest less lowest."""
        return self.hottest_c - self.lowest_c


class Survey(_Measured, frozen=True, kw_only=True):
    """One measured run: legs[0], turns[0], legs[1] ..."""

    name: str
    tape: TapeStyle
    raceway_type: str
    trade_size: str
    bender: str
    start: EndFitting
    end: EndFitting
    legs: tuple[Leg, ...]
    turns: tuple[Turn, ...]
    stand_off_mm: float
    strap: str
    cut_after_bending: bool
    saddle_method: Literal["push-through", "centre-outward"]
    bend_radius_mm: float | None
    stock_mm: tuple[float, ...]
    offcuts_mm: tuple[float, ...]
    coupled: bool
    accuracy: HandAccuracy
    wires: tuple[str, ...]
    climate: Climate | None
    surface: Literal["wall", "floor", "ceiling"]
    going: Literal["right", "left", "up", "down"]
    edition: str

    @property
    def straight(self) -> bool:
        """Whether nothing of the run is bent: no turn, and nothing met on a leg that a bend goes round."""
        return not self.turns and all(isinstance(f, KeepClear) for leg in self.legs for f in leg.features)
