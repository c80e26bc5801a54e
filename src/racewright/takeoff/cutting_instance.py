"""The cut list as whole numbers: sizes with their saw cut, how many of each, and the bins to cut from.

Notation: a piece of length l takes l + kerf; a stick of length S offers S + kerf, since after the last piece no cut
is needed when it ends at the stick's end. So pieces fit if and only if the sum of sizes is at most the capacity.

Bounds, in whole numbers and exact fractions, never in floating point: v_j >= 0 any values of the sizes, z_k the most
value that one bin k can hold, w_k its weight, n_k how many there are, d_j the demand. With t the largest number for
which t z_k <= w_k for every endless bin, every plan costs at least t sum v d - sum over limited bins n_k max(0, t z_k -
w_k), whatever the v (weak duality of the linear program).

The linear program over fillings, its fillings made as needed. Rows: one for each size (at least the demand), one for
each bin that is limited (at most its count). Columns: fillings of a bin, cost its weight; surplus; slack. y duals of
sizes, g duals of limited bins (never above 0). A filling a of bin k pays if w_k - g_k - y a < 0 (Gilmore and Gomory,
Operations Research 9, 1961: the best filling under the duals is a knapsack; from memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import reduce
from math import ceil, gcd
from typing import NamedTuple

from racewright.budget import CUT_BOUND_LENGTHS
from racewright.takeoff.cutting_knapsack import best_filling

Counts = tuple[int, ...]


class Bin(NamedTuple):
    """One kind of stick: capacity, weight in what is minimised, how many there are (None: as many as needed)."""

    cap: int
    weight: int
    limit: int | None


class Packed(NamedTuple):
    """One stick in a solution: which kind of bin, and how many pieces of each size."""

    bin: int
    counts: Counts


class Instance(NamedTuple):
    """Sizes, longest first, how many of each are wanted, and the bins."""

    sizes: Counts
    demand: Counts
    bins: tuple[Bin, ...]

    @property
    def total(self) -> int:
        """Everything wanted, end to end."""
        return sum(s * d for s, d in zip(self.sizes, self.demand, strict=True))

    @property
    def lines(self) -> int:
        """Lines of the tableau: one a size and one a limited bin."""
        return len(self.sizes) + sum(b.limit is not None for b in self.bins)

    @property
    def endless(self) -> tuple[int, ...]:
        """The bins without limit, longest first."""
        return tuple(sorted((k for k, b in enumerate(self.bins) if b.limit is None), key=lambda k: -self.bins[k].cap))

    def with_demand(self, demand: Sequence[int], used: Counter[int]) -> Instance:
        """What remains: this demand, and the bins less those used."""
        bins = tuple(b if b.limit is None else b._replace(limit=b.limit - used[k]) for k, b in enumerate(self.bins))
        return Instance(self.sizes, tuple(demand), bins)


def make_instance(sizes: Iterable[int], bins: Iterable[Bin]) -> tuple[Instance, int]:
    """Pieces of the same size together, all divided by their common measure, which is returned too."""
    wanted = Counter(sizes)
    measure = reduce(gcd, wanted, 0) or 1
    keys = sorted(wanted, reverse=True)
    small = tuple(Bin(b.cap // measure, b.weight, b.limit) for b in bins)
    return Instance(tuple(k // measure for k in keys), tuple(wanted[k] for k in keys), small), measure


def weight_of(instance: Instance, packed: Iterable[Packed]) -> int:
    """What a solution costs."""
    return sum(instance.bins[p.bin].weight for p in packed)


def size_of(instance: Instance, counts: Sequence[int]) -> int:
    """What the pieces of one stick take."""
    return sum(s * c for s, c in zip(instance.sizes, counts, strict=True) if c)


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
    if len(thresholds) > CUT_BOUND_LENGTHS:
        thresholds = thresholds[:: -(-len(thresholds) // CUT_BOUND_LENGTHS)]
    best = 0
    for a in thresholds:
        alone = sum(d for s, d in pairs if s > cap - a)
        above_half = [(s, d) for s, d in pairs if cap - a >= s and 2 * s > cap]
        halves = sum(d for _, d in above_half)
        room = halves * cap - sum(s * d for s, d in above_half)
        small = sum(s * d for s, d in pairs if 2 * s <= cap and s >= a)
        best = max(best, alone + halves + max(0, -((room - small) // cap)))
    return best


_SCALE = 1 << 24
_TINY = 1e-9


class Relaxed(NamedTuple):
    """Bound in whole weights (safe), the float optimum, and the fillings in use: (how often, filling)."""

    bound: int
    value: float
    used: tuple[tuple[float, Packed], ...]
    pivots: int
    priced: int

    @property
    def value_in_use(self) -> float:
        """How many sticks the fillings in use add up to."""
        return sum(times for times, _ in self.used)


class _Column(NamedTuple):
    kind: str
    rows: tuple[tuple[int, float], ...]
    cost: float
    packed: Packed | None = None


class Tableau:
    """Revised simplex with the inverse of the basis kept whole: a few dozen rows."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        m = len(instance.sizes)
        self.limited = [k for k, b in enumerate(instance.bins) if b.limit is not None]
        self.row_of = {k: m + i for i, k in enumerate(self.limited)}
        self.m, self.n = m, m + len(self.limited)
        self.basis: list[_Column] = []
        diagonal: list[float] = []
        amount: list[float] = []
        for j, (size, want) in enumerate(zip(instance.sizes, instance.demand, strict=True)):
            fits = [k for k in instance.endless if instance.bins[k].cap >= size]
            k = min(fits, key=lambda k: instance.bins[k].weight / min(want, instance.bins[k].cap // size))
            times = min(want, instance.bins[k].cap // size)
            counts = tuple(times if i == j else 0 for i in range(m))
            self.basis.append(self.column(Packed(k, counts)))
            diagonal.append(1.0 / times)
            amount.append(want / times)
        for k in self.limited:
            self.basis.append(_Column("slack", ((self.row_of[k], 1.0),), 0.0))
            diagonal.append(1.0)
            amount.append(float(instance.bins[k].limit or 0))
        self.inverse = [[diagonal[i] if i == j else 0.0 for j in range(self.n)] for i in range(self.n)]
        self.amount = amount
        self.duals = [c.cost * d for c, d in zip(self.basis, diagonal, strict=True)]
        self.pivots = 0

    def column(self, packed: Packed) -> _Column:
        """A filling as a column."""
        rows = [(j, float(c)) for j, c in enumerate(packed.counts) if c]
        if packed.bin in self.row_of:
            rows.append((self.row_of[packed.bin], 1.0))
        return _Column("filling", tuple(rows), float(self.instance.bins[packed.bin].weight), packed)

    def reduced(self, column: _Column) -> float:
        """What one unit of this column changes in cost."""
        return column.cost - sum(self.duals[i] * a for i, a in column.rows)

    def enter(self, column: _Column) -> bool:
        """One pivot; False where the column brings nothing (all ratios open)."""
        gain = self.reduced(column)
        direction = [sum(row[i] * a for i, a in column.rows) for row in self.inverse]
        leave, ratio = -1, 0.0
        for i, d in enumerate(direction):
            if d > _TINY:
                here = max(self.amount[i], 0.0) / d
                if leave < 0 or here < ratio - 1e-12 or (here <= ratio + 1e-12 and d > direction[leave]):
                    leave, ratio = i, here
        if leave < 0:
            return False
        pivot = direction[leave]
        row = [x / pivot for x in self.inverse[leave]]
        self.inverse[leave] = row
        step = self.amount[leave] / pivot
        for i, d in enumerate(direction):
            if i != leave and abs(d) > 1e-12:
                self.inverse[i] = [x - d * r for x, r in zip(self.inverse[i], row, strict=True)]
                self.amount[i] -= d * step
        self.amount[leave] = step
        self.duals = [y + gain * r for y, r in zip(self.duals, row, strict=True)]
        self.basis[leave] = column
        self.pivots += 1
        return True


def relax(instance: Instance, pool: dict[Packed, None], stop_at: int | None = None) -> Relaxed:
    """Solve to the optimum, or until the safe bound reaches `stop_at` or the pivots run out (then the bound is still
    safe). New fillings are added to `pool`. Needs an endless bin for every size."""
    tableau = Tableau(instance)
    m, limits = tableau.m, instance.demand
    ready = [tableau.column(p) for p in pool if _proper(p, instance)]
    extras = [_Column("surplus", ((j, -1.0),), 0.0) for j in range(m)]
    extras += [_Column("slack", ((tableau.row_of[k], 1.0),), 0.0) for k in tableau.limited]
    eps = 1e-7 * max(b.weight for b in instance.bins)
    most = 60 * tableau.n + 400
    bound = priced = 0
    while tableau.pivots < most:
        best = min((*extras, *ready), key=tableau.reduced, default=None)
        if best is not None and tableau.reduced(best) < -eps:
            if not tableau.enter(best):
                break
            continue
        fresh, safe = _price(tableau, limits)
        priced += 1
        bound = max(bound, safe)
        if not fresh or (stop_at is not None and bound >= stop_at):
            break
        for packed in fresh:
            pool[packed] = None
            ready.append(tableau.column(packed))
        before = tableau.pivots
        for column in ready[-len(fresh) :]:
            if tableau.reduced(column) < -eps:
                tableau.enter(column)
        if tableau.pivots == before:
            break
    value = sum(c.cost * a for c, a in zip(tableau.basis, tableau.amount, strict=True))
    used = tuple(
        (a, c.packed) for c, a in zip(tableau.basis, tableau.amount, strict=True) if c.packed is not None and a > 1e-7
    )
    return Relaxed(bound, value, used, tableau.pivots, priced)


def _price(tableau: Tableau, limits: Counts) -> tuple[list[Packed], int]:
    """Fillings that pay, and the safe bound that these duals prove."""
    instance = tableau.instance
    heavy = max(b.weight for b in instance.bins)
    scale = _SCALE / heavy
    values = [max(0, int(y * scale)) for y in tableau.duals[: tableau.m]]
    fresh: list[Packed] = []
    uppers: list[int] = []
    for k, b in enumerate(instance.bins):
        filling = best_filling(values, instance.sizes, limits, b.cap)
        uppers.append(filling.upper)
        if b.limit == 0:
            continue
        packed = Packed(k, filling.counts)
        if any(filling.counts) and tableau.reduced(tableau.column(packed)) < -1e-7 * heavy:
            fresh.append(packed)
    return fresh, bound_by_values(instance, values, uppers)


def _proper(packed: Packed, instance: Instance) -> bool:
    b = instance.bins[packed.bin]
    return b.limit != 0 and all(c <= d for c, d in zip(packed.counts, instance.demand, strict=True))
