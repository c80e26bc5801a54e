"""What the catalogue's rows mean: raceways and benders. Figures in mm; every row says where it comes from."""

from __future__ import annotations

import msgspec


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
    weight_kg_per_m: float | None = None
    source: str
    standing: str
    least_radius_standing: str = ""
    least_radius_other_standing: str = ""

    @property
    def name(self) -> str:
        """'EMT 1/2'."""
        return f"{self.type} {self.trade_size}"
