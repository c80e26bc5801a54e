"""What would work where a piece cannot be bent as planned: every change that is told has been planned and found good.

A change is good where the run planned with it has the problem no more, no other piece that cannot be bent in its place,
no new problem of any kind, no new thread that cannot be cut, and no more pieces but where a coupling is the change.
Most changes are refused by their straights alone; what is left is planned as the survey itself is. Of each kind of
change the first that works is told, of those by steps the least, `MOST_TOLD` in all, in the order of `plan/changes.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from msgspec.structs import replace

from racewright.assembly.between import longest_mm, sold_mm, stick_rules
from racewright.bends.model import Bend, BentPiece
from racewright.budget import ADVICE_BENDS, CAN_BE_BENT, LOOKED_AT_WHOLE, ORDER_OF_A_PIECE, Budget
from racewright.errors import Finding, RacewrightError
from racewright.plan.changes import LONGER_STICKS, Change, Kind, cut_after, kinds, pairs
from racewright.plan.cut_run import bent_run
from racewright.plan.handling import MOST_EXTRA_MM, STUCK, OnStick, cannot_be_bent
from racewright.plan.layout import lay_out
from racewright.plan.model import Plan
from racewright.sequence.machine import HandlingSettings
from racewright.sequence.order import can_be_bent
from racewright.sticks.model import SAME_MM
from racewright.sticks.search import Search
from racewright.sticks.sticks import passing
from racewright.survey.model import Survey
from racewright.tools.benders import BenderProfile, default_benders
from racewright.units.length import parse_length
from racewright.units.said import said_least
from racewright.units.tape import format_length

#: Plans a changed survey on a bender, its order searches by their usual bounds; the budget counts what they take.
PlanAgain = Callable[[Survey, BenderProfile, Budget], Plan]
MOST_TOLD = 3
#: Of what was tried without help, so many are named.
_MOST_NAMED = 8
#: Units of laying a run out once, and of planning it beyond its order searches, for each bend and four besides.
_LAID_OUT, _PLANNED = 8, 100
#: What one look at a piece takes at most, and one at a split, of whose units each takes as long as so many others; and
#: how many times a run of several pieces takes what one of a single piece does.
_A_LOOK, _A_SPLIT, _SAWN, _CUT = 20_000, 3_000, 2, 4
#: Bends on either side of those that bind, of a piece of many.
_BESIDE = 3


def with_advice(
    plan: Plan,
    survey: Survey,
    bender: BenderProfile,
    shop: Iterable[BenderProfile],
    again: PlanAgain,
    budget: Budget,
) -> Plan:
    """The plan, with what would work told by each finding that a piece or a run cannot be bent. `budget`: for all that
    is tried."""
    left = sum(cannot_be_bent(f) for f in plan.findings)
    findings = []
    try:
        benders = (*shop, *default_benders())
    except RacewrightError:  # a file of one's own benders that cannot be read: this run names none of them
        benders = default_benders()
    for finding in plan.findings:
        if cannot_be_bent(finding):
            finding = _Trials(plan, survey, bender, finding, budget.share(left), again).told(benders)
            left -= 1
        findings.append(finding)
    return replace(plan, findings=tuple(findings))


class _Trials:
    """Tries changes for one finding of a plan, with one budget for all of them."""

    def __init__(
        self, plan: Plan, survey: Survey, bender: BenderProfile, finding: Finding, budget: Budget, again: PlanAgain
    ) -> None:
        self.plan, self.survey, self.bender = plan, survey, bender
        self.finding, self.budget, self.again = finding, budget, again
        self.bends = sum(len(piece.bends) for piece in plan.pieces)
        self.before = _amiss(plan)
        #: Whether a quick look came to no end.
        self.untold = False
        #: What is told makes these.
        self.made: list[tuple[object, ...]] = []
        self.near = self._near()
        #: A piece has no order, or no stick; else the run has no split.
        self.of_a_piece = bool(finding.where)

    def told(self, shop: Sequence[BenderProfile]) -> Finding:
        """The finding with what would work in words, and what to write for it in `values`: 'would work 1' ..."""
        found: list[tuple[str, str]] = []
        tried: list[str] = []
        if self.of_a_piece:
            self._longer_stick(found, tried)
        few = self.bends <= ADVICE_BENDS
        each = kinds(
            self.plan,
            self.survey,
            self.bender,
            shop,
            near=self.near,
            of_a_piece=self.of_a_piece,
            outer_legs=self.of_a_piece and all("run.stock" in fields for _, fields in found),
        )
        single = tuple(each) if few else ()
        self._try(single, found, tried)
        if not found and not self.survey.cut_after_bending:
            after: list[str] = []  # of a run without a split only where it comes to be of one stick
            self._try([cut_after(k) for k in single if self.of_a_piece or k.name == LONGER_STICKS], found, after)
            tried += ["each of them with cut: after"] if self.of_a_piece and after else after
        if not found and few:
            both: list[str] = []
            self._try(tuple(pairs(self.plan, self.survey, self.bender, self.near)), found, both, most=1)
            tried += ["another angle and another place or a longer leg"] if both else []
        enough = (few and not self.budget.spent and not self.untold) or len(found) == MOST_TOLD
        return replace(
            self.finding,
            message=f"{self.finding.message} {_words([words for words, _ in found], tried, enough=enough)}",
            values={f"would work {i}": fields for i, (_, fields) in enumerate(found, start=1) if fields},
        )

    def _longer_stick(self, found: list[tuple[str, str]], tried: list[str]) -> None:
        """The piece bent from a longer stick and cut after, which is added to the stock where none is sold so long."""
        fields: dict[str, str] = {}
        if not self.survey.cut_after_bending:
            fields["run.cut"] = "after"
        elif self.finding.rule == "bend.order":  # it was planned so
            tried.append("a longer stick")
            return
        after, add = replace(self.survey, cut_after_bending=True), ""
        if self.bends > LOOKED_AT_WHOLE and not self._likely(Change("", fields, after, self.bender)):
            tried.append("a longer stick")
            return
        plan = self._again(after, self.bender) if fields else self.plan
        long_mm = (
            max((p.least_stock_mm for p in plan.pieces if p.ways and not p.stock_mm), default=0.0) if plan else 0.0
        )
        if long_mm:
            add = said_least(long_mm)
            fields["run.stock"] = f"+ {add}"
            read_mm = float(parse_length(add, self.survey.tape.unit))
            plan = self._again(replace(after, stock_mm=(*sold_mm(self.survey), read_mm)), self.bender)
        tried.append("a longer stick")
        piece = None if plan is None else next((p for p in plan.pieces if p.label == self.finding.where), None)
        if plan is None or piece is None or not self._better(plan):
            return
        more = ((end, mm) for end, mm in (("A", piece.extra_a_mm), ("B", piece.extra_b_mm)) if mm > 0.0)
        ends = " and ".join(f"{format_length(mm, self.survey.tape)} at end {end}" for end, mm in more)
        words = f"bend it from a stick {said_least(piece.least_stock_mm)} long ({ends} more) and cut it after"
        words += ": set cut: after" if "run.cut" in fields else ""
        words += f"{', and' if 'run.cut' in fields else ':'} add {add} to stock" if add else ""
        self.made.append(_shape_of(plan))
        found.append((words, _written(fields)))

    def _try(
        self, changes: Sequence[Kind], found: list[tuple[str, str]], tried: list[str], most: int = MOST_TOLD
    ) -> None:
        """Adds what works to `found`, and to `tried` what was looked at."""
        for kind in changes:
            if len(found) >= most or self.budget.spent:
                return
            if not any(kind.ladders):
                continue
            tried.append(kind.name)
            good = self._least(kind.ladders) if kind.by_steps else self._first(kind.ladders[0])
            if good is not None:
                found.append(good)

    def _near(self) -> list[int]:
        """The bends that bind, counted along the run from 0."""
        first = 0
        for piece in self.plan.pieces:
            if piece.label == self.finding.where:
                return [first + int(mark) - 1 for mark in self.finding.values.get("marks", "").split()]
            first += len(piece.bends)
        return []

    def _first(self, changes: Sequence[Change]) -> tuple[str, str] | None:
        for change in changes:
            if self.budget.spent:
                return None
            good = self._tried(change)
            if good is not None:
                return good
        return None

    def _least(self, ladders: Sequence[Sequence[Change]]) -> tuple[str, str] | None:
        """Of several ladders of ever greater changes the least that works."""
        best, top = None, max(len(ladder) for ladder in ladders)
        for ladder in ladders:
            step = self._step(ladder[:top])
            for higher in range(step, min(step + 2, top, len(ladder))):
                good = None if self.budget.spent else self._tried(ladder[higher])
                if good is not None:
                    best, top = good, higher
                    break
        return best

    def _step(self, ladder: Sequence[Change]) -> int:
        """The least step that is likely, as far as doubling until one is and halving back finds it; past the ladder's
        top where none is."""
        low, high, last = -1, 0, len(ladder) - 1
        while high <= last and not self.budget.spent and not self._likely(ladder[high]):
            low, high = high, last + 1 if high == last else min(2 * high + 1, last)
        if high > last:
            return len(ladder)
        while high - low > 1 and not self.budget.spent:
            middle = (low + high) // 2
            low, high = (low, middle) if self._likely(ladder[middle]) else (middle, high)
        return high

    def _tried(self, change: Change) -> tuple[str, str] | None:
        """The change in words, with its effect, and what to write; None where it does not help, or what is told already
        makes the same."""
        if not self._likely(change) or self.budget.spent:
            return None
        assert change.bender is not None
        plans = []
        for survey in change.runs:
            plan = self._again(survey, change.bender)
            if plan is None:
                return None
            plans.append(plan)
        if not self._better(*plans):
            return None
        if self.of_a_piece and not change.survey.coupled and len(plans[0].pieces) > len(self.plan.pieces):
            return None
        shape = tuple(part for plan in plans for part in _shape_of(plan))
        if shape in self.made:
            return None
        self.made.append(shape)
        effect = self._effect(plans[0]) if len(plans) == 1 else ""
        return f"{change.does}{effect}", _written(change.fields)

    def _again(self, survey: Survey, bender: BenderProfile) -> Plan | None:
        """The plan of a changed survey, by the same bounds as it will have by itself; None where it has none, and where
        there is no work left for it."""
        if self.bends > LOOKED_AT_WHOLE:
            most = ORDER_OF_A_PIECE + (CAN_BE_BENT if survey.cut_after_bending else 0)
            if self.budget.left < most:
                self.budget.take(self.budget.left)
                return None
        several = len(self.plan.pieces) > 1 or not self.of_a_piece or survey.coupled
        self.budget.take(_PLANNED * (self.bends + 4) * (_CUT * (1 + len(self.survey.offcuts_mm)) if several else 1))
        try:
            return self.again(survey, bender, self.budget)
        except RacewrightError:
            return None

    def _likely(self, change: Change) -> bool:
        """Whether the changed run, or each that it becomes, may be bent, as far as a quick look says."""
        assert change.bender is not None
        return all(self._run_likely(survey, change.bender) for survey in change.runs)

    def _run_likely(self, survey: Survey, bender: BenderProfile) -> bool:
        self.budget.take(_LAID_OUT * (self.bends + 4))
        try:
            laid = lay_out(survey, bender)
            fit = laid.turned()
        except RacewrightError:
            return False
        run = bent_run(laid.raceway, laid.route, fit)
        longest = longest_mm(survey)
        if self.of_a_piece and len(self.plan.pieces) == 1 and not survey.coupled and run.cut_length_mm > longest:
            return False
        if run.cut_length_mm <= longest and not survey.coupled:
            return self._bendable(run, laid.shoe, survey, near=self.near)

        def passes(bends: tuple[Bend, ...], length_mm: float) -> bool:
            piece = replace(run, cut_length_mm=length_mm, bends=bends)
            return length_mm < run.cut_length_mm - SAME_MM and self._bendable(piece, laid.shoe, survey)

        work = self.budget.share(1, _A_SPLIT)
        rules = stick_rules(survey, laid.raceway, laid.shoe)
        search = Search(run.cut_length_mm, fit.turns, rules, most_offcuts=0, quick=True)
        found = search.run(work.share(2))
        if found is None:
            search = Search(run.cut_length_mm, fit.turns, rules)
            found = search.run(work.share(2))
        found = None if found is None else passing(search, found, passes, work)
        self.budget.take((_SAWN - 1) * work.done)
        return found is not None

    def _bendable(self, piece: BentPiece, shoe: BenderProfile, survey: Survey, near: Sequence[int] = ()) -> bool:
        """Whether a piece has an order, as far as a short search tells; of many bends that part of it around `near`."""
        more = MOST_EXTRA_MM if survey.cut_after_bending else 0.0
        first, last = 0, len(piece.bends) - 1
        if near and last >= LOOKED_AT_WHOLE:
            first, last = max(first, min(near) - _BESIDE), min(last, max(near) + _BESIDE)
        at_end = (first == 0, last == len(piece.bends) - 1)
        stick = OnStick(shoe, _part(piece, first, last), HandlingSettings(tape=survey.tape))
        more_a, more_b = (more if end else 0.0 for end in at_end)
        told = can_be_bent(*stick.with_more(more_a, more_b), budget=self.budget.share(1, _A_LOOK))
        self.untold = self.untold or told is None
        return told is True

    def _better(self, *plans: Plan) -> bool:
        """Whether the problem is gone, and nothing that was no problem is one now, in all runs that it becomes."""
        now = sum((_amiss(plan) for plan in plans), Counter[str]())
        if any(
            cannot_be_bent(f) and (f.rule, f.where) == (self.finding.rule, self.finding.where)
            for plan in plans
            for f in plan.findings
        ):
            return False
        stuck = sum(self.before[rule] for rule in STUCK)
        return sum(now[rule] for rule in STUCK) < stuck and all(
            count <= self.before[rule] for rule, count in now.items() if rule not in STUCK
        )

    def _effect(self, plan: Plan) -> str:
        tape = self.survey.tape
        if len(plan.pieces) > len(self.plan.pieces) == 1 and self.of_a_piece:
            lengths = [format_length(piece.cut_length_mm, tape) for piece in plan.pieces]
            return f" (pieces of {', '.join(lengths[:-1])} and {lengths[-1]})"
        by = plan.developed_length_mm - self.plan.developed_length_mm
        if abs(by) < float(tape.step_mm):
            return ""
        return f" ({format_length(abs(by), tape)} {'more' if by > 0.0 else 'less'} conduit)"


def _part(piece: BentPiece, first: int, last: int) -> BentPiece:
    """These bends of a piece, with the straights beside them."""
    bends = piece.bends[first : last + 1]
    start = piece.bends[first - 1].arc_end_mm if first else 0.0
    end = piece.bends[last + 1].arc_start_mm if last + 1 < len(piece.bends) else piece.cut_length_mm
    moved = tuple(replace(bend, arc_start_mm=bend.arc_start_mm - start) for bend in bends)
    return replace(piece, cut_length_mm=end - start, bends=moved)


def _amiss(plan: Plan) -> Counter[str]:
    """How many problems there are by their rules, and threads that cannot be cut as the plan has it."""
    return Counter(
        f.rule
        for f in plan.findings
        if f.severity == "problem" or (f.rule == "assembly.thread" and f.severity == "caution")
    )


def _shape_of(plan: Plan) -> tuple[object, ...]:
    """What a plan makes: two of one shape are one plan to who bends it."""
    return tuple(
        (
            round(p.cut_length_mm, 1),
            p.bend_radius_mm,
            p.trim_after,
            *((round(b.arc_start_mm, 1), round(b.angle_deg, 2), round(b.roll_deg, 2)) for b in p.bends),
        )
        for p in plan.pieces
    )


def _written(fields: dict[str, str]) -> str:
    return "; ".join(f"{field}: {text}" for field, text in fields.items())


def _words(found: Sequence[str], tried: Sequence[str], *, enough: bool) -> str:
    """What would work; where nothing does, what was tried. `enough`: the tries were not cut short."""
    more = "" if enough else " Not all was tried."
    if found:
        return f"What would work: {'; or '.join(found)}.{more}"
    if not tried:
        return f"What would work was not found.{more}"
    names = list(dict.fromkeys(tried))
    rest = f" and {len(names) - _MOST_NAMED} more changes" if len(names) > _MOST_NAMED + 1 else ""
    named = ", ".join(names[:_MOST_NAMED] if rest else names)
    return f"What would work was not found; tried without help: {named}{rest}.{more}"
