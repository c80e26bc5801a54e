"""What a person sets for a job and its shop, checked before it is kept: prices, people, sticks, wire, items."""

from __future__ import annotations

from racewright.errors import Finding, RacewrightError
from racewright.job.materials import sticks_priced_twice
from racewright.operations.common import Answer, Known, Request
from racewright.records.job_settings import (
    DropPerson,
    DropPrice,
    HeadChange,
    PersonChange,
    PriceChange,
    SetMoney,
    SetPerson,
    SetPrice,
    head_with,
    people_with,
    prices_with,
)
from racewright.records.model import JobHead
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, Prices
from racewright.records.set_words import in_words


class JobSettingsRequest(Request, frozen=True, kw_only=True):
    """What stands: the job's head, the prices that count for it, the people of its shop; and one change of it."""

    head: JobHead
    prices: Prices = NO_PRICES
    people: tuple[Person, ...] = ()
    change: PriceChange | HeadChange | PersonChange | None = None


class JobSettingsAnswer(Answer, frozen=True, kw_only=True):
    """The same three as they stand with it. `was`, `now`: what stood and stands under the name that was set, in words;
    '' for nothing. Its findings: sticks that have two prices then."""

    head: JobHead
    prices: Prices
    people: tuple[Person, ...]
    was: str = ""
    now: str = ""


def job_settings(request: JobSettingsRequest, _: Known) -> JobSettingsAnswer:
    """Make the change, if any. Raises InputError, LimitError, UnknownName for what is not there."""
    head, prices, people, change = request.head, request.prices, request.people, request.change
    was = in_words(change, head, prices, people)
    if isinstance(change, SetPrice | DropPrice | SetMoney):
        prices = prices_with(prices, change)
    elif isinstance(change, SetPerson | DropPerson):
        people = people_with(people, change)
    elif change is not None:
        head = head_with(head, change)
    now = in_words(change, head, prices, people)
    return JobSettingsAnswer(
        head=head, prices=prices, people=people, was=was, now=now, findings=_priced_twice(head, prices)
    )


def _priced_twice(head: JobHead, prices: Prices) -> tuple[Finding, ...]:
    """None where something of them cannot be read, which is told by the bill."""
    try:
        return tuple(sticks_priced_twice(head, prices))
    except RacewrightError:
        return ()
