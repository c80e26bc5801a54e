"""Cut lists for tests: pieces from sixteenths of an inch, and the check that a plan can really be cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from racewright.takeoff.cutting_instance import Instance, Packed, size_of
from racewright.takeoff.cutting_model import CutPlan, CutRules, WantedPiece, to_steps

SIXTEENTH_MM = 25.4 / 16


def sixteenths(lengths: Iterable[int]) -> list[WantedPiece]:
    return [WantedPiece(label=f"p{i}", length_mm=n * SIXTEENTH_MM, run=f"R{i % 3}") for i, n in enumerate(lengths, 1)]


def inches(*lengths: float) -> list[WantedPiece]:
    return [WantedPiece(label=f"p{i}", length_mm=n * 25.4) for i, n in enumerate(lengths, 1)]


def rules(**changes: object) -> CutRules:
    return CutRules(**changes)  # type: ignore[arg-type]


def is_whole(instance: Instance, packed: Sequence[Packed]) -> bool:
    """Every piece once, no stick overfull, no bin used more often than it is there."""
    made = [0] * len(instance.sizes)
    used: Counter[int] = Counter()
    for p in packed:
        used[p.bin] += 1
        if size_of(instance, p.counts) > instance.bins[p.bin].cap:
            return False
        for j, c in enumerate(p.counts):
            made[j] += c
    limits = [b.limit for b in instance.bins]
    return tuple(made) == instance.demand and all(limit is None or used[k] <= limit for k, limit in enumerate(limits))


def assert_can_be_cut(pieces: list[WantedPiece], plan: CutPlan) -> None:
    """Every piece once, no stick overfull with saw cuts counted, each offcut once, offcuts as said."""
    kerf = to_steps(plan.rules.kerf_mm)
    assert sorted(p.label for s in plan.sticks for p in s.pieces) == sorted(p.label for p in pieces)
    offcuts = [s.offcut for s in plan.sticks if s.offcut]
    assert len(set(offcuts)) == len(offcuts)
    assert set(plan.unused_offcuts) == set(range(1, len(plan.rules.offcuts_mm) + 1)) - set(offcuts)
    for stick in plan.sticks:
        assert stick.pieces
        if stick.offcut:
            assert stick.source_mm == plan.rules.offcuts_mm[stick.offcut - 1]
        else:
            assert stick.source_mm in plan.rules.stock_mm
        used = sum(to_steps(p.length_mm) for p in stick.pieces) + kerf * (len(stick.pieces) - 1)
        left = to_steps(stick.source_mm) - used
        assert left >= 0
        assert to_steps(stick.new_offcut_mm) == max(0, left - kerf)
        assert stick.kept == (stick.new_offcut_mm > 0 and stick.new_offcut_mm >= plan.rules.keep_mm)
    assert plan.new_sticks == sum(1 for s in plan.sticks if not s.offcut)
    assert plan.new_sticks >= plan.least_sticks
    assert plan.new_length_mm >= plan.least_length_mm - 1e-9
