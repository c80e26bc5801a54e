"""What is told to a person whose run cannot be bent does work: each piece of advice is written into the survey's own
data, and the run is read and planned anew from there."""

from __future__ import annotations

import random
import re
from collections import Counter
from copy import deepcopy
from typing import Any

import pytest

from racewright.errors import Finding, RacewrightError
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey

STUCK = ("bend.order", "run.sticks")
RACEWAYS = ("EMT 1/2", "EMT 3/4", "EMT 1", "RMC 3/4", "IMC 1")


def tight_run(seed: int) -> dict[str, Any]:
    """A run of the orchard's buildings with little straight between its bends."""
    rng = random.Random(seed)

    def inches(low: float, high: float) -> float:
        return round(rng.uniform(low, high) * 8.0) / 8.0

    walk: list[dict[str, Any]] = []
    count = rng.choice((1, 1, 2, 2, 3, 4))
    for k in range(count):
        if k:
            turn: dict[str, Any] = {"turn": rng.choice(("left", "right", "away"))}
            if rng.random() < 0.3:
                turn["angle"] = rng.choice((30, 45, 60))
            walk.append(turn)
        long = rng.random() < 0.2
        leg: dict[str, Any] = {"leg": inches(130.0, 320.0) if long else inches(15.0, 44.0)}
        met = rng.choice(("offset", "offset", "saddle", "kick", "", ""))
        at = inches(9.0, max(10.0, min(60.0, leg["leg"]) - 12.0))
        angle = {"angle": rng.choice((15, 22.5, 30, 45, 60))} if rng.random() < 0.6 else {}
        if met == "offset":
            aside = {rng.choice(("rise", "shift")): inches(1.5, 7.0)}
            leg["features"] = [{"offset": aside | {rng.choice(("starts_at", "middle_at", "done_by")): at} | angle}]
        elif met == "saddle":
            size = inches(1.0, 4.0)
            leg["features"] = [{"saddle": {"centre": at, "height": size, "width": size} | angle}]
        elif met == "kick" and k + 1 < count:
            leg["features"] = [{"kick": {"rise": inches(2.0, 5.0), "angle": angle.get("angle", 30)}}]
        walk.append(leg)
    run: dict[str, Any] = {"name": f"workshop, tight run {seed}", "raceway": rng.choice(RACEWAYS), "walk": walk}
    if rng.random() < 0.25:
        run["cut"] = "after"
    if run["raceway"].startswith(("RMC", "IMC")) and rng.random() < 0.5:
        run |= {"start": {"name": "gutter", "fitting": "threaded"}, "end": {"name": "motor", "fitting": "hub"}}
    return {"racewright": 1, "units": "in", "run": run}


def planned(data: dict[str, Any]) -> Plan:
    return plan_run(read_survey(survey_from_data(data)), choices=False)


def stuck(plan: Plan) -> list[Finding]:
    return [f for f in plan.findings if f.rule in STUCK and f.severity == "problem"]


def amiss(plan: Plan) -> Counter[str]:
    """Problems by their rules, and threads that the plan has cut where no die fits on."""
    return Counter(
        "no die" if f.rule == "assembly.thread" else f.rule
        for f in plan.findings
        if f.severity == "problem" or (f.rule == "assembly.thread" and f.severity == "caution")
    )


def made(plan: Plan) -> tuple[Any, ...]:
    """What the bench makes of a plan."""
    return tuple(
        (round(p.cut_length_mm), p.trim_after, p.bend_radius_mm, [(round(b.mark_mm), b.angle_deg) for b in p.bends])
        for p in plan.pieces
    )


def in_two(data: dict[str, Any], turn: int) -> list[dict[str, Any]]:
    """The runs before and behind a pull fitting in place of an entry of the walk."""
    before, behind = deepcopy(data), deepcopy(data)
    fitting = {"name": "pull fitting"}
    if "start" in data["run"]:
        fitting["fitting"] = data["run"]["start"]["fitting"]
    before["run"] |= {"walk": before["run"]["walk"][:turn], "end": fitting}
    behind["run"] |= {"walk": behind["run"]["walk"][turn + 1 :], "start": fitting}
    return [before, behind]


def written(data: dict[str, Any], advice: str) -> list[dict[str, Any]]:
    """The data of the survey, or of the runs that it becomes, with the fields of one piece of advice in it:
    'run.cut: after; run.stock: + 130"'."""
    if advice.endswith(": two runs"):
        return in_two(data, int(re.findall(r"\d+", advice)[0]))
    data = deepcopy(data)
    for part in advice.split("; "):
        path, _, value = part.partition(": ")
        steps = [int(number) if number else name for name, number in re.findall(r"(\w+)|\[(\d+)\]", path)]
        at: Any = data
        for step in steps[:-1]:
            at = at[step]
        if value.startswith("+ "):
            at[steps[-1]] = [*at.get(steps[-1], ["10 ft"]), value.removeprefix("+ ")]
        elif value:
            at[steps[-1]] = value
        else:
            del at[steps[-1]]
    return [data]


def check(data: dict[str, Any]) -> tuple[int, list[str]]:
    """How many problems of this run have advice, and the pieces of it that were tried."""
    tries: list[str] = []
    try:
        plan = planned(data)
    except RacewrightError:
        return 0, tries
    found = 0
    for finding in stuck(plan):
        found += 1
        told = [advice for name, advice in finding.values.items() if name.startswith("would work")]
        assert "What would work" in finding.message
        assert len(set(told)) == len(told) <= 3, finding.message
        assert finding.message.count("; or ") == max(0, len(told) - 1), finding.message
        before, plans = amiss(plan), []
        for advice in told:
            tries.append(advice)
            runs = [planned(one) for one in written(data, advice)]
            left = [f for run in runs for f in stuck(run)]
            assert len(left) < len(stuck(plan)), (data, finding.message, advice, [f.message for f in left])
            assert (finding.rule, finding.where) not in [(f.rule, f.where) for f in left]
            now = sum((amiss(run) for run in runs), Counter[str]())
            worse = {rule: n for rule, n in now.items() if rule not in STUCK and n > before[rule]}
            assert not worse, (data, finding.message, advice, worse)
            pieces = [p for run in runs for p in run.pieces]
            assert all(p.least_stock_mm <= p.stock_mm + 0.01 for p in pieces), (data, advice)
            if finding.rule == "bend.order" and "coupled" not in advice:
                assert len(pieces) <= len(plan.pieces), (data, finding.message, advice)
            shape = [made(run) for run in runs]
            assert shape not in plans, (data, finding.message)
            plans.append(shape)
    return found, tries


@pytest.mark.parametrize("first", [0, 60])
def test_what_is_told_works_when_it_is_written_into_the_survey(first: int) -> None:
    sums = [check(tight_run(seed)) for seed in range(first, first + 60)]
    assert sum(found for found, _ in sums) >= 8
    assert sum(len(tries) for _, tries in sums) >= 8


@pytest.mark.parametrize(
    ("seed", "kind"),
    [(103, "two runs"), (155, "two runs"), (1078, "run.stock: + "), (1035, "run.cut: after")],
)
def test_what_is_told_of_a_run_without_a_split_works_too(seed: int, kind: str) -> None:
    found, tries = check(tight_run(seed))
    assert found == 1
    assert any(kind in advice for advice in tries)
