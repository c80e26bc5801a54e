from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from cutting_factory import inches
from msgspec.structs import replace

from racewright.errors import InputError
from racewright.records.prices import Price
from racewright.takeoff.bill import conduit_item, make_bill
from racewright.takeoff.bill_model import (
    Bill,
    JobBill,
    Part,
    PriceBook,
    PriceEntry,
    RunMaterials,
    WireNeed,
    share,
    to_hundredths,
)
from racewright.takeoff.cutting_model import CutRules, RunOffcut
from racewright.takeoff.price_names import prices_of_another_measure
from racewright.units.tape import TapeStyle

D = Decimal


def runs() -> list[RunMaterials]:
    """Two runs of the pump house and one of the workshop."""
    return [
        RunMaterials(
            run="PH-1",
            area="Pump house",
            raceway="EMT 1/2",
            pieces=tuple(inches(100, 30)),
            parts=(
                Part(group="coupling", item="EMT 1/2 set-screw coupling", count=1),
                Part(group="strap", item="EMT 1/2 strap", count=3),
            ),
            wires=(WireNeed(item="wire 12 THHN, black", count=2, length_mm=3048.0),),
        ),
        RunMaterials(
            run="PH-2",
            area="Pump house",
            raceway="EMT 1/2",
            pieces=tuple(inches(80)),
            parts=(Part(group="strap", item="EMT 1/2 strap", count=2),),
            wires=(WireNeed(item="wire 12 THHN, black", count=1, length_mm=3048.0),),
        ),
        RunMaterials(
            run="WS-1",
            area="Workshop",
            raceway="EMT 3/4",
            pieces=tuple(inches(60)),
            parts=(Part(group="box", item="4 in square box", count=1),),
            wires=(WireNeed(item="wire 12 THHN, green", count=1, length_mm=1524.0),),
        ),
    ]


def book() -> PriceBook:
    return PriceBook(
        [
            PriceEntry(item="EMT 1/2, 10 ft", price=D("7.10")),
            PriceEntry(item="emt 3/4", per="ft", price=D("1.14"), labour_h=D("0.05")),
            PriceEntry(item="EMT 1/2 strap", per="100", price=D("24.99"), labour_h=D("5")),
            PriceEntry(item="wire 12 THHN", per="1000 ft", price=D("165")),
            PriceEntry(item="4 in square box", price=D("3.85"), labour_h=D("0.35")),
        ],
        currency="USD",
        labour_rate=D("48"),
    )


def line(bill: Bill, item: str) -> tuple[Decimal, str, Decimal | None, Decimal | None]:
    found = [one for one in bill.lines if one.item == item]
    assert len(found) == 1, item
    return found[0].quantity, found[0].unit, found[0].amount, found[0].labour_h


def test_the_job_line_by_line() -> None:
    bill = make_bill(runs(), prices=book())
    job = bill.job
    # 100 | 80 + 30: two sticks at 7.10.
    assert line(job, "EMT 1/2, 10 ft") == (D(2), "each", D("14.20"), None)
    assert line(job, "EMT 1/2, cut length") == (D("17.50"), "ft", None, None)
    # One stick of 10 ft at 1.14 a foot; hours for the 5 ft that are cut.
    assert line(job, "EMT 3/4, 10 ft") == (D(1), "each", D("11.40"), None)
    assert line(job, "EMT 3/4, cut length") == (D("5.00"), "ft", None, D("0.25"))
    # 5 straps at 24.99 for 100 = 1.2495; hours 0.25.
    assert line(job, "EMT 1/2 strap") == (D(5), "each", D("1.25"), D("0.25"))
    assert line(job, "EMT 1/2 set-screw coupling") == (D(1), "each", None, None)
    # 30 ft and 5 % = 31.5, so 32 ft; 5 ft and 5 % = 5.25, so 6 ft.
    assert line(job, "wire 12 THHN, black") == (D(32), "ft", D("5.28"), None)
    assert line(job, "wire 12 THHN, green") == (D(6), "ft", D("0.99"), None)
    assert job.material == D("14.20") + D("11.40") + D("1.25") + D("5.28") + D("0.99") + D("3.85")
    assert job.labour_h == D("0.25") + D("0.25") + D("0.35")
    assert job.labour == D("12.00") + D("12.00") + D("16.80")
    assert job.total == job.material + job.labour
    assert job.unpriced == ("EMT 1/2 set-screw coupling",)


