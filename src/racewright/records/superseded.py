"""What of a run was cut and bent by marks that no longer hold: those of another plan than its present one."""

from __future__ import annotations

from collections.abc import Iterable

from racewright.errors import Finding
from racewright.records.anew import anew_of, new_marks
from racewright.records.entry import NOT_BENT, Corrected, Entry, Made, Readings, StatusSet, by_copy
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies


def plan_differs(pinned: str, now: str) -> str:
    """What was made with a plan whose run has another by now, in words; '' where it has not."""
    if not pinned or pinned == now:
        return ""
    return f"for plan {pinned}; " + (f"the plan is now {now}" if now else "the run has no plan now")


def against_card(run: JobRun, entries: Iterable[Entry], now: str | None, pieces: int = 0) -> tuple[Finding, ...]:
    """What the record of a run says against its card: that what is there of it was made with another plan, that new
    marks hold for the rest of a piece. `now`: the digest of its present plan, '' where it has none, None where that is
    not known; `pieces`: so many that it has, 0: not known."""
    of = tuple(entries)
    old = () if now is None else superseded(run, of, now, pieces)
    return (*old, *new_marks(run, of, now or None, pieces))


def superseded(run: JobRun, entries: Iterable[Entry], now: str, pieces: int = 0) -> tuple[Finding, ...]:
    """A caution for each plan that is not the run's present one (`now`: its digest, '' where it has none) and that what
    is there of the run was made with, by its entries, oldest first. `pieces`: so many that the run has; 0: that is not
    known."""
    of = tuple(entries)
    made: dict[str, dict[int, set[int | None]]] = {}
    for copy, of_copy in by_copy(of, run.times):
        for marks, numbers in _made_with(of_copy).items():
            made.setdefault(marks, {})[copy] = numbers
    found = []
    for marks, copies in made.items():
        differs = plan_differs(marks, now)
        if differs:
            what = with_copies(run.key, tuple(copies)) if run.alike else _named(run.key, copies[1], pieces)
            rest = "; ".join(f"{piece}, {words}" for piece, words in anew_of(run, of, marks, pieces))
            but = f", but for the rest that was bent by new marks instead: {rest}" if rest else ""
            message = (
                f"{what} cut and bent {differs}".lstrip()
                + ". What is there may not fit, and the card shows something else: hold it to the sheet that bears its"
                f" plan{but}. If the survey is wrong, bring the old one back; if it is made again, set the run back to"
                " measured first."
            )
            found.append(Finding(rule="run.superseded", severity="caution", message=message, where=run.key))
    return tuple(found)


def _named(key: str, numbers: set[int | None], pieces: int) -> str:
    """'PH-07-1, PH-07-3'; '' for the whole run."""
    if None in numbers:
        return ""
    return ", ".join(piece_name(key, number, pieces) for number in sorted(filter(None, numbers)))


def _made_with(entries: Iterable[Entry]) -> dict[str, set[int | None]]:
    """The digests that the entries of a piece pin, each with the pieces it is of (None: the whole run). Of a bend that
    was made twice the last counts; of a run that is bent the first entry that says so, for those behind it pin the plan
    of their day."""
    pinned: dict[tuple[int | None, int | str | None], str] = {}
    for entry in entries:
        what, piece, marks = entry.what, entry.piece, entry.pins.marks
        if isinstance(what, StatusSet):
            if what.status not in NOT_BENT:
                pinned.setdefault((None, None), marks)
        elif isinstance(what, Made):
            pinned.update({(piece, bend.number): marks for bend in what.bends})
        elif isinstance(what, Readings | Corrected):
            pinned[piece, marks] = marks
    out: dict[str, set[int | None]] = {}
    for (piece, _), marks in pinned.items():
        if marks:
            out.setdefault(marks, set()).add(piece)
    return out


def begun_by_other(run: JobRun, entries: Iterable[Entry], now: str) -> dict[tuple[int, int], str]:
    """The plans that bends of a piece were made by and that are not the run's present one (`now`), by copy and piece:
    'LJ8YBQ'. Of a bend that was made twice the last counts."""
    found = {}
    for copy, of in by_copy(entries, run.times):
        made = [entry for entry in of if isinstance(entry.what, Made)]
        for piece in pieces_begun(made):
            plans = sorted(_made_with(entry for entry in made if (entry.piece or 1) == piece).keys() - {now})
            if plans:
                found[copy, piece] = " and ".join(plans)
    return found


def pieces_begun(entries: Iterable[Entry]) -> tuple[int, ...]:
    """The pieces of which bends were made at the bench, by the entries of a copy."""
    return tuple(sorted({entry.piece or 1 for entry in entries if isinstance(entry.what, Made)}))
