"""Primer and cement for cemented joints, by the faces that they cover.

Notation (lengths mm, volumes mm^3)
    D   outside diameter of the conduit     L   depth of the socket
    t   film on each of the two faces that meet, what is wasted counted in
    V = 2 pi D L t  for one socket
"""

from __future__ import annotations

from math import pi

from racewright.takeoff.bill_model import Unit
from racewright.units.tape import TapeUnit

#: Film on each face, mm: cement, and primer half as thick (own values, common practice, no source: cans say how many
#: joints they are for, and yours may say otherwise).
FILM_MM = {"cement": 1.1, "primer": 0.55}
#: The can that is bought, mm^3, and its name, where lengths are inches and where they are mm.
CANS: dict[TapeUnit, tuple[float, str]] = {"in": (473_176.0, "1 pint can"), "mm": (500_000.0, "500 mL can")}
#: What amounts are told in, mm^3.
AMOUNTS: dict[TapeUnit, tuple[float, Unit]] = {"in": (29_573.5, "fl oz"), "mm": (1_000.0, "mL")}


def socket_mm3(what: str, outside_diameter_mm: float, depth_mm: float) -> float:
    """How much 'cement' or 'primer' one socket takes."""
    return 2.0 * pi * outside_diameter_mm * depth_mm * FILM_MM[what]
