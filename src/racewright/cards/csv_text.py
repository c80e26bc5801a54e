"""Tables as CSV that no spreadsheet runs: text is written as text and never as a formula.

A cell is taken for a formula where it begins with = + - @ (or the wide forms of the signs, which some spreadsheets
read alike), behind spaces too; it gets an apostrophe in front. Numbers stay numbers.
"""

from __future__ import annotations

import csv
from codecs import BOM_UTF8
from collections.abc import Sequence
from decimal import Decimal
from io import StringIO

from racewright.cards.takeoff_tables import Cell, Table
from racewright.printable import printable

_STARTS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def safe_text(text: str) -> str:
    """The text as can be printed, with an apostrophe in front where a spreadsheet would run it."""
    text = printable(text)  # first: what is made a space may stand before a sign
    return "'" + text if text.lstrip().startswith(_STARTS) else text


def csv_bytes(tables: Sequence[Table]) -> bytes:
    """The file, with the mark in front by which spreadsheets read every letter."""
    return BOM_UTF8 + csv_text(tables).encode()


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
