"""A fixed slice of the random half-bent pieces of `evidence/evidence_half_bent.py`: what new marks and corrections hit
is said, and what they say is hit is; a piece is scrap and has no marks, or its marks bring its end right. The
kinematics and the checks share no code with the program."""

import pytest

from evidence_half_bent import hold_half_bent
from evidence_surveys import Tally

FIRST, COUNT, EACH = 5010, 24, 6


@pytest.mark.parametrize("first", range(FIRST, FIRST + COUNT, EACH))
def test_no_hit_is_left_unsaid(first: int) -> None:
    tally = Tally()
    for seed in range(first, first + EACH):
        hold_half_bent(tally, seed)
    assert tally.missed == []
    assert tally.planned >= EACH - 3
    assert tally.words["serves"] + tally.words["scrap"] >= EACH - 3
    assert tally.counts["room told"] + tally.counts["wall"] > 0
