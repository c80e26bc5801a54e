"""What no cut list can do better: bounds in whole numbers and exact fractions, never in floating point.

Notation: v_j >= 0 any values of the sizes, z_k the most value that one bin k can hold, w_k its weight, n_k how many
there are, d_j the demand. With t the largest number for which t z_k <= w_k for every endless bin, every plan costs at
least t sum v d - sum over limited bins n_k max(0, t z_k - w_k), whatever the v (weak duality of the linear program).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import reduce
from math import ceil, gcd

from racewright.takeoff.cutting_instance import Instance

_MOST_THRESHOLDS = 400


def bound_by_values(instance: Instance, values: Sequence[int], uppers: Sequence[int]) -> int:
    """The bound in the notation above, rounded up to what weights can add up to. `uppers`: z_k or more."""
    total = sum(v * d for v, d in zip(values, instance.demand, strict=True))
    rates = [Fraction(b.weight, z) for b, z in zip(instance.bins, uppers, strict=True) if b.limit is None and z > 0]
    if not rates or total == 0:
        return 0
    t = min(rates)
    bound = t * total
    for b, z in zip(instance.bins, uppers, strict=True):
        if b.limit is not None:
            bound -= b.limit * max(Fraction(0), t * z - b.weight)
    return round_up(instance, bound)


def round_up(instance: Instance, bound: Fraction) -> int:
    """The least sum of weights at or above the bound."""
    measure = reduce(gcd, (b.weight for b in instance.bins), 0) or 1
    return max(0, ceil(bound / measure)) * measure


def cheap_bound(instance: Instance) -> int:
    """By length alone, and where one kind of stick counts by the thresholds of Martello and Toth."""
    by_length = bound_by_values(instance, instance.sizes, [b.cap for b in instance.bins])
    endless = instance.endless
    if len(endless) != 1:
        return by_length
    cap, weight = instance.bins[endless[0]].cap, instance.bins[endless[0]].weight
    limited = [b for b in instance.bins if b.limit is not None]
    if any(b.cap > cap or b.weight for b in limited):
        return by_length
    # An offcut holds no more than a new stick, so at most that many sticks are saved.
    saved = sum(b.limit or 0 for b in limited)
    return max(by_length, (l2_bound(instance, cap) - saved) * weight)


def l2_bound(instance: Instance, cap: int) -> int:
    """Sticks of one capacity that are needed at least (Martello and Toth, Discrete Applied Mathematics 28, 1990, bound
    L2; from memory): for a threshold a, pieces above cap - a fill a stick alone, pieces from a to half a stick
    go beside those above half a stick or into sticks of their own."""
    pairs = list(zip(instance.sizes, instance.demand, strict=True))
    thresholds = [0, *sorted({s for s, _ in pairs if 2 * s <= cap})]
    if len(thresholds) > _MOST_THRESHOLDS:
        thresholds = thresholds[:: -(-len(thresholds) // _MOST_THRESHOLDS)]
    best = 0
    for a in thresholds:
        alone = sum(d for s, d in pairs if s > cap - a)
        above_half = [(s, d) for s, d in pairs if cap - a >= s and 2 * s > cap]
        halves = sum(d for _, d in above_half)
        room = halves * cap - sum(s * d for s, d in above_half)
        small = sum(s * d for s, d in pairs if 2 * s <= cap and s >= a)
        best = max(best, alone + halves + max(0, -((room - small) // cap)))
    return best
