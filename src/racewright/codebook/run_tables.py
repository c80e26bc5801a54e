"""The tables of the run's rules: supports, articles, expansion, read from the edition's data files."""

from __future__ import annotations

import msgspec

from racewright.catalogue.model import Raceway
from racewright.codebook.edition import Edition, Row
from racewright.units.factors import MM_PER_FOOT
from racewright.units.tape import MM_PER_INCH


class SupportRule(msgspec.Struct, frozen=True, kw_only=True):
    """Support figures of one raceway in one size range, mm. `straight_threaded_mm` holds between two straps on one
    straight with threaded couplings; `first_relaxed_mm` where structure does not allow the nearer place."""

    spacing_mm: float
    straight_threaded_mm: float | None
    first_mm: float
    first_relaxed_mm: float | None
    article: str
    relaxed_article: str
    source: str
    standing: str


class ArticleRow(msgspec.Struct, frozen=True, kw_only=True):
    """Article numbers of one raceway type and the least and greatest metric designator that it permits."""

    degrees: str
    radius: str
    ream: str
    size: str
    md_least: int
    md_greatest: int
    bushing: str
    ground_path: str
    standing: str


class ExpansionRow(msgspec.Struct, frozen=True, kw_only=True):
    """Length change in mm per mm and kelvin, and the change (mm) at which a fitting is needed (None: not said)."""

    per_kelvin: float
    fitting_at_mm: float | None
    article: str
    standing: str


def family(raceway_type: str) -> str:
    """'PVC' for 'PVC-40' and 'PVC-80', else the type itself: what the articles call it."""
    return raceway_type.upper().split("-")[0]


def support_rule(raceway: Raceway, edition: Edition) -> SupportRule | None:
    """The support figures of this raceway, or None where the tables have none for it."""
    for row in edition.rows("supports"):
        if row.text("type") != family(raceway.type):
            continue
        if int(row.text("md_from")) <= raceway.metric_designator <= int(row.text("md_to")):
            return SupportRule(
                spacing_mm=float(row.text("spacing_ft")) * MM_PER_FOOT,
                straight_threaded_mm=_feet(row, "straight_threaded_ft"),
                first_mm=float(row.text("first_ft")) * MM_PER_FOOT,
                first_relaxed_mm=_feet(row, "first_relaxed_ft"),
                article=row.text("article"),
                relaxed_article=row.text("relaxed_article"),
                source=row.source,
                standing=row.standing,
            )
    return None


def articles(raceway: Raceway, edition: Edition) -> ArticleRow | None:
    """The articles of this raceway's type, or None for a type that the tables do not hold."""
    row = edition.find("raceway_articles", "type", family(raceway.type))
    if row is None:
        return None
    return ArticleRow(
        degrees=row.text("degrees"),
        radius=row.text("radius"),
        ream=row.text("ream"),
        size=row.text("size"),
        md_least=int(row.text("md_least")),
        md_greatest=int(row.text("md_greatest")),
        bushing=row.text("bushing"),
        ground_path=row.text("ground_path"),
        standing=row.standing,
    )


def expansion_row(raceway: Raceway, edition: Edition) -> ExpansionRow | None:
    """The expansion figures of this raceway's material: PVC, or steel for the metal types."""
    row = edition.find("expansion", "type", "PVC" if family(raceway.type) == "PVC" else "STEEL")
    if row is None:
        return None
    at = row.number("fitting_at_in")
    return ExpansionRow(
        per_kelvin=float(row.text("per_degree_f")) * 1.8,
        fitting_at_mm=None if at is None else float(at * MM_PER_INCH),
        article=row.text("article"),
        standing=row.standing,
    )


def _feet(row: Row, column: str) -> float | None:
    value = row.number(column)
    return None if value is None else float(value) * MM_PER_FOOT
