"""What the shoe or the tape does wrong, as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from racewright.operations.diagnose import DiagnoseAnswer


def diagnose_text(answer: DiagnoseAnswer) -> str:
    """The causes as a table and in words, and how far the readings tell them."""
    lines = [f"From {len(answer.pieces)} finished pieces and {answer.readings} readings:"]
    lines += [f"  {name}" for name in answer.pieces]
    lines += ["", f"  {'cause':<20}{'found':<16}standard error"]
    lines += [f"  {told.cause:<20}{told.found:<16}{told.give_or_take}" for told in answer.causes]
    lines += ["", *(f"- {told.words}" for told in answer.causes), "", *answer.words]
    return "\n".join([*lines, "(`racewright bender calibrate` makes a profile of test bends)"])
