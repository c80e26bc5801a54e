"""A bending tool as physical constants of its bend: the trade's hand shoes, and profiles from what a person knows.

Notation (lengths along the conduit, mm; positions from the hook-side tangent point, positive away from the hook)
  D  outside diameter         R  centreline radius of the bend
  T  take-up: stub to the back of a 90, minus the mark at the arrow    T = R + D/2 + a
  G  gain of a 90: stub + leg, both to the back, minus the cut length  G = D + R (2 - pi/2)
  a  lead: the arrow sits at -a
  centre mark of a 45 degree bend at R pi/8; star (back of a 90) at R (pi/2 - 1) - D/2

The default figures are those taught for hand benders; shoes differ from maker to maker, so a test bend decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from math import pi
from typing import Literal, TypedDict, Unpack

import msgspec

from racewright.catalogue.raceways import Raceway, find_raceway, inches_to_mm, read_rows
from racewright.errors import InputError, LimitError
from racewright.units.said import said_finely

#: The end of the conduit that the hook faces.
HookEnd = Literal["A", "B"]
HOOKS: tuple[HookEnd, HookEnd] = ("A", "B")
#: The mark of the shoe that stands on the pencil mark.
Reference = Literal["arrow", "center", "star"]
REFERENCES: tuple[Reference, ...] = ("arrow", "center", "star")
#: How a bend is made: in a shoe on a handle, by a machine or on a form, or from PVC that is heated.
MadeBy = Literal["hand shoe", "machine", "heat"]


class BenderProfile(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One shoe on one raceway (physical constants of the bend). All lengths mm.

    Positions along the conduit count from the hook-side tangent point, positive away from the hook:
    arrow at -arrow_lead_mm, centre mark at centre_mm, star (back of a 90) at star_mm.
    Pointer: to be left with angle A (rad) after relaxing, pull to A + springback_b0_rad + springback_b1 * A;
    None where the user has not calibrated it.
    """

    name: str
    raceway_type: str
    trade_size: str
    outside_diameter_mm: float
    radius_mm: float
    arrow_lead_mm: float
    centre_mm: float
    star_mm: float
    hook_reach_mm: float
    grip_mm: float
    take_up_mm: float
    gain_mm: float
    springback_b0_rad: float | None = None
    springback_b1: float | None = None
    handle_length_mm: float = 965.2
    shoe_width_mm: float = 50.8
    source: str = ""
    standing: str = ""

    @property
    def least_straight_mm(self) -> float:
        """The straight that the hook needs beside an earlier bend: from the arrow to where the bend begins, and what
        the hook holds past the arrow."""
        return max(0.0, self.arrow_lead_mm + self.hook_reach_mm)

    @property
    def radius_only(self) -> bool:
        """Whether nothing but the radius is known: no hook, no grip, and no mark but where the bend begins."""
        return self.hook_reach_mm == self.grip_mm == self.arrow_lead_mm == 0.0

    def pointer_rad(self, angle_rad: float) -> float | None:
        """What the pointer must read while pulling, or None where springback is not calibrated."""
        if self.springback_b0_rad is None or self.springback_b1 is None:
            return None
        return pulled_rad(angle_rad, self.springback_b0_rad, self.springback_b1)


def pulled_rad(angle_rad: float, b0_rad: float, b1: float) -> float:
    """What the pointer must read while pulling, so that this angle is left: A + b0 + b1 A."""
    return angle_rad + b0_rad + b1 * angle_rad


def radius_from_gain_mm(gain_mm: float, outside_diameter_mm: float) -> float:
    """R from the gain of a 90 measured over the backs: G = D + R (2 - pi/2)."""
    return (gain_mm - outside_diameter_mm) / (2.0 - pi / 2.0)


HOOK_REACH_MM = 38.1  # 1 1/2 in: common practice, no source
GRIP_MM = 203.2  # 8 in: common practice, no source


class Besides(TypedDict, total=False):
    """What a profile has besides the figures of its bend, mm; where left out: a small shoe's hook reach and grip, the
    user's own figures."""

    hook_reach_mm: float
    grip_mm: float
    source: str
    standing: str


def gain_of_90_mm(radius_mm: float, outside_diameter_mm: float) -> float:
    """G = D + R (2 - pi/2): stub + leg to the backs of a 90, minus the cut length. mm."""
    return outside_diameter_mm + radius_mm * (2.0 - pi / 2.0)


def take_up_of_90_mm(radius_mm: float, outside_diameter_mm: float, arrow_lead_mm: float) -> float:
    """T = R + D/2 + a. mm."""
    return radius_mm + outside_diameter_mm / 2.0 + arrow_lead_mm


def centre_position_mm(radius_mm: float) -> float:
    """Where the mark sits that centres a 45 degree bend: R pi/8 past the tangent point. mm."""
    return radius_mm * pi / 8.0


