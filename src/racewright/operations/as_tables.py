"""Tables of an answer as text, for a door that shows them, and as files, for one that gives them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Annotated, Literal, TypeVar

import msgspec

from racewright.cards.takeoff_tables import Cell, Table, left_out_table
from racewright.operations.common import Answer, Part
from racewright.operations.jobs import JobRequest


class PlainTable(Part, frozen=True, kw_only=True):
    """A table as text: its name, the head of each column, the rows."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


TableForm = Literal["csv", "xlsx"]


class ListRequest(JobRequest, frozen=True, kw_only=True):
    """A question about a job whose answer is a list. `as_tables`: told as tables too, those of its files. `as_files`:
    and as files of these kinds (XLSX by server and command only)."""

    as_tables: Annotated[bool, msgspec.Meta(description="tables of the list too")] = False
    as_files: Annotated[tuple[TableForm, ...], msgspec.Meta(max_length=2, description="files of the list too")] = ()


class TableFile(Part, frozen=True, kw_only=True):
    """One file whole."""

    form: TableForm
    data: bytes


class ListAnswer(Answer, frozen=True, kw_only=True):
    """`tables`: the list as its files hold it, each cell as text; `files` in the order asked for; none where they were
    not asked for."""

    tables: tuple[PlainTable, ...] = ()
    files: tuple[TableFile, ...] = ()


_A = TypeVar("_A", bound=ListAnswer)


def plain(table: Table) -> PlainTable:
    """The table as text."""
    rows = tuple(tuple(_text(cell) for cell in row) for row in table.rows)
    return PlainTable(name=table.name, header=table.header, rows=rows)


def listed(answer: _A, request: ListRequest, tables: Sequence[Table], *, left_out_first: bool = True) -> _A:
    """The answer with its tables as far as they were asked for; in files, what it leaves out stands first. Raises
    MissingExtra for XLSX without its library."""
    whole = (left_out_table(answer.not_included), *tables) if left_out_first else tables
    return msgspec.structs.replace(
        answer,
        tables=tuple(plain(table) for table in tables) if request.as_tables else (),
        files=tuple(TableFile(form=form, data=_file(form, whole)) for form in request.as_files),
    )


def _file(form: TableForm, tables: Sequence[Table]) -> bytes:
    if form == "csv":
        from racewright.cards.csv_text import csv_bytes

        return csv_bytes(tables)
    from racewright.exports.tables import xlsx_bytes

    return xlsx_bytes(tables)


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    return f"{cell:f}" if isinstance(cell, Decimal) else str(cell)
