"""PVC runs outdoors, at random: each part between two pistons is held fast at one place, and each piston has the travel
for what grows between its anchors. The walk lives in `evidence/` and shares no code with the program."""

from __future__ import annotations

import json
from random import Random
from typing import Any

import msgspec
import pytest

from anchor_facts import hold_anchors
from held import Held
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text
from strap_facts import hold_apart

RUNS, EACH = 72, 18
FOOT = 304.8


def written(rng: Random) -> tuple[str, tuple[bool, bool], float, float]:
    """A run, whether its ends are boxes, the year's swing (F) and the share of it that lies below the day."""
    low, high = rng.randint(-20, 40), rng.randint(70, 115)
    day, sun = rng.randint(low, high), rng.random() < 0.5
    swing = high - low + (30 if sun else 0)
    ends = [rng.choice(("socket", "socket", "socket", "none", "socket coupling")) for _ in "AB"]
    travel = rng.choice(("", "", ", travel: 2", ", travel: 6"))
    legs = rng.choice((1, 1, 2, 2, 3))
    lines = []
    for leg in range(legs):
        inches = rng.choice((rng.randint(24, 60), rng.randint(60, 400), rng.randint(300, 1500)))
        lines.append(_leg(rng, inches, leg == 0, leg == legs - 1))
        if leg < legs - 1:
            lines.append(f"    - turn: {rng.choice(('left', 'right'))}")
    surface = rng.choice(("wall", "ceiling"))
    text = (
        f"run:\n  name: cold store feed\n  raceway: PVC-{rng.choice((40, 80))} {rng.choice(('3/4', '1', '1-1/4'))}\n"
        f"  bend_radius: 9\n  surface: {surface}\n"
        f"  climate: {{lowest: {low} F, highest: {high} F, install: {day} F, sun: {str(sun).lower()}{travel}}}\n"
        f"  start: {{fitting: {ends[0]}}}\n  end: {{fitting: {ends[1]}}}\n  walk:\n" + "\n".join(lines) + "\n"
    )
    return text, (ends[0] == "socket", ends[1] == "socket"), float(swing), (day - low) / swing


def _leg(rng: Random, inches: int, first: bool, last: bool) -> str:
    """A leg, one in three with a saddle or an offset, after which the conduit lies off its surface."""
    rows = [f"    - leg: {inches}", *(() if first else ("from: back",)), *(() if last else ("to: back",))]
    at, rise = rng.randint(48, max(48, inches - 48)), rng.randint(3, 6)
    shape = rng.choice(("", "", "", "", "saddle", "saddle", "offset"))
    if inches > 110 and shape:
        rows.append("features:")
    if inches > 110 and shape == "saddle":
        rows.append(f"  - saddle: {{name: drain, center: {at}, over: square, height: {rise}, width: 4}}")
    elif inches > 110 and shape == "offset":
        rows.append(f"  - offset: {{name: sill, rise: {rise}, starts_at: {at}, angle: 30}}")
    return "\n      ".join(rows)


def plan_of(text: str) -> dict[str, Any]:
    plan: dict[str, Any] = json.loads(msgspec.json.encode(plan_run(survey_from_text(text).survey)))
    return plan


@pytest.mark.parametrize("first", range(0, RUNS, EACH))
def test_each_part_is_held_at_one_place(first: int) -> None:
    held, parts = Held(), 0
    for seed in range(first, first + EACH):
        text, boxes, swing, grown = written(Random(seed))
        plan = plan_of(text)
        parts += hold_anchors(held, plan, boxes, swing, grown)
        # NFPA 70-2023 352.30 and its table (figures): 3 ft up to 1 in, 5 ft from 1-1/4 in; 3 ft to a termination
        apart = (5.0 if "1-1/4" in text else 3.0) * FOOT
        limits = [apart if f"{end}: {{fitting: socket coupling}}" in text else 3.0 * FOOT for end in ("start", "end")]
        hold_apart(held, plan, limits, apart)
    assert held.misses == []
    assert parts > EACH


LONG = (
    "run:\n  name: cold store feed\n  raceway: PVC-40 1\n  bend_radius: 9\n"
    "  climate: {lowest: 0 F, highest: 100 F, install: 50 F}\n"
    "  start: {fitting: socket}\n  end: {fitting: socket}\n  walk:\n    - leg: 145 ft\n"
)


def misses(plan: dict[str, Any]) -> list[str]:
    held = Held()
    hold_anchors(held, plan, (True, True), 100.0, 0.5)
    return held.misses


def test_it_misses_a_tight_strap_too_many_one_too_few_and_a_barrel_side_that_is_strapped() -> None:
    plan = plan_of(LONG)
    assert misses(plan) == []
    checks = plan["checks"]
    guides, fast = list(checks["guides_mm"]), list(checks["fast_mm"])
    first = next(j["at_mm"] for j in plan["joints"] if j["how"] == "expands")
    checks["guides_mm"] = [s for s in guides if s > first]
    assert any("held once" in miss for miss in misses(plan))
    checks["guides_mm"] = [s for s in guides if s > first or s < 1000.0]
    assert any("held once" in miss for miss in misses(plan))
    checks["guides_mm"], checks["fast_mm"] = sorted(guides + fast), []
    assert any("that nothing holds" in miss for miss in misses(plan))


def test_it_misses_a_strap_on_another_that_nothing_asks_for() -> None:
    plan = plan_of(LONG)
    straps = plan["checks"]["straps_mm"]
    held = Held()
    hold_apart(held, plan, (3.0 * FOOT, 3.0 * FOOT), 3.0 * FOOT)
    assert held.misses == []
    straps.insert(6, straps[5] + 40.0)
    hold_apart(held, plan, (3.0 * FOOT, 3.0 * FOOT), 3.0 * FOOT)
    assert len(held.misses) > 0


def test_it_misses_a_share_and_a_setting_that_are_not_the_fittings_own() -> None:
    plan = plan_of(LONG)
    checks = plan["checks"]
    (fast,) = checks["fast_mm"]
    beside = max(s for s in checks["guides_mm"] if s < fast)
    checks["fast_mm"] = [beside]
    checks["guides_mm"] = sorted({*checks["guides_mm"], fast} - {beside})
    assert any("what a piston takes" in miss for miss in misses(plan))
    plan = plan_of(LONG)
    piston = next(j["piston"] for j in plan["joints"] if j["how"] == "expands")
    piston["most_mm"] += 3.0
    assert any("most_mm has room" in miss for miss in misses(plan))


def test_it_misses_a_strap_beside_what_moves_toward_it() -> None:
    plan = plan_of(LONG)
    first = next(j["at_mm"] for j in plan["joints"] if j["how"] == "expands")
    coupling = max(j["at_mm"] for j in plan["joints"] if j["before"] and j["at_mm"] < first)
    straps = plan["checks"]["straps_mm"]
    beside = min(s for s in straps if s > coupling)
    # half the coupling, half the strap and as much again: room for a coupling that stays
    moved = coupling + 0.5 * 57.2 + 25.4 + 1.0
    assert moved < beside
    for of in ("straps_mm", "guides_mm"):
        plan["checks"][of] = [moved if s == beside else s for s in plan["checks"][of]]
    assert any("meets no strap" in miss for miss in misses(plan))
