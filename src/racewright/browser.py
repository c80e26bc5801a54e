"""The way in from a browser's Python: one function, JSON text in and out."""

from __future__ import annotations

import random

from racewright.operations.answer import ask_json as _ask_json
from racewright.operations.common import MOST_OWN_RUNS, Known
from racewright.operations.operations import OPERATIONS

#: Nobody else waits for a browser's own engine; a person can end it.
_KNOWN = Known(most_runs=MOST_OWN_RUNS)


def ask_json(operation: str, request_json: str) -> str:
    """Answer one question. Never raises: troubles come back as {"error": {...}}."""
    return _ask_json(operation, request_json, _KNOWN)


def warm_up() -> str:
    """Load what the first plan needs, so that the first question is answered at once; returns the answer to a question.
    Called once more where the memory of an engine that was warm is put back: the answer has to be the same."""
    random.seed()  # a memory that is put back brings the state of its own along
    told = _ask_json("catalogue", "{}")
    for operation in ("plan", "sketch"):
        _ = OPERATIONS[operation].work_out
    return told
