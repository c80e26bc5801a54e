"""A piece of EMT 1/2 on a half-inch shoe, by where its bends begin (mm), their angles and their planes (degrees)."""

from math import radians

from racewright.bends.model import Bend, BentPiece

R, D = 113.6, 17.9


def bent_piece(*bends: tuple[float, float, float], length: float) -> BentPiece:
    return BentPiece(
        cut_length_mm=length,
        outside_diameter_mm=D,
        bends=tuple(Bend(arc_start_mm=s, angle_rad=radians(a), roll_rad=radians(r), radius_mm=R) for s, a, r in bends),
    )
