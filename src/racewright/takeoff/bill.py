"""The bill: counts and lengths of all runs, priced once for the whole job, and the money dealt back to runs and areas.

Sticks are bought for the job, not for a run: a run's part is its share of the cut length. So is wire, which is rounded
up to whole feet or metres once, after the waste allowance. Parts of a line always add up to the line.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil, isfinite
from typing import Literal, NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.takeoff.bill_model import (
    GROUPS,
    Bill,
    BillLine,
    Group,
    JobBill,
    Part,
    PriceBook,
    PriceEntry,
    RacewayCuts,
    RunMaterials,
    Scope,
    Unit,
    WireNeed,
    from_hundredths,
    is_by_length,
    share,
    to_hundredths,
    units_of_count,
    units_of_length,
)
from racewright.takeoff.cement import AMOUNTS, CANS
from racewright.takeoff.cutting_model import CutRules, to_steps
from racewright.takeoff.raceway_cuts import raceway_cuts
from racewright.takeoff.threads import threads_to_cut
from racewright.units.tape import TapeStyle, format_length

_MM = {"ft": Fraction(3048, 10), "m": Fraction(1000)}


def conduit_item(raceway: str, stick_mm: float, style: TapeStyle) -> str:
    """'EMT 1/2, 10 ft' or 'EMT 1/2, 3000 mm': how the bill names a stick."""
    feet = Fraction(to_steps(stick_mm), 320) / _MM["ft"]
    if style.unit == "in" and feet.denominator == 1:
        return f"{raceway}, {feet} ft"
    return f"{raceway}, {format_length(stick_mm, style)}"


def make_bill(
    runs: Sequence[RunMaterials],
    stock: Mapping[str, CutRules] | None = None,
    prices: PriceBook | None = None,
    *,
    style: TapeStyle | None = None,
    wire_waste_percent: float = 5.0,
) -> JobBill:
    """Cut every raceway's pieces and bill the lot. `stock`: what each raceway is cut from, by name; one that
    it does not name is cut by `CutRules()`.

    What is counted and has a price for a length, and the other way round, is left without a price. Raises InputError
    for a waste below zero, LimitError where a piece is longer than any stick.
    """
    if not isfinite(wire_waste_percent) or wire_waste_percent < 0:
        raise InputError(f"wire waste is {wire_waste_percent} %.", hint="zero or more", field="wire_waste")
    book = prices or PriceBook()
    rules = {name.casefold(): what for name, what in (stock or {}).items()}
    pieces: dict[str, list[int]] = defaultdict(list)
    for i, run in enumerate(runs):
        if run.pieces:
            pieces[run.raceway].append(i)
    cuts = tuple(
        found
        for name, of in sorted(pieces.items())
        for every in ([piece for i in of for piece in runs[i].every_piece],)
        if (found := raceway_cuts(name, every, rules.get(name.casefold(), CutRules())))
    )
    return _Billing(runs, cuts, book, style or TapeStyle(), Fraction(str(wire_waste_percent)) / 100).bill(
        wire_waste_percent
    )


class _Row(NamedTuple):
    """One line with what it means for each run: exact weights, by index of the run; hundredths of money and hours.
    `shown`: in the whole job's bill, in the parts', or in both."""

    line: BillLine
    weights: dict[int, Fraction]
    amount: int | None
    hours: int | None
    labour: int | None
    shown: Literal["job", "both", "parts"]


class _Billing:
    def __init__(
        self,
        runs: Sequence[RunMaterials],
        cuts: Sequence[RacewayCuts],
        book: PriceBook,
        style: TapeStyle,
        waste: Fraction,
    ) -> None:
        self.runs, self.cuts, self.book, self.style, self.waste = runs, cuts, book, style, waste
        self.unit: Unit = "ft" if style.unit == "in" else "m"

    def bill(self, percent: float) -> JobBill:
        """All rows, then the three views of them."""
        rows = [row for cuts in self.cuts for row in self._conduit(cuts)]
        rows += self._parts() + self._fluids() + self._wires()
        rows.sort(key=lambda row: GROUPS.index(row.line.group))
        dealt = [self._deal(row) for row in rows]
        areas: dict[tuple[Scope, str], list[int]] = defaultdict(list)
        for i, run in enumerate(self.runs):
            areas["area" if run.run else "own", run.area].append(i)
        return JobBill(
            job=_bill("job", "", [row.line for row in rows if row.shown != "parts"]),
            areas=tuple(self._view(scope, area, members, rows, dealt) for (scope, area), members in areas.items()),
            runs=tuple(
                self._view("run" if run.run else "own", run.run, [i], rows, dealt) for i, run in enumerate(self.runs)
            ),
            currency=self.book.currency,
            wire_waste_percent=percent,
            cuts=tuple(self.cuts),
        )

    def _conduit(self, cuts: RacewayCuts) -> list[_Row]:
        """New sticks by length with their price; the cut length with its labour; the runs' shares of the price."""
        sticks = [stick for part in cuts.parts for stick in part.sticks]
        bought: dict[float, int] = defaultdict(int)
        for stick in sticks:
            if stick.offcut == 0:
                bought[stick.source_mm] += 1
        weights: dict[int, Fraction] = {}
        for i, run in enumerate(self.runs):
            counted = [(p, count) for p, count in run.counted_pieces if count]
            if run.raceway == cuts.raceway and counted:
                weights[i] = sum((_exact(p.length_mm) * count for p, count in counted), Fraction(0))
        rows: list[_Row] = []
        of_raceway = self.book.find(cuts.raceway)
        timed = of_raceway is not None and of_raceway.labour_h is not None
        amount: int | None = None if bought else 0
        hours: int | None = None
        labour: int | None = None  # of the sticks, where the raceway has no hours of its own
        for length, count in sorted(bought.items(), reverse=True):
            item = conduit_item(cuts.raceway, length, self.style)
            entry = self.book.find(item)
            cents = None
            if entry is not None and entry.price is not None:
                cents = to_hundredths(_units(entry, count, _exact(length) * count) * Fraction(entry.price))
                amount = (amount or 0) + cents
            work = None
            if entry is not None and entry.labour_h is not None and not timed:
                work = to_hundredths(_units(entry, count, _exact(length) * count) * Fraction(entry.labour_h))
            rows.append(self._row("conduit", item, Decimal(count), "each", entry, {}, cents, work, "job"))
            if work is not None:
                hours = (hours or 0) + work
            if rows[-1].labour is not None:
                labour = (labour or 0) + rows[-1].labour
        cut = sum(weights.values(), Fraction(0))
        by_length: int | None = None
        if of_raceway is not None and of_raceway.labour_h is not None:
            # by the cut length, or by the sticks that are cut
            by_length = to_hundredths(_units(of_raceway, len(sticks), cut) * Fraction(of_raceway.labour_h))
        item, quantity = f"{cuts.raceway}, cut length", so_long(cut, self.unit)
        whole = self._row("conduit", item, quantity, self.unit, None, weights, None, by_length, "job")
        if by_length is not None:
            hours, labour = by_length, whole.labour
        return [*rows, whole, whole._replace(amount=amount, hours=hours, labour=labour, shown="parts")]

    def _parts(self) -> list[_Row]:
        counts: dict[tuple[Group, str], dict[int, Fraction]] = {}
        for i, run in enumerate(self.runs):
            counted = [(part, run.times * part.count) for part in run.parts]
            counted += [(part, part.count) for part in self._threads(run)]
            for part, count in counted:
                if count < 0:
                    raise InputError(f"{run.run}: {part.count} of '{part.item}'.", hint="zero or more", field="parts")
                if count:
                    here = counts.setdefault((part.group, part.item), {})
                    here[i] = here.get(i, Fraction(0)) + count
        rows = []
        for (group, item), weights in sorted(counts.items(), key=lambda c: c[0][1]):
            count = int(sum(weights.values()))
            entry = self.book.of_count(item)
            many = units_of_count(entry, count) if entry else Fraction(0)
            rows.append(self._priced(group, item, Decimal(count), "each", entry, many, weights))
        return rows

    def _threads(self, run: RunMaterials) -> list[Part]:
        """The threads that a run has cut by hand, as its pieces come out of the sticks."""
        cuts = next((c for c in self.cuts if c.raceway == run.raceway), None)
        parts = cuts.parts if cuts is not None and run.pieces else ()
        count = sum(threads_to_cut(part).get(run.run, 0) for part in parts)
        return [Part(group="other", item=f"{run.raceway} thread cut", count=count)] if count else []

    def _fluids(self) -> list[_Row]:
        """Cans for the whole job, and what each run takes of them."""
        volumes: dict[str, dict[int, Fraction]] = {}
        for i, run in enumerate(self.runs):
            for fluid in run.fluids:
                here = volumes.setdefault(fluid.item, {})
                here[i] = here.get(i, Fraction(0)) + run.times * Fraction(fluid.volume_mm3)
        rows = []
        can, name = CANS[self.style.unit]
        one, unit = AMOUNTS[self.style.unit]
        for item, weights in sorted(volumes.items()):
            total = sum(weights.values(), Fraction(0))
            count, sold = ceil(total / Fraction(can)), f"{item}, {name}"
            entry = self.book.of_count(sold)
            many = units_of_count(entry, count) if entry else Fraction(0)
            bought = self._priced("other", sold, Decimal(count), "each", entry, many, {})._replace(shown="job")
            rows.append(bought)
            taken = {i: volume / Fraction(one) for i, volume in weights.items()}
            amount = fluid_amount(total, self.style)[0]
            part = self._row("other", item, amount, unit, None, taken, bought.amount, bought.hours, "parts")
            rows.append(part)
        return rows

    def _wires(self) -> list[_Row]:
        lengths: dict[str, dict[int, Fraction]] = {}
        for i, run in enumerate(self.runs):
            for wire in run.wires:
                here = lengths.setdefault(wire.item, {})
                here[i] = here.get(i, Fraction(0)) + run.times * wire_mm(wire, self.waste)
        rows = []
        for item, weights in sorted(lengths.items()):
            whole = ceil(sum(weights.values(), Fraction(0)) / _MM[self.unit])
            entry = self.book.of_length(item)
            many = units_of_length(entry, whole * _MM[self.unit]) if entry else Fraction(0)
            rows.append(self._priced("wire", item, Decimal(whole), self.unit, entry, many, weights))
        return rows

    def _priced(
        self,
        group: Group,
        item: str,
        quantity: Decimal,
        unit: Unit,
        entry: PriceEntry | None,
        many: Fraction,
        weights: dict[int, Fraction],
    ) -> _Row:
        cents = hours = None
        if entry is not None and entry.price is not None:
            cents = to_hundredths(many * Fraction(entry.price))
        if entry is not None and entry.labour_h is not None:
            hours = to_hundredths(many * Fraction(entry.labour_h))
        return self._row(group, item, quantity, unit, entry, weights, cents, hours, "both")

    def _row(
        self,
        group: Group,
        item: str,
        quantity: Decimal,
        unit: Unit,
        entry: PriceEntry | None,
        weights: dict[int, Fraction],
        amount: int | None,
        hours: int | None,
        shown: Literal["job", "both", "parts"],
    ) -> _Row:
        rate, labour = self.book.labour_rate, None
        if hours is not None and rate is not None:
            labour = to_hundredths(Fraction(hours, 100) * Fraction(rate))
        line = BillLine(
            group=group,
            item=item,
            quantity=quantity,
            unit=unit,
            price=entry.price if entry else None,
            per=entry.per if entry and entry.price is not None else "",
            amount=_decimal(amount),
            labour_h=_decimal(hours),
            labour=_decimal(labour),
        )
        return _Row(line, weights, amount, hours, labour, shown)

    def _deal(self, row: _Row) -> dict[int, tuple[int, int, int]]:
        """Each run's part of the row's money, hours and labour."""
        keys = list(row.weights)
        weights = [row.weights[i] for i in keys]
        parts = [share(total or 0, weights) for total in (row.amount, row.hours, row.labour)]
        return {i: (parts[0][n], parts[1][n], parts[2][n]) for n, i in enumerate(keys)}

    def _view(
        self,
        scope: Scope,
        name: str,
        members: list[int],
        rows: list[_Row],
        dealt: list[dict[int, tuple[int, int, int]]],
    ) -> Bill:
        lines = []
        for row, parts in zip(rows, dealt, strict=True):
            here = [i for i in members if i in parts] if row.shown != "job" else []
            if not here:
                continue
            exact = sum((row.weights[i] for i in here), Fraction(0))
            unit = row.line.unit
            quantity = Decimal(int(exact)) if unit == "each" else so_long(exact, unit) if unit in _MM else _round(exact)
            amount, hours, labour = (sum(parts[i][n] for i in here) for n in range(3))
            lines.append(
                msgspec.structs.replace(
                    row.line,
                    quantity=quantity,
                    amount=None if row.amount is None else from_hundredths(amount),
                    labour_h=None if row.hours is None else from_hundredths(hours),
                    labour=None if row.labour is None else from_hundredths(labour),
                )
            )
        return _bill(scope, name, lines)


