"""What a bill is made from, and what it is: plain data, no run and no plan.

Prices and labour are the user's own: nothing is built in. Money and hours are exact decimals, rounded once a line.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Literal

import msgspec

from racewright.errors import InputError
from racewright.records.naming import NO_AREA, THE_JOB, with_copies
from racewright.records.prices import Per, plain_name
from racewright.takeoff.cutting_model import CutPlan, WantedPiece

Group = Literal["conduit", "coupling", "connector", "strap", "box", "bushing", "other", "wire"]
GROUPS: tuple[Group, ...] = ("conduit", "coupling", "connector", "strap", "box", "bushing", "other", "wire")
Unit = Literal["each", "ft", "m", "fl oz", "mL"]


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """`count` of one counted thing. `item` is its name on the bill and in the price list."""

    group: Group
    item: str
    count: int


class WireNeed(msgspec.Struct, frozen=True, kw_only=True):
    """`count` wires of one kind and colour ('wire 12 THWN-2, black'), each `length_mm` long with what is left at the
    ends."""

    item: str
    count: int
    length_mm: float


class FluidNeed(msgspec.Struct, frozen=True, kw_only=True):
    """How much of what comes in cans ('PVC cement')."""

    item: str
    volume_mm3: float


#: A copy, and which of its pieces (both from 1).
CopyPiece = tuple[int, int]
#: Of which nothing is cut yet.
NOTHING_THERE: Mapping[CopyPiece, str] = MappingProxyType({})


class RunMaterials(msgspec.Struct, frozen=True, kw_only=True):
    """What one run needs. `run` '' holds what belongs to the job and to no run. `raceway` is 'EMT 1/2'. There are so
    many `times` alike; all else is of one, but for which pieces of which are cut already (`there`), each with the plan
    that it was made by where that is not the run's present one ('': it is)."""

    run: str
    times: int = 1
    area: str = ""
    raceway: str = ""
    pieces: tuple[WantedPiece, ...] = ()
    there: Mapping[CopyPiece, str] = NOTHING_THERE
    parts: tuple[Part, ...] = ()
    wires: tuple[WireNeed, ...] = ()
    fluids: tuple[FluidNeed, ...] = ()

    @property
    def every_piece(self) -> tuple[WantedPiece, ...]:
        """The pieces of all that are alike."""
        return of_copies(self.pieces, self.times, range(1, self.times + 1), self.there)

    @property
    def counted_pieces(self) -> tuple[tuple[WantedPiece, int], ...]:
        """The pieces of one, each with how many of it the bill counts: not those that another plan made."""
        other = Counter(number for (_, number), plan in self.there.items() if plan)
        return tuple((piece, self.times - other[number]) for number, piece in enumerate(self.pieces, 1))


def of_copies(
    pieces: Sequence[WantedPiece], times: int, copies: Iterable[int], there: Mapping[CopyPiece, str] = NOTHING_THERE
) -> tuple[WantedPiece, ...]:
    """One run's pieces once for each of these copies of it, of so many `times` alike: 'PH-07-2#14' is piece 2 of the
    14th. `there`: which of them are cut already, as in `RunMaterials`."""
    return tuple(
        msgspec.structs.replace(
            piece,
            label=with_copies(piece.label, [copy] if times > 1 else []),
            copy=copy,
            there=(copy, number) in there,
            made_by=there.get((copy, number), ""),
        )
        for copy in copies
        for number, piece in enumerate(pieces, 1)
    )


class RacewayCuts(msgspec.Struct, frozen=True, kw_only=True):
    """The cut list of one raceway. `waiting`: the sticks that are kept whole for pieces that are not cut yet."""

    raceway: str
    plan: CutPlan
    waiting: CutPlan | None = None

    @property
    def new_sticks(self) -> int:
        """How many sticks are bought."""
        return sum(part.new_sticks for part in self.parts)

    @property
    def parts(self) -> tuple[CutPlan, ...]:
        """What is cut now, and what waits."""
        return (self.plan,) if self.waiting is None else (self.plan, self.waiting)

    @property
    def pieces_waiting(self) -> tuple[WantedPiece, ...]:
        """The pieces that are not cut yet."""
        return tuple(piece for stick in (self.waiting.sticks if self.waiting else ()) for piece in stick.pieces)


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


Scope = Literal["job", "area", "run", "own"]


