"""Bill and cut list as CSV and XLSX: read back whole, and no cell is ever a formula."""

from __future__ import annotations

import csv
import re
import sys
from decimal import Decimal
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest
from cutting_factory import inches

from racewright.cards.csv_text import csv_text, safe_text
from racewright.cards.takeoff_tables import Table, bill_tables, cut_tables
from racewright.errors import InputError, MissingExtra
from racewright.exports.output_file import write_tables
from racewright.exports.tables import xlsx_bytes
from racewright.takeoff.bill import make_bill
from racewright.takeoff.bill_model import Part, PriceBook, PriceEntry, RunMaterials
from racewright.units.tape import TapeStyle

EVIL = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1", '=HYPERLINK("x")', "{=1}", "=" * 40_000]
#: What cannot be printed becomes a space, and a spreadsheet looks past spaces.
EVIL += [" =1+1", "\x00=1+1", "\x1b\u202e -2+3", "\u00a0@SUM(B2)", "\ufeff\u200b＋1"]


def tables() -> tuple[Table, ...]:
    run = RunMaterials(
        run="=PH-1",
        area="@area",
        raceway="EMT 1/2",
        pieces=tuple(inches(100, 30, 10)),
        parts=(Part(group="box", item="+box", count=2),),
    )
    prices = PriceBook([PriceEntry(item="+box", price=Decimal("3.85"))], currency="USD")
    bill = make_bill([run], prices=prices)
    return (*bill_tables(bill), *cut_tables(bill.cuts, TapeStyle("in", 16)))


@pytest.mark.parametrize("text", EVIL)
def test_no_csv_cell_begins_like_a_formula(text: str) -> None:
    out = csv_text([Table("t", ("a", "b"), ((text, "plain"),))])
    cell = next(iter(csv.reader(StringIO(out.split("\r\n", 1)[1], newline=""))))[0]
    plain = re.sub(r"[\t\r\n\x00\x1b\u202e\u00a0\ufeff\u200b]", " ", text)  # what has no shape of its own is a space
    assert cell == ("'" + plain if text != "{=1}" else plain)
    assert not cell.lstrip().startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝"))


def test_plain_text_and_numbers_stay_as_they_are() -> None:
    assert safe_text('31 5/16"') == '31 5/16"'
    out = csv_text([Table("t", ("a", "b", "c", "d"), ((-1, Decimal("-0.50"), 2.5, None),))])
    assert out.splitlines()[1] == "-1,-0.50,2.5,"


def test_csv_of_a_bill(tmp_path: Path) -> None:
    path = tmp_path / "bill.csv"
    write_tables(path, tables())
    text = path.read_text(encoding="utf-8-sig")
    rows = list(csv.reader(StringIO(text, newline="")))
    assert ["box", "'+box", "2", "each", "3.85", "each", "7.70", "", ""] in rows
    assert any(row and row[0] == "'@area" for row in rows)
    assert any(row[:3] == ["EMT 1/2", "1", "new"] for row in rows)


def test_xlsx_reads_back_with_every_text_as_text() -> None:
    openpyxl: Any = pytest.importorskip("openpyxl")
    book = openpyxl.load_workbook(
        BytesIO(xlsx_bytes([*tables(), Table("evil", ("=head",), tuple((e,) for e in EVIL))]))
    )
    assert book.sheetnames[:3] == ["Bill", "By area", "By run"]
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type in ("s", "n"), (sheet.title, cell.value)
    evil = book["evil"]
    assert evil["A1"].value == "=head"
    assert evil["A2"].value == "=1+1"
    assert evil["A2"].quotePrefix
    bill = [[c.value for c in row] for row in book["Bill"].iter_rows()]
    assert ["box", "+box", 2, "each", 3.85, "each", 7.7, None, None] in bill


def test_the_same_tables_give_the_same_bytes() -> None:
    assert xlsx_bytes(tables()) == xlsx_bytes(tables())


def test_sheet_names_are_made_to_fit() -> None:
    openpyxl: Any = pytest.importorskip("openpyxl")
    names = ["a" * 40, "a" * 40, "x[1]:*?/\\", "''"]
    book = openpyxl.load_workbook(BytesIO(xlsx_bytes([Table(n, ("h",), ()) for n in names])))
    assert len(set(book.sheetnames)) == 4
    assert all(len(n) <= 31 for n in book.sheetnames)


def test_without_the_library_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "xlsxwriter", None)
    with pytest.raises(MissingExtra) as caught:
        xlsx_bytes(tables())
    assert "racewright[xlsx]" in str(caught.value)


def test_without_the_solver_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    from racewright.takeoff.cutting_instance import Bin, make_instance
    from racewright.takeoff.proof import least_weight

    monkeypatch.setitem(sys.modules, "highspy", None)
    with pytest.raises(MissingExtra) as caught:
        least_weight(make_instance([5, 5], [Bin(7, 1, None)])[0])
    assert "racewright[proof]" in str(caught.value)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    for name in ("bill.csv", "bill.xlsx"):
        with pytest.raises(InputError):
            write_tables(tmp_path / "no" / name, tables())
