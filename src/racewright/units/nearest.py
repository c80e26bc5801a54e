"""The nearest whole number of steps: the one rounding of what a tape, a pointer or a message shows.

What was worked out in floats carries noise in its last digits, and that noise differs from machine to machine. A figure
that lies on a half but for such noise counts as the half, so the same survey shows the same figure everywhere.
"""

from __future__ import annotations

from fractions import Fraction

#: A worked-out length that lies this near to a half of the tape's step counts as the half (mm): a tenth of a millionth
#: of the longest length that is taken (1 km), and no hand sees it.
HALF_MM = 1e-4
#: The same for angles (degrees).
HALF_DEG = 1e-6


def nearest(steps: float | Fraction, give: float = 0.0) -> int:
    """The nearest whole number, halves away from zero; what misses a half by `give` or less counts as that half. A
    fraction is exact, and takes no `give`."""
    if isinstance(steps, Fraction):
        count = int(abs(steps) + Fraction(1, 2))
    else:
        count = int(abs(steps) + 0.5 + give)
    return -count if steps < 0 else count
