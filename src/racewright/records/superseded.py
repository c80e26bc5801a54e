"""What of a run was cut and bent by marks that no longer hold: those of another plan than its present one."""

from __future__ import annotations

from collections.abc import Container, Iterable
from typing import Literal, get_args

from racewright.errors import Finding
from racewright.plan.model import Plan
from racewright.records.anew import NEW_MARKS, anew_of, marked_anew, new_marks
from racewright.records.entry import NOT_BENT, Corrected, Entry, Made, Readings, StatusSet, by_copy
from racewright.records.far_off import FAR_OFF, Bends, far_off
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.records.other_marks import OTHER_MARKS, bent_by_other, kept_without, other_findings
from racewright.records.read_otherwise import READ_OTHERWISE, read_otherwise
from racewright.records.steps import STEPS, StepName

#: The rule of the caution that what is there was made with another plan.
SUPERSEDED = "run.superseded"
#: The rules of what a record says against its card (`against_card`), in the order in which it is told.
AGAINST_CARD = (SUPERSEDED, OTHER_MARKS, NEW_MARKS, FAR_OFF, READ_OTHERWISE)

#: How far what is there of a piece is, from nothing that shows in its conduit.
Far = Literal["", "worked on", "cut", "begun", "bent"]
#: What is done at the bench and on the wall: a bend, or one of the other steps.
_Done = StepName | Literal["bend"]
#: What is done with a piece that is only cut, and for another plan than its run's present one.
CUT_FOR_OTHER = (
    "Where it is long enough, mark it by its new card and cut it shorter, and record that"
    " (`racewright job record RUN --done length`); where it is too short, take back that it is cut"
    " (`racewright job undo RUN --done length`) and cut another."
)


def further(*ones: Far) -> Far:
    """Which of these is furthest."""
    return max(ones, key=get_args(Far).index, default="")


def far_made(what: Made) -> Far:
    """How far a piece is of which this was made."""
    return further(*(_far("bend") for _ in what.bends), *(_far(step.kind) for step in what.steps))


def _far(done: _Done) -> Far:
    if done == "bend" or STEPS[done].of == "marks":
        return "begun"
    return "cut" if STEPS[done].cut else "worked on"


def plan_differs(pinned: str, now: str) -> str:
    """What was made with a plan whose run has another by now, in words; '' where it has not."""
    if not pinned or pinned == now:
        return ""
    return f"for plan {pinned}; " + (f"the plan is now {now}" if now else "the run has no plan now")


def against_card(
    run: JobRun, entries: Iterable[Entry], now: str | None, bends: Bends = (), plan: Plan | None = None
) -> tuple[Finding, ...]:
    """What the record of a run says against its card: that what is there of it was made with another plan, that bends
    were made by other marks than those that hold, that new marks hold for the rest of a piece, that a bend is far from
    its angle, its place or its plane, that two readings cannot both be right. `now`: the digest of its present plan, ''
    where it has none, None where that is not known; `bends`: what those of each of its pieces should have; none: not
    known; `plan`: that plan, None where none was made (see `may_differ` of `other_marks.py`)."""
    of = tuple(entries)
    old = () if now is None else superseded(run, of, now, len(bends))
    other = bent_by_other(run, of, plan) if plan is not None and now else {}
    return (
        *old,
        *other_findings(run, other, len(bends)),
        *new_marks(run, of, now or None, len(bends), other, plan),
        *far_off(run, of, now or "", bends),
        *read_otherwise(run, of, now or "", bends),
    )


def superseded(run: JobRun, entries: Iterable[Entry], now: str, pieces: int = 0) -> tuple[Finding, ...]:
    """A caution for each plan that is not the run's present one (`now`: its digest, '' where it has none) and that what
    is there of the run was made with, by its entries, oldest first; what is only begun, cut or worked on has one of its
    own. `pieces`: so many that the run has; 0: that is not known."""
    of = tuple(entries)
    made: dict[tuple[str, Far], set[tuple[int, int | None]]] = {}
    for copy, of_copy in by_copy(of, run.times):
        all_bent = any(isinstance(entry.what, StatusSet) and entry.what.status not in NOT_BENT for entry in of_copy)
        for marks, numbers in _made_with(of_copy).items():
            for number, far in numbers.items():
                made.setdefault((marks, "bent" if all_bent else far), set()).add((copy, number))
    found = []
    for (marks, far), what in made.items():
        differs = plan_differs(marks, now)
        if differs:
            lost = [which for which in kept_without(run, of, marks) if {which, (which[0], None)} & what]
            stop = "" if far != "begun" or not lost else _named(run, set(lost), pieces)
            all_stop = bool(stop) and what <= set(lost)
            words = _differs(differs, far, _anew(run, of, marks, what, pieces, lost), stop, all_stop=all_stop)
            message = f"{_named(run, what, pieces)}: {words}"
            found.append(Finding(rule=SUPERSEDED, severity="caution", message=message, where=run.key))
    return tuple(found)