class Bill(msgspec.Struct, frozen=True, kw_only=True):
    """The bill of the whole job, of an area or of a run; 'own': of what the job itself names. Totals are None where
    nothing is priced; `unpriced` names what the totals leave out."""

    scope: Scope
    name: str
    lines: tuple[BillLine, ...]
    material: Decimal | None
    labour_h: Decimal | None
    labour: Decimal | None
    unpriced: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What a part of the job's bill is headed with."""
        return THE_JOB if self.scope == "own" else self.name or NO_AREA

    @property
    def total(self) -> Decimal | None:
        """Material and labour together."""
        known = [x for x in (self.material, self.labour) if x is not None]
        return sum(known, Decimal(0)) if known else None


class JobBill(msgspec.Struct, frozen=True, kw_only=True):
    """The whole job, its areas and its runs; `cuts`: the cut lists that its sticks come from. The money of all areas,
    and of all runs, adds up to the job's."""

    job: Bill
    areas: tuple[Bill, ...]
    runs: tuple[Bill, ...]
    currency: str
    wire_waste_percent: float
    cuts: tuple[RacewayCuts, ...]


_COUNTS: dict[str, int] = {"each": 1, "100": 100}
_LENGTHS_MM: dict[str, Fraction] = {
    "ft": Fraction(3048, 10),
    "100 ft": Fraction(30480),
    "1000 ft": Fraction(304800),
    "m": Fraction(1000),
    "100 m": Fraction(100_000),
}


class PriceEntry(msgspec.Struct, frozen=True, kw_only=True):
    """`price` and `labour_h` hours for one `per` of an item. Either may be None: not known."""

    item: str
    per: Per = "each"
    price: Decimal | None = None
    labour_h: Decimal | None = None


class PriceBook:
    """Finds an item's entry: by its whole name, else by the name before its last comma ('EMT 1/2, 10 ft' is
    found under 'EMT 1/2'), whatever the case."""

    def __init__(
        self, entries: Sequence[PriceEntry] = (), *, currency: str = "", labour_rate: Decimal | None = None
    ) -> None:
        self.currency = currency
        self.labour_rate = labour_rate
        self._entries: dict[str, PriceEntry] = {}
        for entry in entries:
            if not entry.item.strip():
                raise InputError("a price names no item.", hint="name it as the bill does", field="prices")
            name = plain_name(entry.item)
            if name in self._entries:
                raise InputError(
                    f"'{entry.item}' has two prices.", hint="keep one of the two", field="prices", expected=entry.item
                )
            self._entries[name] = entry

    def find(self, item: str) -> PriceEntry | None:
        """The entry, or None where the user gave none."""
        return next((entry for name in names_of(item) if (entry := self._entries.get(name)) is not None), None)

    def of_count(self, item: str) -> PriceEntry | None:
        """The entry of what is counted; None also where its price is for a length."""
        return entry if (entry := self.find(item)) is not None and not is_by_length(entry.per) else None

    def of_length(self, item: str) -> PriceEntry | None:
        """The entry of what is measured; None also where its price is by count."""
        return entry if (entry := self.find(item)) is not None and is_by_length(entry.per) else None


def names_of(item: str) -> Iterator[str]:
    """The names by which an item finds its price, plain: its whole name, then what stands before its last comma."""
    name = item
    while name:
        yield plain_name(name)
        name = name.rpartition(", ")[0]


def units_of_count(entry: PriceEntry, count: int) -> Fraction:
    """How many `per` a count is, of an entry by count."""
    return Fraction(count, _COUNTS[entry.per])


def units_of_length(entry: PriceEntry, length_mm: Fraction) -> Fraction:
    """How many `per` a length is, of an entry by length."""
    return length_mm / _LENGTHS_MM[entry.per]


def is_by_length(per: Per) -> bool:
    """Whether a price for one of this is for a length."""
    return per in _LENGTHS_MM


def to_hundredths(amount: Fraction) -> int:
    """Hundredths (cents, hundredths of an hour), halves up."""
    return int((amount * 200 + 1) // 2)


def from_hundredths(hundredths: int) -> Decimal:
    """12345 -> Decimal('123.45')."""
    return Decimal(hundredths).scaleb(-2)


def share(hundredths: int, weights: Sequence[Fraction]) -> list[int]:
    """Deal an amount by weight so that the parts add up to it again: whole parts first, then one each to the
    largest remainders, the earlier first. All to the first where every weight is zero."""
    total = sum(weights, Fraction(0))
    if not weights:
        return []
    if total <= 0:
        return [hundredths] + [0] * (len(weights) - 1)
    exact = [hundredths * w / total for w in weights]
    parts = [int(x) for x in exact]
    order = sorted(range(len(weights)), key=lambda i: (parts[i] - exact[i], i))
    for i in order[: hundredths - sum(parts)]:
        parts[i] += 1
    return parts
