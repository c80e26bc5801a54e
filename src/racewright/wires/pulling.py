"""Pulling wire through a run: tension and sidewall pressure part by part, both ways round, and the better way.

Notation (forces N, lengths mm, weights N/mm)
    cmil     circular mils of one conductor: its diameter in thousandths of an inch, squared
    feed     the end where the wires go in; the pull is at the other end
    use      the largest of tension / its limit and sidewall pressure / its limit: above 1 is too much
The wires run along the inside of a bend, so the sidewall's radius is the bend's less half the bore. Weights are worked
from the metal and the insulation, not a maker's figure: copper 8.89, aluminum 2.70, insulation 1.4 g/cm3, strands 2 %
longer than the wire.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import degrees, pi
from typing import Literal

import msgspec

from racewright.codebook.edition import FROM_MEMORY, Edition, Metal
from racewright.errors import InputError
from racewright.route.run_line import Part, RunShape, clipped, parts_of, sections, slope_rad, turned_round
from racewright.units.factors import LBF_N, LBF_PER_FT
from racewright.units.tape import MM_PER_INCH
from racewright.wires.conductors import WireGroup
from racewright.wires.pull_formulas import (
    Bundle,
    bend_tension_n,
    bundle_of,
    capstan_tension_n,
    sidewall_n_per_mm,
    straight_tension_n,
    weight_correction,
)

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
    cmil = float(row.cells["circular_mils"])
    bare = float(Fraction(row.cells["bare_diameter_in"]) * MM_PER_INCH)
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


Feed = Literal["A", "B"]


class PullSettings(msgspec.Struct, frozen=True, kw_only=True):
    """How the pull is reckoned. `friction` 0.5: dry, the usual figure of ICEA-based guides; a lubricant's maker gives
    less. `sidewall_limit_n_per_mm` None: 300 lb/ft (ICEA-based guides; many wires are allowed more by their maker).
    `feed_tension_n`: drag of the reel. `weight_in_bends` False: the plain capstan rule in bends."""

    friction: float = 0.5
    sidewall_limit_n_per_mm: float | None = None
    feed_tension_n: float = 0.0
    basket_grip: bool = False
    weight_in_bends: bool = True

    @property
    def sidewall_limit(self) -> float:
        """The limit that holds, N/mm."""
        given = self.sidewall_limit_n_per_mm
        return 300.0 * LBF_PER_FT if given is None else given


class PullStep(msgspec.Struct, frozen=True, kw_only=True):
    """One straight or bend in the direction of the pull. `slope_deg` at its entry, positive uphill. `slack`: the
    tension would fall below zero here and the reel must be held back."""

    kind: Literal["straight", "bend"]
    start_mm: float
    end_mm: float
    length_mm: float
    angle_deg: float
    radius_mm: float
    slope_deg: float
    tension_in_n: float
    tension_out_n: float
    sidewall_n_per_mm: float
    slack: bool


class Pull(msgspec.Struct, frozen=True, kw_only=True):
    """One way round: wires fed in at end `feed`, pulled out at the other."""

    feed: Feed
    steps: tuple[PullStep, ...]
    tension_n: float
    greatest_tension_n: float
    sidewall_n_per_mm: float
    use: float

    @property
    def pulled_from(self) -> Feed:
        """The end where the pull is."""
        return "B" if self.feed == "A" else "A"


#: Beyond every rope and wire: a pull that would be harder is told as this (our own bound; it keeps figures finite).
MOST_TENSION_N = 1e9


class PullComparison(msgspec.Struct, frozen=True, kw_only=True):
    """One section between pull points, pulled both ways. `better` is the end to feed from, or '' where the two
    differ by less than 1 %."""

    start_mm: float
    end_mm: float
    wires: Pulled
    fed_at_a: Pull
    fed_at_b: Pull
    better: Literal["A", "B", ""]

    @property
    def chosen(self) -> Pull:
        """The better way round (fed at A where there is no difference)."""
        return self.fed_at_b if self.better == "B" else self.fed_at_a


def compare_pulls(
    shape: RunShape, wires: Sequence[PullWire], settings: PullSettings | None = None
) -> tuple[PullComparison, ...]:
    """Every section between pull points, both ways. Raises InputError or LimitError as `gather` does."""
    have = settings or PullSettings()
    pulled = gather(wires, shape.raceway.inside_diameter_mm, basket_grip=have.basket_grip)
    parts = parts_of(shape)
    out = []
    for a, b in sections(shape):
        way = clipped(parts, a, b)
        fed_a = pull_through(way, "A", pulled, shape, have)
        fed_b = pull_through(turned_round(way), "B", pulled, shape, have)
        better: Literal["A", "B", ""] = "A" if fed_a.use < fed_b.use else "B"
        if abs(fed_a.use - fed_b.use) <= 0.01 * max(fed_a.use, fed_b.use):
            better = ""
        out.append(PullComparison(start_mm=a, end_mm=b, wires=pulled, fed_at_a=fed_a, fed_at_b=fed_b, better=better))
    return tuple(out)


def greatest_friction(
    shape: RunShape, wires: Sequence[PullWire], settings: PullSettings | None = None, most: float = 2.0
) -> float:
    """The friction up to which every section stays within its limits when fed at its better end (bisected to 0.001,
    rounded down; `most` where even that holds, 0 where none does). Raises as `compare_pulls` does."""
    have = settings or PullSettings()

    def holds(friction: float) -> bool:
        pairs = compare_pulls(shape, wires, msgspec.structs.replace(have, friction=friction))
        return all(min(pair.fed_at_a.use, pair.fed_at_b.use) <= 1.0 for pair in pairs)

    low, high = 0.0, most
    if holds(most):
        return most
    while high - low > 0.001:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def pull_through(parts: Sequence[Part], feed: Feed, pulled: Pulled, shape: RunShape, settings: PullSettings) -> Pull:
    """Tension through parts given in the direction of the pull."""
    tension = greatest = settings.feed_tension_n
    steps = []
    for part in parts:
        step = _step(part, tension, pulled, shape, settings)
        tension = step.tension_out_n
        greatest = max(greatest, tension)
        steps.append(step)
    sidewall = max((s.sidewall_n_per_mm for s in steps), default=0.0)
    return Pull(
        feed=feed,
        steps=tuple(steps),
        tension_n=tension,
        greatest_tension_n=greatest,
        sidewall_n_per_mm=sidewall,
        use=max(greatest / pulled.limit_n, sidewall / settings.sidewall_limit),
    )


def _step(part: Part, tension: float, pulled: Pulled, shape: RunShape, settings: PullSettings) -> PullStep:
    friction = settings.friction * pulled.correction
    weight = pulled.weight_n_per_mm
    slope = slope_rad(part.axis, shape.down)
    sidewall = 0.0
    if not part.is_bend:
        out = straight_tension_n(tension, weight, part.length_mm, friction, slope)
    else:
        if settings.weight_in_bends:
            out = bend_tension_n(
                tension, weight, part.radius_mm, friction, part.angle_rad, part.axis, part.toward, shape.down
            )
        else:
            out = capstan_tension_n(tension, friction, part.angle_rad)
        out = min(out, MOST_TENSION_N)
        inside = max(part.radius_mm - shape.raceway.inside_diameter_mm / 2.0, 1e-6)
        sidewall = sidewall_n_per_mm(pulled.bundle, max(tension, out), inside, pulled.correction)
    return PullStep(
        kind="bend" if part.is_bend else "straight",
        start_mm=part.start_mm,
        end_mm=part.end_mm,
        length_mm=part.length_mm,
        angle_deg=degrees(part.angle_rad),
        radius_mm=part.radius_mm,
        slope_deg=round(degrees(slope), 9) + 0.0,
        tension_in_n=tension,
        tension_out_n=out,
        sidewall_n_per_mm=sidewall,
        slack=out <= 0.0 and weight > 0.0 and part.length_mm > 0.0 and slope < 0.0,
    )
