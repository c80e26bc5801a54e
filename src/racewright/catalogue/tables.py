"""Reading the catalogue's bundled tables: CSV rows with their source and standing beside the figure."""

from __future__ import annotations

import csv
from fractions import Fraction
from importlib.resources import files

MM_PER_INCH = 25.4
MM2_PER_SQUARE_INCH = 645.16
KG_PER_M_PER_LB_PER_100FT = 0.45359237 / 30.48


def read_rows(name: str) -> list[dict[str, str]]:
    """Rows of `catalogue/data/<name>` as written (text). Every table has `source` and `standing` columns."""
    text = files("racewright.catalogue").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def inches_to_mm(text: str) -> float:
    """A table's decimal inches in mm, rounded once: the table's inches are the primary figure."""
    return float(Fraction(text) * Fraction(254, 10))
