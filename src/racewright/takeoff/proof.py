"""The exact proof of a cut list by an outside solver. Needs highspy.

Notation: nodes 0 ... the largest capacity in whole steps; an arc p -> p + s cuts a piece of size s at p, and an
arc p -> bin k ends a stick of kind k at p <= capacity k. A cut list is a flow from 0 whose arcs of
each size add up to the demand; the weights of the sticks ended are what it costs (Valerio de Carvalho, Annals of
Operations Research 86, 1999; from memory). Sizes go down along a path, so that no list is counted twice.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from importlib import import_module
from typing import Any

import msgspec

from racewright.budget import CUT_PROOF_ARCS
from racewright.errors import LimitError, MissingExtra
from racewright.takeoff.cutting import instance_of
from racewright.takeoff.cutting_instance import Instance, round_up
from racewright.takeoff.cutting_model import CutPlan, to_mm, to_steps


def prove(plan: CutPlan, *, seconds: float = 60.0) -> CutPlan:
    """The same cut list with the bound that the solver proves (never below the one it had).

    Raises MissingExtra when highspy is not installed, LimitError where the list is too fine for it.
    """
    if plan.proved:
        return plan
    bound = least_weight(instance_of(plan), seconds=seconds)
    if plan.rules.least == "length":
        least = max(bound, to_steps(plan.least_length_mm))
        return msgspec.structs.replace(plan, least_length_mm=to_mm(least), proved=to_steps(plan.new_length_mm) <= least)
    least = max(bound, plan.least_sticks)
    return msgspec.structs.replace(plan, least_sticks=least, proved=plan.new_sticks <= least)


def least_weight(instance: Instance, *, seconds: float = 60.0) -> int:
    """What no plan can undercut, by HiGHS: its dual bound, rounded up to whole weights with 1e-6 to spare."""
    try:
        highspy: Any = import_module("highspy")
    except ImportError as error:
        raise MissingExtra("the exact proof", "proof") from error
    arcs, nodes = _arcs(instance)
    with _banner_to_stderr():
        highs: Any = highspy.Highs()
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("time_limit", float(seconds))
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("mip_abs_gap", 0.5)
    inf = highspy.kHighsInf
    row_of = {node: i for i, node in enumerate(sorted(nodes - {0}))}
    first_size = len(row_of)
    total = sum(instance.demand)
    for _ in row_of:
        highs.addRow(0.0, 0.0, 0, [], [])
    for want in instance.demand:
        highs.addRow(float(want), inf, 0, [], [])
    limits = {k: first_size + len(instance.demand) + i for i, k in enumerate(_limited(instance))}
    for k in limits:
        highs.addRow(-inf, float(instance.bins[k].limit or 0), 0, [], [])
    for start, end, size in arcs:
        entries = [(row_of[end], 1.0), (first_size + size, 1.0)]
        if start:
            entries.append((row_of[start], -1.0))
        rows, values = zip(*sorted(entries), strict=True)
        highs.addCol(0.0, 0.0, float(instance.demand[size]), len(rows), list(rows), list(values))
    for node in row_of:
        for k, b in enumerate(instance.bins):
            if node <= b.cap and b.limit != 0:
                entries = [(row_of[node], -1.0)] + ([(limits[k], 1.0)] if k in limits else [])
                rows, values = zip(*sorted(entries), strict=True)
                highs.addCol(float(b.weight), 0.0, float(total), len(rows), list(rows), list(values))
    columns = highs.getNumCol()
    highs.changeColsIntegrality(columns, list(range(columns)), [highspy.HighsVarType.kInteger] * columns)
    highs.run()
    return _round_bound(instance, float(highs.getInfo().mip_dual_bound))


@contextmanager
def _banner_to_stderr() -> Iterator[None]:
    """The solver prints its name where results belong, from below Python: send that to stderr."""
    sys.stdout.flush()
    saved = os.dup(1)
    try:
        os.dup2(2, 1)
        yield
    finally:
        os.dup2(saved, 1)
        os.close(saved)


def _round_bound(instance: Instance, bound: float) -> int:
    if not bound < 1e15 or bound <= 0:
        return 0
    return round_up(instance, Fraction(bound) - Fraction(1, 1_000_000) * max(1, int(bound)))


def _limited(instance: Instance) -> list[int]:
    return [k for k, b in enumerate(instance.bins) if b.limit is not None]


def _arcs(instance: Instance) -> tuple[list[tuple[int, int, int]], set[int]]:
    """Arcs (from, to, size index) over the places that pieces in falling order can reach."""
    most = max(b.cap for b in instance.bins)
    reached = {0}
    arcs: list[tuple[int, int, int]] = []
    for j, (size, want) in enumerate(zip(instance.sizes, instance.demand, strict=True)):
        layer: dict[int, int] = dict.fromkeys(reached, 0)
        for start in sorted(reached):
            at, times = start, layer[start]
            while times < want and at + size <= most:
                new = at + size
                if layer.get(new, want + 1) <= times + 1 and new in layer:
                    arcs.append((at, new, j))
                    break
                arcs.append((at, new, j))
                layer[new] = times + 1
                at, times = new, times + 1
            if len(arcs) > CUT_PROOF_ARCS:
                raise LimitError(
                    f"the exact proof has more than {CUT_PROOF_ARCS} steps for this list.",
                    hint="round the lengths to the tape, or prove one raceway at a time",
                    quantity="steps of the proof",
                    asked=float(len(arcs)),
                    limit=float(CUT_PROOF_ARCS),
                    unit="steps",
                )
        reached |= set(layer)
    return sorted(set(arcs)), reached
