"""A fixed slice of the random surveys of `evidence/evidence_surveys.py`: every word of the format, read from the JSON.

The reading of the survey, the kinematics and the checks live in `evidence/` and share no code with the program.
"""

import pytest

from evidence_surveys import Tally, hold_seed
from survey_writer import WINDING_EACH

FIRST, COUNT, EACH = 3064, 64, 8
#: Runs that wind, and may meet themselves.
WINDING = range(WINDING_EACH - 1, 14 * WINDING_EACH, WINDING_EACH)


@pytest.mark.parametrize("first", range(FIRST, FIRST + COUNT, EACH))
def test_each_plan_lies_where_the_tape_says(first: int) -> None:
    tally = Tally()
    for seed in range(first, first + EACH):
        hold_seed(tally, seed)
    assert tally.missed == []
    assert tally.planned >= EACH - 2, tally.refused


def test_a_run_that_meets_itself_says_so_and_no_other_does() -> None:
    tally = Tally()
    for seed in WINDING:
        hold_seed(tally, seed)
    assert tally.missed == []
    said = tally.words["meets itself, and said"]
    assert 3 <= said <= tally.planned - 3
