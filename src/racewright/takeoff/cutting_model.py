"""What a cut list is asked, and what it answers. All lengths mm; inside, whole steps of 1/320 mm, so that every
sixty-fourth of an inch and every sixty-fourth of a millimetre is exact.
And at the saw: where to mark each stick, and in which order to cut so that the stop is set once for each length.

Notation: cut i of a stick stands at l_1 + ... + l_i + (i - 1) kerf from the end where the tape is hooked; the blade
goes on the far side of the mark. Longest first, so that both orders agree.
"""

from __future__ import annotations

from math import isfinite
from typing import Literal

import msgspec

from racewright.errors import InputError
from racewright.units.length import ABSURD_MM
from racewright.units.said import said, said_most
from racewright.units.tape import TapeReading, TapeStyle, read_tape

STEPS_PER_MM = 320
TEN_FEET_MM = 3048.0
#: Whatever length a survey or a job may name can be cut from and cut.
MOST_MM = float(ABSURD_MM)
Least = Literal["sticks", "length"]


class WantedPiece(msgspec.Struct, frozen=True, kw_only=True):
    """One straight piece to be cut: `label` is what is written on it, `run` the run that it belongs to, and which
    `copy` of it where several are alike. `threads`: how
    many of its ends need one; `own_threads`: how many of those its plan leaves to the stick's own. `offcut`: which of
    its run's own offcuts its plan takes it from (from 1; 0: none), so that nothing else will do; `whole`: its plan
    takes a stick of its length as it is; `waits`: no bending order is known for it, so that it is not cut yet;
    `there`: it is cut already, and is listed all the same; `made_by`: by this plan, which is not its run's present one,
    so that it is as long as that says, and on no list. `card`: its length as its card has it, where that is
    another tape's ('': as here)."""

    label: str
    length_mm: float
    run: str = ""
    copy: int = 1
    threads: int = 0
    own_threads: int = 0
    offcut: int = 0
    whole: bool = False
    waits: bool = False
    there: bool = False
    made_by: str = ""
    card: str = ""


class RunOffcut(msgspec.Struct, frozen=True, kw_only=True):
    """An offcut that a run's survey names: which of that run's (from 1). Of runs alike each `copy` has its own."""

    run: str
    copy: int = 1
    number: int
    length_mm: float


class CutRules(msgspec.Struct, frozen=True, kw_only=True):
    """What the cut list may use. `stock_mm`: lengths that are sold, as many as needed; `offcuts_mm`: lengths on hand,
    each once, of which `sticks_on_hand` (from 1) are sticks as they are sold; `run_offcuts`: those that the runs'
    surveys name, counted on after them. `kerf_mm`: what one cut eats.
    `keep_mm`: an offcut of this length or more is kept, a shorter one is scrap. `least`: fewest new sticks, or least
    length bought (where long sticks are dear). `effort`: 0 for a quick answer, 1 the usual search, more for a longer
    one. Hand figures are common practice, no source."""

    stock_mm: tuple[float, ...] = (TEN_FEET_MM,)
    offcuts_mm: tuple[float, ...] = ()
    sticks_on_hand: tuple[int, ...] = ()
    run_offcuts: tuple[RunOffcut, ...] = ()
    kerf_mm: float = 1.5875
    keep_mm: float = 609.6
    least: Least = "sticks"
    effort: int = 1

    @property
    def on_hand_mm(self) -> tuple[float, ...]:
        """All lengths on hand: the job's, then those that the runs name."""
        return (*self.offcuts_mm, *(offcut.length_mm for offcut in self.run_offcuts))

    def named_by(self, offcut: int) -> str:
        """The run that names this length on hand (from 1); '' for one of the job's, and for a new stick (0)."""
        own = offcut - len(self.offcuts_mm)
        return self.run_offcuts[own - 1].run if own > 0 else ""

    def is_stick(self, offcut: int) -> bool:
        """Whether this length on hand (from 1) is a stick as it is sold."""
        return offcut <= len(self.offcuts_mm) and offcut in self.sticks_on_hand

    def check(self) -> None:
        """Raises InputError where a length makes no sense."""
        if not self.stock_mm:
            raise InputError(
                "no stock length is given.", hint="give the length of a new stick, such as 10 ft", field="stock_mm"
            )
        for value in self.stock_mm:
            check_length(value, "a new stick", "stock_mm", open_low=True)
        for value in self.on_hand_mm:
            check_length(value, "an offcut", "offcuts_mm", open_low=True)
        check_length(self.kerf_mm, "a saw cut", "kerf_mm")
        check_length(self.keep_mm, "the least offcut to keep", "keep_mm")
        if self.least not in ("sticks", "length"):
            raise InputError(f"least is '{self.least}'.", hint="'sticks' or 'length'", field="least")
        if self.effort < 0:
            raise InputError(f"effort is {self.effort}.", hint="0, 1, 2 ...", field="effort")


class CutStick(msgspec.Struct, frozen=True, kw_only=True):
    """One stick or offcut and the pieces that come out of it, longest first. `offcut`: which of the offcuts on hand
    (from 1), 0 for a new stick; `on_hand`: that one is a stick as it is sold; `named_by`: the run whose survey names it
    ('' the job's own). `new_offcut_mm`: what is left after the last cut; `kept` where it is long enough to keep."""

    number: int
    source_mm: float
    offcut: int
    pieces: tuple[WantedPiece, ...]
    new_offcut_mm: float
    kept: bool
    named_by: str = ""
    on_hand: bool = False