def _differs(differs: str, far: Far, anew: str, stop: str, *, all_stop: bool) -> str:
    """That what is there has another plan, and what to do; `anew`: what of it is bent by new marks; `stop`: that of
    which something was done by other marks than those that hold, which may be all."""
    but = (
        f", but for the rest that {'was' if far == 'bent' else 'is'} bent by new marks instead: {anew}" if anew else ""
    )
    survey = "If the survey is wrong, bring the old one back;"
    if far == "cut":
        return f"cut {differs}. It may not be as long as the card says. {CUT_FOR_OTHER} {survey[:-1]}."
    if far == "worked on":
        return f"worked on {differs}, not cut. Rub out lines that were drawn for it, and go by the card. {survey[:-1]}."
    if far == "bent":
        return (
            f"cut and bent {differs}. What is there may not fit, and the card shows something else: hold it to the"
            f" sheet that bears its plan{but}. {survey} if it is made again, set the run back to measured first."
        )
    finish = "" if all_stop else f": finish it by the sheet that bears its plan{but}"
    return (
        f"begun {differs}. It may not fit, and the card shows other marks{finish}. {_stop_words(stop)}{survey}"
        " if the new one is right, record every bend that is made with its place (`racewright job record RUN --made"
        " N=DEG@PLACE`) and ask for new marks; if it is scrapped, set the run to bent and then back to measured, and"
        " make it again."
    )


def _stop_words(stop: str) -> str:
    if not stop:
        return ""
    return (
        f"Bend nothing more of {stop}: it was bent, cut or twisted by other marks than its sheet's or the new ones kept"
        " last, so neither hold for the rest; with the old survey back, measure the bends that are made, and ask for"
        " new marks. "
    )


def _named(run: JobRun, what: set[tuple[int, int | None]], pieces: int) -> str:
    """'PH-07-1, PH-07-3', 'PH-07' for the whole run; of runs alike its copies."""
    if run.alike:
        return with_copies(run.key, sorted({copy for copy, _ in what}))
    numbers = {number for _, number in what}
    if None in numbers:
        return run.key
    return ", ".join(piece_name(run.key, number, pieces) for number in sorted(filter(None, numbers)))


def _anew(
    run: JobRun,
    entries: Iterable[Entry],
    marks: str,
    what: set[tuple[int, int | None]],
    pieces: int,
    but: Container[tuple[int, int]],
) -> str:
    """Of these pieces, or whole copies, those of which the rest is bent by new marks, each with these in words; `but`:
    not those."""
    of = tuple(entries)
    known = zip(marked_anew(run, of, marks), anew_of(run, of, marks, pieces), strict=True)
    return "; ".join(
        f"{name}, {words}"
        for (copy, piece), (name, words) in known
        if ((copy, piece) in what or (copy, None) in what) and (copy, piece) not in but
    )


def _made_with(entries: Iterable[Entry]) -> dict[str, dict[int | None, Far]]:
    """The digests that the entries of a piece pin, each with the pieces it is of (None: the whole run), and how far
    they are. Of what was done twice the last counts; of a run that is bent the first
    entry that says so, for those behind it pin the plan of their day."""
    begun: dict[tuple[int | None, _Done, int | None], str] = {}
    bent: dict[tuple[int | None, str], str] = {}
    for entry in entries:
        what, piece, marks = entry.what, entry.piece, entry.pins.marks
        if isinstance(what, StatusSet):
            if what.status not in NOT_BENT:
                bent.setdefault((None, ""), marks)
        elif isinstance(what, Made):
            begun |= {(piece, "bend", bend.number): marks for bend in what.bends}
            begun |= {(piece, _as_cut(step.kind), step.number): marks for step in what.steps}
        elif isinstance(what, Readings | Corrected):
            bent[piece, marks] = marks
    out: dict[str, dict[int | None, Far]] = {}
    far: list[tuple[str, int | None, Far]] = [(by, piece, _far(done)) for (piece, done, _), by in begun.items()]
    for marks, number, is_so in (*far, *((by, piece, "bent") for (piece, _), by in bent.items())):
        if marks:
            numbers = out.setdefault(marks, {})
            numbers[number] = further(numbers.get(number, ""), is_so)
    return out


def _as_cut(kind: StepName) -> StepName:
    """A piece is cut to length, or a whole stick is taken for it: of another plan it may be the other."""
    return "length" if STEPS[kind].cut == "is" else kind


def made_by_other(run: JobRun, entries: Iterable[Entry], now: str, pieces: int) -> dict[tuple[int, int], str]:
    """The plans that what is there was cut or made with and that are not the run's present one (`now`), by copy and
    piece, of so many `pieces`: 'LJ8YBQ'."""
    found: dict[tuple[int, int], list[str]] = {}
    for copy, of in by_copy(entries, run.times):
        for marks, numbers in sorted(_made_with(of).items()):
            for number in range(1, pieces + 1):
                far = further(*(numbers.get(of, "") for of in (number, None)))
                if marks != now and far not in ("", "worked on"):
                    found.setdefault((copy, number), []).append(marks)
    return {which: " and ".join(plans) for which, plans in found.items()}


def pieces_begun(entries: Iterable[Entry]) -> tuple[int, ...]:
    """The pieces that were cut, or begun at the bench, by the entries of a copy."""
    made = ((entry.piece or 1, entry.what) for entry in entries if isinstance(entry.what, Made))
    return tuple(sorted({piece for piece, what in made if far_made(what) != "worked on"}))