def wire_mm(wire: WireNeed, waste: Fraction) -> Fraction:
    """How much wire is bought for so much in the conduit; `waste`: the part that is wasted."""
    return _exact(wire.length_mm) * wire.count * (1 + waste)


def so_long(length_mm: Fraction, unit: Unit) -> Decimal:
    """A length in hundredths of 'ft' or 'm'."""
    return _round(length_mm / _MM[unit])


def fluid_amount(volume_mm3: Fraction, style: TapeStyle) -> tuple[Decimal, Unit]:
    """A volume in hundredths of what the tape's people measure it in."""
    one, unit = AMOUNTS[style.unit]
    return _round(volume_mm3 / Fraction(one)), unit


def _decimal(hundredths: int | None) -> Decimal | None:
    return None if hundredths is None else from_hundredths(hundredths)


def _bill(scope: Scope, name: str, lines: list[BillLine]) -> Bill:
    def add(values: list[Decimal | None]) -> Decimal | None:
        known = [v for v in values if v is not None]
        return sum(known, Decimal(0)) if known else None

    # In the whole job's bill the sticks carry the price of the conduit, so its cut length has none of its own.
    priced = [line for line in lines if scope != "job" or line.group != "conduit" or line.unit == "each"]
    return Bill(
        scope=scope,
        name=name,
        lines=tuple(lines),
        material=add([line.amount for line in lines]),
        labour_h=add([line.labour_h for line in lines]),
        labour=add([line.labour for line in lines]),
        unpriced=tuple(line.item for line in priced if line.amount is None),
    )


def _units(entry: PriceEntry, count: int, length_mm: Fraction) -> Fraction:
    """How many `per` of its price sticks are, by their count or by their length."""
    return units_of_length(entry, length_mm) if is_by_length(entry.per) else units_of_count(entry, count)


def _exact(length_mm: float) -> Fraction:
    return Fraction(to_steps(length_mm), 320)


def _round(value: Fraction) -> Decimal:
    return from_hundredths(to_hundredths(value))
