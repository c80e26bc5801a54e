"""What is pulled: wires with their diameter, weight and strength, and how hard they may be pulled.

Notation (mm, N, N/mm)
    cmil     circular mils of one conductor: its diameter in thousandths of an inch, squared
    n        how many wires
Weights are worked from the metal and the insulation, not a maker's figure: copper 8.89, aluminum 2.70, insulation
1.4 g/cm3, strands 2 % longer than the wire.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import pi

import msgspec

from racewright.catalogue.tables import FROM_MEMORY
from racewright.codebook.edition import Edition, Metal
from racewright.errors import InputError
from racewright.units.factors import LBF_N
from racewright.units.tape import MM_PER_INCH
from racewright.wires.conductors import WireGroup
from racewright.wires.pull_formulas import Bundle, bundle_of, weight_correction

_GRAVITY = 9.80665
_DENSITY: dict[Metal, float] = {"copper": 8.89, "aluminum": 2.70}
_INSULATION_DENSITY = 1.4
_STRAND_LAY = 1.02
_MM2_PER_CMIL = pi / 4.0 * 0.0254**2
#: ICEA-based pulling guides (read in a reprint): pounds per circular mil with a pulling eye on the conductors.
EYE_LBF_PER_CMIL: dict[Metal, float] = {"copper": 0.008, "aluminum": 0.006}
#: ICEA-based pulling guides (read in a reprint): pounds on one basket grip.
GRIP_LBF = 1000.0
#: More than three wires do not share a pull evenly (from memory: makers' pulling guides).
SHARE_OF_MANY = 0.8


class PullWire(msgspec.Struct, frozen=True, kw_only=True):
    """`count` equal wires: outside diameter mm, weight of one in N/mm, circular mils of one, metal. `standing`: what
    the diameter rests on."""

    name: str
    count: int
    diameter_mm: float
    weight_n_per_mm: float
    circular_mils: float
    metal: Metal = "copper"
    standing: str = ""


class Pulled(msgspec.Struct, frozen=True, kw_only=True):
    """All wires of one pull: total weight, the bundle they form in this bore, its weight correction factor, the
    greatest tension in N and why, D/d for three equal wires (None otherwise), and which figures are from memory."""

    count: int
    weight_n_per_mm: float
    widest_mm: float
    bundle: Bundle
    correction: float
    limit_n: float
    limit_reason: str
    jam_ratio: float | None
    from_memory: tuple[str, ...] = ()


def pull_wires(groups: Iterable[WireGroup], edition: Edition, metal: Metal = "copper") -> tuple[PullWire, ...]:
    """Wires as they are pulled, from what fills the raceway. Raises InputError for a cable (no weight in any table:
    give a PullWire with its maker's figures), UnknownName for a size without conductor properties."""
    return tuple(_from_group(group, edition, metal) for group in groups)


def _from_group(group: WireGroup, edition: Edition, metal: Metal) -> PullWire:
    diameter = group.wire.diameter_mm
    if group.wire.kind == "cable" or diameter is None:
        raise InputError(
            f"No table gives the weight and conductor size of '{group.label}'.",
            hint="name the conductors (3 x 4/0 XHHW), or give the maker's weight, diameter and circular mils.",
            field="wires",
            expected="conductors by size and insulation",
            example="3 x 4/0 XHHW",
        )
    row = edition.conductor(group.wire.size)
    cmil = float(row.text("circular_mils"))
    bare = float(Fraction(row.text("bare_diameter_in")) * MM_PER_INCH)
    return PullWire(
        name=group.wire.label,
        count=group.count,
        diameter_mm=diameter,
        weight_n_per_mm=worked_weight_n_per_mm(cmil, diameter, bare, metal),
        circular_mils=cmil,
        metal=metal,
        standing=group.wire.standing,
    )


def worked_weight_n_per_mm(cmil: float, diameter_mm: float, bare_mm: float, metal: Metal) -> float:
    """Weight of one insulated wire from its metal and insulation (N/mm)."""
    metal_g = cmil * _MM2_PER_CMIL * _STRAND_LAY * _DENSITY[metal] / 1000.0
    insulation_g = pi / 4.0 * max(0.0, diameter_mm**2 - bare_mm**2) * _INSULATION_DENSITY / 1000.0
    return (metal_g + insulation_g) / 1000.0 * _GRAVITY


def eye_limit_n(wires: Sequence[PullWire]) -> float:
    """Greatest tension on a pulling eye: all conductors together, 0.8 of that where there are more than three."""
    # ICEA-based pulling guides: T = 0.008 n cmil for copper, 0.006 for aluminum, in pounds.
    total = sum(w.count * w.circular_mils * EYE_LBF_PER_CMIL[w.metal] for w in wires) * LBF_N
    many = sum(w.count for w in wires) > 3
    return total * (SHARE_OF_MANY if many else 1.0)


def gather(wires: Sequence[PullWire], bore_mm: float, *, basket_grip: bool = False) -> Pulled:
    """What a set of wires is in this bore. Raises InputError for no wires, LimitError where two wires do not lie
    beside each other in the bore."""
    count = sum(w.count for w in wires)
    if count < 1:
        raise InputError("No wires to pull.", hint="give at least one, such as 3 x 4/0 XHHW", field="wires")
    widest = max(w.diameter_mm for w in wires)
    equal = all(abs(w.diameter_mm - widest) <= 0.02 * widest for w in wires)
    bundle = bundle_of(count, bore_mm, widest, equal=equal)
    limit, reason = eye_limit_n(wires), "conductors by a pulling eye"
    if basket_grip and limit > GRIP_LBF * LBF_N:
        limit, reason = GRIP_LBF * LBF_N, "one basket grip"
    return Pulled(
        count=count,
        weight_n_per_mm=sum(w.count * w.weight_n_per_mm for w in wires),
        widest_mm=widest,
        bundle=bundle,
        correction=weight_correction(bundle, bore_mm, widest),
        limit_n=limit,
        limit_reason=reason,
        jam_ratio=bore_mm / widest if count == 3 and equal else None,
        from_memory=_from_memory(wires, count, bundle),
    )


def _from_memory(wires: Sequence[PullWire], count: int, bundle: Bundle) -> tuple[str, ...]:
    """The figures of a pull that were not read in print."""
    found = [f"diameter of {wire.name}" for wire in wires if wire.standing == FROM_MEMORY]
    if bundle in ("triangular", "cradled", "diamond"):
        found.append("how the wires lie, by bore over wire")
    if bundle == "diamond":
        found.append("weight correction of four wires in a diamond")
    if count > 3:
        found.append(f"{SHARE_OF_MANY:g} of the conductors' strength for more than three wires")
    return tuple(found)
