"""Tables as CSV and XLSX that no spreadsheet runs: text is written as text and never as a formula.

A cell is taken for a formula where it begins with = + - @ (or the wide forms of the signs, which some spreadsheets
read alike), behind spaces too; in CSV it gets an apostrophe in front. Numbers stay numbers. XLSX needs xlsxwriter.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from datetime import UTC, datetime
from decimal import Decimal
from importlib import import_module
from io import BytesIO, StringIO
from typing import Any

from racewright.cards.takeoff_tables import Cell, Table
from racewright.errors import MissingExtra
from racewright.printable import printable

_STARTS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def safe_text(text: str) -> str:
    """The text as can be printed, with an apostrophe in front where a spreadsheet would run it."""
    text = printable(text)  # first: what is made a space may stand before a sign
    return "'" + text if text.lstrip().startswith(_STARTS) else text


def csv_text(tables: Sequence[Table]) -> str:
    """One table after the other, each under its name, with an empty line between; a single table without its name."""
    out = StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    for number, table in enumerate(tables):
        if len(tables) > 1:
            if number:
                writer.writerow([])
            writer.writerow([safe_text(table.name)])
        writer.writerow([safe_text(head) for head in table.header])
        for row in table.rows:
            writer.writerow([_cell(cell) for cell in row])
    return out.getvalue()


def _cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    return safe_text(cell) if isinstance(cell, str) else str(cell)


_MOST_LETTERS = 32_767
_MOST_ROWS = 1_048_575
_WIDEST = 60
_NO_STRINGS_INTO = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


def xlsx_bytes(tables: Sequence[Table]) -> bytes:
    """A workbook with one sheet for each table; the same tables give the same bytes. Raises MissingExtra when
    xlsxwriter is not installed."""
    try:
        xlsxwriter: Any = import_module("xlsxwriter")
    except ImportError as error:
        raise MissingExtra("XLSX", "xlsx") from error
    buffer = BytesIO()
    book: Any = xlsxwriter.Workbook(buffer, {"in_memory": True, **_NO_STRINGS_INTO})
    book.set_properties({"created": datetime(2020, 1, 1, tzinfo=UTC), "title": "Racewright"})
    bold = book.add_format({"bold": True, "bottom": 1})
    # A cell whose text looks like a formula is marked as text, so that editing it does not make it one.
    quoted = {"quote_prefix": True}
    # A sentence is broken within its cell.
    broken = {"text_wrap": True, "valign": "top"}
    looks = {(q, b): book.add_format((quoted if q else {}) | (broken if b else {})) for q in (0, 1) for b in (0, 1)}
    used: set[str] = set()
    for table in tables:
        sheet = book.add_worksheet(_sheet_name(table.name, used))
        sheet.freeze_panes(1, 0)
        widths = [len(head) for head in table.header]
        for column, head in enumerate(table.header):
            sheet.write_string(0, column, printable(head)[:_MOST_LETTERS], bold)
        for number, row in enumerate(table.rows[:_MOST_ROWS], 1):
            for column, cell in enumerate(row):
                if cell is None or cell == "":
                    continue
                if isinstance(cell, str):
                    look = looks[safe_text(cell) != cell, len(cell) > _WIDEST]
                    sheet.write_string(number, column, printable(cell)[:_MOST_LETTERS], look)
                else:
                    sheet.write_number(number, column, float(cell))
                widths[column] = max(widths[column], len(str(cell)))
        for column, width in enumerate(widths):
            sheet.set_column(column, column, min(_WIDEST, width + 2))
    book.close()
    return buffer.getvalue()


def _sheet_name(name: str, used: set[str]) -> str:
    """At most 31 letters, none of []:*?/\\, no apostrophe at the ends, and no name twice."""
    plain = "".join("_" if c in "[]:*?/\\" or ord(c) < 32 else c for c in name).strip("'")[:31] or "Sheet"
    out, n = plain, 2
    while out.casefold() in used:
        out, n = f"{plain[:27]} {n}", n + 1
    used.add(out.casefold())
    return out