def star_position_mm(radius_mm: float, outside_diameter_mm: float) -> float:
    """Where the star (back of a 90) sits past the tangent point: R (pi/2 - 1) - D/2. mm."""
    return radius_mm * (pi / 2.0 - 1.0) - outside_diameter_mm / 2.0


def profile_from_take_up_and_gain(
    name: str, raceway: Raceway, take_up_mm: float, gain_mm: float, **besides: Unpack[Besides]
) -> BenderProfile:
    """A profile from a take-up and a gain, both of a 90 and to the backs, mm: R and the lead follow.

    Raises InputError where the gain is not more than the outside diameter (no radius could give it).
    """
    diameter = raceway.outside_diameter_mm
    if not gain_mm > diameter:
        raise InputError(
            f"A gain of {said_finely(gain_mm)} is not more than the conduit's outside diameter"
            f" ({said_finely(diameter)}), so no radius gives it.",
            hint="measure stub and leg to the back of a 90 bend, add them, take off the cut length: that is the gain",
            field="gain",
            expected="a length over the outside diameter",
            example="2 5/8",
        )
    radius = radius_from_gain_mm(gain_mm, diameter)
    return profile_from_radius_and_take_up(name, raceway, radius, take_up_mm, **besides)


def profile_from_radius_and_take_up(
    name: str, raceway: Raceway, radius_mm: float, take_up_mm: float, **besides: Unpack[Besides]
) -> BenderProfile:
    """A profile where the radius is known and the take-up gives the lead, mm. Raises InputError for radius <= D/2."""
    lead = take_up_mm - radius_mm - raceway.outside_diameter_mm / 2.0
    return profile_from_radius_and_lead(name, raceway, radius_mm, lead, **besides)


def profile_from_radius_and_lead(
    name: str,
    raceway: Raceway,
    radius_mm: float,
    arrow_lead_mm: float,
    *,
    hook_reach_mm: float = HOOK_REACH_MM,
    grip_mm: float = GRIP_MM,
    source: str = "",
    standing: str = "own figures",
) -> BenderProfile:
    """A profile from centreline radius and arrow lead, mm; take-up, gain and marks follow.

    Raises InputError for a radius that is not more than half the diameter, and for a negative hook reach or grip.
    """
    diameter = raceway.outside_diameter_mm
    if not radius_mm > diameter / 2.0:
        raise InputError(
            f"A centerline radius of {said_finely(radius_mm)} is inside the conduit's own half"
            f" ({said_finely(diameter / 2.0)}).",
            hint="give the radius to the middle of the conduit",
            field="radius",
        )
    for field, value in (("hook-reach", hook_reach_mm), ("grip", grip_mm)):
        if value < 0:
            raise InputError(f"{field} is {said_finely(value)}: it cannot be negative.", field=field)
    return BenderProfile(
        name=name,
        raceway_type=raceway.type,
        trade_size=raceway.trade_size,
        outside_diameter_mm=diameter,
        radius_mm=radius_mm,
        arrow_lead_mm=arrow_lead_mm,
        centre_mm=centre_position_mm(radius_mm),
        star_mm=star_position_mm(radius_mm, diameter),
        hook_reach_mm=hook_reach_mm,
        grip_mm=grip_mm,
        take_up_mm=take_up_of_90_mm(radius_mm, diameter, arrow_lead_mm),
        gain_mm=gain_of_90_mm(radius_mm, diameter),
        source=source,
        standing=standing,
    )


def radius_only_profile(raceway: Raceway, radius_mm: float) -> BenderProfile:
    """A profile for bends that no hand shoe makes (heated PVC, a form): lead 0, no hook and no grip.

    The arrow's mark is then simply where the bend begins. Raises InputError as `profile_from_radius_and_lead`.
    """
    return profile_from_radius_and_lead(
        f"{default_name(raceway)} radius only",
        raceway,
        radius_mm,
        0.0,
        hook_reach_mm=0.0,
        grip_mm=0.0,
        source="radius given by the user",
        standing="radius as given; no shoe, so no hook and no grip",
    )


def default_bender(raceway_type: str, trade_size: str) -> BenderProfile:
    """The hand shoe that the trade uses for a raceway, with the taught figures.

    RMC and IMC are bent in the shoe of the next EMT size: its radius, with their own take-up and diameter. They are
    thinner than its groove, so the true radius may be smaller by up to half the difference in diameter.
    Raises LimitError where no hand shoe bends it: PVC (bent with heat), and sizes beyond the hand shoes.
    """
    raceway = find_raceway(raceway_type, trade_size)
    found = _default_index().get((raceway.type, raceway.trade_size))
    if found is not None:
        return found
    if raceway.family == "PVC":
        least = said_finely(raceway.least_radius_other_mm or 0.0)
        raise LimitError(
            f"{raceway.name} is not bent in a hand shoe: PVC is bent with heat, with equipment identified for it.",
            hint=f"write the bend's centerline radius in place of a bender: `bend_radius: {least}` or more"
            " (NFPA 70-2023 352.24(A), Chapter 9 Table 2)",
            quantity="hand shoe",
        )
    sizes = ", ".join(size for kind, size in _default_index() if kind == raceway.type)
    raise LimitError(
        f"No hand shoe for {raceway.name} in the table: hand benders end below this size.",
        hint="make your own profile with the take-up and gain of your machine: racewright bender add NAME"
        f" --raceway {raceway.type} --size {raceway.trade_size} --take-up ... --gain ...; shoes known: {sizes}",
        quantity="hand shoe",
    )


