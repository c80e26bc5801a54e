"""Whole cards as a person reads them: our own past output, kept as text so that a change shows in a diff.

Read the diff as at the bench. Where the card is better for it, renew the texts on purpose and commit them:

    PYTHONPATH=src python tests/regression/test_cards_as_read.py
"""

from __future__ import annotations

from difflib import unified_diff
from pathlib import Path

import pytest

from racewright.cards.text.bend_card import text_card
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file

HERE = Path(__file__).parent / "cards"
EXAMPLES = Path(__file__).parents[2] / "examples"
CARDS = [
    EXAMPLES / "pump-house-kick.yaml",
    EXAMPLES / "workshop-bench-u.yaml",
    EXAMPLES / "workshop-rigid-corner.yaml",
    EXAMPLES / "packing-shed-long-run.yaml",
    HERE / "pump-house-cut-after.yaml",
    HERE / "packing-shed-fence-pvc.yaml",
]


def card(survey: Path) -> str:
    return text_card(plan_run(read_survey_file(survey).survey))


def kept(survey: Path) -> Path:
    return HERE / f"{survey.stem}.txt"


@pytest.mark.parametrize("survey", CARDS, ids=lambda path: path.stem)
def test_the_card_reads_as_it_was_last_read(survey: Path) -> None:
    was, now = kept(survey).read_text(encoding="utf-8"), card(survey)
    diff = "\n".join(unified_diff(was.splitlines(), now.splitlines(), "as kept", "as it is now", lineterm=""))
    assert now == was, f"{diff}\n{__doc__}"


if __name__ == "__main__":
    for path in CARDS:
        kept(path).write_text(card(path), encoding="utf-8")