def _adds_up(bill: JobBill) -> None:
    for parts in (bill.areas, bill.runs):
        for name in ("material", "labour_h", "labour"):
            whole = getattr(bill.job, name)
            assert sum((getattr(p, name) or D(0) for p in parts), D(0)) == (whole or D(0)), name


def test_parts_add_up_to_the_job() -> None:
    bill = make_bill(runs(), prices=book())
    _adds_up(bill)
    assert [a.name for a in bill.areas] == ["Pump house", "Workshop"]
    assert [r.name for r in bill.runs] == ["PH-1", "PH-2", "WS-1"]
    # 130 of 210 in of 14.20 = 8.79; the rest to the other run.
    assert line(bill.runs[0], "EMT 1/2, cut length") == (D("10.83"), "ft", D("8.79"), None)
    assert line(bill.runs[1], "EMT 1/2, cut length") == (D("6.67"), "ft", D("5.41"), None)
    assert line(bill.areas[0], "EMT 1/2 strap")[0] == D(5)


def test_without_prices_there_is_no_money() -> None:
    bill = make_bill(runs())
    assert (bill.job.material, bill.job.labour_h, bill.job.labour, bill.job.total) == (None, None, None, None)
    assert all(one.amount is None for one in bill.job.lines)
    assert len(bill.job.unpriced) == 7


def test_what_belongs_to_no_run() -> None:
    bill = make_bill([*runs(), RunMaterials(run="", parts=(Part(group="box", item="4 in square box", count=4),))])
    assert line(bill.job, "4 in square box")[0] == D(5)
    assert line(bill.runs[-1], "4 in square box")[0] == D(4)
    assert bill.areas[-1].name == ""


def test_stock_on_hand_costs_nothing_and_lowers_the_bill() -> None:
    stock = {"EMT 1/2": CutRules(offcuts_mm=(2600.0, 3048.0))}
    bill = make_bill(runs(), stock, book())
    assert not [one for one in bill.job.lines if one.item == "EMT 1/2, 10 ft"]
    assert line(bill.runs[0], "EMT 1/2, cut length")[2] == D("0.00")
    _adds_up(bill)


def test_metric_bill() -> None:
    metric = TapeStyle("mm", 1)
    bill = make_bill(runs(), style=metric, wire_waste_percent=0.0)
    assert line(bill.job, "wire 12 THHN, black")[:2] == (D(10), "m")  # 9.144 m
    assert line(bill.job, "EMT 3/4, cut length")[:2] == (D("1.52"), "m")


def test_names_of_sticks() -> None:
    assert conduit_item("EMT 1/2", 3048.0, TapeStyle("in", 16)) == "EMT 1/2, 10 ft"
    assert conduit_item("RMC 1", 3028.95, TapeStyle("in", 16)) == 'RMC 1, 119 1/4"'
    assert conduit_item("EMT 16", 3000.0, TapeStyle("mm", 1)) == "EMT 16, 3000 mm"


def test_a_price_in_another_measure_leaves_its_line_alone_without_one() -> None:
    wrong = [
        Price(item="EMT 1/2 strap", per="ft", price="1"),
        Price(item="Wire 12 thhn", per="each", price="1", labour_h="1"),
        Price(item="4 in square box", price="3.85"),
        Price(item="emt 3/4", per="ft", price="1"),
        Price(item="EMT 1/2", per="ft", price="1"),  # the sticks', and not that of the job's item
    ]
    entries = [PriceEntry(item=p.item, per=p.per, price=D(str(p.price))) for p in wrong]
    named = RunMaterials(run="", parts=(Part(group="other", item="EMT 1/2, bent", count=1),))
    bill = make_bill([*runs(), named], prices=PriceBook(entries)).job
    assert bill.material == D("33.85")
    assert [item for item in bill.unpriced if item == "EMT 1/2 strap" or "wire" in item] == [
        "EMT 1/2 strap",
        "wire 12 THHN, black",
        "wire 12 THHN, green",
    ]
    told = {finding.where: finding.message for finding in prices_of_another_measure(wrong, bill)}
    assert told == {
        "EMT 1/2 strap": "EMT 1/2 strap: counted on this job's bill, and the price of 'EMT 1/2 strap' is for ft, so it"
        " counts for nothing there. Price it each, or for 100.",
        "Wire 12 thhn": "wire 12 THHN, black; wire 12 THHN, green: measured on this job's bill, and the price of"
        " 'Wire 12 thhn' is each, so it counts for nothing there. Price it for ft, 100 ft, 1000 ft, m or 100 m.",
        "EMT 1/2": "EMT 1/2, bent: counted on this job's bill, and the price of 'EMT 1/2' is for ft, so it counts for"
        " nothing there. Call one of the two otherwise: others have this price.",
    }