@cache
def default_benders() -> tuple[BenderProfile, ...]:
    """Every hand shoe of the table: EMT first, then RMC and IMC in the EMT shoes."""
    rows = read_rows("hand_shoes.csv", "racewright.tools")
    radius: dict[str, float] = {}
    out = []
    for row in rows:
        raceway = find_raceway(row["raceway_type"], row["trade_size"])
        if row["gain_in"]:
            radius[row["trade_size"]] = radius_from_gain_mm(inches_to_mm(row["gain_in"]), raceway.outside_diameter_mm)
        shoe = row["shoe_size"]
        own_shoe = raceway.type == "EMT"
        out.append(
            profile_from_radius_and_take_up(
                default_name(raceway),
                raceway,
                radius[shoe],
                inches_to_mm(row["take_up_in"]),
                hook_reach_mm=inches_to_mm(row["hook_reach_in"]),
                grip_mm=inches_to_mm(row["grip_in"]),
                source=row["source"] if own_shoe else f"{row['source']}; bent in the {shoe} EMT shoe",
                standing=row["standing"],
            )
        )
    return tuple(out)


def default_name(raceway: Raceway) -> str:
    """'emt-1/2': how a hand shoe of the table is called."""
    return f"{raceway.type.lower()}-{raceway.trade_size}"


def usual_hook_reach_mm(raceway: Raceway) -> float:
    """The hook reach that is taken where none was measured: the taught shoe's for this raceway, else a small shoe's."""
    found = _default_index().get((raceway.type, raceway.trade_size))
    return found.hook_reach_mm if found else HOOK_REACH_MM


def is_taught(profile: BenderProfile) -> bool:
    """Whether a profile is a hand shoe of the table: figures that are taught, not measured on the shoe in hand."""
    return profile in default_benders()


def made_by(profile: BenderProfile) -> MadeBy:
    """How bends of this profile are made. Hand shoes end where the table of them ends; what only has a radius is no
    shoe."""
    if raceway_of(profile).family == "PVC":
        return "heat"
    has_shoe = (profile.raceway_type, profile.trade_size) in _default_index()
    return "hand shoe" if has_shoe and not profile.radius_only else "machine"


def as_written(name: str, names: Iterable[str]) -> str | None:
    """The one of `names` that is meant, letter case aside; None where none is."""
    key = name.strip().casefold()
    return next((one for one in names if one.strip().casefold() == key), None)


def own_or_trade(name: str, own: Mapping[str, BenderProfile]) -> BenderProfile | None:
    """A profile by name, letter case aside: one's own first, then the trade's hand shoes; None where neither has it."""
    mine = as_written(name, own)
    return default_by_name(name) if mine is None else own[mine]


def refuse_other_raceway(bender: BenderProfile, raceway: Raceway, field: str) -> None:
    """Raises InputError, told of `field`, for a bender that is made for another raceway or size than this one."""
    if (bender.raceway_type, bender.trade_size) != (raceway.type, raceway.trade_size):
        raise InputError.at(
            field,
            f"bender '{bender.name}' is for {bender.raceway_type} {bender.trade_size}, and {raceway.name} was asked.",
            hint="name a bender for this raceway, or none; `racewright bender` lists them",
            expected=raceway.name,
        )


def refuse_both(field: str) -> None:
    """Raises InputError, told of `field`, because a bender and a bend radius are named for the same bends."""
    raise InputError.at(
        field,
        "a bender is named too, and a bend has one radius: the bender's own or this one.",
        hint="leave one of the two out; a radius alone is for bends that no shoe makes (heated PVC)",
        expected="a bender or a bend radius",
    )


def default_by_name(name: str) -> BenderProfile | None:
    """A hand shoe of the table by its name ('emt-1/2'), or None."""
    key = name.strip().lower()
    return next((profile for profile in default_benders() if profile.name == key), None)


@cache
def _default_index() -> dict[tuple[str, str], BenderProfile]:
    return {(profile.raceway_type, profile.trade_size): profile for profile in default_benders()}


def raceway_of(profile: BenderProfile) -> Raceway:
    """The raceway that a profile bends. Raises UnknownName where it is not in the catalogue."""
    return find_raceway(profile.raceway_type, profile.trade_size)
