"""Reading the catalogue's bundled tables: CSV rows with their source and standing beside the figure."""

from __future__ import annotations

import csv
from fractions import Fraction
from importlib.resources import files

#: What a figure of a code's table may rest on, strongest first; a row says one of them, a `remark` column the rest.
STANDINGS = ("printed source seen", "read in a reprint", "from memory")
FROM_MEMORY = STANDINGS[-1]
_MARK = f" ({FROM_MEMORY})"
KG_PER_M_PER_LB_PER_100FT = 0.45359237 / 30.48


def read_rows(name: str, package: str = "racewright.catalogue") -> list[dict[str, str]]:
    """Rows of `data/<name>` of the package as written (text). Every table has `source` and `standing` columns."""
    text = files(package).joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def inches_to_mm(text: str) -> float:
    """A table's decimal inches in mm, rounded once: the table's inches are the primary figure."""
    return float(Fraction(text) * Fraction(254, 10))


def marked(citation: str, standing: str) -> str:
    """The citation, and that it is from memory where it is: once."""
    return unmarked(citation) + _MARK if standing == FROM_MEMORY else citation


def unmarked(citation: str) -> str:
    """The citation alone, without what `marked` adds."""
    return citation.removesuffix(_MARK)