def test_a_price_without_an_item_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        PriceBook([PriceEntry(item=" ", price=D("1"))])
    assert caught.value.field == "prices"


def test_an_item_priced_twice_is_refused() -> None:
    with pytest.raises(InputError):
        PriceBook([PriceEntry(item="Strap", price=D(1)), PriceEntry(item="strap ", price=D(2))])


@pytest.mark.parametrize("waste", [-1.0, float("nan"), float("inf")])
def test_waste_that_makes_no_sense(waste: float) -> None:
    with pytest.raises(InputError):
        make_bill(runs(), wire_waste_percent=waste)


def test_shares_add_up_to_the_cent() -> None:
    assert share(100, [Fraction(1)] * 3) == [34, 33, 33]
    assert share(7, [Fraction(0), Fraction(0)]) == [7, 0]
    assert sum(share(12345, [Fraction(n, 7) for n in range(1, 40)])) == 12345
    assert share(5, []) == []


def test_hundredths_round_halves_up() -> None:
    assert to_hundredths(Fraction("1.005")) == 101
    assert to_hundredths(Fraction("1.2495")) == 125
    assert to_hundredths(Fraction("1.0049")) == 100


def test_hours_of_a_stick_count_where_its_raceway_has_none() -> None:
    """Two sticks at 0.30 h, 48 an hour: 0.60 h and 28.80; the areas and runs share them by their cut length."""
    entries = [PriceEntry(item="EMT 1/2, 10 ft", labour_h=D("0.30"))]
    bill = make_bill(runs(), prices=PriceBook(entries, labour_rate=D("48")))
    assert line(bill.job, "EMT 1/2, 10 ft")[3] == D("0.60")
    assert line(bill.job, "EMT 1/2, cut length")[3] is None
    assert (bill.job.labour_h, bill.job.labour) == (D("0.60"), D("28.80"))
    for parts in (bill.areas, bill.runs):
        assert sum((one.labour_h or D(0) for one in parts), D(0)) == D("0.60")
        assert sum((one.labour or D(0) for one in parts), D(0)) == D("28.80")
    entries.append(PriceEntry(item="EMT 1/2", per="ft", labour_h=D("0.02")))
    both = make_bill(runs(), prices=PriceBook(entries, labour_rate=D("48")))
    assert line(both.job, "EMT 1/2, 10 ft")[3] is None
    assert both.job.labour_h == line(both.job, "EMT 1/2, cut length")[3] == D("0.35"), "17.5 ft at 0.02, and no more"


def test_a_piece_that_another_plan_made_takes_no_stick_and_no_cut_length() -> None:
    """Nor the offcut that its run's present plan takes; of runs alike each copy counts by itself, and a raceway of
    which nothing is left is on no list. Cut list and bill count the same."""
    first, _, third = runs()
    offcut = RunOffcut(run="PH-1", copy=1, number=1, length_mm=3048.0)
    pieces = (replace(first.pieces[0], run="PH-1", offcut=1), replace(first.pieces[1], run="PH-1"))
    rooms = replace(first, times=3, pieces=pieces, there={(1, 1): "LJ8YBQ", (1, 2): "", (2, 1): "LJ8YBQ"})
    gone = replace(third, there={(1, 1): "LJ8YBQ"})
    bill = make_bill([rooms, gone], {"EMT 1/2": CutRules(run_offcuts=(offcut, replace(offcut, copy=3)), keep_mm=0.0)})
    assert [one.raceway for one in bill.cuts] == ["EMT 1/2"]
    listed = [piece for stick in bill.cuts[0].plan.sticks for piece in stick.pieces]
    assert sorted((piece.copy, piece.length_mm / 25.4) for piece in listed) == [(1, 30), (2, 30), (3, 30), (3, 100)]
    assert [o.copy for o in bill.cuts[0].plan.rules.run_offcuts] == [3]
    quantities = {line.item: line.quantity for line in bill.job.lines}
    assert quantities["EMT 1/2, cut length"] == D("15.83")  # 190 in
    assert quantities["EMT 1/2 strap"] == 9
    assert not any(line.item.startswith("EMT 3/4") for line in bill.job.lines)
    assert {one.name: [r.quantity for r in one.lines if r.group == "conduit"] for one in bill.runs} == {
        "PH-1": [D("15.83")],
        "WS-1": [],
    }
