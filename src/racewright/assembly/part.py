"""One piece of a run on its way to the bench: where it lies and what its ends go into, before it has any mark."""

from __future__ import annotations

import msgspec

from racewright.bends.model import BentPiece
from racewright.geometry.vector import Frame


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """One piece before its marks: where it begins in the run, and what its ends go into ('' a free end). `stock_mm`:
    the stick that it comes from; `offcut`: which of the survey's offcuts that is (from 1; 0: a new stick)."""

    piece: BentPiece
    frame: Frame
    start_mm: float
    first_bend: int
    ends: tuple[str, str]
    inserts_mm: tuple[float, float]
    stock_mm: float
    offcut: int = 0
