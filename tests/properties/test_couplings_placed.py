"""Random runs longer than a stick: a fixed slice of evidence/evidence_couplings.py."""

from __future__ import annotations

from collections import Counter

from evidence_couplings import hold_seeds
from held import Held


def test_a_coupling_near_a_bend_and_a_short_piece_stand_only_where_nothing_else_does() -> None:
    held, met = Held(), Counter[str]()
    hold_seeds(0, 30, held, met)
    assert held.misses == []
    assert met["longer than a stick"] >= 12
    assert met["close or short"] >= 2
