"""Lengths on hand that more than one names: a survey that was copied may mean the same offcut."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.errors import Finding
from racewright.takeoff.bill_model import RacewayCuts
from racewright.units.tape import TapeStyle, format_length


def offcuts_twice(cuts: Sequence[RacewayCuts], style: TapeStyle) -> tuple[Finding, ...]:
    """A caution for each length that several runs, or a run and the job, name, and that runs alike have each: all of
    them are counted."""
    found = []
    for one in cuts:
        rules = one.plan.rules
        namers: dict[str, list[tuple[str, int]]] = {}
        copies = [1] * len(rules.offcuts_mm) + [offcut.copy for offcut in rules.run_offcuts]
        for number, (length_mm, copy) in enumerate(zip(rules.on_hand_mm, copies, strict=True), 1):
            namers.setdefault(format_length(length_mm, style), []).append((rules.named_by(number), copy))
        for length, keys in namers.items():
            several = [
                (f"run {key}" if key else "the job's stock")
                + (f" for each of {count} alike" if (count := len({c for k, c in keys if k == key})) > 1 else "")
                for key in dict.fromkeys(key for key, _ in keys)
            ]
            if len(set(keys)) > 1:
                message = (
                    f"{one.raceway}: an offcut of {length} is named by {' and by '.join(several)}: counted as"
                    f" {len(keys)}, each used once. If it is the same offcut, leave it out of all but one, or a stick"
                    " will be missing."
                )
                found.append(Finding(rule="job.offcuts", severity="caution", message=message))
    return tuple(found)
