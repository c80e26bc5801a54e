"""Tables as XLSX that no spreadsheet runs: text is written as text and never as a formula (what would be taken for one
says `cards/csv_text.py`). Numbers stay numbers. Needs xlsxwriter."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from importlib import import_module
from io import BytesIO
from typing import Any

from racewright.cards.csv_text import safe_text
from racewright.cards.takeoff_tables import Table
from racewright.errors import MissingExtra
from racewright.printable import printable

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
