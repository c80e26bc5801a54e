"""One edition of a wiring code as data: tables in `codebook/data/<edition>/*.csv`, each row with source and standing
(one of `STANDINGS`). An answer that rests on a row from memory says so.

The rule files hold the procedure (count, look up, multiply); every number and article comes from the edition, so that
another edition or country stands beside this one as another folder. Figures are in the table's own units, kept as
text or as Fraction, so that an answer at the very edge of a table falls on the side where the table puts it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Literal, TypedDict, TypeVar

import msgspec

from racewright.catalogue.raceways import read_rows
from racewright.errors import Finding, InputError, UnknownName
from racewright.units.tape import MM_PER_INCH

#: What a figure of a code's table may rest on, strongest first; a row says one of them, a `remark` column the rest.
STANDINGS = ("printed source seen", "read in a reprint", "from memory")
FROM_MEMORY = STANDINGS[-1]
_MARK = f" ({FROM_MEMORY})"

DEFAULT_EDITION = "NFPA 70-2023"
_FOLDERS = {"NFPA 70-2023": "nfpa70_2023"}

MM2_PER_IN2 = MM_PER_INCH**2
CM3_PER_IN3 = MM_PER_INCH**3 / 1000
KFT_PER_M = Fraction(1, 1000) / Fraction(3048, 10000)

RowKind = TypeVar("RowKind", bound=msgspec.Struct)
Metal = Literal["copper", "aluminum"]
_METALS: dict[str, Metal] = {"cu": "copper", "copper": "copper"}
_METALS |= {"al": "aluminum", "aluminum": "aluminum", "aluminium": "aluminum"}


class RuleStep(msgspec.Struct, frozen=True, kw_only=True):
    """One step of a calculation in words and figures, with the article and edition that it follows. `standing`: of the
    figures in it, where they may be from memory ('' else)."""

    text: str
    citation: str
    standing: str = ""


class Cited(TypedDict):
    """What a step or a finding follows, and `standing`: 'from memory' where the article or a figure is, '' else."""

    citation: str
    standing: str


def marked(citation: str, standing: str) -> str:
    """The citation, and that it is from memory where it is: once."""
    return unmarked(citation) + _MARK if standing == FROM_MEMORY else citation


def unmarked(citation: str) -> str:
    """The citation alone, without what `marked` adds."""
    return citation.removesuffix(_MARK)


def cited(citation: str, *standings: str) -> Cited:
    """The citation, marked where any of what it rests on is from memory, and that standing."""
    standing = FROM_MEMORY if FROM_MEMORY in standings else ""
    return Cited(citation=marked(citation, standing), standing=standing)


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One row of a table: its cells as written ('' where the table has none), source and standing."""

    cells: Mapping[str, str]
    source: str
    standing: str

    def read(self, kind: type[RowKind]) -> RowKind:
        """The row as a struct whose fields are columns; source and standing where it has them."""
        cells = {**self.cells, "source": self.source, "standing": self.standing}
        return msgspec.convert(cells, kind, strict=False)

    def number(self, column: str) -> Fraction | None:
        """The cell as an exact number, None where the table has no figure."""
        written = self.cells[column]
        return Fraction(written) if written else None


