"""Our own past output: a printed practice sheet must find its key again under the same seed."""

from __future__ import annotations

import json

from racewright.operations.answer import ask_json


def test_own_past_first_problem_of_seed_1() -> None:
    """Our own past output: a printed sheet must find its key again."""
    problem = json.loads(ask_json("practice", json.dumps({"seed": 1, "count": 1})))["problems"][0]
    assert problem["given"] == [PAST_GIVEN]
    assert [r["text"] for r in problem["results"]] == PAST_RESULTS


PAST_GIVEN = "A 90: the stub at end A is 15 in to its back, the other leg is 24 3/8 in to its back."
PAST_RESULTS = ['10"', '36 3/4"']
