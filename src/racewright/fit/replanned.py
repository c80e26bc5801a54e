"""One way to finish a half-bent piece, and where it stands among the others: what serves, and what goes first."""

from __future__ import annotations

from math import radians

import msgspec

from racewright.bends.model import BentPiece
from racewright.errors import Finding
from racewright.fit.accuracy import OPEN_END, Capture
from racewright.fit.made import Further, Twist
from racewright.fit.nearest import ALLOWED
from racewright.fit.words import Move
from racewright.geometry.vector import even

#: Where the end is off by no more, it is looked whether the finished piece can be corrected (our own choice).
_TWEAK_MM = 25.4
_TWEAK_RAD = radians(5.0)
#: As far off as counts, in tolerances.
_FAR = 1e6
#: The tier of what a correction brings right, and the last of the tiers.
_CORRECTED, _SCRAP = 1, 5


class ReplanAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The piece as it should now be finished. `met`: the end meets its fitting within the tolerance. `gap`: how far off
    it still is (across twice, along in mm; lean twice in rad), `reached`: by no more than is sprung into it;
    `open_end`: it stays open, and is reached where it is off by no more than such an end may be. `possible`: no two of
    its arcs overlap. `short_mm`: by how much it misses the room that is wanted, less what an end may be off (0: it
    keeps it), `close`: whether it misses any of it. `rise_off_mm`: how far a saddle's top lies off its planned height,
    `change` how far it is from the plan, in the scales of `fit.nearest`. `plain`: the rest is bent as planned, `bold`:
    a bend changes by more than a hand would. `further` (`again`: bent further, `opened`), `twisted`, `trim_mm`,
    `turned_rad`: how what is made is mended (`fit.made`); all counts from end A once trimmed. `hit`: it runs into
    something. `later`: how the finished piece is then corrected (none: it need not or cannot be). `words`: what
    changes, one line each."""

    piece: BentPiece
    met: bool
    gap: tuple[float, float, float, float, float]
    reached: bool
    open_end: bool
    possible: bool
    short_mm: float
    close: bool
    hit: bool
    rise_off_mm: float
    change: float
    plain: bool
    bold: bool
    further: tuple[Further, ...]
    twisted: tuple[Twist, ...]
    trim_mm: float
    turned_rad: float
    later: tuple[Move, ...]
    words: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def good(self) -> bool:
        """The end meets its fitting, and the room that is wanted is kept."""
        return self.met and self.short_mm == 0.0

    @property
    def settled(self) -> bool:
        """No correction would be made for its end: it is good, or it stays open and is hardly off."""
        return self.good or (self.open_end and self.reached and self.short_mm == 0.0)

    @property
    def makeable(self) -> bool:
        """Nothing but the end is wrong with it."""
        return self.possible and all(item.rule == "replan.end" for item in self.findings if item.severity == "problem")

    @property
    def near(self) -> bool:
        """It keeps its room, and the end is off by so little that a correction may mend it."""
        near = max(map(abs, self.gap[:3])) <= _TWEAK_MM and max(map(abs, self.gap[3:])) <= _TWEAK_RAD
        return near and self.makeable and self.short_mm == 0.0

    @property
    def serves(self) -> bool:
        """The finished piece fits, by its marks, by a correction or sprung in, and runs into nothing."""
        return self._tier < _SCRAP

    @property
    def again(self) -> tuple[Further, ...]:
        """The made bends that are bent further."""
        return tuple(item for item in self.further if item.by_rad > 0.0)

    @property
    def opened(self) -> tuple[Further, ...]:
        """The made bends that are opened."""
        return tuple(item for item in self.further if item.by_rad < 0.0)

    @property
    def _tier(self) -> int:
        """Good ones, then what a correction brings right, now or of the finished piece, or an open end that is hardly
        off, then what is sprung in, then these where they change more than a hand would, then what fits and comes too
        near to something."""
        if self.settled or self.later:
            right = 0 if self.good and not self.opened and not self.twisted else _CORRECTED
            return 3 if self.bold else right
        if not self.reached or not self.possible or self.hit:
            return _SCRAP
        return 4 if self.bold or self.short_mm > 0.0 else 2

    @property
    def rank(self) -> tuple[float, ...]:
        """What is least is best. Where it is not good, what can be made goes first, then what takes fewest corrections
        later, and what is off by least: the end or the room, in whole tolerances. Of good ones a rest as planned goes
        first where it is no further off."""
        worst = max(in_tolerances(self.gap), self.short_mm / ALLOWED.length_mm)
        off = round(worst if worst < _FAR else _FAR)
        lower = self.short_mm == 0.0 and abs(self.rise_off_mm) > ALLOWED.length_mm
        missed = (not self.met, self.short_mm > 0.0, self.close, lower)
        tier = self._tier
        corrections = len(self.later) + len(self.further if tier == _CORRECTED else self.opened) + len(self.twisted)
        first = (tier, not self.makeable, corrections, 0 if self.good else off)
        return (*first, *missed, off, not self.plain, even(self.change))


def taken_in(*, open_end: bool) -> Capture:
    """How far off end B may be and is still sprung into its fitting, or be where it stays open."""
    return OPEN_END if open_end else Capture()


def in_tolerances(gap: tuple[float, float, float, float, float]) -> float:
    """The worst part of the gap at end B, in tolerances."""
    return max(max(map(abs, gap[:3])) / ALLOWED.length_mm, max(map(abs, gap[3:])) / ALLOWED.angle_rad)
