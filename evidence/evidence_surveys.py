"""2,000 random surveys of every feature, planned from their text, rebuilt from the JSON and held to the tape's words.

`python evidence/evidence_surveys.py [--count N] [--seed N] [--show SEED]`. The reading of the survey
(tape_words.py), the kinematics (rebuilt.py) and the checks (survey_facts.py) share no code with the program. Exit
code 1 on any miss, and where a word of the format is met too seldom.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from math import radians
from typing import Any, cast

import msgspec

from held import Held
from mark_facts import Springback
from racewright.errors import InputError, LimitError
from racewright.plan.pipeline import plan_survey
from racewright.plan.plan_run import choose_bender
from racewright.store.survey_file import survey_from_text
from survey_facts import hold
from survey_writer import write_run
from tape_words import read

#: Every word of the format is met in at least this part of the planned runs (80 of 2,000; one run in twelve winds).
LEAST_SHARE = 0.04
#: What a survey cannot ask for, but what is then said, in at least this part.
LEAST_SAID = 0.01
#: The writer leaves room, so that no more than this part is refused.
MOST_REFUSED = 0.05


@dataclass
class Tally:
    """What all surveys together showed."""

    planned: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    words: Counter[str] = field(default_factory=Counter)
    counts: Counter[str] = field(default_factory=Counter)
    worst: dict[str, tuple[float, int]] = field(default_factory=dict)
    missed: list[tuple[int, str]] = field(default_factory=list)

    def take(self, seed: int, held: Held) -> None:
        self.planned += 1
        self.words.update(held.words)
        self.counts.update(held.counts)
        for kind, off in held.worst.items():
            if kind not in self.worst or off > self.worst[kind][0]:
                self.worst[kind] = (off, seed)
        self.missed += [(seed, miss) for miss in held.misses]


def plan_text(text: str, springback: Springback = None) -> dict[str, Any]:
    """The plan as JSON says it, from a survey's text; on a shoe with this springback."""
    survey = survey_from_text(text).survey
    bender = choose_bender(survey)
    if bender is not None and springback is not None:
        b0, b1 = springback
        bender = msgspec.structs.replace(bender, springback_b0_rad=radians(b0), springback_b1=b1)
    plan = plan_survey(survey, bender, choices=False)
    return cast(dict[str, Any], json.loads(msgspec.json.encode(plan)))


def hold_seed(tally: Tally, seed: int) -> None:
    """One survey, planned and held. A refusal is counted with its reason."""
    text = write_run(seed)
    springback = (0.4 + seed % 7 / 5, 0.01 + seed % 5 / 100) if seed % 4 == 1 else None
    try:
        plan = plan_text(text, springback)
    except (InputError, LimitError) as err:
        reason = re.sub(r"[\d./'\"-]+", "#", re.sub(r"(pipe|offset|kick|thing|turn|leg) \d+", r"\1", err.message))
        tally.refused[f"{type(err).__name__}: {reason[:100]}"] += 1
        return
    tally.take(seed, hold(read(text), plan, springback))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=2000, help="surveys that must be planned")
    parser.add_argument("--seed", type=int, default=0, help="the first survey's number")
    parser.add_argument("--show", type=int, help="print one survey, hold it, and stop")
    asked = parser.parse_args()
    tally = Tally()
    if asked.show is not None:
        print(write_run(asked.show))
        hold_seed(tally, asked.show)
        print(*(m for _, m in tally.missed), *tally.refused, sep="\n")
        return 1 if tally.missed else 0
    begin, seed = time.perf_counter(), asked.seed
    while tally.planned < asked.count and seed < asked.seed + 2 * asked.count:
        hold_seed(tally, seed)
        seed += 1
    return report(tally, seed - asked.seed, time.perf_counter() - begin, asked.count)


def report(tally: Tally, written: int, seconds: float, count: int) -> int:
    refused = sum(tally.refused.values())
    print(
        f"{written} surveys written, {tally.planned} planned, "
        f"{refused} refused ({100 * refused / written:.1f} %), {seconds:.0f} s"
    )
    for reason, times in tally.refused.most_common(12):
        print(f"  {times:5}  {reason}")
    print("held, and the worst (mm, degrees or 1; survey):")
    for kind in sorted(tally.counts):
        worst = tally.worst.get(kind)
        print(f"  {tally.counts[kind]:8}  {kind:22}" + (f" {worst[0]:10.2e} ({worst[1]})" if worst else ""))
    print("met in planned runs:")
    met = [f"{word}: {times}" for word, times in sorted(tally.words.items())]
    for i in range(0, len(met), 4):
        print("  " + "".join(f"{m:38}" for m in met[i : i + 4]).rstrip())
    rare = rare_words(tally)
    if rare:
        print(f"met in under {LEAST_SHARE:.0%}, or said in under {LEAST_SAID:.0%}: {', '.join(rare)}")
    print(f"misses: {len(tally.missed)} in {len({s for s, _ in tally.missed})} surveys")
    for seed, miss in tally.missed[:25]:
        print(f"  survey {seed}: {miss}")
    if tally.planned < count:
        print(f"only {tally.planned} of {count} could be planned")
    if refused > MOST_REFUSED * written:
        print(f"more than {MOST_REFUSED:.0%} refused")
    return 1 if tally.missed or rare or refused > MOST_REFUSED * written or tally.planned < count else 0


def rare_words(tally: Tally) -> list[str]:
    """Words that were met too seldom to be called held."""
    return sorted(
        word
        for word, times in tally.words.items()
        if times < (LEAST_SAID if word.endswith("and said") else LEAST_SHARE) * tally.planned
    )


if __name__ == "__main__":
    sys.exit(main())
