"""What a bill is made from, and what it is: plain data, no run and no plan."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

import msgspec

from racewright.takeoff.cutting_model import CutPlan, CutRules, WantedPiece

Group = Literal["conduit", "coupling", "connector", "strap", "box", "bushing", "other", "wire"]
GROUPS: tuple[Group, ...] = ("conduit", "coupling", "connector", "strap", "box", "bushing", "other", "wire")
Unit = Literal["each", "ft", "m"]


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """`count` of one counted thing. `item` is its name on the bill and in the price list."""

    group: Group
    item: str
    count: int


class WireNeed(msgspec.Struct, frozen=True, kw_only=True):
    """`count` wires of one kind and colour, each `length_mm` long with what is left at the ends."""

    size: str
    insulation: str = ""
    metal: str = "copper"
    colour: str = ""
    count: int
    length_mm: float

    @property
    def item(self) -> str:
        """'wire 12 THWN-2, black'; a metal other than copper is named."""
        metal = "" if self.metal == "copper" else self.metal
        kind = " ".join(part for part in ("wire", self.size, self.insulation, metal) if part)
        return f"{kind}, {self.colour}" if self.colour else kind


class RunMaterials(msgspec.Struct, frozen=True, kw_only=True):
    """What one run needs. `run` '' holds what belongs to the job and to no run. `raceway` is 'EMT 1/2'."""

    run: str
    area: str = ""
    raceway: str = ""
    pieces: tuple[WantedPiece, ...] = ()
    parts: tuple[Part, ...] = ()
    wires: tuple[WireNeed, ...] = ()


class StockOf(msgspec.Struct, frozen=True, kw_only=True):
    """What one raceway is cut from."""

    raceway: str
    rules: CutRules


class RacewayCuts(msgspec.Struct, frozen=True, kw_only=True):
    """The cut list of one raceway."""

    raceway: str
    plan: CutPlan


class BillLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line. `quantity` in `unit`. `price` for one `per`, `amount` the money for the line, `labour_h` hours and
    `labour` their money; None where the user gave no figure."""

    group: Group
    item: str
    quantity: Decimal
    unit: Unit
    price: Decimal | None = None
    per: str = ""
    amount: Decimal | None = None
    labour_h: Decimal | None = None
    labour: Decimal | None = None


class Bill(msgspec.Struct, frozen=True, kw_only=True):
    """The bill of the whole job, of an area or of a run. Totals are None where nothing is priced; `unpriced` names what
    the totals leave out."""

    scope: Literal["job", "area", "run"]
    name: str
    lines: tuple[BillLine, ...]
    material: Decimal | None
    labour_h: Decimal | None
    labour: Decimal | None
    unpriced: tuple[str, ...] = ()

    @property
    def total(self) -> Decimal | None:
        """Material and labour together."""
        known = [x for x in (self.material, self.labour) if x is not None]
        return sum(known, Decimal(0)) if known else None


class JobBill(msgspec.Struct, frozen=True, kw_only=True):
    """The whole job, its areas and its runs. The money of all areas, and of all runs, adds up to the job's."""

    job: Bill
    areas: tuple[Bill, ...]
    runs: tuple[Bill, ...]
    currency: str
    wire_waste_percent: float
    cuts: tuple[RacewayCuts, ...]
