"""Raceways by type and trade size.

The tables' inches are the primary figures; mm are inches times 25.4 exactly, so they are not the rounded metric
columns of the code. Least bend radii: NFPA 70-2023 Chapter 9 Table 2, to the centreline.
"""

from __future__ import annotations

import csv
import re
from fractions import Fraction
from functools import cache
from math import inf
from pkgutil import get_data

import msgspec

from racewright.errors import UnknownName
from racewright.units.factors import MM2_PER_SQUARE_INCH
from racewright.units.number import meant_by

_ALIASES = {
    "emt": "EMT",
    "thinwall": "EMT",
    "electricalmetallictubing": "EMT",
    "imc": "IMC",
    "intermediate": "IMC",
    "intermediatemetalconduit": "IMC",
    "rmc": "RMC",
    "rigid": "RMC",
    "grc": "RMC",
    "rigidmetalconduit": "RMC",
    "galvanizedrigid": "RMC",
    "pvc40": "PVC-40",
    "pvcschedule40": "PVC-40",
    "pvcsch40": "PVC-40",
    "schedule40": "PVC-40",
    "sch40": "PVC-40",
    "pvc80": "PVC-80",
    "pvcschedule80": "PVC-80",
    "pvcsch80": "PVC-80",
    "schedule80": "PVC-80",
    "sch80": "PVC-80",
}


class Raceway(msgspec.Struct, frozen=True, kw_only=True):
    """One raceway type in one trade size. Areas in mm2. `least_radius_mm` is to the centreline, for a one-shot or
    full-shoe bender; `least_radius_other_mm` for other bends; their standings say what the two rest on."""

    type: str
    trade_size: str
    metric_designator: int
    outside_diameter_mm: float
    inside_diameter_mm: float
    area_mm2: float
    least_radius_mm: float | None
    least_radius_other_mm: float | None
    stock_length_mm: float
    source: str
    standing: str
    least_radius_standing: str = ""
    least_radius_other_standing: str = ""

    @property
    def name(self) -> str:
        """'EMT 1/2'."""
        return f"{self.type} {self.trade_size}"

    @property
    def family(self) -> str:
        """'PVC' for 'PVC-40' and 'PVC-80', else the type itself: what the articles call it."""
        return self.type.split("-")[0]

    @property
    def field_radius_mm(self) -> float | None:
        """Least radius of a bend made by hand: one-shot and full-shoe for metal, other bends for heated PVC."""
        return self.least_radius_other_mm if self.family == "PVC" else self.least_radius_mm


def read_rows(name: str, package: str = "racewright.catalogue") -> list[dict[str, str]]:
    """Rows of `data/<name>` of the package as written (text). Every table has `source` and `standing` columns."""
    raw = get_data(package, f"data/{name}") or b""
    return list(csv.DictReader(raw.decode().splitlines()))


def inches_to_mm(text: str) -> float:
    """A table's decimal inches in mm, rounded once: the table's inches are the primary figure."""
    whole, _, part = text.partition(".")
    scale: int = 10 ** (len(part) + 1)
    return int(whole + part) * 254 / scale


@cache
def all_raceways() -> tuple[Raceway, ...]:
    """Every raceway of the catalogue, in the order type, size."""
    radii = {row["trade_size"]: row for row in read_rows("least_radius.csv")}
    return tuple(_from_row(row, radii[row["trade_size"]]) for row in read_rows("raceways.csv"))


@cache
def raceway_types() -> tuple[str, ...]:
    """The types that exist: 'EMT', 'IMC', 'RMC', 'PVC-40', 'PVC-80'."""
    return tuple(dict.fromkeys(raceway.type for raceway in all_raceways()))


def trade_sizes(raceway_type: str) -> tuple[str, ...]:
    """The trade sizes of a type, smallest first. Raises UnknownName for a type that is not in the catalogue."""
    name = canonical_type(raceway_type)
    return tuple(raceway.trade_size for raceway in all_raceways() if raceway.type == name)


def find_raceway(type: str, trade_size: str) -> Raceway:
    """The raceway of a type and trade size, whatever way they are written.

    `trade_size` is '1/2', '1-1/4', '1 1/4', '1.25', with or without an inch mark, or a metric designator '16', 'MD 16'.
    Raises UnknownName with the names that exist and the nearest of them.
    """
    name = canonical_type(type)
    index = _index()
    found = index.get((name, canonical_size(trade_size)))
    if found is None:
        raise _unknown_size(name, trade_size)
    return found


def raceway_by_name(name: str) -> Raceway:
    """The raceway of a name as a survey has it, type and size: 'EMT 1/2'. Raises UnknownName."""
    kind, _, size = name.strip().partition(" ")
    return find_raceway(kind, size.strip())


