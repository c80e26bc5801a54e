"""The cutting problem as a linear program over fillings, its fillings made as needed.

Notation: rows: one for each size (at least the demand), one for each bin that is limited (at most its count). Columns:
fillings of a bin, cost its weight; surplus; slack. y duals of sizes, g duals of limited bins (never above 0).
A filling a of bin k pays if w_k - g_k - y a < 0 (Gilmore and Gomory, Operations Research 9, 1961: the best filling
under the duals is a knapsack; from memory). The bound is never taken from floating point: see `cutting_bound`.
"""

from __future__ import annotations

from typing import NamedTuple

from racewright.takeoff.cutting_bound import bound_by_values
from racewright.takeoff.cutting_instance import Counts, Instance, Packed
from racewright.takeoff.cutting_knapsack import best_filling

#: Above so many sizes the tableau is too slow by hand; the cheap bounds and fillings must do.
MOST_SIZES = 150
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
