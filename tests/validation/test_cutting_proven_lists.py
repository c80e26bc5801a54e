"""Cut lists at job size with proven optima, made for this project (data/cutting): three proven by a column-generation
bound equal to a whole solution (HiGHS 1.16), one by construction without waste."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_model import CutRules

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
from cutting_factory import SIXTEENTH_MM, assert_can_be_cut, sixteenths

LISTS = sorted((Path(__file__).parent / "data" / "cutting").glob("*.json"))


def test_all_four_lists_are_there() -> None:
    assert len(LISTS) == 4


@pytest.mark.parametrize("path", LISTS, ids=[p.stem for p in LISTS])
def test_solved_to_the_proven_optimum(path: Path) -> None:
    data = json.loads(path.read_text(encoding="utf-8"))
    # The lists hold a saw cut of 1/16 in each piece and in the stock, or none at all ('no kerf').
    kerf = 0 if "no kerf" in data["unit"] else 1
    pieces = sixteenths([size - kerf for size, count in data["items"] for _ in range(count)])
    rules = CutRules(stock_mm=((data["stock"] - kerf) * SIXTEENTH_MM,), kerf_mm=kerf * SIXTEENTH_MM)
    plan = cut_list(pieces, rules)
    assert_can_be_cut(pieces, plan)
    assert plan.new_sticks == data["optimum"]
    assert plan.least_sticks == data["optimum"]
    assert plan.proved
