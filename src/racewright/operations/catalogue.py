"""What a form offers: raceways, benders, units, end fittings."""

from __future__ import annotations

from racewright import __version__
from racewright.catalogue.fittings import all_fittings
from racewright.catalogue.raceways import all_raceways
from racewright.operations.bender import ShoeData, shoes
from racewright.operations.common import (
    Answer,
    Part,
    Request,
    TapeUnit,
)
from racewright.operations.known import Known
from racewright.tools.benders import default_benders


class CatalogueRequest(Request, frozen=True, kw_only=True):
    """What there is to choose from."""


class RacewayData(Part, frozen=True, kw_only=True):
    """A raceway in a trade size; `name` ('EMT 1/2') is what a survey's `raceway` takes. `bender` is the name of the
    trade's shoe for it or ''."""

    name: str
    type: str
    trade_size: str
    outside_diameter_mm: float
    inside_diameter_mm: float
    least_radius_mm: float | None
    stock_length_mm: float
    bender: str
    source: str
    standing: str


class UnitChoice(Part, frozen=True, kw_only=True):
    """A unit of length with the denominators its tape can have."""

    unit: TapeUnit
    denominators: tuple[int, ...]
    usual: int


class Catalogue(Answer, frozen=True, kw_only=True):
    """Everything a form offers. `end_fittings` are the values of a survey's `fitting`; `kinds_of_problem` those of
    the practice sheets."""

    version: str
    raceways: tuple[RacewayData, ...]
    benders: tuple[ShoeData, ...]
    units: tuple[UnitChoice, ...]
    end_fittings: tuple[str, ...]
    kinds_of_problem: tuple[str, ...]


UNITS = (
    UnitChoice(unit="in", denominators=(1, 2, 4, 8, 16, 32), usual=16),
    UnitChoice(unit="mm", denominators=(1, 2), usual=1),
)


def catalogue(_: CatalogueRequest, known: Known) -> Catalogue:
    """What a form offers; the server's own benders first."""
    from racewright.operations.practice import KINDS

    usual = {(b.raceway_type, b.trade_size): b.name for b in default_benders()}
    raceways = tuple(
        RacewayData(
            name=r.name,
            type=r.type,
            trade_size=r.trade_size,
            outside_diameter_mm=r.outside_diameter_mm,
            inside_diameter_mm=r.inside_diameter_mm,
            least_radius_mm=r.least_radius_mm,
            stock_length_mm=r.stock_length_mm,
            bender=usual.get((r.type, r.trade_size), ""),
            source=r.source,
            standing=r.standing,
        )
        for r in all_raceways()
    )
    kinds = dict.fromkeys(f.kind for f in all_fittings())
    return Catalogue(
        version=__version__,
        raceways=raceways,
        benders=(*shoes(known.benders.values(), own=True), *shoes(default_benders())),
        units=UNITS,
        end_fittings=("none", *(k for k in kinds if k != "none")),
        kinds_of_problem=tuple(KINDS),
    )