class CutPlan(msgspec.Struct, frozen=True, kw_only=True):
    """The cut list. `least_sticks`, `least_length_mm`: no plan can buy fewer sticks, less length; only the one that
    was asked for by `rules.least` is a tight bound, the other is 0. `proved`: this plan is at that bound.
    `kept_mm`: offcuts worth keeping, unused offcuts not counted; `unused_offcuts`: which on hand were left alone."""

    sticks: tuple[CutStick, ...]
    rules: CutRules
    new_sticks: int
    new_length_mm: float
    least_sticks: int
    least_length_mm: float
    proved: bool
    kept_mm: tuple[float, ...]
    scrap_mm: float
    kerf_total_mm: float
    unused_offcuts: tuple[int, ...]
    looked_at: int

    @property
    def gap_sticks(self) -> int:
        """Sticks from the best at most (0 in a plan by length that is proved)."""
        return self.new_sticks - self.least_sticks if self.rules.least == "sticks" else 0


def check_length(value_mm: float, what: str, field: str, *, open_low: bool = False) -> None:
    """Raises InputError unless 0 <= value <= MOST_MM (`open_low`: zero itself is too small); `what` it is the length
    of, in words."""
    if not isfinite(value_mm) or value_mm < 0.0 or (open_low and value_mm == 0.0) or value_mm > MOST_MM:
        raise InputError(
            f"the length of {what} is {said(value_mm)}.",
            hint=f"give {'more than' if open_low else 'from'} 0 and up to {said_most(MOST_MM)}; is the unit right?",
            field=field,
        )


def to_steps(value_mm: float) -> int:
    """Whole steps of 1/320 mm."""
    return round(value_mm * STEPS_PER_MM)


def to_mm(steps: int) -> float:
    """Millimetres of whole steps."""
    return steps / STEPS_PER_MM


class Cut(msgspec.Struct, frozen=True, kw_only=True):
    """One piece on its stick: its length, and the mark where it ends, from the hooked end, saw cuts counted.
    `cut` is False where the stick ends there by itself; `there`: the piece is cut already; `card`: its length as its
    card has it, where that is another tape's."""

    label: str
    run: str
    length: TapeReading
    mark: TapeReading
    cut: bool
    there: bool
    card: str

    @property
    def on_card(self) -> str:
        """', card 1485 mm' where that reads otherwise than the list; else ''."""
        return f", card {self.card}" if self.card else ""


class StickCuts(msgspec.Struct, frozen=True, kw_only=True):
    """One stick with its marks, and what is left of it (None: nothing)."""

    number: int
    source: TapeReading
    offcut: int
    cuts: tuple[Cut, ...]
    new_offcut: TapeReading | None
    kept: bool
    named_by: str = ""
    on_hand: bool = False

    @property
    def offcut_words(self) -> str:
        """'offcut 3', 'offcut 3 (of WS-2)' where that run's survey names it, 'stick on hand 1'; '' for a new stick."""
        named = f" (of {self.named_by})" if self.named_by else ""
        return f"{'stick on hand' if self.on_hand else 'offcut'} {self.offcut}{named}" if self.offcut else ""


class StopSetting(msgspec.Struct, frozen=True, kw_only=True):
    """The stop at one length: how many pieces, and from which sticks, as (stick, how many)."""

    length: TapeReading
    pieces: int
    takes: tuple[tuple[int, int], ...]


class CutOrder(msgspec.Struct, frozen=True, kw_only=True):
    """Sticks with their marks; settings of the stop across all sticks, longest first, one for each length that the
    tape can tell apart. `settings_one_by_one`: settings if each stick is finished before the next."""

    sticks: tuple[StickCuts, ...]
    settings: tuple[StopSetting, ...]
    settings_one_by_one: int


def cut_order(plan: CutPlan, style: TapeStyle) -> CutOrder:
    """Marks and stop settings of a cut list, read on this tape."""
    kerf = to_steps(plan.rules.kerf_mm)
    sticks = tuple(_stick(stick, kerf, style) for stick in plan.sticks)
    lengths: dict[float, TapeReading] = {}
    takes: dict[float, dict[int, int]] = {}
    changes, standing = 0, None
    for stick in sticks:
        for cut in stick.cuts:
            if not cut.cut:
                continue
            stop = cut.length.shown_mm
            lengths.setdefault(stop, cut.length)
            here = takes.setdefault(stop, {})
            here[stick.number] = here.get(stick.number, 0) + 1
            changes += stop != standing
            standing = stop
    settings = tuple(
        StopSetting(length=lengths[stop], pieces=sum(takes[stop].values()), takes=tuple(sorted(takes[stop].items())))
        for stop in sorted(takes, reverse=True)
    )
    return CutOrder(sticks=sticks, settings=settings, settings_one_by_one=changes)


def _stick(stick: CutStick, kerf: int, style: TapeStyle) -> StickCuts:
    cuts = []
    at = 0
    source = to_steps(stick.source_mm)
    for i, piece in enumerate(stick.pieces):
        at += to_steps(piece.length_mm) + (kerf if i else 0)
        cuts.append(
            Cut(
                label=piece.label,
                run=piece.run,
                length=read_tape(piece.length_mm, style),
                mark=read_tape(to_mm(at), style),
                cut=at < source,
                there=piece.there,
                card=piece.card,
            )
        )
    return StickCuts(
        number=stick.number,
        source=read_tape(stick.source_mm, style),
        offcut=stick.offcut,
        cuts=tuple(cuts),
        new_offcut=read_tape(stick.new_offcut_mm, style) if stick.new_offcut_mm > 0 else None,
        kept=stick.kept,
        named_by=stick.named_by,
        on_hand=stick.on_hand,
    )
