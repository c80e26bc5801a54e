"""Tables of an answer as text, for a door that shows them."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Annotated

import msgspec

from racewright.cards.takeoff_tables import Cell, Table
from racewright.operations.common import Answer, Part
from racewright.operations.jobs import JobRequest


class PlainTable(Part, frozen=True, kw_only=True):
    """A table as text: its name, the head of each column, the rows."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class ListRequest(JobRequest, frozen=True, kw_only=True):
    """A question about a job whose answer is a list. `as_tables`: told as tables too, those of its files."""

    as_tables: Annotated[bool, msgspec.Meta(description="tables of the list too")] = False


class ListAnswer(Answer, frozen=True, kw_only=True):
    """`tables`: the list as its files hold it, each cell as text; none where they were not asked for."""

    tables: tuple[PlainTable, ...] = ()


def plain(table: Table, columns: tuple[int, ...] | None = None) -> PlainTable:
    """The table as text, all columns or those named."""
    take = columns or tuple(range(len(table.header)))
    return PlainTable(
        name=table.name,
        header=tuple(table.header[i] for i in take),
        rows=tuple(tuple(_text(row[i]) for i in take) for row in table.rows),
    )


def plain_tables(request: ListRequest, tables: Iterable[Table]) -> tuple[PlainTable, ...]:
    """The tables as text where they were asked for."""
    return tuple(plain(table) for table in tables) if request.as_tables else ()


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    return f"{cell:f}" if isinstance(cell, Decimal) else str(cell)
