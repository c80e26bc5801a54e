"""What was held: counts, the worst figure of each kind, and every miss as a sentence."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import hypot

from rebuilt import Vec, less

TIGHT_MM = 1e-6
#: What a figure misses half a step of the tape by, and still counts as the half (units/tape: 1e-4 mm).
HALF_MM = 1.01e-4


@dataclass
class Held:
    """What was counted and missed for one survey; `worst` by kind of check, mm."""

    misses: list[str] = field(default_factory=list)
    words: set[str] = field(default_factory=set)
    counts: dict[str, int] = field(default_factory=dict)
    worst: dict[str, float] = field(default_factory=dict)

    def near(self, what: str, off: float, say: str, limit: float = TIGHT_MM) -> None:
        """A difference that must stay below a limit."""
        kind = what.split(":")[0]
        self.counts[kind] = self.counts.get(kind, 0) + 1
        self.worst[kind] = max(self.worst.get(kind, 0.0), abs(off))
        if not abs(off) <= limit:
            self.misses.append(f"{what}: {say}: off by {off:.6g}")

    def true(self, what: str, yes: bool, say: str) -> None:
        kind = what.split(":")[0]
        self.counts[kind] = self.counts.get(kind, 0) + 1
        if not yes:
            self.misses.append(f"{what}: {say}")


def far(a: Vec, b: Vec) -> float:
    return hypot(*less(a, b))
