"""Kits: what goes to each room, by area. Runs of an area that are so many times alike are a kit for each copy.

A kit holds things, and no work: pieces as they are cut, not the sticks that they come out of, and what the bill counts
for them. All kits together hold what the bill's areas hold, and the pieces that other plans made.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from racewright.records.naming import NO_AREA, THE_JOB
from racewright.takeoff.bill import fluid_amount, so_long, wire_mm
from racewright.takeoff.bill_model import GROUPS, Group, RunMaterials, Unit
from racewright.takeoff.cutting_model import WantedPiece
from racewright.units.tape import TapeStyle


class KitLine(msgspec.Struct, frozen=True, kw_only=True):
    """So much of one item of the bill."""

    group: Group
    item: str
    quantity: Decimal
    unit: Unit


class OtherPlan(msgspec.Struct, frozen=True, kw_only=True):
    """A plan that is not its run's present one, and the copies that a piece was made by it of."""

    plan: str
    copies: tuple[int, ...]


class KitPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of conduit, as it is cut; `card`: its length as its card has it, where that reads otherwise. `waits`:
    it is not to be cut yet; `there`: of which copies of its run it is cut already, as it is here; `other`: of which by
    another plan than the run's present one, so that their length is not this one."""

    raceway: str
    label: str
    length_mm: float
    card: str
    waits: bool
    there: tuple[int, ...] = ()
    other: tuple[OtherPlan, ...] = ()


class Kit(msgspec.Struct, frozen=True, kw_only=True):
    """What goes to one room. `alike`: so many are made of it, one a room; `runs`: those it is for, none for what
    belongs to the job itself."""

    area: str
    alike: int
    runs: tuple[str, ...]
    pieces: tuple[KitPiece, ...]
    lines: tuple[KitLine, ...]

    @property
    def title(self) -> str:
        """For where it is."""
        return (self.area or NO_AREA) if self.runs else THE_JOB


def make_kits(runs: Sequence[RunMaterials], style: TapeStyle, *, wire_waste_percent: float) -> tuple[Kit, ...]:
    """The kits of these runs, in the order in which they name their areas, in each the runs that are there once first.
    Wire holds its waste, as on the bill."""
    waste = Fraction(str(wire_waste_percent)) / 100
    areas = list(dict.fromkeys((run.area, run.run == "") for run in runs))
    parts: dict[tuple[int, int], list[RunMaterials]] = defaultdict(list)
    for run in runs:
        parts[areas.index((run.area, run.run == "")), run.times].append(run)
    return tuple(
        Kit(
            area=areas[at][0],
            alike=times,
            runs=tuple(run.run for run in of if run.run),
            pieces=tuple(_piece(run, n, piece) for run in of for n, piece in enumerate(run.pieces, 1)),
            lines=tuple(_lines(of, style, waste)),
        )
        for (at, times), of in sorted(parts.items(), key=lambda part: part[0])
    )


def _piece(run: RunMaterials, number: int, piece: WantedPiece) -> KitPiece:
    here = {copy: plan for (copy, of), plan in run.there.items() if of == number}
    there = tuple(copy for copy, plan in here.items() if not plan)
    other = tuple(
        OtherPlan(plan=plan, copies=tuple(copy for copy, by in here.items() if by == plan))
        for plan in dict.fromkeys(filter(None, here.values()))
    )
    return KitPiece(
        raceway=run.raceway,
        label=piece.label,
        length_mm=piece.length_mm,
        card=piece.card,
        waits=piece.waits,
        there=there,
        other=other,
    )


def _lines(runs: Sequence[RunMaterials], style: TapeStyle, waste: Fraction) -> list[KitLine]:
    """What the runs need beside their pieces, each item once, in the order of the bill."""
    counts: dict[tuple[Group, str], int] = defaultdict(int)
    volumes: dict[str, Fraction] = defaultdict(Fraction)
    wires: dict[str, Fraction] = defaultdict(Fraction)
    for run in runs:
        for part in run.parts:
            counts[part.group, part.item] += part.count
        for fluid in run.fluids:
            volumes[fluid.item] += Fraction(fluid.volume_mm3)
        for wire in run.wires:
            wires[wire.item] += wire_mm(wire, waste)
    unit: Unit = "ft" if style.unit == "in" else "m"
    lines = [
        KitLine(group=group, item=item, quantity=Decimal(count), unit="each")
        for (group, item), count in counts.items()
        if count
    ]
    for item, volume in volumes.items():
        amount, measure = fluid_amount(volume, style)
        lines.append(KitLine(group="other", item=item, quantity=amount, unit=measure))
    lines += [
        KitLine(group="wire", item=item, quantity=so_long(length, unit), unit=unit) for item, length in wires.items()
    ]
    return sorted(lines, key=lambda line: (GROUPS.index(line.group), line.item))
