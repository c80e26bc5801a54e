"""The results of a class: who reached how many points at which problem, as a sheet and as CSV."""

from __future__ import annotations

from typing import Annotated

import msgspec

from racewright.cards.csv_text import csv_text
from racewright.cards.takeoff_tables import Cell, Table
from racewright.errors import Finding, LimitError, below
from racewright.operations.common import Answer, Known, Name, Part, Request, TapeUnit
from racewright.operations.practice_grade import Points, Scheme, pass_rule, same_rules
from racewright.units.tape import TapeStyle, style_of

#: A sheet is so large at most: one of a page's device has no more to say, and its size is the product of the two.
MOST_PEOPLE, MOST_PROBLEMS = 200, 200
#: What stands beside points that were given by other rules than they are now.
_EARLIER = "earlier rules"


class ClassResult(Request, frozen=True, kw_only=True):
    """One graded piece: whose, of which problem, its points of `full`, whether it passed, and when (as told). Not
    `whole`: not all of it was measured, or not timed where the time counts, so it has no grade. `without_leans`: it was
    read before leans were asked for. `scheme`: the rules that it was graded by (None: it was kept without them)."""

    person: Name
    problem: Name
    points: Points
    full: Points
    passed: bool = False
    whole: bool = True
    without_leans: bool = False
    scheme: Scheme | None = None
    at: Name = ""


class ClassRequest(Request, frozen=True, kw_only=True):
    """The class list and its graded pieces. Of several of one person at one problem the last one with
    a grade counts. `scheme`, `units`: the rules as they are now, told on a tape of that unit."""

    people: Annotated[tuple[Name, ...], msgspec.Meta(max_length=MOST_PEOPLE)] = ()
    results: Annotated[tuple[ClassResult, ...], msgspec.Meta(max_length=5000)] = ()
    scheme: Scheme = Scheme()
    units: TapeUnit = "in"


class ClassRow(Part, frozen=True, kw_only=True):
    """A person's row: a cell for each problem ('' = none; what was graded without leans, or by other rules than they
    are now, says so), the sum with what could be reached, how many passed, and how many tries there were. What was
    graded by other rules is summed apart, in `total` alone, with how many of it passed. `ungraded`: the problems of
    which a piece is kept that has no grade; they are in no sum."""

    person: str
    cells: tuple[str, ...]
    total: str
    passed: int
    tries: int
    ungraded: tuple[str, ...]


class ClassAnswer(Answer, frozen=True, kw_only=True):
    """The sheet: `problems` are its columns, in the order in which they came; `rows` in that of the list, then of who
    is not on it. `pass_rule`: when a piece is passed. `csv` is the same sheet as a file, no cell of which a spreadsheet
    runs."""

    problems: tuple[str, ...]
    rows: tuple[ClassRow, ...]
    pass_rule: str
    csv: str


def class_sheet(request: ClassRequest, known: Known) -> ClassAnswer:
    """The sheet of a class. Raises LimitError for more people or problems than a sheet holds."""
    people = tuple(dict.fromkeys((*request.people, *(result.person for result in request.results))))
    problems = tuple(dict.fromkeys(result.problem for result in request.results if result.whole))
    _bound("people", len(people), MOST_PEOPLE, "make a sheet for each class")
    _bound("problems", len(problems), MOST_PROBLEMS, "make a sheet for each part of the course")
    tried: dict[str, list[ClassResult]] = {person: [] for person in people}
    for result in request.results:
        tried[result.person].append(result)
    earlier = _earlier(request)
    rows = tuple(_row(person, problems, mine, earlier) for person, mine in tried.items())
    head = ("name", *problems, "sum", "passed", "tries", "not all measured: no grade")
    lines: tuple[tuple[Cell, ...], ...] = tuple(
        (r.person, *r.cells, r.total, r.passed, r.tries, "; ".join(r.ungraded)) for r in rows
    )
    return ClassAnswer(
        problems=problems,
        rows=rows,
        pass_rule=pass_rule(request.scheme, style_of(request.units)),
        csv=csv_text([Table("class", head, lines)]),
        findings=_told(sum(_EARLIER in cell for row in rows for cell in row.cells)),
    )


def _earlier(request: ClassRequest) -> frozenset[Scheme | None]:
    """By which schemes of the results is graded otherwise than by the present one; None: that is not known."""
    style = style_of(request.units)
    at = {result.scheme: f"results[{index}]" for index, result in enumerate(request.results)}
    return frozenset(scheme for scheme, place in at.items() if not _is_now(scheme, request.scheme, style, place))


def _is_now(scheme: Scheme | None, now: Scheme, style: TapeStyle, place: str) -> bool:
    with below(place):
        return scheme is not None and same_rules(scheme, now, style)


def _told(grades: int) -> tuple[Finding, ...]:
    if not grades:
        return ()
    many = f"{grades} grades that are kept were" if grades > 1 else "1 grade that is kept was"
    message = (
        f"{many} given by other rules than these, or it is not known by which: '{_EARLIER}' stands beside the points,"
        " which are as they were given, and stand apart in the sum; among what is passed they are not counted. For a"
        " grade by these rules measure the piece and grade it again."
    )
    return (Finding(rule="practice.earlier_rules", severity="caution", message=message),)


def _bound(what: str, asked: int, limit: int, hint: str) -> None:
    if asked > limit:
        raise LimitError(
            f"the results name {asked} {what}; a sheet holds {limit}.",
            hint=hint,
            field="results",
            quantity=what,
            asked=asked,
            limit=limit,
        )


def _row(
    person: str, problems: tuple[str, ...], mine: list[ClassResult], earlier: frozenset[Scheme | None]
) -> ClassRow:
    last = {result.problem: result for result in mine if result.whole}
    own = [last[problem] for problem in problems if problem in last]
    now, before = ([r for r in own if (r.scheme in earlier) == old] for old in (False, True))
    by_others = f"{_EARLIER}: {_sum(before)}, {sum(r.passed for r in before)} passed" if before else ""
    return ClassRow(
        person=person,
        cells=tuple(_cell(last[problem], earlier) if problem in last else "" for problem in problems),
        total="; ".join(words for words in (_sum(now), by_others) if words),
        passed=sum(r.passed for r in now),
        tries=len(mine),
        ungraded=tuple(dict.fromkeys(result.problem for result in mine if result.problem not in last)),
    )


def _sum(graded: list[ClassResult]) -> str:
    return f"{sum(r.points for r in graded):g} of {sum(r.full for r in graded):g}" if graded else ""


def _cell(result: ClassResult, earlier: frozenset[Scheme | None]) -> str:
    beside = (("without leans", result.without_leans), (_EARLIER, result.scheme in earlier))
    return ", ".join((f"{result.points:g}", *(words for words, told in beside if told)))