class Edition:
    """The tables of one edition. Get one with `load_edition`."""

    def __init__(self, name: str, folder: str) -> None:
        self.name = name
        self._folder = folder
        self._tables: dict[str, tuple[Row, ...]] = {}

    def rows(self, table: str) -> tuple[Row, ...]:
        """All rows of `<table>.csv`, in the table's order."""
        if table not in self._tables:
            self._tables[table] = _read(self._folder, table)
        return self._tables[table]

    def find(self, table: str, column: str, value: str) -> Row | None:
        """The first row whose `column` reads `value`."""
        return next((row for row in self.rows(table) if row.cells[column] == value), None)

    def limit(self, name: str) -> Fraction:
        """A single figure of the edition ('fill_more' -> 40). Raises UnknownName where the edition has none."""
        return Fraction(self._limit(name).cells["value"])

    def limit_standing(self, name: str) -> str:
        """What that figure rests on. Raises UnknownName where the edition has none."""
        return self._limit(name).standing

    def _limit(self, name: str) -> Row:
        row = self.find("limits", "name", name)
        if row is None:
            raise UnknownName(f"{self.name} has no figure '{name}' here.", field=name)
        return row

    def cite(self, key: str) -> str:
        """Edition and article for a rule of ours ('fill' -> 'NFPA 70-2023 Chapter 9 Table 1'), marked where the
        article's number is from memory. Raises UnknownName."""
        return self.cited(key)["citation"]

    def cited(self, key: str, *figures: str) -> Cited:
        """The same with its standing; `figures`: the standings of the figures that it goes with. Raises UnknownName."""
        row = self.find("citations", "key", key)
        if row is None:
            raise UnknownName(f"{self.name} has no article for '{key}' here.", field=key)
        return cited(f"{self.name} {row.cells['article']}", row.standing, *figures)

    def step(self, text: str, key: str, *figures: str) -> RuleStep:
        """A step of a calculation by the rule `key`; `figures` as in `cited`. Raises UnknownName."""
        return RuleStep(text=text, **self.cited(key, *figures))

    def sizes(self) -> tuple[str, ...]:
        """Conductor sizes, thinnest first."""
        return tuple(dict.fromkeys(row.cells["size"] for row in self.rows("ampacity")))

    def rank(self, size: str) -> int:
        """Place of a size in `sizes()`: a thicker conductor has the higher rank."""
        return self.sizes().index(size)

    def size(self, text: str, *, field: str = "size") -> str:
        """A size as the tables write it: '#12', '12 AWG' -> '12'; '250 kcmil', '250 MCM' -> '250'; '1/0', '0' -> '1/0'.

        Raises UnknownName with the sizes that exist.
        """
        bare = text.lower().replace("awg", "").replace("kcmil", "").replace("mcm", "").replace("#", "")
        bare = bare.replace("no.", "").strip()
        bare = {"0": "1/0", "00": "2/0", "000": "3/0", "0000": "4/0"}.get(bare, bare)
        known = self.sizes()
        if bare not in known:
            message = f"No conductor size '{text}' in the tables of {self.name}."
            more = " (AWG to 4/0, then kcmil)"
            raise UnknownName.among(message, "sizes", known, field=field, example="12", more=more)
        return bare

    def conductor(self, size: str, stranding: str = "") -> Row:
        """Conductor properties of a size; without `stranding` the stranded row. Raises UnknownName."""
        found = [row for row in self.rows("conductors") if row.cells["size"] == size]
        wanted = stranding or "stranded"
        for row in found:
            if row.cells["stranding"] == wanted:
                return row
        there = ", ".join(dict.fromkeys(row.cells["size"] for row in self.rows("conductors")))
        kinds = ", ".join(row.cells["stranding"] for row in found)
        raise UnknownName(
            f"No {wanted} conductor of size {size} in the conductor properties of {self.name}.",
            hint=f"{size} comes as: {kinds}" if found else f"sizes there: {there}",
            field="size",
            expected=kinds or there,
        )


def edition_names() -> tuple[str, ...]:
    """The editions that are here: the page's forms are made from them (`web-ui/scripts/make_forms.py`)."""
    return tuple(_FOLDERS)


def load_edition(name: str) -> Edition:
    """The edition of that name. Raises UnknownName with the editions that exist."""
    if name not in _FOLDERS:
        more = "; another one is a folder of tables beside it"
        raise UnknownName.among(
            f"No edition '{name}' here.", "editions", _FOLDERS, field="edition", example=DEFAULT_EDITION, more=more
        )
    return _load(name)


def metal_name(text: str) -> Metal:
    """'cu', 'copper' -> 'copper'; 'al', 'aluminium' -> 'aluminum'. Raises UnknownName."""
    found = _METALS.get(text.strip().lower())
    if found is None:
        message, known = f"No conductor metal '{text}' here.", ("copper", "aluminum")
        raise UnknownName.among(message, "metals", known, field="metal", example="copper")
    return found


def above_zero(value: float, what: str, unit: str, field: str) -> float:
    """`value` if it is a finite number above 0. Raises InputError that says what was asked and what would work."""
    if not 0 < value < float("inf"):
        raise InputError(
            f"{what} is {value:g} {unit}; it must be above 0 {unit}.",
            hint=f"write {what.lower()} as a number above 0",
            field=field,
            expected=f"a number above 0 {unit}",
        )
    return value


def from_memory(steps: Iterable[RuleStep], findings: Iterable[Finding] = ()) -> tuple[str, ...]:
    """The citations of an answer that are from memory, or whose figures are: once each, in their order."""
    named = dict.fromkeys(unmarked(step.citation) for step in steps if step.standing == FROM_MEMORY)
    for finding in findings:
        # a finding may cite more than what is from memory: what the steps name already is not said again
        if finding.standing == FROM_MEMORY and not any(text in finding.citation for text in named):
            named[unmarked(finding.citation)] = None
    return tuple(named)


@cache
def _load(name: str) -> Edition:
    return Edition(name, _FOLDERS[name])


def _read(folder: str, table: str) -> tuple[Row, ...]:
    rows = []
    for line in read_rows(f"{folder}/{table}.csv", "racewright.codebook"):
        cells = {key: cell for key, cell in line.items() if key not in ("source", "standing", "remark")}
        if line["standing"] not in STANDINGS:
            raise ValueError(f"{table}.csv: '{line['standing']}' is no standing; one of {', '.join(STANDINGS)}")
        rows.append(Row(cells=MappingProxyType(cells), source=line["source"], standing=line["standing"]))
    return tuple(rows)
