"""Random runs longer than a stick: where a coupling is nearer than a hand's width to a bend, or a piece is short, no
split without one exists, by a brute force over a grid of places; and a finding says it with its figure.

`python evidence/evidence_couplings.py [--count N] [--seed N]`. The brute force shares no code with the program: it
reads the plan's JSON and the table of fittings. Exit code 1 on any miss, and where too few runs are met that have to
have one.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
from collections import Counter
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import msgspec

from held import Held
from racewright.errors import InputError, LimitError
from racewright.geometry.chain import Turn, corners_to_turns
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.sequence.order import can_be_bent
from racewright.sticks.search import own_bends
from racewright.store.survey_file import survey_from_text
from racewright.tools.benders import BenderProfile

DATA = Path(__file__).parents[1] / "src" / "racewright" / "catalogue" / "data"
#: A hand's width, and the shortest piece without need (docs/sticks.md).
HAND_MM, SHORT_MM = 100.0, 300.0
STEP_MM = 20.0
#: So many sticks more are cheaper than one coupling close to a bend, or one short piece (weights of docs/sticks.md).
MORE_STICKS = 3
ENDS = {"EMT 1/2": "set-screw", "EMT 3/4": "compression", "RMC 3/4": "hub", "PVC-40 1": "socket", "EMT 1": "set-screw"}

Arc = tuple[float, float]


def survey_text(draw: Random) -> str:
    """A run of legs and turns, many of them short."""
    raceway = draw.choice(tuple(ENDS))
    end = ENDS[raceway]
    lines = ["units: mm", "run:", "  name: packing shed feed", f"  raceway: {raceway}"]
    if raceway.startswith(("RMC", "PVC")):
        lines.append(f"  bend_radius: {draw.randint(140, 320)}")
    lines += [f"  start: {{fitting: {end}}}", f"  end: {{fitting: {end}}}", "  walk:"]
    kind = draw.choice(("plain", "plain", "crowded", "stairs"))
    legs = draw.randint(2, 5) if kind == "plain" else draw.randint(9, 16)
    for k in range(legs):
        # stairs: the grip between two bends, and no room for a hand's width on both sides of a coupling
        span = draw.choice(((420, 900), (900, 2400), (2400, 5200)))
        span = span if kind == "plain" else (290, 420) if kind == "crowded" else (300, 330)
        lines.append(f"    - {{leg: {draw.randint(*span)}}}")
        way = ("left", "right")[k % 2] if kind == "stairs" else draw.choice(("left", "right"))
        angle = 45 if kind == "stairs" else draw.choice((30, 45, 90, 90))
        if k < legs - 1:
            lines.append(f"    - {{turn: {way}, angle: {angle}}}")
    return "\n".join(lines) + "\n"


@cache
def coupling_mm(kind: str, raceway: str) -> tuple[float, float]:
    """A coupling's length, and what it leaves between the two ends in it, from the table of fittings."""
    family, _, size = raceway.partition(" ")
    with (DATA / "fittings.csv").open(newline="", encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        (row,) = [r for r in rows if (r["kind"], r["raceway_type"], r["trade_size"]) == (kind, family, size)]
    long = float(row["length_in"]) * 25.4
    return long, max(0.0, long - 2 * 25.4 * float(row["insertion_in"]))


class Run:
    """What the brute force knows of a run: its length, its arcs, the longest stick, and what a bend needs."""

    def __init__(self, plan: dict[str, Any], bend_turns: Sequence[Turn], bender: BenderProfile | None) -> None:
        self.length = plan["developed_length_mm"]
        self.arcs: list[Arc] = [
            (p["run_start_mm"] + b["arc_start_mm"], p["run_start_mm"] + b["arc_end_mm"])
            for p in plan["pieces"]
            for b in p["bends"]
        ]
        self.couplings = [j for j in plan["joints"] if j["before"] and j["after"]]
        self.stick = max(p["stock_mm"] for p in plan["pieces"])
        kinds = [j["kind"] for j in self.couplings if j["kind"].endswith("coupling") and j["kind"] != "slip coupling"]
        long, self.gap = coupling_mm(kinds[0], plan["raceway"]) if kinds else (None, 0.0)
        self.half = None if long is None else 0.5 * long
        self.known: dict[tuple[float, float], bool] = {}
        self.turns, self.shoe = bend_turns, bender
        self.outside = plan["pieces"][0]["outside_diameter_mm"]
        shoe = plan["bender"]
        self.hook = shoe["arrow_lead_mm"] + shoe["hook_reach_mm"] if shoe else 0.0
        self.grip = shoe["grip_mm"] if shoe else 0.0

    def clear(self, place: float) -> float:
        """Straight between a coupling there and the nearest bend."""
        assert self.half is not None
        return min((max(a - place, place - b) for a, b in self.arcs), default=self.length) - self.half

    def bent(self, low: float, high: float) -> bool:
        """Whether every bend of the piece finds its hook and its grip in some order: taken off again one by one."""
        left = [arc for arc in self.arcs if low <= arc[0] < high]
        while left:
            for k, (a, b) in enumerate(left):
                before = a - (left[k - 1][1] if k else low)
                after = (left[k + 1][0] if k + 1 < len(left) else high) - b
                if max(before, after) >= self.grip and min(before, after) >= self.hook:
                    del left[k]
                    break
            else:
                return False
        return self.clears(low, high)

    def clears(self, low: float, high: float) -> bool:
        """Whether the piece clears floor, bender and itself in some order: the order search's word, which has a brute
        force of its own."""
        if (low, high) not in self.known:
            inside = [t for t in self.turns if low <= t.arc_start_mm < high]
            bends = own_bends(inside, low)[0]
            self.known[low, high] = self.shoe is None or can_be_bent(bends, high - low, self.outside, self.shoe) is True
        return self.known[low, high]

    def fewest(self) -> int | None:
        """Pieces of the shortest split whose couplings are all well placed and no piece short, on the grid."""
        edges = [
            place for a, b in self.arcs for place in (a - HAND_MM - (self.half or 0), b + HAND_MM + (self.half or 0))
        ]
        grid = {STEP_MM * k for k in range(1, int(self.length / STEP_MM))} | {round(e, 6) for e in edges}
        short = SHORT_MM + 0.5 * self.gap
        grid |= {short, self.length - short}
        good = [0.0, *sorted(c for c in grid if short <= c <= self.length - short and self.clear(c) >= HAND_MM - 1e-6)]
        good.append(self.length)
        best: list[int | None] = [0, *[None] * (len(good) - 1)]
        for k, low in enumerate(good):
            so_far = best[k]
            if so_far is None:
                continue
            for j in range(k + 1, len(good)):
                cut = good[j] - low - 0.5 * self.gap * ((k > 0) + (j < len(good) - 1))
                if cut > self.stick:
                    break
                if cut >= SHORT_MM - 1e-6 and (best[j] or 99) > so_far + 1 and self.bent(low, good[j]):
                    best[j] = so_far + 1
        return best[-1]


def hold_run(held: Held, whole: Plan, met: Counter[str]) -> None:
    """The plan's couplings and pieces, and what its findings say of them."""
    plan = json.loads(msgspec.json.encode(whole))
    bender = whole.shoe if whole.bender else None
    turns = corners_to_turns(whole.corners_mm, bender.radius_mm).turns if bender else ()
    run = Run(plan, turns, bender)
    if run.half is None or len(run.couplings) + 1 != len(plan["pieces"]):
        return
    met["longer than a stick"] += 1
    rules = Counter(f["rule"] for f in plan["findings"])
    close = [j["at_mm"] for j in run.couplings if run.clear(j["at_mm"]) < HAND_MM - 1e-3]
    cuts = [p["cut_length_mm"] for p in plan["pieces"]]
    short = [cut for cut in cuts if cut < SHORT_MM - 1e-3]
    held.true("close couplings are said", (rules["run.coupling"] > 0) == bool(close), f"{close}")
    held.true("short pieces are said", rules["run.short_piece"] == len(short), f"{short}")
    if not close and not short:
        return
    met["close or short"] += 1
    fewest = run.fewest()
    more = None if fewest is None else fewest - len(plan["pieces"])
    held.true("no better split", more is None or more > MORE_STICKS, f"{close} {short}: one of {fewest} pieces does")


def hold_seeds(first: int, count: int, held: Held, met: Counter[str]) -> None:
    """So many random runs."""
    for seed in range(first, first + count):
        try:
            plan = plan_run(survey_from_text(survey_text(Random(seed))).survey)
        except (InputError, LimitError):
            met["refused"] += 1
            continue
        if any(f.rule == "run.sticks" for f in plan.findings):
            met["no split"] += 1
            continue
        before = len(held.misses)
        hold_run(held, plan, met)
        held.misses[before:] = [f"run {seed}: {miss}" for miss in held.misses[before:]]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=600, help="runs to write")
    parser.add_argument("--seed", type=int, default=0, help="the first run's number")
    asked = parser.parse_args()
    held, met = Held(), Counter[str]()
    hold_seeds(asked.seed, asked.count, held, met)
    for word, times in sorted(met.items()):
        print(f"  {times:5}  {word}")
    enough = met["close or short"] >= asked.count // 100
    if not enough:
        print("met too seldom: close or short")
    print(f"misses: {len(held.misses)}")
    print(*(f"  {miss}" for miss in held.misses[:25]), sep="\n")
    return 0 if enough and not held.misses else 1


if __name__ == "__main__":
    sys.exit(main())
