"""500 random runs of every raceway: each plan's assembly followed move by move by a fitter who knows joints.

`python evidence/evidence_assembly.py [--count N] [--seed N] [--show SEED]`. The fitter (assembly_facts.py) and its
kinematics (rebuilt.py) share no code with the program. Exit code 1 on any move that cannot be made, and where a kind
of move or joint is met too seldom.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from random import Random
from typing import Any

import msgspec

from assembly_facts import hold_assembly
from held import Held
from racewright.errors import InputError, LimitError
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

RACEWAYS = {"EMT": 3, "RMC": 4, "IMC": 3, "PVC-40": 3, "PVC-80": 2}
SIZES = ("1/2", "3/4", "1", "1-1/4")
ENDS = {
    "EMT": ("set-screw", "compression", "set-screw", "set-screw coupling", "none"),
    "RMC": ("threaded", "hub", "hub", "threaded coupling", "none"),
    "IMC": ("threaded", "hub", "hub", "threaded coupling", "none"),
    "PVC": ("socket", "socket", "socket", "socket coupling", "none"),
}
#: Ends that one push can serve.
PUSHED = {
    "EMT": ("set-screw", "compression"),
    "RMC": ("threaded", "set-screw"),
    "IMC": ("compression", "threaded"),
    "PVC": ("socket", "socket"),
}
#: Each of these is met in at least so many of a hundred runs.
MET = {
    "push": 10, "turn": 10, "cement": 10, "through": 2, "slide back": 10, "close": 10, "place": 3, "thread cut": 10,
    "thread own": 10, "union": 3, "slip coupling": 3, "several pieces": 30, "a bent piece turned in": 1,
    "expansion fitting": 4, "past the end that it faces": 5, "cannot be put up, and said": 1,
    "told to slide back": 1, "told to cut in two": 0.4, "sideways between what stands": 5,
    "one push for both ends": 2, "one push to two depths": 1,
    "held in place, for it hits what it would be pushed past": 2,
}  # fmt: skip


def write_run(seed: int, freed: tuple[bool, bool] = (False, False)) -> tuple[str, tuple[bool | None, bool | None]]:
    """The text of a random run, and what it says of its ends. `freed`: the ends that give way whatever it says."""
    rng = Random(seed)
    kind = rng.choices(list(RACEWAYS), list(RACEWAYS.values()))[0]
    size = rng.choice(SIZES)
    drawn = (rng.choice((None, None, True, True, False)), rng.choice((None, None, True, True, False)))
    fixed = (False if freed[0] else drawn[0], False if freed[1] else drawn[1])
    ends = []
    # between two ends that stay, and face the same way: one push, as deep as each end's own fitting takes it
    both = seed % 12 == 7 and True not in freed
    fixed = (True, True) if both else fixed
    for side, (name, stays) in enumerate(zip(("well house", "cold store"), fixed, strict=True)):
        fields = f"name: {name}, fitting: {PUSHED[kind[:3]][side] if both else rng.choice(ENDS[kind[:3]])}"
        fields += f", insertion: {'1 3/8' if seed % 24 == 7 else '5/8'}" if both and side else ""
        ends.append("{" + fields + ("" if stays is None else f", fixed: {str(stays).lower()}") + "}")
    stand_off = rng.choice(("0", "1/4", "7/8", "7/8", "30", "60"))
    lines = ["racewright: 1", "units: in", "run:", f"  name: irrigation run {seed}", f"  raceway: {kind} {size}"]
    if kind.startswith("PVC"):
        lines.append("  bend_radius: 9")
        if seed % 2:
            # its straights want expansion fittings; on a hot day their pistons give no room
            lines.append(f"  climate: {{lowest: -6 F, highest: 92 F, install: {(21, 55, 88)[seed // 2 % 3]} F}}")
    lines += [f"  stand_off: {stand_off}", f"  start: {ends[0]}", f"  end: {ends[1]}", "  walk:"]
    shape = "u" if both else rng.choice(("line", "line", "corner", "corner", "u", "z", "away"))
    ways = {"line": [], "corner": ["left"], "u": ["left", "left"], "z": ["left", "right"], "away": ["away"]}[shape]
    small = both or rng.random() < 0.7
    for number in range(len(ways) + 1):
        leg = rng.choice((30, 52, 95, 150, 260, 410)) + rng.randrange(16)
        leg = 20 + leg % 30 if shape == "u" and small else max(leg, 60) if ways else leg
        lines.append(f"    - leg: {leg}")
        if rng.random() < 0.2 and leg > 90:
            lines += [
                "      features:",
                f"        - saddle: {{name: pipe, over: round, height: 3, centre: {leg // 2}}}",
            ]
        elif rng.random() < 0.3 and leg > 75:
            rise = rng.choice((2, 4, 6))
            lines += ["      features:", f"        - offset: {{rise: {rise}, starts_at: 24, angle: 22.5}}"]
        if number < len(ways):
            lines.append(f"    - turn: {ways[number]}")
    return "\n".join(lines) + "\n", fixed


@dataclass
class Tally:
    """What all runs together showed."""

    planned: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    met: Counter[str] = field(default_factory=Counter)
    checks: int = 0
    misses: list[tuple[int, str]] = field(default_factory=list)


def hold_run(tally: Tally, seed: int) -> None:
    """One run, planned and put up."""
    text, fixed = write_run(seed)
    try:
        made = plan_run(survey_from_text(text).survey)
    except (InputError, LimitError) as error:
        tally.refused[error.message[:60]] += 1
        return
    plan: dict[str, Any] = json.loads(msgspec.json.encode(made))
    if any(f["rule"] == "run.sticks" for f in plan["findings"]):
        tally.refused["longer than a stick, and no split"] += 1
        return
    held = Held()
    held.words |= {plan["raceway"].split()[0]}
    held.words |= {j["kind"] for j in plan["joints"]} & {"union", "slip coupling"}
    held.words |= {"several pieces"} if len(plan["pieces"]) > 1 else set()
    hold_assembly(held, plan, fixed)
    for way in plan["assembly"]["ways_out"]:
        held.words.add(f"told to {way['what']}")
        if way["what"] == "slide back":
            ends = [plan["joints"][number - 1] for number in way["joints"]]
            freed = (any(j["before"] is None for j in ends), any(j["after"] is None for j in ends))
            again = plan_run(survey_from_text(write_run(seed, freed)[0]).survey)
            up = again.assembly is not None and again.assembly.possible
            held.true("assembly: way out", up, f"ends {freed} give way as told, and it does not go up")
    tally.planned += 1
    tally.met.update(held.words)
    tally.checks += sum(held.counts.values())
    tally.misses += [(seed, miss) for miss in held.misses]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=500, help="runs that must be planned")
    parser.add_argument("--seed", type=int, default=0, help="the first run's number")
    parser.add_argument("--show", type=int, help="print one run, follow it, and stop")
    asked = parser.parse_args()
    tally = Tally()
    if asked.show is not None:
        print(write_run(asked.show)[0])
        hold_run(tally, asked.show)
        print(*(miss for _, miss in tally.misses), *tally.refused, sep="\n")
        return 1 if tally.misses else 0
    begin, seed = time.perf_counter(), asked.seed
    while tally.planned < asked.count and seed < asked.seed + 2 * asked.count:
        hold_run(tally, seed)
        seed += 1
    print(f"{seed - asked.seed} runs written, {tally.planned} put up, {tally.checks} facts held,", end=" ")
    print(f"{sum(tally.refused.values())} refused, {time.perf_counter() - begin:.0f} s")
    for reason, times in tally.refused.most_common(5):
        print(f"  {times:5}  {reason}")
    for word, times in sorted(tally.met.items()):
        print(f"  {times:5}  {word}")
    rare = [word for word, least in MET.items() if 100 * tally.met[word] < least * tally.planned]
    if rare:
        print(f"met too seldom: {', '.join(rare)}")
    print(f"misses: {len(tally.misses)} in {len({s for s, _ in tally.misses})} runs")
    for number, miss in tally.misses[:25]:
        print(f"  run {number}: {miss}")
    return 1 if tally.misses or rare or tally.planned < asked.count else 0


if __name__ == "__main__":
    sys.exit(main())
