"""Random cut lists against the optimum of HiGHS (an outside solver), on all fillings written out: another model than
either our search or our proof uses."""

from __future__ import annotations

import random
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

import msgspec
import pytest

from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_instance import Bin, cheap_bound, make_instance, relax
from racewright.takeoff.cutting_model import CutRules, to_steps
from racewright.takeoff.proof import prove

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
from cutting_factory import SIXTEENTH_MM, assert_can_be_cut, sixteenths

pytestmark = pytest.mark.oracle


def _fillings(sizes: list[int], limits: list[int], cap: int) -> Iterator[tuple[int, ...]]:
    if not sizes:
        yield ()
        return
    for n in range(min(limits[0], cap // sizes[0]) + 1):
        for rest in _fillings(sizes[1:], limits[1:], cap - n * sizes[0]):
            yield (n, *rest)


def optimum(sizes: list[int], demand: list[int], bins: list[tuple[int, int, int | None]]) -> int:
    """Least weight over all fillings, each limited bin at most its count."""
    highspy: Any = pytest.importorskip("highspy")
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("mip_rel_gap", 0.0)
    for want in demand:
        solver.addRow(float(want), highspy.kHighsInf, 0, [], [])
    for _, _, limit in bins:
        solver.addRow(-highspy.kHighsInf, highspy.kHighsInf if limit is None else float(limit), 0, [], [])
    for k, (cap, weight, _) in enumerate(bins):
        for counts in _fillings(sizes, demand, cap):
            if any(counts):
                rows = [j for j, c in enumerate(counts) if c] + [len(demand) + k]
                values = [float(c) for c in counts if c] + [1.0]
                solver.addCol(float(weight), 0.0, float(sum(demand)), len(rows), rows, values)
    n = solver.getNumCol()
    solver.changeColsIntegrality(n, list(range(n)), [highspy.HighsVarType.kInteger] * n)
    solver.run()
    assert solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    value: float = solver.getInfo().objective_function_value
    return round(value)


@pytest.mark.parametrize("seed", range(30))
def test_search_finds_the_optimum_and_bounds_stay_below(seed: int) -> None:
    rng = random.Random(seed)
    types = rng.randint(2, 8)
    lengths = [n for n in rng.sample(range(200, 1900), types) for _ in range(rng.randint(1, 6))]
    offcuts = [rng.randint(200, 1900) for _ in range(rng.choice([0, 0, 2, 4]))]
    stock = rng.choice([[1920], [1920, 2880]])
    objectives: list[Literal["sticks", "length"]] = ["sticks", "length"]
    least = rng.choice(objectives)
    rules = CutRules(
        stock_mm=tuple(s * SIXTEENTH_MM for s in stock),
        offcuts_mm=tuple(n * SIXTEENTH_MM for n in offcuts),
        kerf_mm=SIXTEENTH_MM,
        least=least,
    )
    pieces = sixteenths(lengths)
    plan = cut_list(pieces, rules)
    assert_can_be_cut(pieces, plan)
    keys = sorted(set(lengths), reverse=True)
    bins: list[tuple[int, int, int | None]] = [(s + 1, s if least == "length" else 1, None) for s in stock]
    bins += [(n + 1, 0, 1) for n in offcuts]
    best = optimum([k + 1 for k in keys], [lengths.count(k) for k in keys], bins)
    if least == "sticks":
        assert plan.new_sticks == best
        assert plan.least_sticks <= best
    else:
        assert to_steps(plan.new_length_mm) == to_steps(best * SIXTEENTH_MM)
        assert plan.least_length_mm <= best * SIXTEENTH_MM + 1e-6
    # Our proof, from no bound at all, must prove the same.
    bare = msgspec.structs.replace(plan, proved=False, least_sticks=0, least_length_mm=0.0)
    assert prove(bare).proved


def test_the_solver_says_nothing_where_results_belong() -> None:
    pytest.importorskip("highspy")
    code = (
        "from racewright.takeoff.cutting_instance import Bin, make_instance\n"
        "from racewright.takeoff.proof import least_weight\n"
        "print(least_weight(make_instance([5, 5, 4], [Bin(9, 1, None)])[0]))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "2\n"


@pytest.mark.parametrize("seed", range(20))
def test_every_bound_is_at_most_the_optimum(seed: int) -> None:
    rng = random.Random(1000 + seed)
    sizes = sorted(rng.sample(range(10, 100), rng.randint(2, 7)), reverse=True)
    demand = [rng.randint(1, 9) for _ in sizes]
    bins = [Bin(100, 1, None)] + [Bin(rng.randint(30, 99), 0, rng.randint(1, 2)) for _ in range(rng.randint(0, 2))]
    instance, measure = make_instance([s for s, d in zip(sizes, demand, strict=True) for _ in range(d)], bins)
    best = optimum(sizes, demand, [(b.cap, b.weight, b.limit) for b in bins])
    assert measure >= 1
    assert cheap_bound(instance) <= best
    assert relax(instance, {}).bound <= best