def canonical_type(raceway_type: str) -> str:
    """'Rigid' -> 'RMC', 'pvc sch 40' -> 'PVC-40'. Raises UnknownName."""
    key = "".join(ch for ch in raceway_type.lower() if ch.isalnum())
    if key in _ALIASES:
        return _ALIASES[key]
    if key == "pvc":
        raise UnknownName(
            "'PVC' comes in two wall thicknesses.",
            hint="write PVC-40 or PVC-80, as printed on the conduit",
            field="raceway",
            expected="PVC-40, PVC-80",
            example="PVC-40",
        )
    from difflib import get_close_matches

    near = get_close_matches(key, _ALIASES, n=1, cutoff=0.5)
    nearest = f"; nearest: {_ALIASES[near[0]]}" if near else ""
    message = f"No raceway type '{raceway_type}' in the catalogue."
    raise UnknownName.among(message, "known types", raceway_types(), field="raceway", example="EMT", more=nearest)


def canonical_size(trade_size: str) -> str:
    """'1 1/4"' or 'MD 35' -> '1-1/4'; text that is no size comes back stripped, to be reported by the caller."""
    inches = _size_in(trade_size)
    return _SIZE_TEXT.get(inches, trade_size.strip()) if inches is not None else trade_size.strip()


# Usual writing of each trade size -> its metric designator (NFPA 70-2023 Chapter 9 tables, read in a reprint).
_DESIGNATORS = {
    "1/2": 16,
    "3/4": 21,
    "1": 27,
    "1-1/4": 35,
    "1-1/2": 41,
    "2": 53,
    "2-1/2": 63,
    "3": 78,
    "3-1/2": 91,
    "4": 103,
    "5": 129,
    "6": 155,
}


def _sum_of_parts(text: str) -> Fraction:
    return sum((Fraction(part) for part in text.replace("-", " ").split()), Fraction(0))


_SIZE_TEXT = {_sum_of_parts(size): size for size in _DESIGNATORS}
_DESIGNATOR = {number: _sum_of_parts(size) for size, number in _DESIGNATORS.items()}


def _size_in(text: str) -> Fraction | None:
    bare = text.lower().replace("inches", "").replace("inch", "").replace("in.", "").replace("in", "")
    bare = bare.replace('"', "").replace("″", "").replace("”", "").strip()
    metric = bare.startswith("md") or bare.endswith("mm")
    bare = bare.removeprefix("md").removesuffix("mm").strip()
    if len(bare) > 12 or not set(bare) <= set("0123456789 -/."):
        return None  # no size is written like that, and a number such as 1e999999999 would take for ever
    try:
        value = _sum_of_parts(bare)
    except (ValueError, ZeroDivisionError):
        return None
    if _improper(bare):
        return None  # 11/4 and 3/2 are slips for 1 1/4 and 1 1/2: said as unknown, with what may be meant
    if value <= 0:
        return None
    if (metric or value > 6) and value.denominator == 1:
        return _DESIGNATOR.get(int(value), None if metric else value)
    return None if metric else value


def _improper(text: str) -> tuple[str, str] | None:
    """The fraction of 1 or more that a size is written with, as its two numbers."""
    found = re.search(r"(?:^|[\s-])(\d+)/(\d+)$", text)
    return (found[1], found[2]) if found and int(found[1]) >= int(found[2]) > 0 else None


@cache
def _index() -> dict[tuple[str, str], Raceway]:
    return {(raceway.type, raceway.trade_size): raceway for raceway in all_raceways()}


def _unknown_size(name: str, asked: str) -> UnknownName:
    sizes = trade_sizes(name)
    inches = _size_in(asked)
    nearest = meant = ""
    slip = _improper(asked.strip(' "'))
    if slip:
        likely = [text for text in meant_by(*slip) if text.replace(" ", "-") in sizes]
        meant = f"did you mean {' or '.join(likely)}? " if likely else ""
    if inches is not None:
        best, least = "", inf
        for size in sizes:
            for known in (_size_in(size) or Fraction(0), Fraction(_index()[name, size].metric_designator)):
                off = abs(float(known - inches)) / float(known)
                if off < least:
                    best, least = size, off
        nearest = f"; nearest: {best}"
    message = f"No {name} of trade size '{asked}' in the catalogue."
    kind = f"{meant}sizes of {name}"
    return UnknownName.among(message, kind, sizes, field="size", example=sizes[0], more=nearest)


def _from_row(row: dict[str, str], radius: dict[str, str]) -> Raceway:
    return Raceway(
        type=row["type"],
        trade_size=row["trade_size"],
        metric_designator=int(row["metric_designator"]),
        outside_diameter_mm=inches_to_mm(row["outside_diameter_in"]),
        inside_diameter_mm=inches_to_mm(row["inside_diameter_in"]),
        area_mm2=float(row["area_in2"]) * MM2_PER_SQUARE_INCH,
        least_radius_mm=inches_to_mm(radius["one_shot_in"]),
        least_radius_other_mm=inches_to_mm(radius["other_in"]),
        stock_length_mm=inches_to_mm(row["stock_length_in"]),
        source=f"{row['source']}; {radius['source']} (least radius)",
        standing=f"inside diameter and area {row['standing']}; {row['remark']}; least radius {radius['standing']}"
        f" ({radius['other_standing']} for other than one-shot benders)",
        least_radius_standing=radius["standing"],
        least_radius_other_standing=radius["other_standing"],
    )
